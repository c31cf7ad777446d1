"""Recorded tests judged: readings of a made-up line with and without a leak, and what no gauge tells."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_builds import FOOT, INCH, PSI, Values, build, found, one, outlet, run, study_of, try_study, words
from properties import tries

from gasdoc.engineering.proof.leak_test import Help
from gasdoc.regions.region import region_ids
from gasdoc.source import Severity
from gasdoc.study.proof.verdicts import REASONS, Judged, help_text

COPPER = {"material": "copper", "type": "k"}
AIR = 101_325.0


def hut(*tests: Values, **more: Any) -> Values:
    return build(run("20 ft", "1/2 in nominal", **COPPER), outlet("Heater", "20 kBtu/h"), tests=list(tests), **more)


def piping(*readings: Values, **more: Any) -> Values:
    """A pressure test with fine instruments; `more` replaces, None takes out."""
    test: Values = {
        "date": "2026-05-02",
        "kind": "piping",
        "medium": "air",
        "gauge": {"range": "5 psi", "resolution": "0.001 psi"},
        "thermometer": "0.1 K",
        "barometer": "0.1 mbar",
        "readings": list(readings),
    } | more
    return {key: value for key, value in test.items() if value is not None}


def reading(time: str, gauge: float, kelvin: float = 288.15, air: float | None = AIR) -> Values:
    made = {"time": time, "pressure": f"{gauge:.6f} Pa", "temperature": f"{kelvin:.4f} K"}
    return made | ({"barometer": f"{air:.4f} Pa"} if air is not None else {})


STEADY = (reading("10:00", 3.2 * PSI), reading("10:30", 3.2 * PSI))


def judged(*tests: Values, **more: Any) -> Judged:
    return study_of(hut(*tests, **more)).judged[-1]


def test_a_steady_line_with_fine_instruments_passes() -> None:
    j = judged(piping(*STEADY))
    assert (j.outcome, j.reasons) == ("pass", ())
    assert (
        j.row is not None
        and j.row.test.id == "piping-ifgc"
        and j.asked_pressure == pytest.approx(3 * PSI)
        and j.asked_hold == 600
    )


def test_the_volume_reckoned_with_is_the_largest_plausible_one() -> None:
    # 20 ft of 0.527 in, a tenth more for fittings; with appliances connected 3 ft of connector of 1/2 in.
    own = 3.14159265 / 4 * (0.527 * INCH) ** 2 * 20 * FOOT * 1.1
    assert judged(piping(*STEADY)).volume == pytest.approx(own, rel=1e-6)
    check = piping(
        reading("10:00", 2240.0),
        reading("11:00", 2240.0),
        kind="leak-check",
        medium="propane",
        gauge={"resolution": "1 Pa"},
    )
    assert judged(check).volume == pytest.approx(own + 3.14159265 / 4 * 0.0127**2 * 3 * FOOT, rel=1e-6)
    corrugated = build(run("20 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h"), tests=[piping(*STEADY)])
    assert study_of(corrugated).judged[0].volume == pytest.approx(
        2 * 1.1 * 3.14159265 / 4 * (0.46 * INCH) ** 2 * 20 * FOOT, rel=1e-6
    )


def test_a_test_of_the_piping_with_the_appliances_connected_reckons_with_their_connectors() -> None:
    # ISO 10239 tests from the regulator to the closed burner valves; the US rows test the piping alone.
    boat = hut(piping(*STEADY), region="boat-eu")
    assert study_of(boat).judged[0].volume == pytest.approx(
        judged(piping(*STEADY)).volume + 3.14159265 / 4 * 0.0127**2 * 3 * FOOT
    )


@given(
    start=st.floats(3.05 * PSI, 3.4 * PSI),
    kelvin=st.floats(270.0, 310.0),
    change=st.floats(-8.0, 8.0),
    air=st.floats(80_000.0, 104_000.0),
    weather=st.floats(-300.0, 300.0),
    minutes=st.integers(10, 59),
)
@tries(60)
def test_temperature_and_barometer_alone_never_make_a_leak(
    start: float, kelvin: float, change: float, air: float, weather: float, minutes: int
) -> None:
    """A sealed line follows the gas law; its readings are rounded to the instruments' steps."""
    end = (start + air) * (kelvin + change) / kelvin - (air + weather)
    step = 0.001 * PSI

    def read(time: str, gauge: float, k: float, a: float) -> Values:
        return reading(time, round(gauge / step) * step, round(k, 1), round(a / 10) * 10)

    j = judged(piping(read("10:00", start, kelvin, air), read(f"10:{minutes}", end, kelvin + change, air + weather)))
    assert j.outcome in ("pass", "could-not-tell"), j.reasons


