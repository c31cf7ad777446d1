"""Joints: the chain of parts that closes the gap between two ends, and the joints it makes."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.engineering.materials.ends import End, Seal, forbidden, mates, seal
from gasdoc.quantities import Aside, By, Pascal

MOST_JOINTS = 7
"""A chain with more joints than this is not looked for: nobody should build it."""

MOST_SEARCHES = 4000
"""How many searches a shelf keeps before it begins anew: some two hundred for a build, and builds share most of them."""


class Part(Struct, frozen=True):
    """A part that the catalogue lists, with its `ends` in order.

    `shape` says what it is ("nipple", "bushing", "flare-nut", ...), `use` what it is for ("fitting", "pigtail",
    "valve", ...). `container_side` and `concealed` say where it may sit. `rating` is a gauge pressure, None
    where not known. `taps`: each of its ways can be shut off by itself. `unions` counts the union joints it has of its own,
    a nut on an adapter each: tight without sealant, and opened and wetted like any other.
    """

    id: str
    name: str
    shape: str
    use: str
    ends: tuple[End, ...]
    rating: Pascal | None
    container_side: bool
    concealed: bool
    taps: bool = False
    unions: int = 0


class Constraints(Struct, frozen=True):
    """What a chain has to put up with.

    `pressure` is the highest gauge pressure it may see: a part rated lower is out, and on the container side also
    one whose rating is not known. `concealed`: nobody can see or reach it afterwards.
    """

    pressure: Pascal = 0.0
    container_side: bool = False
    concealed: bool = False
    no_bushing_stack: bool = True


ANYWHERE = Constraints()
"""Nothing to put up with."""


class Joint(Struct, frozen=True):
    """Two ends brought together. `sealant`: thread sealant goes on the male thread (of `a` or `b`), else nowhere."""

    a: End
    b: End
    seal: Seal
    sealant: bool


class Chain(Struct, frozen=True):
    """The parts that join two ends, in order, and the joints they make; no parts where the two ends mate as they are.

    `cost` is the sum of the known prices, `unpriced` how many parts have none.
    """

    parts: tuple[Annotated[Part, By("id")], ...]
    joints: tuple[Joint, ...]
    cost: Annotated[float, Aside("what chains are chosen by. `shopping` has prices")]
    unpriced: Annotated[int, Aside("what chains are chosen by")]


class NoChain(Struct, frozen=True):
    """Why no chain joins two ends.

    "nothing-fits-first-end", "nothing-fits-second-end" (no listed part mates with it), "bushing-stack", "under-rated",
    "concealed" (a chain exists, but breaks that constraint; `chain` is it), "no-chain". `near` is the end nearest to
    the second one that parts reach from the first. `forbidden` says why the two must not be forced together.
    """

    reason: str
    near: End | None
    chain: Chain | None
    forbidden: str | None


class Shelf:
    """Parts sorted by what they go onto, and what was found among them: to join many ends with the same parts."""

    def __init__(self, parts: Sequence[Part], prices: Mapping[str, float] | None = None) -> None:
        self.parts = tuple(part for part in parts if len(part.ends) == 2)
        self.prices = prices or {}
        costs = [self.prices.get(part.id) for part in self.parts]
        self.costs = tuple((int(cost is None), cost or 0.0) for cost in costs)
        # A way through a part is a number: twice its place, plus the side it is entered by. What a search asks again and
        # again, which ways go on behind a way, is kept by that number.
        self.exits = tuple(part.ends[1 - side] for part in self.parts for side in (0, 1))
        self.bushings = tuple(part.shape == "bushing" for part in self.parts)
        self._by_size: dict[str, dict[End, list[tuple[int, int]]]] = {}
        for i, part in enumerate(self.parts):
            for side, end in enumerate(part.ends):
                self._by_size.setdefault(end.size, {}).setdefault(end, []).append((i, side))
        self._onto: dict[End, list[tuple[int, int]]] = {}
        self._from: dict[End, tuple[tuple[int, int], ...]] = {}
        self._to: dict[End, dict[int, int]] = {}
        self._behind: list[tuple[tuple[int, int], ...] | None] = [None] * len(self.exits)
        self._searches: dict[tuple[End, Constraints], _Search] = {}
        self._alike: dict[tuple[End, tuple[bool, ...], bool, bool], _Search] = {}
        self._allowed: dict[Constraints, tuple[bool, ...]] = {}

    def join(self, a: End, b: End, constraints: Constraints = ANYWHERE) -> Chain | NoChain:
        """The chain of parts that joins two ends: fewest joints, then fewest parts, fewest without a price, lowest price,
        then the order in which the parts are listed.

        Only parts with two ends are used. A flare nut on its tube makes no joint of its own. The same parts and ends
        always give the same chain.
        """
        best = self._search(a, constraints).to(b)
        if best is not None:
            return self._chain(a, b, best[1])
        near, never = _nearest(self._search(a, constraints).ends(), b), forbidden(a, b)
        relaxed = (
            ("bushing-stack", replace(constraints, no_bushing_stack=False)),
            ("concealed", replace(constraints, concealed=False)),
            ("under-rated", replace(constraints, container_side=False, pressure=0.0)),
            ("under-rated", Constraints(no_bushing_stack=False)),
        )
        for reason, weaker in relaxed:
            best = self._search(a, weaker).to(b) if weaker != constraints else None
            if best is not None:
                return NoChain(reason, near, self._chain(a, b, best[1]), never)
        for reason, end in (("nothing-fits-first-end", a), ("nothing-fits-second-end", b)):
            if not self.onto(end):
                return NoChain(reason, near, None, never)
        return NoChain("no-chain", near, None, never)

    def effort(self, a: End, b: End, constraints: Constraints, most_joints: int) -> tuple[int, int] | None:
        """How many joints and parts it takes to join two ends, None where more than `most_joints` or not at all."""
        best = self._search(a, constraints).to(b, most_joints)
        return None if best is None else best[0][:2]

    def onto(self, end: End) -> list[tuple[int, int]]:
        """The parts that go onto an end, by the side that does, in the order of the list."""
        if end not in self._onto:
            # Ends of unlike size never mate, except cylinder connections, which have none.
            others = self._by_size.get(end.size, {})
            self._onto[end] = sorted(way for other, ways in others.items() if mates(end, other) for way in ways)
        return self._onto[end]

    def ways_from(self, end: End) -> tuple[tuple[int, int], ...]:
        """The ways that go onto an end, each with the joints that makes: 0 where a nut holds its tube, else 1."""
        if end not in self._from:
            self._from[end] = tuple(
                (2 * i + side, int(seal(end, self.parts[i].ends[side]) != "held")) for i, side in self.onto(end)
            )
        return self._from[end]

    def ways_behind(self, way: int) -> tuple[tuple[int, int], ...]:
        """The same for the open end behind a way."""
        found = self._behind[way]
        if found is None:
            found = self._behind[way] = self.ways_from(self.exits[way])
        return found

    def ways_to(self, end: End) -> dict[int, int]:
        """The ways whose open end goes onto an end, with the joints that makes: those from it, entered by their other side."""
        if end not in self._to:
            self._to[end] = {way ^ 1: joint for way, joint in self.ways_from(end)}
        return self._to[end]

    def allowed(self, constraints: Constraints) -> tuple[bool, ...]:
        """Of each part, whether it may sit where the constraints hold."""
        if constraints not in self._allowed:
            self._allowed[constraints] = tuple(allowed(part, constraints) for part in self.parts)
        return self._allowed[constraints]

    def _search(self, a: End, constraints: Constraints) -> _Search:
        found = self._searches.get((a, constraints))
        if found is None:
            if len(self._searches) >= MOST_SEARCHES:
                for kept in (self._searches, self._alike, self._allowed):
                    kept.clear()
            # Two pressures that leave out the same parts are one question.
            alike = (a, self.allowed(constraints), constraints.concealed, constraints.no_bushing_stack)
            found = self._alike.get(alike)
            if found is None:
                found = self._alike[alike] = _Search(self, a, constraints)
            self._searches[a, constraints] = found
        return found

    def _chain(self, a: End, b: End, ways: Sequence[int]) -> Chain:
        joints, open_end = [], a
        used = [self.parts[way // 2] for way in ways]
        for way in ways:
            joints.append(make_joint(open_end, self.exits[way ^ 1]))
            open_end = self.exits[way]
        joints.append(make_joint(open_end, b))
        known = [self.prices[part.id] for part in used if part.id in self.prices]
        return Chain(tuple(used), tuple(joints), sum(known), len(used) - len(known))


def make_joint(a: End, b: End) -> Joint:
    """The joint of two ends that mate. Raises ValueError if they do not.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> make_joint(parse_end("1/2 NPT", "male"), parse_end("1/2 NPT", "female")).sealant
    True
    """
    how = seal(a, b)
    if how is None:
        raise ValueError(f"{a} and {b} do not mate")
    return Joint(a, b, how, how == "taper")


def allowed(part: Part, constraints: Constraints) -> bool:
    """Whether a part may sit where the constraints hold.

    >>> union = Part("union", "a union", "union", "fitting", (), 1.0e6, False, False)
    >>> allowed(union, Constraints()), allowed(union, Constraints(concealed=True))
    (True, False)
    """
    if constraints.concealed and not part.concealed:
        return False
    if constraints.container_side and (not part.container_side or part.rating is None):
        return False
    return part.rating is None or part.rating >= constraints.pressure


_Key = tuple[int, int, int, float, tuple[int, ...]]
_State = tuple[_Key, int, tuple[int, ...]]
_Way = tuple[_Key, tuple[int, ...]]

_START = -1
"""Stands for the end that is searched from, where a state has the way that leads to an open end."""


class _Search:
    """Dijkstra over the ways through parts from one end, carried on as far as somebody asks."""

    def __init__(self, shelf: Shelf, a: End, constraints: Constraints) -> None:
        self._shelf, self._a = shelf, a
        self._concealed, self._no_stack = constraints.concealed, constraints.no_bushing_stack
        self._allowed = shelf.allowed(constraints)
        # A state stands for the open end behind a chain.
        start: _State = ((0, 0, 0, 0.0, ()), _START, ())
        self._queue: list[_State] = [start]
        # The best state known of each way; one in the queue that is not in here any more has been bettered.
        self._best: dict[int, _State] = {_START: start}
        self._reached: list[_State] = []
        # The same by the size of the open end: ends of unlike size never mate.
        self._sized: dict[str, list[_State]] = {}
        self._answers: dict[tuple[End, int], _Way | None] = {}

    def to(self, b: End, most_joints: int = MOST_JOINTS) -> _Way | None:
        """The best way to `b`, with at most so many joints."""
        asked = (b, most_joints)
        if asked not in self._answers:
            self._answers[asked] = self._to(b, most_joints)
        return self._answers[asked]

    def _to(self, b: End, most_joints: int) -> _Way | None:
        best: _Way | None = None
        alike = self._sized.setdefault(b.size, [])
        closing = self._shelf.ways_to(b)
        k = 0
        while True:
            while k < len(alike):
                key, way, chain = alike[k]
                k += 1
                if key[0] > most_joints or (best is not None and best[0] <= key):
                    return best
                joint = self._joint_at_once(b) if way == _START else closing.get(way)
                if joint is None:
                    continue
                closed: _Key = (key[0] + joint, *key[1:])
                if closed[0] <= most_joints and (best is None or closed < best[0]):
                    best = (closed, chain)
            if best is not None and self._queue and best[0] <= self._queue[0][0]:
                return best
            if not self._step(most_joints):
                return best

    def _joint_at_once(self, b: End) -> int | None:
        """The joints that `b` makes on the first end itself, None where it does not go there."""
        how = seal(self._a, b)
        return None if how is None or (self._concealed and how != "taper") else int(how != "held")

    def ends(self) -> list[End]:
        """All ends that parts reach from the first."""
        while self._step(MOST_JOINTS):
            pass
        return [self._shelf.exits[way] for _, way, _ in self._reached[1:]]

    def _step(self, most_joints: int) -> bool:
        """Reach one more state; False when there is none with fewer joints than asked."""
        shelf, best, queue, may = self._shelf, self._best, self._queue, self._allowed
        while queue and queue[0][0][0] <= most_joints:
            state = heapq.heappop(queue)
            key, at, chain = state
            if best[at] is not state:
                continue
            self._reached.append(state)
            first = at == _START
            self._sized.setdefault((self._a if first else shelf.exits[at]).size, []).append(state)
            so_far, number, unpriced, price, used = key
            stacked = self._no_stack and not first and shelf.bushings[at >> 1]
            for way, joint in shelf.ways_from(self._a) if first else shelf.ways_behind(at):
                joints, known = so_far + joint, best.get(way)
                if joints >= MOST_JOINTS or (known is not None and known[0][0] < joints):
                    continue
                part = way >> 1
                if not may[part] or (stacked and shelf.bushings[part]):
                    continue
                without, cost = shelf.costs[part]
                after: _Key = (joints, number + 1, unpriced + without, price + cost, (*used, part))
                if known is not None and known[0] < after:
                    continue
                further: _State = (after, way, (*chain, way))
                if known is None or further < known:
                    best[way] = further
                    heapq.heappush(queue, further)
            return True
        return False


def _nearest(ends: Iterable[End], b: End) -> End | None:
    """Of the reached ends the one most like what goes onto `b`: same kind, then hand, size, gender; then the first."""

    def likeness(end: End) -> tuple[bool, bool, bool, bool]:
        return (end.kind == b.kind, end.hand == b.hand, end.size == b.size, end.gender != b.gender)

    return max(ends, key=likeness, default=None)
