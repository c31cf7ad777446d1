"""The sheet for the door: what to do when it smells of gas, which valves there are, whom to call."""

from __future__ import annotations

from typing import Any

from gasdoc.build.model import Outlet, Valve
from gasdoc.build.supply import Node
from gasdoc.study import Study
from gasdoc.study.air.alarms import fitted

PLACES = {
    "outdoors": "outdoors",
    "locker": "in the gas locker, opened from outside",
    "chassis": "on the chassis",
    "drawbar": "on the drawbar",
    "inside": "inside",
    None: "place not stated",
}

ALARMS = {"gas": "Gas alarm", "co": "Carbon monoxide alarm", "smoke": "Smoke alarm"}

MOST_SHUT_OFFS = 5
"""More appliances than this share one line, so that the sheet stays one."""


def view(study: Study) -> dict[str, Any]:
    """The emergency steps in order, the numbers to call, the valves from the container inwards, the alarms."""
    spec = study.build.spec
    count = spec.container.number
    valves = [(f"Container valve{f's, all {count}' if count > 1 else ''}", PLACES[spec.container.place], "everything")]
    for node, valve in study.build.each(Valve):
        names = [n.part.appliance.name for n in study.build.behind(node.id) if isinstance(n.part, Outlet)]
        valves.append((_name(study, node, names), valve.place or "place not stated", _behind(names)))
    own = [s for s in study.served if s.outlet.shut_off]
    if len(own) <= MOST_SHUT_OFFS:
        valves += [
            (f"Shut-off of {s.appliance.name}", s.outlet.place or "place not stated", s.appliance.name) for s in own
        ]
    else:
        valves.append((f"Shut-offs of {len(own)} appliances", "at each appliance", "that appliance"))
    alarms = [alarm for room in study.rooms for alarm in fitted(room) or ()]
    return {
        "steps": [c for c in study.cautions if c.group == "emergency"],
        "co_steps": [c for c in study.cautions if c.group == "carbon-monoxide"],
        "valves": valves,
        "alarms": [
            (words + ("s" if len(places) > 1 else ""), "; ".join(places))
            for kind, words in ALARMS.items()
            if (places := [a.alarm.place or "place not stated" for a in alarms if a.alarm.kind == kind])
        ],
        "calls": study.build.region.emergency,
        "numbers": [
            "Gas supplier, day and night",
            "Licensed gas fitter",
            "Owner, or who has a key",
            "This place: address or position",
        ],
    }


def _name(study: Study, node: Node, names: list[str]) -> str:
    """What a valve is called: by its own id, else by what it does; an id that gasdoc made up means nothing at a door."""
    if node.part.id is not None:
        called = study.build.labels[node.id]
        return f"{called[0].upper()}{called[1:]}"
    return "Main shut-off" if len(names) == len(study.served) else "Valve"


def _behind(names: list[str]) -> str:
    """The appliances a valve shuts off, in words."""
    if len(names) > MOST_SHUT_OFFS:
        return f"everything behind it, {len(names)} appliances"
    return "everything behind it: " + ", ".join(names) if len(names) > 1 else names[0]
