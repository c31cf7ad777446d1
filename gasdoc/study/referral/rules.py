"""A region's rules against the build: what each asks, what this build has, and who decides."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Container as GivenContainer
from gasdoc.catalog import tubing
from gasdoc.catalog.alarms import KINDS
from gasdoc.quantities import By
from gasdoc.regions.rules import MEASURES, Rule
from gasdoc.source import Path
from gasdoc.study.air.rooms import Fitted, Room, as_net, fitted
from gasdoc.study.air.ventilation import BASIS_NOT_READ, REMARKS, UNKNOWN, applies, required
from gasdoc.study.container.holding import Container
from gasdoc.study.container.mounting import Mount, Tie, times
from gasdoc.study.facts import Installation, Served, gross_share, moves, stands_in, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.materials.passages import line_conditions
from gasdoc.study.proof.verdicts import Judged, ended, started
from gasdoc.study.supply.lines import SizedZone, lines_of

Outcome = Literal["met by the numbers", "not met", "not known", "for a licensed person"]

PLACES = {
    "outdoors": "outside",
    "chassis": "outside",
    "drawbar": "outside",
    "locker": "sealed-compartment",
    "inside": "inside",
}
"""A spec's word for the place of a container in the words the rules use."""

WORDS = {
    "sealed-compartment": "a compartment sealed from the inside",
    "as-marked": "the position it is marked for",
    "other": "another position than it is marked for",
}
"""The rules' words as a reader's."""

COUNTED = {
    "flame-failure": "without flame-failure shut-off",
    "room-sealed-heating": "not sealed from the room",
    "sleeping-flueless": "without a flue where people sleep",
    "csst-on-vehicle": "of corrugated tubing",
}
"""What the measures that count offenders count, as a reader is told it."""

OF_A_ROOM = frozenset(
    {
        "sleeping-flueless",
        "vent-area-high",
        "vent-area-low",
        "vent-area-total",
        "room-volume",
        "gas-alarm",
        "co-alarm",
        "smoke-alarm",
    }
)
"""Measures that each room has for itself."""

NOT_OF_THE_BUILD = frozenset({"container-fill"})
"""Measures that no spec can state: they are looked at on site."""


class Ruling(Struct, frozen=True):
    """One rule and this build: `has` says in words what the build has, None where the spec does not tell.

    `needs` is the figure a method gives for this build, in words, with what to know about it; None without a method.
    `holds` says of a row with a method, also of one shown beside, whether the two numbers compare that way. `at` is the
    place in the spec of what the rule is about; `room` the room it was held against, where the build has several.
    """

    rule: Annotated[Rule, By("id", "subject", "asks", "measure", "relation", "limit_text", "alternative", "citation")]
    has: str | None
    outcome: Outcome
    needs: str | None = None
    holds: bool | None = None
    at: Path = ()
    room: Annotated[Room, By("id")] | None = None

    @property
    def asks(self) -> str:
        """What the rule asks, headed by the room's name where there are several."""
        return self.rule.asks if self.room is None else self.room.named(self.rule.asks)


class Value(Struct, frozen=True):
    """What a build has of a measure, in SI or in the rules' words. `least`: it is not known, but no smaller than this.

    `at` is its place in the spec; `names` are the things counted, of a measure that counts; `words` is how it is told, where
    the number alone would not do.
    """

    known: float | str | None
    least: float | None = None
    at: Path = ()
    names: tuple[str, ...] = ()
    words: str | None = None


