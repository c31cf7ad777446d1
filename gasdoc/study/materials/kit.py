"""What a build takes besides its gas line, told for each place of it from the lines of the catalogue's kit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Regulator, Tap
from gasdoc.catalog.alarms import BESIDE_APPLIANCES
from gasdoc.catalog.kit import KitLine, kit
from gasdoc.catalog.openings import passage_rule
from gasdoc.engineering.materials import ends
from gasdoc.engineering.materials.take_off import Item
from gasdoc.study import facts
from gasdoc.study.air.rooms import Room, fitted
from gasdoc.study.container.holding import Container
from gasdoc.study.container.mounting import load_multiple
from gasdoc.study.facts import Installation
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.take_off import taper_joints
from gasdoc.study.supply.lines import SizedZone, lines_of

POWER = {"battery": "its own battery", "low-voltage": "low voltage", "mains": "the mains"}
"""What an alarm runs on, in words."""


class At(Struct, frozen=True):
    """A place that lines can be for: the ids of its elements, how many there are of it, its figures by name and what holds
    there besides what holds for the build."""

    where: tuple[str, ...]
    number: int = 1
    figures: Mapping[str, str | None] = {}
    conditions: frozenset[str] = frozenset()


class Rest(Struct, frozen=True):
    """What the lines are told from."""

    build: Installation
    zones: tuple[SizedZone, ...]
    rooms: tuple[Room, ...]
    container: Container
    fittings: Fittings


def other_parts(rest: Rest) -> Iterator[Item]:
    """Every line that is for a place of this build."""
    general = frozenset(_conditions(rest))
    at: dict[str, tuple[At, ...]] = {}
    for line in kit():
        if not rest.build.region.practice.takes(line.practice):
            continue
        if line.each not in at:
            at[line.each] = tuple(_PLACES[line.each](rest))
        for place in at[line.each]:
            figures = {name: text for name, text in place.figures.items() if text is not None}
            if line.holds(general | place.conditions, frozenset(figures)):
                yield _item(line, place, figures)


def _item(line: KitLine, place: At, figures: Mapping[str, str]) -> Item:
    sizes = line.figures if line.sizes is None else line.sizes
    key = " ".join((line.id, *(figures[name] for name in sizes)))
    number = line.times * place.number
    name, note = (text.format_map(figures) for text in (line.name, line.note))
    return Item(key, line.group, name, number, False, place.where, note, if_needed=line.if_needed)


def _shown(rest: Rest, quantity: float | None, kind: str, *, up: bool = False) -> str | None:
    """A quantity in the build's units, the least of which there has to be rounded up; None for one that is not stated, or of
    which there is none."""
    show = units.show_up if up else units.show
    return show(quantity, kind, facts.system(rest.build)) if quantity else None


def _written(given: units.Given | None) -> str | None:
    """A stated quantity as it is written, because it is bought so; None where there is none of it."""
    return given.text if given else None


def _conditions(rest: Rest) -> Iterator[str]:
    build, container = rest.build, rest.build.spec.container
    if facts.moves(build):
        yield "moves"
    else:
        yield "cabin"
    if "csst" in facts.families(build):
        yield "csst"
    if build.container_kind.stays == "permanent":
        yield "tank"
    asked = build.region.rule("non-return") is not None
    if container.number > 1 and (container.non_return or (asked and container.non_return is None)):
        yield "returns"
    if container.place == "locker":
        yield "inside-locker"
    if container.mount is not None:
        yield from ("held", container.mount.way)
    if build.region.rule("caution-plate") is not None:
        yield "plate-asked"
    if build.region.rule("flexible-link") is not None and build.spec.regulator.hose is None:
        yield "loop-asked"
    if any(s.kind.fries for s in build.served):
        yield "frying"
    if any(s.kind.cooks for s in build.served):
        yield "galley"
    if any(passage_rule(place)[0].seal for run in lines_of(rest.zones).values() for place in run.part.through):
        yield "sealed-passages"
    if taper_joints(rest.fittings):
        yield "tapers"


def _build(rest: Rest) -> Iterator[At]:
    placed = [part.part for _, _, part in rest.fittings.placed()]
    taps = sorted((p for p in placed if p is not None and p.use == "test"), key=lambda part: part.shape != "tap")
    behind = (j for j in rest.fittings.joined if j.before.element == rest.build.first and j.after.at[-1] != "hose")
    open_end = next((j.b for j in behind), None)
    trunk = next((zone.runs[0].size for zone in reversed(rest.zones) if zone.runs), None)
    near = any(rest.build.zone_of[node.id] == rest.build.first for node, _ in rest.build.each(Tap))
    figures = {
        "test_end": taps[0].name if taps else None,
        "line_end": ends.text(open_end) if open_end is not None else None,
        "bare_end": ends.text(open_end) if open_end is not None and taps and not near else None,
        "outlet_thread": rest.build.spec.regulator.outlet_thread,
        "load": _shown(rest, sum(s.load for s in rest.build.served), "load", up=True),
        "trunk": trunk.label if trunk is not None else None,
        "tapers": str(taper_joints(rest.fittings)),
        "frying": " and ".join(s.name for s in rest.build.served if s.kind.fries) or None,
    }
    yield At((), figures=figures)


def _container(rest: Rest) -> Iterator[At]:
    spec = rest.build.spec.container
    mass = rest.container.shape.heavy + rest.container.heaviest_fuel
    multiple = load_multiple(rest.build)
    figures = {
        "container": rest.build.container_kind.names[0],
        "diameter": _shown(rest, rest.container.shape.diameter, "short length"),
        "rated_least": _shown(rest, multiple and multiple * mass / 2, "weight", up=True),
    }
    yield At(("container",), spec.number, figures)


def _containers(rest: Rest) -> Iterator[At]:
    """All containers as one place."""
    diameter = _shown(rest, rest.container.shape.diameter, "short length")
    figures = {
        "container": rest.build.container_kind.names[0],
        "diameter": diameter,
        "number": str(rest.build.spec.container.number),
    }
    yield At(("container",), figures=figures)


def _bolts(rest: Rest) -> Iterator[At]:
    spec = rest.build.spec.container
    mount = spec.mount
    if mount is None or mount.thread is None or not mount.along or not mount.across:
        return
    figures = {
        "thread": mount.thread,
        "grade": mount.grade,
        "bolt_length": _written(mount.bolt_length),
        "spacer": _written(mount.spacer),
    }
    yield At(("container",), len(mount.along) * len(mount.across) * spec.number, figures)


def _ties(rest: Rest) -> Iterator[At]:
    spec = rest.build.spec.container
    mount = spec.mount
    if mount is None:
        return
    each = mount.number or (2 if mount.way == "straps" else 1)  # where it is not stated: as many as the way asks
    figures = {
        "rated": _written(mount.rated),
        "diameter": _shown(rest, rest.container.shape.diameter, "short length"),
    }
    yield At(("container",), each * spec.number, figures)


def _locker(rest: Rest) -> Iterator[At]:
    container = rest.build.spec.container
    if container.place != "locker":
        return
    locker = container.locker
    figures = {
        "vents_least": _shown(rest, _vents_asked(rest), "area", up=True),
        "drain_least": _shown(rest, _most(rest, "locker-drain"), "short length", up=True),
    }
    if locker is not None:
        figures |= {
            "vent_high": _shown(rest, locker.vent_high, "area"),
            "vent_low": _shown(rest, locker.vent_low, "area"),
            "drain": _written(locker.drain),
        }
    yield At(("container",), figures=figures)


def _most(rest: Rest, measure: str) -> float | None:
    """The most that the region's rows ask of a measure at least; None where none asks."""
    build = rest.build
    rows = [rule for rule in build.region.rules_for(measure) if facts.stands_in(build, rule.where)]
    asked = [rule.limit for rule in rows if rule.relation == "at-least" and isinstance(rule.limit, float)]
    return max(asked, default=None)


