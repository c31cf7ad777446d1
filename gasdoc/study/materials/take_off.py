"""The take-off of a build: every part with its key, from the tree as it is put together."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Regulator
from gasdoc.catalog import openings, stock, tubing
from gasdoc.catalog.parts import Catalogue
from gasdoc.catalog.regulators import regulators
from gasdoc.catalog.sold import HOW_WORDS, sold
from gasdoc.engineering.constants import INCH
from gasdoc.engineering.materials.ends import End
from gasdoc.engineering.materials.joints import Chain, Part
from gasdoc.engineering.materials.openings import Opening
from gasdoc.engineering.materials.take_off import Group, Item, merge
from gasdoc.engineering.materials.tools import Tool, features, tools_for
from gasdoc.study.facts import Installation, heating_value, is_first_stage, moves, setting, system
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.connectors import Connected
from gasdoc.study.materials.cutting import Lengths
from gasdoc.study.materials.hose_ratings import LOW
from gasdoc.study.materials.passages import Passages
from gasdoc.study.materials.spots import About, feeding_run, inlets
from gasdoc.study.supply.lines import SizedZone, lines_of
from gasdoc.units import System

_GROUPS: dict[str, Group] = {
    "fitting": "fittings",
    "branch": "fittings",
    "termination": "fittings",
    "pigtail": "container and regulator",
    "manifold": "container and regulator",
    "valve": "valves and connectors",
    "connector": "valves and connectors",
    "test": "valves and connectors",
    "closure": "fittings",
}


class Job(Struct, frozen=True):
    """All that materials are made from; `rest` is what goes into the build besides its gas line, `for_test` what the tests
    take."""

    build: Installation
    zones: tuple[SizedZone, ...]
    listed: Catalogue
    fittings: Fittings
    connected: tuple[Connected, ...]
    lengths: tuple[Lengths, ...]
    passages: Passages
    rest: tuple[Item, ...]
    for_test: tuple[Item, ...]


def materials(job: Job) -> tuple[Item, ...]:
    """Every part the build needs, like parts added up."""
    return merge(_items(job))


def tools(job: Job) -> tuple[Tool, ...]:
    """The tools the job calls for."""
    parts = [part for _, chain in job.fittings.chains() for part in chain.parts]
    joints = [joint for _, chain in job.fittings.chains() for joint in chain.joints]
    ends = [tubing.material(run.material).ends for run in lines_of(job.zones).values()]
    return tools_for(features(parts, joints, ends, len(job.passages.openings)), openings.tools())


def taper_joints(made: Fittings) -> int:
    """How many joints take thread sealant."""
    return sum(joint.sealant for _, chain in made.chains() for joint in chain.joints)


def tight_joints(made: Fittings) -> int:
    """How many joints are made in all: those between the parts of the line and those inside what closes them, nuts of
    connectors too. A tube in its flare nut makes none of its own."""
    unions = sum(placed.part.unions for _, _, placed in made.placed() if placed.part is not None)
    return unions + sum(joint.seal != "held" for _, chain in made.chains() for joint in chain.joints)


def _items(job: Job) -> Iterator[Item]:
    yield from _source(job)
    yield from _tubing(job)
    yield from _parts(job)
    yield from _passages(job)
    yield from job.rest
    yield from _sundries(job)


def _source(job: Job) -> Iterator[Item]:
    build = job.build
    group: Group = "container and regulator"
    yield Item(
        f"container:{job.build.container_kind.id}",
        group,
        _container(build),
        build.spec.container.number,
        False,
        ("container",),
        " or ".join(HOW_WORDS[way] for way in sold(build.container_kind.id).how),
    )
    loads = {zone.id: zone.load for zone in job.zones}
    regulators = [(build.first, build.spec.regulator, True)]
    regulators += [(node.id, part, False) for node, part in build.each(Regulator)]
    for identity, regulator, first in regulators:
        yield Item(
            f"regulator:{identity}",
            group,
            _regulator(build, regulator, first=first, changeover=first and inlets(build) > 1)
            + _rating(build, regulator, loads.get(identity)),
            1,
            False,
            (identity,),
            _made_for(build),
        )


def _container(build: Installation) -> str:
    """Its kind, with its size where the kind comes in many, its gas and its outlet."""
    kind, stated = build.container_kind, build.spec.container
    capacity = stated.water_capacity if kind.water_capacity is None else None
    name = f"{kind.names[0]}, {capacity.text} of water capacity" if capacity is not None else kind.names[0]
    name += f", {_gas(build)}"
    return f"{name}, outlet {stated.connection}" if stated.connection is not None else name


def _gas(build: Installation) -> str:
    gas = build.spec.gas
    return "propane" if not gas.butane else "butane" if not gas.propane else "propane with butane"


def _made_for(build: Installation) -> str:
    """What stands on a regulator of the region, and the cold it is made for."""
    coldest = build.spec.coldest
    marks = regulators(build.region.practice.rows).marks
    told = [f"marked {marks[where]}"] if (where := setting(build)) is not None else []
    if coldest is not None:
        told.append(
            f"made for {units.show(coldest, 'temperature', system(build))} or colder, as its mark or data sheet says"
        )
    return ", ".join(told)


def _regulator(build: Installation, regulator: Regulator, *, first: bool, changeover: bool) -> str:
    stages = (
        "two-stage regulator"
        if regulator.stages == 2
        else "second-stage regulator"
        if not first
        else "first-stage regulator"
        if is_first_stage(build)
        else "single-stage regulator"
    )
    threads = [t for t in (regulator.inlet_thread, regulator.outlet_thread) if t]
    with_changeover = " with changeover" if changeover else ""
    return f"{stages}{with_changeover}, {regulator.outlet.text}" + (f", {' x '.join(threads)}" if threads else "")


def _rating(build: Installation, regulator: Regulator, load: float | None) -> str:
    """What it is rated for as stated, else the least it has to be, `load` in W: in what regulators are sold by there."""
    if regulator.capacity is not None:
        return f", rated {regulator.capacity.text}"
    return "" if load is None else f", rated for at least {_in_trade(build, load)}"


def _in_trade(build: Installation, load: float) -> str:
    """A load in what regulators and hoses of the region are sold by, the gas that they pass in an hour or heat, and beside
    it the heat in the build's own units where those are others."""
    heat = units.show_up(load, "load", system(build))
    if regulators(build.region.practice.rows).sizes:
        return f"{units.show_up(load / heating_value(build), 'gas mass', 'si')} ({heat} gross)"
    there = units.show_up(load, "load", build.region.units)
    return there if there == heat else f"{there} ({heat})"


