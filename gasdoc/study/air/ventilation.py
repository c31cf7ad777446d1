"""Combustion air and ventilation: what the published methods ask of each room, and what it has."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated

from gasdoc import units
from gasdoc.build.model import Space
from gasdoc.engineering.air.ventilation import METHODS, AirDemand, Required
from gasdoc.engineering.constants import FOOT, INCH
from gasdoc.quantities import Known, Metre
from gasdoc.regions.rules import Rule
from gasdoc.study.air.rooms import Air, Room
from gasdoc.study.facts import Installation, Served, moves, stands_in, system
from gasdoc.study.findings import Finding, error, note, warning

UNKNOWN = {
    "no-input": "an appliance's input is not stated",
    "no-sleeping-places": "how many people sleep there is not stated",
    "no-people": "how many people the room is made for is not stated, so add 'people:' to it",
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


def required(rule: Rule, found: Air, space: Space | None) -> tuple[Required, float | None]:
    """What the rule's method asks, and the figure of the rule's own measure in SI, None where the method gives none."""
    assert rule.method is not None, "the caller asks for rules with a method only"
    floor = space.floor_area if space is not None else None
    asked_of = AirDemand(
        flueless=found.flueless,
        open_flued=found.open_flued,
        room_sealed=found.room_sealed,
        sleeping_places=space.sleeping_places if space is not None else None,
        people=space.people if space is not None else None,
        floor_area=float(floor) if floor is not None else None,
        roof_outlets=None,
    )
    least = float(rule.limit) if isinstance(rule.limit, float | int) else 0.0
    asked = METHODS[rule.method](asked_of, least)
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


def air_findings(build: Installation, found: Sequence[Room]) -> Iterator[Finding]:
    """Engines in rooms, what burns without a flue where people sleep, and what about the air of each room is not known."""
    by_people = [rule for rule in build.region.rules if rule.method == "bss-2002"]
    yield from _near_flues(build)
    for room in found:
        yield from _fumes(room)
        if not any(stands_in(build, rule.where) for rule in build.region.rules_for("room-sealed-heating")):
            yield from _open_flued(room)
        yield from _openings(room)
        if moves(build) and not build.region.rules_for("vent-area-low"):
            yield from _nothing_low(room)
        if by_people and room.appliances and room.space is not None and room.space.people is None:
            yield note(
                "people-unknown",
                room.subject,
                room.at,
                room.named("How many people it is made for is not stated."),
                "The openings asked go by that number, and so they cannot be worked out.",
                "Count seats and berths, whichever are more, and add 'people:' to the room under 'spaces:'.",
                str(by_people[0].citation),
            )
        stray = [s for s in room.appliances if room.several and s.outlet.space is None]
        if stray:
            yield warning(
                "room-not-stated",
                room.id,
                stray[0].at,
                f"In which room these stand is not stated: {', '.join(s.appliance.name for s in stray)}.",
                f"They are counted to the first room, {room.name}. Air and alarms are worked out for each room.",
                "Add 'space:' to the outlet, with the room's id, or 'outdoors'.",
                of=tuple(s.appliance.name for s in stray),
            )


SEALED_FLUE: Annotated[
    Metre,
    Known(
        "distance of a room-sealed appliance's flue from an opening into the rooms, below which it is told",
        "NFPA 54 as makers' manuals tell it: 6 in to 10,000 Btu/h, 9 in to 50,000, 12 in above; the largest is taken",
        "twice",
    ),
] = 12 * INCH
OTHER_FLUE: Annotated[
    Metre,
    Known(
        "distance of any other flue below or beside an opening into the rooms, below which it is told",
        "NFPA 54 as makers' manuals tell it: 4 ft below or to the side of the opening",
        "twice",
    ),
] = 4 * FOOT
ABOVE: Annotated[
    Metre,
    Known(
        "height of any flue above an opening into the rooms, from which no more distance is asked",
        "NFPA 54 as makers' manuals tell it: 1 ft above the opening",
        "twice",
    ),
] = 1 * FOOT

_OF_FLUES = (
    "NFPA 54 on flues of buildings, as makers' manuals tell it (read in two or more public texts). Other codes have figures of "
    "their own"
)


def _near_flues(build: Installation) -> Iterator[Finding]:
    """Ends of flues and exhausts beside a door, window, hatch or vent, as far as the spec gives both places."""
    flues = {s.appliance.flue for s in build.served if _has_flue(s)}
    into = [o for o in build.spec.openings if o.kind in ("door", "window", "hatch", "vent")]
    for i, end in enumerate(build.spec.openings):
        if end.kind not in ("flue", "exhaust"):
            continue
        beside = SEALED_FLUE if end.kind == "flue" and flues == {"room-sealed"} else OTHER_FLUE
        near = [
            (far, opening)
            for opening in into
            if end.at[2] - opening.at[2] < ABOVE * (1 - 1e-9)
            and (far := math.dist(end.at, opening.at)) < beside * (1 - 1e-9)
        ]
        if near:
            far, opening = min(near, key=lambda one: one[0])
            shown = system(build)
            yield warning(
                "flue-near-opening",
                "build",
                ("openings", i, "at"),
                f"{end.name or end.kind.capitalize()} ends {units.show(far, 'distance', shown)} from {opening.name or opening.kind}.",
                "Fumes come in there with the wind, and carbon monoxide with them.",
                f"Move it at least {units.show(beside, 'distance', shown)} away, or as far as its maker and the authority ask. Measure "
                "from edge to edge.",
                _OF_FLUES if end.kind == "flue" else f"{_OF_FLUES}. No figure for an engine's exhaust is known here",
            )


def _has_flue(served: Served) -> bool:
    """Whether an appliance has a flue, or may have one as far as the spec tells. What only cooks and an engine have none."""
    flue, kind = served.appliance.flue, served.kind
    return flue in ("room-sealed", "open-flued") or (flue is None and not kind.cooks and not kind.engine)


def _fumes(room: Room) -> Iterator[Finding]:
    """Appliances that let what they burn into a room where it must not be."""
    for s in room.appliances:
        if s.kind.engine:
            yield error(
                "engine-in-room",
                s.id,
                s.at,
                f"{s.appliance.name} has an engine, and "
                + ("it stands in a room." if s.outlet.space is not None else "nothing says that it stands outdoors."),
                "Its exhaust holds so much carbon monoxide that it kills within minutes. Open doors and windows do not help.",
                "Set it up outdoors, away from doors, windows and vents. Or build it a compartment that is sealed from the rooms "
                "and open to outdoors only. Then write 'space: outdoors'.",
                "advice of a state's health department and of an electrical safety foundation: never indoors, and 20 ft from "
                "the house (read in two or more public texts)",
            )
        elif s.appliance.flue == "flueless" and s.kind.heats:
            yield from _flueless_heater(s, room.sleeping_places)
            if s.kind.flued and room.sleeping_places == 0:
                yield _flueless_water(s)
        elif s.appliance.flue == "flueless" and not s.kind.cooks and room.sleeping_places:
            yield warning(
                "flueless-sleeping",
                s.id,
                (*s.at, "appliance", "flue"),
                f"{s.appliance.name} has no flue, and people sleep in its room.",
                "What burns unattended with a dirty burner gives off carbon monoxide. People have died of it in their sleep.",
                "Use one that takes its air from outdoors and sends its fumes there, or put it where nobody sleeps.",
                "New Zealand's safety regulator on LPG refrigerators: neither air from nor fumes into a space where people sleep "
                "(read in one public text)",
            )


def _open_flued(room: Room) -> Iterator[Finding]:
    """Heaters that take their air where people sleep, in regions without a row about them."""
    for s in room.appliances:
        if s.appliance.flue == "open-flued" and s.kind.heats and room.sleeping_places:
            yield warning(
                "open-flued-sleeping",
                s.id,
                (*s.at, "appliance", "flue"),
                f"{s.appliance.name} takes its air from a room where people sleep.",
                "When its flue draws badly, or a fan draws against it, its fumes stay in the room. Sleepers do not notice.",
                "Use a room-sealed one. Ask the authority which heaters with a flue may stand there: water heaters seldom may.",
                "NFPA 54 as a gas utility tells it: water heaters and furnaces in no bedroom or bathroom unless they are sealed; "
                "British guidance, on a page of answers: above 14 kW only room-sealed ones (each read in one public text)",
            )


def _flueless_heater(s: Served, sleeping: int | None) -> Iterator[Finding]:
    at = (*s.at, "appliance", "flue")
    if sleeping:
        yield error(
            "flueless-heater-sleeping",
            s.id,
            at,
            f"{s.appliance.name} has no flue, and people sleep in its room.",
            "It uses up the air and gives off carbon monoxide where nobody is awake to notice.",
            "Use a room-sealed heater, with a licensed fitter.",
            "common practice, no source. Many codes ask the same",
        )
    elif sleeping is None:
        yield warning(
            "flueless-heater",
            s.id,
            at,
            f"{s.appliance.name} has no flue, and whether people sleep in its room is not stated.",
            "It uses up the air and gives off carbon monoxide. Nobody may sleep with it lit.",
            "Add 'sleeping_places:' to the room under 'spaces:', and ask about a room-sealed heater.",
            "common practice, no source",
        )


def _flueless_water(s: Served) -> Finding:
    return warning(
        "flueless-water-heater",
        s.id,
        (*s.at, "appliance", "flue"),
        f"{s.appliance.name} heats water in a room, and it has no flue.",
        "While the water runs it fills the room with what it burns. Under a shower that is as long as somebody stands there.",
        "Use a room-sealed one. A small one without a flue is for a few minutes at a sink only. It never serves a shower.",
        "Hong Kong's gas authority: a flueless one is used for 5 minutes at most, and for no bath. IFGC chapter 5: every "
        "appliance discharges outdoors unless it is exempted (each read in one public text)",
    )


def _nothing_low(room: Room) -> Iterator[Finding]:
    """A room with gas in it, on something that moves, out of which gas cannot run at its floor."""
    space = room.space
    if not room.appliances or space is None or space.vent_low != 0.0:
        return
    if not (room.air.needed and space.vent_high == 0.0):  # else it has no opening at all, and that is told
        yield warning(
            "no-low-opening",
            room.subject,
            (*room.at, "vent_low"),
            room.named("The room has no opening near its floor."),
            "Propane sinks. What leaks stays on the floor until something lights it.",
            "Ask the authority and a licensed fitter for an opening at floor level that nobody can shut. In a boat, where water could "
            "come in, ask what takes its place.",
            "common practice, no source",
        )


def _openings(room: Room) -> Iterator[Finding]:
    if not room.air.needed:
        return
    space = room.space
    missing = _missing(space)
    if missing:
        yield warning(
            "air-unknown",
            room.subject,
            room.at,
            room.named(f"What air the appliances get is not known: {', '.join(missing)} not stated."),
            "Appliances that take their air from the room need openings or a large room. Without these carbon monoxide builds up.",
            "Measure it, and take off what mesh and louvres cover. Add it to the room under 'spaces:' (0 where there is none).",
        )
    elif space is not None and not (space.vent_high or space.vent_low):
        yield warning(
            "no-openings",
            room.subject,
            (*room.at, "vent_high"),
            room.named("Appliances take their air from the room, and it has no opening to the outside."),
            "Flame and people use up the same air. Without openings carbon monoxide builds up.",
            "Ask the authority and a licensed fitter what openings it needs, or use room-sealed appliances.",
            "common practice, no source. What a rule of the region asks stands on the page about air",
        )


def _missing(space: Space | None) -> list[str]:
    names = {"volume": "volume of the room", "vent_high": "openings at high level", "vent_low": "openings at low level"}
    return [words for key, words in names.items() if space is None or getattr(space, key) is None]
