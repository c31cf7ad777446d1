"""Polyethylene pipe belongs in the ground; water tubing belongs in no gas line."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import build, found, one, outlet, run, study_of, try_study

from gasdoc.source import Severity


def plastic(setting: str = "us-cabin", **more: Any) -> Any:
    return build(run("20 ft", material="pe", id="line", **more), outlet("Heater", "20 kBtu/h"), region=setting)


@pytest.mark.parametrize(
    ("spec", "why"),
    [
        (plastic(), "not stated to lie in the ground"),
        (plastic(outside="yes"), "not stated to lie in the ground"),
        (plastic(buried="yes", through=["wall"]), "passes through wall"),
        (plastic("us-trailer"), "something that moves"),
        (plastic("us-vehicle", buried="yes"), "something that moves"),
        (plastic("boat-eu"), "something that moves"),
    ],
)
def test_polyethylene_anywhere_but_in_the_ground_is_an_error(spec: Any, why: str) -> None:
    said = one(study_of(spec), "run-plastic-above-ground", "line")
    assert said.severity is Severity.ERROR and why in said.message
    assert said.at == ("supply", 0, "run", "material")


def test_polyethylene_in_the_ground_of_a_hut_is_none() -> None:
    made = study_of(plastic(buried="yes"))
    assert not found(made, "run-plastic-above-ground") and not found(made, "run-buried-moves")
    assert made.passages.supports == () and made.passages.guards == ()


def test_a_run_after_it_that_takes_the_material_over_is_told_too() -> None:
    spec = build(
        run("20 ft", material="pe", id="line", buried="yes"),
        run("5 ft", id="riser"),
        outlet("Heater", "20 kBtu/h"),
    )
    assert one(study_of(spec), "run-plastic-above-ground").subject == "riser"


def test_copper_in_the_ground_of_a_boat_is_a_slip() -> None:
    spec = build(run("2 m", material="copper", type="k", buried="yes"), outlet("Heater", "5 kW"), region="boat-eu")
    assert one(study_of(spec), "run-buried-moves").severity is Severity.ERROR


@pytest.mark.parametrize("word", ["pex", "PEX-A", "cpvc", "PVC", "polybutylene"])
def test_water_tubing_is_answered_as_what_it_is(word: str) -> None:
    made, problems = try_study(build(run("20 ft", material=word), outlet("Heater", "20 kBtu/h")))
    assert made is None
    (problem,) = problems
    assert "water tubing" in problem.message and "'pe'" not in problem.hint
