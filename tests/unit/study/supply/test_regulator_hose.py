"""A hose between the first regulator and the line: its joints, its part, what it takes of the pressure, its date."""

from __future__ import annotations

import datetime as dt
import math
from functools import cache
from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of, tee, try_study, words
from markupsafe import Markup

from gasdoc.engineering.materials.joints import Chain
from gasdoc.report.drawings.supply_tree import drawing
from gasdoc.report.formats.jsonout import study_json
from gasdoc.report.views.supply.line import view as line_view
from gasdoc.report.views.supply.page import view
from gasdoc.source import Severity
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
    assert item.name == "low-pressure gas hose, EN 16436-2 class 2, G 1/4 left-hand nuts, 0.45 m"
    assert item.note.startswith("hose of the first regulator: rated for at least 0.")


def test_in_steel_the_hose_takes_the_pipe_itself_by_a_ring_and_an_appliance_s_hose_does_not() -> None:
    steel = run("2 m", "8 x 1 mm", material="steel-metric")
    made = study_of(hut(HOSE, steel, outlet("Cooker", "6 kW", inlet_thread="8 mm cutting ring")))
    joined = {j.after.words: j.found for j in made.fittings.joined}
    assert the_hose(made) == "hose-lh-pipe:8"
    assert [found.parts for found in joined.values() if isinstance(found, Chain)][
        1
    ] == ()  # no part between hose and pipe
    assert "hose-lh-pipe:8 3 ft" not in {item.key for item in made.materials}


def test_a_stub_at_an_appliance_takes_the_rings_of_its_line() -> None:
    """What closes a cutting ring is no plug for an olive."""
    line = run("2 m", "8 x 1 mm", material="steel-metric"), outlet("Cooker", "6 kW", inlet_thread="8 mm tube")
    keys = {item.key for item in study_of(hut(None, *line)).materials}
    assert "ring-cap:8" in keys or "ring-plug:8" in keys
    assert not any(key.startswith("compression-") for key in keys)


def test_a_french_hose_has_two_nuts_m20() -> None:
    made = study_of(hut({"length": "0.45 m"}, regulator={"outlet": "37 mbar", "outlet_thread": "male M20x1.5"}))
    assert the_hose(made) == "hose-m20"
    assert "compression-m20:10" in {item.key for item in made.materials}


# --- what it is made for ----------------------------------------------------------------------------------------------


def under(pressure: str, outlet_thread: str, hose: Values | None = None, region: str = "eu") -> Study:
    """A hose with that pressure in it, and a second regulator behind it."""
    second = {
        "id": "second",
        "outlet": "30 mbar",
        "inlet_thread": "8 mm compression",
        "outlet_thread": "8 mm compression",
    }
    copper = run("1 m", "10 x 1 mm", material="copper-metric")
    line = copper, {"regulator": second}, copper, outlet("Cooker", "6 kW", inlet_thread="8 mm compression")
    first = {"outlet": pressure, "outlet_thread": outlet_thread}
    return study_of(hut(HOSE | (hose or {}), *line, regulator=first, region=region))


@pytest.mark.parametrize(
    ("made", "part"),
    [
        (lambda: under("2 bar", "male G 1/4 LH"), "hose-lh"),  # class 2 of EN 16436: 10 bar
        (lambda: under("0.5 bar", "8 mm hose nozzle"), "hose-lh"),  # a hose with clips is for 0.2 bar
        (
            lambda: under("10 psi", "3/8 flare male", region="us-cabin"),
            "hose-flare-high:3/8",
        ),  # of low pressure is 1 psi
        (lambda: under("1 psi", "3/8 flare male", region="us-cabin"), "hose-flare:3/8"),
    ],
    ids=["2 bar", "0.5 bar", "10 psi", "1 psi"],
)
def test_the_hose_on_the_list_is_made_for_its_pressure(made: Any, part: str) -> None:
    assert the_hose(made()) == part
    assert found(made(), "hose-rating-unknown") == found(made(), "hose-over-pressure") == []


