"""Choosing sizes by a length and a load per segment: the longest-length and branch-length methods.

Both methods: IFGC 2018 402.4.1 and 402.4.2. They say which length a segment is sized by; what a size carries at that
length comes from the caller, as a printed table or a calculation, so that one tree may mix materials and one method
may serve both. All loads count as running at once (IFGC appendix A.3).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from gasdoc.engineering.supply.tree import Tree, farthest_behind

Size = TypeVar("Size")
CapacityOf = Callable[[int, Size, float], float | None]
"""(segment, size, length in m) -> capacity in W, or None where nothing can be said for that size and length."""

_SAME_LOAD = 1e-9  # a load that exceeds a capacity by less than this share is the same number, summed or converted


def longest_length(tree: Tree) -> tuple[float, ...]:
    """The sizing length of every segment, in m: for all of them the path from the source to the farthest end.

    Source: IFGC 2018 402.4.1, longest length method.

    A trunk of 3 m with branches of 1 and 5 m.
    >>> longest_length(Tree((-1, 0, 0), (3.0, 1.0, 5.0), (0.0, 1e3, 1e3)))
    (8.0, 8.0, 8.0)
    """
    return (max(farthest_behind(tree), default=0.0),) * len(tree)


def branch_length(tree: Tree) -> tuple[float, ...]:
    """The sizing length of every segment, in m: the path from the source to the farthest end behind that segment.

    Source: IFGC 2018 402.4.2, branch length method: the trunk to the most remote outlet by the longest length, each
    other branch by the length from the source to its own most remote outlet.

    >>> branch_length(Tree((-1, 0, 0), (3.0, 1.0, 5.0), (0.0, 1e3, 1e3)))
    (8.0, 4.0, 8.0)
    """
    return farthest_behind(tree)


def choose(
    loads: Sequence[float], lengths: Sequence[float], offered: Sequence[Sequence[Size]], capacity_of: CapacityOf[Size]
) -> tuple[Size | None, ...]:
    """For each segment its smallest size that carries its load at its sizing length; None if none does.

    `loads` in W and `lengths` in m per segment; `offered[i]` are the sizes segment `i` can be chosen from, smallest
    first. A size of unknown capacity is passed over. Raises ValueError when the sequences differ in length.

    >>> carried_by = {"3/8": 5e3, "1/2": 12e3}
    >>> choose((10e3,), (8.0,), (("3/8", "1/2"),), lambda segment, size, length: carried_by[size])
    ('1/2',)
    """
    return tuple(
        next((size for size in sizes if carries(capacity_of(segment, size, length), load)), None)
        for segment, (load, length, sizes) in enumerate(zip(loads, lengths, offered, strict=True))
    )


def carries(capacity: float | None, load: float) -> bool:
    """Whether a capacity is known and carries a load, both in W.

    >>> carries(12e3, 12e3), carries(12e3, 12.1e3), carries(None, 0.0)
    (True, False, False)
    """
    return capacity is not None and load <= capacity * (1 + _SAME_LOAD)
