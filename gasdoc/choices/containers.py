"""Which containers would do: every kind that is sold, one to four of it, by the study's own coldest day and days on end.

Four things make the search short, and tests hold the simulation to them: what falls short does so, too, in colder air, with
less in it, with fewer that feed together, and with less heat.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Room
from gasdoc.catalog import containers as catalog
from gasdoc.catalog.containers import container_kind
from gasdoc.catalog.sold import HOW_WORDS, How, lifting, road_tanks, sold
from gasdoc.choices.entries import Choice, Figure, Why, fits, least_confirmed, sources
from gasdoc.choices.filled import Picked, Set
from gasdoc.engineering.container.burning import Period
from gasdoc.engineering.container.vaporisation import Manifold, sides
from gasdoc.quantities import Aside, Day, Kelvin, Kilogram, Ratio, Shown
from gasdoc.regions.rules import Rule
from gasdoc.study.container.cold_day import FILLS, Heat, Rig, fill_words, joined_words, short_words
from gasdoc.study.container.coldest_days import ahead, days_words, lasts
from gasdoc.study.container.sets import MOST, LimitKept, Member, emptiest, kept, limits, member
from gasdoc.study.facts import Installation, moves, setting, system
from gasdoc.words import with_article

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


class YearPart(Struct, frozen=True):
    """A part of the year as a set is put through it: its usual coldest air K, and the use of its days."""

    name: str
    air: float
    periods: tuple[Period, ...]


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
    year: tuple[YearPart, ...] = ()


class InSeason(Struct, frozen=True):
    """How many days a full set lasts in the coldest air of a part of the year, with its use; `at_least` as in Enough."""

    name: str
    air: Kelvin
    days: Day
    at_least: bool


class Enough(Struct, frozen=True):
    """What a set carries with one end of the heat: down to which share of full it carries the coldest day (None: not even
    full), and how many such days a full supply lasts, `at_least` where it had not fallen short within those looked at."""

    heat: Heat
    to_fill: Ratio | None
    days: Day
    at_least: bool


class ContainerChoice(Choice, frozen=True):
    """One to four equal containers. `lift` kg is what has to be lifted at once, None where nothing is.

    `gate` is the end of the heat by which it is judged, `still` a night without wind; None where nothing was simulated.
    `asked_days` are those it is to last; `year` has the seasons of the spec.
    """

    kind: str
    name: str
    number: int
    manifold: Manifold
    how: tuple[How, ...]
    gate: Enough | None
    still: Enough | None
    asked_days: Day
    year: tuple[InSeason, ...]
    lift: Kilogram | None
    limits: tuple[LimitKept, ...]
    owned: bool
    picked: Annotated[Picked, Aside("what is written when it is taken")]
    rank: Annotated[tuple[float, ...], Aside("the list stands in its order")]

    @property
    def way(self) -> Shown[str]:
        """How they are connected, in words."""
        return joined_words(self.number, self.manifold)

    @property
    def two_inlets(self) -> Shown[bool]:
        """Whether the regulator needs two inlets: a changeover of containers or banks."""
        return sides(self.number, self.manifold) > 1

    @property
    def handled(self) -> Shown[str]:
        """Who fills it where, and how it is lifted, in words."""
        words, limits = " or ".join(HOW_WORDS[how] for how in self.how), lifting()
        if self.lift is None:
            return f"{words}. It stays in its place and nothing is lifted"
        if self.lift > limits.at_all:
            return f"{words}. Too heavy to carry: the supplier sets it, or a trolley moves it"
        return f"{words}; {'one person lifts it' if self.lift <= limits.alone else 'two people or a trolley'}"


class _Candidate(Struct, frozen=True, dict=True):
    """A number of one kind, joined in one way, before it is known whether it fits. `size` is stated where the kind has many."""

    one: Member
    size: units.Given | None
    how: tuple[How, ...]
    number: int
    manifold: Manifold

    @cached_property
    def lift(self) -> float | None:
        """The weight that has to be lifted, kg; None where it is filled in its place.

        What is filled at all, and heavier than anybody lifts, is filled where it stands.
        """
        stays = self.one.kind.stays
        filled = self.how != ("exchanged",)
        if stays == "permanent" or (filled and (stays == "either" or self.one.one_full > lifting().at_all)):
            return None
        return self.one.one_full

    @property
    def id(self) -> str:
        """As in 2x-dot-20lb-changeover."""
        size = f"-{self.size.text.replace(' ', '')}" if self.size is not None else ""
        way = f"-{self.manifold}" if self.number > 1 else ""
        return f"{self.number}x-{self.one.kind.id}{size}{way}"

    @property
    def name(self) -> str:
        """As in 2 x 20-lb cylinder."""
        named = f"{self.one.kind.names[0]} {self.size.text}" if self.size is not None else self.one.kind.names[0]
        return f"{self.number} x {named}" if self.number > 1 else named

    @property
    def usual(self) -> str:
        """The position it is mounted in."""
        return self.one.kind.orientation[0]

    def order(self, build: Installation, asked: Asked) -> tuple[float, ...]:
        """The order in which an experienced person looks at those that fit: what there is already; what can be lifted; two
        sides that change over by themselves where something heats or people sleep; the fewest; the lightest.

        On the road a fixed tank comes after cylinders: it needs a mount and a filling point that takes the whole build. Four
        in two banks are for what stands: on the road fewer come first.
        """
        if self.lift is not None:
            handling = 0.0 if self.lift <= lifting().at_all or not moves(build) else 1.0
        else:
            handling = 2.0 if self.one.kind.stays == "permanent" and moves(build) else 0.0
        owned = 0.0 if self.one.kind.id in asked.have else 1.0
        two_sides = self.manifold == "changeover" or (self.manifold == "banks" and not moves(build))
        alone = 1.0 if asked.pair and not two_sides else 0.0
        together = 1.0 if self.manifold == "parallel" else 0.0
        return (owned, handling, alone, float(self.number), together, self.one.one_full * self.number)


def containers(build: Installation, rig: Rig, asked: Asked) -> tuple[ContainerChoice, ...]:
    """Every kind of the region's trade, in the order in which an experienced person would look at them.

    `rig` is that of the build with any container: its use, its regulator and its gas. Of each kind there is the smallest
    number that fits for each way of connecting, and why one alone does not; or one row that says why none does.
    """
    rules = tuple(limits(build))
    found = [choice for sizes in _kinds(build, rig) for choice in _of_a_kind(build, sizes, rules, asked)]
    return tuple(sorted(found, key=lambda choice: (*choice.rank, choice.id)))


class First(Struct, frozen=True):
    """The set that stands first among those that fit: its id, and it in words."""

    id: str
    words: str


def first(
    build: Installation, rig: Rig, asked: Asked, *, lifted: bool | None = None, lightest: bool = False, most: int = MOST
) -> First | None:
    """What stands first among those that fit, None for nothing: looked for in the order of the list and no further.

    `lifted`: only among those that are lifted, or are not; `lightest`: the lightest of them; `most`: of so many at most.
    """
    rules = tuple(limits(build))
    wanted = []
    for sizes in _kinds(build, rig):
        for one in sizes:
            if (lifted is None or (one.lift is not None) == lifted) and not any(_barred(build, one, asked)):
                wanted += [replace(one, number=number, manifold=way) for number, way in one.one.ways if number <= most]
    wanted.sort(key=lambda c: ((c.lift or 0.0) if lightest else 0.0, *c.order(build, asked), c.id))
    found = (c for c in wanted if kept(rules, c.one, c.number)[1] is None and _carries(c, asked))
    return next((First(c.id, f"{c.name}, {joined_words(c.number, c.manifold)}") for c in found), None)


def _carries(candidate: _Candidate, asked: Asked) -> bool:
    """Whether a set carries the coldest day and lasts as long as asked, worked out no further than that."""
    one = candidate.one
    if asked.room is not None and not _has_room(candidate, asked.room):
        return False
    if candidate.number * one.rig.full_mass * one.rig.heating < asked.must_last * one.rig.energy:
        return False
    rig, tabled = one.joined(candidate.number, candidate.manifold)
    if not tabled or not rig.short(asked.air, FILLS[0], rig.careful).enough:
        return False
    if asked.swap_at is not None and (emptiest(rig, asked.air, rig.careful) or 1.0) > asked.swap_at + 1e-9:
        return False
    lasting = lasts(rig, asked.air, rig.careful, math.ceil(asked.must_last))
    return not lasting.short or lasting.days >= asked.must_last * (1 - 1e-9)


def _kinds(build: Installation, like: Rig) -> Iterator[tuple[_Candidate, ...]]:
    """Every kind that gives vapour; a kind in many sizes in each of those that are usual."""
    for kind_id in catalog.trade(build.region.practice.containers):
        kind = container_kind(kind_id)
        if "vapour" not in kind.withdrawal or not kind.worked_out_with(build.spec.gas.propane):
            continue
        # A truck goes to what stands, not to what travels.
        how = tuple(each for each in sold(kind.id).how if each != "truck" or not moves(build)) or sold(kind.id).how
        if kind.water_capacity is not None:
            yield (_Candidate(member(kind, kind.water_capacity.low, like), None, how, 1, "single"),)
        else:
            yield tuple(_Candidate(member(kind, float(size), like), size, how, 1, "single") for size in road_tanks()[0])


def _of_a_kind(
    build: Installation, sizes: Sequence[_Candidate], rules: Sequence[Rule], asked: Asked
) -> Iterator[ContainerChoice]:
    """The smallest size and number of a kind that fits, for each way, and why one alone does not, where it takes more; else the
    reason of the first that comes nearest."""
    refused: list[ContainerChoice] = []
    for candidate in sizes:
        barred = tuple(_barred(build, candidate, asked))
        if barred or kept(rules, candidate.one, 1)[1] is not None:
            refused.append(_choice(build, candidate, rules, asked, barred))
            continue
        made = tuple(_sets(build, candidate, rules, asked))
        good = [choice for choice in made if choice.fits is not False]
        if good:
            yield from good
            yield from (choice for choice in made if choice.number == 1 and choice.fits is False)
            return
        refused += made
    yield min(refused, key=lambda choice: choice.rank)


def _sets(build: Installation, candidate: _Candidate, rules: Sequence[Rule], asked: Asked) -> Iterator[ContainerChoice]:
    """For each way of connecting the smallest number that fits; where none does, the largest within the region's limits."""
    one = candidate.one
    all_ways = tuple(one.ways)
    together = one.rig.joined(*all_ways[-1])
    if not together.short(asked.air, FILLS[0], together.careful).enough:
        yield _choice(build, candidate, rules, asked, ())
        return  # what falls short with all of them feeding does so with fewer
    within = [
        c
        for c in (replace(candidate, number=n, manifold=way) for n, way in all_ways)
        if kept(rules, one, c.number)[1] is None and (asked.room is None or _has_room(c, asked.room))
    ]
    most = max(c.number for c in within)
    asked_mass = asked.must_last * one.rig.energy / one.rig.heating
    last: dict[Manifold, ContainerChoice] = {}
    for each in within:
        known = last.get(each.manifold)
        if known is not None and known.fits:
            continue
        if 1 < each.number < most and each.number * one.rig.full_mass < asked_mass:
            continue  # it does not even hold so much
        made = _choice(build, each, rules, asked, ())
        if known is None or known.fits is False or made.fits:
            last[each.manifold] = made
    yield from last.values()