@given(
    times=st.floats(1.001, 30.0),
    change=st.floats(-4.0, 4.0),
    step=st.sampled_from([0.001, 0.01, 0.1]),
    degrees=st.sampled_from([0.1, 0.5]),
    minutes=st.integers(10, 59),
    volume_share=st.floats(0.5, 1.0),
)
@tries(60)
def test_a_leak_above_what_the_test_was_sure_to_show_never_passes(
    times: float, change: float, step: float, degrees: float, minutes: int, volume_share: float
) -> None:
    """The leak is made from the verdict's own detection limit, turned back into a loss of pressure by Boyle's law."""
    instruments = {"gauge": {"range": "15 psi", "resolution": f"{step} psi"}, "thermometer": f"{degrees} K"}
    start = 3.2 * PSI
    clean = judged(piping(reading("10:00", start), reading(f"10:{minutes}", start, 288.15), **instruments))
    assert (
        clean.verdict is not None
        and clean.verdict.smallest_visible is not None
        and clean.verdict.in_service is not None
    )
    # Propane in service per Pa lost, from the verdict's bounds: high bound = per Pa x U / shortest time.
    u = clean.verdict.uncertainty
    assert u is not None
    loss = 2 * u.total * times / volume_share  # what a leak that size costs a line no larger than reckoned with
    end = (start + AIR) * (288.15 + change) / 288.15 - AIR - loss
    if end <= 0:
        return
    s = step * PSI
    rounded = reading(f"10:{minutes}", round(end / s) * s, round((288.15 + change) / degrees) * degrees)
    first = reading("10:00", round(start / s) * s, round(288.15 / degrees) * degrees)
    assert judged(piping(first, rounded, **instruments)).outcome != "pass"


def test_a_loss_of_half_a_psi_is_a_leak_and_an_error() -> None:
    made = study_of(hut(piping(reading("10:00", 3.2 * PSI), reading("10:30", 2.7 * PSI))))
    assert made.judged[0].outcome == "leak" and made.judged[0].reasons == ("unexplained-loss",)
    said = one(made, "test-leak")
    assert said.severity is Severity.ERROR and said.at == ("tests", 0) and "Shut the container" in said.remedy


def test_a_fall_that_only_cooling_explains_is_no_pass_and_says_to_repeat_at_a_steady_temperature() -> None:
    end = (3.2 * PSI + AIR) * 283.15 / 288.15 - AIR
    made = study_of(hut(piping(reading("10:00", 3.2 * PSI), reading("10:30", end, 283.15))))
    assert made.judged[0].outcome == "could-not-tell" and "temperature-explains-fall" in made.judged[0].reasons
    said = one(made, "test-could-not-tell")
    assert said.severity is Severity.WARNING and "steady temperature" in said.remedy


def test_a_steady_gauge_while_the_line_warmed_is_a_suspected_leak() -> None:
    made = study_of(hut(piping(reading("10:00", 3.2 * PSI), reading("10:30", 3.2 * PSI, 293.15))))
    assert made.judged[0].outcome == "suspected-leak"
    assert one(made, "test-suspected-leak").severity is Severity.ERROR


def test_bubbles_are_a_leak_whatever_the_gauge_says() -> None:
    j = judged(piping(*STEADY, bubbles="found"))
    assert j.outcome == "leak" and j.reasons[0] == "bubbles-found" and Help("find-and-repair") in j.helps


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"medium": None}, "medium-not-stated"),
        ({"thermometer": None}, "no-thermometer-step"),
        ({"gauge": None}, "no-gauge-step"),
    ],
)
def test_a_steady_line_does_not_pass_if_it_was_not_tested_as_the_row_asks(change: Values, reason: str) -> None:
    j = judged(piping(*STEADY, **change))
    assert j.outcome == "could-not-tell" and reason in j.reasons


