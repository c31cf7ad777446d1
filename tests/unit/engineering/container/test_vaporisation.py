"""Vapour supply: interpolation, the lower of the methods, and what never helps."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.container.vaporisation import (
    CEILING_FLOOR,
    COEFFICIENT,
    CylinderTable,
    LengthRule,
    SupplyVessel,
    boiling_temperature,
    ceiling_rate,
    heat_balance_rate,
    limited_coefficient,
    supply,
)
from gasdoc.engineering.container.vessel import Vessel, of_capacity, wetted_area
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import BUTANE, PROPANE, Fuel

TABLE = CylinderTable(
    (10.0, 20.0, 30.0),
    (255.0, 275.0, 295.0),
    ((1000.0, 1800.0, 2600.0), (2000.0, 3200.0, 4400.0), (2800.0, 4600.0, 6000.0)),
)
RULE = LengthRule(0.4, 1.0, (0.1, 0.2, 0.4, 0.6), (20_000.0, 27_000.0, 36_000.0, 45_000.0), 255.37, 244.26)
NEEDED = 101_325.0 + 68_948.0  # 10 psi over the air

UPRIGHT = SupplyVessel(of_capacity(0.0216, 0.31, "upright"))
LYING = SupplyVessel(Vessel(0.4, 1.0, "horizontal"), RULE)


def test_the_table_is_kept_at_its_cells_and_straight_between_them() -> None:
    assert TABLE.rate(20.0, 0, 255.0) == (2000.0, True)
    assert TABLE.rate(30.0, 0, 295.0) == (6000.0, True)
    assert TABLE.rate(15.0, 0, 265.0) == pytest.approx(((1000 + 1800 + 2000 + 3200) / 4, True))


def test_outside_the_table_is_said_and_careful() -> None:
    assert TABLE.rate(0.5, 0, 255.0) == pytest.approx((50.0, False))
    assert TABLE.rate(-1.0, 0, 255.0) == (0.0, False)
    assert TABLE.rate(5.0, 0, 255.0) == pytest.approx((500.0, False))
    assert TABLE.rate(40.0, 0, 320.0) == (6000.0, False)
    middle = (255.0 + CEILING_FLOOR) / 2
    assert TABLE.rate(20.0, 0, middle) == pytest.approx((1000.0, False))
    assert TABLE.rate(20.0, 0, CEILING_FLOOR - 5) == (0.0, False)


def test_the_length_rule_by_hand() -> None:
    """0.4 m x 1.0 m x 27,000 W/m2 = 10,800 W at base air; twice the difference to the floor doubles it."""
    assert RULE.rate(0, 0.2, 255.37) == pytest.approx((10_800, True))
    assert RULE.rate(0, 0.2, 255.37 + 11.11)[0] == pytest.approx(21_600)
    assert RULE.rate(0, 0.3, 255.37)[0] == pytest.approx(0.4 * 31_500)
    assert RULE.rate(0, 0.05, 255.37) == pytest.approx((4000, False))
    assert RULE.rate(0, 0.8, 255.37) == pytest.approx((18_000, False))
    assert RULE.rate(0, 0.2, 240.0)[0] == 0.0
    assert [RULE.rate(0, fill, 255.37)[1] for fill in (0.09, 0.1, 0.15, 0.5, 0.6, 0.61)] == [
        False,
        True,
        True,
        True,
        True,
        False,
    ]
    assert RULE.rate(0, -0.1, 255.37) == (0.0, False)


def test_the_length_rule_is_asked_with_the_share_that_the_fuel_fills_when_cold() -> None:
    """At -20 degF: 0.3 of the volume takes the mean of 27,000 and 36,000 W/m2, 0.8 as much as 0.6."""
    volume, density = LYING.vessel.volume, lpg.liquid_density(PROPANE, 244.26)
    for fill, factor, basis in (
        (0.3, 31_500, "published"),
        (0.8, 45_000, "extrapolated"),
        (0.05, 10_000, "extrapolated"),
    ):
        balance, rule = supply(LYING, fill * volume * density, PROPANE, 255.37, NEEDED).estimates
        assert (rule.method, rule.basis) == ("length-rule", basis)
        assert rule.rate == pytest.approx(0.4 * 1.0 * factor, rel=1e-9)
        assert (balance.method, balance.basis) == ("heat-balance", "derived")
    by_area = supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED).estimates[1]
    assert (by_area.method, by_area.basis) == ("cylinder-table-by-area", "derived")
    assert [
        e.method for e in supply(SupplyVessel(Vessel(0.4, 1.0, "horizontal")), 9.0, PROPANE, 260.0, NEEDED).estimates
    ] == ["heat-balance"]


def test_heat_balance_by_hand() -> None:
    """U x A x 20 K x 50.12 MJ/kg / latent heat, with the wetted skin from the shape."""
    mass, floor = 5.0, 245.0
    area = wetted_area(UPRIGHT.vessel, mass / lpg.liquid_density(PROPANE, floor))
    by_hand = 18.4 * area * 20 * lpg.gross_heating_value(PROPANE) / lpg.latent_heat(PROPANE, floor)
    assert heat_balance_rate(UPRIGHT.vessel, mass, PROPANE, 265.0, floor) == pytest.approx(by_hand)
    assert heat_balance_rate(UPRIGHT.vessel, mass, PROPANE, 245.5, floor) == pytest.approx(by_hand / 40)
    little = wetted_area(UPRIGHT.vessel, 0.5 / lpg.liquid_density(PROPANE, floor))
    assert heat_balance_rate(UPRIGHT.vessel, 0.5, PROPANE, 265.0, floor) == pytest.approx(by_hand * little / area)
    assert heat_balance_rate(UPRIGHT.vessel, mass, PROPANE, 245.0, floor) == 0.0
    assert heat_balance_rate(UPRIGHT.vessel, 0.0, PROPANE, 265.0, floor) == 0.0


@given(st.floats(0, 1), st.floats(50_000, 500_000))
def test_the_boiling_temperature_gives_the_pressure_back(propane: float, absolute: float) -> None:
    fuel = Fuel(propane)
    assert lpg.saturation_absolute(fuel, boiling_temperature(fuel, absolute)) == pytest.approx(absolute, rel=1e-10)


def test_a_pressure_outside_the_fits_is_refused() -> None:
    with pytest.raises(ValueError, match="outside the pressures"):
        boiling_temperature(PROPANE, 1e7)


def test_the_lowest_method_is_the_answer_and_all_are_shown() -> None:
    cold = supply(UPRIGHT, 9.0, PROPANE, 255.4, NEEDED)
    warm = supply(UPRIGHT, 9.0, PROPANE, 294.3, NEEDED)
    assert cold.limiting == "heat-balance"
    assert warm.limiting == "cylinder-table-by-area"
    for found in (cold, warm):
        assert {e.method for e in found.estimates} == {"heat-balance", "cylinder-table-by-area"}
        assert found.rate == min(e.rate for e in found.estimates)
    lying = supply(LYING, 20.0, PROPANE, 255.4, NEEDED)
    assert {e.method for e in lying.estimates} == {"heat-balance", "length-rule"}


def test_a_changeover_gives_the_rate_of_one_and_parallel_that_of_all() -> None:
    one = supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED)
    assert supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED, 2, "changeover").rate == one.rate
    both = supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED, 2, "parallel")
    assert both.rate == pytest.approx(2 * one.rate)
    assert both.codes == ("parallel-unequal",)
    assert supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED, 4, "banks") == both
    assert one.codes == ()
    assert supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED, manifold="parallel") == one
    assert supply(UPRIGHT, 9.0, PROPANE, 260.0, NEEDED, 2, "changeover").codes == ()
    assert supply(UPRIGHT, 9.0, PROPANE, boiling_temperature(PROPANE, NEEDED), NEEDED).codes == ("fuel-too-cold",)


def test_butane_gives_nothing_in_cold_air_and_the_temperature_is_told() -> None:
    found = supply(UPRIGHT, 9.0, BUTANE, 273.15, 101_325.0 + 30_000.0)
    assert found.rate == 0.0
    assert found.codes == ("fuel-too-cold",)
    assert 278 < found.floor_temperature < 282  # n-butane at 1.31 bar absolute boils at about 280 K
    assert supply(UPRIGHT, 9.0, BUTANE, 293.15, 101_325.0 + 30_000.0).rate > 0


airs = st.floats(231.0, 310.0)
masses = st.floats(0.2, 9.0)
containers = st.sampled_from([UPRIGHT, LYING, SupplyVessel(UPRIGHT.vessel, TABLE)])


@given(containers, masses, masses, airs, airs, st.floats(101_325, 250_000), st.floats(101_325, 250_000))
def test_colder_emptier_and_more_pressure_needed_never_help(
    container: SupplyVessel, m1: float, m2: float, t1: float, t2: float, p1: float, p2: float
) -> None:
    def rate(mass: float, air: float, needed: float) -> float:
        return supply(container, mass, PROPANE, air, needed).rate

    best = rate(max(m1, m2), max(t1, t2), min(p1, p2))
    slack = 1 + 1e-9
    assert rate(min(m1, m2), max(t1, t2), min(p1, p2)) <= best * slack
    assert rate(max(m1, m2), min(t1, t2), min(p1, p2)) <= best * slack
    assert rate(max(m1, m2), max(t1, t2), max(p1, p2)) <= best * slack


@given(containers, airs, st.integers(1, 10))
def test_the_limited_coefficient_stays_under_every_method(container: SupplyVessel, air: float, tenth: int) -> None:
    u = limited_coefficient(container, 9.0, PROPANE, air, NEEDED)
    assert 0 <= u <= COEFFICIENT
    found = supply(container, 0.9 * tenth, PROPANE, air, NEEDED)
    rate = heat_balance_rate(container.vessel, 0.9 * tenth, PROPANE, air, found.floor_temperature, u)
    assert rate <= found.rate * (1 + 1e-9)


@pytest.mark.parametrize(("mass", "share"), [(0.9, 1 / 3), (2.7, 1 / 3), (9.0, 1 / 3), (9.9, 0.9)])
def test_the_limited_coefficient_is_brought_down_by_the_worst_of_ten_fills(mass: float, share: float) -> None:
    """A made-up table that gives a third of the heat balance at one fill, and nine tenths elsewhere."""

    class Third:
        method = "made-up"

        def rate(self, fuel_mass: float, fill: float, air_temperature: float) -> tuple[float, bool]:
            floor = boiling_temperature(PROPANE, NEEDED)
            full = heat_balance_rate(UPRIGHT.vessel, fuel_mass, PROPANE, air_temperature, floor)
            return full / 3 if fuel_mass == pytest.approx(mass) else 0.9 * full, True

    container = SupplyVessel(UPRIGHT.vessel, Third())
    assert limited_coefficient(container, 9.0, PROPANE, 270.0, NEEDED) == pytest.approx(18.4 * share)


def test_the_coefficient_is_not_brought_down_where_nothing_boils_at_all() -> None:
    """Air colder than the liquid may get: no method gives anything, so none says how much less than another."""
    assert limited_coefficient(UPRIGHT, 9.0, PROPANE, 240.0, NEEDED) == 18.4


def test_more_skin_for_each_kilogram_gives_more_ceiling() -> None:
    """The ceiling goes with the wetted skin, not with the contents."""
    small, large = of_capacity(0.0216, 0.31, "upright"), of_capacity(0.1082, 0.3683, "upright")
    assert ceiling_rate(small, 9.0, 270.0) / 9.0 > ceiling_rate(large, 45.0, 270.0) / 45.0
    assert math.isclose(ceiling_rate(small, 9.0, CEILING_FLOOR), 0.0)
