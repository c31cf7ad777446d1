"""Which containers would do: every kind that is sold, one to four of it, by the study's own coldest day and days on end.

Four things make the search short, and tests hold the simulation to them: what falls short does so, too, in colder air, with
less in it, with fewer that feed together, and with less heat.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Room
from gasdoc.catalog import containers as catalog
from gasdoc.catalog.containers import ContainerKind, container_kind
from gasdoc.catalog.sold import HOW_WORDS, How, Sold, lifting, road_tanks, sold
from gasdoc.choices.entries import Figure, Why, fits, least_confirmed, sources
from gasdoc.choices.filled import Picked, Set
from gasdoc.engineering.container.vaporisation import Manifold
from gasdoc.quantities import Aside, Day, Kilogram, Ratio, Shown
from gasdoc.regions.rules import Rule
from gasdoc.source import Citation
from gasdoc.study.container.cold_day import GRID_FILLS, Heat, Rig, fill_words, short_words
from gasdoc.study.container.coldest_days import ahead, days_words, lasts
from gasdoc.study.container.draw_off import draw_table
from gasdoc.study.container.holding import full_mass, shape_of
from gasdoc.study.container.kinds_that_serve import LimitKept, kept, limits
from gasdoc.study.facts import Installation, moves, setting, system

MOST = 4
"""How many equal containers are looked at at most (our choice)."""

SIDES = 2
"""A changeover has two sides (common practice)."""

ONE_ONLY = ("asme-horizontal", "eu-tank")
"""Families of which nobody sets several side by side."""

HEATERS = ("room-heater", "combined-heater", "refrigerator")
"""Kinds of appliance that burn through the night: an empty container is noticed by the cold."""

FARTHEST = (
    "short-at-swap",
    "does-not-last",
    "short-full",
    "over-trade-table",
    "gas-too-cold",
    "too-heavy",
    "no-room",
    "wrong-orientation",
    "filled-otherwise",
    "wrong-for-setting",
    "not-sold-here",
    "over-region-limit",
)
"""Reasons why a set does not fit, from the one that is nearest to fitting to the one that no wish can change."""


class Asked(Struct, frozen=True):
    """What a set of containers is judged by: the coldest air K, the days it must last, and the wishes of the spec.

    `pair`: two on changeover come before one, because something heats or people sleep.
    """

    air: float
    must_last: float
    pair: bool
    carry: float | None = None
    fill: How | None = None
    swap_at: float | None = None
    room: Room | None = None
    have: tuple[str, ...] = ()


class Enough(Struct, frozen=True):
    """What a set carries with one end of the heat: down to which share of full it carries the coldest day (None: not even
    full), and how many such days a full supply lasts, `at_least` where it had not fallen short within those looked at."""

    heat: Heat
    to_fill: Ratio | None
    days: Day
    at_least: bool


class ContainerChoice(Struct, frozen=True):
    """One to four equal containers. `lift` kg is what has to be lifted at once, None where nothing is.

    `gate` is the end of the heat by which it is judged, `still` a night without wind; None where nothing was simulated.
    """

    id: str
    fits: bool | None
    why_not: tuple[Why, ...]
    figures: dict[str, Figure]
    sources: tuple[Citation, ...]
    kind: str
    name: str
    number: int
    manifold: Manifold
    how: tuple[How, ...]
    gate: Enough | None
    still: Enough | None
    lift: Kilogram | None
    limits: tuple[LimitKept, ...]
    owned: bool
    picked: Annotated[Picked, Aside("what is written when it is taken")]
    rank: Annotated[tuple[float, ...], Aside("the list stands in its order")]

    @property
    def way(self) -> Shown[str]:
        """How they are connected, in words."""
        return {"single": "one alone", "changeover": "one after another, by changeover", "parallel": "together"}[
            self.manifold
        ]

    @property
    def handled(self) -> Shown[str]:
        """Who fills it where, and how it is lifted, in words."""
        words = " or ".join(HOW_WORDS[how] for how in self.how)
        if self.lift is None:
            return f"{words}; nothing is lifted"
        limits = lifting()
        if self.lift > limits.at_all:
            return f"{words}; too heavy to carry: a trolley, or the supplier sets it"
        return f"{words}; {'one person lifts it' if self.lift <= limits.alone else 'two people, or a trolley'}"


class _Candidate(Struct, frozen=True):
    """A kind in one size, before it is known how many are needed."""

    kind: ContainerKind
    row: Sold
    water: units.Given | None
    rig: Rig
    most: float

    @property
    def holds(self) -> float:
        """The water capacity of one, m3."""
        return float(self.water) if self.water is not None else _usual(self.kind)

    @property
    def one_full(self) -> float:
        return self.rig.shape.heavy + self.most


def containers(build: Installation, rig: Rig, asked: Asked) -> tuple[ContainerChoice, ...]:
    """Every kind of the region's trade, in the order in which an experienced person would look at them.

    `rig` is that of the build with any container: its use, its regulator and its gas. Of each kind there is the smallest
    number that fits for each way of connecting, or one row that says why none does.
    """
    rules = tuple(limits(build))
    found = [choice for candidates in _kinds(build, rig) for choice in _of_a_kind(build, candidates, rules, asked)]
    return tuple(sorted(found, key=lambda choice: (*choice.rank, choice.id)))


def _kinds(build: Installation, like: Rig) -> Iterator[tuple[_Candidate, ...]]:
    """Every kind that gives vapour; a kind in many sizes in each of those that are usual."""
    for kind_id in catalog.trade(build.region.practice.containers):
        kind = container_kind(kind_id)
        if "vapour" not in kind.withdrawal:
            continue
        sizes: tuple[units.Given | None, ...] = (None,) if kind.water_capacity is not None else road_tanks()[0]
        yield tuple(_candidate(kind, size, like) for size in sizes)


def _candidate(kind: ContainerKind, size: units.Given | None, like: Rig) -> _Candidate:
    water = float(size) if size is not None else _usual(kind)
    mass = full_mass(kind, water, like.gas, stamped=size is not None)
    most = kind.fuel_mass.high if kind.fuel_mass is not None else mass
    shape = shape_of(kind, water)
    rig = replace(like, shape=shape, full_mass=mass, number=1, manifold="single", uninterrupted=None)
    return _Candidate(kind, sold(kind.id), size, rig, most)


def _usual(kind: ContainerKind) -> float:
    assert kind.water_capacity is not None, "a kind in many sizes has its size given"
    return kind.water_capacity.low


def _of_a_kind(
    build: Installation, sizes: Sequence[_Candidate], rules: Sequence[Rule], asked: Asked
) -> Iterator[ContainerChoice]:
    """The smallest size and number of a kind that fits, for each way; else the reason of the first that comes nearest."""
    refused: list[ContainerChoice] = []
    for candidate in sizes:
        barred = tuple(_barred(build, candidate, asked))
        if barred or kept(rules, candidate.kind, 1, candidate.holds, candidate.most)[1] is not None:
            refused.append(_choice(build, candidate, 1, "single", rules, asked, barred))
            continue
        made = tuple(_sets(build, candidate, rules, asked))
        good = [choice for choice in made if choice.fits is not False]
        if good:
            yield from good
            return
        refused += made
    yield min(refused, key=lambda choice: choice.rank)


def _sets(build: Installation, candidate: _Candidate, rules: Sequence[Rule], asked: Asked) -> Iterator[ContainerChoice]:
    """For each way of connecting the smallest number that fits; where none does, the largest within the region's limits."""
    most = 1 if candidate.kind.family in ONE_ONLY else MOST
    ways: tuple[tuple[Manifold, range], ...] = (
        ("single", range(1, 2)),
        ("changeover", range(2, min(most, SIDES) + 1)),
        ("parallel", range(2, most + 1)),
    )
    together = candidate.rig.joined(most, "parallel" if most > 1 else "single")
    if not together.short(asked.air, GRID_FILLS[0], together.careful).enough:
        yield _choice(build, candidate, 1, "single", rules, asked, ())
        return  # what falls short with all of them feeding does so with fewer
    within = [
        n for n in range(1, most + 1) if kept(rules, candidate.kind, n, candidate.holds, candidate.most)[1] is None
    ]
    asked_mass = asked.must_last * candidate.rig.energy / candidate.rig.heating
    for way, numbers in ways:
        last: ContainerChoice | None = None
        for number in numbers:
            if number not in within:
                break
            if number < within[-1] and number * candidate.rig.full_mass < asked_mass:
                continue  # it does not even hold so much
            last = _choice(build, candidate, number, way, rules, asked, ())
            if last.fits is not False:
                break
        if last is not None:
            yield last