def _barred(build: Installation, candidate: _Candidate, asked: Asked) -> Iterator[Why]:
    """What keeps a kind out before anything is simulated."""
    kind, shown, where = candidate.one.kind, system(build), setting(build)
    row = sold(kind.id)
    wished = build.stated.spec.container
    if not build.region.practice.takes(row.practice):
        yield Why("not-sold-here", f"{with_article(kind.names[0], 'A')} is not sold in this region.")
    elif (where is None and not row.settings) or (where is not None and where not in row.settings):
        yield Why(
            "wrong-for-setting",
            f"{with_article(kind.names[0], 'A')} is not bought for a {where or 'build of this kind'}.",
        )
    if asked.fill is not None and asked.fill not in candidate.how:
        words = " or ".join(HOW_WORDS[how] for how in candidate.how)
        yield Why("filled-otherwise", f"It is {words}. The wish is '{asked.fill}'.")
    if wished.type is None and wished.orientation is not None:
        if wished.orientation not in kind.orientation:
            yield Why("wrong-orientation", f"It is not made to be mounted {wished.orientation}.")
    lift = candidate.lift
    if lift is not None and asked.carry is not None and lift > asked.carry * (1 + 1e-9):
        told = units.show_apart(lift, asked.carry, "weight", shown)
        most = units.show(asked.carry, "weight", shown)
        yield Why("too-heavy", f"One weighs {told} full, and {most} is the most to be lifted.")
    shape = candidate.one.rig.shape
    if asked.room is not None and not _has_room(candidate, asked.room):
        size = f"{units.show(shape.diameter, 'short length', shown)} wide and "
        size += f"{units.show(shape.length, 'short length', shown)} long"
        yield Why("no-room", f"It is {size}. The room for it is smaller.")
    if asked.air <= candidate.one.rig.need.floor:
        floor = units.show(candidate.one.rig.need.floor, "temperature", shown)
        yield Why("gas-too-cold", f"The gas has the pressure the regulator needs above {floor} only.")