def rulings(
    build: Installation,
    zones: tuple[SizedZone, ...],
    container: Container,
    worst_drop: float | None,
    judged: tuple[Judged, ...],
    mount: Mount | None,
    tied: Tie | None,
    found_rooms: tuple[Room, ...],
) -> Iterator[Ruling]:
    """Every rule of the region with what the build has; rules about rooms with what each room has. `worst_drop` in Pa is the
    largest drop to an outlet, None where it is not known."""
    values = _measures(build, zones, container, worst_drop, judged) | _spacings(build, zones)
    present = _present(build, zones)
    by_room = [(room, _of_room(room)) for room in found_rooms]
    for rule in build.region.rules:
        if not stands_in(build, rule.where):
            continue
        if rule.measure not in OF_A_ROOM:
            if _concerns(rule, values, present):
                yield _ruling(build, rule, values, mount, tied)
            continue
        for room, its in by_room:
            if _about(rule, room) and applies(rule, room.air) and _concerns(rule, its, present):
                made = _of_a_room(build, rule, its, room)
                yield replace(made, room=room if room.several else None)


def _about(rule: Rule, room: Room) -> bool:
    """Whether a rule about rooms is about this one: where appliances are, and, for alarms that wake people, where they sleep."""
    if not room.several or room.appliances or rule.method == "en-721-no-appliances":
        return True
    return rule.measure in ("co-alarm", "smoke-alarm") and room.sleeping_places != 0


def _concerns(rule: Rule, values: dict[str, Value], present: frozenset[str]) -> bool:
    """Whether the build has what a row is about: its condition holds, and what it counts is there at all."""
    if rule.condition is not None and rule.condition not in present:
        return False
    counted = rule.measure is not None and rule.relation is None and rule.method is None
    return not (counted and values[rule.measure or ""].known == 0.0)


def _present(build: Installation, zones: tuple[SizedZone, ...]) -> frozenset[str]:
    """The conditions of `gasdoc.regions` that hold for this build."""
    found = {"fixed-tank", "fixed-tank-sideways"} if build.container_kind.stays == "permanent" else {"cylinder"}
    container = build.spec.container
    if container.place == "locker":
        found.add("locker")
    if container.number > 1:
        found.add("several-containers")
    for s in build.served:
        if s.outlet.connector is None or s.outlet.connector.kind != "rigid":
            found.add("hose")
        found.add("cooking" if s.kind.cooks else "not-cooking")
        found.add("heating" if s.kind.heats else "not-heating")
    if any(zone.regulator.hose is not None for zone in zones):
        found.add("regulator-hose")
    for run in lines_of(zones).values():
        found |= line_conditions(run, moves(build))
    return frozenset(found)


def _of_a_room(build: Installation, rule: Rule, values: dict[str, Value], room: Room) -> Ruling:
    value = values.get(f"{rule.measure}:{rule.condition}", values[rule.measure or ""])
    return replace(_judged(build, rule, value, room), at=value.at)


def _ruling(build: Installation, rule: Rule, values: dict[str, Value], mount: Mount | None, tied: Tie | None) -> Ruling:
    key = rule.measure
    if key == "mount-load-multiple":
        return _mounts(rule, mount, tied)
    if key is None or key in NOT_OF_THE_BUILD:
        return Ruling(rule, None, "for a licensed person")
    value = values.get(f"{key}:{rule.condition}", values[key])
    return replace(_judged(build, rule, value, None), at=value.at)


def _judged(build: Installation, rule: Rule, value: Value, room: Room | None) -> Ruling:
    shown = system(build)
    has = _has(rule, value, shown)
    if rule.method is not None:
        assert room is not None, "methods limit measures of rooms"
        return _by_method(build, rule, value, has, room, shown)
    if rule.relation is None or rule.alternative:
        return Ruling(rule, has, "for a licensed person")
    return Ruling(rule, has, _outcome(rule, rule.limit, value, rule.citation.confirmed == "memory"))


