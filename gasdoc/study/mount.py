"""What holds the container on: static loads in six directions against its bolts, and the distances around it.

Only the bolts are worked out. Brackets, straps, welds, sheet and frame are not, and nothing here says that they hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from gasdoc import units
from gasdoc.catalog import files
from gasdoc.catalog.bolts import Bolt, bolt
from gasdoc.engineering.mounting import (
    DIRECTIONS,
    BoltGroup,
    Direction,
    Load,
    Requirement,
    Surface,
    filled_mass,
    mount_loads,
    severest,
)
from gasdoc.engineering.vessel import centroid_height
from gasdoc.source import Citation
from gasdoc.spec.model import Mount as Given
from gasdoc.study.container import Container
from gasdoc.study.facts import moves, setting, stands_in, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.resolve import Resolved

MEASURE = "mount-load-multiple"

_SURFACES: dict[str, Surface] = {
    "floor": "below",
    "overhead": "above",
    "front-wall": "front",
    "rear-wall": "rear",
    "left-wall": "left",
    "right-wall": "right",
}

NOT_CHECKED = (
    "brackets, straps and their bending",
    "welds",
    "the sheet, floor or frame the bolts go through, and washers on it",
    "bolts bent across a spacer",
    "fatigue and rust",
)
"""What a builder must have judged by someone competent."""

Answer = Literal["asked", "under the limit", "limit from memory", "no limit known"]


@dataclass(frozen=True, slots=True)
class Check:
    """The bolts against one rule: `asks` and `citation` of the rule, `beside` where it is not the region's own.

    `multiple` of the filled weight, with `safety_factor` on proof or tensile strength. `carried` is the multiple the
    worst loaded bolt allows in the weakest of the directions the rule is for.
    """

    rule: str
    asks: str
    multiple: float
    safety_factor: float
    strength: Literal["proof", "tensile"]
    citation: Citation
    beside: bool
    loads: tuple[Load, ...]

    @property
    def worst(self) -> Load:
        """The direction in which the bolts are nearest to their limit, or farthest beyond it."""
        return severest(self.loads)

    @property
    def carried(self) -> float:
        """The multiple of the filled weight at which the first bolt reaches its limit: loads grow in proportion."""
        return self.multiple / self.worst.utilisation if self.worst.utilisation > 0 else float("inf")


@dataclass(frozen=True, slots=True)
class Clearance:
    """A distance around the container: `value` m, None where the spec does not give it; `limit` m and `citation` of the
    limit known for this region, if there is one."""

    measure: str
    asks: str
    value: float | None
    limit: float | None
    citation: Citation | None

    @property
    def answer(self) -> Answer:
        """What can be said of it. No limit here is confirmed, so none is ever said to be kept."""
        if self.value is None:
            return "asked"
        if self.limit is None:
            return "no limit known"
        return "under the limit" if self.value < self.limit * (1 - 1e-9) else "limit from memory"


@dataclass(frozen=True, slots=True)
class Mount:
    """The mount of one container. `mass` kg filled, `centre` m from the plane of the bolts to the filled centre of gravity
    (spacer included); no checks where the region asks no multiple."""

    given: Given
    bolt: Bolt
    count: int
    mass: float
    centre: float
    checks: tuple[Check, ...]

    @property
    def worst(self) -> Check | None:
        """The region's own rule that leaves the bolts least."""
        own = [check for check in self.checks if not check.beside]
        return max(own, key=lambda check: check.worst.utilisation, default=None)


def mount(resolved: Resolved, held: Container) -> Mount | None:
    """The bolts against the region's rules; None where the spec has no mount. The bolt was looked up in `resolve`."""
    given = resolved.build.spec.container.mount
    if given is None:
        return None
    chosen = bolt(given.thread, given.grade, given.bolt_length)
    mass = filled_mass(held.shape.heavy, held.heaviest_fuel, float(given.fittings or 0.0))
    height = centre_height(given, held)
    positions = tuple((float(u), float(v)) for u in given.along for v in given.across)
    spacer = float(given.spacer or 0.0)

    def check(
        rule: str,
        asks: str,
        multiple: float,
        citation: Citation,
        beside: bool,
        safety_factor: float = 1.0,
        strength: Literal["proof", "tensile"] = "proof",
    ) -> Check:
        tension = chosen.proof_load if strength == "proof" else chosen.tensile_load
        group = BoltGroup(_SURFACES[given.surface], positions, tension, spacer)
        asked = Requirement(multiple, safety_factor, citation.confirmed == "memory")
        middle = (sum(p[0] for p in positions) / len(positions), sum(p[1] for p in positions) / len(positions))
        loads = mount_loads(group, mass, (*middle, height), dict.fromkeys(_directions(rule), asked))
        return Check(rule, asks, multiple, safety_factor, strength, citation, beside, loads)

    checks = []
    for rule in resolved.region.rules_for(MEASURE):
        if not stands_in(resolved.build, rule.where):
            continue
        fixed = rule.condition in ("fixed-tank", "fixed-tank-sideways")
        if isinstance(rule.limit, float | int) and not (fixed and resolved.kind.stays != "permanent"):
            checks.append(check(rule.id, rule.asks, float(rule.limit), rule.citation, rule.alternative))
    for row in _data()["beside"]:
        if resolved.region.id in row["regions"]:
            cited = Citation(row["citation"], row["confirmed"])
            checks.append(
                check(
                    "beside",
                    row["asks"],
                    float(row["multiple"]),
                    cited,
                    True,
                    float(row["safety_factor"]),
                    row["strength"],
                )
            )
    return Mount(given, chosen, len(positions), mass, height + spacer, tuple(checks))


