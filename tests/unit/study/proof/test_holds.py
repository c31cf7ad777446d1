"""Holds planned before a test: enough when they are kept, and growing with volume and coarse instruments."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_builds import Values, build, outlet, run, study_of

from gasdoc.engineering.constants import STANDARD_ATMOSPHERE as AIR
from gasdoc.engineering.proof import leak_test as physics
from gasdoc.engineering.proof import sealed_line
from gasdoc.study.proof.leak_test import hold_needed

SERVICE = 3238.0


@given(
    litres=st.floats(0.3, 8.0),
    gauge=st.sampled_from([10.0, 25.0, 69.0, 690.0]),
    degrees=st.sampled_from([0.05, 0.1, 0.5]),
    barometer=st.sampled_from([None, 10.0, 100.0]),
)
def test_a_steady_gauge_passes_after_the_hold_that_was_planned(
    litres: float, gauge: float, degrees: float, barometer: float | None
) -> None:
    pressure = 21_000.0
    hold = hold_needed(litres / 1000, "air", gauge, degrees, barometer, pressure, SERVICE, AIR)
    if (
        hold is None or hold < 3600.0
    ):  # at shorter holds a coarse barometer counts by the weather instead, which is less
        return
    read = AIR if barometer is not None else None
    first = sealed_line.Reading(0.0, pressure, 288.15, read)
    last = sealed_line.Reading(hold * (1 + 1e-9), pressure, 288.15, read)
    made = physics.verdict(
        [first, last],
        volume=litres / 1000,
        medium="air",
        instruments=sealed_line.Resolution(gauge, degrees, barometer or 100.0),
        asked=physics.TestTerms(pressure, None),
        service_gauge=SERVICE,
        atmosphere_absolute=AIR,
    )
    assert made.outcome == "pass", made.reasons


def test_a_larger_line_and_coarser_instruments_need_longer() -> None:
    def hold(volume: float, gauge: float, degrees: float) -> float:
        needed = hold_needed(volume, "air", gauge, degrees, 10.0, 21_000.0, SERVICE, AIR)
        assert needed is not None
        return needed

    assert hold(1e-3, 69.0, 0.1) < hold(2e-3, 69.0, 0.1) < hold(2e-3, 690.0, 0.1)
    assert hold(1e-3, 69.0, 0.1) < hold(1e-3, 69.0, 0.5)


def test_no_hold_is_enough_where_the_barometer_may_hide_the_leak() -> None:
    # 10 L of propane at 9 inH2O: the barometer may drift faster than a leak at the limit lets the pressure fall.
    assert hold_needed(10e-3, "propane", 25.0, 0.1, None, 2240.0, SERVICE, AIR) is None
    assert hold_needed(10e-3, "propane", 25.0, 0.1, 10.0, 2240.0, SERVICE, AIR) is not None


def hut(**more: Any) -> Values:
    return build(
        run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "20 kBtu/h"), coldest=None, **more
    )


def test_every_gauged_test_has_a_plan_never_under_its_own_time() -> None:
    made = study_of(hut())
    assert [plan.asked.test.id for plan in made.plans] == ["piping-ifgc", "leak-check-low"]
    for plan in made.plans:
        assert plan.holds
        assert all(h.hold is None or h.hold >= float(plan.asked.test.hold or 0.0) for h in plan.holds)


@pytest.mark.parametrize("region", ["us-vehicle", "us-trailer", "canada", "uk", "eu", "au-nz", "boat-us", "boat-eu"])
def test_every_region_gets_a_plan_for_what_it_asks_with_a_time(region: str) -> None:
    made = study_of(hut(region=region, setting="vehicle"))
    timed = [
        a
        for a in made.leak_test.asked
        if a.pressure is not None and a.test.hold is not None and a.test.kind != "container-side"
    ]
    assert [plan.asked for plan in made.plans] == timed and all(plan.holds for plan in made.plans)


@pytest.mark.parametrize(
    "region", ["us-vehicle", "us-trailer", "canada", "uk", "eu", "au-nz", "boat-us", "boat-eu", "us-cabin"]
)
@pytest.mark.parametrize("units", ["us", "si"])
def test_no_instrument_is_offered_that_is_coarser_than_the_row_asks_and_steps_are_round(
    region: str, units: str
) -> None:
    for plan in study_of(hut(region=region, setting="vehicle", units=units)).plans:
        finest = plan.asked.test.gauge.resolution
        assert plan.holds
        for hold in plan.holds:
            assert finest is None or hold.gauge_step <= finest * (1 + 1e-9), (plan.asked.test.id, hold.gauge)
            assert hold.thermometer_step.text in (("1 degF", "0.1 degF") if units == "us" else ("0.5 K", "0.1 K"))


def test_a_check_with_appliances_connected_is_planned_for_their_connectors_too() -> None:
    made = study_of(hut())
    piping, check = made.plans
    assert piping.volume == pytest.approx(made.leak_test.volume_largest)
    assert check.volume == pytest.approx(made.leak_test.volume_connected) and check.volume > piping.volume
