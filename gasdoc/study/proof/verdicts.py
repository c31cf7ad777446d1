"""Recorded tests judged: each test with the region's row it answers, what its readings show, and what that means.

The physics is in `gasdoc.engineering.proof.leak_test`. Here readings become SI, the row says what was asked, and three things
are added that no gauge tells: what leak fluid showed, whether the medium is one the row names, and whether the gauge is
as fine as the row asks.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Reading, Test
from gasdoc.engineering.proof import leak_test as physics
from gasdoc.engineering.proof import sealed_line
from gasdoc.engineering.proof.leak_test import Help, Verdict
from gasdoc.engineering.proof.sealed_line import Medium, Resolution
from gasdoc.quantities import Aside, By, CubicMetre, CubicMetrePerSecond, Pascal, Second, Shown
from gasdoc.regions.proof import leak_methods
from gasdoc.study.facts import Installation, atmosphere
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.proof.leak_test import AskedTest, LeakTest

MEDIA = {
    "air": ("air",),
    "nitrogen": ("nitrogen", "inert gas"),
    "co2": ("carbon dioxide", "inert gas"),
    "propane": ("LP gas",),
}
"""A spec's word for what the piping was filled with, in the words the rows use."""

OUTCOME_WORDS = {
    "pass": "Passed, by the numbers recorded",
    "could-not-tell": "Could not tell",
    "suspected-leak": "Suspected leak",
    "leak": "Leak",
    "outside": "Outside its limits",
    "shown": "Shown, not judged",
    "danger": "Dangerous: made with fuel gas",
}

UNTOLD = ("could-not-tell", "shown")
"""Outcomes of a record that tells nothing."""

OUTSIDE = {
    "above-plate": "The pressure was above the greatest that the plate of an appliance allows.",
    "below-plate": "The pressure was below the least that the plate of an appliance asks.",
    "shut-above-plate": "With nothing burning the pressure was above the greatest on a plate. A text of the region has that of gas that flows: ask the appliance's maker.",
    "above-range": "With gas burning, the pressure was above the range the rule names.",
    "below-range": "With gas burning, the pressure was below the range the rule names.",
    "lock-up-above-rule": "The pressure was above the highest the rule names, which is the one with nothing burning.",
    "lock-up-above-own": "The pressure was above the lock-up that the spec states for the regulator.",
}
"""Why a reading is outside its limits, in words; the plates first, because they decide."""

OPEN = {
    "flow-no-row": "The region has no rule for this kind of test here, so there is nothing to hold it to.",
    "zone-not-stated": "Which regulator it was read behind is not recorded.",
    "burning-not-stated": "What burned while it was read is not recorded, so nobody can say which limit a reading has to keep.",
    "no-reading-in-use": "There is no reading with about half the load burning.",
    "no-reading-at-lock-up": "There is no reading with nothing burning.",
    "near-a-limit": "A reading is beyond a limit by less than half a step of the gauge. It may be on either side.",
    "no-pressure-at-lock-up": "With nothing burning the gauge showed no pressure: the container was shut, or the gauge was not on the line.",
    "lock-up-below-burning": "With nothing burning the pressure was lower than with gas burning, which cannot be: the container was shut, or readings are mixed up.",
    "low-with-all-burning": "With everything burning the pressure was below the rule's range, and a plate's own least is not stated.",
    "plates-not-stated": "A plate's least or greatest inlet pressure is not stated. The rule has no figure of its own for it.",
}
"""Why nothing can be told, in words."""

SHOWN = {
    "read-at-the-gauge": "Read where the gauge stood: what reaches an appliance is less, by the drop of the line and the connector.",
    "rule-alone": "Not every plate states its least and its greatest inlet pressure. For those only the rule's own figures count here.",
}
"""What readings within their limits do not say."""

