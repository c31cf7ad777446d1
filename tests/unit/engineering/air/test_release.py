"""What a leak would do here: flows and times against hand arithmetic, and the hour after which no time is given."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.air import release
from gasdoc.engineering.supply import lpg

AIR = 101325.0
SERVICE = 11 * 249.08891
GAS = lpg.gas(lpg.PROPANE, 288.15, AIR + SERVICE)
DENSITY = lpg.gas(lpg.PROPANE, 288.15, AIR).density
NEEDS_OF_THE_HOUR = release.LOWER_FLAMMABLE_LIMIT * DENSITY / release.LONGEST_TIME  # kg/s per m3


def test_pinhole_is_the_plain_orifice_equation_at_low_pressure() -> None:
    # By hand: 0.8 x pi/4 x (1 mm)^2 x sqrt(2 x 2740 Pa x 1.92 kg/m3) = 6.45e-5 kg/s. 2 %: the gas thins on the way out.
    by_hand = 0.8 * math.pi / 4 * 1e-6 * math.sqrt(2 * 2740 * 1.92)
    assert by_hand == pytest.approx(6.45e-5, rel=2e-3)
    assert release.pinhole(1e-3, GAS, AIR) == pytest.approx(by_hand, rel=0.02)


def test_open_burner_passes_its_load() -> None:
    # 3 kW / 50.12 MJ/kg (21,548 Btu/lb) = 0.0599 g/s
    assert release.open_burner(3000.0, lpg.PROPANE) == pytest.approx(5.99e-5, rel=1e-3)


def test_lowest_space_is_the_smaller_of_void_and_floor_layer() -> None:
    assert release.lowest_space(0.4, 10.0) == 0.4
    assert release.lowest_space(5.0, 10.0) == pytest.approx(3.0)
    assert release.lowest_space(None, 10.0) == pytest.approx(3.0)
    assert release.lowest_space(0.4, None) == 0.4
    assert release.lowest_space(None, None) is None


def test_time_by_hand() -> None:
    # 0.5 m3 x 2 % = 10 L of propane; at 1.9 kg/m3 that is 19 g; at 0.06 g/s 317 s.
    found = release.time_to_limit(6e-5, 1.9, 0.5)
    assert found.time == pytest.approx(316.7, abs=0.1)
    assert found.reason is None


def test_limit_is_no_higher_than_any_published() -> None:
    # Printed as 2 (leaflets, United Kingdom), 2.1, 2.15 and 2.3 % in public texts.
    assert min(0.02, 0.021, 0.0215, 0.023) == release.LOWER_FLAMMABLE_LIMIT


def test_no_time_over_an_hour() -> None:
    edge = NEEDS_OF_THE_HOUR * 2.0
    assert release.time_to_limit(edge * 1.001, DENSITY, 2.0).time == pytest.approx(3600, rel=2e-3)
    assert release.time_to_limit(edge * 0.999, DENSITY, 2.0) == release.Fill(None, "over-an-hour")


def test_missing_space_and_no_flow_say_so() -> None:
    assert release.time_to_limit(1e-4, DENSITY, None) == release.Fill(None, "no-space")
    assert release.time_to_limit(0.0, DENSITY, 1.0) == release.Fill(None, "no-flow")


@given(st.floats(1e-9, 1e-1), st.floats(1e-3, 100.0), st.floats(1.0, 10.0))
def test_more_gas_or_less_space_is_never_later(mass: float, space: float, more: float) -> None:
    first, second = release.time_to_limit(mass, DENSITY, space), release.time_to_limit(mass * more, DENSITY, space)
    third = release.time_to_limit(mass, DENSITY, space / more)
    for later in (second, third):
        assert (later.time or math.inf) <= (first.time or math.inf)
    assert first.time is None or 0 < first.time <= 3600
