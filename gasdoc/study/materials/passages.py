"""Where runs pass through floors and walls, lie outside and are held: openings, guards and supports."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.labels import OUTDOORS
from gasdoc.build.model import Run
from gasdoc.build.route import STRAIGHT, angle, legs_of
from gasdoc.catalog import tubing
from gasdoc.catalog.openings import Guard, csst_outside, hole_saws, listed_guards, passage_rule
from gasdoc.catalog.supports import support_spacing
from gasdoc.engineering.materials.openings import Opening, opening, support_count, support_places
from gasdoc.quantities import By, Metre
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, moves, setting, stands_in, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.supply.lines import Line, SizedZone, lines_of


class RunOpening(Struct, frozen=True):
    """One opening of one run; `across` in m is the tubing's outside diameter, with where that is from. `opening` is None
    where the diameter is not known."""

    run: str
    place: str
    across: Metre | None
    across_source: Citation | None
    opening: Opening | None
    source: Citation


class OnLeg(Struct, frozen=True):
    """Supports on one straight leg, as far from its start as `along` says; legs of one direction are one."""

    leg: str
    along: tuple[Metre, ...]


class Supports(Struct, frozen=True):
    """The supports of one run: at most `spacing` m apart, `count` of them, one at each end and each bend.

    `given`: the spec says how far apart; else `spacing` is `largest`, the farthest apart in m that `source` has. `places`
    says for each straight leg where they stand, empty where no legs are stated.
    """

    run: str
    spacing: Metre
    count: int
    across: Metre | None
    given: bool
    largest: Metre
    source: Citation
    places: tuple[OnLeg, ...] = ()


class Passages(Struct, frozen=True):
    """All openings, guards (with the run each is for) and supports of a build."""

    openings: tuple[RunOpening, ...]
    guards: tuple[tuple[Annotated[Line, By("id")], Annotated[Guard, By("id", "name", "source")]], ...]
    supports: tuple[Supports, ...]


def passages(build: Installation, zones: Sequence[SizedZone]) -> Passages:
    """What the runs of a build pass through, what guards them outside and what holds them."""
    runs = [*lines_of(zones).values()]
    saws = hole_saws(build.region.units)
    moving = moves(build)
    studs = setting(build) != "boat"  # what a plate guards from is a nail into a stud
    openings = []
    for run in runs:
        across, source = outside(run)
        for place in run.part.through:
            sealed = place == "bulkhead" and not by_bulkhead_fitting(run.material)
            rule, rule_source = passage_rule("bulkhead-sealed" if sealed else place)
            made = (
                opening(rule, across, saws, hard=not studs or tubing.material(run.material).hard)
                if across is not None
                else None
            )
            openings.append(RunOpening(run.id, place, across, source, made, rule_source))
    guards = [
        (run, guard)
        for run in runs
        if run.part.outside and not run.part.buried
        for guard in listed_guards()
        if guard.where == ("moving" if moving else "standing")
        and guard.family in (None, tubing.material(run.material).family)
    ]
    supports = []
    for run in runs:
        if run.part.buried:
            continue
        largest, why = largest_spacing(build, run, moving)
        given = run.part.supports_every
        spacing = largest if given is None else float(given)
        places = _on_legs(run.part, spacing)
        count = sum(len(one.along) for one in places) or support_count(float(run.part.length), spacing, run.part.bends)
        supports.append(Supports(run.id, spacing, count, outside(run)[0], given is not None, largest, why, places))
    return Passages(tuple(openings), tuple(guards), tuple(supports))


def _on_legs(run: Run, spacing: float) -> tuple[OnLeg, ...]:
    """The supports of a run by the straight legs it states."""
    straights: list[tuple[str, float]] = []
    for leg, before in zip(run.legs, (None, *run.legs), strict=False):
        length = leg.length
        if before is not None and angle(before.leg.vector, leg.leg.vector) <= STRAIGHT:
            text, so_far = straights.pop()
            straights.append((f"{text}, {leg.leg}", so_far + length))
        else:
            straights.append((str(leg.leg), length))
    places = support_places([length for _, length in straights], spacing)
    return tuple(OnLeg(text, along) for (text, _), along in zip(straights, places, strict=True))


def by_bulkhead_fitting(material: str) -> bool:
    """Whether tubing of a material passes a vapour-tight wall in a bulkhead fitting, or else in a gland."""
    return tubing.material(material).ends == "tube"


def outside(run: Line) -> tuple[float | None, Citation | None]:
    """The outside diameter of a run's tubing in m, of corrugated tubing over its jacket; None where not known."""
    if run.size is None:
        return None, None
    if run.size.corrugated:
        found = csst_outside(run.size.id)
        return (None, None) if found is None else found
    return run.size.outside_diameter, run.size.outside_source