REASONS = {
    "unexplained-loss": "The gauge fell by more than temperature, barometer and the instruments' uncertainty explain.",
    "steady-while-warming": "The line warmed, so the gauge should have risen, and it did not: gas may have got out.",
    "steady-while-barometer-fell": "The barometer fell, so the gauge should have risen, and it did not: gas may have got out.",
    "fall-beyond-cooling": "The gauge fell further than any cooling would explain, and no thermometer tells.",
    "bubbles-found": "Leak fluid showed bubbles. Whatever the gauge says, that is a leak.",
    "too-few-readings": "There is only one reading. A loss needs two.",
    "times-out-of-order": "The readings do not follow each other in time.",
    "liquid-possible": "Liquid propane may have stood in the line. The gas law does not hold then.",
    "no-gauge-step": "The smallest step of the gauge is not recorded, so nobody can say what it would have shown.",
    "no-thermometer": "The temperature of the line was not read at both ends of the hold.",
    "no-thermometer-step": "The smallest step of the thermometer is not recorded.",
    "unexplained-rise": "The gauge rose by more than temperature and barometer explain: gas came in.",
    "container-valve-open": "With gas in the line that means a container valve that does not close tight.",
    "temperature-explains-fall": "The gauge fell, and only the correction for temperature explains it. That is no pass.",
    "barometer-explains-fall": "The gauge fell, and only the correction for the barometer explains it. That is no pass.",
    "fall-within-uncertainty": "The gauge was seen to fall, though by no more than the instruments may be off.",
    "pressure-too-low": "The test began below the pressure the rule asks.",
    "pressure-too-high": "The test began above the highest pressure the rule names.",
    "figures-not-known": "The pressure and the time that the rules ask for it are not known here. So it cannot be held to them here. Whoever signs can do that.",
    "hold-too-short": "The hold was shorter than the rule asks.",
    "leak-could-hide": "With these instruments and this hold a leak over the limit could have stayed unseen.",
    "medium-not-stated": "What the line was filled with is not recorded.",
    "fuel-gas": "A pressure test with fuel gas lets it out, at far more than working pressure, where a joint fails. It proves nothing.",
    "medium-not-asked": "The rule names other gases than the one the line was filled with.",
    "gauge-coarser-than-asked": "The gauge's smallest step is coarser than the rule asks.",
    "fluid-not-used": "This test rests on leak fluid, and what it showed is not recorded.",
    "readings-implausible": "A pressure or a temperature in the readings cannot be.",
    "no-row": "The region has no rule for this kind of test here, so there is nothing to hold it to.",
    **OUTSIDE,
    **OPEN,
    **SHOWN,
}
"""What each reason says, in words."""


class Judged(Struct, frozen=True):
    """One recorded test. `row` is what it is held to, None where the region has no such row; `number` its place in the spec, from 1.

    `outcome` is "pass", "could-not-tell", "suspected-leak", "leak", "outside" (its limits), "shown" (not judged) or
    "danger" (made with fuel gas); `reasons` the codes behind it, the deciding one first; `helps` what would settle it.
    `verdict` has the numbers, None for a test that is not read on a gauge. `volume` in m3 is the largest plausible gas
    volume, `connected` says whether with connectors, `fluid_visible` in m3/s of propane in service the least leak that leak fluid shows at the test's pressure, None
    where it was not used. `current`: its date is past, and no later test of the same kind that covers the same zones stands in its place.
    """

    index: Annotated[int, Aside("`number` is the same from 1")]
    test: Annotated[Test, By("date", "kind", "covers")]
    rows: tuple[Annotated[AskedTest, By("test", "zone")], ...]
    outcome: str
    reasons: tuple[str, ...]
    helps: tuple[Help, ...]
    verdict: Verdict | None
    instruments: Resolution
    asked_pressure: Pascal | None
    asked_hold: Second | None
    volume: CubicMetre
    connected: bool
    fluid_visible: CubicMetrePerSecond | None
    current: bool

    @property
    def number(self) -> Shown[int]:
        """Its place in the spec, from 1."""
        return self.index + 1

    @property
    def row(self) -> AskedTest | None:
        """The first row the test is held to."""
        return self.rows[0] if self.rows else None

    @property
    def words(self) -> tuple[str, ...]:
        """The reasons as sentences."""
        return tuple(REASONS[reason] for reason in self.reasons)


