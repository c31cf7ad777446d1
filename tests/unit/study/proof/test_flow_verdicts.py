"""Readings of delivered pressure judged. By the US row: 10 to 12 inH2O with about half the load on, 14 inH2O at lock-up
(common practice, from memory). The plate of the appliance here asks 10 to 13.5 inH2O."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of, tee, words

from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.proof.verdicts import REASONS, Judged, help_text


def flow(*readings: tuple[str, str | None], **more: object) -> Values:
    test: Values = {
        "date": "2026-05-02",
        "kind": "flow",
        "medium": "propane",
        "gauge": {"range": "30 inH2O", "resolution": "0.1 inH2O"},
        "readings": [
            {"time": f"10:{i:02}", "pressure": pressure} | ({"burning": burning} if burning else {})
            for i, (pressure, burning) in enumerate(readings)
        ],
    } | more
    return {key: value for key, value in test.items() if value is not None}


def made(*tests: Values, regulator: Values | None = None, region: str = "us-cabin", **plate: object) -> Study:
    heater = outlet("Heater", "20 kBtu/h", **({"max_inlet": "13.5 inH2O"} | plate))
    return study_of(
        build(
            run("20 ft", "1/2 in nominal", material="copper", type="k"),
            heater,
            tests=list(tests),
            regulator=regulator,
            region=region,
        )
    )


def judged(*readings: tuple[str, str | None], **more: object) -> Judged:
    return made(flow(*readings, **more)).judged[0]


HALF, LOCKED = ("10.8 inH2O", "half"), ("11.9 inH2O", "none")


def test_readings_within_every_limit_pass_and_say_what_they_leave_open() -> None:
    study = made(flow(HALF, LOCKED))
    j = study.judged[0]
    assert (j.outcome, j.reasons) == ("pass", ("read-at-the-gauge",))
    assert found(study, "test-pressure-outside") == found(study, "test-could-not-tell") == []


@pytest.mark.parametrize(
    ("readings", "reason", "severity"),
    [
        ((("9.7 inH2O", "half"), LOCKED), "below-plate", Severity.ERROR),
        ((("9.7 inH2O", "all"), HALF, LOCKED), "below-plate", Severity.ERROR),
        ((("12.4 inH2O", "half"), LOCKED), "above-range", Severity.WARNING),
        ((HALF, ("13.7 inH2O", "none")), "above-plate", Severity.ERROR),
        ((HALF, ("13.2 inH2O", "none")), "lock-up-above-own", Severity.WARNING),  # its data sheet: 13
        ((("13.7 inH2O", None), HALF), "above-plate", Severity.ERROR),  # whatever burned
        ((("9.7 inH2O", None), HALF), "below-plate", Severity.ERROR),
    ],
)
def test_a_reading_beyond_a_limit_is_outside(
    readings: tuple[tuple[str, str], ...], reason: str, severity: Severity
) -> None:
    study = made(flow(*readings))
    j = study.judged[0]
    assert j.outcome == "outside" and reason in j.reasons
    said = one(study, "test-pressure-outside")
    assert said.severity is severity and REASONS[j.reasons[0]] in words(said)
    assert "Never turn a regulator up or down" in said.remedy


def test_the_rules_own_range_counts_where_the_plate_asks_for_less() -> None:
    study = made(flow(("9.6 inH2O", "half"), LOCKED), min_inlet="8 inH2O")
    assert study.judged[0].reasons == ("below-range",)
    assert study.judged[0].outcome == "outside"
    with_all = made(flow(("9.6 inH2O", "all"), HALF, LOCKED), min_inlet="8 inH2O")
    assert with_all.judged[0].outcome == "pass"  # the range is for about half the load


def test_the_rules_lock_up_counts_where_nothing_else_is_stated() -> None:
    """14 inH2O, and a gauge read to 0.1 may show half a step more."""
    for pressure, outcome in (("14.0 inH2O", "pass"), ("14.2 inH2O", "outside")):
        study = made(flow(HALF, (pressure, "none")), regulator={"lock_up": None}, max_inlet=None)
        assert study.judged[0].outcome == outcome
        if outcome == "pass":
            assert study.judged[0].reasons == ("read-at-the-gauge", "rule-alone")


def test_a_limit_is_passed_by_more_than_half_a_step_of_the_gauge() -> None:
    coarse = {"gauge": {"range": "30 inH2O", "resolution": "0.1 inH2O"}}
    assert judged(("9.95 inH2O", "half"), LOCKED, **coarse).outcome == "could-not-tell"
    assert judged(("9.94 inH2O", "half"), LOCKED, **coarse).outcome == "outside"


@pytest.mark.parametrize(
    ("readings", "reason", "help_code"),
    [
        ((("10.8 inH2O", None), LOCKED), "burning-not-stated", "state-burning"),
        ((LOCKED,), "no-reading-in-use", "read-in-use"),
        ((HALF,), "no-reading-at-lock-up", "read-at-lock-up"),
    ],
)
def test_what_is_missing_keeps_anything_from_being_told(
    readings: tuple[tuple[str, str | None], ...], reason: str, help_code: str
) -> None:
    j = judged(*readings)
    assert j.outcome == "could-not-tell" and reason in j.reasons
    assert help_code in [h.code for h in j.helps] and all(help_text(h, "us") for h in j.helps)


def test_the_gauge_and_the_medium_count_as_for_any_test() -> None:
    assert judged(HALF, LOCKED, medium="air").reasons[-1] == "medium-not-asked"
    assert "no-gauge-step" in judged(HALF, LOCKED, gauge=None).reasons


def test_in_europe_the_plates_alone_are_the_limits() -> None:
    def europe(half: str, locked: str, **plate: object) -> Judged:
        test = flow((half, "half"), (locked, "none"), gauge={"range": "60 mbar", "resolution": "0.1 mbar"})
        plates = {"min_inlet": "25 mbar", "max_inlet": "35 mbar"} | plate
        return made(test, region="eu", regulator={"outlet": "30 mbar", "lock_up": None}, **plates).judged[0]

    assert europe("29.0 mbar", "33.0 mbar").outcome == "pass"
    assert europe("24.8 mbar", "33.0 mbar").reasons == ("below-plate",)
    assert europe("35.2 mbar", "35.3 mbar").reasons[0] == "above-plate"
    assert europe("29.0 mbar", "39.2 mbar").reasons == ("above-plate",)  # over 1.3 times 30 mbar
    assert europe("29.0 mbar", "35.2 mbar").reasons == ("shut-above-plate",)  # TRGI 2008: plates are of gas that flows
    unknown = europe("29.0 mbar", "33.0 mbar", max_inlet=None)
    assert unknown.outcome == "could-not-tell" and unknown.reasons[0] == "plates-not-stated"


def test_where_two_zones_deliver_the_record_has_to_say_which() -> None:
    inner: Values = {"regulator": {"id": "inner", "outlet": "10 inH2O", "lock_up": "12 inH2O"}}
    far = [
        run("3 ft", "1/2 in nominal"),
        inner,
        run("3 ft", "1/2 in nominal"),
        outlet("Lamp", "2 kBtu/h", kind="light"),
    ]
    near = [run("3 ft", "1/2 in nominal"), outlet("Heater", "20 kBtu/h")]
    spec = build(run("3 ft", "1/2 in nominal", material="copper", type="k"), tee(near, far), tests=[flow(HALF, LOCKED)])
    unsaid = study_of(spec).judged[0]
    assert (unsaid.outcome, unsaid.reasons) == ("could-not-tell", ("zone-not-stated",))
    spec["tests"] = [flow(("10.0 inH2O", "half"), LOCKED, zone="inner")]
    said = study_of(spec).judged[0]
    assert said.outcome == "pass" and said.row is not None and said.row.zone == "inner"


def test_a_later_record_stands_in_the_place_of_one_outside() -> None:
    bad, good = flow(("9.0 inH2O", "half"), LOCKED), flow(HALF, LOCKED, date="2026-06-01")
    study = made(bad, good)
    assert [j.current for j in study.judged] == [False, True]
    assert found(study, "test-pressure-outside") == []


NO_PLATE: dict[str, Any] = {"min_inlet": None, "max_inlet": None}


@pytest.mark.parametrize(
    ("reading", "outcome", "reason"),
    [
        (("30 inH2O", "all"), "outside", "above-range"),  # the more burns the lower a pressure is
        (("3 inH2O", "all"), "could-not-tell", "low-with-all-burning"),  # the rule's range is for half the load
    ],
)
def test_a_reading_with_everything_on_is_held_to_what_it_cannot_pass(
    reading: tuple[str, str], outcome: str, reason: str
) -> None:
    j = made(flow(reading, HALF, LOCKED), **NO_PLATE).judged[0]
    assert j.outcome == outcome and reason in j.reasons


@pytest.mark.parametrize(
    ("locked", "reason"),
    [
        ("0 inH2O", "no-pressure-at-lock-up"),
        ("1 inH2O", "lock-up-below-burning"),
        ("10 inH2O", "lock-up-below-burning"),
    ],
)
@pytest.mark.parametrize("plate", [{}, NO_PLATE])
def test_a_lock_up_below_what_burning_gave_tells_nothing(locked: str, reason: str, plate: Values) -> None:
    """Nor is it a pressure below a plate's least: with nothing burning there cannot be less than with gas burning."""
    j = made(flow(HALF, (locked, "none")), **plate).judged[0]
    assert (j.outcome, j.reasons[0]) == ("could-not-tell", reason)
    assert any("every burner off" in help_text(found, "us") for found in j.helps)


