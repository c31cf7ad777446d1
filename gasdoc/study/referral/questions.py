"""Whom to ask: the region's codes and people, and the questions to the authority with this build's facts in them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from gasdoc import units
from gasdoc.build.labels import room_name
from gasdoc.build.model import Space
from gasdoc.catalog import tubing
from gasdoc.regions.questions import questions
from gasdoc.regions.texts import around
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, conditions, setting, stands_in, system
from gasdoc.study.proof.leak_test import LeakTest
from gasdoc.study.supply.lines import Line, SizedZone
from gasdoc.study.upkeep import Due

TASKS_NAMED = 4
"""Tasks of the upkeep calendar a question names; the calendar itself has all."""


class QuestionText(Struct, frozen=True):
    """A question with the build's facts filled in; `about` the rows of figures that it asks about, as the ledger names them."""

    id: str
    text: str
    citation: Citation
    about: tuple[str, ...]


def asked_of(asked: Sequence[QuestionText], region_id: str, row: str) -> dict[int, str]:
    """The questions that ask about a row of a region or one that regions share, such as 'tests/piping': numbers and ids."""
    places = around(f"regions/{region_id} {row}") | around(f"regions/common {row}")
    return {number: q.id for number, q in enumerate(asked, 1) if not places.isdisjoint(q.about)}


def ask(
    build: Installation, zones: tuple[SizedZone, ...], tests: LeakTest, due: tuple[Due, ...]
) -> tuple[QuestionText, ...]:
    """The questions to put to the authority."""
    facts = _facts(build, zones, tests, due)
    return tuple(
        QuestionText(q.id, q.filled(facts), q.citation, q.about)
        for q in questions(build.region.questions, conditions(build))
    )


def _facts(build: Installation, zones: tuple[SizedZone, ...], tests: LeakTest, due: tuple[Due, ...]) -> dict[str, str]:
    spec = build.spec
    shown = system(build)
    return {
        "title": spec.title,
        "region_title": build.region.title,
        "codes_text": ", ".join(code.code for code in build.region.codes if stands_in(build, code.where)),
        "container_text": container_text(build),
        "tubing_text": tubing_text(zones, shown),
        "appliances_text": "; ".join(
            f"{s.appliance.name} ({units.show(s.load, 'load', shown)}, {s.appliance.flue or 'flue not stated'})"
            for s in build.served
        ),
        "ventilation_text": _ventilation(build, shown),
        "alarms_text": _alarms(build),
        "test_text": _tests(tests, shown),
        "upkeep_text": _upkeep(due),
    }


def container_text(build: Installation) -> str:
    """The container in one phrase: number, kind, place and position, as far as the spec says."""
    spec = build.spec
    c = spec.container
    words = [f"{c.number} x {build.container_kind.names[0]}" if c.number > 1 else build.container_kind.names[0]]
    if c.water_capacity is not None:
        words.append(f"water capacity {c.water_capacity.text}")
    words.append(
        {
            "outdoors": "outdoors",
            "locker": "in a locker",
            "chassis": "on the chassis",
            "drawbar": "on the drawbar",
            "inside": "inside",
            None: "place not stated",
        }[c.place]
    )
    words.append(f"mounted {c.orientation}" if c.orientation else "position not stated")
    if c.manifold and c.number > 1:
        words.append("in two banks" if c.manifold == "banks" else f"{c.manifold} manifold")
    where = setting(build)
    return ", ".join(words) + (f", on a {where}" if where in ("vehicle", "trailer", "boat") else "")


def tubing_text(zones: tuple[SizedZone, ...], shown: units.System) -> str:
    """Materials, sizes and lengths in one phrase."""
    totals: dict[str, float] = {}
    for zone in zones:
        for run in zone.runs:
            name = _tubing(run)
            totals[name] = totals.get(name, 0.0) + float(run.part.length)
    return (
        "; ".join(f"{units.show(length, 'run length', shown)} of {name}" for name, length in totals.items()) or "none"
    )


def _tubing(run: Line) -> str:
    """A run's material and size as people say them."""
    word = tubing.material(run.material).words.letter
    return run.size.in_letter if run.size is not None else f"{word}, size not found"


def _upkeep(due: tuple[Due, ...]) -> str:
    """The first dates of the upkeep calendar, each with its task in a few words; a task for several parts once."""
    first: dict[str, str] = {}
    for d in due:
        if d.due is not None:
            first.setdefault(d.task.short, d.due.isoformat())
    named = [f"{short} ({date})" for short, date in first.items()][:TASKS_NAMED]
    return "; ".join(named) + (" and more" if len(first) > len(named) else "") if named else "no dates recorded yet"


def _ventilation(build: Installation, shown: units.System) -> str:
    spaces = build.spec.spaces
    if all(space.vent_high is None and space.vent_low is None for space in spaces):
        return "not stated"
    return "; ".join(_each_room(spaces, lambda space: _vents(space, shown)))


def _vents(space: Space, shown: units.System) -> str:
    return ", ".join(
        f"{units.show(area, 'area', shown)} {name}" if area is not None else f"{name} not stated"
        for name, area in (("high", space.vent_high), ("low", space.vent_low))
    )


def _alarms(build: Installation) -> str:
    spaces = build.spec.spaces
    if all(space.alarms is None for space in spaces):
        return "not stated"
    return "; ".join(_each_room(spaces, _room_alarms))


def _room_alarms(space: Space) -> str:
    if space.alarms is None:
        return "not stated"
    return (
        "; ".join(
            f"{alarm.kind} alarm"
            + (f" {alarm.standard}" if alarm.standard else "")
            + (f", {alarm.place}" if alarm.place else "")
            for alarm in space.alarms
        )
        or "none"
    )


def _each_room(spaces: Sequence[Space], words: Callable[[Space], str]) -> list[str]:
    """What is to be said of each room, headed by its name where there are several."""
    several = len(spaces) > 1
    return [f"{room_name(space, i)}: {words(space)}" if several else words(space) for i, space in enumerate(spaces)]


def _tests(tests: LeakTest, shown: units.System) -> str:
    words = []
    for asked in tests.asked:
        pressure = _range(asked.pressure, asked.highest, shown) or asked.test.pressure.text
        if asked.pressure is not None and asked.test.pressure.below is not None:
            pressure += ", below lock-up"
        hold = f" for {units.show(asked.test.hold, 'hold', shown)}" if asked.test.hold is not None else ""
        phrase = f"{asked.test.name}: {pressure}{hold}"
        if phrase not in words:
            words.append(phrase)
    return "; ".join(words) or "not stated"


def _range(least: float | None, most: float | None, shown: units.System) -> str | None:
    """The gauge pressures of a test, never the lower one alone where there is a highest; None where neither is known."""
    if least is None:
        return None if most is None else f"at most {units.show(most, units.pressure_kind(most, shown), shown)}"
    low = units.show(least, units.pressure_kind(least, shown), shown)
    if most is None:
        return f"{low} or more"
    high = units.show(most, units.pressure_kind(most, shown), shown)
    if low == high:
        return low
    number, _, unit = low.rpartition(" ")
    return f"{number if unit == high.rpartition(' ')[2] else low} to {high}"