def judge(build: Installation, tests: LeakTest, day: dt.date | None = None) -> tuple[Judged, ...]:
    """Every recorded test, in the order of the spec. One that is dated later than `day` is no current record."""
    zones = [volume.zone for volume in tests.by_zone]
    found = [_judge(build, tests, i, test) for i, test in enumerate(build.spec.tests)]
    past = [j for j in found if day is None or j.test.date <= day]
    return tuple(replace(j, current=j in past and not any(_replaces(later, j, zones) for later in past)) for j in found)


def _replaces(later: Judged, judged: Judged, zones: Sequence[str]) -> bool:
    """Whether a record stands in the place of an earlier one of its kind: it covers as much, and it tells something, or the
    earlier one did not either. A record that does not tell takes no leak and no wrong pressure back."""
    return (
        later.test.kind == judged.test.kind
        and started(later.test) > started(judged.test)
        and covers_zones(judged.test, zones) <= covers_zones(later.test, zones)
        and (later.outcome not in UNTOLD or judged.outcome in UNTOLD)
    )


def covers_zones(test: Test, zones: Sequence[str]) -> frozenset[str]:
    """The zones a test covers: the one it names, or all."""
    return frozenset(zones if test.zone is None else [test.zone])


def started(test: Test) -> dt.datetime:
    """When the first reading was taken; without readings the time stated, else the beginning of its day."""
    return _moment(test, 0)


def ended(test: Test) -> dt.datetime:
    """When the last reading was taken; without readings as `started`."""
    return _moment(test, -1)


def _moment(test: Test, place: int) -> dt.datetime:
    if not test.readings:
        return dt.datetime.combine(test.date, test.time or dt.time())
    reading = test.readings[place]
    return dt.datetime.combine(reading.date or test.date, reading.time)


def _judge(build: Installation, tests: LeakTest, index: int, test: Test) -> Judged:
    zones = covers_zones(test, [volume.zone for volume in tests.by_zone])
    rows = tuple(a for a in tests.asked if a.test.kind == test.kind and a.zone in zones)
    rows = rows or tuple(a for a in tests.beside if a.test.kind == test.kind and a.zone in zones)[:1]
    volumes = [volume for volume in tests.by_zone if volume.zone in zones]
    connected = test.kind != "piping" or any(a.connected for a in rows)
    volume = sum(v.largest(connected) for v in volumes)
    service = max(v.service_gauge for v in volumes)
    pressures = [a.pressure for a in rows if a.pressure is not None]
    holds = [float(a.test.hold) for a in rows if a.test.hold is not None]
    asked_pressure, asked_hold = max(pressures, default=None), max(holds, default=None)
    medium: Medium | None = test.medium  # type: ignore[assignment]  # the spec's four words are the engine's
    instruments = _instruments(test)
    air = atmosphere(build)
    made: Verdict | None = None
    reasons: tuple[str, ...] = ()
    helps: tuple[Help, ...] = ()
    if test.kind == "flow":
        rows = tuple(a for a in (*tests.asked, *tests.beside) if a.test.kind == "flow" and a.zone in zones)
        outcome, reasons, helps = judge_flow(test, rows)
        if test.bubbles == "found":
            outcome, reasons, helps = "leak", ("bubbles-found", *reasons), (Help("find-and-repair"), *helps)
    elif test.kind == "container-side":
        outcome = {"none": "pass", "found": "leak"}.get(test.bubbles or "", "could-not-tell")
        reasons = {"pass": (), "leak": ("bubbles-found",)}.get(outcome, ("fluid-not-used",))
    else:
        try:
            made = physics.verdict(
                _readings(test),
                volume=max(volume, 1e-9),
                medium=medium,
                instruments=instruments,
                asked=physics.TestTerms(
                    asked_pressure,
                    asked_hold,
                    min((float(a.test.passes.allowed_drop or 0.0) for a in rows), default=0.0),
                ),
                service_gauge=service,
                atmosphere_absolute=air,
            )
            outcome, reasons = made.outcome, made.reasons
            helps = tuple(
                sorted(made.helps, key=lambda h: h.code in ("gauge-step", "thermometer-step"))
            )  # "Or ..." comes last
        except ValueError:
            outcome, reasons = "could-not-tell", ("readings-implausible",)
        if test.bubbles == "found":
            outcome, reasons, helps = (
                "leak",
                ("bubbles-found", *reasons),
                tuple(dict.fromkeys((Help("find-and-repair"), *helps))),
            )
    if outcome in ("pass", "could-not-tell"):
        short = tuple(_as_asked(test, rows))
        if short:
            outcome, reasons = "could-not-tell", (*reasons, *short)
        if "figures-not-known" in short:
            helps = (Help("ask-for-figures"), *helps)
    if test.kind in ("piping", "appliances") and test.medium == "propane" and "medium-not-asked" in reasons:
        outcome, reasons, helps = "danger", ("fuel-gas", *(r for r in reasons if r != "medium-not-asked")), ()
    used = test.bubbles in ("none", "found") and test.kind not in ("container-side", "flow")
    start = float(test.readings[0].pressure) if used else None
    factor = sealed_line.service_factor(medium, start, service, air) if start is not None else None
    fluid = next(m.smallest for m in leak_methods() if m.id == "bubble-fluid")
    return Judged(
        index=index,
        test=test,
        rows=rows,
        outcome=outcome,
        reasons=reasons,
        helps=helps,
        verdict=made,
        instruments=instruments,
        asked_pressure=asked_pressure,
        asked_hold=asked_hold,
        volume=volume,
        connected=connected,
        fluid_visible=fluid * factor if fluid is not None and factor is not None else None,
        current=True,
    )


