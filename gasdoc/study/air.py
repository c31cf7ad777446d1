"""Combustion air, ventilation and alarms: what the published methods ask of this build's room, and what it has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from gasdoc.engineering.ventilation import METHODS, Required, Room
from gasdoc.regions import Rule
from gasdoc.spec.model import Space
from gasdoc.study.facts import Served
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.resolve import Resolved

COOKING = ("cooker", "oven", "griddle", "fryer")

HEATING = ("room-heater", "water-heater", "combined-heater")

UNKNOWN = {
    "no-input": "an appliance's input is not stated",
    "no-sleeping-places": "how many people sleep there is not stated",
    "no-floor-area": "the floor area is not stated",
    "floor-too-large": "the part of the method for so large a floor was not read",
}
"""Why a method gives no figure."""

REMARKS = {
    "side-openings-assumed": "taken as openings not in the roof, for which the figure is the larger",
    "vent-connectors-not-counted": "the sum of the vent connectors' areas may ask for more",
}

BASIS_NOT_READ = frozenset({"bss-2002"})
"""Methods by input of which was not read whether they mean gross or net heat. The IFGC's and AS/NZS 5601.2 mean gross;
EN 721 goes by floor area."""

ALARM_PLACES = {
    "gas": "low, near the floor, in the space of the appliances, out of draughts, not in a cupboard",
    "co": "at breathing height or on the ceiling, in or near where people sleep, 1 to 3 m from the appliance, not above heat or steam",
    "smoke": "on the ceiling",
}
"""Where each kind of alarm belongs, from the region rows and siting advice; its instructions decide."""

ALARM_NAMES = {"gas": "LP-gas alarm", "co": "carbon monoxide alarm", "smoke": "smoke alarm"}


@dataclass(frozen=True, slots=True)
class Air:
    """What the room's appliances take and give: inputs in W by flue, those whose flue is not stated counted as flueless.

    Inputs are gross heat.
    """

    flueless: float
    open_flued: float
    room_sealed: float
    unknown: tuple[str, ...]

    @property
    def needed(self) -> bool:
        """Whether any appliance takes its air from the room, or may."""
        return self.flueless + self.open_flued > 0.0


def air(appliances: tuple[Served, ...]) -> Air:
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


def required(rule: Rule, found: Air, space: Space | None) -> tuple[Required, float | None]:
    """What the rule's method asks, and the figure of the rule's own measure in SI, None where the method gives none."""
    assert rule.method is not None, "the caller asks for rules with a method only"
    floor = space.floor_area if space is not None else None
    room = Room(
        flueless=found.flueless,
        open_flued=found.open_flued,
        room_sealed=found.room_sealed,
        sleeping_places=space.sleeping_places if space is not None else None,
        floor_area=float(floor) if floor is not None else None,
        roof_outlets=None,
    )
    least = float(rule.limit) if isinstance(rule.limit, float | int) else 0.0
    asked = METHODS[rule.method](room, least)
    value = {
        "vent-area-high": asked.high,
        "vent-area-low": asked.low,
        "vent-area-total": asked.total,
        "room-volume": asked.volume,
    }[rule.measure or ""]
    return asked, value


def applies(rule: Rule, found: Air) -> bool:
    """Whether a method is meant for this build: EN 721 has one row for room-sealed appliances only, one for all others."""
    return {"en-721-appliances": found.needed, "en-721-no-appliances": not found.needed}.get(rule.method or "", True)


def air_findings(resolved: Resolved, found: Air, appliances: tuple[Served, ...]) -> Iterator[Finding]:
    """Flueless heaters where people sleep, and what about air and alarms is not known."""
    space = resolved.build.spec.space
    sleeping = space.sleeping_places if space is not None else None
    for s in appliances:
        if s.appliance.flue != "flueless" or s.appliance.kind not in HEATING:
            continue
        if sleeping:
            yield error(
                "flueless-heater-sleeping",
                s.id,
                (*s.at, "appliance", "flue"),
                f"{s.appliance.name} has no flue, and {sleeping} sleep in its room.",
                "It uses up the air and gives off carbon monoxide where nobody is awake to notice.",
                "Use a room-sealed heater, with a licensed fitter.",
                "common practice, no source; many codes ask the same",
            )
        elif sleeping is None:
            yield warning(
                "flueless-heater",
                s.id,
                (*s.at, "appliance", "flue"),
                f"{s.appliance.name} has no flue, and whether people sleep in its room is not stated.",
                "It uses up the air and gives off carbon monoxide; nobody may sleep with it lit.",
                "Add 'sleeping_places:' under 'space:', and ask about a room-sealed heater.",
                "common practice, no source",
            )
    if found.needed:
        missing = _missing(space)
        if missing:
            yield warning(
                "air-unknown",
                "build",
                ("space",) if space is not None else (),
                f"What air the appliances get is not known: {', '.join(missing)} not stated.",
                "Appliances that take their air from the room need openings or a large room; without, carbon monoxide.",
                "Measure it, take off what mesh and louvres cover, and add it under 'space:' (0 where there is none).",
            )
        elif space is not None and not (space.vent_high or space.vent_low):
            yield warning(
                "no-openings",
                "build",
                ("space", "vent_high"),
                "Appliances take their air from the room, and it has no opening to the outside.",
                "Flame and people use up the same air; without openings, carbon monoxide.",
                "Ask the authority and a licensed fitter what openings it needs, or use room-sealed appliances.",
                "common practice, no source; what a rule of the region asks stands on the page about air",
            )
    yield from _alarm_findings(resolved)


def _missing(space: Space | None) -> list[str]:
    names = {"volume": "volume of the room", "vent_high": "openings at high level", "vent_low": "openings at low level"}
    return [words for key, words in names.items() if space is None or getattr(space, key) is None]


def _alarm_findings(resolved: Resolved) -> Iterator[Finding]:
    space = resolved.build.spec.space
    alarms = space.alarms if space is not None else None
    if alarms is None:
        yield warning(
            "alarms-unknown",
            "build",
            ("space",) if space is not None else (),
            "Which alarms are fitted is not stated.",
            "Smell is no test: noses tire and sleep, and carbon monoxide has no smell.",
            "Add 'alarms:' under 'space:', each with kind, place and date; an empty list if there are none.",
        )
        return
    for i, alarm in enumerate(alarms):
        missing = [
            words
            for key, words in (("place", "place"), ("manufactured", "date of manufacture"))
            if getattr(alarm, key) is None and not (key == "manufactured" and alarm.replace_by)
        ]
        if missing:
            yield note(
                "alarm-incomplete",
                f"alarm-{i + 1}",
                ("space", "alarms", i),
                f"The {ALARM_NAMES[alarm.kind]}'s {' and '.join(missing)} {'are' if len(missing) > 1 else 'is'} not stated.",
                "An alarm in the wrong place or past its life does not warn.",
                f"It belongs {ALARM_PLACES[alarm.kind]}. The date is on its back.",
            )