def test_a_hose_marked_for_less_than_it_gets_is_told() -> None:
    told = one(under("2 bar", "male G 1/4 LH", {"rating": "1 bar"}), "hose-over-pressure")
    assert told.message == "The hose of the first regulator is marked for 1 bar, and has 2 bar in it."
    assert told.at == ("regulator", "hose", "rating")


def test_above_low_pressure_a_hose_of_unknown_rating_is_told() -> None:
    """What classes of AS 1869 are for is not public. At 2.75 kPa no rating is asked."""
    assert "0.7 bar" in words(one(under("70 kPa", "3/8 SAE flare male", region="au-nz"), "hose-rating-unknown"))
    marked = under("70 kPa", "3/8 SAE flare male", {"rating": "2.6 MPa"}, "au-nz")
    assert found(marked, "hose-rating-unknown") == found(trailer(), "hose-rating-unknown") == []


def test_the_list_says_what_must_be_marked_on_a_hose_above_low_pressure() -> None:
    notes = [item.note for made in (under("2 bar", "male G 1/4 LH"), with_hose()) for item in made.materials]
    assert [note.endswith("marked for 2 bar or more") for note in notes if "first regulator: rated" in note] == [
        True,
        False,
    ]


def test_a_connector_marked_for_less_than_its_zone_has_is_told() -> None:
    given = {"kind": "flexible", "length": "3 ft", "rating": "20 mbar"}
    made = study_of(hut(None, outlet("Cooker", "6 kW", inlet_thread="8 mm compression", connector=given)))
    told = one(made, "hose-over-pressure")
    assert (told.subject, told.message) == (
        "cooker",
        "The connector of Cooker is marked for 20 mbar, and has 50 mbar in it.",
    )


@pytest.mark.parametrize(
    ("thread", "bore", "told"),
    [
        ("male G 1/4 LH", "14 mm", 1),
        ("male G 1/4 LH", "6.3 mm", 0),
        ("8 mm hose nozzle", "10 mm", 1),
        ("8 mm hose nozzle", "8 mm", 0),
    ],
)
def test_a_bore_wider_than_the_ends_is_told(thread: str, bore: str, told: int) -> None:
    """A pipe of 1/4 in is 9.2 mm wide inside; on a nozzle of 8 mm goes a hose of 8 mm."""
    made = study_of(hut({"length": "0.45 m", "bore": bore}, regulator={"outlet_thread": thread}))
    assert len(found(made, "hose-wider-than-ends")) == told


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


@cache
def narrow() -> Study:
    """A hose that takes 17.6 of the 2.5 mbar that are allowed, with pipe that takes 0.5 mbar."""
    return study_of(hut({"length": "3 m", "bore": "4 mm"}))


def test_a_hose_that_takes_too_much_is_the_error_and_no_run_behind_it() -> None:
    assert "17.64 mbar" in words(one(narrow(), "hose-undersized"))
    assert found(narrow(), "run-undersized") == []
    assert narrow().answers.gas_gets_there.word == "not with this hose"
    assert found(with_hose(), "hose-undersized") == []


def test_a_run_that_takes_most_is_named_before_its_hose() -> None:
    """Copper of 8 x 1 mm over 12 m takes several times the 2.5 mbar, a hose of 10 mm next to nothing."""
    long = run("12 m", "8 x 1 mm", id="long", material="copper-metric")
    made = study_of(hut({"length": "0.45 m", "bore": "10 mm"}, long, outlet("Cooker", "9 kW")))
    assert [finding.subject for finding in found(made, "run-undersized")] == ["long"]
    assert found(made, "hose-undersized") == []


def test_where_tables_rule_a_hose_that_takes_more_than_they_leave_is_an_error_too() -> None:
    """The tables leave 0.5 inH2O to pipe. A bore of 0.16 in takes more than that over 18 in, one of 3/8 in a fortieth."""
    fed = run("2 ft", "3/4", material="steel"), outlet("Heater", "30 kBtu/h")
    wide, small = (
        study_of(build(*fed, regulator={"hose": {"length": "18 in", "bore": bore}})) for bore in ("3/8 in", "0.16 in")
    )
    assert "is too narrow or too long here" in words(one(small, "hose-undersized"))
    assert found(wide, "hose-undersized") == found(wide, "hose-takes-most") == []


