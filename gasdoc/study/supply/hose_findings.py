"""What the hoses behind regulators give cause to say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.study.facts import Installation, system
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.lines import HoseDrop, SizedZone


def hose_findings(build: Installation, zones: Sequence[SizedZone]) -> Iterator[Finding]:
    """Hoses whose drop is not known, that are too small, or that take more than any run of a line that loses too much."""
    for zone in zones:
        if zone.pressure is not None and zone.pressure.hose is not None:
            yield from _of_one(build, zone, zone.pressure.hose)


def _of_one(build: Installation, zone: SizedZone, hose: HoseDrop) -> Iterator[Finding]:
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
    worst = zone.pressure.worst_drop if zone.pressure is not None else None
    most = max((run.pressure.drop for run in zone.runs if run.pressure is not None), default=0.0)
    if hose.drop is not None and worst is not None and worst > zone.conditions.drop * (1 + 1e-6) and hose.drop > most:
        kind = units.drop_kind(float(zone.regulator.outlet), shown)
        yield warning(
            "hose-takes-most",
            zone.id,
            at,
            f"{name} takes {units.show(hose.drop, kind, shown)}, more than any run behind it. The whole way loses "
            f"{units.show_apart(worst, zone.conditions.drop, kind, shown)}, and "
            f"{units.show(zone.conditions.drop, kind, shown)} is allowed.",
            "Larger tubing behind a narrow hose gains little.",
            "Take a hose with a larger bore, or a shorter one.",
            str(zone.allowance),
        )
