"""A region's rules against the build: what each asks, what this build has, and who decides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from gasdoc import units
from gasdoc.regions import MEASURES, Rule
from gasdoc.spec.model import Run
from gasdoc.study.air import COOKING, HEATING, REMARKS, UNKNOWN, Air, air, applies, required
from gasdoc.study.container import Container
from gasdoc.study.facts import moves, served, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.leakverdict import Judged, ended, started
from gasdoc.study.mount import Mount
from gasdoc.study.resolve import Resolved
from gasdoc.study.sizing import ZoneSizing
from gasdoc.study.zones import Zone

Outcome = Literal["met by the numbers", "not met", "not known", "for a licensed person"]

PLACES = {"outdoors": "outside", "chassis": "outside", "drawbar": "outside", "locker": "sealed-compartment",
          "inside": "inside"}  # fmt: skip
"""A spec's word for the place of a container in the words the rules use."""

WORDS = {"sealed-compartment": "a compartment sealed from the inside", "as-marked": "the position it is marked for",
         "other": "another position than it is marked for"}  # fmt: skip
"""The rules' words as a reader's."""

NOT_OF_THE_BUILD = frozenset({"container-fill", "support-spacing"})
"""Measures that no spec can state: they are looked at on site."""


@dataclass(frozen=True, slots=True)
class Ruling:
    """One rule and this build: `has` says in words what the build has, None where the spec does not tell.

    `needs` is the figure a method gives for this build, in words, with what to know about it; None without a method.
    `holds` says of a row with a method, also of one shown beside, whether the two numbers compare that way.
    """

    rule: Rule
    has: str | None
    outcome: Outcome
    needs: str | None = None
    holds: bool | None = None


@dataclass(frozen=True, slots=True)
class Value:
    """What a build has of a measure, in SI or in the rules' words. `least`: it is not known, but no smaller than this."""

    known: float | str | None
    least: float | None = None


def rulings(
    resolved: Resolved, zones: tuple[Zone, ...], sized: tuple[ZoneSizing, ...], held: Container, worst_drop: float | None,
    judged: tuple[Judged, ...], mount: Mount | None,
) -> tuple[Ruling, ...]:  # fmt: skip
    """Every rule of the region with what the build has. `worst_drop` in Pa is the largest drop to an outlet, None where it
    is not known."""
    values = _measures(resolved, zones, held, worst_drop, judged)
    present = _present(resolved, sized)
    found = air(served(resolved.build))
    return tuple(
        _ruling(resolved, rule, values, found, mount)
        for rule in resolved.region.rules
        if _concerns(rule, values, present) and applies(rule, found)
    )


def _concerns(rule: Rule, values: dict[str, Value], present: frozenset[str]) -> bool:
    """Whether the build has what a row is about: its condition holds, and what it counts is there at all."""
    if rule.condition is not None and rule.condition not in present:
        return False
    counted = rule.measure is not None and rule.relation is None and rule.method is None
    return not (counted and values[rule.measure or ""].known == 0.0)


def _present(resolved: Resolved, sized: tuple[ZoneSizing, ...]) -> frozenset[str]:
    """The conditions of `gasdoc.regions` that hold for this build."""
    found = {"fixed-tank", "fixed-tank-sideways"} if resolved.kind.stays == "permanent" else {"cylinder"}
    for s in served(resolved.build):
        found.add("cooking" if s.appliance.kind in COOKING else "not-cooking")
        if s.outlet.connector is not None and s.outlet.connector.kind == "rigid":
            found.add("rigid")
    for run in (run for zone in sized for run in zone.runs):
        if run.material == "csst":
            found.add("csst")
        if run.size is None:
            continue
        across = run.size.od or 0.0
        if run.material == "csst":
            ehd = int(run.size.id.removeprefix("EHD "))
            found.add("csst-three-eighths-inch" if ehd < 18 else "csst-half-inch" if ehd < 23 else "csst-larger")
        elif run.material == "steel":
            found.add("rigid")
            found.add(
                "steel-half-inch" if across < 0.025 else "steel-to-one-inch" if across < 0.036 else "steel-larger"
            )
        else:
            found.add("tubing-half-inch" if across < 0.0145 else "tubing-to-three-quarter-inch" if across < 0.0205
                      else "tubing-larger")  # fmt: skip
    return frozenset(found)


def _ruling(resolved: Resolved, rule: Rule, values: dict[str, Value], found: Air, mount: Mount | None) -> Ruling:
    key = rule.measure
    if key == "mount-load-multiple":
        return _mounts(rule, mount)
    if rule.condition in ("cooking", "not-cooking") and key is not None:
        key = f"{key}:{rule.condition}" if f"{key}:{rule.condition}" in values else key
    if key is None or key in NOT_OF_THE_BUILD:
        return Ruling(rule, None, "for a licensed person")
    shown = system(resolved.build)
    value = values[key]
    has = _has(rule, value, shown)
    if rule.method is not None:
        return _by_method(resolved, rule, value, has, found, shown)
    if rule.relation is None or rule.alternative:
        return Ruling(rule, has, "for a licensed person")
    return Ruling(rule, has, _outcome(rule, rule.limit, value, rule.citation.confirmed == "memory"))