def test_of_a_rating_and_a_bore_what_takes_more_counts() -> None:
    """By its rating of 18 kW a load of 9 kW takes a quarter of 0.5 inH2O, 31 Pa; by its bore about 24 Pa."""
    load = outlet("Cooker", "648 g/h", inlet_thread="8 mm compression")
    rated, bored = (
        study_of(hut(HOSE | {"capacity": capacity}, load)).zones[0].pressure for capacity in ("1.296 kg/h", "5 kg/h")
    )
    assert rated is not None and rated.hose is not None and bored is not None and bored.hose is not None
    assert (rated.hose.by, rated.hose.drop) == ("capacity", pytest.approx(0.125 * 249.08891, rel=2e-3))
    assert (bored.hose.by, bored.hose.drop) == ("bore", rated.hose.other)
    assert bored.hose.drop == pytest.approx(24.2, rel=0.05)


@pytest.mark.parametrize(
    ("hose", "told"),
    [
        ({"length": "1.5 m", "bore": "4 mm", "capacity": "2 kg/h"}, Severity.WARNING),  # it takes much more by its bore
        ({"length": "0.45 m", "bore": "20 mm", "capacity": "0.7 kg/h"}, Severity.NOTE),  # next to nothing by its bore
        ({"length": "0.45 m", "bore": "6.3 mm", "capacity": "1.3 kg/h"}, None),
    ],
    ids=["narrow", "wide", "as hoses are"],
)
def test_a_rating_and_a_bore_that_differ_clearly_are_told(hose: Values, told: Severity | None) -> None:
    made = study_of(hut(hose, outlet("Cooker", "648 g/h", inlet_thread="8 mm compression")))
    assert [finding.severity for finding in found(made, "hose-figures-differ")] == ([told] if told else [])


def test_the_working_has_the_factor_of_thin_air() -> None:
    """At 1,000 m the air has 89.87 kPa. So a rated drop is (101.325 + 5) / (89.87 + 5) = 1.12 times as much."""
    load = outlet("Cooker", "648 g/h", inlet_thread="8 mm compression")
    hose = {"length": "0.45 m", "capacity": "1.296 kg/h"}
    high, low = (study_of(hut(hose, load, altitude=height)) for height in ("1000 m", "0 m"))
    steps = [str(step) for step in working(high)]
    assert any("That is 1.12 times as much as at sea level." in step for step in steps)
    assert not any("at sea level" in str(step) for step in working(low))


def working(made: Study) -> list[Any]:
    return view(made, Markup(""), ())["zones"][0]["working"][0]["steps"]  # type: ignore[arg-type]


# --- room for one more ------------------------------------------------------------------------------------------------


def rooms(made: Study) -> dict[str, float | None]:
    return {part.name: part.room for part in made.room.parts}


def test_a_hose_leaves_what_it_is_rated_for_less_its_load() -> None:
    """30 of 60 MJ/h: 30 MJ/h are left, 8.333 kW. No run has more room than that."""
    found_room = rooms(trailer())
    assert found_room["hose of the first regulator"] == pytest.approx(30e6 / 3600)
    (line,) = trailer().lines.values()
    assert line.pressure is not None and line.pressure.more_load is not None
    assert line.pressure.more_load <= 30e6 / 3600
    assert "hose of the first regulator" not in rooms(without())


def test_of_a_hose_without_a_rating_no_room_is_told_and_of_one_that_nothing_is_known_of_none_of_the_pipe() -> None:
    bare = study_of(hut({"length": "0.45 m"}))
    assert rooms(with_hose())["hose of the first regulator"] is None
    assert rooms(with_hose())["pipe"] is not None
    assert rooms(bare)["hose of the first regulator"] is rooms(bare)["pipe"] is None
    assert all(line.pressure is not None and line.pressure.more_load is None for line in bare.lines.values())


# --- where it leads ---------------------------------------------------------------------------------------------------


