"""A region's rules against the build: what each asks, what this build has, and who decides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from gasdoc import units
from gasdoc.regions import MEASURES, Rule
from gasdoc.study.container import Container
from gasdoc.study.facts import moves, served, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.resolve import Resolved
from gasdoc.study.sizing import ZoneSizing
from gasdoc.study.zones import Zone

Outcome = Literal["met by the numbers", "not met", "not known", "for a licensed person"]

COOKING = ("cooker", "oven", "griddle", "fryer")

PLACES = {"outdoors": "outside", "chassis": "outside", "drawbar": "outside", "locker": "sealed-compartment",
          "inside": "inside"}  # fmt: skip
"""A spec's word for the place of a container in the words the rules use."""


@dataclass(frozen=True, slots=True)
class Ruling:
    """One rule and this build: `has` says in words what the build has, None where the spec does not tell."""

    rule: Rule
    has: str | None
    outcome: Outcome


Value = float | str | None


def rulings(
    resolved: Resolved, zones: tuple[Zone, ...], sized: tuple[ZoneSizing, ...], held: Container, worst_drop: float | None
) -> tuple[Ruling, ...]:
    """Every rule of the region with what the build has. `worst_drop` in Pa is the largest drop to an outlet."""
    values = _measures(resolved, zones, held, worst_drop)
    present = _present(resolved, sized)
    return tuple(_ruling(resolved, rule, values) for rule in resolved.region.rules if _concerns(rule, values, present))


def _concerns(rule: Rule, values: dict[str, Value], present: frozenset[str]) -> bool:
    """Whether the build has what a row is about: its condition holds, and what it counts is there at all."""
    if rule.condition is not None and rule.condition not in present:
        return False
    counted = rule.measure is not None and rule.relation is None and rule.method is None
    return not (counted and values.get(rule.measure or "") == 0.0)


def _present(resolved: Resolved, sized: tuple[ZoneSizing, ...]) -> frozenset[str]:
    """The conditions of `gasdoc.regions` that hold for this build."""
    found = {"fixed-tank", "fixed-tank-sideways"} if resolved.kind.stays == "permanent" else {"cylinder"}
    for s in served(resolved.build):
        found.add("cooking" if s.appliance.kind in COOKING else "not-cooking")
        if s.outlet.connector is not None and s.outlet.connector.kind == "rigid":
            found.add("rigid")
    for run in (run for zone in sized for run in zone.runs if run.size is not None):
        assert run.size is not None
        if run.material == "csst":
            ehd = int(run.size.id.removeprefix("EHD "))
            found.add("csst-three-eighths-inch" if ehd < 18 else "csst-half-inch" if ehd < 23 else "csst-larger")
        elif run.material == "steel":
            found.add("rigid")
            across = run.size.od or 0.0
            found.add("steel-half-inch" if across < 0.025 else "steel-to-one-inch" if across < 0.036 else "steel-larger")
        else:
            across = run.size.od or 0.0
            found.add("tubing-half-inch" if across < 0.0145 else "tubing-to-three-quarter-inch" if across < 0.0205
                      else "tubing-larger")  # fmt: skip
    return frozenset(found)


def _ruling(resolved: Resolved, rule: Rule, values: dict[str, Value]) -> Ruling:
    key = rule.measure
    if rule.condition in ("cooking", "not-cooking") and key is not None:
        key = f"{key}:{rule.condition}"
    value = values.get(key) if key is not None else None
    has = _words(rule, value, system(resolved.build)) if value is not None else None
    judged = rule.relation is not None and rule.limit is not None and rule.method is None
    if key is None or not judged or rule.alternative or key not in values:
        return Ruling(rule, has, "for a licensed person")
    if value is None:
        return Ruling(rule, None, "not known")
    if not _holds(rule, value):
        return Ruling(rule, has, "not met")
    if rule.citation.confirmed == "memory":
        return Ruling(rule, has, "for a licensed person")
    return Ruling(rule, has, "met by the numbers")


def _holds(rule: Rule, value: float | str) -> bool:
    if isinstance(rule.limit, tuple):
        return value in rule.limit
    assert isinstance(value, float | int) and rule.limit is not None
    slack = 1e-9 * abs(rule.limit)
    return value <= rule.limit + slack if rule.relation == "at-most" else value >= rule.limit - slack