def _mounts(rule: Rule, mount: Mount | None, tied: Tie | None) -> Ruling:
    """Only bolts, straps and chains themselves are worked out, so they can miss a rule but never meet it."""
    check = next((c for c in mount.checks if c.rule == rule.id), None) if mount is not None else None
    multiple = dict(tied.checks).get(rule.id) if tied is not None else None
    if check is None and tied is not None and tied.carried is not None and multiple is not None:
        has = (
            f"{tied.name} rated for {times(tied.carried)} times the filled weight. What they hold to is not worked out"
        )
        weak = not rule.alternative and tied.carried < multiple * (1 - 1e-9)
        return Ruling(rule, has, "not met" if weak else "for a licensed person")
    if check is None:
        return Ruling(rule, None, "for a licensed person")
    has = f"bolts that carry {times(check.carried)} times the filled weight. What they hold to is not worked out"
    missed = not rule.alternative and check.carried < check.multiple * (1 - 1e-9)
    return Ruling(rule, has, "not met" if missed else "for a licensed person")


def _by_method(
    build: Installation, rule: Rule, value: Value, has: str | None, room: Room, shown: units.System
) -> Ruling:
    """A row whose limit comes from the build itself; a method that rests on a figure from memory never gives "met".

    Inputs count as gross heat. Where it was not read which heat a method means and net would be enough, nothing is known.
    """
    asked, limit = required(rule, room.air, room.space)
    if limit is None:
        why = ", ".join(UNKNOWN[reason] for reason in asked.reasons if reason in UNKNOWN)
        return Ruling(
            rule,
            has,
            "for a licensed person" if rule.alternative else "not known",
            f"not worked out: {why}" if why else None,
        )
    remarks = [REMARKS[reason] for reason in asked.reasons if reason in REMARKS]
    least = limit
    if rule.method in BASIS_NOT_READ:
        _, by_net = required(rule, as_net(room.air, gross_share(build, "net")), room.space)
        least = limit if by_net is None else by_net
    if least < limit:
        remarks.append(
            f"with inputs as gross heat, {_words(rule, least, shown)} with net heat. The text read does not say which of the two the method means"
        )
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
    if outcome == "not met" and _outcome(rule, least, value, memory) != "not met":
        outcome = "not known"  # it turns on what the method counts
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
    assert isinstance(value, float | int)
    assert limit is not None
    slack = 1e-9 * abs(limit)
    return value <= limit + slack if rule.relation == "at-most" else value >= limit - slack


def _has(rule: Rule, value: Value, shown: units.System) -> str | None:
    if value.words is not None:
        return value.words
    if rule.measure in COUNTED:
        return _counted(COUNTED[rule.measure], value)
    if value.known is not None:
        return _words(rule, value.known, shown, rule.limit if isinstance(rule.limit, float) else None)
    if value.least is None:
        return None
    if rule.measure == "support-spacing":  # "at least" reads there like what is asked
        return f"{_words(rule, value.least, shown)} where it is stated, the rest not stated"
    return f"at least {_words(rule, value.least, shown)}, the rest not stated"


def _counted(what: str, value: Value) -> str | None:
    if value.known is None and not value.least:
        return None
    rest = ", the rest not stated" if value.known is None else ""
    return f"{len(value.names)} {what}: {', '.join(value.names)}{rest}" if value.names else f"none {what}"


def _words(rule: Rule, value: float | str, shown: units.System, limit: float | None = None) -> str:
    """A value in words, with the digits that tell it from the limit it is held against."""
    if isinstance(value, str):
        return WORDS.get(value, value)
    dimensions = MEASURES[rule.measure or ""].dimensions
    if not dimensions:
        return f"{value:g}"
    if dimensions[0] == "share":
        return f"{value * 100:.2g} %"
    kind = {
        "pressure": "",
        "length": "distance",
        "volume": "liquid volume",
        "area": "area",
        "time": "hold",
        "mass": "weight",
    }[dimensions[0]]
    if dimensions[0] == "pressure":
        kind = units.pressure_kind(value, shown)
    kind = {"room-volume": "room volume", "locker-drain": "bore"}.get(rule.measure or "", kind)
    if limit is None or math.isclose(value, limit, rel_tol=1e-9):
        return units.show(value, kind, shown)
    return units.show_apart(value, limit, kind, shown)


