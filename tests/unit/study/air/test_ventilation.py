"""Combustion air, ventilation and alarms of a build, against areas and volumes worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of

from gasdoc.catalog.alarms import alarm_kinds
from gasdoc.regions.region import region_ids
from gasdoc.source import Severity
from gasdoc.study.referral.rules import Ruling

COPPER = {"material": "copper", "type": "k"}


def room(region: str = "us-cabin", *, heater: Values | None = None, cooker: str = "8 kW", **space: Any) -> Values:
    """A heater and a cooker; keys of the room that are None are left out."""
    spec = build(
        run("3 ft", "5/8 in OD", **COPPER),
        {
            "junction": {
                "kind": "tee",
                "branches": [
                    [run("3 ft", "1/2 in OD"), outlet("Heater", "4 kW", **(heater or {}))],
                    [run("3 ft", "1/2 in OD"), outlet("Cooker", cooker, kind="cooker", flue="flueless")],
                ],
            }
        },
        region=region,
        setting=None if "-" in region and region != "au-nz" else "vehicle",
        coldest=None,
    )
    spec["spaces"][0] = {
        k: v
        for k, v in (spec["spaces"][0] | {"sleeping_places": "2", "floor_area": "9 m2"} | space).items()
        if v is not None
    }
    return spec


def ruling(spec: Values, rule: str) -> Ruling:
    return next(r for r in study_of(spec).rules if r.rule.id == rule)


def test_the_published_example_for_australia_and_new_zealand() -> None:
    # Cooker of 8 kW (29 MJ/h with the example's rounding, 28.8 without), the rest room-sealed, two berths:
    # 610 x 28.8 + 650 x 2 = 18,868 mm2.
    enough = ruling(room("au-nz", vent_high="95 cm2", vent_low="94 cm2"), "vents-total")
    assert enough.needs == "at least 29.2 in2" and enough.outcome == "met by the numbers"  # 18,868 / 645.16
    short = ruling(room("au-nz", vent_high="95 cm2", vent_low="93 cm2"), "vents-total")
    assert short.outcome == "not met"


def test_a_room_of_room_sealed_appliances_only_still_needs_the_least_area() -> None:
    spec = room("au-nz", vent_high="20 cm2", vent_low="19 cm2")
    spec["supply"][1]["junction"]["branches"].pop()
    spec["supply"] = [*spec["supply"][:1], *spec["supply"][1]["junction"]["branches"][0]]
    spec["spaces"][0]["sleeping_places"] = "0"
    assert ruling(spec, "vents-total").outcome == "not met"  # 39 cm2, and never under 40
    spec["spaces"][0]["vent_low"] = "20 cm2"
    assert ruling(spec, "vents-total").outcome == "met by the numbers"


def test_a_boat_in_europe_by_the_formula_of_the_boat_safety_scheme() -> None:
    """2200 x 8 kW without a flue + 440 x 4 kW with one + 650 x 2 people = 20,660 mm2 with inputs as gross heat; with net
    heat (propane: gross over net 1.0865) 19,360 / 1.0865 + 1300 = 19,118 mm2. Which one is meant was not read."""

    def judged(high: str, low: str) -> Ruling:
        spec = room("boat-eu", heater={"input_basis": "gross"}, people="2", vent_high=high, vent_low=low)
        spec["supply"][1]["junction"]["branches"][1][1]["outlet"]["appliance"]["input_basis"] = "gross"
        return ruling(spec, "vents-total")

    assert judged("104 cm2", "103 cm2").outcome == "met by the numbers"
    between = judged("103 cm2", "103 cm2")
    assert between.outcome == "not known"
    assert between.needs is not None and "32 in2 (with inputs as gross heat, 29.6 in2 with net heat" in between.needs
    assert judged("96 cm2", "95 cm2").outcome == "not met"


def test_a_us_cabin_by_the_volume_of_its_room_and_by_the_other_ways_beside_it() -> None:
    # 50 ft3 per 1000 Btu/h of 8 kW (27,297 Btu/h): 1365 ft3. The heater is room-sealed and does not count.
    assert ruling(room(volume="1370 ft3"), "room-volume").outcome == "met by the numbers"
    small = room(volume="1360 ft3", vent_high="7 in2", vent_low="7 in2")
    missed = ruling(small, "room-volume")
    assert missed.outcome == "not met" and missed.has == "1,360 ft3"
    assert one(study_of(small), "rule-room-volume").severity is Severity.WARNING  # 27.3 / 4 = 6.8 in2 each to outdoors
    tight = study_of(room(volume="1360 ft3", vent_high="6 in2", vent_low="6 in2"))
    assert one(tight, "rule-room-volume").severity is Severity.ERROR


def test_an_unknown_flue_counts_as_none_at_all() -> None:
    spec = room("boat-eu", heater={"flue": None}, people="2", vent_high="104 cm2", vent_low="103 cm2")
    assert ruling(spec, "vents-total").outcome == "not met"  # 2200 instead of 440 mm2 for each of its 4 kW
    assert study_of(spec).rooms[0].air.unknown == ("Heater",)


@pytest.mark.parametrize("region", region_ids())
def test_a_heater_without_a_flue_where_people_sleep_is_an_error_in_every_region(region: str) -> None:
    said = one(study_of(room(region, heater={"flue": "flueless"})), "flueless-heater-sleeping")
    assert said.severity is Severity.ERROR and said.subject == "heater"
    assert (
        found(study_of(room(region, heater={"flue": "flueless"}, sleeping_places="0")), "flueless-heater-sleeping")
        == []
    )
    unknown = study_of(room(region, heater={"flue": "flueless"}, sleeping_places=None))
    assert one(unknown, "flueless-heater").severity is Severity.WARNING


def test_a_cooker_without_a_flue_is_no_heater() -> None:
    assert found(study_of(room()), "flueless-heater-sleeping") == []


@pytest.mark.parametrize(
    ("missing", "words"), [("volume", "volume"), ("vent_high", "high level"), ("vent_low", "low level")]
)
def test_what_is_not_stated_about_the_air_is_a_warning_that_names_it(missing: str, words: str) -> None:
    space: Values = {missing: None}
    said = one(study_of(room(**space)), "air-unknown")
    assert said.severity is Severity.WARNING and words in said.message
    assert found(study_of(room()), "air-unknown") == []


def test_a_room_nobody_describes_is_a_warning_too() -> None:
    spec = room()
    spec.pop("spaces")
    made = study_of(spec)
    assert {"air-unknown", "alarms-unknown"} <= {f.code for f in made.findings}
    assert all(f.at == () for f in made.findings if f.code in ("air-unknown", "alarms-unknown"))


def test_room_sealed_appliances_ask_nobody_for_openings() -> None:
    spec = room("us-cabin", vent_high=None, vent_low=None, volume=None)
    spec["supply"][1]["junction"]["branches"][1][1]["outlet"]["appliance"]["flue"] = "room-sealed"
    made = study_of(spec)
    assert found(made, "air-unknown") == []
    row = ruling(spec, "room-volume")
    assert row.outcome == "met by the numbers" and row.needs is not None and row.needs.startswith("none")


def test_en_721_takes_the_row_that_fits_the_appliances() -> None:
    spec = room("uk")
    rows = {r.rule.id for r in study_of(spec).rules}
    assert "vents-high-en-721" in rows and "vents-high-en-721-sealed" not in rows
    spec["supply"][1]["junction"]["branches"][1][1]["outlet"]["appliance"]["flue"] = "room-sealed"
    rows = {r.rule.id for r in study_of(spec).rules}
    assert "vents-high-en-721-sealed" in rows and "vents-high-en-721" not in rows


def test_a_figure_from_memory_never_gives_met() -> None:
    # Whether the openings are in the roof no spec says; the figure for other openings is from memory.
    row = ruling(room("uk", vent_high="1 m2", vent_low="1 m2"), "vents-high-en-721")
    assert row.outcome == "for a licensed person" and row.needs is not None and "from memory" in row.needs
    assert ruling(room("uk", floor_area=None), "vents-high-en-721").outcome == "not known"


def test_an_alarm_without_place_or_date_is_noted_with_where_it_belongs() -> None:
    for kind in ("gas", "co", "smoke"):
        (said,) = found(study_of(room(alarms=[{"kind": kind, "place": "somewhere"}])), "alarm-incomplete")
        assert (
            said.message
            == f"Not stated of the {alarm_kinds()[kind].name}: standard, source of power, date of manufacture."
            and alarm_kinds()[kind].place in said.remedy
            and said.severity is Severity.NOTE
        )
    complete = [{"kind": "gas", "place": "low", "standard": "UL 1484", "power": "mains", "replace_by": "2031-01-01"}]
    assert found(study_of(room(alarms=complete)), "alarm-incomplete") == []


@pytest.mark.parametrize(
    ("region", "rows"), [("uk", ("vents-building-cooker", "vents-building-other")), ("eu", ("vents-building",))]
)
def test_a_cabin_in_europe_is_told_which_rule_is_not_known_and_whom_to_ask(region: str, rows: tuple[str, ...]) -> None:
    cabin = room(region) | {"setting": "cabin"}
    shown = {r.rule.id: r for r in study_of(cabin).rules if r.rule.subject == "ventilation"}
    assert set(shown) == set(rows)  # EN 721 is for what moves
    last = shown[rows[-1]]
    assert last.outcome == "for a licensed person" and "known here" in last.rule.asks
    assert "Ask the fitter" in last.rule.asks or "Ask a Gas Safe registered engineer" in last.rule.asks
    assert not any(r.rule.id.startswith("vents-building") for r in study_of(room(region)).rules)


@pytest.mark.parametrize("region", ["us-trailer", "uk", "us-cabin"])
def test_a_room_without_any_opening_is_a_warning_in_every_region(region: str) -> None:
    closed = study_of(room(region, vent_high="0 in2", vent_low="0 in2"))
    assert "no opening to the outside" in one(closed, "no-openings").message
    assert found(study_of(room(region, vent_high="0 in2", vent_low="20 in2")), "no-openings") == []


def codes(spec: Values) -> dict[str, Severity]:
    return {finding.code: finding.severity for finding in study_of(spec).findings}


@pytest.mark.parametrize("flue", ["room-sealed", "open-flued", "flueless"])
def test_an_engine_stands_in_no_room_whatever_its_flue(flue: str) -> None:
    spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("Generator", "20 kW", kind="generator", flue=flue))
    assert codes(spec)["engine-in-room"] == Severity.ERROR
    assert "nothing says that it stands outdoors" in one(study_of(spec), "engine-in-room").message
    spec["supply"][1]["outlet"]["space"] = spec["spaces"][0]["id"] = "shed"
    assert "it stands in a room" in one(study_of(spec), "engine-in-room").message
    spec["supply"][1]["outlet"]["space"] = "outdoors"
    assert "engine-in-room" not in codes(spec)


def test_what_burns_without_a_flue_where_people_sleep_and_water_heated_without_one() -> None:
    def told(kind: str, places: str) -> set[str]:
        spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("It", "0.7 kW", kind=kind, flue="flueless"))
        spec["spaces"][0]["sleeping_places"] = places
        return {"flueless-sleeping", "flueless-water-heater", "flueless-heater-sleeping"} & set(codes(spec))

    assert told("refrigerator", "2") == told("light", "2") == {"flueless-sleeping"}
    assert told("water-heater", "2") == {"flueless-heater-sleeping"}
    assert told("water-heater", "0") == {"flueless-water-heater"}
    assert told("refrigerator", "0") == told("cooker", "2") == told("room-heater", "0") == set()


def test_what_leaks_in_something_that_moves_needs_a_way_out_at_the_floor() -> None:
    spec = room("boat-eu", vent_high="200 cm2", vent_low="0 cm2")
    assert codes(spec)["no-low-opening"] == Severity.WARNING
    assert "no-low-opening" not in codes(room("boat-eu", vent_high="200 cm2", vent_low="1 cm2"))
    assert "no-low-opening" not in codes(room("us-cabin", vent_high="200 cm2", vent_low="0 cm2"))
    assert "no-low-opening" in codes(room("boat-eu", vent_high=None, vent_low="0 cm2"))
    shut: Values = {"vent_high": "0 cm2", "vent_low": "0 cm2"}
    assert "no-low-opening" not in codes(room("boat-eu", **shut))  # it is told as no-openings
    sealed = build(
        run("3 ft", "1/2 in OD", **COPPER), outlet("Heater", "4 kW", flue="room-sealed"), region="boat-eu", coldest=None
    )
    sealed["spaces"][0] |= shut
    assert "no-low-opening" in codes(sealed)


@pytest.mark.parametrize(
    ("flue", "kind", "far", "told"),
    [
        ("room-sealed", "flue", "11 in", True),  # 12 in for one of more than 50,000 Btu/h, the largest of three
        ("room-sealed", "flue", "12 in", False),
        ("open-flued", "flue", "3.9 ft", True),  # 4 ft below an opening or beside it
        ("open-flued", "flue", "4 ft", False),
        ("room-sealed", "exhaust", "3.9 ft", True),
    ],
)
def test_a_flue_that_ends_beside_a_window_is_told(flue: str, kind: str, far: str, told: bool) -> None:
    spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("Heater", "4 kW", flue=flue))
    spec["openings"] = [
        {"kind": kind, "at": ["0 ft", "0 ft", "3 ft"]},
        {"kind": "window", "at": [far, "0 ft", "3 ft"]},
        {"kind": "intake", "at": ["1 in", "0 ft", "3 ft"]},  # its own, beside it
    ]
    assert ("flue-near-opening" in codes(spec)) is told


def test_a_cooker_whose_flue_is_not_stated_makes_no_other_flue_of_a_sealed_one() -> None:
    spec = room(heater={"flue": "room-sealed"})
    heater, cooker = (branch[1]["outlet"]["appliance"] for branch in spec["supply"][1]["junction"]["branches"])
    del cooker["flue"]
    spec["openings"] = [
        {"kind": "flue", "at": ["0 ft", "0 ft", "3 ft"]},
        {"kind": "window", "at": ["13 in", "0 ft", "3 ft"]},
    ]
    assert "flue-near-opening" not in codes(spec)
    heater["flue"] = "open-flued"
    assert "flue-near-opening" in codes(spec)


def test_a_flue_is_held_against_every_opening_not_the_nearest_alone() -> None:
    spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("Heater", "4 kW", flue="open-flued"))
    spec["openings"] = [
        {"kind": "flue", "at": ["0 ft", "0 ft", "4.1 ft"]},
        {"kind": "window", "at": ["0 ft", "0 ft", "3 ft"]},  # more than a foot below: far enough
        {"kind": "door", "name": "the door", "at": ["2 ft", "0 ft", "4.1 ft"]},
    ]
    assert "from the door" in one(study_of(spec), "flue-near-opening").message


def test_the_distance_of_an_exhaust_is_said_to_be_one_of_flues() -> None:
    spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("Heater", "4 kW", flue="room-sealed"))
    spec["openings"] = [
        {"kind": "exhaust", "at": ["0 ft", "0 ft", "3 ft"]},
        {"kind": "window", "at": ["3 ft", "0 ft", "3 ft"]},
    ]
    assert "No figure for an engine's exhaust" in (one(study_of(spec), "flue-near-opening").source or "")


def test_a_flue_a_foot_above_a_window_is_not_told() -> None:
    spec = build(run("3 ft", "1/2 in OD", **COPPER), outlet("Heater", "4 kW", flue="open-flued"))
    spec["openings"] = [
        {"kind": "flue", "at": ["0 ft", "0 ft", "4.1 ft"]},
        {"kind": "window", "at": ["0 ft", "0 ft", "3 ft"]},
    ]
    assert "flue-near-opening" not in codes(spec)


def test_a_heater_that_takes_its_air_where_people_sleep_is_told_once() -> None:
    def told(region: str, places: str, flue: str, kind: str = "room-heater") -> set[str]:
        spec = room(region, heater={"flue": flue, "kind": kind}, sleeping_places=places)
        return {"open-flued-sleeping", "rule-heaters-sealed"} & set(codes(spec))

    assert told("us-cabin", "2", "open-flued") == told("us-cabin", "2", "open-flued", "water-heater")
    assert told("us-cabin", "2", "open-flued") == {"open-flued-sleeping"}
    assert told("us-cabin", "0", "open-flued") == told("us-cabin", "2", "room-sealed") == set()
    assert told("boat-eu", "2", "open-flued") == {"rule-heaters-sealed"}
