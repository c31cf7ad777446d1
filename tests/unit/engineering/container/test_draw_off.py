"""A day's use by the ways of drawing that a trade's table of draw-off tells apart."""

from __future__ import annotations

import pytest

from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.burning import Period
from gasdoc.engineering.container.draw_off import BURST, CYCLE, highest_loads

MINUTE = 60.0


@pytest.mark.parametrize(
    ("length", "pattern"),
    [(BURST, "bursts"), (BURST + MINUTE, "half-time-off"), (CYCLE, "half-time-off"), (CYCLE + MINUTE, "uninterrupted")],
)
def test_one_stretch_is_told_by_its_length(length: float, pattern: str) -> None:
    found = highest_loads([Period(1000.0, 1000.0 + length, 500.0)])
    assert found == {"uninterrupted": 0.0, "half-time-off": 0.0, "bursts": 0.0, pattern: 500.0}


def test_a_pause_shorter_than_the_burning_is_no_pause() -> None:
    times = [Period(i * 1800.0, i * 1800.0 + 1000.0, 500.0) for i in range(4)]  # 1000 s on, 800 s off
    assert highest_loads(times)["uninterrupted"] == 500.0


def test_a_pilot_does_not_turn_a_burst_into_an_uninterrupted_draw() -> None:
    found = highest_loads([Period(0.0, DAY, 100.0), Period(3600.0, 4200.0, 4000.0)])
    assert found == {"uninterrupted": 100.0, "half-time-off": 0.0, "bursts": 4100.0}


def test_loads_at_the_same_time_add_up_and_what_touches_is_one_stretch() -> None:
    found = highest_loads([Period(0.0, 7200.0, 1000.0), Period(7200.0, 9000.0, 1500.0), Period(600.0, 1200.0, 2000.0)])
    assert found == {"uninterrupted": 1000.0, "half-time-off": 1500.0, "bursts": 3000.0}


def test_a_stretch_over_the_end_of_the_day_is_one() -> None:
    found = highest_loads([Period(DAY - 2400.0, DAY, 700.0), Period(0.0, 2400.0, 700.0)])  # 80 min in all
    assert found["uninterrupted"] == 700.0 and found["half-time-off"] == 0.0


def test_no_use_asks_nothing() -> None:
    assert set(highest_loads([]).values()) == {0.0}
