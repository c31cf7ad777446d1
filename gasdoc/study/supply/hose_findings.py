"""What the hoses behind regulators give cause to say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

from gasdoc import units
from gasdoc.quantities import Known, Ratio
from gasdoc.study.facts import Installation, system
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.lines import HoseDrop, SizedZone, ZonePressure
from gasdoc.words import in_sentence, with_article

NEAR: Annotated[
    Ratio,
    Known("a hose's drop by its bore over that by its rating, from which both are doubted", "Our choice", "practice"),
] = 1.25
FAR: Annotated[
    Ratio,
    Known("a hose's drop by its rating over that by its bore, from which both are doubted", "Our choice", "practice"),
] = 8.0
SHARE: Annotated[
    Ratio,
    Known("share of the drop allowed below which a hose's two figures are not compared", "Our choice", "practice"),
] = 0.1


def hose_findings(build: Installation, zones: Sequence[SizedZone]) -> Iterator[Finding]:
    """Hoses whose drop is not known, that are too small, or that take more than any run of a line that loses too much."""
    for zone in zones:
        yield from _through(build, zone)
        if zone.pressure is not None and zone.pressure.hose is not None:
            yield from _of_one(build, zone, zone.pressure, zone.pressure.hose)


def _of_one(build: Installation, zone: SizedZone, solved: ZonePressure, hose: HoseDrop) -> Iterator[Finding]:
    at, name, shown = (*zone.at, "hose"), f"The hose of the {build.labels[zone.id]}", system(build)
    if hose.drop is None:
        yield note(
            "hose-drop-unknown",
            zone.id,
            at,
            f"{name} has neither a bore nor a capacity here. What it takes of the pressure is not known.",
            "The pressures at the appliances are here those without it.",
            "Read the bore off the hose, or its rated capacity off the tag. Add 'bore:' or 'capacity:' under 'hose:'.",
            of=(f"the hose of the {build.labels[zone.id]}",),
        )
    if hose.rated is not None and hose.load > hose.rated * (1 + 1e-9):
        yield error(
            "hose-too-small",
            zone.id,
            at,
            f"{name} is rated for {units.show(hose.rated, 'load', shown)}, and has to carry "
            f"{units.show(hose.load, 'load', shown)}.",
            "Past its rating a hose takes more pressure than the line has to give.",
            "Take a hose that is rated for the load. A wider or a shorter one carries more.",
        )
    if hose.by_rating is not None and hose.by_bore is not None:
        yield from _two_figures(zone, hose.by_rating, hose.by_bore, name, shown)
    if hose.drop is not None and (zone.conditions.by_tables or not solved.whole):  # else the sum of drops tells it
        if hose.drop > zone.conditions.drop * (1 + 1e-6):
            yield hose_undersized(build, zone, hose, hose.drop)
        else:
            yield from _takes_most(zone, hose.drop, name, shown)


def _through(build: Installation, zone: SizedZone) -> Iterator[Finding]:
    """A hose that passes through something, by its legs."""
    hose = zone.regulator.hose
    passed = [leg.through for leg in hose.legs if leg.through is not None] if hose is not None else []
    if passed:
        yield warning(
            "hose-through",
            zone.id,
            (*zone.at, "hose", "legs"),
            f"The hose of the {build.labels[zone.id]} goes through {in_sentence(map(with_article, passed))}.",
            "There it wears where nobody sees it, and what leaks comes out behind it.",
            "Lead the line through with pipe or tubing. If the code allows a hose there, ask who signs how it is guarded.",
            "WAC 296-307-41023(7), hoses inside buildings (read in one public text)",
        )


def hose_undersized(build: Installation, zone: SizedZone, hose: HoseDrop, lost: float) -> Finding:
    """A hose that takes too much of the drop allowed; `lost` in Pa is what the whole way loses."""
    shown, kind = system(build), units.drop_kind(float(zone.regulator.outlet), system(build))
    taken, allowed = units.show(hose.drop or 0.0, kind, shown), units.show(zone.conditions.drop, kind, shown)
    alone = lost <= (hose.drop or 0.0) * (1 + 1e-6)
    return error(
        "hose-undersized",
        zone.id,
        (*zone.at, "hose"),
        f"The hose of the {build.labels[zone.id]} is too narrow or too long here: it takes {taken} with everything on"
        + (
            f", and {allowed} is allowed."
            if alone
            else f". The whole way loses {units.show_apart(lost, zone.conditions.drop, kind, shown)}, and {allowed} is allowed."
        ),
        "The drop is summed along the whole path from the regulator. Larger tubing behind a narrow hose gains little.",
        "Take a hose with a larger bore, or a shorter one.",
        str(zone.allowance),
    )


def _two_figures(
    zone: SizedZone, by_rating: float, by_bore: float, name: str, shown: units.System
) -> Iterator[Finding]:
    """A rating and a bore that give drops (Pa) which differ clearly. A rating usually gives more: it has the ends in it and is
    a round figure."""
    much = max(by_rating, by_bore) > SHARE * zone.conditions.drop
    if not much or by_rating / FAR <= by_bore <= by_rating * NEAR:
        return
    kind = units.drop_kind(float(zone.regulator.outlet), shown)
    say = warning if by_bore > by_rating else note
    yield say(
        "hose-figures-differ",
        zone.id,
        (*zone.at, "hose"),
        f"{name} takes {units.show(by_rating, kind, shown)} by its rated capacity, and {units.show(by_bore, kind, shown)} by "
        "its bore and length.",
        "The larger of the two counts here. Bore, length or rated capacity may be misread.",
        "Read all three off the hose again.",
    )


def _takes_most(zone: SizedZone, drop: float, name: str, shown: units.System) -> Iterator[Finding]:
    """A hose that takes more than any run, where the whole way loses more than the tables leave for pipe."""
    worst = zone.pressure.worst_drop if zone.pressure is not None else None
    most = max((run.pressure.drop for run in zone.runs if run.pressure is not None), default=0.0)
    if worst is not None and worst > zone.conditions.drop * (1 + 1e-6) and drop > most:
        kind = units.drop_kind(float(zone.regulator.outlet), shown)
        yield warning(
            "hose-takes-most",
            zone.id,
            (*zone.at, "hose"),
            f"{name} takes {units.show(drop, kind, shown)}, more than any run behind it. The whole way loses "
            f"{units.show_apart(worst, zone.conditions.drop, kind, shown)}, and "
            f"{units.show(zone.conditions.drop, kind, shown)} is allowed.",
            "Larger tubing behind a narrow hose gains little.",
            "Take a hose with a larger bore, or a shorter one.",
            str(zone.allowance),
        )