def _has_room(candidate: _Candidate, room: Room) -> bool:
    """Whether so many stand, or lie, side by side in a room, in rows along its sides; a side that is not stated is as long as
    needed."""
    shape, number = candidate.one.rig.shape, candidate.number
    lies = candidate.usual == "horizontal"
    high, long = (shape.diameter, shape.length) if lies else (shape.length, shape.diameter)
    if room.height is not None and float(room.height) < high - 1e-9:
        return False
    sides_ = [math.inf if side is None else float(side) for side in (room.length, room.width)]

    def rows(along: float, across: float) -> float:
        fitting = [
            number if side == math.inf else math.floor(side / each + 1e-9)
            for side, each in ((along, long), (across, shape.diameter))
        ]
        return fitting[0] * fitting[1]

    return max(rows(*sides_), rows(*reversed(sides_))) >= number


def _enough(rig: Rig, asked: Asked, heat: Heat) -> Enough:
    """What a set carries with one end of the heat."""
    to_fill = emptiest(rig, asked.air, heat)
    if to_fill is None:
        return Enough(heat, None, lasts(rig, asked.air, heat, 1).days, False)
    # The gate looks as far ahead as the study does; how much longer a still spell could last decides nothing.
    most = ahead(rig, asked.must_last) if heat == rig.careful else math.ceil(2 * asked.must_last)
    lasting = lasts(rig, asked.air, heat, most)
    return Enough(heat, to_fill, lasting.days, not lasting.short)


