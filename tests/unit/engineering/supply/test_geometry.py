"""Pieces in space: by hand, and against a fine grid."""

from __future__ import annotations

import math
import random

import pytest

from gasdoc.engineering.supply.geometry import Point, low_points, nearest, shared


@pytest.mark.parametrize(
    ("c", "d", "common"),
    [
        ((1, 0, 0), (3, 0, 0), 1.0),
        ((3, 0, 0), (1, 0, 0), 1.0),
        ((0.5, 0, 0), (1.5, 0, 0), 1.0),
        ((2, 0, 0), (3, 0, 0), 0.0),
        ((0, 1, 0), (2, 1, 0), 0.0),
        ((1, 0, 0), (1, 2, 0), 0.0),
        ((0, 0, 0), (2, 0, 0.01), 0.0),
    ],
)
def test_pieces_in_one_line_share_what_lies_in_both(c: Point, d: Point, common: float) -> None:
    assert shared((0, 0, 0), (2, 0, 0), c, d) == pytest.approx(common)


def test_a_piece_without_length_shares_nothing() -> None:
    assert shared((1, 0, 0), (1, 0, 0), (0, 0, 0), (2, 0, 0)) == 0


@pytest.mark.parametrize("seed", range(12))
def test_the_least_distance_is_that_of_the_nearest_two_of_many_places(seed: int) -> None:
    chance = random.Random(seed)
    a, b, c, d = ((chance.uniform(-2, 2), chance.uniform(-2, 2), chance.uniform(-2, 2)) for _ in range(4))

    def between(one: Point, other: Point, share: float) -> Point:
        return (
            one[0] + share * (other[0] - one[0]),
            one[1] + share * (other[1] - one[1]),
            one[2] + share * (other[2] - one[2]),
        )

    steps = [i / 60 for i in range(61)]
    grid = min(math.dist(between(a, b, s), between(c, d, t)) for s in steps for t in steps)
    assert grid - 0.1 < nearest(a, b, c, d) <= grid + 1e-9


def test_parallel_pieces_and_points_have_a_least_distance_too() -> None:
    assert nearest((0, 0, 0), (2, 0, 0), (0, 0.5, 0), (2, 0.5, 0)) == pytest.approx(0.5)
    assert nearest((0, 0, 0), (0, 0, 0), (1, 0, 0), (1, 0, 0)) == pytest.approx(1)
    assert nearest((0, 0, 0), (2, 0, 0), (3, 4, 0), (3, 9, 0)) == pytest.approx(math.hypot(1, 4))


@pytest.mark.parametrize(
    ("heights", "low"),
    [
        ([0, -1, 1], [1]),
        ([0, 1, 2], []),
        ([2, 1, 1, 1, 3], [1]),
        ([0], []),
        ([3, 1, 2, 0, 0, 1], [1, 3]),
        ([1, 1, 2], []),
    ],
)
def test_a_low_point_is_lower_than_both_sides(heights: list[float], low: list[int]) -> None:
    assert low_points(heights) == low
