"""The leak test of a build: what its region asks, filled in with the build's volume, pressures and joints."""

from __future__ import annotations

import math
from typing import Annotated

from msgspec import Struct

from gasdoc.build.model import Outlet
from gasdoc.catalog import tubing
from gasdoc.engineering.materials.connectors import LONGEST_BY_CODE
from gasdoc.quantities import By, CubicMetre, Known, Pascal, Ratio, Shown
from gasdoc.regions.proof import LineTest
from gasdoc.study.facts import Installation, stands_in
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.joints import NumberedJoint, joints
from gasdoc.study.supply.lines import SizedZone, lines_of
from gasdoc.study.supply.zones import CONNECTOR_BORE, highest_in_use

CORRUGATED_UPPER: Annotated[
    Ratio,
    Known(
        "how much more than a smooth bore of the same capacity corrugated tubing may hold",
        "That it would mean six times the friction of a smooth tube is computed. That none has so much is from memory",
        "memory",
    ),
] = 2.0
"""An upper estimate. Capacity goes as the square root of D^5 over friction, and a bore 1.41 times as wide holds twice as much."""

FITTINGS_UPPER: Annotated[
    Ratio,
    Known(
        "volume of a line with its fittings, valves and test rig, as a share of that of its runs",
        "IGEM/UP/1B Edition 4 adds a tenth to the volume of the pipe, as a trade page tells it",
        "once",
    ),
] = 1.1
"""An upper estimate."""


class AskedTest(Struct, frozen=True):
    """One test the region asks, or another source's row beside it, for one pressure zone.

    `zone` is the id of the regulator upstream, `working_gauge` its setting in Pa; `pressure` in Pa is the least the
    row asks there and `highest` the greatest, None where it gives only words. `full_scale` in Pa is the largest gauge
    the row admits. `plates` in Pa are the least and the greatest inlet pressure that satisfy every plate of the zone as far
    as they state it, None where none does, and `all_stated` whether every plate states the least and the greatest; `lock_up`
    in Pa is the regulator's, None where not stated.
    """

    test: Annotated[LineTest, By("id", "kind", "name", "when", "medium", "settle", "hold", "citation")]
    zone: str
    working_gauge: Pascal
    pressure: Pascal | None
    highest: Pascal | None
    full_scale: Pascal | None
    plates: tuple[Pascal | None, Pascal | None]
    all_stated: tuple[bool, bool]
    lock_up: Pascal | None

    @property
    def connected(self) -> bool:
        """Whether appliances and their connectors may be under test in it, so that their volume counts."""
        return self.test.kind != "piping" or self.test.connected


class Volume(Struct, frozen=True):
    """Gas volumes of one zone in m3: of the runs as far as known, and the largest plausible ones, of the piping alone and
    with appliances connected. `service_gauge` in Pa is the highest pressure the zone sees in use."""

    zone: str
    runs: CubicMetre
    piping: CubicMetre
    connected: CubicMetre
    service_gauge: Pascal

    def largest(self, connected: bool) -> float:
        """The largest plausible volume under test, with the appliances connected or without them."""
        return self.connected if connected else self.piping


class LeakTest(Struct, frozen=True):
    """All the leak-test page is made from; leaks grow with the volume, so verdicts use the largest plausible one."""

    asked: tuple[AskedTest, ...]
    beside: tuple[AskedTest, ...]
    by_zone: tuple[Volume, ...]
    volume_estimated: bool
    joints: tuple[NumberedJoint, ...]
    disconnect: tuple[str, ...]

    @property
    def volume(self) -> Shown[CubicMetre]:
        """Gas volume of all runs in m3."""
        return sum(v.runs for v in self.by_zone)

    def appliances_connected(self, zone: str) -> bool:
        """Whether the region's test of the piping is made with the appliances connected."""
        return any(a.test.connected for a in self.asked if a.test.kind == "piping" and a.zone == zone)

    @property
    def volume_largest(self) -> Shown[CubicMetre]:
        """The largest plausible gas volume of all piping in m3, appliances off."""
        return sum(v.piping for v in self.by_zone)

    @property
    def volume_connected(self) -> Shown[CubicMetre]:
        """The same with the appliances' connectors."""
        return sum(v.connected for v in self.by_zone)


def leak_test(build: Installation, zones: tuple[SizedZone, ...], made: Fittings) -> LeakTest:
    """The region's tests for this build: piping tests for every zone, checks with gas for every zone with appliances.

    A row that names another zone is for that: "between" for those that feed a further regulator, "first" for the first.
    """
    outlets = {node.id: outlet for node, outlet in build.each(Outlet)}
    delivering = [zone for zone in zones if zone.delivers]
    zones_of = {
        "piping": list(zones),
        "container-side": list(zones[:1]),
        "first": list(zones[:1]),
        "between": [zone for zone in zones if zone.regulators],
    }
    rows: dict[bool, list[AskedTest]] = {True: [], False: []}
    for test in (row for row in build.region.tests if stands_in(build, row.where)):
        for zone in zones_of.get(test.zone or test.kind, delivering):
            working = float(zone.regulator.outlet)
            if not test.pressure.applies(working):
                continue
            pressure = test.pressure.least(working)
            highest: float | None = test.pressure.maximum
            plates, stated = _plates(zone, outlets)
            if test.pressure.by_plates:
                pressure, highest = (limit if known else None for limit, known in zip(plates, stated, strict=True))
            factor, lock_up = test.gauge.full_scale_factor, zone.regulator.lock_up
            rows[test.asked].append(
                AskedTest(
                    test,
                    zone.id,
                    working,
                    pressure,
                    highest,
                    factor * pressure if factor and pressure else None,
                    plates,
                    stated,
                    None if lock_up is None else float(lock_up),
                )
            )
    return LeakTest(
        asked=tuple(rows[True]),
        beside=tuple(rows[False]),
        by_zone=tuple(_volume(zone, outlets) for zone in zones),
        volume_estimated=any(run.size is None or run.size.bore is None for run in lines_of(zones).values()),
        joints=joints(build, made),
        disconnect=tuple(outlet.appliance.name for outlet in outlets.values()),
    )


def _plates(zone: SizedZone, outlets: dict[str, Outlet]) -> tuple[tuple[float | None, float | None], tuple[bool, bool]]:
    """The inlet pressures in Pa that satisfy every plate of the zone that states them, least and greatest, None where none
    does; and whether every plate does."""
    appliances = [outlets[identity].appliance for identity, _ in zone.outlets]
    least = [float(a.min_inlet) for a in appliances if a.min_inlet is not None]
    most = [float(a.max_inlet) for a in appliances if a.max_inlet is not None]
    every = len(appliances)
    return (max(least, default=None), min(most, default=None)), (len(least) == every > 0, len(most) == every > 0)


def _volume(zone: SizedZone, outlets: dict[str, Outlet]) -> Volume:
    runs = upper = 0.0
    for run in zone.runs:
        bore, stood_in = tubing.bore_or_stand_in(run.size)
        volume = math.pi / 4 * bore**2 * float(run.part.length)
        runs += volume
        upper += volume * (CORRUGATED_UPPER if stood_in else 1.0)
    piping = upper * FITTINGS_UPPER
    connectors = 0.0
    for identity, _ in zone.outlets:
        connector = outlets[identity].connector
        length = connector.length if connector is not None else None
        connectors += math.pi / 4 * CONNECTOR_BORE**2 * float(length if length is not None else LONGEST_BY_CODE)
    return Volume(zone.id, runs, piping, piping + connectors, highest_in_use(zone.regulator))
