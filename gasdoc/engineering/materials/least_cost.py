"""The cheapest sizes of a tree that leave every appliance its minimum pressure: exact, by a search over Pareto fronts.

With its load fixed, a size of a segment has one drop of squared pressure and one cost. So what lies behind a segment
can be summed up as a short list of pairs (squared pressure needed at the segment's start, cost), none of which is
beaten by another in both. These lists are made from the outlets towards the source: where segments meet, the need is
the largest and the cost the sum; along a segment every size adds its drop and its cost. Needs of different outlets,
and of appliances at inner joints, enter where they stand, so nothing is averaged or approximated. Where no segment may be
of a larger size than the one before it, there is such a list for each size that it may have at most.

The result has no margin left to give: give it minima that include one. It is a calculated alternative for review;
it does not replace the sizing method a code accepts.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct

MOST_POINTS = 20_000
"""The longest front kept: trees of 80 segments with 12 sizes need about 4,000 points."""

_ROUNDING = 1e-12
"""Sums made from either end of a tree differ in their last digits; of 1e10 Pa2 this is about 5e-8 Pa of pressure."""


_NO_NEED = -math.inf


class Option(Struct, frozen=True):
    """One size of one segment: its drop of squared absolute pressure in Pa2, rise included, and its cost in cents, or in any
    other whole unit. No segment has an option of a higher `rank` than the segment before it has; where all are equal any
    size may follow any."""

    squared_drop: float
    cost: int
    rank: int = 0


class Sizes(Struct, frozen=True):
    """The chosen option of each segment (`choice`), their `cost` in cents, and the `need`: the squared absolute
    pressure (Pa2) the source must have for them.

    When there is no answer `choice` is empty, `cost` 0, `need` 0.0, and `reason` says why: "no-size-fits" (`segment`
    is the end that stays below its need by most, even with the least drop everywhere) or "too-many-combinations" (the
    list at `segment` passed the limit). Else `reason` and `segment` are None.
    """

    choice: tuple[int, ...]
    cost: int
    need: float
    reason: str | None = None
    segment: int | None = None


# A point of a front: (need, cost, option, index of the point of the merged front behind it, at that option's rank).
_Point = tuple[float, int, int, int]
# A point of a merged front: (need, cost, index of the point taken in each child's front).
_Merged = tuple[float, int, tuple[int, ...]]


def least_cost(
    parent: Sequence[int],
    options: Sequence[Sequence[Option]],
    needs: Sequence[float | None],
    source_squared: float,
    *,
    most_points: int = MOST_POINTS,
) -> Sizes:
    """The cheapest choice of options for which every end has its need.

    `parent` as in `tree.Tree`. `needs[i]` is the squared absolute pressure (Pa2) an appliance at the end of segment
    `i` must have, None where nothing is asked, as at a joint (a load without a stated minimum still needs the air's
    pressure); `source_squared` is the source's. Of choices that cost the same, the one that needs least pressure; of
    those, the option that comes first, from the source outwards. A need is met to one part in 1e12. Raises ValueError
    when the sequences are not equally long or a segment has no option.

    The cheap size takes 300 Pa2 where only 200 may go.
    >>> least_cost((-1,), ((Option(300.0, 100), Option(150.0, 180)),), (800.0,), 1000.0)
    Sizes(choice=(1,), cost=180, need=950.0, reason=None, segment=None)
    """
    count = len(parent)
    if not len(options) == len(needs) == count:
        raise ValueError("parent, options and needs must be equally long")
    if not all(options):
        raise ValueError("every segment must have an option")
    available = _available(parent, options, source_squared)
    short = [(available[i] - need, i) for i, need in enumerate(needs) if need is not None and need > available[i]]
    if short:
        return Sizes((), 0, 0.0, "no-size-fits", min(short)[1])

    slack = _ROUNDING * source_squared
    children: list[list[int]] = [[] for _ in range(count)]
    roots: list[int] = []
    for i, up in enumerate(parent):
        (children[up] if up >= 0 else roots).append(i)
    ranks = sorted({0, *(option.rank for sizes in options for option in sizes)})
    # By the highest rank that the segment before has: fronts of what that lets follow.
    fronts: list[dict[int, list[_Point]]] = [{} for _ in range(count)]
    merged: list[dict[int, list[_Merged]]] = [{} for _ in range(count)]
    for i in range(count - 1, -1, -1):
        own = _NO_NEED if (need := needs[i]) is None else need
        limit = (available[parent[i]] if parent[i] >= 0 else source_squared) + slack
        for rank in ranks:
            merged[i][rank] = _merge([fronts[c][rank] for c in children[i]], own)
        for rank in ranks:
            fronts[i][rank] = _extend(merged[i], options[i], rank, limit)
        if sum(map(len, fronts[i].values())) > most_points:
            return Sizes((), 0, 0.0, "too-many-combinations", i)

    whole = _merge([fronts[r][ranks[-1]] for r in roots], _NO_NEED)
    if not whole:  # the least drops are larger sizes behind smaller ones
        return Sizes((), 0, 0.0, "no-size-fits", roots[0])
    least, cost, taken = whole[-1]
    choice = [0] * count
    todo = [(root, at, ranks[-1]) for root, at in zip(roots, taken, strict=True)]
    while todo:
        i, at, most = todo.pop()
        _, _, choice[i], behind = fronts[i][most][at]
        rank = options[i][choice[i]].rank
        todo.extend((c, k, rank) for c, k in zip(children[i], merged[i][rank][behind][2], strict=True))
    return Sizes(tuple(choice), cost, max(least, 0.0))


def _available(parent: Sequence[int], options: Sequence[Sequence[Option]], source_squared: float) -> list[float]:
    """The most squared pressure there can be at the end of each segment: every segment before it at its least drop."""
    available: list[float] = []
    for up, sizes in zip(parent, options, strict=True):
        least = min(size.squared_drop for size in sizes)
        available.append((available[up] if up >= 0 else source_squared) - least)
    return available


def _merge(fronts: Sequence[Sequence[_Point]], own_need: float) -> list[_Merged]:
    """The fronts of segments that meet at one joint as one: largest need, summed cost, cheapest last."""
    if not fronts:
        return [(own_need, 0, ())]
    steps = sorted(
        (max(own_need, need), k, j, cost)
        for k, front in enumerate(fronts)
        for j, (need, cost, _, _) in enumerate(front)
    )
    at = [-1] * len(fronts)
    costs = [0] * len(fronts)
    total = 0
    merged: list[_Merged] = []
    for need, k, j, cost in steps:
        total += cost - costs[k]
        costs[k] = cost
        at[k] = j
        if merged and merged[-1][0] == need:
            merged[-1] = (need, total, tuple(at))
        elif merged or -1 not in at:
            merged.append((need, total, tuple(at)))
    return merged


def _extend(
    merged: Mapping[int, Sequence[_Merged]], sizes: Sequence[Option], most_rank: int, limit: float
) -> list[_Point]:
    """A segment put before a joint: every size up to a rank with every point, less those beaten in need and cost."""
    points: list[_Point] = []
    for option, size in enumerate(sizes):
        if size.rank > most_rank:
            continue
        behind = [(need, cost, k) for k, (need, cost, _) in enumerate(merged[size.rank])]
        drop, price = size.squared_drop, size.cost
        most = limit - drop
        points += [(need + drop, cost + price, option, k) for need, cost, k in behind if need <= most]
    points.sort()
    front: list[_Point] = []
    cheapest = math.inf
    for point in points:
        if point[1] < cheapest:
            front.append(point)
            cheapest = point[1]
    return front