def test_a_gas_that_the_rule_does_not_name_is_no_test() -> None:
    found = judged(piping(*STEADY, medium="nitrogen"), region="us-trailer")  # its row names air alone
    assert found.outcome == "could-not-tell" and "medium-not-asked" in found.reasons


def test_a_pressure_test_with_propane_is_a_danger_and_not_a_test_that_could_not_tell() -> None:
    made = study_of(hut(piping(*STEADY, medium="propane")))
    assert made.judged[0].outcome == "danger" and made.judged[0].reasons[0] == "fuel-gas"
    said = one(made, "test-with-fuel-gas")
    assert said.severity is Severity.ERROR and "Shut the container" in said.remedy
    assert not found(made, "test-could-not-tell") and made.findings[0].code == "test-with-fuel-gas"
    assert made.standing.proofs[0].why == "not-passed"


def test_a_record_above_the_rating_of_what_stays_in_is_a_finding() -> None:
    # Fittings for corrugated tubing are listed for 5 psi; the shut-off of the heater comes off and does not count.
    def at(psi: float) -> list[str]:
        spec = build(
            run("20 ft", "EHD 18", material="csst"),
            outlet("Heater", "20 kBtu/h"),
            tests=[piping(reading("10:00", psi * PSI), reading("10:30", psi * PSI))],
        )
        return [f.message for f in study_of(spec).findings if f.code == "test-above-rating"]

    assert at(5.0) == []
    (said,) = at(6.0)
    assert "at 6 psi" in said and "rated for 5 psi" in said


def test_a_test_with_the_appliances_joined_above_a_plate_is_a_finding() -> None:
    def at(inches: float) -> list[str]:
        held = [reading("10:00", inches * 249.08891), reading("10:30", inches * 249.08891)]
        made = study_of(hut(piping(*held, kind="appliances"), region="us-trailer"))
        return [f.message for f in made.findings if f.code == "test-above-rating"]

    assert at(14.0) == []  # the plate of the heater ends at 14 inH2O
    (said,) = at(20.0)
    assert "20 inH2O" in said and "allows 14 inH2O" in said


@pytest.mark.parametrize(
    "name", [name for name in region_ids() if name not in ("us-cabin", "us-vehicle", "us-trailer")]
)
def test_the_air_test_of_the_sequence_can_be_recorded_in_every_region(name: str) -> None:
    held = [reading("10:00", 2740.0), reading("11:00", 2740.0)]  # 11 inH2O is 2740 Pa
    found = judged(piping(*held, kind="appliances"), region=name)
    assert found.row is not None and found.row.test.id == "appliances-air-practice" and found.outcome == "pass"


def test_what_would_settle_a_short_hold_comes_before_what_else_would() -> None:
    held = (reading("10:00", 3.2 * PSI), reading("10:03", 3.2 * PSI))
    helps = judged(piping(*held, thermometer="0.5 K")).helps
    codes = [h.code for h in helps]
    assert "hold-for" in codes and codes.index("hold-for") < codes.index("thermometer-step")


def test_a_barometer_that_cannot_stand_at_that_height_is_asked_about() -> None:
    # The standard atmosphere has 701 mbar at 3000 m; 1013 mbar is what a forecast says.
    def at(mbar: float) -> list[str]:
        air = mbar * 100
        tests = [piping(reading("10:00", 3.2 * PSI, air=air), reading("10:30", 3.2 * PSI, air=air))]
        spec = build(
            run("20 ft", "1/2 in nominal", **COPPER), outlet("Heater", "20 kBtu/h"), tests=tests, altitude="3000 m"
        )
        return [f.message for f in study_of(spec | {"units": "si"}).findings if f.code == "barometer-implausible"]

    assert at(690.0) == []
    (said,) = at(1013.0)
    assert "about 701 mbar" in said


def test_low_pressure_short_hold_and_one_reading_are_no_test() -> None:
    assert "pressure-too-low" in judged(piping(reading("10:00", 2.9 * PSI), reading("10:30", 2.9 * PSI))).reasons
    assert "hold-too-short" in judged(piping(reading("10:00", 3.2 * PSI), reading("10:09", 3.2 * PSI))).reasons
    assert "too-few-readings" in judged(piping(reading("10:00", 3.2 * PSI))).reasons