def _year(rig: Rig, asked: Asked) -> Iterator[InSeason]:
    """How long a set lasts in each part of the year, looked at for as many days as the coldest ones are."""
    for part in asked.year:
        lasting = lasts(replace(rig, periods=part.periods), part.air, rig.careful, ahead(rig, asked.must_last))
        yield InSeason(part.name, part.air, lasting.days, not lasting.short)


def _choice(
    build: Installation, candidate: _Candidate, rules: Sequence[Rule], asked: Asked, barred: Sequence[Why]
) -> ContainerChoice:
    one, kind, number, manifold = candidate.one, candidate.one.kind, candidate.number, candidate.manifold
    within, broken = kept(rules, one, number)
    reasons = list(barred)
    if broken is not None:
        reasons.insert(0, Why("over-region-limit", f"The region limits it: {broken.asks}"))
    gate = still = None
    year: tuple[InSeason, ...] = ()
    if not reasons:
        rig, tabled = one.joined(number, manifold)
        gate = _enough(rig, asked, rig.careful)
        if not tabled:
            text = "The trade's table of draw-off gives less than the day asks: ask the supplier."
            reasons.append(Why("over-trade-table", text, open=True))
        if gate.to_fill is None:
            when = short_words(rig.short(asked.air, FILLS[0], gate.heat))
            reasons.append(Why("short-full", f"On the coldest day it is {when}, even full."))
        elif not gate.at_least and gate.days < asked.must_last * (1 - 1e-9):
            said = f"It lasts {days_words(gate.days)} of such cold, and is to last {days_words(asked.must_last)[6:]}."
            reasons.append(Why("does-not-last", said))
        elif asked.swap_at is not None and gate.to_fill > asked.swap_at + 1e-9:
            said = f"In such cold it has to be filled again {fill_words(gate.to_fill)}, not emptier."
            reasons.append(Why("short-at-swap", said))
        if not reasons:
            still = gate if gate.heat == "still" else _enough(rig, asked, "still")
            year = tuple(_year(rig, asked))
    size = candidate.size
    stated = Set(kind.id, number, None if number == 1 else manifold, candidate.usual, size.text if size else None)
    return ContainerChoice(
        id=candidate.id,
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=_figures(candidate, gate, still),
        sources=sources(sold(kind.id).citation, kind.filling_source, *(each.citation for each in within)),
        kind=kind.id,
        name=candidate.name,
        number=number,
        manifold=manifold,
        how=candidate.how,
        gate=gate,
        still=still,
        asked_days=asked.must_last,
        year=year,
        lift=candidate.lift,
        limits=within,
        owned=kind.id in asked.have,
        picked=Picked(container=stated),
        rank=_rank(build, candidate, reasons, asked, gate),
    )