def _vents_asked(rest: Rest) -> float | None:
    """The free area, m2, that the region asks of a locker, high and low in all, as far as its floor is known."""
    locker = rest.build.spec.container.locker
    asked = [_most(rest, "locker-vent-area")]
    if locker is not None and locker.length is not None and locker.width is not None:
        floor = float(locker.length) * float(locker.width)
        shares = (_most(rest, "locker-vent-share"), 1), (_most(rest, "locker-smaller-vent-share"), 2)
        asked += [share * times * floor for share, times in shares if share is not None]
    return max((area for area in asked if area is not None), default=None)


def _regulators(rest: Rest) -> Iterator[At]:
    yield At((rest.build.first,), conditions=frozenset({"first"}))
    for node, _ in rest.build.each(Regulator):
        yield At((node.id,))


def _rooms(rest: Rest) -> Iterator[At]:
    for room in rest.rooms:
        if room.space is not None:
            areas = {"vent_high": room.space.vent_high, "vent_low": room.space.vent_low}
            yield At((room.id,), figures={k: _shown(rest, area, "area") for k, area in areas.items()})


def _alarms(rest: Rest) -> Iterator[At]:
    """Alarms of which the spec says the standard."""
    for room in rest.rooms:
        for alarm in (one.alarm for one in fitted(room) or ()):
            power = POWER[alarm.power] if alarm.power is not None else "the power that the build has"
            yield At((room.id,), 1, {"standard": alarm.standard, "power": power}, frozenset({alarm.kind}))


