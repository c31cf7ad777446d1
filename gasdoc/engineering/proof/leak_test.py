"""Readings of a sealed test become a verdict: what temperature and barometer explain, what is left, what could hide.

A sealed, rigid line holds a fixed amount of gas, so P2abs = P1abs T2/T1 with absolute pressures and temperatures
(Gay-Lussac; UFGS 15195 prints the same form for fuel gas piping). What the gauge shows below that is unexplained loss.
It does not hold where liquid propane may be present, nor for soft hose that stretches.

**Uncertainty** is a bound, not a spread. Each reading may be off by half a step of its instrument, and the bounds are
added, not combined as root of squares: a test is read once or twice, on one gauge and one thermometer, so errors do
not average out; and a bound lets "a leak above this cannot pass" be said without a probability. A constant offset of
gauge or thermometer drops out, nearly; a sticking gauge is not covered.

So a loss above the bound U is real. A leak that costs less than 2 U may still read as no more than U; one that costs
more cannot. The **smallest visible leak** is therefore that of 2 U, and a pass needs it to be under a limit.

Leaks are compared as propane in service. A small leak is viscous: as volume at one reference it goes as
(P1^2 - P2^2) / viscosity, absolute pressures (computed from laminar flow). Reference: 15 degC, 101.325 kPa.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.constants import FIFTEEN_CELSIUS, STANDARD_ATMOSPHERE
from gasdoc.engineering.supply.fuel import PROPANE, SATURATION_TEMPERATURES, saturation_absolute
from gasdoc.quantities import Aside, CubicMetrePerSecond, Kelvin, Pascal, Second, Shown, UnitOf

Medium = Literal["air", "nitrogen", "co2", "propane"]
Outcome = Literal["pass", "could-not-tell", "suspected-leak", "leak"]


REFERENCE_TEMPERATURE = FIFTEEN_CELSIUS
"""K: volumes of leaks are stated at 15 degC and `STANDARD_ATMOSPHERE`. At 0 degC they would be 5.2 % smaller."""

DEFAULT_LIMIT = 0.5e-6 / 60.0
"""m3/s of propane in service: the largest leak a test may be blind to where the row names none; a stated default.

It is EN 1949's allowance seen as a leak, rounded down: 10 mbar in 5 min on 700 cm3 is 1.38 cm3/min of air at 150 mbar
(read once, computed), which is 0.59 cm3/min of propane at 30 mbar. A test that could not see what that standard
rejects proves nothing. It is the least a gauge must see, not a leak that may be left: leak fluid shows about 0.006
cm3/min, and no leak found is let go.
"""

WEATHER_RATE = 600.0 / (3 * 3600.0)
"""Pa/s: how fast the barometer is taken to move where it was not read: 6 hPa in 3 h, the step to "very rapidly" in
marine weather reports (from memory). Carrying the build up or down a hill moves it faster: read the barometer then."""

WEATHER_SHARE = 0.03
"""How far the barometer may stand from its standard value at that altitude (see `fuel.atmosphere_absolute`)."""

BAROMETER_STEP = 100.0
"""Pa: the step of a barometer whose step is not stated: 1 hPa (common practice, no source)."""

LARGEST_CHANGE = 30.0
"""K: how much the line is taken to cool or warm at most where nothing tells its temperature; our choice. So a gauge
that falls to nothing is not excused by a missing thermometer."""

LONGEST_HOLD = 24 * 3600.0
"""s: no longer hold is advised; under IFGC 406.4.2 a test never has to exceed 24 h (read twice)."""

VISCOSITY: Mapping[Medium, float] = {"air": 17.96e-6, "nitrogen": 17.34e-6, "co2": 14.43e-6, "propane": 7.876e-6}
"""Pa s at 15 degC and 1 atm (equations of state, CoolProp 8.0.0)."""

_REAL_GAS: Mapping[Medium, float] = {"air": 5e-8, "nitrogen": 5e-8, "co2": 3.5e-7, "propane": 9e-7}
"""Error of the ideal gas law in a temperature correction: a share of it, per Pa of absolute pressure. Upper bounds from
equations of state (CoolProp 8.0.0): 233 to 323 K, changes up to 10 K, 1 to 10 bar and 0.9 of saturation."""

_NEAR_LIQUID = 0.9  # share of the saturation pressure from which liquid in the line is not ruled out; our choice
_SLACK = 1e-9  # figures closer than this share are the same figure in two units


class Reading(Struct, frozen=True):
    """One reading: `time` in s from any start, `gauge` in Pa, `temperature` of the line in K, `barometer` in Pa.

    The barometer is absolute and local, not reduced to sea level. None where it was not read.
    """

    time: float
    gauge: float
    temperature: float | None = None
    barometer: float | None = None


class Instruments(Struct, frozen=True):
    """Smallest steps that could be read: gauge (Pa), thermometer (K), barometer (Pa), clock (s); None if not stated.

    The clock's is 60 s where times are written as hours and minutes.
    """

    gauge: Pascal | None
    thermometer: Kelvin | None
    barometer: Pascal = BAROMETER_STEP
    clock: Second = 60.0


class Asked(Struct, frozen=True):
    """What the region's row asks: gauge `pressure` in Pa, `hold` in s, None where it gives no figure; `drop` in Pa."""

    pressure: float | None
    hold: float | None
    drop: float = 0.0


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


