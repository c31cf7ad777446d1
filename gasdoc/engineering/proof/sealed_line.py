"""A sealed line and its readings: what temperature and barometer explain of a fall, how far that may be off, what a leak is.

A sealed, rigid line holds a fixed amount of gas, so P2abs = P1abs T2/T1 with absolute pressures and temperatures
(Gay-Lussac; UFGS 15195 prints the same form for fuel gas piping). What the gauge shows below that is unexplained loss.
It does not hold where liquid propane may be present, nor for soft hose that stretches.

**Uncertainty** is a bound, not a spread. Each reading may be off by half a step of its instrument, and the bounds are
added, not combined as root of squares: a test is read once or twice, on one gauge and one thermometer, so errors do
not average out; and a bound lets "a leak above this cannot pass" be said without a probability. A constant offset of
gauge or thermometer drops out, nearly; a sticking gauge is not covered.

Leaks are compared as propane in service. A small leak is viscous: as volume at one reference it goes as
(P1^2 - P2^2) / viscosity, absolute pressures (computed from laminar flow). Reference: 15 degC, 101.325 kPa.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.constants import FIFTEEN_CELSIUS, STANDARD_ATMOSPHERE
from gasdoc.quantities import CubicMetrePerSecond, Kelvin, Known, Pascal, Ratio, Second, Shown

Medium = Literal["air", "nitrogen", "co2", "propane"]


REFERENCE_TEMPERATURE = FIFTEEN_CELSIUS
"""K: volumes of leaks are stated at 15 degC and `STANDARD_ATMOSPHERE`. At 0 degC they would be 5.2 % smaller."""


DEFAULT_LIMIT: Annotated[
    CubicMetrePerSecond,
    Known(
        "largest leak of propane in service that a test may be blind to: 0.5 cm3/min",
        "EN 1949's allowance seen as a leak, rounded down: 10 mbar in 5 min on 700 cm3",
        "computed",
    ),
] = 0.5e-6 / 60.0
"""10 mbar in 5 min on 700 cm3 is 1.38 cm3/min of air at 150 mbar, which is 0.59 cm3/min of propane at 30 mbar. A test that
could not see what that standard rejects proves nothing. It is the least a gauge must see, not a leak that may be left: leak fluid shows about 0.006
cm3/min, and no leak found is let go.
"""


WEATHER_RATE: Annotated[
    float,
    "Pa/s",
    Known(
        "how fast the barometer is taken to move where it was not read: 6 hPa in 3 h",
        'Marine forecasts of the United Kingdom say "very rapidly" above it, as a glossary of their terms tells',
        "once",
    ),
] = 600.0 / (3 * 3600.0)
"""Carrying the build up or down a hill moves it faster: read the barometer then."""


WEATHER_SHARE: Annotated[
    Ratio,
    Known(
        "how far the barometer may stand from its standard value at an altitude",
        "Common practice, no source",
        "practice",
    ),
] = 0.03
"""See `lpg.atmosphere_absolute`."""


BAROMETER_STEP: Annotated[
    Pascal, Known("step of a barometer whose step is not stated: 1 hPa", "Common practice, no source", "practice")
] = 100.0


LARGEST_CHANGE: Annotated[
    Kelvin,
    Known(
        "how much a line is taken to cool or warm at most where nothing tells its temperature", "Our choice", "practice"
    ),
] = 30.0
"""So a gauge that falls to nothing is not excused by a missing thermometer."""


LONGEST_HOLD: Annotated[
    Second, Known("longest hold that is advised: 24 h", "IFGC 406.4.2: a test never has to exceed it", "twice")
] = 24 * 3600.0


_EQUATIONS = "Equations of state, as an open library computes them"

VISCOSITY: Annotated[
    Mapping[Medium, float], "Pa s", Known("viscosity at 15 degC and 1 atm", _EQUATIONS, "computed")
] = {"air": 17.96e-6, "nitrogen": 17.34e-6, "co2": 14.43e-6, "propane": 7.876e-6}


_REAL_GAS: Annotated[
    Mapping[Medium, float],
    "1/Pa",
    Known("error of the ideal gas law in a temperature correction, for each pascal", _EQUATIONS, "computed"),
] = {"air": 5e-8, "nitrogen": 5e-8, "co2": 3.5e-7, "propane": 9e-7}
"""Upper bounds: 233 to 323 K, changes up to 10 K, 1 to 10 bar and 0.9 of saturation."""


class Reading(Struct, frozen=True):
    """One reading: `time` in s from any start, `gauge` in Pa, `temperature` of the line in K, `barometer` in Pa.

    The barometer is absolute and local, not reduced to sea level. None where it was not read.
    """

    time: float
    gauge: float
    temperature: float | None = None
    barometer: float | None = None


class Resolution(Struct, frozen=True):
    """Smallest steps that could be read: gauge (Pa), thermometer (K), barometer (Pa), clock (s); None if not stated.

    The clock's is 60 s where times are written as hours and minutes.
    """

    gauge: Pascal | None
    thermometer: Kelvin | None
    barometer: Pascal = BAROMETER_STEP
    clock: Second = 60.0


class Uncertainty(Struct, frozen=True):
    """How far an unexplained loss may be off, in Pa, by cause; bounds. `drift` in Pa/s is what grows with time."""

    gauge: Pascal
    temperature: Pascal
    barometer: Pascal
    gas_law: Pascal
    drift: Annotated[float, "Pa/s"]

    @property
    def total(self) -> Shown[Pascal]:
        """The bounds added, Pa."""
        return self.gauge + self.temperature + self.barometer + self.gas_law


def at_reference(flow: float, temperature: float) -> float:
    """A throughput (Pa m3/s) at a temperature (K) as m3/s at 101.325 kPa and 15 degC.

    101.325 Pa m3/s at 15 degC is a litre a second.
    >>> at_reference(101.325, 288.15)
    0.001
    """
    return flow / STANDARD_ATMOSPHERE * REFERENCE_TEMPERATURE / temperature


def service_factor(
    medium: Medium | None, test_gauge: float, service_gauge: float, atmosphere_absolute: float
) -> float | None:
    """Propane in service per test medium under test, for one small leak, both as volume at the reference.

    (Ps^2 - Pa^2)/(Pt^2 - Pa^2) x viscosity ratio: 0.28 from air at 3 psig to propane at 11 in. w.c. For methods too:
    what leak fluid shows at test pressure, times this, is what it shows of the leak in service. A medium that is not
    known counts as the most viscous, the careful side. None where the test pressure is not above that of the air.

    From air at 3 psig to propane at 11 in. w.c., as worked out by hand.
    >>> round(service_factor("air", 3 * 6894.757, 11 * 249.089, 101_325.0), 2)
    0.28
    """
    if test_gauge <= 0.0:
        return None

    def square(gauge: float) -> float:
        return gauge * (gauge + 2.0 * atmosphere_absolute)

    viscosity = max(VISCOSITY.values()) if medium is None else VISCOSITY[medium]
    return square(service_gauge) / square(test_gauge) * viscosity / VISCOSITY["propane"]


class LineChange(Struct, frozen=True):
    """What two readings say: Pa, K and s; `ratio` is T2/T1 with the least and the most it may be."""

    elapsed: float
    fall: float
    absolute: float
    atmosphere: float
    ratio: float
    ratio_low: float
    ratio_high: float
    by_barometer: float
    barometer_read: bool
    told: bool

    @property
    def by_temperature(self) -> float:
        """What of the fall the temperature explains, Pa."""
        return self.absolute * (1.0 - self.ratio)

    @property
    def loss(self) -> float:
        """What of the fall nothing explains, Pa."""
        return self.fall - self.by_temperature - self.by_barometer


def change_between(first: Reading, last: Reading, instruments: Resolution, atmosphere: float) -> LineChange:
    """What two readings say, with `atmosphere` in Pa absolute where the barometer was not read.

    A line that is 2.8815 K colder at the end has 1 % less absolute pressure of its own accord.

    >>> first, last = Reading(0.0, 21e3, 288.15), Reading(600.0, 20e3, 285.2685)
    >>> change = change_between(first, last, Resolution(100.0, 0.1), 101_325.0)
    >>> change.fall, round(change.ratio, 4)
    (1000.0, 0.99)
    """
    t1, t2, step = first.temperature, last.temperature, instruments.thermometer
    if t1 is None or t2 is None:
        t1 = t2 = REFERENCE_TEMPERATURE
        step = None
    half = (LARGEST_CHANGE if step is None else step) / 2.0
    elapsed = last.time - first.time
    moved, read = 0.0, False
    if first.barometer is not None and last.barometer is not None:
        # A step coarser than all the weather does in the time tells less than that bound, unless it shows more.
        weather = WEATHER_RATE * elapsed
        difference = last.barometer - first.barometer
        if instruments.barometer <= weather or abs(difference) > instruments.barometer + weather:
            moved, read = difference, True
    air = atmosphere if first.barometer is None else first.barometer
    return LineChange(
        elapsed=elapsed,
        fall=first.gauge - last.gauge,
        absolute=first.gauge + air,
        atmosphere=air,
        ratio=t2 / t1,
        ratio_low=(t2 - half) / (t1 + half),
        ratio_high=(t2 + half) / (t1 - half),
        by_barometer=moved,
        barometer_read=read,
        told=step is not None,
    )


def loss_bound(
    first: Reading, change: LineChange, instruments: Resolution, medium: Medium | None
) -> Uncertainty | None:
    """How far the loss of a change may be off; None where the gauge's step is not stated.

    >>> first, last = Reading(0.0, 21e3, 288.15, 101_325.0), Reading(600.0, 21e3, 288.15, 101_325.0)
    >>> exact = Resolution(100.0, 0.0)
    >>> found = loss_bound(first, change_between(first, last, exact, 101_325.0), exact, "air")
    >>> found.gauge, found.temperature
    (100.0, 0.0)
    """
    if instruments.gauge is None:
        return None
    swing = max(change.ratio_high - 1.0, 1.0 - change.ratio_low)  # the largest correction, as a share
    both = (1.0 + change.ratio_high) / 2.0  # half a step at each reading, the first carried through the correction
    if change.barometer_read:
        barometer = instruments.barometer * both
        drift = 0.0
    else:
        off = WEATHER_SHARE * change.atmosphere if first.barometer is None else instruments.barometer / 2.0
        drift = WEATHER_RATE
        barometer = off * swing + drift * change.elapsed
    share = max(_REAL_GAS.values()) if medium is None else _REAL_GAS[medium]
    return Uncertainty(
        gauge=instruments.gauge * both,
        temperature=change.absolute * (change.ratio_high - change.ratio),
        barometer=barometer,
        gas_law=share * change.absolute**2 * swing,
        drift=drift,
    )


def uncertainty(
    first: Reading, last: Reading, instruments: Resolution, medium: Medium | None, atmosphere_absolute: float
) -> Uncertainty | None:
    """How far the unexplained loss between two readings may be off; None where the gauge's step is not stated.

    Before a test, give two readings alike, a hold apart: that is what the instruments can show. Where no temperature
    was read, or no step of the thermometer stated, the line may have changed by `LARGEST_CHANGE`.

    A gauge read to 100 Pa at both ends, the rest of the bounds on top.
    >>> first, last = Reading(0.0, 21e3, 288.15, 101_325.0), Reading(600.0, 21e3, 288.15, 101_325.0)
    >>> found = uncertainty(first, last, Resolution(100.0, 0.1), "air", 101_325.0)
    >>> found.total > found.gauge >= 100.0
    True
    """
    return loss_bound(first, change_between(first, last, instruments, atmosphere_absolute), instruments, medium)


def service_volume_per_pascal(volume: float, temperature: float, factor: float) -> float:
    """The propane in service, m3 at the reference, that a leak lets out while the test loses 1 Pa.

    `volume` in m3 under test at `temperature` (K); `factor` from `service_factor`.

    >>> f"{service_volume_per_pascal(1.01325, 288.15, 0.5):.1e}"
    '5.0e-06'
    """
    return factor * at_reference(volume, temperature)


def smallest_visible(per_pascal: float, bound: Uncertainty, elapsed: float, clock: float) -> float | None:
    """The least leak, m3/s of propane in service, that is sure to be seen: one that costs 2 U in the shortest time.

    `per_pascal` from `service_volume_per_pascal`. The clock may have run one step less than it shows; None within one.

    2 x 100 Pa in 600 s less one minute of the clock: 200/540 of what one pascal is worth.
    >>> f"{smallest_visible(1e-8, Uncertainty(100.0, 0.0, 0.0, 0.0, 0.0), 600.0, 60.0):.2e}"
    '3.70e-09'
    """
    sure = elapsed - clock
    return per_pascal * 2.0 * bound.total / sure if sure > 0.0 else None


def hold_needed(
    per_pascal: float, bound: Uncertainty, elapsed: float, clock: float, limit: float = DEFAULT_LIMIT
) -> float | None:
    """The hold in s after which the smallest visible leak is at the limit, with the same instruments.

    `bound` is that of a hold of `elapsed`. None where it would be over `LONGEST_HOLD`, or where the barometer may
    drift more than a leak at the limit costs: it has to be read then.

    The same bound at a limit of 2e-9 m3/s: 1,000 s and the minute of the clock.
    >>> round(hold_needed(1e-8, Uncertainty(100.0, 0.0, 0.0, 0.0, 0.0), 600.0, 60.0, 2e-9))
    1060
    """
    gain = limit - 2.0 * per_pascal * bound.drift
    if gain <= 0.0:
        return None
    hold = (2.0 * per_pascal * (bound.total - bound.drift * elapsed) + limit * clock) / gain
    return hold if hold <= LONGEST_HOLD else None
