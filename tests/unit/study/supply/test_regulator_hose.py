"""A hose between the first regulator and the line: its joints, its part, what it takes of the pressure, its date."""

from __future__ import annotations

import datetime as dt
import math
from functools import cache
from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of, tee, try_study, words

from gasdoc.engineering.materials.joints import Chain
from gasdoc.report.jsonout import study_json
from gasdoc.report.supply_tree import drawing
from gasdoc.study import Study
from gasdoc.study.facts import conditions

HUT = {
    "region": "eu",
    "units": "si",
    "container": {"type": "eu-11kg", "connection": "27 mm clip-on", "water_capacity": None},
}
REGULATOR = {
    "stages": 1,
    "outlet": "50 mbar",
    "inlet": None,
    "lock_up": None,
    "inlet_thread": "27 mm clip-on",
    "outlet_thread": "male G 1/4 LH",
}
HOSE = {"length": "0.45 m", "bore": "6.3 mm", "manufactured": "2026-02-01"}


def hut(hose: Values | None = HOSE, *supply: Values, regulator: Values | None = None, **more: Any) -> Values:
    """A German hut: a clip-on regulator, copper 10 x 1 mm, a cooker of 6 kW and a heater of 3 kW."""
    copper = {"material": "copper-metric"}
    line = supply or (
        run("2 m", "10 x 1 mm", id="trunk", **copper),
        tee(
            [run("1 m", "10 x 1 mm", **copper), outlet("Cooker", "6 kW", inlet_thread="8 mm compression")],
            [run("2 m", "10 x 1 mm", **copper), outlet("Heater", "3 kW", inlet_thread="8 mm compression")],
        ),
    )
    asked = {**REGULATOR, **(regulator or {}), **({"hose": hose} if hose is not None else {})}
    return build(*line, **{**HUT, **more}, regulator=asked)


@cache
def with_hose() -> Study:
    return study_of(hut())


@cache
def without() -> Study:
    return study_of(hut(None))


@cache
def trailer() -> Study:
    """A trailer in New Zealand: a regulator with a flare, a hose to AS 1869.1, copper by its outside diameter."""
    copper = {"material": "copper-as1432", "type": "B"}
    return study_of(
        build(
            run("1 m", "1/2 in OD", **copper),
            outlet("Cooker", "30 MJ/h", inlet_thread="1/2 BSPT male"),
            region="au-nz",
            units="si",
            container={"type": "anz-9kg", "connection": "LCC27", "water_capacity": None},
            regulator={
                "outlet": "2.75 kPa",
                "inlet": None,
                "lock_up": None,
                "inlet_thread": "LCC27",
                "outlet_thread": "3/8 SAE flare male",
                "hose": {"length": "600 mm", "capacity": "60 MJ/h"},
            },
        )
    )


def the_hose(made: Study) -> str | None:
    return next(placed.part.id for _, spot, placed in made.fittings.placed() if spot.role == "hose" and placed.part)


# --- parts and joints -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "part"),
    [(with_hose, "hose-lh"), (trailer, "hose-flare-anz:3/8")],
    ids=["German hut", "New Zealand trailer"],
)
def test_every_joint_closes_with_a_hose_that_is_sold_there(made: Any, part: str) -> None:
    assert [j.after.words for j in made().fittings.joined if not isinstance(j.found, Chain)] == []
    assert the_hose(made()) == part


def test_a_nozzle_takes_a_hose_with_clips_and_a_nozzle_at_the_tube() -> None:
    made = study_of(hut({"length": "0.45 m"}, regulator={"outlet_thread": "8 mm hose nozzle"}))
    joined = next(j for j in made.fittings.joined if j.before.words == "hose of the first regulator")
    assert the_hose(made) == "hose-clips:8"
    assert isinstance(joined.found, Chain)
    assert [part.id for part in joined.found.parts] == ["hose-nozzle-compression:8 x 10"]


def test_a_cooker_s_bayonet_hose_never_stands_at_a_regulator() -> None:
    made = study_of(hut({"length": "0.5 m"}, region="uk", regulator={"outlet": "37 mbar", "outlet_thread": "Rp 1/2"}))
    assert the_hose(made) == "hose-lh"


def test_its_two_joints_follow_the_regulator_s_outlet_and_belong_to_connections() -> None:
    joints = with_hose().leak_test.joints
    ids = [joint.id for joint in joints]
    begin = ids.index("regulator-outlet")
    assert ids[begin + 1 : begin + 3] == ["regulator-hose-upstream", "regulator-hose-downstream"]
    assert [j.number for j in joints[begin : begin + 3]] == [3, 4, 5]
    owners = {name: j.after.words for j in with_hose().fittings.joined for name in j.joints}
    assert owners["regulator-hose-upstream"] == "hose of the first regulator"
    assert owners["regulator-hose-downstream"] == "line to the tee to Cooker and Heater"


