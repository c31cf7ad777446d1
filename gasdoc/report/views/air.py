"""Combustion air, ventilation and alarms of each room of a build."""

from __future__ import annotations

from typing import Any

from gasdoc.report.content import words
from gasdoc.report.content.words import Quantities, first_upper
from gasdoc.report.views.referral import rule_rows
from gasdoc.study import Study
from gasdoc.study.air.rooms import Room, fitted
from gasdoc.study.supply.altitude import SOURCE, american, own_rule

FLUES = {
    "room-sealed": ("room-sealed", "no: air in and flue gas out, both outdoors"),
    "open-flued": ("open flue", "yes: air from the room, flue gas outdoors"),
    "flueless": ("none", "yes, and everything it burns goes into the room"),
    None: (words.NOT_KNOWN, "taken as yes, since it is not stated"),
}
POWER = {"battery": "its own battery", "low-voltage": "low voltage", "mains": "the mains", None: words.NOT_KNOWN}


def view(study: Study) -> dict[str, Any]:
    """The rooms with their appliances by flue, openings and alarms with their dates; what the rules ask."""
    q = Quantities.of(study.build)
    own = own_rule(study.build)
    outdoors = [s.appliance.name for s in study.served if all(s not in room.appliances for room in study.rooms)]
    return {
        "rooms": [_room(study, room, q) for room in study.rooms],
        "outdoors": outdoors,
        "high_up": [
            [
                one.served.appliance.name,
                q.number(one.served.load, "load"),
                q.number(one.served.load * one.jet, "load"),
                *([] if own is not None else [q.number(one.served.load * one.asked, "load")]),
                "for this height" if one.stated else words.NOT_KNOWN,
            ]
            for one in study.high_up
        ],
        "high_up_source": SOURCE if own is None else own.citation,
        "high_up_code": None if own is not None else "NFPA 54" if american(study.build) else "NFPA 54, a US code",
        "rules": [(subject, rule_rows(study, (subject,))) for subject in ("ventilation", "space", "detection")],
    }


def _room(study: Study, room: Room, q: Quantities) -> dict[str, Any]:
    space = room.space
    high, low, total = (None, None, None) if space is None else (space.vent_high, space.vent_low, None)
    if high is not None and low is not None:
        total = float(high) + float(low)
    return {
        "id": room.id,
        "name": first_upper(room.name),
        "several": room.several,
        "burns": room.air.flueless + room.air.open_flued > 0.0,
        "sleeping": room.sleeping_places,
        "people": space.people if space is not None else None,
        "figures": [
            (
                "Burnt in the room's air",
                q.both(room.air.flueless + room.air.open_flued, "load"),
                "all appliances that are not room-sealed",
            ),
            ("Volume of the room", q.both(space.volume if space is not None else None, "room volume"), ""),
            ("Openings, high", q.both(high, "area"), "free area"),
            ("Openings, low", q.both(low, "area"), "free area"),
            ("Openings in all", q.both(total, "area"), "mesh and louvres taken off"),
        ],
        "appliances": [[s.appliance.name, q.number(s.load, "load"), *FLUES[s.appliance.flue]] for s in room.appliances],
        "alarms": _alarms(study, room),
    }


def _alarms(study: Study, room: Room) -> list[list[str]] | None:
    """The alarms of a room as a table has them; None where the spec does not say which there are."""
    found = fitted(room)
    if found is None:
        return None
    due = {d.at: d for d in study.upkeep}
    rows = []
    for one in found:
        alarm, end = one.alarm, due.get(one.at)
        until = end.due.isoformat() if end is not None and end.due else words.NOT_KNOWN
        if alarm.replace_by is not None:
            until = (
                f"{until}, marked on it {alarm.replace_by.isoformat()}"
                if end is not None and not end.marked
                else f"{until}, marked on it"
            )
        made = alarm.manufactured.isoformat() if alarm.manufactured else words.NOT_KNOWN
        rows.append(
            [
                one.kind.name,
                alarm.place or words.NOT_KNOWN,
                one.kind.place,
                alarm.standard or words.NOT_KNOWN,
                POWER[alarm.power],
                made,
                until,
            ]
        )
    return rows