def _tubing(job: Job) -> Iterator[Item]:
    for lengths in job.lengths:
        where = tuple(dict.fromkeys(piece.id.partition(":")[0] for piece in lengths.pieces))
        yield Item(
            lengths.key,
            "tubing",
            lengths.name,
            lengths.gross,
            True,
            where,
            f"{lengths.allowance} included",
            lengths.net,
        )
    for zone in job.zones:
        for run in zone.runs:
            if run.size is None:
                yield Item(
                    f"{run.material} size-not-found",
                    "tubing",
                    f"{run.material}, size not found",
                    float(run.part.length),
                    True,
                    (run.id,),
                    "no listed size carries its load",
                    float(run.part.length),
                )


def _parts(job: Job) -> Iterator[Item]:
    """Chosen parts and the chains between them, in the order of the tree."""
    by_outlet = {c.id: c for c in job.connected}
    loads = {s.id: s.load for s in job.build.served}
    for about, spot, placed in job.fittings.placed():
        if spot.role == "connector" or (spot.role == "rigid tail" and placed.ends[0] is None):
            yield _connector(job.build, by_outlet[about.element], loads[about.element])
        elif spot.role == "hose":
            yield _regulator_hose(job, about, placed.part)
        elif spot.role == "rigid tail":
            yield from _pipe_tail(job, by_outlet[about.element], placed.ends[0])
        elif placed.part is not None:
            yield _item(placed.part, about.element, note=_hose(job.build) if spot.role == "pigtail" else "")
        elif not spot.ends and not placed.built_in:
            yield Item(
                f"{spot.role.replace(' ', '-')} not-chosen",
                "fittings",
                f"{spot.role}, not chosen: see the joints",
                1,
                False,
                (about.element,),
            )
    for joined in job.fittings.joined:
        found = joined.found
        if isinstance(found, Chain):
            for part in found.parts:
                yield _item(part, joined.element, joined.joints)
        else:
            yield Item(
                "fittings not-worked-out",
                "fittings",
                "fittings between two parts, not worked out: see the joints",
                1,
                False,
                (joined.element,),
                joined.why or "",
                joints=joined.joints,
            )


