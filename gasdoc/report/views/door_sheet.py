"""The sheet for the door: what to do when it smells of gas, which valves there are, whom to call. And the labels of its valves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from gasdoc.build.model import Outlet, Valve
from gasdoc.build.supply import Node
from gasdoc.catalog.alarms import alarm_kinds
from gasdoc.regions.cautions import shutting
from gasdoc.report.content.photos import Picture
from gasdoc.report.content.words import first_upper
from gasdoc.study import Study, facts
from gasdoc.study.air.rooms import fitted

MOST_PHOTOS = 2
"""Photos for which there is room on the sheet."""


def view(study: Study, pictures: Mapping[str, Sequence[Picture]]) -> dict[str, Any]:
    """The emergency steps in order, the numbers to call, the valves from the container inwards with photos of the first of
    them, the alarms."""
    every = valves(study)
    shown = [(valve.name, valve.place, valve.behind) for valve in every]
    own = sum(valve.appliance for valve in every)
    if own > MOST_NAMED:  # so that the sheet stays one
        shown[-own:] = [(f"Shut-offs of {own} appliances", "at each appliance", "that appliance")]
    things = [*(f"element {node.id}" for node, _ in study.build.each(Valve)), "container"]
    alarms = [alarm for room in study.rooms for alarm in fitted(room) or ()]
    return {
        "steps": [c for c in study.cautions if c.group == "emergency"],
        "co_steps": [c for c in study.cautions if c.group == "carbon-monoxide"],
        "valves": shown,
        "shuts": [
            f"{'Container' if i == 0 else 'Others'}: {said}"
            for i, said in enumerate(dict.fromkeys(v.shuts for v in every))
        ],
        "where": [pictures[thing][0] for thing in things if thing in pictures][:MOST_PHOTOS],
        "alarms": [
            (f"{first_upper(kind.senses)} alarm{'s' if len(places) > 1 else ''}", "; ".join(places))
            for kind in alarm_kinds().values()
            if (places := [a.alarm.place or "place not stated" for a in alarms if a.kind.id == kind.id])
        ],
        "calls": study.build.region.emergency,
        "numbers": [
            "Gas supplier, day and night",
            "Licensed gas fitter",
            "Owner, or who has a key",
            "This place: address or position",
        ],
    }


def labels(study: Study) -> dict[str, Any]:
    """A label for every valve."""
    return {"valves": valves(study), "calls": study.build.region.emergency}


# --- the valves -------------------------------------------------------------------------------------------------------

PLACES = {
    "outdoors": "outdoors",
    "locker": "in the gas locker, opened from outside",
    "chassis": "on the chassis",
    "drawbar": "on the drawbar",
    "inside": "inside",
    None: "place not stated",
}


MOST_NAMED = 5
"""More appliances than this are counted and not named, so that what names them stays short."""


class ShutOff(Struct, frozen=True):
    """A valve: what it is called, where it is, the appliances it shuts off in words, and how it shuts. `appliance` says that
    it is the one right at an appliance."""

    name: str
    place: str
    behind: str
    shuts: str
    appliance: bool = False


def valves(study: Study) -> list[ShutOff]:
    """The container's own valves first, then each in the line, then those at the appliances."""
    spec = study.build.spec
    count = spec.container.number
    in_line = shutting("in-line").text
    found = [
        ShutOff(
            f"Container valve{f's, all {count}' if count > 1 else ''}",
            PLACES[spec.container.place],
            "everything",
            shutting(facts.handle(study.build) or "handwheel").text,
        )
    ]
    for node, valve in study.build.each(Valve):
        names = [n.part.appliance.name for n in study.build.behind(node.id) if isinstance(n.part, Outlet)]
        found.append(ShutOff(_name(study, node, names), valve.place or PLACES[None], _behind(names), in_line))
    return found + [
        ShutOff(
            f"Shut-off of {s.appliance.name}", s.outlet.place or PLACES[None], s.appliance.name, in_line, appliance=True
        )
        for s in study.served
        if s.outlet.shut_off
    ]


def _name(study: Study, node: Node, names: list[str]) -> str:
    """What a valve is called: by its own id, else by what it does; an id that gasdoc made up means nothing at a door."""
    if node.part.id is not None:
        called = study.build.labels[node.id]
        return f"{called[0].upper()}{called[1:]}"
    return "Main shut-off" if len(names) == len(study.served) else "Valve"


def _behind(names: list[str]) -> str:
    """The appliances a valve shuts off, in words."""
    if len(names) > MOST_NAMED:
        return f"everything behind it, {len(names)} appliances"
    return "everything behind it: " + ", ".join(names) if len(names) > 1 else names[0]