def test_a_leak_check_above_the_rows_range_may_hide_what_a_locked_regulator_hides() -> None:
    fine = {"kind": "leak-check", "medium": "propane", "gauge": {"resolution": "1 Pa"}, "thermometer": "0.05 K"}
    check = piping(reading("10:00", 2900.0), reading("11:00", 2900.0), **fine)
    assert judged(check).reasons == ("pressure-too-high",)
    assert judged(piping(reading("10:00", 2240.0), reading("11:00", 2240.0), **fine)).outcome == "pass"


def test_a_gauge_coarser_than_the_row_asks_is_no_test() -> None:
    coarse = {"kind": "leak-check", "medium": "propane", "gauge": {"resolution": "0.2 inH2O"}, "thermometer": "0.05 K"}
    check = piping(reading("10:00", 2240.0), reading("13:00", 2240.0), **coarse)
    assert "gauge-coarser-than-asked" in judged(check).reasons


@pytest.mark.parametrize(
    ("bubbles", "outcome"),
    [("none", "pass"), ("found", "leak"), ("not-looked", "could-not-tell"), (None, "could-not-tell")],
)
def test_the_container_side_rests_on_leak_fluid(bubbles: str | None, outcome: str) -> None:
    test = piping({"time": "09:00", "pressure": "85 psi"}, kind="container-side", medium="propane", bubbles=bubbles)
    assert judged(test).outcome == outcome


def wetted(bubbles: str, time: str | None = None) -> Values:
    """The joints before the regulator wetted with leak fluid, no gauge anywhere near."""
    return piping(
        kind="container-side", medium="propane", bubbles=bubbles, gauge=None, thermometer=None, readings=None, time=time
    )


def test_a_test_of_the_container_side_takes_no_reading() -> None:
    """The rule asks for bubbles alone; which of two on one day was later, is said by their times."""
    assert judged(wetted("none")).outcome == "pass"
    earlier, later = study_of(hut(wetted("found", "09:00"), wetted("none", "10:30"))).judged
    assert (earlier.outcome, earlier.current, later.current) == ("leak", False, True)
    assert [j.current for j in study_of(hut(wetted("found"), wetted("none"))).judged] == [True, True]


def test_a_test_that_no_rule_asks_for_is_not_told_to_be_made_again_as_its_rule_asks() -> None:
    said = words(one(study_of(hut(wetted("none"), region="au-nz")), "test-could-not-tell"))
    assert "no rule for this kind of test" in said and "rule asks" not in said and "Ask who signs" in said


@pytest.mark.parametrize("kind", ["piping", "appliances", "leak-check", "flow"])
def test_any_other_test_is_its_readings(kind: str) -> None:
    _, (problem,) = try_study(hut(piping(readings=None) | {"kind": kind}))
    assert problem.code == "spec-missing-key" and "'readings'" in problem.message


def test_a_time_beside_readings_is_told() -> None:
    _, (problem,) = try_study(hut(piping(*STEADY, time="09:00")))
    assert problem.code == "spec-readings" and "take 'time:' out" in problem.hint


def test_the_clock_reads_to_a_minute_where_all_times_are_whole_minutes() -> None:
    assert judged(piping(*STEADY)).instruments.clock == 60.0
    seconds = (reading("10:00:00", 3.2 * PSI), reading("10:30:05", 3.2 * PSI))
    assert judged(piping(*seconds)).instruments.clock == 1.0


def test_a_test_over_midnight_counts_its_time_by_the_dates() -> None:
    late = reading("00:10", 3.2 * PSI) | {"date": "2026-05-03"}
    j = judged(piping(reading("23:50", 3.2 * PSI), late))
    assert j.verdict is not None and j.verdict.elapsed == 1200.0


def test_readings_that_cannot_be_are_no_test() -> None:
    j = judged(piping(reading("10:00", 3.2 * PSI, kelvin=1.0), reading("10:30", 3.2 * PSI, kelvin=1.0)))
    assert j.outcome == "could-not-tell" and j.reasons == ("readings-implausible",)