class Point(Struct, frozen=True):
    """A later reading against the first: s since then; gauge read and expected, unexplained loss and its bound in Pa."""

    elapsed: Second
    gauge: Pascal
    expected: Pascal
    loss: Pascal
    uncertainty: Pascal | None


class Bounds(Struct, frozen=True):
    """A figure with the least and the most it may be; a leak below zero is gas that came in."""

    low: CubicMetrePerSecond
    value: CubicMetrePerSecond
    high: CubicMetrePerSecond


class Help(Struct, frozen=True):
    """What would settle the matter. `value` is in the SI unit of what the code names (s, Pa or K), or None.

    Codes: "find-and-repair", "close-container-valve", "repeat-at-steady-temperature", "record-temperature",
    "state-gauge-step", "state-thermometer-step", "record-barometer", "read-twice", "check-times",
    "test-the-vapour-side", "ask-for-figures", "raise-to" (Pa), "hold-for" (s), "gauge-step" (Pa) and "thermometer-step" (K),
    at most.
    """

    code: str
    value: Annotated[float | None, UnitOf("unit")] = None

    @property
    def unit(self) -> str:
        """The SI unit of what the code names."""
        return {"hold-for": "s", "thermometer-step": "K"}.get(self.code, "Pa")


class Verdict(Struct, frozen=True):
    """The outcome with its reasons, the deciding one first, and the numbers behind it.

    `fall` in Pa is what the gauge lost from first to last reading; `by_temperature` and `by_barometer` the parts of it
    these explain (negative: they would have raised it); `loss` what is left. `throughput` in Pa m3/s and `leak` in m3/s
    at the reference are of the test medium at test pressure, `in_service` is m3/s of propane at the reference at
    service pressure, `smallest_visible` the least leak, in the same measure, that could not have passed. `drop_in_row`
    says whether the fall read is within the row's own figure (within one step of the gauge where the row allows none);
    our own rule is stricter and decides. None where the readings do not give it.

    Reasons: "unexplained-loss"; "steady-while-warming", "steady-while-barometer-fell", "fall-beyond-cooling";
    "too-few-readings", "times-out-of-order", "liquid-possible", "no-gauge-step", "no-thermometer",
    "no-thermometer-step", "unexplained-rise", "container-valve-open", "temperature-explains-fall",
    "barometer-explains-fall", "fall-within-uncertainty", "pressure-too-low", "hold-too-short", "leak-could-hide";
    a pass has none.
    """

    outcome: Outcome
    reasons: tuple[str, ...]
    helps: tuple[Help, ...]
    limit: CubicMetrePerSecond
    points: tuple[Point, ...] = ()
    elapsed: Second | None = None
    fall: Pascal | None = None
    by_temperature: Pascal | None = None
    by_barometer: Pascal | None = None
    loss: Pascal | None = None
    uncertainty: Uncertainty | None = None
    throughput: Annotated[Bounds | None, Aside("`leak` has it in m3/s")] = None
    leak: Bounds | None = None
    in_service: Bounds | None = None
    smallest_visible: CubicMetrePerSecond | None = None
    drop_in_row: bool | None = None


# --- the gas law ----------------------------------------------------------------------------------------------------


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


# --- one reading against the first ----------------------------------------------------------------------------------