def _as_asked(test: Test, rows: tuple[AskedTest, ...]) -> Iterator[str]:
    """What keeps a test without a loss from being the one the row asks."""
    if not rows:
        yield "no-row"
    step = float(test.gauge.resolution) if test.gauge is not None and test.gauge.resolution is not None else None
    found = set()
    for asked in rows:
        row = asked.test
        if test.kind == "piping" and asked.pressure is None:
            found.add("figures-not-known")
        if test.medium is None:
            found.add("medium-not-stated")
        elif not set(MEDIA[test.medium]) & set(row.medium):
            found.add("medium-not-asked")
        if test.kind == "container-side":
            continue
        if step is not None and row.gauge.resolution is not None and step > row.gauge.resolution * (1 + 1e-9):
            found.add("gauge-coarser-than-asked")
        if test.kind == "flow":
            if step is None:
                found.add("no-gauge-step")
            continue
        highest, start = asked.highest, float(test.readings[0].pressure)
        if highest is not None and start > highest * (1 + 1e-9) + (step or 0.0) / 2:
            found.add("pressure-too-high")
    yield from sorted(found)


def _readings(test: Test) -> list[sealed_line.Reading]:
    zero = started(test)
    return [
        sealed_line.Reading(
            time=(dt.datetime.combine(r.date or test.date, r.time) - zero).total_seconds(),
            gauge=float(r.pressure),
            temperature=float(r.temperature) if r.temperature is not None else None,
            barometer=float(r.barometer) if r.barometer is not None else None,
        )
        for r in test.readings
    ]


def _instruments(test: Test) -> Resolution:
    """The steps of a test's instruments; the clock's is a minute where all times are whole minutes."""
    gauge = test.gauge
    return Resolution(
        gauge=float(gauge.resolution) if gauge is not None and gauge.resolution is not None else None,
        thermometer=float(test.thermometer) if test.thermometer is not None else None,
        barometer=float(test.barometer) if test.barometer is not None else sealed_line.BAROMETER_STEP,
        clock=60.0 if all(r.time.second == 0 for r in test.readings) else 1.0,
    )