def test_no_pressure_with_nothing_burning_says_so_by_itself() -> None:
    j = judged(("0 inH2O", "none"))
    assert j.outcome == "could-not-tell" and "no-pressure-at-lock-up" in j.reasons


def test_what_was_too_low_while_burning_stays_outside_beside_an_impossible_lock_up() -> None:
    assert judged(("9.0 inH2O", "half"), ("0 inH2O", "none")).reasons[0] == "below-plate"


def test_a_pressure_below_a_plate_with_nothing_burning_is_not_said_to_be_with_gas_burning() -> None:
    j = judged(("9.0 inH2O", "none"))
    assert j.outcome == "outside" and "burning" not in REASONS[j.reasons[0]]


def test_within_half_a_step_beyond_a_limit_nothing_can_be_told() -> None:
    """The plate's least is 10 inH2O; a gauge read to 0.1 that shows 9.96 may stand at either side of it."""
    j = judged(("9.96 inH2O", "half"), LOCKED)
    assert j.outcome == "could-not-tell" and "near-a-limit" in j.reasons


def test_a_gauge_coarser_than_the_rule_asks_cannot_show_a_pass() -> None:
    coarse = {"range": "30 inH2O", "resolution": "6 inH2O"}
    for readings in ((HALF, LOCKED), (("9 inH2O", "half"), ("15 inH2O", "none"))):
        j = made(flow(*readings, gauge=coarse), regulator={"lock_up": None}).judged[0]
        assert j.outcome == "could-not-tell" and "gauge-coarser-than-asked" in j.reasons


def test_bubbles_are_a_leak_here_too() -> None:
    j = judged(HALF, LOCKED, bubbles="found")
    assert j.outcome == "leak" and j.reasons[0] == "bubbles-found"


def test_a_pressure_a_plate_does_not_allow_keeps_a_build_from_being_tested() -> None:
    """The standing says so, and a good reading after it counts instead."""
    wrong = made(flow(("9.7 inH2O", "half"), LOCKED))
    assert "plate does not allow" in wrong.standing.detail and wrong.standing.word != "tested"
    mended = made(flow(("9.7 inH2O", "half"), LOCKED), flow(HALF, LOCKED, date="2026-05-03"))
    assert "plate does not allow" not in mended.standing.detail
