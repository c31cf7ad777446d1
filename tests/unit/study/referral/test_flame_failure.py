"""A burner that goes on giving gas when its flame has gone out: an error where a text of the region asks, else a warning."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of, tee

from gasdoc.source import Severity

COPPER = {"material": "copper", "type": "k"}


def pair(region: str, heater: str, cooker: str, **more: Any) -> Values:
    return build(
        run("3 ft", "5/8 in OD", **COPPER),
        tee(
            [run("3 ft", "1/2 in OD"), outlet("Heater", "12 kBtu/h", flame_failure=heater)],
            [
                run("3 ft", "1/2 in OD"),
                outlet("Cooker", "12 kBtu/h", kind="cooker", flue="flueless", flame_failure=cooker),
            ],
        ),
        region=region,
        **more,
    )


@pytest.mark.parametrize(
    ("region", "severity"),
    [
        ("us-cabin", Severity.WARNING),
        ("canada", Severity.WARNING),
        ("uk", Severity.WARNING),
        ("us-trailer", Severity.ERROR),
        ("us-vehicle", Severity.ERROR),
        ("au-nz", Severity.ERROR),
        ("boat-eu", Severity.ERROR),
    ],
)
def test_a_heater_without_it(region: str, severity: Severity) -> None:
    more = {"setting": "vehicle"} if region in ("canada", "uk", "au-nz") else {}
    made = study_of(pair(region, "no", "yes", **more))
    said = [f for f in made.findings if f.code.startswith("rule-flame-failure")]
    assert [f.severity for f in said] == [severity]
    assert "Heater" in said[0].message and said[0].source


@pytest.mark.parametrize("region", ["us-cabin", "canada", "us-trailer", "us-vehicle", "uk", "eu", "boat-us"])
def test_a_cooker_without_it_is_a_warning_where_no_text_asks(region: str) -> None:
    more = {"setting": "vehicle"} if region in ("canada", "uk", "eu") else {}
    made = study_of(pair(region, "yes", "no", **more))
    said = one(made, "rule-flame-failure-others")
    assert said.severity is Severity.WARNING and "Cooker" in said.message and "Heater" not in said.message


def test_a_cooker_without_it_is_an_error_where_the_text_asks_it_of_every_burner() -> None:
    made = study_of(pair("au-nz", "yes", "no", setting="trailer"))
    assert one(made, "rule-flame-failure").severity is Severity.ERROR


def test_with_it_nothing_is_said() -> None:
    made = study_of(pair("canada", "yes", "yes", setting="cabin"))
    assert not [f for f in made.findings if f.code.startswith("rule-flame-failure")]
    assert not found(made, "rule-flame-failure-others")


def test_what_is_not_stated_is_told_once_for_all_and_louder_where_something_heats() -> None:
    def silent(*kinds: str) -> Values:
        outlets = [outlet(f"A {kind}", "3 kBtu/h", kind=kind) for kind in kinds]
        for made in outlets:
            made["outlet"]["appliance"].pop("flame_failure", None)
        return build(run("3 ft", "5/8 in OD", **COPPER), tee(*([run("3 ft", "1/2 in OD"), made] for made in outlets)))

    heats = one(study_of(silent("light", "room-heater")), "flame-failure-unknown")
    assert heats.severity is Severity.WARNING and "A light, A room-heater" in heats.message
    assert one(study_of(silent("light", "cooker")), "flame-failure-unknown").severity is Severity.NOTE
    assert not found(study_of(pair("us-cabin", "yes", "yes")), "flame-failure-unknown")