def help_text(found: Help, system: units.System) -> str:
    """What would settle the matter, as an instruction."""
    value = found.value
    if found.code == "hold-for":
        minutes = -(-int(value or 0) // 60)
        return f"Hold for at least {minutes} min with the same instruments."
    if found.code == "raise-to":
        return f"Begin at {units.show(value or 0.0, units.pressure_kind(value or 0.0, system), system)} or more."
    if found.code == "gauge-step":
        return (
            f"Or use a gauge that reads in steps of at most {_down(value or 0.0, 'drop', system)}, with the same hold."
        )
    if found.code == "thermometer-step":
        return f"Or use a thermometer that reads in steps of at most {_down(value or 0.0, 'temperature step', system)}, with the same hold."
    return {
        "find-and-repair": "Find it with leak fluid, repair it, and test again from the start.",
        "close-container-valve": "Shut the container valve, or have it seen to, and repeat.",
        "repeat-at-steady-temperature": "Repeat at a steady temperature: sun and hands off the line, and time to settle.",
        "record-temperature": "Tape a thermometer to the line and record it with every reading.",
        "state-gauge-step": "Record the smallest step of the gauge, as 'gauge: {resolution: ...}'.",
        "state-thermometer-step": "Record the smallest step of the thermometer, as 'thermometer:'.",
        "record-barometer": "Record a local barometer with every reading, and its step.",
        "ask-for-figures": "Ask whoever signs which pressure and time hold here, and whether this test was enough.",
        "read-twice": "Read at the beginning and at the end of the hold.",
        "check-times": "Check the times, and add dates where a test went on after midnight.",
        "test-the-vapour-side": "Test where no liquid can be: behind the regulator, or with air.",
        "see-to-the-regulator": "Read again with another gauge. If it stays so, have the regulator and the line seen to by a "
        "licensed person. Never turn a regulator up or down to make a number come right.",
        "state-burning": "Record with each reading what burned, as 'burning: half' or 'burning: none'.",
        "state-zone": "Record behind which regulator it was read, as 'zone:'.",
        "read-in-use": "Read with about half the load burning.",
        "read-at-lock-up": "Read with every burner off.",
        "finer-gauge": "Read it again on a gauge with finer steps.",
        "state-plates": "Add 'min_inlet:' and 'max_inlet:' from the plate of each appliance.",
    }[found.code]


def _down(value: float, kind: str, system: units.System) -> str:
    """The quantity rounded down to what the kind shows, so that what is printed is enough."""
    text = units.show(value, kind, system)
    number, _, unit = text.rpartition(" ")
    step = 0.01
    shown = float(number.replace(",", ""))
    exact = units.convert(value, "pressure" if kind == "drop" else "temperature difference", unit)
    return text if shown <= exact else f"{max(shown - step, 0.0):.2f} {unit}"


def test_name(judged: Judged) -> str:
    """What a test is called in a finding: its row's name, or its kind, and its date."""
    row = judged.row
    name = row.test.name if row is not None else judged.test.kind.replace("-", " ")
    return f"{name}, {judged.test.date.isoformat()}"


def verdict_findings(judged: tuple[Judged, ...], system: units.System) -> Iterator[Finding]:
    """One finding for each current test that did not pass."""
    for j in judged:
        if not j.current or j.outcome in ("pass", "shown", "danger"):  # that one has a finding of its own
            continue
        helps = " ".join(help_text(h, system) for h in j.helps)
        unasked = bool({"no-row", "flow-no-row"} & set(j.reasons))
        again = "Ask who signs whether the record counts." if unasked else "Make the test again as its rule asks."
        remedy = helps or again
        said = f"{test_name(j)}: {OUTCOME_WORDS[j.outcome].lower()}."
        # The plates decide; a row's own range for delivered pressure is common practice or from memory.
        doubtful = j.outcome == "could-not-tell" or (
            j.outcome == "outside" and not {"above-plate", "below-plate"} & set(j.reasons)
        )
        make = warning if doubtful else error
        code = {"leak": "test-leak", "suspected-leak": "test-suspected-leak", "outside": "test-pressure-outside"}.get(
            j.outcome, "test-could-not-tell"
        )
        yield make(
            code,
            f"test-{j.index + 1}",
            ("tests", j.index),
            said,
            " ".join(j.words),
            ("Shut the container. " if make is error else "") + remedy,
            str(j.row.test.citation) if j.row is not None else None,
        )


# --- delivered pressure -----------------------------------------------------------------------------------------------

HELPS = {
    "burning-not-stated": "state-burning",
    "zone-not-stated": "state-zone",
    "no-reading-in-use": "read-in-use",
    "no-reading-at-lock-up": "read-at-lock-up",
    "plates-not-stated": "state-plates",
    "near-a-limit": "finer-gauge",
    "no-pressure-at-lock-up": "read-at-lock-up",
    "lock-up-below-burning": "read-at-lock-up",
    "low-with-all-burning": "state-plates",
}
"""What would settle it."""


def judge_flow(test: Test, rows: tuple[AskedTest, ...]) -> tuple[str, tuple[str, ...], tuple[Help, ...]]:
    """Outcome ("pass", "outside", "could-not-tell", or "shown" without a row), reasons and what would settle it."""
    if not rows:
        return "shown", ("flow-no-row",), ()
    if len({row.zone for row in rows}) > 1:
        return "could-not-tell", ("zone-not-stated",), (Help("state-zone"),)
    row = rows[0]
    step = float(test.gauge.resolution) if test.gauge is not None and test.gauge.resolution is not None else 0.0
    readings = [reading for reading in test.readings if not _impossible(reading, test)]
    wrong = {reason for reading in readings for reason in _outside(reading, row, step / 2)}
    near = any(reason not in wrong for reading in readings for reason in _outside(reading, row, 0.0))
    if wrong:
        return "outside", tuple(reason for reason in OUTSIDE if reason in wrong), (Help("see-to-the-regulator"),)
    missing = (*_open(test, row), *(("near-a-limit",) if near else ()))
    if missing:
        return "could-not-tell", missing, tuple(dict.fromkeys(Help(HELPS[reason]) for reason in missing))
    return "pass", ("read-at-the-gauge", *(() if all(row.all_stated) else ("rule-alone",))), ()


def _impossible(reading: Reading, test: Test) -> bool:
    """Whether a reading with nothing burning cannot be one: no pressure at all, or less than with gas burning. It is no
    ground to call a pressure too low."""
    pressure = float(reading.pressure)
    return reading.burning == "none" and (pressure <= 0.0 or pressure < max(_burning(test), default=pressure))


def _burning(test: Test) -> list[float]:
    return [float(reading.pressure) for reading in test.readings if reading.burning in ("half", "all")]


def _outside(reading: Reading, row: AskedTest, blur: float) -> Iterator[str]:
    """The limits a reading is beyond by more than half a step of the gauge. One of which it is not said what burned is
    held to those that no state may pass: with less burning a pressure only rises, with more it only falls."""
    least, most = row.plates
    gauge, burning = float(reading.pressure), reading.burning

    def above(limit: float | None) -> bool:
        return limit is not None and gauge > limit * (1 + 1e-9) + blur

    def below(limit: float | None) -> bool:
        return limit is not None and gauge < limit * (1 - 1e-9) - blur

    if above(row.plates_shut if burning == "none" else most):
        yield "above-plate"
    elif above(most):
        yield "shut-above-plate"
    if below(least):
        yield "below-plate"
    if row.test.pressure.by_plates:
        low = high = None
    else:
        low, high = row.pressure, row.highest
    if burning == "half":
        if above(high):
            yield "above-range"
        if below(low):
            yield "below-range"
    if burning == "all" and above(high):
        yield "above-range"
    if above(row.test.pressure.lock_up):
        yield "lock-up-above-rule"
    if above(row.lock_up):
        yield "lock-up-above-own"


def _open(test: Test, row: AskedTest) -> Iterator[str]:
    """What keeps readings within their limits from telling anything."""
    burning = [reading.burning for reading in test.readings]
    if None in burning:
        yield "burning-not-stated"
    else:
        if "half" not in burning:
            yield "no-reading-in-use"
        if "none" not in burning:
            yield "no-reading-at-lock-up"
    shut = [float(reading.pressure) for reading in test.readings if reading.burning == "none"]
    if min(shut, default=1.0) <= 0.0:
        yield "no-pressure-at-lock-up"
    elif shut and min(shut) < max(_burning(test), default=min(shut)):
        yield "lock-up-below-burning"
    rule = row.test.pressure
    all_on = [float(reading.pressure) for reading in test.readings if reading.burning == "all"]
    if (
        not rule.by_plates
        and row.pressure is not None
        and not row.all_stated[0]
        and min(all_on, default=row.pressure) < row.pressure
    ):
        yield "low-with-all-burning"
    own = (False, False) if rule.by_plates else (row.pressure is not None, rule.lock_up is not None)
    if not all(stated or has for stated, has in zip(row.all_stated, own, strict=True)):
        yield "plates-not-stated"
