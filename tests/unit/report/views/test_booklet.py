"""The booklet for the inspector and the labels of the valves: what they say of a build."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee
from markupsafe import Markup

from gasdoc.report.views import booklet
from gasdoc.report.views.door_sheet import labels
from gasdoc.source import Severity
from gasdoc.study import Study


def hut(**more: Any) -> Values:
    return build(
        run("20 ft", "5/8 in OD", material="copper", type="k", id="trunk"),
        {"valve": {"id": "main-valve", "place": "Left of the door, knee high"}},
        tee(
            [run("10 ft", "1/2 in OD"), outlet("Heater", "20 kBtu/h", id="heater", place="North wall")],
            [run("6 ft", "1/2 in OD"), outlet("Cooker", "30 kBtu/h", kind="cooker", flue="flueless", shut_off="no")],
        ),
        coldest=None,
        **more,
    )


def view(study: Study) -> dict[str, Any]:
    return booklet.view(study, Markup())


def test_the_facts_are_those_of_the_build() -> None:
    study = study_of(hut())
    known = {label: str(text) for label, text in view(study)["known"]}
    assert known["What burns"].startswith("2 appliances, ") and "50" in known["What burns"]  # 20 + 30 kBtu/h
    assert known["Tightness code"] == study.standing.codes.tightness
    assert known["Joints and gas volume"].startswith(f"{len(study.leak_test.joints)} joints")


def test_every_run_and_every_appliance_has_its_row() -> None:
    shown = view(study_of(hut()))
    assert [row[0] for row in shown["appliances"]] == ["Heater", "Cooker"]
    assert len(shown["runs"]) == 3
    load = {row[0]: row[3] for row in shown["runs"]}
    assert sorted(load.values()) == ["20", "30", "50"]


def test_no_more_findings_than_fit_are_named_and_none_is_lost() -> None:
    study = study_of(hut())
    shown = view(study)
    grave = [f for f in study.said if f.severity >= Severity.WARNING]
    assert len(shown["grave"]) + shown["more_grave"] == len(grave) > 0
    assert len(shown["grave"]) <= booklet.MOST_NAMED >= len(shown["rules"])
    weights = [severity for severity, _, _ in shown["grave"]]
    assert weights == sorted(weights)  # errors before warnings


def test_every_valve_has_a_label_that_says_what_it_shuts_and_how() -> None:
    found = labels(study_of(hut()))["valves"]
    assert [(v.name, v.behind) for v in found] == [
        ("Container valve", "everything"),
        ("Main valve", "everything behind it: Heater, Cooker"),
        ("Shut-off of Heater", "Heater"),
    ]  # the cooker has none
    assert [v.shuts for v in found] == [
        "Turn the handwheel clockwise until it stops.",
        "Turn a lever across its pipe, a handwheel clockwise.",
        "Turn a lever across its pipe, a handwheel clockwise.",
    ]
    assert found[1].place == "Left of the door, knee high"


def test_more_than_one_container_is_told_on_the_label() -> None:
    found = labels(study_of(hut(container={"number": 2, "manifold": "changeover"})))["valves"]
    assert found[0].name == "Container valves, all 2"


def test_a_container_without_a_hand_wheel_is_not_told_to_be_turned() -> None:
    """Common practice, no source: a clip-on valve opens and shuts with its regulator."""
    spec = hut(region="uk", setting="cabin", container={"connection": "27 mm clip-on"})
    shuts = labels(study_of(spec))["valves"][0].shuts
    assert "clip-on regulator" in shuts and "clockwise" not in shuts


@pytest.mark.parametrize(
    ("region", "connection", "handles"),
    [
        ("uk", "27 mm clip-on", "A clip-on regulator has a switch."),
        ("uk", "POL", "A handwheel turns clockwise."),
        ("uk", None, "A handwheel turns clockwise. A clip-on regulator has a switch."),
        ("us-cabin", None, "A handwheel turns clockwise."),
    ],
)
def test_the_door_names_what_shuts_this_container(region: str, connection: str | None, handles: str) -> None:
    """Only British cylinders have clip-on valves here; where the connection is not stated there both are named."""
    spec = hut(region=region, setting="cabin", container={"connection": connection})
    steps = [c.text for c in study_of(spec).cautions if c.id.startswith("emergency-3-shut")]
    assert steps == [f"Shut the container valve if you can reach it from outside without danger. {handles}"]
