"""What a leak would do on this build: a pinhole, a connector cut through, a burner left open, and the lowest space.

A caution, never a reassurance; see `gasdoc.engineering.air.release`.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from gasdoc.engineering.air import release
from gasdoc.engineering.supply import excess_flow, lpg, tree
from gasdoc.engineering.supply.excess_flow import LineBefore
from gasdoc.quantities import CubicMetre, CubicMetrePerSecond, KilogramPerSecond, Known, Metre, Second
from gasdoc.study.facts import Installation, Served, atmosphere, fuel, heating_value, rated_capacity
from gasdoc.study.supply.capacity import GAS_TEMPERATURE
from gasdoc.study.supply.excess_flow import line
from gasdoc.study.supply.lines import CONNECTOR_BORE, SizedZone, highest_in_use

HOLE: Annotated[Metre, Known("how wide the pinhole is that a leak is shown for", "Our choice", "practice")] = 0.001


class Leak(Struct, frozen=True):
    """One way gas gets out. `flow` in m3/s of gas at the pressure of the room, `mass` in kg/s.

    `where` names the appliance it is worked out for, empty for the pinhole. `time` in s until the lowest space could burn;
    None with `why`: "over-an-hour", "no-space" (its volume is not stated) or "no-flow".
    """

    kind: str
    where: str
    mass: KilogramPerSecond
    flow: CubicMetrePerSecond
    time: Second | None
    why: str | None


class Releases(Struct, frozen=True):
    """The leaks, and the lowest space in m3 with what it is: "void" or "floor", None where neither is stated."""

    leaks: tuple[Leak, ...]
    space: CubicMetre | None
    space_is: str | None


def releases(build: Installation, zones: tuple[SizedZone, ...]) -> Releases:
    """The releases of a build: of the connectors the one that would let out most, of the burners the largest."""
    # Of several rooms the smallest, because there a leak reaches the limit first.
    spaces = build.spec.spaces
    void = min((float(space.lowest_void) for space in spaces if space.lowest_void is not None), default=None)
    floor = min((float(space.floor_area) for space in spaces if space.floor_area is not None), default=None)
    lowest = release.lowest_space(void, floor)
    is_void = void is not None and lowest == void
    air, gas, heat = atmosphere(build), fuel(build), heating_value(build)
    density = lpg.gas(gas, GAS_TEMPERATURE, air).density

    def leak(kind: str, where: str, mass: float) -> Leak:
        fill = release.time_to_limit(mass, density, lowest)
        return Leak(kind, where, mass, mass / density, fill.time, fill.reason)

    holes: list[float] = []
    cuts: list[tuple[float, str]] = []
    by_id = {s.id: s for s in build.served}
    for zone in zones:
        regulator = zone.regulator
        inside = lpg.gas(gas, GAS_TEMPERATURE, highest_in_use(regulator) + air)
        if zone.delivers:
            holes.append(release.pinhole(HOLE, inside, air))
        if any(run.size is None for run in zone.runs):
            continue
        rated = rated_capacity(regulator, heat)
        for identity, segment in zone.outlets:
            lines = [line(zone, s) for s in tree.path(zone.tree, segment)] if segment >= 0 else []
            served = by_id[identity]
            lines.append(_connector(served))
            cut = excess_flow.cut_flow(
                lines, inside, air, regulator_capacity=rated / heat if rated is not None else None
            )
            cuts.append((cut.mass, served.appliance.name))
    burners = [(release.open_burner(s.load, gas), s.appliance.name) for s in build.served]
    found = [leak("pinhole", "", max(holes))] if holes else []
    for kind, ways in (("cut-hose", cuts), ("open-burner", burners)):
        if ways:
            mass, name = max(ways, key=lambda way: way[0])
            found.append(leak(kind, name, mass))
    return Releases(tuple(found), lowest, None if lowest is None else "void" if is_void else "floor")


def _connector(served: Served) -> LineBefore:
    """The connector, smooth and as wide as it may be, cut at its end: what lets most gas through."""
    connector = served.outlet.connector
    length = connector.length if connector is not None and connector.length is not None else None
    return LineBefore(CONNECTOR_BORE, float(length) if length is not None else 0.3, 0.0)
