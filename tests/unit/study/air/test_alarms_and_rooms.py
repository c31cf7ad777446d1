"""Alarms count only where they can warn, and each room is asked for its own air and alarms."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, read, run, study_of, tee

from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.referral.rules import Ruling

COPPER = {"material": "copper", "type": "k"}


def hut(alarms: list[Values] | None, **space: Any) -> Values:
    spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("Heater", "12 kBtu/h"))
    spec["spaces"][0] |= {"alarms": alarms} | space
    return spec


def rows(made: Study, measure: str) -> list[Ruling]:
    return [r for r in made.rules if r.rule.measure == measure]


GAS = {"kind": "gas", "standard": "UL 1484", "height": "low"}


@pytest.mark.parametrize(
    ("alarm", "code"),
    [
        ({"kind": "co", "standard": "UL 217"}, "alarm-wrong-standard"),
        ({"kind": "co", "standard": "BS EN 14604:2005"}, "alarm-wrong-standard"),
        ({"kind": "smoke", "standard": "UL2034"}, "alarm-wrong-standard"),
        ({"kind": "gas", "standard": "EN 50291-2", "height": "low"}, "alarm-wrong-standard"),
        (GAS | {"height": "high"}, "alarm-wrong-height"),
        (GAS | {"height": None, "place": "Ceiling, over the cooker"}, "alarm-wrong-height"),
        (GAS | {"height": "breathing"}, "alarm-wrong-height"),
    ],
)
def test_an_alarm_that_cannot_warn_is_an_error_and_meets_no_rule(alarm: Values, code: str) -> None:
    made = study_of(hut([{k: v for k, v in alarm.items() if v is not None}]))
    assert one(made, code).severity is Severity.ERROR
    (row,) = rows(made, f"{alarm['kind']}-alarm")
    assert row.outcome != "met by the numbers"


def test_an_alarm_of_its_own_standard_at_its_own_height_counts() -> None:
    (row,) = rows(study_of(hut([GAS])), "gas-alarm")
    assert row.outcome == "met by the numbers"
    # Both standards on one body: a smoke and carbon monoxide alarm is each of the two.
    made = study_of(hut([{"kind": "co", "standard": "UL 217, UL 2034"}]))
    assert not found(made, "alarm-wrong-standard")


@pytest.mark.parametrize("lacking", ["standard", "height"])
def test_a_gas_alarm_of_unknown_standard_or_height_is_not_known(lacking: str) -> None:
    (row,) = rows(study_of(hut([{k: v for k, v in GAS.items() if k != lacking}])), "gas-alarm")
    assert row.outcome == "not known" and row.has is not None and "not stated" in row.has


@pytest.mark.parametrize(
    ("place", "height"),
    [
        ("Kitchen end, 6 in above the floor", "low"),
        ("Near the floor", "low"),
        ("2 m above the floor", None),
        ("Upper floor", None),
        ("Roof lining", "high"),
        ("By the door", None),
    ],
)
def test_the_height_is_read_from_the_place_where_its_words_say_it(place: str, height: str | None) -> None:
    from gasdoc.study.air.rooms import fitted

    made = study_of(hut([{"kind": "gas", "place": place}]))
    (alarm,) = fitted(made.rooms[0]) or ()
    assert alarm.height == height


def test_what_an_alarm_runs_on_is_asked() -> None:
    assert "source of power" in one(study_of(hut([GAS])), "alarm-incomplete").message


def two_rooms(**cooker: Any) -> Values:
    """A cooker in the kitchen, a room-sealed heater in the bunk room where four sleep."""
    spec = build(
        run("3 ft", "5/8 in OD", **COPPER),
        tee(
            [run("3 ft", "1/2 in OD"), outlet("Heater", "12 kBtu/h")],
            [run("3 ft", "1/2 in OD"), outlet("Cooker", "20 kBtu/h", kind="cooker", flue="flueless", **cooker)],
        ),
    )
    kitchen, bunks = dict(spec["spaces"][0]), dict(spec["spaces"][0])
    kitchen |= {"name": "Kitchen", "volume": "900 ft3", "vent_high": "0 in2", "vent_low": "0 in2"}
    bunks |= {"id": "bunks", "volume": "3000 ft3", "sleeping_places": "4", "alarms": []}
    spec["spaces"] = [kitchen, bunks]
    branches = spec["supply"][1]["junction"]["branches"]
    branches[0][1]["outlet"]["space"] = "bunks"
    branches[1][1]["outlet"]["space"] = "kitchen"
    return spec


def test_air_is_asked_room_by_room() -> None:
    # 50 ft3 for each of the cooker's 20 thousand Btu/h are 1000 ft3: the kitchen has 900, both rooms together 3900.
    made = study_of(two_rooms())
    volumes = {r.room.id if r.room else None: r.outcome for r in rows(made, "room-volume")}
    assert volumes == {"kitchen": "not met", "bunks": "met by the numbers"}
    said = one(made, "rule-room-volume", "kitchen")
    assert said.message.startswith("Kitchen: ") and said.at == ("spaces", 0, "volume")
    assert one(made, "no-openings", "kitchen").at == ("spaces", 0, "vent_high")


def test_the_alarms_of_one_room_do_not_stand_for_another() -> None:
    made = study_of(two_rooms())
    for kind in ("gas", "co"):
        outcomes = {r.room.id if r.room else None: r.outcome for r in rows(made, f"{kind}-alarm")}
        assert outcomes == {"kitchen": "met by the numbers", "bunks": "not met"}, kind


def test_a_room_without_appliance_or_sleeper_is_asked_for_nothing() -> None:
    spec = two_rooms()
    spec["spaces"].append({"name": "Store", "sleeping_places": "0", "alarms": []})
    made = study_of(spec)
    assert "store" not in {r.room.id for r in made.rules if r.room is not None}
    assert not [f for f in made.findings if f.subject == "store"]


def test_a_flueless_heater_counts_where_it_stands() -> None:
    spec = two_rooms()
    heater = spec["supply"][1]["junction"]["branches"][0][1]["outlet"]
    heater["appliance"]["flue"] = "flueless"
    assert one(study_of(spec), "flueless-heater-sleeping").severity is Severity.ERROR
    heater["space"] = "kitchen"  # nobody sleeps there
    assert not found(study_of(spec), "flueless-heater-sleeping")
    heater["space"] = "outdoors"
    made = study_of(spec)
    assert not found(made, "flueless-heater-sleeping") and [s.id for r in made.rooms for s in r.appliances] == [
        "cooker"
    ]


def test_an_outlet_whose_room_is_not_stated_is_counted_to_the_first_and_told() -> None:
    spec = two_rooms()
    del spec["supply"][1]["junction"]["branches"][0][1]["outlet"]["space"]
    made = study_of(spec)
    assert "Heater" in one(made, "room-not-stated").message
    assert [s.id for s in made.rooms[0].appliances] == ["heater", "cooker"]


def test_a_room_nobody_described_and_a_name_used_twice_are_slips() -> None:
    spec = two_rooms()
    spec["supply"][1]["junction"]["branches"][0][1]["outlet"]["space"] = "attic"
    spec["spaces"].append({"name": "Kitchen"})
    said = [p.message for p in read(spec).problems]
    assert "there is no room 'attic'" in said and "the room 'kitchen' stands here twice" in said


def test_the_key_of_before_is_answered_with_the_one_of_now() -> None:
    spec = two_rooms()
    spec["space"] = spec.pop("spaces")[0]
    (problem,) = [p for p in read(spec).problems if "space" in p.message and "unknown" in p.message]
    assert "'spaces'" in problem.hint


def test_the_people_a_boat_is_made_for_count_not_the_sleepers() -> None:
    # Two people, one of whom sleeps aboard: 2200 x 5.2 + 440 x 3.5 + 650 x 2 = 14,280 mm2; with one more 14,930.
    spec = build(
        run("2 m", "12 x 1 mm", material="copper-metric"),
        tee(
            [run("2 m", "8 x 1 mm"), outlet("Heater", "3.5 kW", input_basis="gross")],
            [
                run("2 m", "8 x 1 mm"),
                outlet("Cooker", "5.2 kW", kind="cooker", flue="flueless", input_basis="gross"),
            ],
        ),
        region="boat-eu",
        units="si",
    )
    spec["spaces"][0] |= {"sleeping_places": "1", "people": "2", "vent_high": "75 cm2", "vent_low": "72 cm2"}
    (row,) = rows(study_of(spec), "vent-area-total")
    assert row.needs is not None and row.needs.startswith("at least 143 cm2") and row.outcome == "met by the numbers"
    spec["spaces"][0]["people"] = "3"
    (row,) = rows(study_of(spec), "vent-area-total")
    assert row.needs is not None and row.needs.startswith("at least 149 cm2") and row.outcome != "met by the numbers"
    del spec["spaces"][0]["people"]
    (row,) = rows(study_of(spec), "vent-area-total")
    assert row.outcome == "not known" and "people" in (row.needs or "")
    assert "'people:'" in one(study_of(spec), "people-unknown").remedy