def _barred(build: Installation, candidate: _Candidate, asked: Asked) -> Iterator[Why]:
    """What keeps a kind out before anything is simulated."""
    kind, row, shown, where = candidate.kind, candidate.row, system(build), setting(build)
    wished = build.stated.spec.container
    if not build.region.practice.takes(row.practice):
        yield Why("not-sold-here", f"A {kind.names[0]} is not sold in this region.")
    elif (where is None and not row.settings) or (where is not None and where not in row.settings):
        yield Why("wrong-for-setting", f"A {kind.names[0]} is not bought for a {where or 'build of this kind'}.")
    if asked.fill is not None and asked.fill not in row.how:
        words = " or ".join(HOW_WORDS[how] for how in row.how)
        yield Why("filled-otherwise", f"It is {words}; the wish is '{asked.fill}'.")
    if wished.type is None and wished.orientation is not None:
        if wished.orientation not in kind.orientation:
            yield Why("wrong-orientation", f"It is not made to be mounted {wished.orientation}.")
    lift = _lift(candidate)
    if lift is not None and asked.carry is not None:
        most = asked.carry
        if lift > most * (1 + 1e-9):
            told = units.show_apart(lift, most, "weight", shown)
            yield Why(
                "too-heavy", f"One weighs {told} full; {units.show(most, 'weight', shown)} is the most to be lifted."
            )
    if asked.room is not None and not _has_room(candidate, asked.room):
        size = f"{units.show(candidate.rig.shape.diameter, 'short length', shown)} wide and "
        size += f"{units.show(candidate.rig.shape.length, 'short length', shown)} long"
        yield Why("no-room", f"It is {size}; the room for it is smaller.")
    if asked.air <= candidate.rig.need.floor:
        floor = units.show(candidate.rig.need.floor, "temperature", shown)
        yield Why("gas-too-cold", f"The gas has the pressure the regulator needs above {floor} only.")


