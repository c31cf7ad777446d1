"""Readings of a sealed test become a verdict: what temperature and barometer explain, what is left, what could hide.

The gas law, the bounds and the measure of a leak are in `sealed_line`.

So a loss above the bound U is real. A leak that costs less than 2 U may still read as no more than U; one that costs
more cannot. The **smallest visible leak** is therefore that of 2 U, and a pass needs it to be under a limit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.proof.sealed_line import (
    DEFAULT_LIMIT,
    LARGEST_CHANGE,
    REFERENCE_TEMPERATURE,
    LineChange,
    Medium,
    Reading,
    Resolution,
    Uncertainty,
    at_reference,
    change_between,
    hold_needed,
    loss_bound,
    service_factor,
    service_volume_per_pascal,
    smallest_visible,
)
from gasdoc.engineering.supply.lpg import PROPANE, SATURATION_TEMPERATURES, saturation_absolute
from gasdoc.quantities import Aside, CubicMetrePerSecond, Known, Pascal, Ratio, Second, UnitOf

Outcome = Literal["pass", "could-not-tell", "suspected-leak", "leak"]


_NEAR_LIQUID: Annotated[
    Ratio,
    Known("share of the saturation pressure from which liquid in the line is not ruled out", "Our choice", "practice"),
] = 0.9
_SLACK = 1e-9  # figures closer than this share are the same figure in two units


class TestTerms(Struct, frozen=True):
    """What the region's row asks: gauge `pressure` in Pa, `hold` in s, None where it gives no figure; `drop` in Pa."""

    pressure: float | None
    hold: float | None
    drop: float = 0.0


class Point(Struct, frozen=True):
    """A later reading against the first: s since then; gauge read and expected, unexplained loss and its bound in Pa."""

    elapsed: Second
    gauge: Pascal
    expected: Pascal
    loss: Pascal
    uncertainty: Pascal | None


class LeakBounds(Struct, frozen=True):
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
    throughput: Annotated[LeakBounds | None, Aside("`leak` has it in m3/s")] = None
    leak: LeakBounds | None = None
    in_service: LeakBounds | None = None
    smallest_visible: CubicMetrePerSecond | None = None
    drop_in_row: bool | None = None


def verdict(
    readings: Sequence[Reading],
    *,
    volume: float,
    medium: Medium | None,
    instruments: Resolution,
    asked: TestTerms,
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

    >>> instruments = Resolution(50.0, 0.1)
    >>> fell = (Reading(0.0, 21e3, 288.15, 101_325.0), Reading(600.0, 15e3, 288.15, 101_325.0))
    >>> found = verdict(
    ...     fell,
    ...     volume=2e-3,
    ...     medium="air",
    ...     instruments=instruments,
    ...     asked=TestTerms(20e3, 600.0),
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
    changes = [change_between(first, reading, instruments, atmosphere_absolute) for reading in readings[1:]]
    limits = [loss_bound(first, change, instruments, medium) for change in changes]
    change, bound = changes[-1], limits[-1]
    temperature = last.temperature or REFERENCE_TEMPERATURE
    factor = service_factor(medium, first.gauge - change.fall / 2.0, service_gauge, change.atmosphere)
    per_pascal = None if factor is None else service_volume_per_pascal(volume, temperature, factor)
    visible = None
    if bound is not None and per_pascal is not None:
        visible = smallest_visible(per_pascal, bound, change.elapsed, instruments.clock)

    blocked = list(_blocked(readings, instruments, medium, change))
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


def _slack(change: LineChange) -> float:
    return _SLACK * change.absolute


def _plausible(readings: Sequence[Reading], instruments: Resolution, atmosphere: float) -> None:
    coldest = max(LARGEST_CHANGE, instruments.thermometer or 0.0) / 2.0
    for reading in readings:
        air = atmosphere if reading.barometer is None else reading.barometer
        if not air > 0.0 or not reading.gauge + air > 0.0:
            raise ValueError("absolute pressures must be above zero")
        if reading.temperature is not None and not reading.temperature > coldest:
            raise ValueError("temperatures must be in kelvin and above zero")


def _blocked(
    readings: Sequence[Reading], instruments: Resolution, medium: Medium | None, change: LineChange
) -> Iterator[str]:
    """What keeps the gas law from being used at all, or with a stated uncertainty."""
    temperatures = [reading.temperature for reading in readings if reading.temperature is not None]
    if medium in ("propane", None) and temperatures:
        low, high = SATURATION_TEMPERATURES
        coldest = min(temperatures)
        if coldest < low or change.absolute > _NEAR_LIQUID * saturation_absolute(PROPANE, min(coldest, high)):
            yield "liquid-possible"
    if instruments.gauge is None:
        yield "no-gauge-step"
    if readings[0].temperature is None or readings[-1].temperature is None:
        yield "no-thermometer"
    elif instruments.thermometer is None:
        yield "no-thermometer-step"


def _lost(changes: Sequence[LineChange], limits: Sequence[Uncertainty | None], instruments: Resolution) -> str | None:
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


def _rise(changes: Sequence[LineChange], limits: Sequence[Uncertainty | None], medium: Medium | None) -> list[str]:
    if not any(b is not None and -c.loss > b.total + _slack(c) for c, b in zip(changes, limits, strict=True)):
        return []
    return ["unexplained-rise", "container-valve-open"] if medium == "propane" else ["unexplained-rise"]


def _fall(change: LineChange, bound: Uncertainty | None, instruments: Resolution) -> list[str]:
    """Why a fall that anyone can see is not taken for a pass."""
    if bound is None or change.fall <= (instruments.gauge or 0.0) + _slack(change):
        return []
    if change.fall <= bound.total:
        return ["fall-within-uncertainty"]
    return ["temperature-explains-fall" if change.by_temperature >= change.by_barometer else "barometer-explains-fall"]


def _short(readings: Sequence[Reading], asked: TestTerms, change: LineChange) -> Iterator[str]:
    if asked.pressure is not None and readings[0].gauge < asked.pressure * (1.0 - _SLACK):
        yield "pressure-too-low"
    if asked.hold is not None and change.elapsed < asked.hold * (1.0 - _SLACK):
        yield "hold-too-short"


def _rate(per_pascal: float, change: LineChange, bound: Uncertainty | None, clock: float) -> LeakBounds | None:
    shortest, longest = change.elapsed - clock, change.elapsed + clock
    if bound is None or shortest <= 0.0:
        return None
    low, high = change.loss - bound.total, change.loss + bound.total
    return LeakBounds(
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
    asked: TestTerms,
    instruments: Resolution,
    first: Reading,
    change: LineChange,
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


def _finer(first: Reading, change: LineChange, bound: Uncertainty, over: float) -> Iterator[Help]:
    """The steps of gauge or thermometer, either alone, that would take `over` Pa off the bound."""
    if bound.gauge > over:
        yield Help("gauge-step", (bound.gauge - over) * 2.0 / (1.0 + change.ratio_high))
    if bound.temperature > over and first.temperature is not None:
        # half a step = (x T1 - T2) / (1 + x), from (T2 + half) / (T1 - half) = x, the largest ratio there is room for
        x = change.ratio + (bound.temperature - over) / change.absolute
        yield Help("thermometer-step", 2.0 * first.temperature * (x - change.ratio) / (1.0 + x))
