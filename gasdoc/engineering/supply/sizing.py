"""Choosing and checking sizes by a length and a load per segment: the longest-length and branch-length methods.

Both methods: IFGC 2018 402.4.1 and 402.4.2. They say which length a segment is sized by; what a size carries at that
length comes from the caller, as a printed table or a calculation, so that one tree may mix materials and one method
may serve both. All loads count as running at once (IFGC appendix A.3).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from gasdoc.engineering.supply.tree import Tree, farthest_behind

CapacityOf = Callable[[int, int, float], float | None]
"""(segment, size index, length in m) -> capacity in W, or None where nothing can be said for that size and length."""

_SAME_LOAD = 1e-9  # a load that exceeds a capacity by less than this share is the same number, summed or converted


@dataclass(frozen=True, slots=True)
class SizeCheck:
    """Whether a segment of a given size carries its load.

    `length` in m is the one it was sized by; `capacity` in W, None where nothing can be said; `use` is load/capacity,
    None with it; `enough` is true only where a known capacity carries the load.
    """

    segment: int
    size: int
    length: float
    load: float
    capacity: float | None
    use: float | None
    enough: bool


def longest_length(tree: Tree) -> tuple[float, ...]:
    """The sizing length of every segment, in m: for all of them the path from the source to the farthest end.

    Source: IFGC 2018 402.4.1, longest length method.
    """
    return (max(farthest_behind(tree), default=0.0),) * len(tree)


def branch_length(tree: Tree) -> tuple[float, ...]:
    """The sizing length of every segment, in m: the path from the source to the farthest end behind that segment.

    Source: IFGC 2018 402.4.2, branch length method: the trunk to the most remote outlet by the longest length, each
    other branch by the length from the source to its own most remote outlet.
    """
    return farthest_behind(tree)


def choose(
    loads: Sequence[float], lengths: Sequence[float], capacity_of: CapacityOf, sizes: Sequence[int]
) -> tuple[int | None, ...]:
    """For each segment the index of its smallest size that carries its load at its sizing length; None if none does.

    `loads` in W and `lengths` in m per segment; `sizes[i]` is how many sizes segment `i` can be chosen from, smallest
    first. A size of unknown capacity is passed over. Raises ValueError when the sequences differ in length.
    """
    return tuple(
        next((size for size in range(count) if _carries(capacity_of(segment, size, length), load)), None)
        for segment, (load, length, count) in enumerate(zip(loads, lengths, sizes, strict=True))
    )


def check(
    loads: Sequence[float], lengths: Sequence[float], chosen: Sequence[int], capacity_of: CapacityOf
) -> tuple[SizeCheck, ...]:
    """For each segment what its `chosen` size carries at its sizing length, how much of that is used, and whether it is
    enough.

    Units and `capacity_of` as in `choose`. Raises ValueError when the sequences differ in length.
    """
    checks: list[SizeCheck] = []
    for segment, (load, length, size) in enumerate(zip(loads, lengths, chosen, strict=True)):
        carried = capacity_of(segment, size, length)
        use = load / carried if carried else None
        checks.append(SizeCheck(segment, size, length, load, carried, use, _carries(carried, load)))
    return tuple(checks)


def _carries(capacity: float | None, load: float) -> bool:
    return capacity is not None and load <= capacity * (1 + _SAME_LOAD)
