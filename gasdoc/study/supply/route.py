"""The line in space: every leg with its two ends, and where valves, tees and appliances stand, from the legs of a spec."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from msgspec import Struct, structs

from gasdoc.build.model import Connector, Leg, Outlet, Regulator, Run
from gasdoc.build.model.route import Vector
from gasdoc.build.reader import Build
from gasdoc.build.route import legs_of
from gasdoc.build.supply import Node
from gasdoc.engineering.supply.geometry import minus, scaled
from gasdoc.quantities import Metre, Ratio, Shown
from gasdoc.units import Given

Point = tuple[Metre, Metre, Metre]
"""Metres aft, to the right and up; on land south, east and up."""

SpotKind = Literal["container", "regulator", "valve", "tap", "junction", "appliance"]

NOT_MEASURED = 0.6
"""m: as long is a run drawn whose way is not measured (our choice)."""

SHORT = 0.3
"""m: as long is a connector drawn whose way is not measured, and the hose at the container (our choice)."""

AXES: tuple[Vector, ...] = ((1, 0, 0), (0, 1, 0), (0, -1, 0), (-1, 0, 0), (0, 0, 1), (0, 0, -1))
"""Where a way that is not measured is drawn to: the first of these that nothing else takes."""


class Passage(Struct, frozen=True):
    """Where a leg passes through something: `share` of the way from its start. `guessed` where the spec does not say the
    leg, or where on it."""

    through: str
    share: Ratio
    guessed: bool


class Stretch(Struct, frozen=True):
    """One straight piece of the line, from `tail` to `head`, of a run or, where `connector`, of an outlet's connector or a
    regulator's hose.

    `length` is that of the tubing in it; `text` is the leg as the spec has it, empty where it is not measured, and the two
    ends are then only a drawing. `known`: it and every leg before it is stated, so that it is known where it lies.
    """

    part: str
    connector: bool
    tail: Point
    head: Point
    length: Metre
    text: str
    figure: str
    curve: Literal["", "loop", "sweep"]
    passages: tuple[Passage, ...]
    known: bool = True

    @property
    def measured(self) -> Shown[bool]:
        """Whether the spec states it."""
        return bool(self.text)

    @property
    def vector(self) -> Vector:
        """From its tail to its head, m."""
        return minus(self.head, self.tail)


class RouteSpot(Struct, frozen=True):
    """Where an element of the supply stands. `known`: every leg on the way to it is stated."""

    id: str
    kind: SpotKind
    at: Point
    known: bool


class Route(Struct, frozen=True):
    """The line in space, in flow order. `compass`: its legs go north and east, not fore and aft."""

    stretches: tuple[Stretch, ...]
    spots: tuple[RouteSpot, ...]
    compass: bool

    @property
    def measured(self) -> Shown[bool]:
        """Whether any leg is stated at all."""
        return any(stretch.text for stretch in self.stretches)

    @property
    def not_measured(self) -> Shown[tuple[str, ...]]:
        """The runs whose way is not stated."""
        return tuple(s.part for s in self.stretches if not s.text and not s.connector)


def point(at: Sequence[Given]) -> Point:
    """A place that the spec states."""
    return float(at[0]), float(at[1]), float(at[2])


def plus(point: Point, vector: Vector) -> Point:
    """A point moved, to a micrometre."""
    return (
        round(point[0] + vector[0], 6) + 0.0,
        round(point[1] + vector[1], 6) + 0.0,
        round(point[2] + vector[2], 6) + 0.0,
    )


class _End(Struct, frozen=True):
    """Where the line has got to: the point, the way it came by, whether all of it is measured."""

    at: Point
    way: Vector | None
    known: bool


def route(build: Build) -> Route:
    """The line of a build in space. It begins at the container's place, or at nothing, nothing, nothing."""
    start = build.spec.container.at
    begin = point(start) if start is not None else (0.0, 0.0, 0.0)
    stretches: list[Stretch] = []
    spots = [RouteSpot("container", "container", begin, True), RouteSpot(build.first, "regulator", begin, True)]
    taken = _taken(build.nodes)
    source = _End(begin, None, True)
    hose = _hose(build.first, build.spec.regulator, source, taken, -1)
    ends = {-1: _behind(hose, source)}
    stretches += [structs.replace(stretch, known=ends[-1].known) for stretch in hose]
    for index, node in enumerate(build.nodes):
        before = ends[node.parent]
        part = node.part
        if isinstance(part, Run):
            made = _run(node.id, part, before, taken.setdefault(node.parent, []))
        elif isinstance(part, Outlet):
            made = _connector(node.id, part, before)
        elif isinstance(part, Regulator):
            made = _hose(node.id, part, before, taken, index)
        else:
            made = []
        after = _behind(made, before)
        stretches += [structs.replace(stretch, known=after.known) for stretch in made]
        ends[index] = after
        kind: dict[str, SpotKind] = {"valve": "valve", "tap": "tap", "junction": "junction", "regulator": "regulator"}
        if node.kind in kind:
            spots.append(RouteSpot(node.id, kind[node.kind], before.at, before.known))
        elif isinstance(part, Outlet):
            spots.append(RouteSpot(node.id, "appliance", after.at, after.known))
    stated = legs_of(build.spec, build.nodes)
    compass = next((leg.leg.compass for leg in stated if leg.leg.compass is not None), False)
    return Route(tuple(stretches), tuple(spots), compass)


