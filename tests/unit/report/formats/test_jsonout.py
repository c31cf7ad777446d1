"""The study as JSON: its schema, its units, and that neither depends on what the spec shows."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pint
import pytest
from made_up_builds import (
    FOOT,
    KBTU_PER_HOUR,
    PSI,
    THREE,
    Values,
    build,
    european,
    outlet,
    pressures,
    run,
    run_pressures,
    study_of,
    two_stage,
)

from gasdoc.catalog import tubing
from gasdoc.report.formats.jsonout import capacity_json, check_json, dumps, study_json
from gasdoc.source import Problem, Severity
from gasdoc.study.supply.capacity import Conditions, look_up


@cache
def registry() -> Any:
    return pint.UnitRegistry()


def out(spec: Values) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(dumps(study_json(study_of(spec))))
    return made


def quantities(value: Any, at: str = "") -> list[tuple[str, dict[str, Any]]]:
    """Every {"value", "unit"} with its path; positions in lists are left out."""
    if isinstance(value, list):
        return [q for item in value for q in quantities(item, at)]
    if not isinstance(value, dict):
        return []
    if {"value", "unit"} <= set(value):
        return [(at, value)]
    return [q for key, item in value.items() for q in quantities(item, f"{at}.{key}")]


ALL = {
    "three": THREE,
    "two-stage": two_stage(),
    "european": european(),
    "no size": build(run("10 ft", material="copper", type="k"), outlet("Kiln", "9000 kBtu/h", kind="other")),
    "past the table": build(run("300 ft", material="csst"), outlet("Heater", "9 kBtu/h")),
    "bare": {
        k: v
        for k, v in build(
            outlet(
                "Heater",
                "9 kBtu/h",
                **dict.fromkeys(("jetted_for", "min_inlet", "max_inlet", "flue", "connector", "distance", "daily_use")),
            )
        ).items()
        if k != "spaces"
    },
}


@pytest.mark.parametrize("spec", ALL.values(), ids=ALL.keys())
def test_every_quantity_has_a_unit_that_a_library_for_units_reads_and_no_other_number_is_bare(spec: Values) -> None:
    made = out(spec)
    assert made["version"] == 2
    for at, q in quantities(made):
        assert set(q) in ({"value", "unit"}, {"value", "unit", "written"}), at
        assert isinstance(q["value"], float), at
        assert q["unit"] == "USD" or registry().parse_units(q["unit"]) is not None, at
    # What is a bare number elsewhere is a count, a place in a list or the version.
    stack: list[Any] = [made]
    while stack:
        value = stack.pop()
        assert not isinstance(value, float)
        if isinstance(value, dict):
            stack += [] if {"value", "unit"} <= set(value) else value.values()
        elif isinstance(value, list):
            stack += value


def test_numbers_are_those_worked_out_by_hand() -> None:
    made = out(THREE)["study"]
    assert made["load"] == {"value": pytest.approx(81 * KBTU_PER_HOUR), "unit": "W"}
    runs = {r["id"]: r for zone in made["zones"] for r in zone["runs"]}
    assert runs["trunk"]["load"] == {"value": pytest.approx(81 * KBTU_PER_HOUR), "unit": "W"}
    assert runs["trunk"]["part"]["length"] == {"value": pytest.approx(8 * FOOT), "unit": "m", "written": "8 ft"}
    assert (runs["middle"]["upstream"], runs["middle"]["downstream"]) == (
        "split-boiler-cooker-heater",
        "split-boiler-cooker",
    )
    assert (runs["trunk"]["upstream"], runs["to-boiler"]["downstream"]) == ("regulator", "boiler")
    method = runs["to-boiler"]["longest"]
    assert method["length"] == {"value": pytest.approx(30 * FOOT), "unit": "m"} and method["enough"] is True
    assert method["capacity"]["value"] == {"value": pytest.approx(51 * KBTU_PER_HOUR), "unit": "W"}
    (asked,) = [a for a in made["leak_test"]["asked"] if a["test"]["id"] == "piping-ifgc"]
    assert asked["pressure"] == {"value": pytest.approx(3 * PSI), "unit": "Pa"}
    assert asked["test"]["hold"] == {"value": 600, "unit": "s", "written": "10 min"}


def test_the_unit_of_a_field_does_not_depend_on_what_the_spec_shows() -> None:
    shown_us, shown_si = out(THREE), out(THREE | {"units": "si"})
    # Holds are planned with the instruments sold in those units, so there the figures may differ, the units not.
    planned = ".study.plans."
    fixed_us, fixed_si = (
        [q for q in quantities(shown) if not q[0].startswith(planned)] for shown in (shown_us, shown_si)
    )
    assert fixed_us == fixed_si
    held_us, held_si = (
        {(at, q["unit"]) for at, q in quantities(shown) if at.startswith(planned)} for shown in (shown_us, shown_si)
    )
    assert held_us == held_si and held_us
    # nor on how the spec writes its quantities
    written = json.loads(json.dumps(THREE).replace('"20 kBtu/h"', '"5.8614214 kW"').replace('"8 ft"', '"2.4384 m"'))
    for (at, a), (_, b) in zip(quantities(shown_us), quantities(out(written)), strict=True):
        assert a["unit"] == b["unit"] and a["value"] == pytest.approx(b["value"], rel=1e-6), at


def test_the_same_study_gives_the_same_text() -> None:
    assert dumps(study_json(study_of(THREE))) == dumps(study_json(study_of(THREE)))


def test_what_is_not_known_is_null_and_never_nan() -> None:
    made = out(ALL["bare"])["study"]
    assert made["served"][0]["per_day"] is None and made["cold"]["narrow"] is None
    with pytest.raises(ValueError, match="JSON compliant"):
        dumps({"x": float("nan")})


def test_a_check_lists_problems_with_their_places() -> None:
    problem = Problem("specs/x.md", 4, 2, Severity.ERROR, "m", "h", "c")
    assert check_json([problem], 2) == {
        "version": 2,
        "exit_code": 2,
        "builds": [],
        "problems": [
            {
                "path": "specs/x.md",
                "line": 4,
                "column": 2,
                "severity": "error",
                "message": "m",
                "hint": "h",
                "code": "c",
                "draft": False,
            }
        ],
    }


def capacity(material: str, kind: str | None, size: str, length: float) -> dict[str, Any]:
    conditions = Conditions(11 * 249.08891, 0.5 * 249.08891, True)
    found = tubing.resolve(material, kind, size)
    return capacity_json(found, length, conditions, look_up(found, length, conditions))


def test_a_capacity_has_table_equation_what_is_used_and_its_source() -> None:
    made = capacity("copper", "k", "3/8 in nominal", 20 * FOOT)
    answer = made["answer"]
    assert answer["cell"] == {"value": pytest.approx(64 * KBTU_PER_HOUR), "unit": "W"} == answer["value"]
    assert answer["equation"]["value"] == pytest.approx(64 * KBTU_PER_HOUR, rel=0.01)
    assert answer["basis"] == "cell" and "402.4(30)" in answer["source"]["text"]
    assert made["inlet_gauge"]["value"] == pytest.approx(2739.978, rel=1e-6)
    assert made["drop"]["value"] == pytest.approx(124.5445, rel=1e-6)


def test_a_capacity_outside_the_table_has_nothing_to_use() -> None:
    answer = capacity("csst", None, "EHD 13", 200 * FOOT)["answer"]
    assert answer["reason"] == "length" and answer["source"]["text"] and "value" not in answer


def test_the_pressures_are_those_of_the_pages() -> None:
    made = study_of(THREE)
    (solved,) = pressures(made)
    (zone,) = out(THREE)["study"]["zones"]
    assert solved is not None and zone["id"] == "regulator"
    for ours, told in zip(solved.outlets, zone["pressure"]["outlets"], strict=True):
        assert told["id"] == ours.id and told["full"] == {"value": pytest.approx(ours.full), "unit": "Pa"}
        assert told["highest"]["value"] == pytest.approx(ours.highest) and told["starved"] is ours.starved
    for ours_, told in zip(run_pressures(made).values(), (line["pressure"] for line in zone["runs"]), strict=True):
        assert told["drop"]["value"] == pytest.approx(ours_.drop) and told["drop"]["value"] > 0
    assert zone["pressure"]["tried"] == zone["pressure"]["lacks"] == zone["pressure"]["behind"] == []


def test_what_is_not_known_of_the_pressures_says_why() -> None:
    zone = out(ALL["no size"])["study"]["zones"][0]["pressure"]
    assert zone["outlets"] == [] and [o["id"] for o in zone["behind"]] == ["kiln"]
    assert [k["why"] for k in zone["lacks"]] == ["capacity"] and zone["lacks"][0]["needs"]["unit"] == "W"
    assert len(zone["tried"]) == 1


def test_numbers_that_name_a_part_or_a_person_are_masked() -> None:
    """The spec is not in the JSON as a whole, so that a serial number cannot come along."""
    spec = build(run("9 ft", material="copper", type="k"), outlet("Heater", "9 kBtu/h", serial="QX-4471-09Z"))
    made = study_of(spec)
    assert "QX-4471-09Z" not in dumps(study_json(made)) and "masked, ends in 9Z" in dumps(study_json(made))


def test_photos_stand_with_what_they_are_of_and_a_plate_only_where_numbers_are_shown() -> None:
    spec: Values = {
        **THREE,
        "cover": "my-hut/hut.jpg",
        "regulator": {**THREE["regulator"], "photo": {"file": "my-hut/plate.jpg", "plate": True}},
    }
    assert [(p["photo"]["file"], p["kind"]) for p in out(spec)["photos"]] == [("my-hut/hut.jpg", "cover")]
    shown = out({**spec, "show_numbers": True})["photos"]
    assert [(p["photo"]["file"], p["kind"]) for p in shown] == [
        ("my-hut/hut.jpg", "cover"),
        ("my-hut/plate.jpg", "element"),
    ]
