"""Gas a day, days between fills, weights, and the choice of a container."""

from __future__ import annotations

import math

import pytest

from gasdoc.engineering.endurance import (
    Candidate,
    Use,
    Weights,
    cost_per_day,
    daily_use,
    days_between_fills,
    largest_fill,
    number_by_rule,
    suggest,
    weights,
)
from gasdoc.engineering.fuel import BUTANE, PROPANE, gross_heating_value
from gasdoc.engineering.vaporisation import Container
from gasdoc.engineering.vessel import of_capacity

GALLON = 0.003785411784
BTU_PER_HOUR = 0.2930710701722222
NEEDED = 101_325.0 + 68_948.0

SMALL = Candidate("small", Container(of_capacity(0.0216, 0.31, "upright")), 9.07)
LARGE = Candidate("large", Container(of_capacity(0.1082, 0.3683, "upright")), 45.4)


def test_a_day_adds_up_appliances_and_their_pilots() -> None:
    """By hand: 3 kW x 2 h + 5 kW x 1 h + 0.1 kW x 24 h = 13.4 kWh; at 50 MJ/kg 48.24 MJ = 0.9648 kg."""
    day = daily_use((Use(3000, 7200), Use(5000, 3600, standing=100)), 50e6)
    assert day.energy == pytest.approx(13.4 * 3.6e6)
    assert day.mass == pytest.approx(0.9648)
    assert daily_use((), 50e6).mass == 0


def test_days_between_fills_leave_the_reserve() -> None:
    assert days_between_fills(9.0, 1.5) == pytest.approx(6.0)
    assert days_between_fills(9.0, 1.5, reserve=0.2) == pytest.approx(4.8)
    assert days_between_fills(9.0, 0.0) == math.inf
    for wrong in ((9.0, 1.0, 1.0), (9.0, 1.0, -0.1), (-9.0, 1.0, 0.0), (9.0, -1.0, 0.0)):
        with pytest.raises(ValueError, match="reserve"):
            days_between_fills(*wrong)
    assert days_between_fills(0.0, 0.5) == 0.0


def test_costs_and_weights() -> None:
    assert cost_per_day(1.5, 3.0) == 4.5
    two = weights(9.0, 9.0, number=2)
    assert (two.empty, two.full) == (18.0, 36.0)
    assert weights(9.0, 9.5) == Weights(9.0, 18.5)


def test_the_lower_of_both_filling_rules_holds() -> None:
    """0.1 m3 of water capacity; 80 % of 0.1 at 520 and 500 kg/m3 is 41.6 and 40.0 kg; 42 % of 99.8 kg is 41.9 kg."""
    assert largest_fill(0.1, 500, 0.8, 0.42, 998).mass == pytest.approx(40.0)
    cold = largest_fill(0.1, 570, 0.8, 0.42, 998)
    assert (cold.by_volume, cold.mass) == pytest.approx((45.6, 41.916))


def test_a_rule_of_a_flat_rate_rounds_up() -> None:
    assert number_by_rule(100.0, 50.0) == 2
    assert number_by_rule(100.1, 50.0) == 3


def test_suggestions_serve_and_one_less_would_not() -> None:
    load, mass_per_day, days = 8000.0, 2.0, 7.0
    found = suggest((LARGE, SMALL), load, mass_per_day, days, PROPANE, 255.37, NEEDED)
    assert [s.id for s in found] == ["small", "large"]
    assert found[0].usable_mass < found[1].usable_mass
    for s in found:
        assert s.rate >= load
        assert s.days >= days
    (small,) = (s for s in found if s.id == "small")
    fewer = small.number - 1
    assert fewer * 9.07 / mass_per_day < days or small.rate / small.number * fewer < load


def test_a_changeover_has_the_rate_of_one_but_the_contents_of_all() -> None:
    parallel = suggest((SMALL,), 4000.0, 2.0, 7.0, PROPANE, 255.37, NEEDED)
    changeover = suggest((SMALL,), 4000.0, 2.0, 7.0, PROPANE, 255.37, NEEDED, manifold="changeover")
    assert parallel[0].number == 2
    assert changeover == ()
    assert suggest((SMALL,), 2000.0, 2.0, 7.0, PROPANE, 255.37, NEEDED, manifold="changeover")[0].number == 2


def test_up_to_four_are_looked_at_and_one_that_just_lasts_is_enough() -> None:
    """0.5 kg a day from 9.07 kg each: 18.14 days are one, 72.56 days four, and a day more is none."""
    for number, days in ((1, 18.14), (2, 18.15), (4, 72.56)):
        (found,) = suggest((SMALL,), 100.0, 0.5, days, PROPANE, 288.0, NEEDED)
        assert (found.number, found.days) == (number, pytest.approx(number * 18.14))
    assert suggest((SMALL,), 100.0, 0.5, 73.0, PROPANE, 288.0, NEEDED) == ()
    assert suggest((SMALL,), 100.0, 0.5, 73.0, PROPANE, 288.0, NEEDED, most=5)[0].number == 5


def test_nothing_serves_in_air_too_cold_for_the_fuel() -> None:
    assert suggest((SMALL, LARGE), 100.0, 0.1, 1.0, BUTANE, 273.15, NEEDED) == ()


def test_use_outside_a_day_is_refused() -> None:
    for wrong in ((1000, 90_000, 0.0), (1000, -1.0, 0.0), (-1.0, 3600, 0.0), (1000, 3600, -1.0)):
        with pytest.raises(ValueError, match="24 h"):
            Use(*wrong)
    assert daily_use((Use(0.0, 0.0, standing=100.0), Use(1000.0, 86_400.0)), 50e6).energy == pytest.approx(
        1100 * 86_400
    )


def test_energy_of_use_matches_the_fuels_heating_value() -> None:
    day = daily_use((Use(1000, 86_400),), gross_heating_value(PROPANE))
    assert day.mass * gross_heating_value(PROPANE) == pytest.approx(day.energy)
