"""What a drawing of the line says: its pieces, signs and words, taken from a study once for all views."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct, structs

from gasdoc import units
from gasdoc.build.model import Connector, Hose, Junction, Outlet, Regulator, Run, Tap, Valve
from gasdoc.build.supply import Node, run_before
from gasdoc.engineering.supply.geometry import scaled
from gasdoc.study import Study
from gasdoc.study.facts import Installation, system
from gasdoc.study.supply.route import SHORT, Point, Stretch, plus, point

FULL_WORDS = 5
"""Up to so many appliances each run has its size and load in the drawing; above, its letter, which the table explains."""


class Sign(Struct, frozen=True):
    """A sign on a stretch: `end` of it, the number of signs between it and that end, and its words."""

    id: str
    kind: Literal["container", "regulator", "valve", "tap", "junction", "appliance"]
    stretch: int
    end: Literal["tail", "head"]
    back: int
    lines: tuple[str, ...]


class RunWords(Struct, frozen=True):
    """A run: its letter, its size and load, and its stretches by number."""

    id: str
    letter: str
    lines: tuple[str, ...]
    stretches: tuple[int, ...]


class PlacedThing(Struct, frozen=True):
    """Something beside the line that has a place: an opening, an alarm, the relief valve's outlet, the fill point. `word`
    is what it is, and `written` its place as the spec has it."""

    kind: Literal["opening", "alarm"]
    name: str
    at: Point
    written: tuple[str, ...]
    word: str


class RoomShape(Struct, frozen=True):
    """The floor plan of a room: its corners, m aft and right."""

    name: str
    corners: tuple[tuple[float, float], ...]


class Sheet(Struct, frozen=True):
    """All that the drawings of one build are made from, and nothing else: they are kept by it. `code` is the tightness code
    that its joint numbers hold for."""

    slug: str
    title: str
    stretches: tuple[Stretch, ...]
    signs: tuple[Sign, ...]
    runs: tuple[RunWords, ...]
    things: tuple[PlacedThing, ...]
    rooms: tuple[RoomShape, ...]
    compass: bool
    shown: units.System
    full_words: bool
    code: str


def sheet(study: Study) -> Sheet:
    """The sheet of a build. The first stretch is the hose or pipe between container and regulator, which has no figure."""
    build, shown, line = study.build, system(study.build), study.route
    first = line.stretches[0]
    begin = plus(first.tail, scaled(first.vector, -SHORT))
    stretches = (
        Stretch("container", True, begin, first.tail, SHORT, "", "", "", ()),
        *(
            stretch if stretch.text else structs.replace(stretch, figure=_length(build, stretch))
            for stretch in line.stretches
        ),
    )
    spec = build.spec
    return Sheet(
        build.slug,
        spec.title,
        stretches,
        _signs(study, stretches, shown),
        tuple(_runs(study, stretches, shown)),
        tuple(_things(study)),
        tuple(
            RoomShape(space.name or "", _corners([(float(x), float(y)) for x, y in space.outline]))
            for space in spec.spaces
            if len(space.outline) > 1
        ),
        line.compass,
        shown,
        len(study.served) <= FULL_WORDS,
        study.standing.codes.tightness,
    )


def _length(build: Installation, stretch: Stretch) -> str:
    """The length of what is drawn without its way, as the spec has it; empty where that does not say."""
    part = build.by_id[stretch.part].part if stretch.part in build.by_id else build.spec.regulator
    of = part.connector if isinstance(part, Outlet) else part.hose if isinstance(part, Regulator) else part
    given = of.length if isinstance(of, Run | Connector | Hose) else None
    return given.text if given is not None else ""


def numbers(study: Study, element: str) -> str:
    """The numbers of the joints that belong to an element, as '#4, 5' or '#13–16'; empty where it has none."""
    found = [joint.number for joint in study.leak_test.joints if joint.element == element]
    if not found:
        return ""
    rows = found == list(range(found[0], found[-1] + 1)) and len(found) > 2
    return f"#{found[0]}\N{EN DASH}{found[-1]}" if rows else f"#{', '.join(map(str, found))}"


def letter(number: int) -> str:
    """A, B, C ... Z, AA, AB: what a run is called in the drawings and the table beside them.

    >>> [letter(i) for i in (0, 25, 26, 27)]
    ['A', 'Z', 'AA', 'AB']
    """
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def letters(build: Installation) -> dict[str, str]:
    """The letter of each run, by its id."""
    return {node.id: letter(i) for i, (node, _) in enumerate(build.each(Run))}


def _runs(study: Study, stretches: tuple[Stretch, ...], shown: units.System) -> Iterator[RunWords]:
    lines = study.lines
    for identity, called in letters(study.build).items():
        run = lines[identity]
        size = run.size.drawn if run.size else "no size found"
        yield RunWords(
            identity,
            called,
            (f"{called}: {size}", _both(units.show(run.load, "load", shown), numbers(study, identity))),
            tuple(i for i, s in enumerate(stretches) if s.part == identity and not s.connector),
        )


def _signs(study: Study, stretches: tuple[Stretch, ...], shown: units.System) -> tuple[Sign, ...]:
    build = study.build
    last: dict[str, int] = {}
    start: dict[str, int] = {}
    for i, stretch in enumerate(stretches):
        last[stretch.part] = i
        start.setdefault(stretch.part, i)
    spec = build.spec
    number = f"{spec.container.number} x " if spec.container.number > 1 else ""
    found = [
        Sign(
            "container",
            "container",
            0,
            "tail",
            0,
            (f"{number}{study.container.name}", *_some(numbers(study, "container"))),
        )
    ]
    begins: dict[int, list[_Standing]] = {}
    ends: dict[int, list[_Standing]] = {}
    first = build.first
    words = (*_regulator_words(spec.regulator, shown), *_some(numbers(study, first)))
    begins[1] = [_Standing(first, "regulator", words)]
    loads = {served.id: served.load for served in study.served}
    for index, node in enumerate(build.nodes):
        part, arrived = node.part, _arrived(build.nodes, index, last)
        if isinstance(part, Junction):
            words = _words(study, node, shown)
            if arrived is not None:
                found.append(Sign(node.id, "junction", arrived, "head", 0, words))
            else:  # right behind another
                found.append(Sign(node.id, "junction", _next(build.nodes, index, start), "tail", 0, words))
            continue
        if isinstance(part, Outlet):
            words = (part.appliance.name, units.show(loads[node.id], "load", shown), *_some(numbers(study, node.id)))
            found.append(Sign(node.id, "appliance", last[node.id], "head", 0, words))
            standing = [_Standing(node.id, "valve", ())] if part.shut_off else []
        elif isinstance(part, Run):
            continue
        else:
            standing = [_Standing(node.id, _kind(part), _words(study, node, shown))]
        on, at = (ends, arrived) if arrived is not None else (begins, _next(build.nodes, index, start))
        on.setdefault(at, []).extend(standing)
    for at, signs in ends.items():
        found += [Sign(s.id, s.kind, at, "head", len(signs) - 1 - i, s.lines) for i, s in enumerate(signs)]
    for at, signs in begins.items():
        found += [Sign(s.id, s.kind, at, "tail", i, s.lines) for i, s in enumerate(signs)]
    return tuple(found)


class _Standing(Struct, frozen=True):
    """A sign that stands on a leg, before it is known how many others do."""

    id: str
    kind: Literal["regulator", "valve", "tap"]
    lines: tuple[str, ...]


def _kind(part: Valve | Tap | Regulator) -> Literal["regulator", "valve", "tap"]:
    return "valve" if isinstance(part, Valve) else "tap" if isinstance(part, Tap) else "regulator"


def _arrived(nodes: tuple[Node, ...], index: int, last: dict[str, int]) -> int | None:
    """The last stretch of the run that leads to an element in its own branch; None where it stands right behind a junction."""
    run = run_before(nodes, index)
    return last[run.id] if run is not None else None


def _next(nodes: tuple[Node, ...], index: int, start: dict[str, int]) -> int:
    """The first stretch of an element, or of what stands behind it."""
    while nodes[index].id not in start:
        index = next(i for i, node in enumerate(nodes) if node.parent == index)
    return start[nodes[index].id]


def _regulator_words(regulator: Regulator, shown: units.System) -> tuple[str, ...]:
    return ("regulator", units.show(regulator.outlet, units.pressure_kind(regulator.outlet, shown), shown))


def _words(study: Study, node: Node, shown: units.System) -> tuple[str, ...]:
    """What people call an element, with a regulator's pressure, and the numbers of its joints."""
    if isinstance(node.part, Regulator):
        return (*_regulator_words(node.part, shown), *_some(numbers(study, node.id)))
    return (_both(study.build.labels[node.id], numbers(study, node.id)),)


def _both(text: str, more: str) -> str:
    return f"{text}, {more}" if more else text


def _some(text: str) -> tuple[str, ...]:
    return (text,) if text else ()


def _things(study: Study) -> list[PlacedThing]:
    spec = study.build.spec
    found = [_thing("opening", opening.name or opening.kind, opening.at, opening.kind) for opening in spec.openings]
    container = spec.container
    for name, at, word in (
        ("relief valve", container.relief_at, "container"),
        ("fill point", container.fill_at, "container"),
        ("regulator vent", spec.regulator.vent_at, "regulator"),
    ):
        if at is not None:
            found.append(_thing("opening", name, at, word))
    found += [
        _thing("alarm", f"{'CO' if alarm.kind == 'co' else alarm.kind} alarm", alarm.at, "alarm")
        for space in spec.spaces
        for alarm in space.alarms or ()
        if alarm.at is not None
    ]
    return found


def _thing(kind: Literal["opening", "alarm"], name: str, at: list[units.Given], word: str) -> PlacedThing:
    return PlacedThing(kind, name, point(at), tuple(figure.text for figure in at), word)


def _corners(given: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    if len(given) == 2:
        (a, b), (c, d) = given
        return (a, b), (c, b), (c, d), (a, d)
    return tuple(given)