def _alarms_open(rest: Rest) -> Iterator[At]:
    """Alarms of which the spec says no standard, and those against gas and carbon monoxide of a room with appliances for
    which it states none."""
    for room in rest.rooms:
        stated = [one.alarm for one in fitted(room) or ()]
        wanted = [alarm.kind for alarm in stated if alarm.standard is None]
        if room.appliances:
            wanted += [kind for kind in BESIDE_APPLIANCES if all(alarm.kind != kind for alarm in stated)]
        for kind in wanted:
            yield At((room.id,), conditions=frozenset({f"no-{kind}"}))


def _appliances(rest: Rest) -> Iterator[At]:
    trapped = {spot.id.removesuffix(":trap") for _, spot, _ in rest.fittings.placed() if spot.role == "sediment trap"}
    for s in rest.build.served:
        appliance = s.appliance
        told = {
            appliance.flue or "": appliance.flue is not None and not s.kind.cooks,
            "cooking": s.kind.cooks,
            "flexible": facts.connector_kind(rest.build, s.outlet)[0] in ("flexible", "hose"),
            "trap-not-made": s.id not in trapped and facts.takes_trap(rest.build, s.kind),
        }
        figures = {"appliance": s.name, "load": units.show_up(s.load, "load", facts.system(rest.build))}
        yield At((s.id,), figures=figures, conditions=frozenset(word for word, holds in told.items() if holds))


def _washers(rest: Rest) -> Iterator[At]:
    flat = Counter(
        ends.text(joint.a if joint.a.gender == "male" else joint.b).removesuffix(" male")
        for _, chain in rest.fittings.chains()
        for joint in chain.joints
        if joint.seal == "washer"
    )
    for text, number in flat.items():
        yield At((), number, {"washer": text})


_PLACES = {
    "build": _build,
    "container": _container,
    "containers": _containers,
    "bolts": _bolts,
    "ties": _ties,
    "locker": _locker,
    "regulators": _regulators,
    "rooms": _rooms,
    "alarms": _alarms,
    "alarms-open": _alarms_open,
    "appliances": _appliances,
    "washers": _washers,
}
