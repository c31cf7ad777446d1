"""What the sizes of the runs give cause to say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.engineering.supply import tree
from gasdoc.study import facts
from gasdoc.study.facts import Installation
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.capacity import PAST, Answer, Unserved
from gasdoc.study.supply.hose_findings import hose_undersized
from gasdoc.study.supply.lines import Line, RunPressure, SizedZone


def sizing_findings(build: Installation, zone: SizedZone) -> Iterator[Finding]:
    """What the sizes of one zone give cause to say.

    Where sizes are calculated, the drop summed along each whole path decides and the longest-length method advises; where
    a code's tables rule, its methods decide.
    """
    system = facts.system(build)
    for run in zone.runs:
        if run.enlarged and run.size is not None and run.longest.needed is not None:
            yield note(
                "run-enlarged",
                run.id,
                run.at,
                f"{run.size.label} is chosen, though {run.longest.needed.label} carries the load by the method.",
                "With the smaller size the drop of the whole path, or an appliance's plate, would not be met.",
                "State a size with 'size:' to have it your way. Then it is checked.",
            )
    if not zone.conditions.by_tables and zone.pressure is not None and zone.pressure.whole:
        yield from _by_path(build, zone, system)
        return
    for run in zone.runs:
        yield from _by_method(run, system, net=build.region.supply.plates.basis == "net")
    yield from _past_rows(zone, system)


def _by_path(build: Installation, zone: SizedZone, system: units.System) -> Iterator[Finding]:
    """Errors where a whole path loses more than is allowed, notes where only the method finds a run small."""
    source, allowed = float(zone.regulator.outlet), zone.conditions.drop
    kind = units.drop_kind(source, system)
    solution = [run.pressure for run in zone.runs if run.pressure is not None]  # all of a zone that is whole
    hose = zone.pressure.hose if zone.pressure is not None else None
    begins = (hose.drop or 0.0) if hose is not None else 0.0
    lost = {
        end: source - solution[segment].gauge if segment >= 0 else begins
        for end, segment in (*zone.outlets, *zone.regulators)
    }
    short: dict[int, str] = {}  # the runs to make larger, each with the end that is short by most; HOSE is the hose
    for end, segment in sorted((*zone.outlets, *zone.regulators), key=lambda e: -lost.get(e[0], 0.0)):
        way = tree.path(zone.tree, segment)
        if lost.get(end, 0.0) > allowed * (1 + 1e-6) and not any(i in short for i in way):
            short |= dict.fromkeys(_too_small(zone, solution, way, begins, allowed, lost[end] - allowed), end)
    if HOSE in short and hose is not None:
        yield hose_undersized(build, zone, hose, lost[short[HOSE]])
    for i, run in enumerate(zone.runs):
        if run.size is None:
            continue
        if i in short:
            offered = build.offered_sizes[run.id]
            above = [size for size in offered if (size.bore or 0.0) > (run.size.bore or 0.0)]
            needed = run.longest.needed if not run.longest.enough else next(iter(above), None)
            yield error(
                "run-undersized",
                run.id,
                run.at,
                f"{run.size.label} is too small here: the way to {short[i]} loses "
                f"{units.show_apart(lost[short[i]], allowed, kind, system)} with everything on, and "
                f"{units.show(allowed, kind, system)} is allowed.",
                "The drop is summed along the whole path from the regulator, and"
                f" {units.show(solution[i].drop, kind, system)} of it is lost in this run.",
                f"Use {needed.label}, or a larger size." if needed else "Split the load or shorten the path.",
                str(zone.allowance),
            )
        elif not run.longest.enough and run.longest.needed is not None:
            ends = [e for e, s in (*zone.outlets, *zone.regulators) if i in tree.path(zone.tree, s)]
            worst = max(lost[e] for e in ends)
            if worst > allowed * (1 + 1e-6):
                continue  # another run on the way is told to be made larger
            yield note(
                "run-path-enough",
                run.id,
                run.at,
                f"{run.size.label} serves by the sum of drops. The longest-length method would take "
                f"{run.longest.needed.label}.",
                f"The whole path loses {units.show(worst, kind, system)} of the {units.show(allowed, kind, system)} that is "
                "allowed.",
                "Nothing, as long as no appliance is added. An inspector may ask for the method.",
                str(zone.allowance),
            )


HOSE = -1
"""The place of the hose among the runs of a way: before the first."""


def _too_small(
    zone: SizedZone, solution: Sequence[RunPressure], way: Sequence[int], hose: float, allowed: float, excess: float
) -> Iterator[int]:
    """The runs of a way to make larger, those that lose most first, until they could save what it loses too much (Pa). Runs
    that the method finds small come before others. So does a hose that takes more than is allowed by itself."""
    drops = {i: solution[i].drop for i in way} | ({HOSE: hose} if hose > 0.0 else {})

    def large(i: int) -> bool:
        return zone.runs[i].longest.enough if i != HOSE else hose <= allowed

    for i in sorted(drops, key=lambda i: (large(i), -drops[i])):
        yield i
        excess -= drops[i]
        if excess < 0:
            return


def _by_method(run: Line, system: units.System, *, net: bool) -> Iterator[Finding]:
    """What the methods of a code say of one run. `net`: the region's plates count net heat, so that gross heat is named."""
    load = units.show(run.load, "load", system) + (" of gross heat" if net else "")
    path = units.show(run.longest.length + run.longest.extra, "run length", system)
    longest, branch = run.longest.capacity, run.branch.capacity
    if isinstance(branch, Unserved):
        yield _unserved(run, branch, system)
    elif run.size is None and isinstance(longest, Unserved):
        yield _unserved(run, longest, system)
    elif run.size is None:
        yield error(
            "run-too-large-a-load",
            run.id,
            run.at,
            f"No listed size of {run.material} carries {load} over {path}.",
            "The largest size on offer falls short by the longest-length method.",
            _branch_size(run)
            or "Split the load, shorten the path, or use a higher pressure up to a second regulator, with a fitter.",
            str(branch.source),
        )
    elif not run.branch.enough:
        needed = run.longest.needed or run.branch.needed
        yield error(
            "run-undersized",
            run.id,
            run.at,
            f"{run.size.label} carries {units.show(branch.value, 'load', system)} here, and {load} is asked of it.",
            f"Sized over {units.show(run.branch.length + run.branch.extra, 'run length', system)} by the "
            f"branch-length method and over {path} by the longest-length method. It falls short by the less demanding of the two.",
            f"Use {needed.label}, or a larger size." if needed else "Split the load or shorten the path.",
            str(branch.source),
        )
    elif not run.longest.enough:
        needed = run.longest.needed
        why = (
            f"the table is not known for its path of {path}"
            if isinstance(longest, Unserved)
            else f"it falls short over {path}"
        )
        yield note(
            "run-branch-only",
            run.id,
            run.at,
            f"{run.size.label} carries {load} by the branch-length method only.",
            f"By the longest-length method {why}. Both methods are in the code, and the inspector may ask for one of "
            "them.",
            f"Ask which method applies, because {needed.label} passes both." if needed else "Ask which method applies.",
            str(branch.source),
        )


