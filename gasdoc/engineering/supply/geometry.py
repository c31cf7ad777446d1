"""Straight pieces of a line in space: how much two share, how near two come, where a line is lowest. Metres throughout."""

from __future__ import annotations

import math
from collections.abc import Sequence

Point = tuple[float, float, float]

NEAR = 1e-3
"""m: places nearer than a millimetre are one."""


def shared(a: Point, b: Point, c: Point, d: Point) -> float:
    """How much of the piece from a to b lies in the piece from c to d, m; nothing where they are not in one line.

    >>> shared((0, 0, 0), (2, 0, 0), (1, 0, 0), (5, 0, 0))
    1.0
    >>> shared((0, 0, 0), (2, 0, 0), (1, 1, 0), (5, 1, 0))
    0.0
    """
    way = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    size = math.hypot(*way)
    if size < NEAR:
        return 0.0
    unit = (way[0] / size, way[1] / size, way[2] / size)
    along = []
    for point in (c, d):
        reach = (point[0] - a[0], point[1] - a[1], point[2] - a[2])
        run = reach[0] * unit[0] + reach[1] * unit[1] + reach[2] * unit[2]
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
    u, v, w = _minus(b, a), _minus(d, c), _minus(a, c)
    uu, uv, vv, uw, vw = _dot(u, u), _dot(u, v), _dot(v, v), _dot(u, w), _dot(v, w)
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


def _minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