def _figures(candidate: _Candidate, gate: Enough | None, still: Enough | None) -> dict[str, Figure]:
    kind, shape, number = candidate.one.kind, candidate.one.rig.shape, candidate.number
    tare = kind.tare.confirmed if kind.tare is not None else "memory"
    fuel = kind.fuel_mass.confirmed if kind.fuel_mass is not None else "computed"
    across = kind.diameter.confirmed if kind.diameter is not None else "memory"
    high = kind.height.confirmed if kind.height is not None else "memory"
    weight = least_confirmed(tare, fuel)
    found = {
        "one_full": Figure(candidate.one.one_full, "kg", weight),
        "set_full": Figure(candidate.one.one_full * number, "kg", weight),
        "one_empty": Figure(shape.heavy, "kg", tare),
        "gas": Figure(candidate.one.rig.full_mass * number, "kg", fuel),
        "diameter": Figure(shape.diameter, "m", across),
        "length": Figure(shape.length, "m", high),
    }
    for name, end in (("", gate), ("_still", still)):
        if end is not None:
            found[f"swap_at{name}"] = Figure(end.to_fill, "share", "computed")
            found[f"days{name}"] = Figure(end.days, "days", "computed")
    return found


def _rank(
    build: Installation, candidate: _Candidate, reasons: Sequence[Why], asked: Asked, gate: Enough | None
) -> tuple[float, ...]:
    """Those that fit first, in their order; then those that lack a figure, then what comes nearest."""
    fitting = {True: 0.0, None: 1.0, False: 2.0}[fits(reasons)]
    reason = max((float(FARTHEST.index(why.code) + 1) for why in reasons), default=0.0)
    short = -gate.days if reasons and gate is not None else 0.0
    return (fitting, reason, short, *candidate.order(build, asked))
