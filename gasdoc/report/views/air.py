"""Combustion air, ventilation and alarms of a build."""

from __future__ import annotations

from typing import Any

from gasdoc.report import words
from gasdoc.report.views.referral import rule_rows
from gasdoc.report.words import Quantities
from gasdoc.study import Study
from gasdoc.study.air import ALARM_NAMES, ALARM_PLACES
from gasdoc.study.facts import system

FLUES = {
    "room-sealed": ("room-sealed", "no: air in and flue gas out, both outdoors"),
    "open-flued": ("open flue", "yes: air from the room, flue gas outdoors"),
    "flueless": ("none", "yes, and everything it burns goes into the room"),
    None: (words.NOT_KNOWN, "taken as yes, since it is not stated"),
}


def view(study: Study) -> dict[str, Any]:
    """The appliances by flue, the room, what the rules ask, the alarms with their dates."""
    q = Quantities(system(study.build))
    space = study.build.spec.space
    high, low, total = (None, None, None) if space is None else (space.vent_high, space.vent_low, None)
    if high is not None and low is not None:
        total = float(high) + float(low)
    figures = [
        (
            "Burnt in the room's air",
            q.both(study.air.flueless + study.air.open_flued, "load"),
            "all appliances that are not room-sealed",
        ),
        ("Volume of the room", q.both(space.volume if space is not None else None, "room volume"), ""),
        ("Openings, high", q.both(high, "area"), "free area"),
        ("Openings, low", q.both(low, "area"), "free area"),
        ("Openings in all", q.both(total, "area"), "mesh and louvres taken off"),
    ]
    return {
        "figures": figures,
        "appliances": [[s.appliance.name, q.number(s.load, "load"), *FLUES[s.appliance.flue]] for s in study.served],
        "rules": [(subject, rule_rows(study, (subject,))) for subject in ("ventilation", "space", "detection")],
        "alarms": _alarms(study),
        "sleeping": space.sleeping_places if space is not None else None,
    }


def _alarms(study: Study) -> list[list[str]]:
    space = study.build.spec.space
    due = {d.at: d for d in study.upkeep if d.at[:2] == ("space", "alarms")}
    rows = []
    for i, alarm in enumerate(space.alarms or [] if space is not None else []):
        end = due.get(("space", "alarms", i))
        until = end.due.isoformat() if end is not None and end.due else words.NOT_KNOWN
        if alarm.replace_by is not None:
            until = (
                f"{until}; marked on it {alarm.replace_by.isoformat()}"
                if end is not None and not end.marked
                else f"{until}, marked on it"
            )
        made = alarm.manufactured.isoformat() if alarm.manufactured else words.NOT_KNOWN
        rows.append(
            [
                ALARM_NAMES[alarm.kind],
                alarm.place or words.NOT_KNOWN,
                ALARM_PLACES[alarm.kind],
                alarm.standard or words.NOT_KNOWN,
                made,
                until,
            ]
        )
    return rows
