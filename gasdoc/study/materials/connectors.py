"""Connectors that reach: each outlet's connector against the way it has to span, its load and what the region allows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Outlet
from gasdoc.build.model.route import length_of
from gasdoc.catalog import stock
from gasdoc.engineering.materials import connectors
from gasdoc.engineering.materials.connectors import Capacity, Reach
from gasdoc.engineering.materials.joints import Part
from gasdoc.quantities import By, Metre
from gasdoc.source import Citation, Path
from gasdoc.study.facts import Installation, Served, connector_kind, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.materials.assembly import Fittings
from gasdoc.words import in_sentence, with_article

BENDS = 1
"""Bends counted on the way of a connector; a spec gives the distance along it (our choice)."""


class Connected(Struct, frozen=True):
    """One outlet's connector. `length` in m and its `label`, None where none is chosen or can be; `chosen`: by gasdoc, not
    by the spec. `needed` in m is what spans the way with slack and bend, None where the way is not stated. `reach` is None
    for a rigid tail, which is cut to fit, and where the way is not stated. `longest` in m is what the region or the trade
    allows, with its source. `practice` says whose practice the kind follows where the spec chose none."""

    id: str
    at: Path
    name: str
    kind: str
    practice: Citation | None
    part: Annotated[Part, By("id", "unions")] | None
    distance: Metre | None
    needed: Metre | None
    length: Metre | None
    label: str | None
    chosen: bool
    reach: Reach | None
    capacity: Capacity
    longest: Metre | None
    longest_source: Citation | None

    @property
    def key(self) -> str:
        """The part key: which part in which length."""
        base = self.part.id if self.part is not None else f"{self.kind}-connector"
        return f"{base} {self.label}" if self.label is not None else base


def connect(build: Installation, made: Fittings) -> tuple[Connected, ...]:
    """Every outlet's connector, in the order of the tree."""
    placed = {spot.id: spot_placed.part for _, spot, spot_placed in made.placed()}
    return tuple(_connect(build, s, placed) for s in build.served)


def _connect(build: Installation, s: Served, placed: Mapping[str, Part | None]) -> Connected:
    kind, practice = connector_kind(build, s.outlet)
    given = s.outlet.connector
    length = float(given.length) if given is not None and given.length is not None else None
    label = given.length.text if given is not None and given.length is not None else None
    distance = float(s.outlet.distance) if s.outlet.distance is not None else None
    if distance is None and given is not None and given.legs:
        distance = length_of(given.legs)
    part = placed.get(f"{s.id}:connector")
    row = stock.connector_row(kind, units.base(build.region.units))
    if row is None:
        cut = length if length is not None else distance
        return Connected(
            s.id,
            s.at,
            s.appliance.name,
            kind,
            practice,
            part,
            distance,
            distance,
            cut,
            None,
            length is None,
            None,
            "unknown",
            None,
            None,
        )
    slack, bend = stock.allowance("connector-slack").length, stock.allowance("connector-bend").length
    needed = connectors.needed_length(distance, slack, BENDS, bend) if distance is not None else None
    longest, source = _longest(build, kind, row)
    reach: Reach | None = None
    chosen = False
    if needed is not None and length is not None:
        reach = connectors.check(length, needed, row.lengths, s.load, s.connector_rated, longest)
    elif needed is not None:
        reach = connectors.choose(needed, row.lengths, s.load, None, longest)
        length, chosen = reach.length, reach.length is not None
        label = next((one.text for one in row.lengths if one == reach.length), None)
    compared: Capacity = "unknown"
    if s.connector_rated is not None:
        compared = "enough" if s.connector_rated >= s.load * (1 - 1e-9) else "too-small"
    return Connected(
        s.id,
        s.at,
        s.appliance.name,
        kind,
        practice,
        part,
        distance,
        needed,
        length,
        label,
        chosen,
        reach,
        compared,
        longest,
        source,
    )


def _longest(build: Installation, kind: str, row: stock.ConnectorRow) -> tuple[float, Citation]:
    """The longest connector of a kind: by the region's own rule, else by its standard."""
    for rule in build.region.rules_for("connector-length"):
        if kind == "flexible" or (kind == "hose" and rule.condition == "hose"):
            if not rule.alternative and rule.relation == "at-most" and isinstance(rule.limit, float):
                return float(rule.limit), rule.citation
    return row.longest, row.source