def test_the_piping_is_tested_behind_the_hose() -> None:
    start = with_hose().in_test.closures[0]
    assert str(start.end) == "G 1/4 male LH"  # of the adapter on the tube, where the hose's nut comes off
    parts = {joint.needs for joint in with_hose().leak_test.joints if "-hose-" in joint.id}
    assert parts == {"regulator"}


def test_what_it_holds_counts_where_the_regulator_is_under_test() -> None:
    (own,), (bare,) = with_hose().leak_test.by_zone, without().leak_test.by_zone
    assert own.piping == bare.piping
    assert own.connected - bare.connected == pytest.approx(math.pi / 4 * 0.0063**2 * 0.45)


def test_the_list_to_buy_has_it_by_ends_length_and_load() -> None:
    item = next(item for item in with_hose().materials if item.key == "hose-lh 0.45 m")
    assert item.name == "low-pressure gas hose, EN 16436-2, G 1/4 left-hand nuts, 0.45 m"
    assert item.note.startswith("hose of the first regulator: rated for at least 0.")


def test_no_hose_is_named_where_the_regulator_s_outlet_is_not_stated() -> None:
    made, _ = try_study(hut(regulator={"outlet_thread": None}))
    assert made is not None
    assert "hose-connector 0.45 m" in {item.key for item in made.materials}


# --- pressure ---------------------------------------------------------------------------------------------------------


def test_a_rated_hose_takes_half_an_inch_of_water_at_its_rating_and_a_quarter_of_it_at_half() -> None:
    solved = trailer().zones[0].pressure
    assert solved is not None and solved.hose is not None and solved.hose.drop is not None
    # 30 of 60 MJ/h: 0.5 inH2O x (1/2)^2 = 0.125 inH2O, at 249.08891 Pa each.
    assert solved.hose.drop == pytest.approx(0.125 * 249.08891, rel=2e-3)
    assert solved.hose.by == "capacity"


def test_a_bore_gives_the_drop_of_a_smooth_tube() -> None:
    """648 g/h of propane are 0.18 g/s. At 50 mbar and 15 degC its density is about 1.98 kg/m3, so 2.92 m/s in 6.3 mm. With 8.0
    uPa s the Reynolds number is 4550, and Blasius gives 0.3164 / 4550^0.25 = 0.0385. The drop is 0.0385 x 0.45 / 0.0063 x
    1.98 x 2.92^2 / 2 = 23.2 Pa. The codes' equation gives more, and the larger counts: 30.7 kBtu/h are 12.2 ft3/h, 0.45 m are
    1.476 ft, and 1.2462 x 1.476 x (12.2^0.381 / (19.17 x 0.248))^(1 / 0.206) = 0.097 inH2O, or 24.2 Pa."""
    alone = hut(HOSE, outlet("Cooker", "648 g/h", inlet_thread="8 mm compression"))
    solved = study_of(alone).zones[0].pressure
    assert solved is not None and solved.hose is not None and solved.hose.by == "bore"
    assert solved.hose.drop == pytest.approx(24.2, rel=0.05)


def test_every_pressure_behind_it_falls_by_what_it_takes() -> None:
    own, bare = with_hose().zones[0].pressure, without().zones[0].pressure
    assert own is not None and bare is not None and own.hose is not None and own.hose.drop is not None
    for mine, other in zip(own.outlets, bare.outlets, strict=True):
        assert other.full - mine.full == pytest.approx(own.hose.drop, rel=0.01)
        assert 0.0 < other.alone - mine.alone < own.hose.drop  # less flows
        assert mine.highest == other.highest  # nothing flows
    assert own.worst_drop == pytest.approx((bare.worst_drop or 0.0) + own.hose.drop, rel=0.01)
    trunks = [made.lines["trunk"].pressure for made in (with_hose(), without())]
    drops = [trunk.drop for trunk in trunks if trunk is not None]
    assert drops[0] == pytest.approx(drops[1], rel=0.01)  # the run's own is what it was


def test_an_outlet_right_behind_the_hose_draws_through_it() -> None:
    alone = hut({"length": "1 m", "bore": "6.3 mm"}, outlet("Cooker", "9 kW", inlet_thread="8 mm compression"))
    solved = study_of(alone).zones[0].pressure
    assert solved is not None and solved.hose is not None and solved.hose.drop is not None
    assert solved.outlets[0].full == pytest.approx(5000.0 - solved.hose.drop)
    assert solved.outlets[0].alone == solved.outlets[0].full
    assert solved.outlets[0].highest == 5000.0


def test_a_hose_of_which_only_the_length_is_known_takes_nothing_and_says_so() -> None:
    made = study_of(hut({"length": "0.45 m"}))
    solved, bare = made.zones[0].pressure, without().zones[0].pressure
    assert solved is not None and bare is not None and solved.hose is not None
    assert solved.hose.drop is None
    assert solved.worst_drop == bare.worst_drop
    assert one(made, "hose-drop-unknown").at == ("regulator", "hose")
    assert "What the hose behind the regulator takes is not known" in str(made.answers.gas_gets_there)


