"""The study as JSON: its schema, its units, and that neither depends on what the spec shows."""

from __future__ import annotations

import json
from typing import Any

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
from gasdoc.report.jsonout import capacity_json, check_json, dumps, quantity, study_json
from gasdoc.source import Problem, Severity
from gasdoc.study.supply.capacity import Conditions, look_up

UNITS = {"W", "m", "Pa", "kg", "m2", "m3", "J", "day", "s", "each", "K", "N", "1", "kg/s", "m3/s", "m/s", "W/(m2 K)"}


def out(spec: Values) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(dumps(study_json(study_of(spec))))
    return made


def quantities(value: Any, at: str = "") -> list[tuple[str, dict[str, Any]]]:
    """Every {"value", "unit"} with its path; positions in lists are left out."""
    if isinstance(value, list):
        return [q for item in value for q in quantities(item, at)]
    if not isinstance(value, dict):
        return []
    if "unit" in value:
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
def test_a_study_has_its_fields_and_every_quantity_is_a_value_with_a_unit(spec: Values) -> None:
    made = out(spec)
    assert made["version"] == 1
    assert {
        "build",
        "standing",
        "findings",
        "demand",
        "runs",
        "outlets",
        "pressures",
        "room",
        "container",
        "materials",
        "leak_test",
        "upkeep",
        "referral",
    } <= set(made)
    for key in ("findings", "runs", "outlets", "materials", "upkeep", "referral"):
        assert isinstance(made[key], list), key
    for run_ in made["runs"]:
        assert {"id", "from", "to", "material", "size", "length", "load", "methods"} <= set(run_)
        assert set(run_["methods"]) == {"longest_length", "branch_length"}
    for at, q in quantities(made):
        assert (
            set(q) == {"value", "unit"} | ({"source"} if at.endswith("drop_allowed") else set())
            and q["unit"] in UNITS
            and isinstance(q["value"], int | float)
        ), at
    # No bare number where a quantity belongs: the only numbers outside are counts and the version.
    counts = {"version", "number", "tests_recorded", "errors", "sleeping_places", "people"}
    stack: list[Any] = [(None, made)]
    while stack:
        key, value = stack.pop()
        if isinstance(value, dict):
            stack += [] if "unit" in value else value.items()
        elif isinstance(value, list):
            stack += [(key, item) for item in value]
        elif isinstance(value, int | float) and not isinstance(value, bool):
            assert key in counts, key


def test_numbers_are_those_worked_out_by_hand() -> None:
    made = out(THREE)
    assert made["demand"]["total"] == {"value": pytest.approx(81 * KBTU_PER_HOUR), "unit": "W"}
    runs = {r["id"]: r for r in made["runs"]}
    assert runs["trunk"]["load"] == {"value": pytest.approx(81 * KBTU_PER_HOUR), "unit": "W"}
    assert runs["trunk"]["length"] == {"value": pytest.approx(8 * FOOT), "unit": "m"}
    assert (runs["middle"]["from"], runs["middle"]["to"]) == ("split-boiler-cooker-heater", "split-boiler-cooker")
    assert (runs["trunk"]["from"], runs["to-boiler"]["to"]) == ("regulator", "boiler")
    method = runs["to-boiler"]["methods"]["longest_length"]
    assert method["length"] == {"value": pytest.approx(30 * FOOT), "unit": "m"} and method["enough"] is True
    assert method["capacity"]["used"] == {"value": pytest.approx(51 * KBTU_PER_HOUR), "unit": "W"}
    (asked,) = [a for a in made["leak_test"]["asked"] if a["id"] == "piping-ifgc"]
    assert asked["pressure"] == {"value": pytest.approx(3 * PSI), "unit": "Pa"} and asked["hold"] == {
        "value": 600,
        "unit": "s",
    }


def test_the_unit_of_a_field_does_not_depend_on_what_the_spec_shows() -> None:
    shown_us, shown_si = out(THREE), out(THREE | {"units": "si"})
    # Holds are planned with the instruments sold in those units, so there the figures may differ, the units not.
    planned = ".leak_test.holds."
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
    assert quantity(None, "m") is None
    assert quantity(1 / 3, "m") == {"value": 0.333333333, "unit": "m"}
    with pytest.raises(ValueError, match="JSON compliant"):
        dumps({"x": float("nan")})


def test_a_check_lists_problems_with_their_places() -> None:
    problem = Problem("specs/x.md", 4, 2, Severity.ERROR, "m", "h", "c")
    assert check_json([problem], 2) == {
        "version": 1,
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
    return capacity_json(found, length, conditions.inlet_gauge, conditions.drop, look_up(found, length, conditions))


def test_a_capacity_has_table_equation_what_is_used_and_its_source() -> None:
    made = capacity("copper", "k", "3/8 in nominal", 20 * FOOT)
    assert made["table"] == {"value": pytest.approx(64 * KBTU_PER_HOUR), "unit": "W"} == made["used"]
    assert made["equation"]["value"] == pytest.approx(64 * KBTU_PER_HOUR, rel=0.01)
    assert made["basis"] == "cell" and "402.4(30)" in made["source"]
    assert made["path_length_is"] == "from the final regulator to the farthest outlet"
    assert made["inlet_pressure"]["value"] == pytest.approx(2739.978, rel=1e-6)
    assert made["drop"]["value"] == pytest.approx(124.5445, rel=1e-6)


def test_a_capacity_outside_the_table_has_nothing_to_use() -> None:
    made = capacity("csst", None, "EHD 13", 200 * FOOT)
    assert made["used"] is None and made["table"] is None and made["basis"] == "outside-length" and made["source"]


def test_the_pressures_are_those_of_the_pages() -> None:
    made = study_of(THREE)
    (solved,) = pressures(made)
    (zone,) = out(THREE)["pressures"]
    assert solved is not None and zone["zone"] == "regulator"
    for ours, told in zip(solved.outlets, zone["solved"]["outlets"], strict=True):
        assert told["id"] == ours.id and told["everything_on"] == {"value": pytest.approx(ours.full), "unit": "Pa"}
        assert told["nothing_on"]["value"] == pytest.approx(ours.highest) and told["starved"] is ours.starved
    for ours_, told in zip(run_pressures(made).values(), zone["solved"]["runs"], strict=True):
        assert told["drop"]["value"] == pytest.approx(ours_.drop) and told["drop"]["value"] > 0
    assert zone["solved"]["no_size"] == zone["solved"]["lacking"] == zone["solved"]["not_known_at"] == []


def test_what_is_not_known_of_the_pressures_says_why() -> None:
    (zone,) = out(ALL["no size"])["pressures"]
    assert zone["solved"]["outlets"] == [] and zone["solved"]["not_known_at"] == ["kiln"]
    assert [k["why"] for k in zone["solved"]["lacking"]] == ["capacity"] and zone["solved"]["lacking"][0]["needs"][
        "unit"
    ] == "W"
    assert len(zone["solved"]["no_size"]) == 1
