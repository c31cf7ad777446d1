"""Every joint of the system, in the order in which gas reaches it: what leak fluid has to be put on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from gasdoc.build.model import Junction, Outlet, Regulator, Run, Valve
from gasdoc.build.reader import Build
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.passages import by_bulkhead_fitting

CONTAINER_SIDE = "container side"


class Joint(Struct, frozen=True):
    """One joint. `element` is the id of the element it belongs to; `zone` that of the regulator upstream of it, or
    "container side". `needs` is what has to be connected for the joint to be under test at all."""

    id: str
    element: str
    zone: str
    text: str
    needs: Literal["regulator", "appliance"] | None = None


def joints(build: Build, made: Fittings) -> tuple[Joint, ...]:
    """All joints, each once."""
    return tuple(_joints(build, made))


def _joints(build: Build, made: Fittings) -> Iterator[Joint]:
    spec = build.spec
    nuts = {
        about.element
        for about, spot, placed in made.placed()
        if spot.role == "connector" and placed.part is not None and placed.part.unions
    }
    unions = {spot.id: about for about, spot, _ in made.unions()}

    def union(element: str, zone: str, needs: Literal["regulator", "appliance"] | None = None) -> Iterator[Joint]:
        if (about := unions.get(f"{element}:union")) is not None:
            yield Joint(f"{element}-union", element, zone, f"{about.words}: its nut and both ends", needs)

    for number in range(1, spec.container.number + 1):
        which = f" {number}" if spec.container.number > 1 else ""
        yield Joint(
            f"container{which.replace(' ', '-')}-connection",
            "container",
            CONTAINER_SIDE,
            f"container{which}: connection at its valve",
        )
    if spec.container.number > 1:
        yield Joint(
            "container-manifold", "container", CONTAINER_SIDE, f"{spec.container.manifold} manifold: every hose end"
        )
    first = spec.regulator.id or "regulator"
    yield Joint(f"{first}-inlet", first, CONTAINER_SIDE, "first regulator: inlet")
    yield Joint(f"{first}-outlet", first, first, "first regulator: outlet", "regulator")
    yield from union(first, first)
    zone_of = {-1: first}
    for i, node in enumerate(build.nodes):
        zone = zone_of[node.parent]
        part = node.part
        if isinstance(part, Regulator):
            yield Joint(f"{node.id}-inlet", node.id, zone, f"{node.id}: inlet", "regulator")
            zone = node.id
            yield Joint(f"{node.id}-outlet", node.id, zone, f"{node.id}: outlet", "regulator")
        elif isinstance(part, Run):
            yield Joint(f"{node.id}-upstream", node.id, zone, f"{node.id}: upstream end fitting")
            if "bulkhead" in part.through and by_bulkhead_fitting(build.material(node)[0]):
                each = "the bulkhead fitting" if part.through.count("bulkhead") == 1 else "each bulkhead fitting"
                yield Joint(f"{node.id}-bulkhead", node.id, zone, f"{node.id}: both sides of {each}")
            yield Joint(f"{node.id}-downstream", node.id, zone, f"{node.id}: downstream end fitting")
        elif isinstance(part, Valve):
            yield Joint(f"{node.id}-ends", node.id, zone, f"{node.id}: both ends and the stem")
        elif isinstance(part, Junction):
            ways = len(part.branches) + 1
            yield Joint(f"{node.id}-ports", node.id, zone, f"{node.id}: all {ways} ports")
        elif isinstance(part, Outlet):
            name = part.appliance.name
            end = "end fitting of its line" if part.shut_off is False else "both ends of its shut-off valve"
            yield Joint(f"{node.id}-valve", node.id, zone, f"{name}: {end}")
            yield Joint(f"{node.id}-connector", node.id, zone, f"{name}: both ends of its connector", "appliance")
            if node.id in nuts:
                for side, where in (("upstream", "at the valve"), ("downstream", "at the appliance")):
                    text = f"{name}: nut of its connector {where}, no sealant"
                    yield Joint(f"{node.id}-nut-{side}", node.id, zone, text, "appliance")
            yield from union(node.id, zone, "appliance")
        else:
            yield Joint(f"{node.id}-plug", node.id, zone, f"{node.id}: test tap and its plug")
        if not isinstance(part, Outlet):
            yield from union(node.id, zone)
        zone_of[i] = zone
