"""Days between fills, weights."""

from __future__ import annotations

import math

import pytest

from gasdoc.engineering.container.endurance import (
    Weights,
    cost_per_day,
    days_between_fills,
    largest_fill,
    number_by_rule,
    weights,
)


def test_days_between_fills_are_what_is_usable_by_what_is_used() -> None:
    assert days_between_fills(9.0, 1.5) == pytest.approx(6.0)
    assert days_between_fills(9.0, 0.0) == math.inf
    for wrong in ((-9.0, 1.0), (9.0, -1.0)):
        with pytest.raises(ValueError, match="not negative"):
            days_between_fills(*wrong)
    assert days_between_fills(0.0, 0.5) == 0.0


def test_costs_and_weights() -> None:
    assert cost_per_day(1.5, 3.0) == 4.5
    two = weights(9.0, 9.0, number=2)
    assert (two.empty, two.full) == (18.0, 36.0)
    assert weights(9.0, 9.5) == Weights(9.0, 18.5)


def test_the_lower_of_both_filling_rules_holds() -> None:
    """0.1 m3 of water capacity; 80 % of 0.1 at 500 and 570 kg/m3 is 40.0 and 45.6 kg; 42 % of 99.8 kg is 41.9 kg."""
    assert largest_fill(0.1, 500, 0.8, 0.42, 998) == pytest.approx(40.0)
    assert largest_fill(0.1, 570, 0.8, 0.42, 998) == pytest.approx(41.916)


def test_a_rule_of_a_flat_rate_rounds_up() -> None:
    assert number_by_rule(100.0, 50.0) == 2
    assert number_by_rule(100.1, 50.0) == 3