def _behind(made: Sequence[Stretch], before: _End) -> _End:
    """Where the line has got to behind some stretches."""
    if not made:
        return before
    return _End(made[-1].head, made[-1].vector, before.known and all(stretch.text for stretch in made))


def _taken(nodes: Sequence[Node]) -> dict[int, list[Vector]]:
    """The ways that measured runs leave by, by what they leave."""
    found: dict[int, list[Vector]] = {}
    for node in nodes:
        if isinstance(node.part, Run) and node.part.legs:
            found.setdefault(node.parent, []).append(node.part.legs[0].leg.vector)
    return found


def _run(part: str, run: Run, before: _End, taken: list[Vector]) -> list[Stretch]:
    """A run's legs one after another; where it has none, one piece of a fixed length in a way that nothing else takes."""
    if not run.legs:
        way = _free(before.way, taken)
        taken.append(way)
        return [_drawn_only(part, before.at, way, NOT_MEASURED, connector=False, passages=run.through)]
    return list(_legs(part, run.legs, before.at, _guessed(run), connector=False))


def _hose(
    part: str, regulator: Regulator, before: _End, taken: Mapping[int, Sequence[Vector]], index: int
) -> list[Stretch]:
    """A regulator's hose; where its way is not stated, one short piece, straight on or towards the line behind it."""
    if regulator.hose is None:
        return []
    if regulator.hose.legs:
        return list(_legs(part, regulator.hose.legs, before.at, {}, connector=True))
    way = before.way or next(iter(taken.get(index, ())), AXES[0])
    return [_drawn_only(part, before.at, way, SHORT, connector=True)]


def _connector(part: str, outlet: Outlet, before: _End) -> list[Stretch]:
    """An outlet's connector; where its way is not measured, one short piece, towards the appliance where that has a place."""
    connector: Connector | None = outlet.connector
    if connector is not None and connector.legs:
        return list(_legs(part, connector.legs, before.at, {}, connector=True))
    return [_drawn_only(part, before.at, before.way or AXES[0], SHORT, connector=True)]


def _legs(
    part: str, legs: Sequence[Leg], at: Point, guessed: dict[int, list[str]], *, connector: bool
) -> Iterator[Stretch]:
    for i, leg in enumerate(legs):
        head = plus(at, leg.leg.vector)
        passages = [Passage(through, 0.5, True) for through in guessed.get(i, ())]
        if leg.through is not None:
            share = 0.5 if leg.at is None else float(leg.at) / leg.leg.length
            passages.append(Passage(leg.through, share, leg.at is None))
        given = leg.loop or leg.sweep
        curve: Literal["", "loop", "sweep"] = "loop" if leg.loop else "sweep" if leg.sweep else ""
        figure = given.text if given is not None else _figure(leg)
        yield Stretch(part, connector, at, head, leg.length, leg.leg.text, figure, curve, _spread(passages))
        at = head


def _figure(leg: Leg) -> str:
    """The figure of a leg as its builder wrote it, without the direction."""
    text = leg.leg.text
    return text.rpartition(" ")[0] if " and " not in text else text


def _spread(passages: Sequence[Passage]) -> tuple[Passage, ...]:
    """Passages of one leg whose places are guessed, evenly along it."""
    if len(passages) < 2:
        return tuple(passages)
    return tuple(
        Passage(passage.through, (i + 1) / (len(passages) + 1), True) if passage.guessed else passage
        for i, passage in enumerate(passages)
    )


def _guessed(run: Run) -> dict[int, list[str]]:
    """What a run passes through by its own `through:`, by the leg that is the likeliest: floors, decks, ceilings and roofs
    by the longest upright one, walls by the longest level one."""
    if any(leg.through is not None for leg in run.legs):
        return {}
    found: dict[int, list[str]] = {}
    for word in run.through:
        upright = word in ("floor", "deck", "ceiling", "roof")

        def fits(i: int, upright: bool = upright) -> float:
            aft, right, up = run.legs[i].leg.vector
            return abs(up) if upright else math.hypot(aft, right)

        found.setdefault(max(range(len(run.legs)), key=fits), []).append(word)
    return found


def _drawn_only(
    part: str, at: Point, way: Vector, length: float, *, connector: bool, passages: Sequence[str] = ()
) -> Stretch:
    """A piece whose way nobody measured: drawn on, with nothing said of its length."""
    head = plus(at, scaled(way, length))
    return Stretch(
        part, connector, at, head, length, "", "", "", _spread([Passage(word, 0.5, True) for word in passages])
    )


def _free(way: Vector | None, taken: Sequence[Vector]) -> Vector:
    """A way that no other run from the same place takes, straight on if that is free."""
    on = () if way is None else (scaled(way, 1.0),)
    blocked = [scaled(other, 1.0) for other in taken] + [scaled(one, -1.0) for one in on]
    found = (axis for axis in (*on, *AXES) if all(math.dist(axis, other) > 1e-6 for other in blocked))
    return next(found, AXES[0])
