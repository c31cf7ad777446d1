"""The rooms of a build: what stands in each, what its appliances take from its air, and its alarms."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Annotated, cast

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.labels import OUTDOORS, room_id, room_name
from gasdoc.build.model import Alarm, Space
from gasdoc.catalog.alarms import AlarmKind, Height, alarm_kinds, standards_in
from gasdoc.quantities import Aside, By, Shown, Watt
from gasdoc.source import Path
from gasdoc.study.facts import Installation, Served
from gasdoc.study.findings import Finding, error, note, warning


class Air(Struct, frozen=True):
    """What the room's appliances take and give: inputs in W by flue, those whose flue is not stated counted as flueless.

    Inputs are gross heat.
    """

    flueless: Watt
    open_flued: Watt
    room_sealed: Watt
    unknown: tuple[str, ...]

    @property
    def needed(self) -> bool:
        """Whether any appliance takes its air from the room, or may."""
        return self.flueless + self.open_flued > 0.0


class Room(Struct, frozen=True):
    """One room: `space` as the spec has it (None where it has none), at its place `at`; the appliances in it.

    `several`: the build has more rooms, so that what is said of this one has to name it.
    """

    id: str
    name: str
    at: Path
    space: Annotated[Space, By("people")] | None
    appliances: tuple[Annotated[Served, By("id")], ...]
    air: Air
    several: bool

    @property
    def sleeping_places(self) -> Shown[int | None]:
        """How many people sleep in it, None where that is not stated."""
        return self.space.sleeping_places if self.space is not None else None

    @property
    def subject(self) -> str:
        """What a finding about it is about: the room where there are several, else the build."""
        return self.id if self.several else "build"

    def named(self, sentence: str) -> str:
        """A sentence about it, headed by its name where there are several."""
        return f"{self.name}: {sentence}" if self.several else sentence


def rooms(build: Installation) -> tuple[Room, ...]:
    """The rooms in the order of the spec; one of which nothing is known where it names none.

    An appliance whose room is not stated counts to the first; one that stands outdoors counts to none.
    """
    spaces = build.spec.spaces
    inside = [s for s in build.served if s.outlet.space != OUTDOORS]
    if not spaces:
        return (Room("room", "the room", (), None, tuple(inside), air(inside), several=False),)
    known = [room_id(space, i) for i, space in enumerate(spaces)]
    found = []
    for i, space in enumerate(spaces):
        mine = tuple(s for s in inside if (s.outlet.space or known[0]) == known[i])
        found.append(
            Room(known[i], room_name(space, i), ("spaces", i), space, mine, air(mine), several=len(spaces) > 1)
        )
    return tuple(found)


def air(appliances: Sequence[Served]) -> Air:
    """The inputs by flue."""

    def of(*flues: str | None) -> float:
        return sum(s.load for s in appliances if s.appliance.flue in flues)

    return Air(
        of("flueless", None),
        of("open-flued"),
        of("room-sealed"),
        tuple(s.appliance.name for s in appliances if s.appliance.flue is None),
    )


def as_net(found: Air, share: float) -> Air:
    """The same inputs as net heat; `share` is the gross heat of the gas over its net heat."""
    return replace(
        found,
        flueless=found.flueless / share,
        open_flued=found.open_flued / share,
        room_sealed=found.room_sealed / share,
    )


# --- alarms -----------------------------------------------------------------------------------------------------------

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