def support_findings(build: Installation, found: Passages) -> Iterator[Finding]:
    """Runs whose supports stand farther apart than the region's rule or the trade's table has it."""
    shown = system(build)
    for support in found.supports:
        if support.spacing > support.largest * (1 + 1e-9):
            unsure = support.source.confirmed in ("memory", "practice")
            yield (warning if unsure else error)(
                "supports-too-far-apart",
                support.run,
                (*build.by_id[support.run].at, "supports_every"),
                f"Its supports are {units.show(support.spacing, 'distance', shown)} apart, and"
                f" {units.show(support.largest, 'distance', shown)} is the most for this tubing here.",
                "A line that sags or shakes works its joints loose and wears through.",
                "Add supports, or ask the authority and the tubing's maker which spacing holds.",
                str(support.source),
            )


LOCKER_WALL = (
    "24 CFR 3280.704(b), EN 1949 and workboat guidance on ISO 10239 (vapour-tight to the inside); Boat Safety Scheme 2002 "
    "standards 7.11 (bulkhead fitting)"
)


def locker_findings(build: Installation, zones: Sequence[SizedZone]) -> Iterator[Finding]:
    """A container in a locker whose line leaves it by no tight passage."""
    spec = build.spec
    runs = [*lines_of(zones).values()]
    if spec.container.place != "locker" or not runs or any("bulkhead" in run.part.through for run in runs):
        return
    open_ways = [run for run in runs if {"wall", "partition"} & set(run.part.through)]
    first = open_ways[0] if open_ways else runs[0]
    yield warning(
        "locker-passage",
        first.id,
        (*first.at, "through") if open_ways else first.at,
        "No run is stated to pass the locker's wall by a tight passage.",
        "The wall of a gas locker stays vapour-tight to the inside. A sleeve or a grommet lets gas in from the locker.",
        "Write 'bulkhead' in 'through:' where the line leaves the locker: a bulkhead fitting or a sealed gland is listed for it.",
        LOCKER_WALL,
    )


def passage_findings(build: Installation, zones: Sequence[SizedZone]) -> Iterator[Finding]:
    """A line from outside to appliances in rooms that is stated to pass through nothing on its way."""
    runs = [*lines_of(zones).values()]
    outside = build.spec.container.place in ("outdoors", "chassis", "drawbar")
    inside = any(s.outlet.space != OUTDOORS for s in build.served)
    stated = all("through" in run.part.model_fields_set for run in runs)
    passed = [*(run.part.through for run in runs), *(leg.through for leg in legs_of(build.spec, build.nodes))]
    if runs and outside and inside and stated and not any(passed):
        yield warning(
            "no-passage",
            runs[0].id,
            (*runs[0].at, "through"),
            "No run is stated to pass a wall or floor, and the line comes from outside.",
            "Sleeve, grommet and seal of the passage are on no list then. A line chafes there, and gas and fumes come in beside it.",
            "Write what the line passes where it comes in, as 'through: [wall]' or '[floor]'.",
            "common practice, no source",
        )


PLASTIC = "outdoors and underground: title of IFGC 2018 Table 402.4(35), read once. The rest is common practice"


