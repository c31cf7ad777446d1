"""The leak test of a build: what its region asks, filled in with the build's volume, pressures and joints.

And how long each hold has to be for usual instruments to see the largest leak a test may be blind to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Outlet
from gasdoc.build.reader import Build
from gasdoc.catalog import tubing
from gasdoc.catalog.instruments import instruments
from gasdoc.engineering.materials.connectors import LONGEST_BY_CODE
from gasdoc.engineering.proof import sealed_line
from gasdoc.engineering.proof.sealed_line import Medium, Reading, Resolution
from gasdoc.quantities import By, CubicMetre, Known, Pascal, Ratio, Second, Shown
from gasdoc.regions.proof import LineTest
from gasdoc.study.facts import Installation, atmosphere, stands_in, system
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.joints import NumberedJoint, joints
from gasdoc.study.supply.lines import CONNECTOR_BORE, SizedZone, highest_in_use, lines_of
from gasdoc.study.supply.pressures import most_shut

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
    in Pa is the regulator's, None where not stated. `plates_shut` in Pa is the most that may stand there with nothing
    burning before a plate is passed for certain: more than the plates say where a text of the region has them of gas that
    flows.
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
    plates_shut: Pascal | None

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
        """The same with the appliances' connectors, and with the hoses behind regulators."""
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
                    most_shut(build, zone.regulator, plates[1]),
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
    hose = zone.regulator.hose  # under test with the appliances alone: a test of the piping begins behind it
    width = hose.bore if hose is not None and hose.bore is not None else CONNECTOR_BORE
    connectors = math.pi / 4 * width**2 * float(hose.length) if hose is not None else 0.0
    for identity, _ in zone.outlets:
        connector = outlets[identity].connector
        length = connector.length if connector is not None else None
        connectors += math.pi / 4 * CONNECTOR_BORE**2 * float(length if length is not None else LONGEST_BY_CODE)
    return Volume(zone.id, runs, piping, piping + connectors, highest_in_use(zone.regulator))


# --- how long a hold has to be ----------------------------------------------------------------------------------------

_LOOK = 3600.0
"""s: the hold the bound is worked out at; over it the barometer's own step counts for less than the weather."""


class Hold(Struct, frozen=True):
    """A gauge and a thermometer with the hold in s they need, None where no hold up to 24 h is enough.

    `barometer` in Pa is the step of a barometer read along with them, None without one.
    """

    gauge: str
    gauge_step: units.Given
    thermometer: str
    thermometer_step: units.Given
    barometer: Pascal | None
    hold: Second | None


class Plan(Struct, frozen=True):
    """The holds for one asked test. `asked` in s is the least hold of the row, None where it gives no time."""

    asked: Annotated[AskedTest, By("test", "zone")]
    volume: CubicMetre
    holds: tuple[Hold, ...]


def plans(build: Build, tests: LeakTest) -> Iterator[Plan]:
    """A plan for every asked test that is read on a gauge, with instruments as fine as the row asks."""
    shown = system(build)
    for asked in tests.asked:
        volume = next(v for v in tests.by_zone if v.zone == asked.zone)
        size = volume.largest(asked.connected)
        if asked.pressure is None or asked.test.hold is None or asked.test.kind == "container-side" or size <= 0.0:
            continue
        medium: Medium = "propane" if set(asked.test.medium) == {"LP gas"} else "air"
        holds = []
        finest = asked.test.gauge.resolution
        for gauge in instruments().gauges:
            if not gauge.least <= asked.pressure <= gauge.up_to or (
                finest is not None and getattr(gauge.step, units.base(shown)) > finest * (1 + 1e-9)
            ):
                continue
            for name, step, barometer in _thermometers(shown):
                needed = hold_needed(
                    size,
                    medium,
                    getattr(gauge.step, units.base(shown)),
                    step,
                    barometer,
                    asked.pressure,
                    volume.service_gauge,
                    atmosphere(build),
                )
                longest = None if needed is None else max(needed, float(asked.test.hold))
                holds.append(Hold(gauge.name, getattr(gauge.step, units.base(shown)), name, step, barometer, longest))
        yield Plan(asked, size, tuple(holds))


