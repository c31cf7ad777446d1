"""The shape of one pressure zone of a supply tree, as arrays, and what follows from the shape alone."""

from __future__ import annotations

from msgspec import Struct


class Tree(Struct, frozen=True):
    """One pressure zone: the segments behind one regulator, up to outlets and to the next regulators.

    Segment `i` hangs on the downstream end of segment `parent[i]`, or on the source if that is -1; parents stand
    before their children. `length[i]` in m; `load[i]` in W is taken off at the downstream end of segment `i` (0 at a
    junction).

    Raises ValueError when the arrays do not describe such a tree.
    """

    parent: tuple[int, ...]
    length: tuple[float, ...]
    load: tuple[float, ...]

    def __post_init__(self) -> None:
        if not len(self.parent) == len(self.length) == len(self.load):
            raise ValueError("parent, length and load must be equally long")
        for i, parent in enumerate(self.parent):
            if not -1 <= parent < i:
                raise ValueError(f"segment {i} must stand after its parent, not {parent}")
            if not self.length[i] >= 0 or not self.load[i] >= 0:
                raise ValueError(f"segment {i} has a negative length or load")

    def __len__(self) -> int:
        return len(self.parent)


def carried(tree: Tree) -> tuple[float, ...]:
    """The load each segment carries, in W: what is taken at its end and everywhere behind it, all at once.

    >>> carried(Tree((-1, 0, 0), (3.0, 1.0, 5.0), (0.0, 2e3, 3e3)))
    (5000.0, 2000.0, 3000.0)
    """
    total = list(tree.load)
    for i in range(len(tree) - 1, -1, -1):
        if tree.parent[i] >= 0:
            total[tree.parent[i]] += total[i]
    return tuple(total)


def distance(tree: Tree) -> tuple[float, ...]:
    """From the source to the downstream end of each segment, in m.

    >>> distance(Tree((-1, 0, 0), (3.0, 1.0, 5.0), (0.0, 2e3, 3e3)))
    (3.0, 4.0, 8.0)
    """
    far: list[float] = []
    for i, parent in enumerate(tree.parent):
        far.append(tree.length[i] + (far[parent] if parent >= 0 else 0.0))
    return tuple(far)


def farthest_behind(tree: Tree) -> tuple[float, ...]:
    """From the source to the farthest end that gas through each segment reaches, in m.

    This is the length the branch-length method sizes a segment by; its largest value is the one length the
    longest-length method sizes every segment by.

    >>> farthest_behind(Tree((-1, 0, 0), (3.0, 1.0, 5.0), (0.0, 2e3, 3e3)))
    (8.0, 4.0, 8.0)
    """
    far = list(distance(tree))
    for i in range(len(tree) - 1, -1, -1):
        if tree.parent[i] >= 0:
            far[tree.parent[i]] = max(far[tree.parent[i]], far[i])
    return tuple(far)


def path(tree: Tree, segment: int) -> tuple[int, ...]:
    """The segments from the source to `segment`, in flow order.

    >>> path(Tree((-1, 0, 1), (3.0, 1.0, 5.0), (0.0, 2e3, 3e3)), 2)
    (0, 1, 2)
    """
    way: list[int] = []
    while segment >= 0:
        way.append(segment)
        segment = tree.parent[segment]
    return tuple(reversed(way))
