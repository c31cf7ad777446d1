"""Every joint of the system, in the order in which gas reaches it: what leak fluid has to be put on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.model import Junction, Outlet, Regulator, Run, Valve
from gasdoc.build.reader import Build
from gasdoc.engineering.materials.assembly import Placed
from gasdoc.study.materials.assembly import Fittings

CONTAINER_SIDE = "container side"


class NumberedJoint(Struct, frozen=True):
    """One joint. `number` counts from the container on, in the order in which gas reaches it; it holds for one tightness
    code only, `id` for good. `element` is the id of the element it belongs to; `zone` that of the regulator upstream of
    it, or "container side". `needs` is what has to be connected for the joint to be under test at all."""

    id: str
    element: str
    zone: str
    text: str
    needs: Literal["regulator", "appliance"] | None = None
    number: int = 0


def joints(build: Build, made: Fittings) -> tuple[NumberedJoint, ...]:
    """All joints, each once, numbered. Every connection of `made` names those it belongs to."""
    return tuple(replace(joint, number=number) for number, joint in enumerate(_joints(build, made), 1))


def _joints(build: Build, made: Fittings) -> Iterator[NumberedJoint]:
    named = build.labels
    placed = {spot.id: part for _, spot, part in made.placed()}
    said = {spot.id: about.words for about, spot, _ in made.placed()}
    connected = {joint for joined in made.joined for joint in joined.joints}  # a union for which no part is known, too

    def union(
        element: str, zone: str, needs: Literal["regulator", "appliance"] | None = None
    ) -> Iterator[NumberedJoint]:
        if f"{element}-union" in connected:
            yield NumberedJoint(
                f"{element}-union", element, zone, f"{said[f'{element}:union']}: its nut and both ends", needs
            )

    yield from _containers(build)
    first = build.first
    yield NumberedJoint(f"{first}-inlet", first, CONTAINER_SIDE, f"{named[first]}: inlet")
    yield NumberedJoint(f"{first}-outlet", first, first, f"{named[first]}: outlet", "regulator")
    yield from _hose(first, named[first], build.spec.regulator)
    yield from union(first, first)
    for node in build.nodes:
        zone = build.zone_of[node.id]
        part, name = node.part, named[node.id]
        if isinstance(part, Regulator):
            yield NumberedJoint(f"{node.id}-inlet", node.id, zone, f"{name}: inlet", "regulator")
            zone = node.id
            yield NumberedJoint(f"{node.id}-outlet", node.id, zone, f"{name}: outlet", "regulator")
            yield from _hose(node.id, name, part)
        elif isinstance(part, Run):
            yield NumberedJoint(f"{node.id}-upstream", node.id, zone, f"{name}: upstream end fitting")
            if f"{node.id}:elbow-1" in placed:
                each = "its elbow" if part.bends == 1 else f"each of its {part.bends} elbows"
                yield NumberedJoint(f"{node.id}-elbows", node.id, zone, f"{name}: both ends of {each}")
            if f"{node.id}:bulkhead-1" in placed:
                each = "the bulkhead fitting" if part.through.count("bulkhead") == 1 else "each bulkhead fitting"
                yield NumberedJoint(f"{node.id}-bulkhead", node.id, zone, f"{name}: both sides of {each}")
            yield NumberedJoint(f"{node.id}-downstream", node.id, zone, f"{name}: downstream end fitting")
        elif isinstance(part, Valve):
            yield NumberedJoint(f"{node.id}-ends", node.id, zone, f"{name}: both ends and the stem")
        elif isinstance(part, Junction):
            ways = len(part.branches) + 1
            yield NumberedJoint(f"{node.id}-ports", node.id, zone, f"{name}: all {ways} ports")
        elif isinstance(part, Outlet):
            yield from _outlet(node.id, name, zone, part, placed)
            yield from union(node.id, zone, "appliance")
        else:
            yield NumberedJoint(f"{node.id}-plug", node.id, zone, f"{name}: both ends, the tap and its plug")
        if not isinstance(part, Outlet):
            yield from union(node.id, zone)


def _containers(build: Build) -> Iterator[NumberedJoint]:
    """The joints at the containers and between them."""
    spec = build.spec
    for number in range(1, spec.container.number + 1):
        which = f" {number}" if spec.container.number > 1 else ""
        yield NumberedJoint(
            f"container{which.replace(' ', '-')}-connection",
            "container",
            CONTAINER_SIDE,
            f"container{which}: connection at its valve",
        )
    if spec.container.number > 1:
        banks = spec.container.manifold == "banks"
        words = "manifolds of both banks" if banks else f"{spec.container.manifold} manifold"
        yield NumberedJoint("container-manifold", "container", CONTAINER_SIDE, f"{words}: every hose end")


def _hose(element: str, name: str, part: Regulator) -> Iterator[NumberedJoint]:
    """Both ends of the hose behind a regulator."""
    if part.hose is not None:
        yield NumberedJoint(
            f"{element}-hose-upstream", element, element, f"hose of the {name}: end at the regulator", "regulator"
        )
        yield NumberedJoint(
            f"{element}-hose-downstream", element, element, f"hose of the {name}: end at the line", "regulator"
        )


def _outlet(element: str, name: str, zone: str, part: Outlet, placed: Mapping[str, Placed]) -> Iterator[NumberedJoint]:
    """The joints from the end of a line to the appliance's inlet."""
    end = "end fitting of its line" if part.shut_off is False else "both ends of its shut-off valve"
    yield NumberedJoint(f"{element}-valve", element, zone, f"{name}: {end}")
    yield NumberedJoint(f"{element}-connector", element, zone, f"{name}: both ends of its connector", "appliance")
    connector = placed.get(f"{element}:connector")
    if connector is not None and connector.part is not None and connector.part.unions:
        for side, where in (("upstream", "at the valve"), ("downstream", "at the appliance")):
            text = f"{name}: nut of its connector {where}, no sealant"
            yield NumberedJoint(f"{element}-nut-{side}", element, zone, text, "appliance")
    if f"{element}:trap" in placed:
        yield NumberedJoint(
            f"{element}-trap", element, zone, f"{name}: sediment trap, its tee, nipple and cap", "appliance"
        )
