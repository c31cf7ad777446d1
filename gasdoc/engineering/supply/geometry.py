"""Straight pieces of a line in space: how much two share, how near two come, where a line is lowest. Metres throughout."""

from __future__ import annotations

import math
from collections.abc import Sequence

Point = tuple[float, float, float]

NEAR = 1e-3
"""m: places nearer than a millimetre are one."""


def minus(one: Point, other: Point) -> Point:
    """The way from the other point to the one.

    >>> minus((1.0, 2.0, 3.0), (1.0, 0.0, 1.0))
    (0.0, 2.0, 2.0)
    """
    return one[0] - other[0], one[1] - other[1], one[2] - other[2]


def dot(one: Point, other: Point) -> float:
    """How much of two ways goes together: nothing where they are square to each other.

    >>> dot((1.0, 2.0, 3.0), (1.0, 0.0, 1.0))
    4.0
    """
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def scaled(way: Point, size: float) -> Point:
    """A way of another length, m; turned round where that is negative. Raises ZeroDivisionError where the way has none.

    >>> scaled((0.0, 3.0, 4.0), -10.0)
    (-0.0, -6.0, -8.0)
    """
    has = math.hypot(*way)
    return way[0] / has * size, way[1] / has * size, way[2] / has * size


def shared(a: Point, b: Point, c: Point, d: Point) -> float:
    """How much of the piece from a to b lies in the piece from c to d, m; nothing where they are not in one line.

    >>> shared((0, 0, 0), (2, 0, 0), (1, 0, 0), (5, 0, 0))
    1.0
    >>> shared((0, 0, 0), (2, 0, 0), (1, 1, 0), (5, 1, 0))
    0.0
    """
    way = minus(b, a)
    size = math.hypot(*way)
    if size < NEAR:
        return 0.0
    unit = scaled(way, 1.0)
    along = []
    for point in (c, d):
        reach = minus(point, a)
        run = dot(reach, unit)
        if math.dist(reach, (run * unit[0], run * unit[1], run * unit[2])) > NEAR:
            return 0.0
        along.append(run)
    return float(max(0.0, min(size, max(along)) - max(0.0, min(along))))


def nearest(a: Point, b: Point, c: Point, d: Point) -> float:
    """The least distance between two pieces, m.

    The least of a quadratic form over the unit square: along one piece the best place on the other is known, and what
    lies outside is taken back to the edge.

    >>> nearest((0, 0, 0), (2, 0, 0), (1, -1, 0.5), (1, 1, 0.5))
    0.5
    >>> nearest((0, 0, 0), (2, 0, 0), (5, 0, 0), (6, 0, 0))
    3.0
    """
    u, v, w = minus(b, a), minus(d, c), minus(a, c)
    uu, uv, vv, uw, vw = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    apart = uu * vv - uv * uv
    s = min(max((uv * vw - vv * uw) / apart, 0.0), 1.0) if apart > 1e-12 else 0.0
    t = (uv * s + vw) / vv if vv > 0 else 0.0
    if not 0.0 <= t <= 1.0:
        t = min(max(t, 0.0), 1.0)
        s = min(max((uv * t - uw) / uu, 0.0), 1.0) if uu > 0 else 0.0
    one = (a[0] + s * u[0], a[1] + s * u[1], a[2] + s * u[2])
    return math.dist(one, (c[0] + t * v[0], c[1] + t * v[1], c[2] + t * v[2]))


def low_points(heights: Sequence[float]) -> list[int]:
    """Where a line is lower than on both sides, by number of the height; of a level stretch its first place. The ends are none.

    >>> low_points([0, -1, -1, 2, 1, 3])
    [1, 4]
    >>> low_points([3, 2, 2])
    []
    """
    found = []
    i = 1
    while i < len(heights):
        first = i
        while i + 1 < len(heights) and abs(heights[i + 1] - heights[first]) < NEAR:
            i += 1
        behind = i + 1 < len(heights) and heights[i + 1] > heights[first] + NEAR
        if heights[first - 1] > heights[first] + NEAR and behind:
            found.append(first)
        i += 1
    return found
