"""Joints: the chain of parts that closes the gap between two ends, and the joints it makes."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from gasdoc.materials.ends import End, Seal, forbidden, mates, seal

MOST_JOINTS = 7
"""A chain with more joints than this is not looked for: nobody should build it."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part that the catalogue lists, with its `ends` in order.

    `shape` says what it is ("nipple", "bushing", "flare-nut", ...), `use` what it is for ("fitting", "pigtail", "valve",
    ...). `container_side` and `concealed` say where it may sit. `rating_pa` is a gauge pressure, None where not known.
    """

    id: str
    name: str
    shape: str
    use: str
    ends: tuple[End, ...]
    rating_pa: float | None
    container_side: bool
    concealed: bool


@dataclass(frozen=True, slots=True)
class Constraints:
    """What a chain has to put up with.

    `pressure_pa` is the highest gauge pressure it may see: a part rated lower is out, and on the container side also
    one whose rating is not known. `concealed`: nobody can see or reach it afterwards.
    """

    pressure_pa: float = 0.0
    container_side: bool = False
    concealed: bool = False
    no_bushing_stack: bool = True


@dataclass(frozen=True, slots=True)
class Joint:
    """Two ends brought together. `sealant`: thread sealant goes on the male thread (of `a` or `b`), else nowhere."""

    a: End
    b: End
    seal: Seal
    sealant: bool


@dataclass(frozen=True, slots=True)
class Chain:
    """The parts that join two ends, in order, and the joints they make; no parts where the two ends mate as they are.

    `cost` is the sum of the known prices, `unpriced` how many parts have none.
    """

    parts: tuple[Part, ...]
    joints: tuple[Joint, ...]
    cost: float
    unpriced: int


@dataclass(frozen=True, slots=True)
class NoChain:
    """Why no chain joins two ends.

    "nothing-fits-first-end", "nothing-fits-second-end" (no listed part mates with it), "bushing-stack", "under-rated",
    "concealed" (a chain exists, but breaks that constraint; `chain` is it), "no-chain". `near` is the end nearest to
    the second one that parts reach from the first. `forbidden` says why the two must not be forced together.
    """

    reason: str
    near: End | None
    chain: Chain | None
    forbidden: str | None


def join(
    a: End,
    b: End,
    parts: Sequence[Part],
    constraints: Constraints = Constraints(),
    prices: Mapping[str, float] | None = None,
) -> Chain | NoChain:
    """The chain of parts that joins two ends: fewest joints, then fewest parts, fewest without a price, lowest price,
    then the order in which the parts are listed.

    Only parts with two ends are used. A flare nut on its tube makes no joint of its own. The same arguments always
    give the same chain.
    """
    found = _search(a, b, parts, constraints, prices or {})
    if isinstance(found, Chain):
        return found
    near, never = found, forbidden(a, b)
    relaxed = (
        ("bushing-stack", replace(constraints, no_bushing_stack=False)),
        ("concealed", replace(constraints, concealed=False)),
        ("under-rated", replace(constraints, container_side=False, pressure_pa=0.0)),
        ("under-rated", Constraints(no_bushing_stack=False)),
    )
    for reason, weaker in relaxed:
        chain = _search(a, b, parts, weaker, prices or {}) if weaker != constraints else None
        if isinstance(chain, Chain):
            return NoChain(reason, near, chain, never)
    two_ended = [part for part in parts if len(part.ends) == 2]
    for reason, end in (("nothing-fits-first-end", a), ("nothing-fits-second-end", b)):
        if not any(mates(end, other) for part in two_ended for other in part.ends):
            return NoChain(reason, near, None, never)
    return NoChain("no-chain", near, None, never)


def make_joint(a: End, b: End) -> Joint:
    """The joint of two ends that mate. Raises ValueError if they do not."""
    how = seal(a, b)
    if how is None:
        raise ValueError(f"{a} and {b} do not mate")
    return Joint(a, b, how, how == "taper")


def _allowed(part: Part, constraints: Constraints) -> bool:
    if constraints.concealed and not part.concealed:
        return False
    if constraints.container_side and (not part.container_side or part.rating_pa is None):
        return False
    return part.rating_pa is None or part.rating_pa >= constraints.pressure_pa


_Key = tuple[int, int, int, float, tuple[int, ...]]


def _search(
    a: End, b: End, parts: Sequence[Part], constraints: Constraints, prices: Mapping[str, float]
) -> Chain | End | None:
    """Dijkstra over (part, which end it was entered by). Without a chain: the reachable end that is nearest to `b`."""
    usable = [i for i, part in enumerate(parts) if len(part.ends) == 2 and _allowed(part, constraints)]
    entries: dict[End, list[tuple[int, int]]] = {}
    for i in usable:
        for side, end in enumerate(parts[i].ends):
            entries.setdefault(end, []).append((i, side))
    followers: dict[End, list[tuple[int, int]]] = {}

    def onto(end: End) -> list[tuple[int, int]]:
        """The parts that go onto an end, by the side that does."""
        if end not in followers:
            followers[end] = sorted(way for other, ways in entries.items() if mates(end, other) for way in ways)
        return followers[end]

    # A state stands for the open end behind a chain; (-1, 0) is `a` itself.
    queue: list[tuple[_Key, int, int, tuple[tuple[int, int], ...]]] = [((0, 0, 0, 0.0, ()), -1, 0, ())]
    done: set[tuple[int, int]] = set()
    reached: list[End] = []
    best: tuple[_Key, tuple[tuple[int, int], ...]] | None = None
    while queue:
        key, i, side, chain = heapq.heappop(queue)
        if best is not None and best[0] <= key:
            break
        if (i, side) in done:
            continue
        done.add((i, side))
        out = a if i < 0 else parts[i].ends[1 - side]
        how = seal(out, b)
        if how is not None and not (constraints.concealed and how != "taper" and not chain):
            closed: _Key = (key[0] + (how != "held"), *key[1:])
            if best is None or closed < best[0]:
                best = (closed, chain)
        reached.append(out)
        for nxt, entry in onto(out):
            part = parts[nxt]
            if constraints.no_bushing_stack and i >= 0 and part.shape == "bushing" == parts[i].shape:
                continue
            joints = key[0] + (seal(out, part.ends[entry]) != "held")
            price = prices.get(part.id)
            if joints >= MOST_JOINTS or (nxt, entry) in done:
                continue
            after: _Key = (joints, key[1] + 1, key[2] + (price is None), key[3] + (price or 0.0), (*key[4], nxt))
            heapq.heappush(queue, (after, nxt, entry, (*chain, (nxt, entry))))
    if best is None:
        return _nearest(reached[1:], b)
    return _chain(a, b, [(parts[i], side) for i, side in best[1]], prices)


def _chain(a: End, b: End, way: Sequence[tuple[Part, int]], prices: Mapping[str, float]) -> Chain:
    joints, open_end = [], a
    for part, side in way:
        joints.append(make_joint(open_end, part.ends[side]))
        open_end = part.ends[1 - side]
    joints.append(make_joint(open_end, b))
    known = [prices[part.id] for part, _ in way if part.id in prices]
    return Chain(tuple(part for part, _ in way), tuple(joints), sum(known), len(way) - len(known))


def _nearest(ends: Iterable[End], b: End) -> End | None:
    """Of the reached ends the one most like what would go onto `b`: same kind, then hand, size, gender; then the first."""

    def likeness(end: End) -> tuple[bool, bool, bool, bool]:
        return (end.kind == b.kind, end.hand == b.hand, end.size == b.size, end.gender != b.gender)

    return max(ends, key=likeness, default=None)