def _past_rows(zone: SizedZone, system: units.System) -> Iterator[Finding]:
    """One warning where a zone's path is longer than the rows that are known here."""
    for run in zone.runs:
        answer = run.longest.capacity
        if run.size is not None and isinstance(answer, Answer) and answer.basis in PAST:
            path = units.show(run.longest.length + run.longest.extra, "run length", system)
            way = "the code's own equation" if answer.basis == "past-rows" else "a fit to the table's rows"
            yield warning(
                "table-exceeded",
                run.id,
                run.at,
                f"The path of {path} is longer than the rows of the table that are known here.",
                f"The capacity there is that of {way}, which gives the known rows within about 1 %.",
                "Look the row up in the full table with a fitter, or state the sizes that were looked up.",
                str(answer.source),
            )
            return


def _branch_size(run: Line) -> str:
    """What the branch-length method would take, where the other finds nothing."""
    return (
        f"By the branch-length method {run.branch.needed.label} carries it. Ask which method applies."
        if run.branch.needed
        else ""
    )


def _unserved(run: Line, why: Unserved, system: units.System) -> Finding:
    source = str(why.source) if why.source else None
    if why.reason == "length":
        limit = units.show(why.limit, "run length", system)
        return error(
            "table-exceeded",
            run.id,
            run.at,
            f"The path of {units.show(run.longest.length + run.longest.extra, 'run length', system)} is longer than the "
            f"table is known for here, {limit}.",
            "A capacity past the printed rows would be a guess.",
            _branch_size(run) or "Look the row up in the full code table with a fitter, or shorten the path.",
            source,
        )
    if why.reason == "size":
        return error(
            "table-exceeded",
            run.id,
            run.at,
            f"The table has no column for {run.size.label if run.size else 'this size'}.",
            "A capacity outside the printed columns would be a guess.",
            "Use a size the table has.",
            source,
        )
    return error(
        "no-capacity",
        run.id,
        run.at,
        f"There is no way here to tell what {run.material} carries at this pressure.",
        "No code table is known for these conditions, and this tubing has no bore to calculate with.",
        "Use the tubing maker's own tables with a fitter, or another tubing.",
        source,
    )