def legged(legs: list[str] | None, length: str = "24 in") -> Study:
    """A hut in the United States with a hose, and a line with two appliances that stand in one place by their legs."""
    steel = {"material": "steel", "size": "1/2"}
    flexible = {"kind": "flexible", "length": "4 ft", "legs": ["1 ft up"]}
    line = (
        {"run": steel | {"legs": ["2 ft aft"]}},
        tee(
            [{"run": steel | {"legs": ["1 ft up", "3 ft left"]}}, outlet("Lamp", "2 kBtu/h", connector=flexible)],
            [{"run": steel | {"legs": ["3 ft left", "1 ft up"]}}, outlet("Oven", "2 kBtu/h", connector=flexible)],
        ),
    )
    hose = {"length": length, "bore": "3/8 in", **({"legs": legs} if legs else {})}
    return study_of(build(*line, regulator={"hose": hose}))


def test_with_legs_all_behind_a_hose_has_its_place() -> None:
    made = legged(["1 ft aft and 1 ft down"])
    assert all(stretch.known for stretch in made.route.stretches)
    assert made.route.stretches[1].tail == (0.3048, 0.0, -0.3048)  # where the line begins
    assert [finding.subject for finding in found(made, "appliances-in-one-place")] == ["oven"]
    assert found(made, "hose-way-unknown") == []
    assert found(made, "line-dips")[0].subject == "regulator"  # the hose leads down and the line up again


def test_without_legs_it_is_told_that_nothing_is_compared_behind_the_hose() -> None:
    made = legged(None)
    assert found(made, "appliances-in-one-place") == found(made, "line-dips") == []
    told = one(made, "hose-way-unknown")
    assert told.at == ("regulator", "hose")
    assert "'legs:' under 'hose:', as in '[1 ft aft and 8 in down]'" in words(told)
    assert found(with_hose(), "hose-way-unknown") == []  # its line has no legs either


def test_a_hose_shorter_than_what_it_spans_is_told() -> None:
    """1 ft aft and 1 ft down is 17 in straight across."""
    assert "17 in" in words(one(legged(["1 ft aft and 1 ft down"], "15 in"), "hose-gap"))
    assert found(legged(["1 ft aft and 1 ft down"], "18 in"), "hose-gap") == []


def test_a_hose_through_a_wall_is_told() -> None:
    hose = {"length": "24 in", "legs": [{"leg": "1 ft aft", "through": "wall"}]}
    made = study_of(build(outlet("Grill", "30 kBtu/h"), regulator={"hose": hose}))
    assert one(made, "hose-through").message == "The hose of the first regulator goes through a wall."
    assert found(legged(["1 ft aft"]), "hose-through") == []


def test_its_legs_go_by_the_directions_of_the_others() -> None:
    hosed = {"hose": {"length": "1 m", "legs": ["300 mm north"]}}
    _, problems = try_study(
        build({"run": {"material": "steel", "legs": ["2 m aft"]}}, outlet("Lamp", "1 kW"), regulator=hosed)
    )
    assert [(problem.code, problem.message) for problem in problems] == [
        ("spec-leg", "'2 m aft' does not go by the directions of the legs before it")
    ]


def test_the_page_of_the_line_has_the_way_of_a_hose() -> None:
    assert line_view(legged(["1 ft aft and 1 ft down"]))["hoses"] == [
        ["First regulator", "24 in", "1 ft aft and 1 ft down"]
    ]
    assert line_view(without())["hoses"] == []


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


def test_tubing_on_a_regulator_that_hangs_on_the_cylinder_is_told() -> None:
    """Common practice, no source: what is changed with the cylinder is joined by a hose."""
    assert one(without(), "regulator-on-cylinder").severity is Severity.WARNING
    fixed = {"connection": "27 mm clip-on", "stays": "yes", "type": "eu-refillable-11kg"}
    apart = hut(None, regulator={"inlet_thread": "M20 x 1.5"}, container={"connection": "21 mm clip-on"})
    straight = hut(None, outlet("Cooker", "6 kW", inlet_thread="Rc 1/2", connector={"kind": "hose", "length": "0.5 m"}))
    for study in (with_hose(), study_of(apart), study_of(straight), study_of(hut(None, container=fixed))):
        assert not found(study, "regulator-on-cylinder")
