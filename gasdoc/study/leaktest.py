"""The leak test of a build: what its region asks, filled in with the build's volume, pressures and joints."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gasdoc.regions import LineTest
from gasdoc.spec.model import Outlet, Test
from gasdoc.study.joints import Joint, joints
from gasdoc.study.resolve import Resolved
from gasdoc.study.sizing import ZoneSizing

SMOOTH_BORES_IN = {
    13: 0.32, 15: 0.36, 18: 0.46, 19: 0.49, 23: 0.61, 25: 0.65, 30: 0.79, 31: 0.83, 37: 0.98, 39: 1.09, 46: 1.31,
    48: 1.40, 60: 1.75, 62: 1.82,
}  # fmt: skip
"""Inches: smooth bore with the capacity of a corrugated size at 30 ft, worked out from the code table with the code's
equation. It stands in for the inside diameter, for which no source is confirmed; the real volume is larger."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One test the region asks, or another source's row beside it, for one pressure zone.

    `zone` is the id of the regulator upstream, `working_gauge` its setting in Pa; `pressure` in Pa is the least the
    row asks there, None where it gives only words. `full_scale` in Pa is the largest gauge the row admits.
    """

    test: LineTest
    zone: str
    working_gauge: float
    pressure: float | None
    full_scale: float | None


@dataclass(frozen=True, slots=True)
class LeakTest:
    """All the leak-test page is made from. `volume` in m3 is the gas volume of the piping, per zone and in all."""

    asked: tuple[Asked, ...]
    beside: tuple[Asked, ...]
    volumes: tuple[tuple[str, float], ...]
    volume_estimated: bool
    joints: tuple[Joint, ...]
    disconnect: tuple[str, ...]
    recorded: tuple[Test, ...]

    @property
    def volume(self) -> float:
        """Gas volume of all piping in m3."""
        return sum(volume for _, volume in self.volumes)


def leak_test(resolved: Resolved, sized: tuple[ZoneSizing, ...]) -> LeakTest:
    """The region's tests for this build."""
    rows: dict[bool, list[Asked]] = {True: [], False: []}
    for test in resolved.region.tests:
        for zone in sized if test.kind == "piping" else [z for z in sized if z.zone.delivers][:1]:
            working = float(zone.zone.regulator.outlet)
            if not test.pressure.applies(working):
                continue
            pressure = test.pressure.least(working)
            factor = test.gauge.full_scale_factor
            rows[test.asked].append(
                Asked(test, zone.zone.id, working, pressure, factor * pressure if factor and pressure else None)
            )
    volumes = []
    estimated = False
    for zone in sized:
        volume = 0.0
        for run in zone.runs:
            bore, stood_in = bore_or_stand_in(run.size.bore if run.size else None, run.size.id if run.size else "")
            estimated = estimated or stood_in
            volume += math.pi / 4 * bore**2 * float(run.run.length)
        volumes.append((zone.zone.id, volume))
    outlets = [node.part for node in resolved.build.nodes if isinstance(node.part, Outlet)]
    return LeakTest(
        asked=tuple(rows[True]),
        beside=tuple(rows[False]),
        volumes=tuple(volumes),
        volume_estimated=estimated,
        joints=joints(resolved.build),
        disconnect=tuple(outlet.appliance.name for outlet in outlets),
        recorded=tuple(resolved.build.spec.tests),
    )


def bore_or_stand_in(bore: float | None, size_id: str) -> tuple[float, bool]:
    """The bore in m, or for corrugated tubing the smooth bore that stands in for it; and whether it does."""
    if bore is not None:
        return bore, False
    ehd = size_id.removeprefix("EHD ")
    return SMOOTH_BORES_IN.get(int(ehd) if ehd.isdigit() else 0, 0.5) * 0.0254, True