def _item(part: Part, element: str, joints: tuple[str, ...] = (), note: str = "") -> Item:
    return Item(part.id, _GROUPS[part.use], part.name, 1, False, (element,), note, joints=joints)


def _hose(build: Installation) -> str:
    """In which lengths the hose of a container is sold, and how long it may be."""
    row = stock.cylinder_hose(build.region.practice.rows, moves=moves(build))
    told = [f"measure first: sold in {', '.join(length.text for length in row.lengths)}"]
    told += [f"at most {row.longest.text} here"] if row.longest is not None else []
    return "; ".join(filter(None, (*told, row.besides)))


def _pipe_tail(job: Job, c: Connected, end: End | None) -> Iterator[Item]:
    """A tail of threaded pipe behind tubing of another kind; one of the run's own tubing is in the cutting plan."""
    feeding = feeding_run(job.build, lines_of(job.zones), c.id)
    if (
        end is not None
        and end.kind in ("npt", "bspt")
        and (feeding is None or not tubing.material(feeding.material).makes_tails)
    ):
        length = units.show(c.length, "short length", system(job.build)) if c.length is not None else "length not known"
        name = f"steel pipe, {end.size} {'NPT' if end.kind == 'npt' else 'R'} at both ends, {length}"
        yield Item(f"pipe-tail {end.size}", "valves and connectors", name, 1, False, (c.id,))


def _connector(build: Installation, c: Connected, load: float) -> Item:
    name = c.part.name if c.part is not None else f"{c.kind} connector, its ends not known"
    name += f", {c.label}" if c.label is not None else ", length not chosen"
    note = f"{c.name}: rated for at least {_in_trade(build, load)}"
    if c.chosen:
        note += ", length chosen here: the shortest that reaches"
    return Item(c.key, "valves and connectors", name, 1, False, (c.id,), note)


def _regulator_hose(job: Job, about: About, part: Part | None) -> Item:
    """The hose behind a regulator, in the length that the spec states."""
    zone = next(zone for zone in job.zones if zone.id == about.element)
    assert zone.regulator.hose is not None, "a hose has a spot where it is stated"
    length = zone.regulator.hose.length.text
    name = part.name if part is not None else "low-pressure hose, its ends not known"
    note = f"{about.words}: rated for at least {_in_trade(job.build, zone.load)}"
    if zone.regulator.outlet > LOW:
        note += f", marked for {units.show(zone.regulator.outlet, 'container pressure', system(job.build))} or more"
    key = f"{part.id if part is not None else 'hose-connector'} {length}"
    return Item(key, "valves and connectors", f"{name}, {length}", 1, False, (about.element,), note)