class _Change(Struct, frozen=True):
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
        return self.absolute * (1.0 - self.ratio)

    @property
    def loss(self) -> float:
        return self.fall - self.by_temperature - self.by_barometer


def _change(first: Reading, last: Reading, instruments: Instruments, atmosphere: float) -> _Change:
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
    return _Change(
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


def _bound(first: Reading, change: _Change, instruments: Instruments, medium: Medium | None) -> Uncertainty | None:
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
    first: Reading, last: Reading, instruments: Instruments, medium: Medium | None, atmosphere_absolute: float
) -> Uncertainty | None:
    """How far the unexplained loss between two readings may be off; None where the gauge's step is not stated.

    Before a test, give two readings alike, a hold apart: that is what the instruments can show. Where no temperature
    was read, or no step of the thermometer stated, the line may have changed by `LARGEST_CHANGE`.

    A gauge read to 100 Pa at both ends, the rest of the bounds on top.
    >>> first, last = Reading(0.0, 21e3, 288.15, 101_325.0), Reading(600.0, 21e3, 288.15, 101_325.0)
    >>> found = uncertainty(first, last, Instruments(100.0, 0.1), "air", 101_325.0)
    >>> found.total > found.gauge >= 100.0
    True
    """
    return _bound(first, _change(first, last, instruments, atmosphere_absolute), instruments, medium)


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


# --- the verdict ----------------------------------------------------------------------------------------------------


def verdict(
    readings: Sequence[Reading],
    *,
    volume: float,
    medium: Medium | None,
    instruments: Instruments,
    asked: Asked,
    service_gauge: float,
    atmosphere_absolute: float,
    limit: float = DEFAULT_LIMIT,
) -> Verdict:
    """What the readings of a sealed test show.

    `volume` in m3 is the gas volume under test; where it is estimated give the largest it may be, since leaks grow
    with it. A `medium` that is not known (None) counts as the least favourable. `service_gauge` in Pa is the highest
    pressure the line sees in use, `atmosphere_absolute` the site's, used where no barometer was read; `limit` in m3/s
    of propane in service.

    - "leak": the gauge fell, by more than temperature, barometer and uncertainty explain, at any reading.
    - "suspected-leak": as much is missing, but the gauge held steady or rose while it should have risen (further); or
      it fell by more than `LARGEST_CHANGE` of cooling would explain and no thermometer tells.
    - "pass": the loss not explained is within its bound, the gauge did not fall by more than one step (half a step at
      each reading), pressure and hold are as asked, and the smallest visible leak is at or below the limit.
    - "could-not-tell": all else. A fall that only the correction explains is never a pass; nor is a rise it does not
      explain, which means gas came in, such as through a container valve that does not shut.

    Raises ValueError for a volume or limit, a temperature or an absolute pressure that is not above zero.

    >>> instruments = Instruments(50.0, 0.1)
    >>> fell = (Reading(0.0, 21e3, 288.15, 101_325.0), Reading(600.0, 15e3, 288.15, 101_325.0))
    >>> found = verdict(
    ...     fell,
    ...     volume=2e-3,
    ...     medium="air",
    ...     instruments=instruments,
    ...     asked=Asked(20e3, 600.0),
    ...     service_gauge=2740.0,
    ...     atmosphere_absolute=101_325.0,
    ... )
    >>> found.outcome, found.reasons
    ('leak', ('unexplained-loss',))
    """
    if not volume > 0.0 or not limit > 0.0:
        raise ValueError("the volume and the limit must be above zero")
    _plausible(readings, instruments, atmosphere_absolute)
    if len(readings) < 2:
        return Verdict("could-not-tell", ("too-few-readings",), (Help("read-twice"),), limit)
    if any(later.time <= earlier.time for earlier, later in pairwise(readings)):
        return Verdict("could-not-tell", ("times-out-of-order",), (Help("check-times"),), limit)

    first, last = readings[0], readings[-1]
    changes = [_change(first, reading, instruments, atmosphere_absolute) for reading in readings[1:]]
    limits = [_bound(first, change, instruments, medium) for change in changes]
    change, bound = changes[-1], limits[-1]
    temperature = last.temperature or REFERENCE_TEMPERATURE
    factor = service_factor(medium, first.gauge - change.fall / 2.0, service_gauge, change.atmosphere)
    per_pascal = None if factor is None else service_volume_per_pascal(volume, temperature, factor)
    visible = None
    if bound is not None and per_pascal is not None:
        visible = smallest_visible(per_pascal, bound, change.elapsed, instruments.clock)

    blocked = _blocked(readings, instruments, medium, change)
    lost = _lost(changes, limits, instruments)
    outcome: Outcome = "could-not-tell"
    if lost is not None and "liquid-possible" not in blocked:
        outcome = "leak" if lost == "unexplained-loss" else "suspected-leak"
        reasons = (lost, *blocked)
    else:
        reasons = (
            *_rise(changes, limits, medium),
            *blocked,
            *_fall(change, bound, instruments),
            *_short(readings, asked, change),
            *(["leak-could-hide"] if change.told and bound and _over(visible, limit) else []),
        )
        if not reasons:
            outcome = "pass"

    clock = instruments.clock
    return Verdict(
        outcome=outcome,
        reasons=reasons,
        helps=_helps(reasons, asked, instruments, first, change, bound, per_pascal, limit),
        limit=limit,
        points=tuple(
            Point(c.elapsed, first.gauge - c.fall, first.gauge - c.fall + c.loss, c.loss, b.total if b else None)
            for c, b in zip(changes, limits, strict=True)
        ),
        elapsed=change.elapsed,
        fall=change.fall,
        by_temperature=change.by_temperature,
        by_barometer=change.by_barometer,
        loss=change.loss,
        uncertainty=bound,
        throughput=_rate(volume, change, bound, clock),
        leak=_rate(at_reference(volume, temperature), change, bound, clock),
        in_service=None if per_pascal is None else _rate(per_pascal, change, bound, clock),
        smallest_visible=visible,
        drop_in_row=change.fall <= max(asked.drop, instruments.gauge or 0.0) + _slack(change),
    )


