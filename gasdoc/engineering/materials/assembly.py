"""A tree of elements put together from listed parts: which part stands where one has to be chosen, and the chain of
parts at every joint between them.

Elements come parents first. Where a part has to be chosen (a valve, a tee, a connector), it narrows no way through it, and
is within REACHES of what stands before it and of the nearest fixed end behind it. Of several it is the one with the fewest
joints; then the one with the fewest parts; then one that need not be turned round; then the first listed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import permutations
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from gasdoc.engineering.materials.ends import End, bore, measure
from gasdoc.engineering.materials.joints import Chain, Constraints, NoChain, Part, Shelf, allowed

REACHES = (2, 4)
"""Joints from a part to each of its neighbours: with one part between, and with three where nothing is found so, where it
narrows the line, or where that might do with fewer. Farther off no part is chosen: more joints than that are no connection
but a sculpture."""

NARROWER = 0.85
"""A way through a part narrows if it is less than this share as wide as the narrower of what it joins (our choice: ends
of one nominal size differ by up to a seventh inside, those of two sizes by more). Of two ends of one kind the smaller size is narrower."""


class Spot(Struct, frozen=True):
    """One element of the tree. `up` is the place of the one before it (-1: it begins the tree), `port` which of that
    one's ways out leads here.

    An element that is given has `ends`, inlet first, None where an end is not known. One that has to be chosen has
    `options`. `constraints` hold for it and for the joint before it.
    """

    id: str
    role: str
    up: int
    port: int = 0
    ends: tuple[End | None, ...] = ()
    options: tuple[Part, ...] = ()
    ways: int = 1
    constraints: Constraints = field(default_factory=Constraints)


class Placed(Struct, frozen=True):
    """What stands at a spot: `ends` with the inlet first, and the chosen `part`, None where it is given or none is
    listed. `built_in`: a valve that is a tap of the manifold before it, no part of its own. `breaks` says which
    constraint the only listed parts break: "concealed" or "under-rated"."""

    part: Part | None
    ends: tuple[End | None, ...]
    built_in: bool = False
    breaks: Literal["concealed", "under-rated"] | None = None


class Connection(Struct, frozen=True):
    """The joint between two spots, by their places: the ends that face each other, and what joins them; None where an
    end is not known."""

    up: int
    down: int
    a: End | None
    b: End | None
    found: Chain | NoChain | None


class Assembly(Struct, frozen=True):
    """A tree put together: what was `placed` at each spot, and every connection, in the order of the spots."""

    spots: tuple[Spot, ...]
    placed: tuple[Placed, ...]
    connections: tuple[Connection, ...]


def assemble(spots: Sequence[Spot], shelf: Shelf) -> Assembly:
    """The tree with its parts chosen and its joints closed. Raises ValueError where a spot stands before its parent.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> valve = Spot("valve", "valve", -1, ends=(None, parse_end("1/2 NPT", "female")))
    >>> pipe = Spot("pipe", "run", 0, ends=(parse_end("1/2 NPT", "male"), None))
    >>> assemble((valve, pipe), Shelf(())).connections[0].found.parts
    ()
    """
    children: list[list[int]] = [[] for _ in spots]
    for i, spot in enumerate(spots):
        if spot.up >= i:
            raise ValueError(f"{spot.id} stands before the element it hangs on")
        if spot.up >= 0:
            children[spot.up].append(i)
    placed: list[Placed] = []
    connections = []
    for i, spot in enumerate(spots):
        before = placed[spot.up] if spot.up >= 0 else None
        facing = before.ends[1 + spot.port] if before is not None and 1 + spot.port < len(before.ends) else None
        if spot.ends:
            placed.append(Placed(None, spot.ends))
        elif spot.role == "valve" and before is not None and before.part is not None and before.part.taps:
            placed.append(Placed(None, (facing, facing), built_in=True))
            continue
        else:
            heads = [(k, _look(spots, children, k, shelf)) for k in children[i]]
            placed.append(_choose(spots, spot, facing, heads, shelf))
        if spot.up >= 0:
            inlet = placed[i].ends[0] if placed[i].ends else None
            known = facing is not None and inlet is not None
            found = shelf.join(facing, inlet, spot.constraints) if known and facing and inlet else None
            connections.append(Connection(spot.up, i, facing, inlet, found))
    return Assembly(tuple(spots), tuple(placed), tuple(connections))


def _look(spots: Sequence[Spot], children: Sequence[Sequence[int]], i: int, shelf: Shelf) -> tuple[End, ...]:
    """The ends that may be met at a spot: its own where it is given; of a valve or connector those that suit what is behind
    it. Of a junction with a choice nothing is known yet."""
    while not spots[i].ends:
        spot = spots[i]
        if not children[i]:
            return tuple(dict.fromkeys(part.ends[0] for part in spot.options))
        if spot.ways != 1:
            return (spot.options[0].ends[0],) if len(spot.options) == 1 else ()
        behind = _look(spots, children, children[i][0], shelf)
        if not behind:
            return ()
        limits = spots[children[i][0]].constraints
        efforts: list[tuple[tuple[int, int], int, End]] = []
        for most in REACHES:
            efforts = efforts or [
                (effort, order, ends[0])
                for order, part in enumerate(spot.options)
                for ends in _turns(part, 2)
                for head in behind
                if (effort := shelf.effort(head, ends[1], limits, most)) is not None
            ]
        least = min((effort for effort, _, _ in efforts), default=None)
        return tuple(dict.fromkeys(end for effort, _, end in sorted(efforts, key=lambda e: e[:2]) if effort == least))
    own = spots[i].ends[0]
    return () if own is None else (own,)


_Effort = tuple[int, int]
_Cost = tuple[int, int, int, int, int, int]


def _choose(
    spots: Sequence[Spot], spot: Spot, facing: End | None, heads: Sequence[tuple[int, tuple[End, ...]]], shelf: Shelf
) -> Placed:
    """The option with the least effort on all its sides, and how it is turned; one that breaks a constraint where only
    such a one fits."""
    fitting = [part for part in spot.options if allowed(part, spot.constraints)]
    best = _best(spots, spot, fitting, facing, heads, shelf, hidden=spot.constraints.concealed)
    if best is not None and not best[0][0]:
        return Placed(best[1], best[2])
    if spot.constraints.concealed:
        seen = replace(spot.constraints, concealed=False)
        open_to_view = [part for part in spot.options if allowed(part, seen)]
        other = _best(spots, spot, open_to_view, facing, heads, shelf, hidden=False)
        if other is not None and (best is None or other[0][0] < best[0][0]):
            return Placed(other[1], other[2], breaks="concealed")
    if best is None:
        best = _best(spots, spot, spot.options, facing, heads, shelf, hidden=False)
        return Placed(None, ()) if best is None else Placed(best[1], best[2], breaks="under-rated")
    return Placed(best[1], best[2])


def _best(
    spots: Sequence[Spot],
    spot: Spot,
    options: Sequence[Part],
    facing: End | None,
    heads: Sequence[tuple[int, tuple[End, ...]]],
    shelf: Shelf,
    *,
    hidden: bool,
) -> tuple[_Cost, Part, tuple[End, ...]] | None:
    """Of some options the best, with its cost: sides that cannot be joined, ways it narrows, joints, parts, whether it is
    turned round, its place in the list."""
    best: tuple[_Cost, Part, tuple[End, ...]] | None = None
    sides = (facing is not None) + sum(bool(met) for _, met in heads)
    for most in REACHES:
        # A part that needs more joints on one side than were looked at has one at least on each other side.
        if best is None or best[0][0] or best[0][1] or best[0][2] > REACHES[0] + sides:
            best = _best_within(spots, spot, options, facing, heads, shelf, hidden, most)
    return best


def _best_within(
    spots: Sequence[Spot],
    spot: Spot,
    options: Sequence[Part],
    facing: End | None,
    heads: Sequence[tuple[int, tuple[End, ...]]],
    shelf: Shelf,
    hidden: bool,
    most: int,
) -> tuple[_Cost, Part, tuple[End, ...]] | None:
    valves = sum(1 for k, _ in heads if spots[k].role == "valve")
    trunk = _trunk(spots, spot)
    before: tuple[tuple[End, ...], int, Constraints] = ((facing,) if facing is not None else (), 0, spot.constraints)
    behind = [(met, 1 + spots[k].port, spots[k].constraints) for k, met in heads]
    # What may be met there, which of its ends the option has there, what holds, and what was asked already.
    sides: list[tuple[tuple[End, ...], int, Constraints, dict[End, _Effort | None]]] = [
        (met, port, replace(c, concealed=hidden and c.concealed), {}) for met, port, c in (before, *behind) if met
    ]

    def effort(met: tuple[End, ...], b: End, limits: Constraints, asked: dict[End, _Effort | None]) -> _Effort | None:
        if b not in asked:  # many options have the same end there
            found = [e for a in met if (e := shelf.effort(a, b, limits, most)) is not None]
            asked[b] = min(found, default=None)
        return asked[b]

    best: tuple[_Cost, Part, tuple[End, ...]] | None = None
    for order, part in enumerate(options):
        for turn, ends in enumerate(_turns(part, 1 + spot.ways)):
            efforts = [effort(met, ends[port], limits, asked) for met, port, limits, asked in sides]
            # A tap of its own saves each valve behind it a joint; a tap that nobody asked for costs as much.
            own = (0 if valves else 1) if part.taps else valves
            known = [effort for effort in efforts if effort is not None]
            apart = len(efforts) - len(known)
            if best is not None and apart > best[0][0]:
                continue  # whatever else it costs
            narrow = sum(
                1
                for k, met in heads
                if (
                    met or spot.role == "tap" or (spot.role == "valve" and not spots[k].ends)
                )  # whatever is still to be chosen behind it, the whole load goes through it
                and _narrows(facing, ends[0], ends[1 + spots[k].port], met[0] if met else None)
            ) + _narrows(trunk, ends[0], ends[0], None)
            cost = (
                apart,
                narrow,
                own + sum(e[0] for e in known),
                sum(e[1] for e in known),
                turn,
                order,
            )
            if best is None or cost < best[0]:
                best = (cost, part, ends)
    return best


def _trunk(spots: Sequence[Spot], spot: Spot) -> End | None:
    """The end of the run that brings a junction all its gas, None where no run does: the way into the junction is not to be
    narrower, however small the runs behind it are."""
    if spot.role != "junction":
        return None
    up = spot.up
    while up >= 0 and spots[up].role in ("valve", "tap", "union"):
        up = spots[up].up
    return spots[up].ends[-1] if up >= 0 and spots[up].role == "run" else None


@lru_cache(maxsize=4096)
def _narrows(before: End | None, inlet: End, outlet: End, behind: End | None) -> bool:
    """Whether the way from inlet to outlet is clearly narrower than both what stands before and what stands behind it, as
    far as that is known."""
    around = [(width, end) for end in (before, behind) if end is not None and (width := bore(end)) is not None]
    own = [(width, end) for end in (inlet, outlet) if (width := bore(end)) is not None]
    if not around or not own:
        return False
    (whole, beside), (width, narrow) = (min(ends, key=lambda one: one[0]) for ends in (around, own))
    return width < whole * (NARROWER if measure(narrow) != measure(beside) else 1 - 1e-9)


def _turns(part: Part, number: int) -> Sequence[tuple[End, ...]]:
    """The ways a part with that many ends can be turned: any end of a tee or valve may be the inlet, the first of a
    manifold always is."""
    if len(part.ends) != number:
        return ()
    if part.shape == "manifold":
        return (part.ends,)
    return [tuple(part.ends[i] for i in order) for order in _orders(part.ends)]


@lru_cache(maxsize=1024)
def _orders(ends: tuple[End, ...]) -> tuple[tuple[int, ...], ...]:
    """The orders of ends that differ, by their places."""
    first: dict[tuple[End, ...], tuple[int, ...]] = {}
    for order in permutations(range(len(ends))):
        first.setdefault(tuple(ends[i] for i in order), order)
    return tuple(first.values())
