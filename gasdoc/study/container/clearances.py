"""The distances around a container, however it is held: what is asked, what this build has, what is not stated."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from msgspec import Struct

from gasdoc import units
from gasdoc.catalog.mounting import mounting
from gasdoc.quantities import Metre, Shown
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, moves, setting, stands_in, system
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.words import in_sentence

Answer = Literal["asked", "under the limit", "over the limit", "limit from memory", "no limit known"]


class Clearance(Struct, frozen=True):
    """A distance around the container: `value` m, None where the spec does not give it; `limit` m and `citation` of the
    limit known for this region, if there is one. `placed` in m is what the places of both come to, None where one has none;
    it stands for a value that is not stated."""

    measure: str
    asks: str
    value: Metre | None
    limit: Metre | None
    citation: Citation | None
    placed: Metre | None = None

    @property
    def answer(self) -> Shown[Answer]:
        """What can be said of it. A limit from memory is never said to be kept."""
        if self.value is None:
            return "asked"
        if self.limit is None or self.citation is None:
            return "no limit known"
        if self.value < self.limit * (1 - 1e-9):
            return "under the limit"
        return "limit from memory" if self.citation.confirmed == "memory" else "over the limit"


def clearances(build: Installation) -> Iterator[Clearance]:
    """Every distance that is asked around a container of this build: of the fill point only where it is filled in place."""
    container = build.spec.container
    kind = "tank" if build.container_kind.stays == "permanent" else "cylinder"
    for row in mounting().clearances:
        value, by_places = getattr(container.clearances, row.measure, None), placed(build, row.measure)
        if not stands_in(build, row.where) and value is None and by_places is None:
            continue
        if row.measure.startswith("fill_") and (container.stays is False or build.container_kind.stays == "exchanged"):
            continue
        limit = next(
            (
                limit
                for limit in row.limits
                if build.region.practice.takes(limit.practice)
                and limit.kind in (None, kind)
                and limit.place in (None, container.place)
            ),
            None,
        )
        yield Clearance(
            row.measure,
            row.asks,
            by_places if value is None else float(value),
            None if limit is None else float(limit.limit),
            None if limit is None else limit.citation,
            by_places,
        )


_TO = {
    "opening": ("door", "window", "hatch", "vent"),
    "ignition": ("flue", "ignition"),
    "intake": ("intake",),
    "exhaust": ("exhaust",),
}
"""Which kinds of opening a distance goes to."""


def placed(build: Installation, measure: str) -> float | None:
    """A distance as the places of a spec give it, straight across, m: from the relief valve, the fill point or the regulator's
    vent to the nearest opening of a kind. An opening that lies higher does not count, but for doors, which reach down. None where one has no place."""
    container = build.spec.container
    source, _, target = measure.partition("_to_")
    vent = build.spec.regulator.vent_at
    start = {"relief": container.relief_at, "fill": container.fill_at, "vent": vent}.get(source)
    if start is None or target not in _TO:
        return None
    return min(
        (
            math.dist(start, opening.at)
            for opening in build.spec.openings
            if opening.kind in _TO[target]
            and (target != "opening" or opening.kind == "door" or opening.at[2] <= start[2])
        ),
        default=None,
    )


def clearance_findings(build: Installation, around: Sequence[Clearance]) -> Iterator[Finding]:
    """Distances under their limit, and those that nobody has measured."""
    container, shown = build.spec.container, system(build)
    block = ("container", "clearances")
    for clearance in around:
        if clearance.answer == "under the limit" and clearance.limit is not None and clearance.value is not None:
            memory = clearance.citation is not None and clearance.citation.confirmed == "memory"
            yield (warning if memory else error)(
                "clearance-small",
                "container",
                (*block, clearance.measure),
                f"{clearance.asks}: {units.show(clearance.value, 'distance', shown)}; "
                f"{units.show(clearance.limit, 'distance', shown)} is asked.",
                "Gas let off by the valve, or spilt in filling, must not reach a flame or the inside. What hangs low is torn "
                "off.",
                "Ask the authority which figure holds, and move it.",
                str(clearance.citation),
            )
        elif clearance.answer == "no limit known":
            yield from _less_than_elsewhere(build, clearance)
    where = setting(build)
    unmeasured = [c for c in around if c.answer == "asked"]
    missing = [c.asks[0].lower() + c.asks[1:] for c in unmeasured]
    parts = []
    if unmeasured:
        keys = in_sentence(f"'{c.measure}:'" for c in unmeasured)
        parts.append(f"under 'clearances:' {keys}")
    if where in ("vehicle", "trailer") and container.behind_rear_axle is None:
        missing.append("whether it hangs behind the rear axle")
        parts.append("'behind_rear_axle:'")
    for clearance in around:
        yield from _placed_otherwise(build, clearance)
    # On a road all of them are asked; where it stands still or floats, those that are limited here.
    limited = [c for c in around if c.answer == "asked" and c.limit is not None]
    if missing and (where in ("vehicle", "trailer") or limited):
        yield (warning if moves(build) else note)(
            "clearances-unknown",
            "container",
            block if container.clearances is not None else ("container",),
            f"Not stated: {'; '.join(missing)}.",
            "The authority will ask for these distances. Without them nothing can be checked.",
            f"Measure, and add to the container: {'; '.join(parts)}.",
        )
    yield from _not_described(build)
    if container.behind_rear_axle:
        yield warning(
            "behind-rear-axle",
            "container",
            ("container", "behind_rear_axle"),
            "The container hangs behind the rear axle.",
            "There it is hit in a rear-end collision and on ramps. Many rules want it higher there, or shielded.",
            "Ask the authority, and the chassis maker, before it is hung there.",
            "from memory, not confirmed",
        )


def _less_than_elsewhere(build: Installation, clearance: Clearance) -> Iterator[Finding]:
    """A distance for which this region has no figure, and which is less than any figure known of the same valve, whatever it is
    to."""
    valve = clearance.measure.partition("_")[0]
    known = [limit for row in mounting().clearances if row.measure.partition("_")[0] == valve for limit in row.limits]
    least = min(known, key=lambda limit: float(limit.limit), default=None)
    if least is None or clearance.value is None or clearance.value >= float(least.limit) * (1 - 1e-9):
        return
    shown = system(build)
    yield warning(
        "clearance-doubtful",
        "container",
        ("container", "clearances") if build.spec.container.clearances is not None else ("container",),
        f"{clearance.asks}: {units.show(clearance.value, 'distance', shown)}. No figure is known for it here. The least of "
        f"such distances that is asked elsewhere is {units.show(float(least.limit), 'distance', shown)}.",
        "Gas let off by the valve, or spilt in filling, must not reach a flame or the inside. What hangs low is torn off.",
        "Ask the authority which figure holds here, and move it.",
        str(least.citation),
    )


SHARE, LEAST = 0.05, 0.05
"""A distance and what the places give may differ by 5 %, or 50 mm where that is more (our choice)."""


def _placed_otherwise(build: Installation, clearance: Clearance) -> Iterator[Finding]:
    """A distance that is stated and that the places give otherwise."""
    stated = getattr(build.spec.container.clearances, clearance.measure, None)
    if stated is None or clearance.placed is None or abs(stated - clearance.placed) <= max(SHARE * stated, LEAST):
        return
    yield warning(
        "clearance-placed-otherwise",
        "container",
        ("container", "clearances", clearance.measure),
        f"{clearance.asks}: {stated.text} is stated, and by the places it is "
        f"{units.show(clearance.placed, 'distance', system(build))}.",
        "One of the two is wrong, and the smaller one may be too small.",
        "Measure it again, to the nearest edge.",
    )


def _not_described(build: Installation) -> Iterator[Finding]:
    """A locker or non-return valves that a row of the region is about, and of which the spec says nothing."""
    container, rules = build.spec.container, build.region.rules
    if container.place == "locker":
        yield from _locker(build)
    returns = [rule for rule in rules if rule.measure == "non-return"]
    if container.number > 1 and container.non_return is None and returns:
        yield note(
            "non-return-unknown",
            "container",
            ("container", "number"),
            "Whether each of the connected containers has a non-return valve is not stated.",
            "Without one, a hose taken off one container lets the gas of the others out.",
            "Look at changeover, wall block and hoses, and add 'non_return:' to the container.",
            str(returns[0].citation),
        )


_OF_A_LOCKER = {
    "locker-vent-share": ("length", "width", "vent_high", "vent_low"),
    "locker-smaller-vent-share": ("length", "width", "vent_high", "vent_low"),
    "locker-vent-area": ("vent_high", "vent_low"),
    "locker-drain": ("drain",),
    "locker-drain-height": ("drain_above_water",),
    "locker-to-opening": ("to_opening",),
}
"""What of a locker each measure of a rule is worked out from."""


def _locker(build: Installation) -> Iterator[Finding]:
    """A locker of which the spec does not say what rules of the region ask, or out of which gas cannot run."""
    locker = build.spec.container.locker
    rules = [rule for rule in build.region.rules if rule.condition == "locker" and stands_in(build, rule.where)]
    missing = {
        f"'{key}:'": rule
        for rule in rules
        for key in _OF_A_LOCKER.get(rule.measure or "", ())
        if getattr(locker, key, None) is None
    }
    if missing:
        first = next(iter(missing.values()))
        yield (warning if locker is not None and moves(build) else note)(
            "locker-unknown",
            "container",
            ("container", "place") if locker is None else ("container", "locker"),
            "The locker's size, vents and drain are not stated."
            if locker is None
            else f"Not stated of the locker: {in_sentence(missing)}.",
            first.asks,
            "Measure it inside and add 'locker:' to the container."
            if locker is None
            else "Measure it inside and add them.",
            str(first.citation),
        )
    if locker is None:
        return
    if locker.vent_low == 0.0 and not locker.drain:
        yield error(
            "locker-closed",
            "container",
            ("container", "locker", "vent_low"),
            "The locker has no opening at its floor.",
            "Propane sinks. What leaks in the locker stays in it, and a spark there is an explosion.",
            "Open it at its floor to outdoors only, or add 'drain:' if it has one.",
            _BOTH_ENDS,
        )
    if locker.vent_high == 0.0:
        yield warning(
            "locker-closed",
            "container",
            ("container", "locker", "vent_high"),
            "The locker has no opening near its top.",
            "Without one no air comes in, and what leaks runs out slowly.",
            "Open it near its top to outdoors only. If its lid lets air in all round, state that area.",
            _BOTH_ENDS,
        )


_BOTH_ENDS = (
    "NFPA 58 (2014/2017) 6.24.3.3: vented at top and bottom; workboat guidance on ISO 10239: vented near the top, with a drain "
    "(each read in one public text)"
)
