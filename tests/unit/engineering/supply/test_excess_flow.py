"""Flow out of a cut line against an excess-flow valve's closing rate: behaviour."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.supply import excess_flow, flow, lpg
from gasdoc.engineering.supply.excess_flow import CutFlow, LineBefore

AIR = 101325.0
GAS = lpg.gas(lpg.PROPANE, 288.15, AIR + 68947.0)
BORES = st.floats(0.004, 0.03)
LENGTHS = st.floats(0.1, 60.0)


@given(BORES, LENGTHS, st.floats(1.0, 3.0))
def test_a_longer_or_narrower_line_never_passes_more(bore: float, length: float, more: float) -> None:
    def through(*lines: LineBefore) -> float:
        return excess_flow.cut_flow(lines, GAS, AIR).mass

    mass = through(LineBefore(bore, length, 1.5e-6)) * (1.0 + 1e-9)
    assert through(LineBefore(bore, length * more, 1.5e-6)) <= mass
    assert through(LineBefore(bore / more, length, 1.5e-6)) <= mass
    assert through(LineBefore(bore, length, 1.5e-6), LineBefore(bore / more, length, 1.5e-6)) <= mass


@given(BORES, LENGTHS)
def test_one_line_in_two_halves_passes_what_it_does_whole(bore: float, length: float) -> None:
    whole = excess_flow.cut_flow([LineBefore(bore, length, 1.5e-6)], GAS, AIR).mass
    halves = excess_flow.cut_flow([LineBefore(bore, 0.5 * length, 1.5e-6)] * 2, GAS, AIR).mass
    # The logarithm of the first half is taken to the lowest pressure: never more, and little less but in short lines.
    assert halves <= whole * (1.0 + 1e-9)
    assert halves >= whole * 0.85


def test_a_narrow_end_of_no_length_is_sonic_at_the_pressure_that_reaches_it() -> None:
    """G2 sqrt(ZRT/M) is the pressure at the end of 30 m of 10 mm, by p^2 - friction - G1^2 ZRT/M (1.5 + 2 ln(p/p2)), with p2
    the lowest that the wide line could end at; solved here by halving."""
    gas = lpg.gas(lpg.PROPANE, 300.0, 7e5)
    wide, narrow = LineBefore(0.010, 30.0, 1.5e-6), LineBefore(0.005, 0.0, 0.0)
    specific = gas.pressure_per_density

    def flux(mass: float, line: LineBefore) -> float:
        return mass / (math.pi / 4 * line.bore**2)

    low, high = 1e-6, 1.0
    for _ in range(80):
        mass = 0.5 * (low + high)
        least = max(AIR, flux(mass, wide) * math.sqrt(specific))
        inertia = flux(mass, wide) ** 2 * specific * (1.5 + math.log(gas.absolute**2 / least**2))
        reaching = gas.absolute**2 - flow.squared_drop(mass, 0.010, 30.0, 1.5e-6, gas) - inertia
        low, high = (mass, high) if reaching > flux(mass, narrow) ** 2 * specific else (low, mass)
    found = excess_flow.cut_flow([wide, narrow], gas, AIR)
    assert found.limit == "sonic"
    assert found.mass == pytest.approx(low, rel=1e-6)
    assert found.mass < excess_flow.cut_flow([wide], gas, AIR).mass


def test_a_cut_line_without_a_line_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a line"):
        excess_flow.cut_flow([], GAS, AIR)


def test_the_regulator_caps_the_flow() -> None:
    line = [LineBefore(0.01, 3.0, 1.5e-6)]
    free = excess_flow.cut_flow(line, GAS, AIR)
    half = 0.5 * free.mass
    assert excess_flow.cut_flow(line, GAS, AIR, regulator_capacity=half) == CutFlow(half, "regulator")
    assert excess_flow.cut_flow(line, GAS, AIR, regulator_capacity=2.0 * free.mass) == free


def test_the_mass_through_a_hole_does_not_depend_on_the_air_once_sonic() -> None:
    gas = lpg.gas(lpg.PROPANE, 288.15, 7e5)
    assert excess_flow.orifice_flow(1e-5, 0.8, gas, AIR).limit == "sonic"
    assert excess_flow.orifice_flow(1e-5, 0.8, gas, AIR) == excess_flow.orifice_flow(1e-5, 0.8, gas, 0.5 * AIR)


def test_a_hole_without_pressure_behind_it_passes_nothing() -> None:
    gas = lpg.gas(lpg.PROPANE, 288.15, AIR)
    assert excess_flow.orifice_flow(1e-5, 0.8, gas, AIR) == CutFlow(0.0, "friction")
    assert excess_flow.orifice_flow(1e-5, 0.8, gas, 1.5 * AIR) == CutFlow(0.0, "friction")
    assert excess_flow.orifice_flow(0.0, 0.8, gas, 0.9 * AIR) == CutFlow(0.0, "friction")
    assert excess_flow.orifice_flow(1e-5, 0.8, gas, 0.9 * AIR).limit == "friction"


def test_flow_through_a_hole_is_continuous_where_it_turns_sonic() -> None:
    k = excess_flow.PROPANE_HEAT_RATIO
    critical = (2 / (k + 1)) ** (k / (k - 1))
    outside = GAS.absolute * critical
    above, below = (excess_flow.orifice_flow(1e-5, 1.0, GAS, outside * s).mass for s in (1 + 1e-7, 1 - 1e-7))
    assert above == pytest.approx(below, rel=1e-9)


@pytest.mark.parametrize(
    ("cut", "verdict"),
    [
        (CutFlow(3.0, "friction"), "closes"),
        (CutFlow(2.9, "sonic"), "uncertain"),
        (CutFlow(2.0, "sonic"), "uncertain"),
        (CutFlow(1.9, "friction"), "line-limits"),
        (CutFlow(1.9, "sonic"), "line-limits"),
        (CutFlow(1.9, "regulator"), "regulator-limits"),
    ],
)
def test_the_valve_is_said_to_close_only_with_flow_to_spare(cut: CutFlow, verdict: str) -> None:
    assert excess_flow.closing(cut, 2.0, sure_share=1.5) == verdict
    assert (excess_flow.closing(cut, 2.0, sure_share=1.0) == "closes") == (cut.mass >= 2.0)


def test_a_cut_behind_a_low_pressure_regulator_does_not_close_a_valve_at_the_container() -> None:
    # A closing rate far above what the regulator passes: the usual case of a leak behind the regulator.
    low = lpg.gas(lpg.PROPANE, 288.15, AIR + 2740.0)
    heat = lpg.gross_heating_value(lpg.PROPANE)
    cut = excess_flow.cut_flow(
        [LineBefore(0.0109, 0.5, 1.5e-6)], low, AIR, regulator_capacity=lpg.mass_flow(40e3, heat)
    )
    assert excess_flow.closing(cut, lpg.mass_flow(500e3, heat), sure_share=1.5) == "regulator-limits"


def test_the_closing_rate_must_stand_half_above_the_normal_flow() -> None:
    assert excess_flow.holds_open(1.0, 1.5)
    assert not excess_flow.holds_open(1.0, 1.49)
    assert excess_flow.holds_open(2.0, 3.0) and not excess_flow.holds_open(2.0, 2.99)


def test_senseless_input_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a line"):
        excess_flow.cut_flow([], GAS, AIR)
    with pytest.raises(ValueError, match="area"):
        excess_flow.orifice_flow(-1.0, 0.8, GAS, AIR)
    with pytest.raises(ValueError, match="closing flow"):
        excess_flow.closing(CutFlow(1.0, "sonic"), 0.0, sure_share=1.5)