def reach_findings(build: Installation, found: tuple[Connected, ...]) -> Iterator[Finding]:
    """Connectors that do not reach, are too long for the code or too small, and what is not known about them."""
    shown = system(build)
    fixed = {s.id for s in build.served if s.kind.fixed}
    loads = {s.id: s.load for s in build.served}
    outlets = {s.id: s.outlet for s in build.served}
    for c in found:
        at = (*c.at, "connector") if not c.chosen else c.at
        if c.distance is None:
            yield warning(
                "connector-distance-unknown",
                c.id,
                c.at,
                f"How far {c.name} is from its outlet is not stated.",
                "Whether a connector reaches cannot be told before it is bought.",
                "Measure along the way it will take, from the valve to the appliance's inlet, and add 'distance:'.",
            )
        elif c.kind == "rigid" and c.length is not None and c.length < c.distance - 1e-6:
            yield error(
                "connector-too-short",
                c.id,
                at,
                f"The rigid tail of {c.name} is {units.show(c.length, 'short length', shown)} long, and the way is "
                f"{units.show(c.distance, 'distance', shown)}.",
                "A connector that does not reach has to be bought again.",
                "Cut it to the way it has to take.",
            )
        if c.kind != "rigid" and (through := _through(outlets[c.id])):
            yield error(
                "connector-through",
                c.id,
                (*c.at, "connector", "legs"),
                f"The connector of {c.name} goes through {in_sentence(with_article(what) for what in through)}.",
                "There it chafes where nobody sees it, and what leaks comes out behind it.",
                "Lead the line through with pipe or tubing, and set the shut-off valve on the appliance's side.",
                "IFGC 411.1.3 (read in two or more public texts)",
            )
        if c.reach is not None and c.needed is not None:
            yield from _reach_finding(build, c, c.reach, at, c.needed, shown)
        if c.capacity == "too-small":
            yield error(
                "connector-too-small",
                c.id,
                at,
                f"The connector of {c.name} is rated for less than the {units.show(loads[c.id], 'load', shown)} it has to carry.",
                "Past its rating a connector takes more pressure than the tables leave for it.",
                "Take one of a larger size. A longer one carries less.",
            )
        if build.region.units != "us" and c.kind != "rigid" and c.id in fixed:
            _, practice = stock.usual_tail("si")
            yield warning(
                "rigid-tail-usual",
                c.id,
                at,
                f"{c.name} stands fixed and hangs on a {c.kind} connector.",
                "A hose has a date and wears. Where an appliance does not move it is not needed.",
                "Pipe it rigidly, or ask who signs whether the hose is accepted here.",
                str(practice),
            )


def _through(outlet: Outlet) -> tuple[str, ...]:
    """What the legs of an outlet's connector pass through."""
    legs = outlet.connector.legs if outlet.connector is not None else []
    return tuple(leg.through for leg in legs if leg.through is not None)


def _reach_finding(
    build: Installation, c: Connected, reach: Reach, at: Path, needed: float, shown: units.System
) -> Iterator[Finding]:
    way = f"{units.show(c.distance or 0.0, 'distance', shown)} of way, with slack and a bend {units.show(needed, 'distance', shown)}"
    slack = str(stock.allowance("connector-slack").source)
    if reach.reason == "too-short":
        yield error(
            "connector-too-short",
            c.id,
            at,
            f"The connector of {c.name} is {units.show(c.length or 0.0, 'short length', shown)} long and has to span {way}.",
            "A connector a hand too short is found out on the day, and a strained one leaks.",
            "Take the next longer one, or move the valve.",
            slack,
        )
    elif reach.reason in ("none-reaches", "over-limit") and reach.length is None:
        limit = units.show(c.longest or 0.0, "distance", shown)
        yield error(
            "connector-none-reaches",
            c.id,
            at,
            f"No {c.kind} connector of up to {limit} spans {way}, as {c.name} needs.",
            "Connectors are not joined to one another.",
            "Move the valve nearer, or bring the tubing to the appliance.",
            str(c.longest_source),
        )
    elif reach.reason == "over-limit" and not build.region.rules_for("connector-length"):
        yield error(
            "connector-too-long",
            c.id,
            at,
            f"The connector of {c.name} is {units.show(c.length or 0.0, 'short length', shown)} long, and"
            f" {units.show(c.longest or 0.0, 'short length', shown)} is the longest of its kind.",
            "What is longer than its standard knows is not listed.",
            "Move the valve nearer.",
            str(c.longest_source),
        )
