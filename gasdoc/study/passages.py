"""Where runs pass through floors and walls, lie outside and are held: openings, guards and supports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gasdoc import data, units
from gasdoc.catalog import parts as catalog
from gasdoc.catalog.parts import Guard
from gasdoc.catalog.tubing import Size
from gasdoc.materials.openings import Opening, opening, support_count
from gasdoc.source import Citation
from gasdoc.study.facts import moves
from gasdoc.study.resolve import Resolved
from gasdoc.study.sizing import RunSize, ZoneSizing


@dataclass(frozen=True, slots=True)
class RunOpening:
    """One opening of one run; `across` in m is the tubing's outside diameter, with where that is from. `opening` is None
    where the diameter is not known."""

    run: str
    place: str
    across: float | None
    across_source: Citation | None
    opening: Opening | None
    source: Citation


@dataclass(frozen=True, slots=True)
class Supports:
    """The supports of one run: at most `spacing` m apart, `count` of them, one at each end and each bend."""

    run: str
    spacing: float
    count: int
    across: float | None


@dataclass(frozen=True, slots=True)
class Passages:
    """All openings, guards (with the run each is for) and supports of a build."""

    openings: tuple[RunOpening, ...]
    guards: tuple[tuple[RunSize, Guard], ...]
    supports: tuple[Supports, ...]


def passages(resolved: Resolved, sized: Sequence[ZoneSizing]) -> Passages:
    """What the runs of a build pass through, what guards them outside and what holds them."""
    runs = [run for zone in sized for run in zone.runs]
    saws = catalog.hole_saws(resolved.region.units)
    moving = moves(resolved.build)
    openings = []
    for run in runs:
        across, source = outside(run)
        for place in run.run.through:
            rule, rule_source = catalog.passage_rule(place)
            made = opening(rule, across, saws, hard=run.material == "steel") if across is not None else None
            openings.append(RunOpening(run.id, place, across, source, made, rule_source))
    guards = [
        (run, guard)
        for run in runs if run.run.outside
        for guard in catalog.guards()
        if guard.where == ("moving" if moving else "standing") and guard.material in (None, run.material)
    ]  # fmt: skip
    supports = []
    for run in runs:
        spacing = support_spacing(run.material, run.size, moving)
        supports.append(Supports(run.id, spacing, support_count(float(run.run.length), spacing, run.run.bends), outside(run)[0]))
    return Passages(tuple(openings), tuple(guards), tuple(supports))


def outside(run: RunSize) -> tuple[float | None, Citation | None]:
    """The outside diameter of a run's tubing in m, of corrugated tubing over its jacket; None where not known."""
    if run.size is None:
        return None, None
    if run.material == "csst":
        found = catalog.csst_outside(run.size.id)
        return (None, None) if found is None else found
    return run.size.od, run.size.od_source


def support_spacing(material: str, size: Size | None, moving: bool) -> float:
    """The distance between supports in m: the material's for its size, or that of something that moves, if closer."""
    table = data.load("gasdoc.catalog", "supports.yaml")
    rows = table["materials"][material]
    across = size.od if size is not None and size.od is not None else 0.0
    trade = 0.0 if size is None or not size.id.startswith("EHD ") else float(size.id.removeprefix("EHD "))
    spacing = rows[0]["spacing"]
    for row in rows:
        if across >= units.parse(row["from"], "length") - 1e-6 if "from" in row else trade >= row["from_ehd"]:
            spacing = row["spacing"]
    metres = float(units.parse(spacing, "length"))
    return min(metres, float(units.parse(table["moving"]["spacing"], "length"))) if moving else metres