def ground_findings(build: Installation, zones: Sequence[SizedZone]) -> Iterator[Finding]:
    """Polyethylene pipe anywhere but in the ground, and runs in the ground of what moves."""
    moving = moves(build)
    yield from _buried_joints(build)
    for run in lines_of(zones).values():
        plastic = tubing.material(run.material).only_buried
        where = [
            words
            for words, there in (
                ("it is on something that moves", moving),
                (f"it passes through {' and '.join(dict.fromkeys(run.part.through))}", bool(run.part.through)),
                ("it is not stated to lie in the ground", not run.part.buried),
            )
            if there
        ]
        if plastic and where:
            yield error(
                "run-plastic-above-ground",
                run.id,
                (*run.at, "material") if run.part.material is not None else run.at,
                f"This run is polyethylene pipe, and {where[0]}.",
                "Plastic pipe softens, burns and cracks, and gas goes through a burnt pipe at once. It belongs in the ground only.",
                "Use copper, steel or listed corrugated tubing here. Write 'buried: yes' only where all of the run lies in the ground.",
                PLASTIC,
            )
        elif run.part.buried and moving:
            yield error(
                "run-buried-moves",
                run.id,
                (*run.at, "buried"),
                "This run is stated to lie in the ground, and what it is on moves.",
                "One of the two is a slip.",
                "Correct 'buried:' or 'setting:'.",
            )


def largest_spacing(build: Installation, run: Line, moving: bool) -> tuple[float, Citation]:
    """The farthest apart in m that a run's supports may be: the least of the region's rows for it and of the trade's table.

    Rows say what they are for, so those of another kind of tube, or for what moves, do not count where that is not so.
    """
    about = line_conditions(run, moving)
    rows = [
        (float(rule.limit), rule.citation)
        for rule in build.region.rules_for("support-spacing")
        if not rule.alternative
        and isinstance(rule.limit, float)
        and (rule.condition is None or rule.condition in about)
        and stands_in(build, rule.where)
    ]
    return min([*rows, support_spacing(run.material, run.size, moving)], key=lambda row: row[0])


def line_conditions(run: Line, moving: bool) -> frozenset[str]:
    """The conditions of `gasdoc.regions` that hold for a run by its material and size, and by whether it moves."""
    material = tubing.material(run.material)
    found = {"csst"} if material.corrugated else set()
    if moving and material.moving != "none":
        found.add(f"moving-{material.moving}")
    if run.size is None:
        return frozenset(found)
    across = run.size.outside_diameter or 0.0
    if material.corrugated:
        ehd = int(run.size.id.removeprefix("EHD "))
        found.add("csst-three-eighths-inch" if ehd < 18 else "csst-half-inch" if ehd < 23 else "csst-larger")
    elif material.ends == "pipe":
        found.add("steel-half-inch" if across < 0.025 else "steel-to-one-inch" if across < 0.036 else "steel-larger")
    else:
        found.add(
            "tubing-half-inch"
            if across < 0.0145
            else "tubing-to-three-quarter-inch"
            if across < 0.0205
            else "tubing-larger"
        )
    return frozenset(found)


def _buried_joints(build: Installation) -> Iterator[Finding]:
    """Valves, tees and the like between two runs that lie in the ground."""
    told = set()
    for node, run in build.each(Run):
        between = []
        for earlier in build.before(node.id):
            if isinstance(earlier.part, Run):
                break
            between.append(earlier)
        else:
            continue
        if not (run.buried and earlier.part.buried and between) or between[-1].id in told:
            continue
        told.add(between[-1].id)
        yield warning(
            "buried-joint",
            between[-1].id,
            between[-1].at,
            f"Before and behind {between[-1].id} the line lies in the ground.",
            "A joint in the ground leaks unseen, and the gas spreads along the trench, under the floor too.",
            "Bring the line up there, or set it in a pit that can be opened. What stays in the ground has to be listed for it.",
            "common practice, no source",
        )
