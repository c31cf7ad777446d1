"""What hoses and connectors are rated for, against the pressure in them and the width of their ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.engineering.constants import PSI
from gasdoc.engineering.materials.ends import bore, outside
from gasdoc.engineering.materials.joints import Part
from gasdoc.quantities import Known, Pascal, Ratio
from gasdoc.source import Path
from gasdoc.study.facts import Installation, connector_kind, regulators, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.supply.lines import SizedZone

LOW: Annotated[
    Pascal, Known("pressure up to which any gas hose is taken to serve: 1 psi", "UL 569 by a scope that has it", "once")
] = 1 * PSI

WIDER: Annotated[
    Ratio, Known("a hose's bore over the width of its ends, from which it is told", "Our choice", "practice")
] = 1.15


class _Flexible(Struct, frozen=True):
    """A hose or connector: whose it is, its words, the pressure in it, what is marked on it, and the part that stands for it."""

    id: str
    at: Path
    words: str
    block: str
    gauge: Pascal
    marked: Pascal | None
    part: Part | None


def hose_rating_findings(build: Installation, zones: Sequence[SizedZone], made: Fittings) -> Iterator[Finding]:
    """Hoses and connectors whose pressure is above what is marked on them, or above low pressure and not stated; hoses that
    are wider than their ends."""
    shown = system(build)
    placed = {spot.id: there.part for _, spot, there in made.placed()}
    for one in _flexible(build, zones, placed):
        kind = units.pressure_kind(one.gauge, shown)
        has = units.show(one.gauge, kind, shown)
        listed = one.part is not None and one.part.rating is not None  # and enough, else it would not stand there
        if one.marked is not None and one.gauge > one.marked * (1 + 1e-9):
            yield error(
                "hose-over-pressure",
                one.id,
                (*one.at, "rating"),
                f"{one.words} is marked for {units.show(one.marked, kind, shown)}, and has {has} in it.",
                "A hose above its rating can burst.",
                "Take one that is marked for the pressure, with a licensed fitter.",
            )
        elif one.marked is None and not listed and one.gauge > LOW * (1 + 1e-9):
            yield warning(
                "hose-rating-unknown",
                one.id,
                one.at,
                f"{one.words} has {has} in it. What pressure it is made for is not stated.",
                "Many gas hoses are made for low pressure alone. Above their rating they can burst.",
                f"Read it off the hose, and add 'rating:' under '{one.block}:'. If nothing is marked on it, take another.",
                of=(f"{one.words[:1].lower()}{one.words[1:]}",),
            )
    for name, at, regulator in regulators(build):
        part = placed.get(f"{name}:hose")
        if regulator.hose is not None and regulator.hose.bore is not None and part is not None:
            yield from _wide(build, name, at, float(regulator.hose.bore), part)


def _flexible(build: Installation, zones: Sequence[SizedZone], placed: dict[str, Part | None]) -> Iterator[_Flexible]:
    """The hoses behind regulators, then the connectors of appliances that are not rigid."""
    gauges = {zone.id: float(zone.regulator.outlet) for zone in zones}
    for name, at, regulator in regulators(build):
        if regulator.hose is not None:
            yield _Flexible(
                name,
                (*at, "hose"),
                f"The hose of the {build.labels[name]}",
                "hose",
                gauges[name],
                regulator.hose.rating,
                placed.get(f"{name}:hose"),
            )
    for served in build.served:
        kind, _ = connector_kind(build, served.outlet)
        given = served.outlet.connector
        if kind != "rigid":
            yield _Flexible(
                served.id,
                (*served.at, "connector") if given is not None else served.at,
                f"The connector of {served.name}",
                "connector",
                gauges[build.zone_of[served.id]],
                given.rating if given is not None else None,
                placed.get(f"{served.id}:connector"),
            )


def _wide(build: Installation, name: str, at: Path, across: float, part: Part) -> Iterator[Finding]:
    """A hose whose bore is larger than its ends can be inside. A hose on a nozzle is as wide as the nozzle is outside."""
    widths = [(outside(end) if end.kind == "hose" else bore(end), end) for end in part.ends]
    narrow = [(width, end) for width, end in widths if width is not None and across > width * WIDER]
    if not narrow:
        return
    width, end = min(narrow, key=lambda one: one[0])
    shown = system(build)
    yield warning(
        "hose-wider-than-ends",
        name,
        (*at, "hose", "bore"),
        f"The hose of the {build.labels[name]} is given as {units.show(across, 'bore', shown)} wide inside. Its end, {end}, is "
        f"about {units.show(width, 'bore', shown)} wide.",
        "The drop is worked out with the bore of the hose. Narrow ends take more.",
        "Read the bore off the hose again. If it is right, add the rated 'capacity:' from its tag.",
    )
