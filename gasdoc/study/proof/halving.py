"""On a fail, where to cap first: the tree halved, joint by joint counted, until leak fluid has few joints left to find.

At each step one place is opened and the upstream side capped with a fitting. What stays on the gauge then holds or
falls, and that says on which side of the cap the leak is. A closed valve is no cap.

Only what can be parted is undone: an end of tubing that a nut holds, what screws onto such an end, and the end of a
line. A threaded pipe between two others turns in neither without turning the next joint, so nothing is cut there.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from gasdoc.build.model import Run
from gasdoc.build.reader import Build
from gasdoc.catalog import tubing
from gasdoc.quantities import By
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.joints import NumberedJoint
from gasdoc.study.proof.closures import InTest
from gasdoc.study.proof.leak_test import LeakTest

FEW = 3
"""So many joints are wetted one by one; halving further saves nothing."""

MOST_STEPS = 60
"""No more steps than this are written out for one zone; a system that large is not tested by such a list."""


class HalvingOutcome(Struct, frozen=True):
    """What one result of a step leads to: the next step by its number, or the joints to wet."""

    step: int | None
    joints: tuple[Annotated[NumberedJoint, By("id")], ...]


class HalvingStep(Struct, frozen=True):
    """Cap at the upstream end of `cut`, the id of an element. Of `suspects` joints `kept` stay on the gauge.

    `holds`: the rest, beyond the cap, is suspect; `falls`: what is on the gauge is.
    """

    number: int
    cut: str
    kind: str
    suspects: int
    kept: int
    holds: HalvingOutcome
    falls: HalvingOutcome


def halves(
    build: Build,
    zone: str,
    joints: tuple[NumberedJoint, ...],
    appliances: bool = False,
    unions: frozenset[str] = frozenset(),
    off: frozenset[str] = frozenset(),
) -> tuple[HalvingStep, ...]:
    """The steps for one zone (the id of the regulator upstream) tested by itself, the first one first.

    The regulator is off; the joints of the appliances' connectors count if `appliances` are connected in the test.
    `unions` are the ids of elements that a union stands before, `off` those of joints that are not there in the test.
    Empty where there is nothing to halve.
    """
    own = tuple(
        j
        for j in joints
        if j.zone == zone and j.id not in off and (j.needs is None or (appliances and j.needs == "appliance"))
    )
    members = {j.element for j in own}
    at = {node.id: i for i, node in enumerate(build.nodes) if node.id in members}
    beyond = {
        identity: frozenset(_behind(build, at, i)) for identity, i in at.items() if can_be_parted(build, i, unions)
    }
    steps: list[HalvingStep] = []
    queue: list[tuple[tuple[NumberedJoint, ...], int, bool]] = []
    pending: dict[tuple[int, bool], HalvingOutcome] = {}
    raw: list[tuple[str, int, int]] = []

    def outcome(suspects: tuple[NumberedJoint, ...], number: int, holds: bool) -> None:
        cut = _best(suspects, beyond) if len(suspects) > FEW and len(raw) + len(queue) < MOST_STEPS else None
        if cut is None:
            pending[number, holds] = HalvingOutcome(None, suspects)
        else:
            queue.append((suspects, number, holds))

    first = _best(own, beyond) if len(own) > FEW else None
    if first is None:
        return ()
    queue.append((own, 0, True))
    while queue:
        suspects, parent, holds = queue.pop(0)
        cut = _best(suspects, beyond)
        assert cut is not None, "only what can be cut is queued"
        number = len(raw) + 1
        pending[parent, holds] = HalvingOutcome(number, ())
        kept = tuple(j for j in suspects if j.element not in beyond[cut])
        raw.append((cut, len(suspects), len(kept)))
        outcome(tuple(j for j in suspects if j.element in beyond[cut]), number, True)
        outcome(kept, number, False)
    for i, (cut, suspects_count, kept_count) in enumerate(raw, 1):
        steps.append(
            HalvingStep(i, cut, build.by_id[cut].kind, suspects_count, kept_count, pending[i, True], pending[i, False])
        )
    return tuple(steps)


def union_before(made: Fittings) -> frozenset[str]:
    """The ids of the elements that a union stands before."""
    return frozenset(behind for _, _, behind in made.unions())


def halves_of(build: Build, made: Fittings, tests: LeakTest, kept: InTest, zone: str) -> tuple[HalvingStep, ...]:
    """The steps for one zone of a build, as its region tests it."""
    connected = tests.appliances_connected(zone)
    proven = any(a.test.kind == "piping" and a.zone == zone for a in tests.asked)
    off = kept.off if proven and not connected else frozenset()
    return halves(build, zone, tests.joints, connected, union_before(made), off)


def can_be_parted(build: Build, at: int, unions: frozenset[str]) -> bool:
    """Whether the upstream end of the element at this position comes off without turning another joint."""
    node = build.nodes[at]
    if node.id in unions and node.parent >= 0 and build.nodes[node.parent].kind != "regulator":
        return True  # the end of the line at a regulator is where the gauge is

    def nut(other: int) -> bool:
        if other < 0 or not isinstance(build.nodes[other].part, Run):
            return False
        return tubing.material(build.material(build.nodes[other])[0]).has_nuts

    if node.kind == "run":
        return nut(at) or nut(node.parent)
    if node.kind == "junction":  # several lines hold it: only the nut upstream frees it
        return nut(node.parent)
    below = [i for i, other in enumerate(build.nodes) if other.parent == at]
    return node.kind == "outlet" or nut(node.parent) or all(nut(i) or build.nodes[i].kind == "outlet" for i in below)


def _behind(build: Build, at: dict[str, int], top: int) -> list[str]:
    """The ids of an element of the zone and of all behind it in the zone."""
    inside = {top}
    for i, node in enumerate(build.nodes):
        if node.parent in inside and node.id in at:
            inside.add(i)
    return [build.nodes[i].id for i in sorted(inside)]


def _best(suspects: tuple[NumberedJoint, ...], beyond: dict[str, frozenset[str]]) -> str | None:
    """The element to cut at: the one that parts the suspects most evenly, the most upstream of equals; None if none
    parts them."""
    best: tuple[int, str] | None = None
    for identity, behind in beyond.items():
        inside = sum(1 for j in suspects if j.element in behind)
        larger = max(inside, len(suspects) - inside)
        if larger < len(suspects) and (best is None or larger < best[0]):
            best = (larger, identity)
    return best[1] if best is not None else None
