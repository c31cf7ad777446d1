"""Connectors: the shortest standard length that reaches."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.catalog.stock import allowance, connector_row
from gasdoc.engineering.materials.connectors import LONGEST_BY_CODE, Reach, check, choose, needed_length

IN = 0.0254
ROW = connector_row("flexible")
assert ROW is not None
LENGTHS = ROW.lengths


def test_the_hut_cooker_needs_36_inches_and_18_is_too_short() -> None:
    # 22 in from valve to inlet with its bend; the supplier's 3 in for movement.
    needed = needed_length(22 * IN, allowance("connector-slack").length, 0, 0.0)
    assert needed == pytest.approx(25 * IN)
    found = choose(needed, LENGTHS, 9000.0, {30 * IN: 17000.0})
    assert (found.length, found.reason, found.capacity) == (pytest.approx(30 * IN), "fits", "enough")
    assert check(18 * IN, needed, LENGTHS, 9000.0, None).reason == "too-short"
    assert check(36 * IN, needed, LENGTHS, 9000.0, None).reason == "longer-than-needed"


def test_a_connector_that_reaches_exactly_reaches() -> None:
    assert choose(24 * IN, LENGTHS, 0.0).length == pytest.approx(24 * IN)
    assert check(24 * IN, 24 * IN, LENGTHS, 0.0, None).reason == "fits"


def test_beyond_the_code_s_longest_there_is_none() -> None:
    assert choose(60 * IN, LENGTHS, 0.0).reason == "fits"
    assert choose(60 * IN, LENGTHS, 0.0, longest=3 * 12 * IN).reason == "over-limit"  # IFGC 2006, not a range or dryer
    assert choose(73 * IN, LENGTHS, 0.0).reason == "none-reaches"
    assert choose(73 * IN, [*LENGTHS, 96 * IN], 0.0).reason == "over-limit"
    assert check(84 * IN, 30 * IN, LENGTHS, 0.0, None).reason == "over-limit"
    assert pytest.approx(1.8288) == LONGEST_BY_CODE


def test_what_is_needed_is_told_with_every_answer() -> None:
    assert needed_length(0.5, 0.1, 2, 0.05) == pytest.approx(0.7)
    assert choose(73 * IN, LENGTHS, 0.0) == Reach(None, 73 * IN, "none-reaches", "unknown")
    assert choose(60 * IN, LENGTHS, 0.0, longest=36 * IN) == Reach(None, 60 * IN, "over-limit", "unknown")
    assert choose(20 * IN, [24 * IN], 0.0) == Reach(24 * IN, 20 * IN, "fits", "unknown")
    assert check(18 * IN, 20 * IN, LENGTHS, 0.0, None) == Reach(18 * IN, 20 * IN, "too-short", "unknown")


def test_the_limit_itself_is_allowed_and_a_shorter_standard_length_that_just_reaches_is_named() -> None:
    assert choose(36 * IN, LENGTHS, 0.0, longest=36 * IN).reason == "fits"
    assert check(36 * IN, 30 * IN, [36 * IN], 0.0, None, longest=36 * IN).reason == "fits"
    assert check(36 * IN, 24 * IN, [24 * IN, 36 * IN], 0.0, None).reason == "longer-than-needed"
    assert check(36 * IN, 24 * IN, [23 * IN, 36 * IN], 0.0, None).reason == "fits"


def test_capacity_is_compared_or_said_to_be_unknown() -> None:
    assert choose(20 * IN, LENGTHS, 9000.0).capacity == "unknown"
    assert choose(20 * IN, LENGTHS, 9000.0, {24 * IN: 8000.0}).capacity == "too-small"
    assert check(24 * IN, 20 * IN, LENGTHS, 9000.0, 9000.0).capacity == "enough"


@given(st.floats(0.0, 3.0), st.floats(0.0, 0.3), st.integers(0, 4))
def test_what_is_chosen_reaches_and_nothing_shorter_does(distance: float, slack: float, bends: int) -> None:
    needed = needed_length(distance, slack, bends, 2 * IN)
    found = choose(needed, LENGTHS, 0.0)
    shorter = [length for length in LENGTHS if found.length is None or length < found.length]
    assert all(length < needed for length in shorter)
    if found.length is not None:
        assert needed - 1e-6 <= found.length <= LONGEST_BY_CODE + 1e-6


def test_a_negative_distance_is_refused() -> None:
    for wrong in ((-0.1, 0.0, 0, 0.0), (0.0, -0.1, 0, 0.0), (0.0, 0.0, -1, 0.0), (0.0, 0.0, 0, -0.1)):
        with pytest.raises(ValueError, match="negative"):
            needed_length(*wrong)