def _measures(
    build: Installation,
    zones: tuple[SizedZone, ...],
    container: Container,
    worst_drop: float | None,
    judged: tuple[Judged, ...],
) -> dict[str, Value]:
    """What the build has of every measure but those of `NOT_OF_THE_BUILD`."""
    spec = build.spec
    kind = build.container_kind.water_capacity
    known = spec.container.water_capacity is not None or kind is None
    corrugated = [
        run
        for run in build.offered_sizes
        if moves(build) and tubing.material(build.material(build.by_id[run])[0]).corrugated
    ]
    block = ("container",)
    found: dict[str, Value] = {
        "sizing-drop": Value(worst_drop, at=("supply",)),
        "container-count": Value(float(spec.container.number), at=(*block, "number")),
        "container-water-capacity": Value(
            container.water_capacity if known or kind is None else kind.high, at=(*block, "water_capacity")
        ),
        "container-fuel": Value(container.heaviest_fuel * container.number, at=(*block, "number")),
        "container-place": Value(
            PLACES[spec.container.place] if spec.container.place is not None else None, at=(*block, "place")
        ),
        "container-service": Value(spec.container.service, at=(*block, "service")),
        "orientation": Value(_orientation(build), at=(*block, "orientation")),
        "inside-pressure": _inside_pressure(zones),
        "csst-on-vehicle": Value(
            float(len(corrugated)), at=build.by_id[corrugated[0]].at if corrugated else (), names=tuple(corrugated)
        ),
    }
    everything = build.served
    cooking = [s for s in everything if s.kind.cooks]
    others = [s for s in everything if not s.kind.cooks]
    heating = [s for s in everything if s.kind.heats]
    hoses = [s for s in everything if s.outlet.connector is None or s.outlet.connector.kind != "rigid"]
    for word, kept in (("", everything), (":hose", hoses)):
        found[f"connector-length{word}"] = _largest(
            [(s.outlet.connector.length if s.outlet.connector is not None else None, s.at) for s in kept]
        )
    # That of the regulator at the container: what lies behind a second one is in no such rule.
    hose = spec.regulator.hose
    found["regulator-hose-length"] = Value(None if hose is None else hose.length, at=("regulator", "hose", "length"))
    found |= _locker(spec.container)
    returns = spec.container.non_return
    found["non-return"] = Value(None if returns is None else "yes" if returns else "no", at=(*block, "non_return"))
    for word, kept in (("", everything), (":cooking", cooking), (":not-cooking", others)):
        found[f"shutoff-distance{word}"] = _largest([(s.outlet.shut_off_distance, s.at) for s in kept])
    not_heating = [s for s in everything if not s.kind.heats]
    for word, kept in (("", everything), (":heating", heating), (":not-heating", not_heating)):
        found[f"flame-failure{word}"] = _count([(s, s.appliance.flame_failure) for s in kept])
    found["room-sealed-heating"] = _count([(s, _is(s.appliance.flue, "room-sealed")) for s in heating])
    found |= _tests(judged)
    return found


def _locker(container: GivenContainer) -> dict[str, Value]:
    """What the locker of a container has of the measures about lockers."""
    locker, at = container.locker, ("container", "locker")
    high, low = (locker.vent_high, locker.vent_low) if locker is not None else (None, None)
    floor = None
    if locker is not None and locker.length is not None and locker.width is not None:
        floor = float(locker.length) * float(locker.width)
    both = None if high is None or low is None else float(high) + float(low)
    smaller = None if high is None or low is None else min(float(high), float(low))

    def stated(key: str) -> Value:
        return Value(_number(getattr(locker, key, None)), at=(*at, key))

    return {
        "locker-vent-share": Value(None if both is None or floor is None else both / floor, at=at),
        "locker-smaller-vent-share": Value(None if smaller is None or floor is None else smaller / floor, at=at),
        "locker-vent-area": Value(both, at=at),
        "locker-drain": stated("drain"),
        "locker-drain-height": stated("drain_above_water"),
        "locker-to-opening": stated("to_opening"),
    }