def _over(visible: float | None, limit: float) -> bool:
    return visible is None or visible > limit * (1.0 + _SLACK)


def _slack(change: _Change) -> float:
    return _SLACK * change.absolute


def _plausible(readings: Sequence[Reading], instruments: Instruments, atmosphere: float) -> None:
    coldest = max(LARGEST_CHANGE, instruments.thermometer or 0.0) / 2.0
    for reading in readings:
        air = atmosphere if reading.barometer is None else reading.barometer
        if not air > 0.0 or not reading.gauge + air > 0.0:
            raise ValueError("absolute pressures must be above zero")
        if reading.temperature is not None and not reading.temperature > coldest:
            raise ValueError("temperatures must be in kelvin and above zero")


def _blocked(
    readings: Sequence[Reading], instruments: Instruments, medium: Medium | None, change: _Change
) -> list[str]:
    """What keeps the gas law from being used at all, or with a stated uncertainty."""
    found = []
    temperatures = [reading.temperature for reading in readings if reading.temperature is not None]
    if medium in ("propane", None) and temperatures:
        low, high = SATURATION_TEMPERATURES
        coldest = min(temperatures)
        if coldest < low or change.absolute > _NEAR_LIQUID * saturation_absolute(PROPANE, min(coldest, high)):
            found.append("liquid-possible")
    if instruments.gauge is None:
        found.append("no-gauge-step")
    if readings[0].temperature is None or readings[-1].temperature is None:
        found.append("no-thermometer")
    elif instruments.thermometer is None:
        found.append("no-thermometer-step")
    return found


def _lost(changes: Sequence[_Change], limits: Sequence[Uncertainty | None], instruments: Instruments) -> str | None:
    """Why gas must have got out by one of the readings, the plainest case first; None where it need not have."""
    found = set()
    for change, bound in zip(changes, limits, strict=True):
        if bound is None or instruments.gauge is None or change.loss <= bound.total + _slack(change):
            continue
        if not change.told:
            found.add("fall-beyond-cooling")
        elif change.fall > instruments.gauge + _slack(change):
            found.add("unexplained-loss")
        else:
            warmed = change.by_temperature <= change.by_barometer
            found.add("steady-while-warming" if warmed else "steady-while-barometer-fell")
    plainest = ("unexplained-loss", "steady-while-warming", "steady-while-barometer-fell", "fall-beyond-cooling")
    return next((reason for reason in plainest if reason in found), None)


