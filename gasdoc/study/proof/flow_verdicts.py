"""Recorded readings of delivered pressure judged: against the range the region's row names and the appliances' plates.

A reading counts by what burned while it was taken. Every one has to be between the least and the greatest of the plates
and no higher than the row's lock-up and the regulator's own, for the more burns the lower a pressure is. With about half
the load on it has to be in the row's range, and with more on no higher than that. Beyond a limit by no more than half a
step of the gauge nothing can be told. A reading with nothing burning that is below one with gas burning, or at nothing,
cannot be what it says, and shows no pressure to be too low. What was read at a test point is not what reaches an appliance: the line takes its
share, so a pass here says nothing of that.
"""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.build.model import Reading, Test
from gasdoc.engineering.proof.leak_test import Help
from gasdoc.study.proof.leak_test import AskedTest

OUTSIDE = {
    "above-plate": "The pressure was above the greatest that the plate of an appliance allows.",
    "below-plate": "The pressure was below the least that the plate of an appliance asks.",
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

    if above(most):
        yield "above-plate"
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