def _of_room(room: Room) -> dict[str, Value]:
    """What a room has of the measures in `OF_A_ROOM`."""
    space, at, sleeping = room.space, room.at, room.sleeping_places
    others = [s for s in room.appliances if not s.kind.cooks]
    heating = [s for s in room.appliances if s.kind.heats]
    found: dict[str, Value] = {}
    for word, kept in (("", others), (":heating", heating)):
        flued = _count([(s, _is_not(s.appliance.flue, "flueless")) for s in kept])
        none = sleeping == 0 or flued.known == 0.0
        found[f"sleeping-flueless{word}"] = Value(0.0, at=at) if none else flued if sleeping else Value(None, at=at)
    found["room-volume"] = Value(_number(space.volume if space is not None else None), at=(*at, "volume"))
    high, low = (space.vent_high, space.vent_low) if space is not None else (None, None)
    found["vent-area-high"] = Value(_number(high), at=(*at, "vent_high"))
    found["vent-area-low"] = Value(_number(low), at=(*at, "vent_low"))
    found["vent-area-total"] = Value(None if high is None or low is None else high + low, at=at)
    alarms = fitted(room)
    for kind in KINDS:
        found[f"{kind}-alarm"] = Value(None, at=at) if alarms is None else _alarms(kind, alarms, (*at, "alarms"))
    return found


def _alarms(kind: str, alarms: Sequence[Fitted], at: Path) -> Value:
    """How many alarms of a kind can stand for what a rule asks; not known where only such are there of which that is not."""
    mine = [alarm for alarm in alarms if alarm.alarm.kind == kind]
    sure, unsure = (sum(1 for alarm in mine if alarm.counts is answer) for answer in (True, None))
    wrong = len(mine) - sure - unsure
    if wrong == len(mine):
        words = None if not mine else f"{wrong} that cannot warn where it is, or is marked for something else"
        return Value(0.0, at=at, words=words)
    if not sure:
        return Value(None, at=at, words=f"{unsure}, of which standard or height is not stated")
    return Value(float(sure + unsure), at=at)


def _spacings(build: Installation, zones: tuple[SizedZone, ...]) -> dict[str, Value]:
    """How far apart supports are, of all runs and of those that the condition of each row is about."""
    runs = [(run, (run.part.supports_every, (*run.at, "supports_every"))) for run in lines_of(zones).values()]
    found = {"support-spacing": _largest([stated for _, stated in runs])}
    for condition in sorted({rule.condition for rule in build.region.rules_for("support-spacing") if rule.condition}):
        own = [stated for run, stated in runs if condition in line_conditions(run, moves(build))]
        found[f"support-spacing:{condition}"] = _largest(own)
    return found


def _tests(judged: tuple[Judged, ...]) -> dict[str, Value]:
    """Pressure and hold of the last piping test recorded, and the hold of the last leak check."""
    last = {j.test.kind: j for j in judged if j.current}
    piping, check = last.get("piping"), last.get("leak-check")

    def at(j: Judged | None) -> Path:
        return ("tests", j.index) if j is not None else ()

    return {
        "test-pressure": Value(float(piping.test.readings[0].pressure) if piping else None, at=at(piping)),
        "test-hold": Value(
            (ended(piping.test) - started(piping.test)).total_seconds() if piping else None, at=at(piping)
        ),
        "check-hold": Value((ended(check.test) - started(check.test)).total_seconds() if check else None, at=at(check)),
    }


def _is(given: str | None, wanted: str) -> bool | None:
    return None if given is None else given == wanted


def _is_not(given: str | None, wanted: str) -> bool | None:
    return None if given is None else given != wanted