def _mounts(rule: Rule, mount: Mount | None) -> Ruling:
    """Only the bolts are worked out, so they can miss a rule but never meet it."""
    check = next((c for c in mount.checks if c.rule == rule.id), None) if mount is not None else None
    if check is None:
        return Ruling(rule, None, "for a licensed person")
    has = f"bolts that carry {check.carried:.1f} times the filled weight; what they hold to is not worked out"
    missed = not rule.alternative and check.carried < check.multiple * (1 - 1e-9)
    return Ruling(rule, has, "not met" if missed else "for a licensed person")


def _by_method(
    resolved: Resolved, rule: Rule, value: Value, has: str | None, found: Air, shown: units.System
) -> Ruling:
    """A row whose limit comes from the build itself; a method that rests on a figure from memory never gives "met"."""
    asked, limit = required(rule, found, resolved.build.spec.space)
    if limit is None:
        why = ", ".join(UNKNOWN[reason] for reason in asked.reasons if reason in UNKNOWN)
        return Ruling(
            rule,
            has,
            "for a licensed person" if rule.alternative else "not known",
            f"not worked out: {why}" if why else None,
        )
    remarks = [REMARKS[reason] for reason in asked.reasons if reason in REMARKS]
    if asked.from_memory:
        remarks.append("rests on a figure from memory")
    needs = (
        f"at least {_words(rule, limit, shown)}"
        if limit > 0.0
        else "none, because no appliance takes its air from the room"
    )
    if remarks:
        needs += f" ({'; '.join(remarks)})"
    memory = asked.from_memory or rule.citation.confirmed == "memory"
    outcome = _outcome(rule, limit, value, memory)
    holds = outcome == "met by the numbers"
    return Ruling(rule, has, "for a licensed person" if rule.alternative else outcome, needs, holds)


def _outcome(rule: Rule, limit: float | tuple[str, ...] | None, value: Value, memory: bool) -> Outcome:
    if limit == 0.0 and rule.relation == "at-least":
        return "for a licensed person" if memory else "met by the numbers"
    if value.known is None:
        past = value.least is not None and rule.relation == "at-most" and not _holds(rule, limit, value.least)
        return "not met" if past else "not known"
    if not _holds(rule, limit, value.known):
        return "not met"
    return "for a licensed person" if memory else "met by the numbers"


def _holds(rule: Rule, limit: float | tuple[str, ...] | None, value: float | str) -> bool:
    if isinstance(limit, tuple):
        return value in limit
    assert isinstance(value, float | int) and limit is not None
    slack = 1e-9 * abs(limit)
    return value <= limit + slack if rule.relation == "at-most" else value >= limit - slack


def _has(rule: Rule, value: Value, shown: units.System) -> str | None:
    if value.known is not None:
        return _words(rule, value.known, shown)
    return None if value.least is None else f"at least {_words(rule, value.least, shown)}, the rest not stated"


def _words(rule: Rule, value: float | str, shown: units.System) -> str:
    if isinstance(value, str):
        return WORDS.get(value, value)
    dimensions = MEASURES[rule.measure or ""].dimensions
    if not dimensions:
        return f"{value:g}"
    kind = {
        "pressure": "supply pressure",
        "length": "short length",
        "volume": "liquid volume",
        "area": "area",
        "time": "hold",
    }[dimensions[0]]
    if dimensions[0] == "pressure" and value >= 5000.0:
        kind = "container pressure"
    return units.show(value, "room volume" if rule.measure == "room-volume" else kind, shown)


def _measures(
    resolved: Resolved, zones: tuple[Zone, ...], held: Container, worst_drop: float | None, judged: tuple[Judged, ...]
) -> dict[str, Value]:
    """What the build has of every measure but those of `NOT_OF_THE_BUILD`."""
    build, spec = resolved.build, resolved.build.spec
    kind = resolved.kind.water_capacity
    known = spec.container.water_capacity is not None or kind is None
    found: dict[str, Value] = {
        "sizing-drop": Value(worst_drop),
        "container-count": Value(float(spec.container.number)),
        "container-water-capacity": Value(held.water_capacity if known or kind is None else kind.high),
        "container-place": Value(PLACES[spec.container.place] if spec.container.place is not None else None),
        "container-service": Value(spec.container.service),
        "orientation": Value(_orientation(resolved)),
        "inside-pressure": _inside_pressure(resolved, zones),
        "csst-on-vehicle": Value(
            float(sum(1 for run in resolved.offered if build.material(build.by_id[run])[0] == "csst"))
            if moves(build)
            else 0.0
        ),
    }
    everything = served(build)
    outlets = [s.outlet for s in everything]
    found["connector-length"] = _largest([o.connector.length if o.connector is not None else None for o in outlets])
    found["shutoff-distance"] = _largest([o.shut_off_distance for o in outlets])
    for word, wanted in (("cooking", True), ("not-cooking", False)):
        kept = [s.outlet for s in everything if (s.appliance.kind in COOKING) is wanted]
        found[f"shutoff-distance:{word}"] = _largest([o.shut_off_distance for o in kept])
        found[f"flame-failure:{word}"] = _count([o.appliance.flame_failure for o in kept])
    appliances = [s.appliance for s in everything]
    found["flame-failure"] = _count([a.flame_failure for a in appliances])
    found["room-sealed-heating"] = _count([_is(a.flue, "room-sealed") for a in appliances if a.kind in HEATING])
    space = spec.space
    found["room-volume"] = Value(_number(space.volume if space is not None else None))
    high, low = (space.vent_high, space.vent_low) if space is not None else (None, None)
    found["vent-area-high"], found["vent-area-low"] = Value(_number(high)), Value(_number(low))
    found["vent-area-total"] = Value(None if high is None or low is None else high + low)
    alarms = space.alarms if space is not None else None
    for word in ("gas", "co", "smoke"):
        found[f"{word}-alarm"] = Value(
            None if alarms is None else float(sum(1 for alarm in alarms if alarm.kind == word))
        )
    sleeping = space.sleeping_places if space is not None else None
    flued = [_is_not(a.flue, "flueless") for a in appliances if a.kind not in COOKING]
    found["sleeping-flueless"] = (
        Value(0.0) if sleeping == 0 or all(flued) else _count(flued) if sleeping else Value(None)
    )
    found |= _tests(judged)
    return found