def test_a_hose_rated_for_less_than_its_load_is_told() -> None:
    made = study_of(hut({"length": "0.45 m", "capacity": "0.3 kg/h"}))
    assert "rated for" in words(one(made, "hose-too-small"))
    assert found(with_hose(), "hose-too-small") == []


def test_a_hose_that_takes_more_than_any_run_is_told_where_the_way_loses_too_much() -> None:
    made = study_of(hut({"length": "3 m", "bore": "4 mm"}))
    assert "more than any run" in words(one(made, "hose-takes-most"))
    assert found(with_hose(), "hose-takes-most") == []


# --- the rest ---------------------------------------------------------------------------------------------------------


def test_its_date_is_in_the_upkeep() -> None:
    due = [(d.part, d.due) for d in with_hose().upkeep if d.part == "hose of the first regulator"]
    assert due == [("hose of the first regulator", dt.date(2036, 2, 1))]  # ten years in Germany


def test_it_is_drawn_as_a_wave_with_its_length_behind_the_regulator() -> None:
    stretch = with_hose().route.stretches[0]
    assert (stretch.part, stretch.connector, stretch.known) == ("regulator", True, False)
    assert drawing(with_hose()).edges[1].lines[0] == "hose 0.45 m"


def test_the_json_has_it_only_where_there_is_one() -> None:
    own, bare = (study_json(made)["study"]["zones"][0]["pressure"] for made in (with_hose(), without()))
    assert own["hose"]["hose"]["length"]["written"] == "0.45 m"
    assert own["hose"]["by"] == "bore"
    assert "hose" not in bare


def test_threaded_steel_behind_a_hose_needs_no_union_at_the_regulator() -> None:
    line = (
        run("1 m", "1/2", material="steel-dn"),
        outlet("Cooker", "6 kW", inlet_thread="Rc 1/2", connector={"kind": "rigid", "length": "300 mm"}),
    )
    ids = [joint.id for hose in (HOSE, None) for joint in study_of(hut(hose, *line)).leak_test.joints]
    assert ids.count("regulator-union") == 1


@pytest.mark.parametrize(
    ("length", "outcome"),
    [("450 mm", "met by the numbers"), ("600 mm", "not met")],
    ids=["as long as is allowed", "longer"],
)
def test_a_trailer_in_europe_has_a_limit_for_its_length_and_another_for_drawers(length: str, outcome: str) -> None:
    made = study_of(hut({"length": length, "bore": "6.3 mm"}, setting="trailer", regulator={"outlet": "30 mbar"}))
    told = {ruling.rule.id: ruling.outcome for ruling in made.rules}
    assert told["hose-low-pressure-en"] == outcome
    assert told["hose-low-pressure-drawer"] == "for a licensed person"
    assert not any("hose-low" in ruling.rule.id for ruling in without().rules)


def test_in_a_boat_no_length_answers_for_what_the_hose_feeds() -> None:
    made = study_of(hut(HOSE, region="boat-eu", regulator={"outlet": "30 mbar"}))
    told = {ruling.rule.id: ruling.outcome for ruling in made.rules}
    assert told["hose-regulator"] == "for a licensed person"


def test_the_limit_is_for_the_regulator_at_the_container() -> None:
    second = {"regulator": {"id": "second", "outlet": "30 mbar", "hose": {"length": "600 mm", "bore": "8 mm"}}}
    line = second, run("2 m", "10 x 1 mm", material="copper-metric"), outlet("Cooker", "6 kW")
    made = study_of(hut(None, *line, setting="trailer", regulator={"outlet": "500 mbar"}))
    told = {ruling.rule.id: ruling.outcome for ruling in made.rules}
    assert told["hose-low-pressure-en"] != "not met"


def test_a_caution_and_a_rule_are_for_builds_with_such_a_hose_alone() -> None:
    assert "regulator-hose" in conditions(with_hose().build) - conditions(without().build)
    hosed = hut(HOSE, region="uk", setting="cabin", regulator={"outlet": "37 mbar"})
    assert "hose-regulator" in {ruling.rule.id for ruling in study_of(hosed).rules}


def test_on_the_test_day_the_hose_comes_off_with_its_regulator_and_is_joined_again() -> None:
    def said(made: Study) -> list[str]:
        return [line.text for step in made.sequence.steps for line in step.lines]

    hosed, bare = said(with_hose()), said(without())
    assert "Take the first regulator out of the test with its hose: part the hose from the line." in hosed
    assert "Join the first regulator and the line by the hose, at both of its ends." in hosed
    assert not any("at its outlet" in line for line in hosed)
    assert any("at its outlet" in line for line in bare) and not any("hose: part" in line for line in bare)
