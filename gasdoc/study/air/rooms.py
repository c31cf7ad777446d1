"""The rooms of a build: what stands in each, and what its appliances take from its air."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.labels import OUTDOORS, room_id, room_name
from gasdoc.build.model import Space
from gasdoc.quantities import By, Shown, Watt
from gasdoc.source import Path
from gasdoc.study.facts import Installation, Served


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
