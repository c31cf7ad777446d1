"""Flow in one pipe: laws that hold whatever the numbers."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.supply import flow, lpg

GAS = lpg.gas(lpg.PROPANE, 288.15, 104065.0)
BORES = st.floats(0.003, 0.1)
LENGTHS = st.floats(0.1, 100.0)
MASSES = st.floats(1e-7, 0.01)
ROUGHNESSES = st.floats(0.0, 1e-4)


@given(st.floats(2041.0, 1e8), st.floats(0.0, 0.05))
def test_friction_solves_the_colebrook_equation(re: float, relative_roughness: float) -> None:
    f = flow.friction_factor(re, relative_roughness)
    right = -2.0 * math.log10(relative_roughness / 3.7 + 2.51 / (re * math.sqrt(f)))
    assert 1.0 / math.sqrt(f) == pytest.approx(right, rel=1e-13)


def test_friction_is_laminar_below_the_limit_and_jumps_up_at_it() -> None:
    assert flow.friction_factor(1000.0, 0.01) == 0.064
    below, above = flow.friction_factor(2040.0, 1e-6), flow.friction_factor(2040.0001, 1e-6)
    assert below == 64.0 / 2040.0
    assert above / below == pytest.approx(1.57, abs=0.02)


@pytest.mark.parametrize(
    ("re", "name"),
    [(0.0, "laminar"), (1999.0, "laminar"), (2000.0, "transition"), (4000.0, "transition"), (4001.0, "turbulent")],
)
def test_regime_names_the_uncertain_zone(re: float, name: str) -> None:
    assert flow.regime(re) == name


def test_no_flow_costs_nothing_and_next_to_none_next_to_nothing() -> None:
    assert flow.squared_drop(0.0, 0.01, 5.0, 0.0, GAS) == 0.0
    assert 0.0 <= flow.squared_drop(1e-315, 0.01, 5.0, 0.0, GAS) < 1e-300


def test_drop_is_the_friction_factor_times_velocity_heads_in_both_regimes() -> None:
    for mass in (1e-6, 1e-4, 1e-3):
        flux = mass / (math.pi / 4 * 0.01**2)
        f = flow.friction_factor(flow.reynolds(mass, 0.01, GAS.viscosity), 1e-3)
        heads = f * 5.0 / 0.01 * flux**2 * GAS.pressure_per_density
        assert flow.squared_drop(mass, 0.01, 5.0, 1e-5, GAS) == pytest.approx(heads, rel=1e-12)


@given(MASSES, BORES, LENGTHS, ROUGHNESSES, st.floats(1.0, 3.0))
def test_more_flow_more_length_more_roughness_or_less_bore_never_costs_less(
    mass: float, bore: float, length: float, roughness: float, more: float
) -> None:
    cost = flow.squared_drop(mass, bore, length, roughness, GAS)
    last_digit = 1.0 - 1e-12
    assert flow.squared_drop(mass * more, bore, length, roughness, GAS) >= cost * last_digit
    assert flow.squared_drop(mass, bore, length * more, roughness, GAS) >= cost * last_digit
    assert flow.squared_drop(mass, bore, length, roughness * more, GAS) >= cost * last_digit
    assert flow.squared_drop(mass, bore / more, length, roughness, GAS) >= cost * last_digit


@given(BORES, LENGTHS, ROUGHNESSES, st.floats(1.0, 2000.0))
def test_capacity_is_the_largest_flow_within_the_drop(
    bore: float, length: float, roughness: float, drop: float
) -> None:
    mass = flow.capacity(bore, length, roughness, 104065.0, drop, GAS)
    allowed = 104065.0**2 - (104065.0 - drop) ** 2
    assert flow.squared_drop(mass, bore, length, roughness, GAS) <= allowed
    assert flow.squared_drop(mass * (1.0 + 1e-9), bore, length, roughness, GAS) > allowed


def test_capacity_of_no_drop_is_nothing() -> None:
    assert flow.capacity(0.01, 5.0, 0.0, 104065.0, 0.0, GAS) == 0.0


@pytest.mark.parametrize(
    ("bore", "length", "drop"),
    [(0.0, 5.0, 100.0), (0.01, 0.0, 100.0), (0.01, 5.0, -1.0), (0.01, 5.0, 104065.0), (0.01, 5.0, 2e5)],
)
def test_capacity_of_an_impossible_pipe_is_refused(bore: float, length: float, drop: float) -> None:
    with pytest.raises(ValueError, match="must be positive"):
        flow.capacity(bore, length, 0.0, 104065.0, drop, GAS)


def test_a_rise_loses_pressure_because_propane_is_heavier_than_air() -> None:
    per_foot = flow.rise_loss(0.3048, GAS, 101325.0)
    # About 0.008 in. w.c. per foot: (1.95 - 1.225) kg/m3 x 9.81 x 0.3048 = 2.2 Pa (common practice rounds to 0.008).
    assert per_foot / 249.08891 == pytest.approx(0.0085, abs=0.0006)
    assert flow.rise_loss(-0.3048, GAS, 101325.0) == -per_foot


def test_speed_is_volume_flow_over_area() -> None:
    assert flow.speed(GAS.density * 1e-3, 0.02, GAS.density) == pytest.approx(1e-3 / (math.pi * 1e-4))
