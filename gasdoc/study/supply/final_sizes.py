"""The sizes of a build settled: corrugated tubing of one series, and computed sizes made larger until the pressures hold.

A table allows for ordinary fittings and no height, and a plate may ask for more than the table leaves. What was picked
by the table alone could then be refused by its own drop, so the pressures are looked at before a size is called computed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.catalog import tubing
from gasdoc.catalog.tubing import Series, Size
from gasdoc.engineering.supply import network
from gasdoc.study.facts import READABLE, Installation, Served
from gasdoc.study.findings import Finding, note, warning
from gasdoc.study.supply.lines import Line, SizedZone, Zone, lines_of
from gasdoc.study.supply.pressures import connector_drop, larger_pipes, network_of
from gasdoc.study.supply.sizing import size_zone


class Settled(Struct, frozen=True):
    """The zones with their sizes. `build` offers corrugated tubing of one series only; `series` is that series, None
    where there is none to choose or to hold to."""

    build: Installation
    zones: tuple[SizedZone, ...]
    series: Series | None


def settle(build: Installation, zones: Sequence[Zone]) -> Settled:
    """The sizes of a build's runs."""
    series = _one_series(build, zones)
    if series is not None:
        build = _offering(build, series)
    served = {s.id: s for s in build.served}
    return Settled(build, tuple(_within(build, size_zone(build, zone), served) for zone in zones), series)


# --- one series -----------------------------------------------------------------------------------------------------


def _corrugated(build: Installation) -> list[str]:
    return [run for run, offered in build.offered_sizes.items() if offered and offered[0].corrugated]


def _one_series(build: Installation, zones: Sequence[Zone]) -> Series | None:
    """The series that holds most of the given sizes; of several the one in which most runs find a size, and of those the one
    with the smallest sizes. None where no tubing is corrugated."""
    runs = _corrugated(build)
    if not runs:
        return None
    given = [build.given_sizes[run].id for run in runs if run in build.given_sizes]

    def rank(series: Series) -> tuple[int, int, int]:
        strangers = sum(size not in series.sizes for size in given)
        if len(given) == len(runs):
            return strangers, 0, 0
        offering = _offering(build, series)
        sizes = [
            run.size for zone in zones for run in size_zone(offering, zone).runs if run.id in runs and not run.given
        ]
        return strangers, sizes.count(None), sum(int(size.id.removeprefix("EHD ")) for size in sizes if size)

    return min(tubing.series(), key=rank)


def _offering(build: Installation, series: Series) -> Installation:
    """The same with the corrugated sizes on offer limited to a series."""
    corrugated = _corrugated(build)
    return replace(
        build,
        offered_sizes={
            run: tuple(size for size in offered if size.id in series.sizes) if run in corrugated else offered
            for run, offered in build.offered_sizes.items()
        },
    )


# --- sizes that hold ------------------------------------------------------------------------------------------------


def _within(build: Installation, zone: SizedZone, served: Mapping[str, Served]) -> SizedZone:
    """The zone with computed sizes made larger, one step at a time where it gains most, until the drop is within the
    allowance, and then until each plate has its pressure. What no size can reach is left as the method has it."""
    if all(run.given for run in zone.runs) or any(run.size is None for run in zone.runs):
        return zone
    for minima in pressures_asked(zone, served):
        enlarged = _enlarged(build, zone, minima)
        if enlarged:
            zone = size_zone(build, zone, enlarged)
    return zone


def pressures_asked(
    zone: SizedZone, served: Mapping[str, Served]
) -> tuple[Sequence[float | None], Sequence[float | None]]:
    """The least pressure, Pa gauge, at the end of each run, None where nothing is asked: that which the drop allowed leaves;
    and that or what the plates ask, if more."""
    source = float(zone.regulator.outlet)
    within: list[float | None] = [None] * len(zone.runs)
    for _, segment in (*zone.outlets, *zone.regulators):
        if segment >= 0:
            within[segment] = source - zone.conditions.drop
    plates = list(within)
    for outlet, segment in zone.outlets:
        asked = served[outlet].appliance.min_inlet
        if segment >= 0 and asked is not None:
            need = float(asked) + (connector_drop(served[outlet]) or 0.0) - READABLE
            plates[segment] = max(need, plates[segment] or 0.0)
    return within, plates


def _enlarged(build: Installation, zone: SizedZone, minima: Sequence[float | None]) -> dict[str, Size]:
    """The sizes, by run, with which every end has its least pressure (Pa gauge); empty where the present ones do, or none."""
    sizes = [run.size for run in zone.runs if run.size is not None]
    chosen = {run.id: run.size for run in zone.runs if run.enlarged and run.size is not None}
    changed = False
    while True:
        solver = network_of(build, zone, sizes)
        gauge = network.pressures(solver, None, network.larger)
        if all(least is None or gauge[i] >= least for i, least in enumerate(minima)):
            return chosen if changed else {}
        free = [
            None if run.given else pipe for run, pipe in zip(zone.runs, larger_pipes(build, zone, sizes), strict=True)
        ]
        step = network.upsize_first(solver, minima, [pipe[1] if pipe else None for pipe in free], network.larger)
        found = free[step.segment] if step is not None else None
        if step is None or found is None:
            return {}
        sizes[step.segment] = chosen[zone.runs[step.segment].id] = found[0]
        changed = True


# --- findings -------------------------------------------------------------------------------------------------------


def series_findings(settled: Settled) -> Iterator[Finding]:
    """What corrugated tubing gives cause to say: whose table rules, which series was kept to, and sizes outside of it."""
    series = settled.series
    if series is None:
        return
    corrugated = [run for run in lines_of(settled.zones).values() if tubing.material(run.material).corrugated]
    by_code = [run for run in corrugated if run.part.maker_capacity is None]
    if by_code:
        yield warning(
            "maker-table-rules",
            "build",
            by_code[0].at,
            f"The capacity of corrugated tubing is taken from the code's table here: {_names(by_code)}.",
            "Its maker's own table rules. One maker's is 11 to 33 % lower for EHD 18, at 11 inH2O and at 2 psi.",
            "Look the size up in the maker's guide, for this pressure, this drop and the whole path. Then add "
            "'maker_capacity:' to the run, beside 'size:'.",
            "one listed tubing's installation guide beside IRC 2018 Tables G2413.4(16) and (17) (read in one public text)",
        )
    computed = [run for run in corrugated if not run.given and run.size is not None]
    if computed:
        yield note(
            "corrugated-series",
            "build",
            computed[0].at,
            f"Corrugated sizes are chosen from one series: {series.label}.",
            "Fittings fit the tubing of their own maker only, and each maker sells one series.",
            "Choose a maker first, then state each size with 'size:' as that maker has it.",
            str(series.source),
        )
    strangers = [run for run in corrugated if run.given and run.size is not None and run.size.id not in series.sizes]
    if strangers:
        yield warning(
            "corrugated-mixed",
            strangers[0].id,
            (*strangers[0].at, "size"),
            f"No known series has all of these corrugated sizes: {_names(strangers)} {'is' if len(strangers) == 1 else 'are'} "
            f"outside of {series.label}.",
            "Fittings fit the tubing of their own maker only.",
            "Take all sizes from one maker's list, or have a fitter join the two with threaded fittings.",
            str(series.source),
        )


def _names(runs: Sequence[Line]) -> str:
    return ", ".join(f"{run.size.label if run.size else 'no size'} in {run.id}" for run in runs)