def _rise(changes: Sequence[_Change], limits: Sequence[Uncertainty | None], medium: Medium | None) -> list[str]:
    if not any(b is not None and -c.loss > b.total + _slack(c) for c, b in zip(changes, limits, strict=True)):
        return []
    return ["unexplained-rise", "container-valve-open"] if medium == "propane" else ["unexplained-rise"]


def _fall(change: _Change, bound: Uncertainty | None, instruments: Instruments) -> list[str]:
    """Why a fall that anyone can see is not taken for a pass."""
    if bound is None or change.fall <= (instruments.gauge or 0.0) + _slack(change):
        return []
    if change.fall <= bound.total:
        return ["fall-within-uncertainty"]
    return ["temperature-explains-fall" if change.by_temperature >= change.by_barometer else "barometer-explains-fall"]


def _short(readings: Sequence[Reading], asked: Asked, change: _Change) -> list[str]:
    found = []
    if asked.pressure is not None and readings[0].gauge < asked.pressure * (1.0 - _SLACK):
        found.append("pressure-too-low")
    if asked.hold is not None and change.elapsed < asked.hold * (1.0 - _SLACK):
        found.append("hold-too-short")
    return found


def _rate(per_pascal: float, change: _Change, bound: Uncertainty | None, clock: float) -> Bounds | None:
    shortest, longest = change.elapsed - clock, change.elapsed + clock
    if bound is None or shortest <= 0.0:
        return None
    low, high = change.loss - bound.total, change.loss + bound.total
    return Bounds(
        per_pascal * low / (longest if low > 0.0 else shortest),
        per_pascal * change.loss / change.elapsed,
        per_pascal * high / (shortest if high > 0.0 else longest),
    )


_HELPS: Mapping[str, tuple[str, ...]] = {
    "unexplained-loss": ("find-and-repair",),
    "steady-while-warming": ("find-and-repair", "repeat-at-steady-temperature"),
    "steady-while-barometer-fell": ("find-and-repair", "repeat-at-steady-temperature"),
    "fall-beyond-cooling": ("find-and-repair", "record-temperature"),
    "liquid-possible": ("test-the-vapour-side",),
    "no-gauge-step": ("state-gauge-step",),
    "no-thermometer": ("record-temperature",),
    "no-thermometer-step": ("state-thermometer-step",),
    "unexplained-rise": ("repeat-at-steady-temperature",),
    "container-valve-open": ("close-container-valve",),
    "temperature-explains-fall": ("repeat-at-steady-temperature",),
    "barometer-explains-fall": ("repeat-at-steady-temperature",),
    "fall-within-uncertainty": ("repeat-at-steady-temperature",),
}


def _helps(
    reasons: Sequence[str],
    asked: Asked,
    instruments: Instruments,
    first: Reading,
    change: _Change,
    bound: Uncertainty | None,
    per_pascal: float | None,
    limit: float,
) -> tuple[Help, ...]:
    helps = [Help(code) for reason in reasons for code in _HELPS.get(reason, ())]
    if "pressure-too-low" in reasons:
        helps.append(Help("raise-to", asked.pressure))
    hold = asked.hold if "hold-too-short" in reasons else None
    if "leak-could-hide" in reasons and bound is not None and per_pascal is not None:
        needed = hold_needed(per_pascal, bound, change.elapsed, instruments.clock, limit)
        if needed is not None:
            hold = max(needed, asked.hold or 0.0)
        elif bound.drift > 0.0:
            helps.append(Help("record-barometer"))
        over = bound.total - limit * (change.elapsed - instruments.clock) / (2.0 * per_pascal)
        helps.extend(_finer(first, change, bound, over))
    if hold is not None:
        helps.append(Help("hold-for", hold))
    return tuple(dict.fromkeys(helps))


def _finer(first: Reading, change: _Change, bound: Uncertainty, over: float) -> list[Help]:
    """The steps of gauge or thermometer, either alone, that would take `over` Pa off the bound."""
    found = []
    if bound.gauge > over:
        found.append(Help("gauge-step", (bound.gauge - over) * 2.0 / (1.0 + change.ratio_high)))
    if bound.temperature > over and first.temperature is not None:
        # half a step = (x T1 - T2) / (1 + x), from (T2 + half) / (T1 - half) = x, the largest ratio there is room for
        x = change.ratio + (bound.temperature - over) / change.absolute
        found.append(Help("thermometer-step", 2.0 * first.temperature * (x - change.ratio) / (1.0 + x)))
    return found
