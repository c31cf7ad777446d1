"""The alarms of each room: whether each can warn of what it is there for, and what of it is not stated."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Annotated, cast

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Alarm
from gasdoc.catalog.alarms import AlarmKind, Height, alarm_kinds, standards_in
from gasdoc.quantities import Aside, By, Shown
from gasdoc.source import Path
from gasdoc.study.air.rooms import Room
from gasdoc.study.findings import Finding, error, note, warning

_HIGH = re.compile(r"\b(ceiling|roof|overhead|deckhead)\b", re.IGNORECASE)
_LOW = re.compile(
    r"\b((near|at|on|above|over|by) the floor|floor level|bilge|sole|skirting|low|lowest)\b", re.IGNORECASE
)
_MEASURED = re.compile(r"\d[\d./ -]*(?:mm|cm|m|in|inch|ft)\b")
NEAR = 0.5
"""m: a place measured farther up than this is not taken as low."""


class Fitted(Struct, frozen=True):
    """One alarm at its place `at` of the spec. `height` as stated, else as its place says it, None where neither does."""

    alarm: Annotated[Alarm, By("kind", "height", "standard")]
    at: Path
    kind: Annotated[AlarmKind, Aside("a row of the catalogue")]
    height: Height | None

    @property
    def wrong_mark(self) -> tuple[str, str, str] | None:
        """The mark on it, the kinds of alarm that standard is for and its source, where it is for none like this."""
        marks = standards_in(self.alarm.standard or "")
        if not marks or any(self.alarm.kind in mark.kinds for mark in marks):
            return None
        kinds = alarm_kinds()
        return marks[0].mark, " and ".join(kinds[kind].name for kind in marks[0].kinds), str(marks[0].source)

    @property
    def wrong_height(self) -> bool:
        """Whether it hangs where it does not warn."""
        return self.height in self.kind.never

    @property
    def counts(self) -> Shown[bool | None]:
        """Whether it can stand for an alarm that a rule asks: None where its standard or its height is not known."""
        if self.wrong_mark or self.wrong_height:
            return False
        return None if self.alarm.standard is None or (self.kind.never and self.height is None) else True


def fitted(room: Room) -> tuple[Fitted, ...] | None:
    """The alarms of a room, None where the spec does not say which there are."""
    if room.space is None or room.space.alarms is None:
        return None
    kinds = alarm_kinds()
    return tuple(
        Fitted(alarm, (*room.at, "alarms", i), kinds[alarm.kind], _height(alarm))
        for i, alarm in enumerate(room.space.alarms)
    )


def _height(alarm: Alarm) -> Height | None:
    if alarm.height is not None:
        return cast(Height, alarm.height)
    place = alarm.place or ""
    if _HIGH.search(place):
        return "high"
    return "low" if _LOW.search(place) and not any(up > NEAR for up in _measured(place)) else None


def _measured(place: str) -> Iterator[float]:
    for match in _MEASURED.finditer(place):
        try:
            yield float(units.parse(match[0], "length"))
        except units.UnitError:
            continue


def alarm_findings(found: Sequence[Room]) -> Iterator[Finding]:
    """Alarms that cannot warn, rooms about whose alarms nothing is known, and what is not stated of an alarm."""
    for room in found:
        alarms = fitted(room)
        if alarms is None:
            yield warning(
                "alarms-unknown",
                room.subject,
                room.at,
                room.named("Which alarms are fitted is not stated."),
                "Smell is no test: noses tire and sleep, and carbon monoxide has no smell.",
                "Add 'alarms:' to the room under 'spaces:', each with kind, place and date. An empty list if there are none.",
            )
            continue
        for i, one in enumerate(alarms):
            yield from _about(room, one, f"{room.id}-alarm-{i + 1}" if room.several else f"alarm-{i + 1}")


def _about(room: Room, one: Fitted, subject: str) -> Iterator[Finding]:
    wrong = one.wrong_mark
    if wrong is not None:
        mark, others, source = wrong
        yield error(
            "alarm-wrong-standard",
            subject,
            (*one.at, "standard"),
            room.named(f"The {one.kind.name} is marked {mark}, which is a standard of the {others}."),
            "An alarm warns of what it was tested for, and of nothing else.",
            "Read the marks on it again. If it has no other, fit one that is made for this.",
            source,
        )
    if one.wrong_height:
        words = {"low": "near the floor", "breathing": "at head height", "high": "on the ceiling or near it"}
        yield error(
            "alarm-wrong-height",
            subject,
            (*one.at, "height") if one.alarm.height is not None else (*one.at, "place"),
            room.named(f"The {one.kind.name} hangs {words[one.height or 'high']}."),
            f"There it does not warn in time: {one.kind.why}.",
            f"It belongs {one.kind.place}.",
            str(one.kind.source),
        )
    alarm = one.alarm
    missing = [
        words
        for words, there in (
            ("place", alarm.place is not None or alarm.height is not None),
            ("standard", alarm.standard is not None),
            ("source of power", alarm.power is not None),
            ("date of manufacture", alarm.manufactured is not None or alarm.replace_by is not None),
        )
        if not there
    ]
    if missing:
        yield note(
            "alarm-incomplete",
            subject,
            one.at,
            room.named(f"Not stated of the {one.kind.name}: {', '.join(missing)}."),
            "An alarm in the wrong place, made for something else, without power or past its life does not warn.",
            f"It belongs {one.kind.place}. Standard and date are on its back. Write what it runs on under 'power:'.",
        )
