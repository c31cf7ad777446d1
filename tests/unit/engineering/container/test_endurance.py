"""Gas a day, days between fills, weights."""

from __future__ import annotations

import math

import pytest

from gasdoc.engineering.container.endurance import (
    Use,
    Weights,
    cost_per_day,
    daily_use,
    days_between_fills,
    largest_fill,
    number_by_rule,
    weights,
)
from gasdoc.engineering.supply.fuel import PROPANE, gross_heating_value


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