def _count(good: list[tuple[Served, bool | None]]) -> Value:
    """How many are not good; where some are not known, no fewer than those that are known not to be."""
    bad = [s for s, fine in good if fine is False]
    number, names = float(len(bad)), tuple(s.appliance.name for s in bad)
    at = (*bad[0].at, "appliance") if bad else ()
    unknown = any(fine is None for _, fine in good)
    return Value(None, number, at, names) if unknown else Value(number, None, at, names)


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def _largest(values: list[tuple[units.Given | None, Path]]) -> Value:
    """The largest; where some are not known, it is no smaller than the largest that is."""
    largest, at = max(
        ((float(v), at) for v, at in values if v is not None), key=lambda pair: pair[0], default=(None, ())
    )
    return Value(None, largest, at) if any(v is None for v, _ in values) else Value(largest, None, at)


def _orientation(build: Installation) -> str | None:
    mounted = build.spec.container.orientation
    if mounted is None:
        return None
    return "as-marked" if mounted in build.container_kind.orientation else "other"


def _inside_pressure(zones: tuple[SizedZone, ...]) -> Value:
    """The highest pressure a zone with any part inside may see: the lock-up pressures of their regulators.

    A zone is inside if it has an outlet or a run that is not marked as outside or goes through something. A regulator
    whose lock-up is not stated gives at least its setting.
    """
    inside = []
    for zone in zones:
        if zone.delivers or any(not run.part.outside or run.part.through for run in zone.runs):
            inside.append(zone)
    settings = [(max(float(z.regulator.outlet), float(z.regulator.lock_up or 0.0)), z.at) for z in inside]
    highest, at = max(settings, key=lambda pair: pair[0], default=(None, ()))
    known = all(zone.regulator.lock_up is not None for zone in inside)
    return Value(highest, None, at) if known else Value(None, highest, at)


def rule_findings(found: tuple[Ruling, ...]) -> Iterator[Finding]:
    """One finding for each rule the build does not meet by the numbers.

    A warning where the rule is from memory, and where the region's rows hold another way whose numbers the build has.
    """
    for ruling in found:
        rule = ruling.rule
        # `mount` and `passages` have findings for these, one for each bolt and each run.
        if ruling.outcome != "not met" or rule.measure in ("mount-load-multiple", "support-spacing"):
            continue
        memory = rule.citation.confirmed == "memory" or "from memory" in (ruling.needs or "")
        # Where no text of the region asks it, a burner without it is for a person to judge.
        unasked = rule.measure == "flame-failure" and rule.citation.confirmed == "practice"
        another = _other_way(found, ruling.room) if rule.subject == "ventilation" and rule.method is not None else None
        remedy = "Change the build, or ask the authority whether this row applies to it."
        if another is not None:
            remedy = f"Ask the authority about the other way, whose numbers this build has: {another}"
        yield (warning if memory or unasked or another is not None else error)(
            f"rule-{rule.id}",
            ruling.room.id if ruling.room is not None else "build",
            ruling.at,
            f"{ruling.asks} This build has {ruling.has}{_asked(ruling)}.",
            f"Worked out for this build: {ruling.needs}." if ruling.needs else f"The limit is {rule.limit_text}.",
            remedy,
            str(rule.citation),
        )


def _asked(ruling: Ruling) -> str:
    """What was worked out that the build needs, for a message that stands alone; the remarks to it are in the reason."""
    return f"; it needs {ruling.needs.partition(' (')[0]}" if ruling.needs else ""


def _other_way(found: tuple[Ruling, ...], room: Room | None) -> str | None:
    """What the first other way asks, of the ways with a method, all of whose rows the room's numbers hold; None if none."""
    ways: dict[str, list[Ruling]] = {}
    for ruling in found:
        if ruling.room is room and ruling.rule.method is not None and ruling.rule.alternative:
            ways.setdefault(ruling.rule.method, []).append(ruling)
    return next((rows[0].rule.asks for rows in ways.values() if all(row.holds for row in rows)), None)