def centre_height(given: Given, held: Container) -> float:
    """The filled centre of gravity above the container's feet, m, square to the mounting surface.

    On a floor the liquid of a full container lies lower than its middle; shell, fittings and, on any other surface, the
    liquid too are taken at its middle.
    """
    shell = held.shape.heavy + float(given.fittings or 0.0)
    liquid = float(given.height)
    if given.surface == "floor":
        vessel = held.shape.vessel
        tall = vessel.length if vessel.orientation == "upright" else vessel.diameter
        liquid += centroid_height(vessel, held.fill * vessel.volume) - tall / 2
    return max(0.0, (shell * float(given.height) + held.heaviest_fuel * liquid) / (shell + held.heaviest_fuel))


def times(multiple: float) -> str:
    """A multiple of the filled weight in words: two figures, rounded down; more are not in such a model."""
    if not math.isfinite(multiple) or multiple <= 0:
        return f"{multiple:g}"
    unit = 10.0 ** (math.floor(math.log10(multiple) + 1e-12) - 1)
    return f"{math.floor(multiple / unit + 1e-9) * unit:.{0 if unit >= 1 else 1 if unit > 0.05 else 2}f}"


def _directions(rule: str) -> Sequence[Direction]:
    named: Sequence[Direction] = _data()["directions"].get(rule, tuple(DIRECTIONS))
    return named


def _data() -> dict[str, Any]:
    raw: dict[str, Any] = files.load("mounting.yaml")
    return raw


def clearances(resolved: Resolved) -> tuple[Clearance, ...]:
    """Every distance that is asked around a container of this build; what only a vehicle has is not asked of a cabin."""
    given = resolved.build.spec.container.mount
    around = given.clearances if given is not None else None
    found = []
    for row in _data()["clearances"]:
        measure = row["measure"]
        if not moves(resolved.build) and (measure == "ground_clearance" or measure.endswith("_exhaust")):
            continue
        if measure.startswith("fill_") and resolved.kind.stays == "exchanged":
            continue
        value = getattr(given if measure == "ground_clearance" else around, measure, None)
        limits = [limit for limit in row["limits"] if resolved.region.id in limit["regions"]]
        limit = float(units.parse(limits[0]["limit"], "length")) if limits else None
        citation = Citation(limits[0]["citation"], limits[0]["confirmed"]) if limits else None
        found.append(Clearance(measure, row["asks"], None if value is None else float(value), limit, citation))
    return tuple(found)


def mount_findings(resolved: Resolved, found: Mount | None, around: Sequence[Clearance]) -> Iterator[Finding]:
    """What the mount gives cause to say."""
    spec, shown = resolved.build.spec, system(resolved.build)
    at = ("container", "mount")
    asked = resolved.region.rules_for(MEASURE)
    if found is None:
        if moves(resolved.build) and asked and spec.container.place in ("chassis", "drawbar", None):
            yield warning(
                "mount-unknown",
                "container",
                ("container",),
                "What holds the container on is not stated.",
                f"{asked[0].asks} Whether this one's bolts do cannot be worked out.",
                "Add 'mount:' with its bolts; have brackets and welds judged by someone competent.",
                str(asked[0].citation),
            )
        return
    for check in found.checks:
        if check.beside:
            continue
        worst = check.worst
        if worst.standing == "not-met":
            memory = check.citation.confirmed == "memory"
            detail = (
                "they cannot hold it at all: they stand in one line or point"
                if worst.reason == "no-lever-arm"
                else f"they carry {times(check.carried)} times"
            )
            yield (warning if memory else error)(
                "mount-bolts",
                "container",
                at,
                f"{check.multiple:g} times the filled weight ({units.show(found.mass, 'weight', shown)}) is asked; "
                f"{worst.direction} the {found.count} bolts {found.bolt.thread}, {found.bolt.grade}, are beyond their proof "
                f"strength: {detail}.",
                check.asks,
                "More, larger or stronger bolts, farther apart; a lower centre of gravity; no thick spacers. A "
                "structural judgment belongs to someone competent.",
                str(check.citation),
            )
    for clearance in around:
        if clearance.answer == "under the limit" and clearance.limit is not None and clearance.value is not None:
            yield warning(
                "clearance-small",
                "container",
                (*at, clearance.measure)
                if clearance.measure == "ground_clearance"
                else (*at, "clearances", clearance.measure),
                f"{clearance.asks}: {units.show(clearance.value, 'short length', shown)}; "
                f"{units.show(clearance.limit, 'short length', shown)} is asked.",
                "Gas let off by the valve, or spilt in filling, must not reach a flame or the inside; what hangs low is torn "
                "off.",
                "Ask the authority which figure holds, and move it.",
                str(clearance.citation),
            )
    if found.given.behind_rear_axle:
        yield warning(
            "behind-rear-axle",
            "container",
            (*at, "behind_rear_axle"),
            "The container hangs behind the rear axle.",
            "There it is hit in a rear-end collision and on ramps; many rules want it higher there, or shielded.",
            "Ask the authority, and the chassis maker, before it is hung there.",
            "from memory, not confirmed",
        )
    if setting(resolved.build) in ("vehicle", "trailer"):
        missing = [c.asks[0].lower() + c.asks[1:] for c in around if c.answer == "asked"]
        if found.given.behind_rear_axle is None:
            missing.append("whether it hangs behind the rear axle")
        if missing:
            yield warning(
                "clearances-unknown",
                "container",
                at,
                f"Not stated: {'; '.join(missing)}.",
                "The authority will ask, and nothing can be said of what is not measured.",
                "Measure and add them under 'mount:'.",
            )