def _words(rule: Rule, value: float | str, shown: units.System) -> str:
    if isinstance(value, str):
        return value
    dimensions = MEASURES[rule.measure or ""].dimensions
    if not dimensions:
        return f"{value:g}"
    kind = {"pressure": "supply pressure", "length": "short length", "volume": "liquid volume", "area": "area"}[dimensions[0]]
    return units.show(value, kind, shown)


def _measures(
    resolved: Resolved, zones: tuple[Zone, ...], held: Container, worst_drop: float | None
) -> dict[str, Value]:
    """What the build has of each measure that can be read off it; a measure left out is for a person to judge."""
    build, spec = resolved.build, resolved.build.spec
    found: dict[str, Value] = {
        "sizing-drop": worst_drop,
        "container-count": float(spec.container.number),
        "container-water-capacity": held.water_capacity,
        "container-place": PLACES[spec.container.place] if spec.container.place is not None else None,
        "container-service": spec.container.service,
        "orientation": _orientation(resolved),
        "inside-pressure": _inside_pressure(zones),
        "csst-on-vehicle": float(sum(1 for run in resolved.offered if build.material(build.by_id[run])[0] == "csst"))
        if moves(build)
        else 0.0,
    }
    outlets = [s.outlet for s in served(build)]
    lengths = [o.connector.length if o.connector is not None else None for o in outlets]
    found["connector-length"] = _largest(lengths)
    found["shutoff-distance"] = _largest([o.shut_off_distance for o in outlets])
    for word, wanted in (("cooking", True), ("not-cooking", False)):
        kept = [s.outlet for s in served(build) if (s.appliance.kind in COOKING) is wanted]
        found[f"shutoff-distance:{word}"] = _largest([o.shut_off_distance for o in kept])
        found[f"flame-failure:{word}"] = float(sum(1 for o in kept if not o.appliance.flame_failure))
    appliances = [s.appliance for s in served(build)]
    found["flame-failure"] = float(sum(1 for a in appliances if not a.flame_failure))
    heaters = [a for a in appliances if a.kind in ("room-heater", "water-heater", "combined-heater")]
    found["room-sealed-heating"] = float(sum(1 for a in heaters if a.flue != "room-sealed"))
    space = spec.space
    if space is not None:
        found["room-volume"] = _number(space.volume)
        found["vent-area-high"] = _number(space.vent_high)
        found["vent-area-low"] = _number(space.vent_low)
        both = (space.vent_high, space.vent_low)
        found["vent-area-total"] = None if None in both else sum(float(v) for v in both if v is not None)
    alarms = space.alarms if space is not None else None
    for kind in ("gas", "co", "smoke"):
        found[f"{kind}-alarm"] = None if alarms is None else float(sum(1 for alarm in alarms if alarm.kind == kind))
    sleeping = space.sleeping_places if space is not None else None
    flueless = sum(1 for a in appliances if a.kind not in COOKING and a.flue in (None, "flueless"))
    found["sleeping-flueless"] = None if sleeping is None else float(flueless if sleeping else 0)
    return found


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def _largest(values: list[units.Given | None]) -> float | None:
    """The largest, or None where any is not known."""
    return None if None in values or not values else max(float(v) for v in values if v is not None)


def _orientation(resolved: Resolved) -> str | None:
    mounted = resolved.build.spec.container.orientation
    if mounted is None:
        return None
    return "as-marked" if mounted in resolved.kind.orientation else "other"


def _inside_pressure(zones: tuple[Zone, ...]) -> float | None:
    """The highest pressure a zone with appliances may see: its regulator's lock-up, or its setting."""
    highest = [float(zone.regulator.lock_up or zone.regulator.outlet) for zone in zones if zone.delivers]
    return max(highest, default=None)


def rule_findings(found: tuple[Ruling, ...]) -> Iterator[Finding]:
    """One finding for each rule the build does not meet by the numbers; a warning where the rule is from memory."""
    for ruling in found:
        if ruling.outcome == "not met":
            yield (warning if ruling.rule.citation.confirmed == "memory" else error)(
                f"rule-{ruling.rule.id}", "build", (),
                f"{ruling.rule.asks} This build has {ruling.has}.",
                f"The limit is {ruling.rule.limit_text}.",
                "Change the build, or ask the authority whether this row applies to it.", str(ruling.rule.citation),
            )  # fmt: skip