def _passages(job: Job) -> Iterator[Item]:
    shown = job.build.region.units
    group: Group = "openings and guards"
    plate = openings.plate()
    for made in job.passages.openings:
        hole = made.opening
        if hole is None:
            yield Item("lining not-worked-out", group, "lining of an opening, tubing not known", 1, False, (made.run,))
            continue
        if hole.lining_bore is not None:
            bore = size_text(hole.lining_bore, shown)
            name = f"rubber grommet for {size_text(made.across or 0.0, shown)} tubing, in a {size_text(hole.hole, shown)} hole"
            if hole.lining == "sleeve":
                name = f"sleeve, {bore} inside"
            if hole.lining == "gland":
                name = f"vapour-tight gland or sealed sleeve, for {size_text(made.across or 0.0, shown)} tubing"
            yield Item(f"{hole.lining}:{bore}", group, name, 1, False, (made.run,))
        if hole.plate:
            yield Item(
                "strike-plate",
                group,
                f"steel strike plate, {size_text(plate.thickness, shown)}, {size_text(plate.beyond, shown)} past the timber on each side",
                1,
                False,
                (made.run,),
                f"where the tubing lies within {size_text(plate.within, shown)} of the face of a stud",
            )
    for run, guard in job.passages.guards:
        length = float(run.part.length) if guard.by_length else 1
        yield Item(guard.id, group, guard.name, length, guard.by_length, (run.id,), if_needed=guard.if_needed)
    sizes = {run.id: run.size for run in lines_of(job.zones).values()}
    for support in job.passages.supports:
        across = size_text(support.across, shown) if support.across is not None else "size-not-found"
        name = f"cushion clamp for {across} tubing"
        if (size := sizes[support.run]) is not None:
            of = tubing.material(size.material)
            if of.ends == "pipe":
                name = f"clamp or strap for {size.drawn} pipe, {across} across"  # sold by the pipe's nominal size
            elif of.named_by == "nominal-or-od" and shown != "us":  # sold by the tube's inches there, too
                name = f"cushion clamp for {size.drawn}, {across} across"
        yield Item(f"clamp:{across}", "supports", name, support.count, False, (support.run,))
    for c in job.connected:  # the last support stands at the outlet's valve, so that the connector pulls at nothing
        yield Item(
            "outlet-bracket",
            "supports",
            "bracket for the shut-off valve or termination at an outlet",
            1,
            False,
            (c.id,),
        )


def size_text(length: float, shown: System) -> str:
    """A width as the trade sells it, rounded up: sixteenths of an inch, or whole millimetres."""
    if shown != "us":
        return f"{math.ceil(round(length * 1000, 3))} mm"
    whole, part = divmod(Fraction(math.ceil(round(length / INCH * 16, 3)), 16), 1)
    return "-".join(str(piece) for piece in (int(whole), part) if piece) + " in"


def lining_words(hole: Opening, shown: System) -> str:
    """What an opening is lined with."""
    return {
        "none": "none",
        "grommet": "rubber grommet, snug on the tubing",
        "fitting": "bulkhead fitting, among the parts of this run",
        "gland": "vapour-tight gland or sealed sleeve",
        "sleeve": f"sleeve, {size_text(hole.lining_bore or 0.0, shown)} inside",
    }[hole.lining]


def _support_sleeves(job: Job) -> Iterator[Item]:
    """One for each end of soft metric tube that an olive or a ring closes on: those of runs and tails, and of the short
    pieces between fittings, which are cut from the same tube."""
    walls = {run.size.outside_diameter: run.size for run in lines_of(job.zones).values() if run.size is not None}
    soft = {f"{(od or 0.0) * 1000:g} mm": size for od, size in walls.items() if _soft(size.material)}
    note = "inside the end of soft tube. The scope of EN 1254-2 warns that soft tube may need one"
    for joined, chain in job.fittings.chains():
        first, last = chain.joints[0], chain.joints[-1]
        ends = [(joined.before, first.a, first.seal), (joined.after, last.b, last.seal)]
        pieces = [part for part in chain.parts if all(end.kind == "tube" for end in part.ends)]
        ends += [(joined.after, end, "compression") for piece in pieces for end in piece.ends]
        for about, end, closed in ends:
            if end.kind == "tube" and closed == "compression" and (size := soft.get(end.size)) is not None:
                name = f"support sleeve for tube of {size.label}"
                yield Item(f"support-sleeve:{size.id}", "fittings", name, 1, False, (about.element,), note)


def _soft(name: str) -> bool:
    """Whether a tubing comes soft, in coils, in metric sizes."""
    of = tubing.material(name)
    return of.ends == "tube" and of.sold == "coil" and of.named_by == "od-and-wall"


def _sundries(job: Job) -> Iterator[Item]:
    group: Group = "sealing and testing"
    build = job.build
    yield from _support_sleeves(job)
    yield Item("label:shut-off", group, "label for the main shut-off", 1, False, ("container",))
    outlets = tuple(s.id for s in build.served)
    yield Item("label:outlet", group, "label for a valve, naming its appliance", len(outlets), False, outlets)
    yield from job.for_test
