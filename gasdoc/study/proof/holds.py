"""Before the test: how long a hold has to be for usual instruments to see the largest leak a test may be blind to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.reader import Build
from gasdoc.catalog.instruments import instruments
from gasdoc.engineering.proof import sealed_line
from gasdoc.engineering.proof.sealed_line import Medium, Reading, Resolution
from gasdoc.quantities import By, CubicMetre, Pascal, Second
from gasdoc.study.facts import atmosphere, system
from gasdoc.study.proof.leak_test import AskedTest, LeakTest, Volume

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
