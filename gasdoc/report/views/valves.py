"""The valves of a build from the container inwards, by the names that people call them, with what each shuts off."""

from __future__ import annotations

from msgspec import Struct

from gasdoc.build.model import Outlet, Valve
from gasdoc.build.supply import Node
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.regions.cautions import shutting
from gasdoc.study import Study

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
    count, text = spec.container.number, spec.container.connection
    clipped = text is not None and parse_end(text, "female", on_container=True).kind.startswith("clip-")
    in_line = shutting("in-line").text
    found = [
        ShutOff(
            f"Container valve{f's, all {count}' if count > 1 else ''}",
            PLACES[spec.container.place],
            "everything",
            shutting("clip-on" if clipped else "handwheel").text,
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