def hold_needed(
    volume: float,
    medium: Medium,
    gauge_step: float,
    thermometer_step: float,
    barometer_step: float | None,
    pressure: float,
    service_gauge: float,
    air: float,
) -> float | None:
    """The hold in s after which a steady gauge rules out a leak over the default limit; None where none up to 24 h does.

    `volume` in m3; steps in Pa and K, None without a barometer; pressures in Pa gauge, `air` in Pa absolute.
    """
    instruments = Resolution(gauge_step, thermometer_step, barometer_step or sealed_line.BAROMETER_STEP)
    read = air if barometer_step is not None else None
    first = Reading(0.0, pressure, sealed_line.REFERENCE_TEMPERATURE, read)
    last = Reading(_LOOK, pressure, sealed_line.REFERENCE_TEMPERATURE, read)
    bound = sealed_line.uncertainty(first, last, instruments, medium, air)
    factor = sealed_line.service_factor(medium, pressure, service_gauge, air)
    if bound is None or factor is None:
        return None
    per_pascal = sealed_line.service_volume_per_pascal(volume, sealed_line.REFERENCE_TEMPERATURE, factor)
    return sealed_line.hold_needed(per_pascal, bound, _LOOK, instruments.clock)


def best(plan: Plan, *, fine: bool) -> Hold | None:
    """The shortest hold with the fine thermometer (and a barometer) or with the ordinary one; None where none is enough."""
    found = [h for h in plan.holds if (h.barometer is not None) is fine and h.hold is not None]
    return min(found, key=lambda h: h.hold or 0.0, default=None)


def advice(plan: Plan, shown: units.System) -> str:
    """What to bring for a test, and how long to hold it with that; what coarser instruments cost comes last."""
    plain, fine = best(plan, fine=False), best(plan, fine=True)
    asked = float(plan.asked.test.hold or 0.0)
    if plain is not None and (plain.hold or 0.0) <= asked * (1 + 1e-9):
        return f"an ordinary thermometer is enough with a {_gauge(plain)}: hold {_minutes(plain, shown)}."
    if fine is None:
        return "no usual gauge is fine enough: ask whoever signs how to test it."
    said = f"bring a thermometer that reads {fine.thermometer_step.text}, a barometer and a {_gauge(fine)}: hold {_minutes(fine, shown)}."
    others = [h for h in plan.holds if h.barometer is not None and h.hold is not None and h.gauge != fine.gauge]
    if others:
        said += f" With a {_gauge(others[0])} instead: {_minutes(others[0], shown)}."
    if plain is None:
        return f"{said} With an ordinary thermometer no hold is enough."
    return f"{said} With an ordinary thermometer it takes {_minutes(plain, shown)}."


def _gauge(found: Hold) -> str:
    name = found.gauge
    return f"{name[:1].lower()}{name[1:]} that reads {found.gauge_step.text}"


def _minutes(found: Hold, shown: units.System) -> str:
    return units.show(-(-(found.hold or 0.0) // 60) * 60, "hold", shown)


def air_hold(build: Build, volume: Volume, pressure: float) -> float | None:
    """The shortest hold in s with air at `pressure` (Pa gauge) in a zone with everything joined, fine thermometer and
    barometer read along; None where no usual gauge is fine enough."""
    shown = system(build)
    _, step, barometer = _thermometers(shown)[-1]
    found = [
        hold_needed(
            volume.connected,
            "air",
            getattr(gauge.step, units.base(shown)),
            step,
            barometer,
            pressure,
            volume.service_gauge,
            atmosphere(build),
        )
        for gauge in instruments().gauges
        if gauge.least <= pressure <= gauge.up_to
    ]
    return min((hold for hold in found if hold is not None), default=None)


def _thermometers(shown: units.System) -> tuple[tuple[str, units.Given, float | None], ...]:
    listed = instruments()
    return tuple(
        (thermometer.name, getattr(thermometer.step, units.base(shown)), None if i == 0 else float(listed.barometer))
        for i, thermometer in enumerate(listed.thermometers)
    )