def _tests(judged: tuple[Judged, ...]) -> dict[str, Value]:
    """Pressure and hold of the last piping test recorded, and the hold of the last leak check."""
    last = {j.test.kind: j for j in judged if j.current}
    piping, check = last.get("piping"), last.get("leak-check")
    return {
        "test-pressure": Value(float(piping.test.readings[0].pressure) if piping else None),
        "test-hold": Value((ended(piping.test) - started(piping.test)).total_seconds() if piping else None),
        "check-hold": Value((ended(check.test) - started(check.test)).total_seconds() if check else None),
    }


def _is(given: str | None, wanted: str) -> bool | None:
    return None if given is None else given == wanted


def _is_not(given: str | None, wanted: str) -> bool | None:
    return None if given is None else given != wanted


def _count(good: list[bool | None]) -> Value:
    """How many are not good; where some are not known, no fewer than those that are known not to be."""
    bad = float(sum(1 for g in good if g is False))
    return Value(None, bad) if None in good else Value(bad)


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def _largest(values: list[units.Given | None]) -> Value:
    """The largest; where some are not known, it is no smaller than the largest that is."""
    known = [float(v) for v in values if v is not None]
    largest = max(known, default=None)
    return Value(largest) if len(known) == len(values) else Value(None, largest)


def _orientation(resolved: Resolved) -> str | None:
    mounted = resolved.build.spec.container.orientation
    if mounted is None:
        return None
    return "as-marked" if mounted in resolved.kind.orientation else "other"


def _inside_pressure(resolved: Resolved, zones: tuple[Zone, ...]) -> Value:
    """The highest pressure a zone with any part inside may see: the lock-up pressures of their regulators.

    A zone is inside if it has an outlet or a run that is not marked as outside or goes through something. A regulator
    whose lock-up is not stated gives at least its setting.
    """
    inside = []
    for zone in zones:
        runs = [part for part in (resolved.build.by_id[run].part for run in zone.runs) if isinstance(part, Run)]
        if zone.delivers or any(not run.outside or run.through for run in runs):
            inside.append(zone.regulator)
    settings = [max(float(r.outlet), float(r.lock_up or 0.0)) for r in inside]
    highest = max(settings, default=None)
    return Value(highest) if all(r.lock_up is not None for r in inside) else Value(None, highest)


def rule_findings(found: tuple[Ruling, ...]) -> Iterator[Finding]:
    """One finding for each rule the build does not meet by the numbers.

    A warning where the rule is from memory, and where the region's rows hold another way whose numbers the build has.
    """
    other_way = _other_way(found)
    for ruling in found:
        rule = ruling.rule
        if ruling.outcome != "not met" or rule.measure == "mount-load-multiple":  # `mount` has a finding for those
            continue
        memory = rule.citation.confirmed == "memory" or "from memory" in (ruling.needs or "")
        another = other_way if rule.subject == "ventilation" and rule.method is not None else None
        remedy = "Change the build, or ask the authority whether this row applies to it."
        if another is not None:
            remedy = f"Ask the authority about the other way, whose numbers this build has: {another}"
        yield (warning if memory or another is not None else error)(
            f"rule-{rule.id}", "build", (),
            f"{rule.asks} This build has {ruling.has}.",
            f"Worked out for this build: {ruling.needs}." if ruling.needs else f"The limit is {rule.limit_text}.",
            remedy, str(rule.citation),
        )  # fmt: skip


def _other_way(found: tuple[Ruling, ...]) -> str | None:
    """What the first other way asks, of the ways with a method, all of whose rows the build's numbers hold; None if none."""
    ways: dict[str, list[Ruling]] = {}
    for ruling in found:
        if ruling.rule.method is not None and ruling.rule.alternative:
            ways.setdefault(ruling.rule.method, []).append(ruling)
    return next((rows[0].rule.asks for rows in ways.values() if all(row.holds for row in rows)), None)