def _lift(candidate: _Candidate) -> float | None:
    """The weight that has to be lifted, kg, None where it is filled in place."""
    if candidate.kind.stays == "permanent" or (candidate.kind.stays == "either" and not _exchanged(candidate)):
        return None
    return candidate.one_full


def _exchanged(candidate: _Candidate) -> bool:
    return candidate.row.how == ("exchanged",)


def _has_room(candidate: _Candidate, room: Room) -> bool:
    """Whether one container stands, or lies, in a room."""
    shape = candidate.rig.shape
    tall, across = shape.length, shape.diameter
    if candidate.kind.orientation[0] == "horizontal":
        sides = sorted(float(side) for side in (room.length, room.width) if side is not None)
        low = room.height is None or float(room.height) >= across
        return low and (not sides or sides[-1] >= tall) and (len(sides) < 2 or sides[0] >= across)
    high = room.height is None or float(room.height) >= tall
    return high and all(side is None or float(side) >= across for side in (room.length, room.width))


def _with_table(rig: Rig, kind: ContainerKind) -> tuple[Rig, bool]:
    """The rig held under the trade's table, and whether that gives what the day asks."""
    table = draw_table(kind, rig.full_mass, rig.feeding, rig.periods, rig.heating)
    if table is None:
        return rig, True
    return replace(rig, uninterrupted=table.rows[0].load / rig.feeding), table.enough


def _enough(rig: Rig, asked: Asked, heat: Heat) -> Enough:
    """What a set carries with one end of the heat."""
    if not rig.short(asked.air, GRID_FILLS[0], heat).enough:
        lasting = lasts(rig, asked.air, heat, 1)
        return Enough(heat, None, lasting.days, False)
    low, high = 0, len(GRID_FILLS) - 1  # GRID_FILLS falls; the first, full, carries it
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if rig.short(asked.air, GRID_FILLS[middle], heat).enough else (low, middle - 1)
    # The gate looks as far ahead as the study does; how much longer a still spell could last decides nothing.
    most = ahead(rig, asked.must_last) if heat == rig.careful else math.ceil(2 * asked.must_last)
    lasting = lasts(rig, asked.air, heat, most)
    return Enough(heat, GRID_FILLS[low], lasting.days, not lasting.short)