def test_only_the_latest_test_of_a_kind_gives_cause_to_a_finding() -> None:
    bad = piping(reading("10:00", 3.2 * PSI), reading("10:30", 2.7 * PSI))
    good = piping(*STEADY) | {"date": "2026-05-03"}
    made = study_of(hut(bad, good))
    assert [j.current for j in made.judged] == [False, True] and found(made, "test-leak") == []
    assert found(study_of(hut(good, bad | {"date": "2026-05-04"})), "test-leak")


def test_what_a_test_needs_is_enough_when_it_is_done() -> None:
    """The hold the verdict names, kept with the same instruments, passes."""
    coarse = {"gauge": {"range": "15 psi", "resolution": "0.1 psi"}, "thermometer": "0.5 K"}
    short = judged(piping(reading("10:00", 3.2 * PSI), reading("10:11", 3.2 * PSI), **coarse))
    assert short.reasons == ("leak-could-hide",)
    (hold,) = [h.value for h in short.helps if h.code == "hold-for"]
    assert hold is not None
    minutes = -(-int(hold) // 60)
    again = piping(
        reading("10:00", 3.2 * PSI), reading(f"{10 + minutes // 60}:{minutes % 60:02d}", 3.2 * PSI), **coarse
    )
    assert judged(again).outcome == "pass"
    assert help_text(Help("hold-for", hold), "us") == f"Hold for at least {minutes} min with the same instruments."


def test_a_finer_gauge_is_named_rounded_down() -> None:
    assert (
        help_text(Help("gauge-step", 26.0), "si")
        == "Or use a gauge that reads in steps of at most 0.26 mbar, with the same hold."
    )
    assert "0.25 mbar" in help_text(Help("gauge-step", 25.9), "si")
    assert "0.17 K" in help_text(Help("thermometer-step", 0.1799), "si")


def test_every_reason_is_a_sentence() -> None:
    for text in REASONS.values():
        assert text[0].isupper() and text.endswith(".") and "safe" not in text


def test_every_outcome_of_a_finding_names_the_test_its_date_and_its_row() -> None:
    made = study_of(hut(piping(reading("10:00", 3.2 * PSI), reading("10:30", 2.7 * PSI))))
    said = one(made, "test-leak")
    assert (
        "Pressure test of the piping" in words(said) and "2026-05-02" in said.message and "IFGC" in (said.source or "")
    )


def two_zones(*tests: Values) -> Values:
    return build(
        run("35 ft", material="copper", type="k", id="feeder"),
        {"regulator": {"id": "second", "outlet": "11 inH2O", "lock_up": "13 inH2O", "capacity": "150 kBtu/h"}},
        run("10 ft", id="inside"),
        outlet("Heater", "20 kBtu/h"),
        regulator={"stages": "1", "outlet": "10 psi", "lock_up": "12 psi", "id": "first"},
        tests=list(tests),
    )


def test_a_test_is_held_to_the_zone_it_names_and_to_all_of_them_if_it_names_none() -> None:
    wide = {"gauge": {"range": "30 psi", "resolution": "0.001 psi"}}
    named = study_of(two_zones(piping(*STEADY, zone="second", **wide))).judged[0]
    assert named.asked_pressure == pytest.approx(3 * PSI) and named.outcome == "pass"
    whole = study_of(two_zones(piping(*STEADY, **wide))).judged[0]
    assert whole.asked_pressure == pytest.approx(15 * PSI) and whole.reasons == ("pressure-too-low",)
    assert whole.volume > named.volume


def test_a_leak_check_at_28_mbar_does_not_pass_on_a_system_of_50_mbar() -> None:
    def outcome(pressure: float) -> tuple[str, ...]:
        check = piping(
            reading("10:00", pressure),
            reading("11:30", pressure),
            kind="leak-check",
            medium="propane",
            gauge={"resolution": "1 Pa"},
        )
        j = judged(check, region="eu", setting="vehicle", regulator={"outlet": "50 mbar", "lock_up": "60 mbar"})
        return (j.outcome, *j.reasons)

    assert outcome(2800.0) == ("could-not-tell", "pressure-too-low")
    assert outcome(4800.0) == ("pass",)