def _choice(
    build: Installation,
    candidate: _Candidate,
    number: int,
    manifold: Manifold,
    rules: Sequence[Rule],
    asked: Asked,
    barred: Sequence[Why],
) -> ContainerChoice:
    kind = candidate.kind
    within, broken = kept(rules, kind, number, candidate.holds, candidate.most)
    reasons = list(barred)
    if broken is not None:
        reasons.insert(0, Why("over-region-limit", f"The region limits it: {broken.asks}"))
    gate = still = None
    if not reasons:
        rig, table = _with_table(candidate.rig.joined(number, manifold), kind)
        gate = _enough(rig, asked, rig.careful)
        if not table:
            reasons.append(Why("over-trade-table", "The trade's table of draw-off gives less than the day asks."))
        if gate.to_fill is None:
            when = short_words(rig.short(asked.air, 1.0, gate.heat))
            reasons.append(Why("short-full", f"On the coldest day it is {when}, even full."))
        elif not gate.at_least and gate.days < asked.must_last * (1 - 1e-9):
            said = f"It lasts {days_words(gate.days)} of such cold; {days_words(asked.must_last)[6:]} are asked."
            reasons.append(Why("does-not-last", said))
        elif asked.swap_at is not None and gate.to_fill > asked.swap_at + 1e-9:
            said = f"It carries the coldest day {fill_words(gate.to_fill)} and not emptier."
            reasons.append(Why("short-at-swap", said))
        if not reasons:
            still = gate if gate.heat == "still" else _enough(rig, asked, "still")
    lift = _lift(candidate)
    usual = kind.orientation[0]
    stated = Set(
        kind.id,
        number,
        None if manifold == "single" else manifold,
        usual,
        candidate.water.text if candidate.water else None,
    )
    size = f" {candidate.water.text}" if candidate.water is not None else ""
    return ContainerChoice(
        id=_id(candidate, number, manifold),
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=_figures(candidate, number, gate, still),
        sources=sources(candidate.row.citation, kind.filling_source, *(each.citation for each in within)),
        kind=kind.id,
        name=f"{number} x {kind.names[0]}{size}" if number > 1 else f"{kind.names[0]}{size}",
        number=number,
        manifold=manifold,
        how=candidate.row.how,
        gate=gate,
        still=still,
        lift=lift,
        limits=within,
        owned=kind.id in asked.have,
        picked=Picked(container=stated),
        rank=_rank(build, candidate, number, manifold, reasons, asked, lift, gate),
    )


def _id(candidate: _Candidate, number: int, manifold: Manifold) -> str:
    """As in 2x-dot-20lb-changeover."""
    size = f"-{candidate.water.text.replace(' ', '')}" if candidate.water is not None else ""
    way = f"-{manifold}" if number > 1 else ""
    return f"{number}x-{candidate.kind.id}{size}{way}"


def _figures(candidate: _Candidate, number: int, gate: Enough | None, still: Enough | None) -> dict[str, Figure]:
    kind, shape = candidate.kind, candidate.rig.shape
    tare = kind.tare.confirmed if kind.tare is not None else "memory"
    fuel = kind.fuel_mass.confirmed if kind.fuel_mass is not None else "computed"
    across = kind.diameter.confirmed if kind.diameter is not None else "memory"
    high = kind.height.confirmed if kind.height is not None else "memory"
    weight = least_confirmed(tare, fuel)
    found = {
        "one_full": Figure(candidate.one_full, "kg", weight),
        "set_full": Figure(candidate.one_full * number, "kg", weight),
        "one_empty": Figure(shape.heavy, "kg", tare),
        "gas": Figure(candidate.rig.full_mass * number, "kg", fuel),
        "diameter": Figure(shape.diameter, "m", across),
        "length": Figure(shape.length, "m", high),
    }
    for name, end in (("", gate), ("_still", still)):
        if end is not None:
            found[f"swap_at{name}"] = Figure(end.to_fill, "share", "computed")
            found[f"days{name}"] = Figure(end.days, "days", "computed")
    return found


def _rank(
    build: Installation,
    candidate: _Candidate,
    number: int,
    manifold: Manifold,
    reasons: Sequence[Why],
    asked: Asked,
    lift: float | None,
    gate: Enough | None,
) -> tuple[float, ...]:
    """The order in which an experienced person looks at them: those that fit; what there is already; what can be
    lifted; two that change over by themselves where something heats or people sleep; the fewest; the lightest.

    On the road a fixed tank comes after cylinders: it needs a mount and a filling point that takes the whole build.
    """
    if lift is not None:
        handling = 0.0 if lift <= lifting().at_all else 1.0
    else:
        handling = 2.0 if candidate.kind.stays == "permanent" and moves(build) else 0.0
    fitting = {True: 0.0, None: 1.0, False: 2.0}[fits(reasons)]
    reason = max((float(FARTHEST.index(why.code) + 1) for why in reasons), default=0.0)
    short = -gate.days if reasons and gate is not None else 0.0
    owned = 0.0 if candidate.kind.id in asked.have else 1.0
    alone = 1.0 if asked.pair and manifold != "changeover" else 0.0
    return (fitting, reason, short, owned, handling, alone, float(number), candidate.one_full * number)
