"""The take-off: every part a supply tree needs, counted from the tree itself."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

Group = Literal["container and regulator", "tubing", "fittings", "valves and connectors", "passages", "supports",
                "sealing and testing"]  # fmt: skip

GROUPS: tuple[Group, ...] = ("container and regulator", "tubing", "fittings", "valves and connectors", "passages",
                             "supports", "sealing and testing")  # fmt: skip

COIL_ALLOWANCE = 0.10
RIGID_ALLOWANCE = 0.05
"""Waste as a share of length, coiled and rigid (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class RunPart:
    """A run: tubing `name` for people and `key` for merging; `length` and `spacing` of supports in m."""

    id: str
    key: str
    name: str
    rigid: bool
    corrugated: bool
    length: float
    bends: int
    through: tuple[str, ...]
    spacing: float


@dataclass(frozen=True, slots=True)
class JunctionPart:
    """A tee or manifold with the sizes at its ports, the inlet first."""

    id: str
    kind: str
    ports: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OutletPart:
    """An outlet. `connector_length` and `distance` in m, None where not known; `corrugated` if such tubing ends here."""

    id: str
    appliance: str
    inlet: str | None
    connector: str
    connector_length: float | None
    distance: float | None
    corrugated: bool


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the take-off.

    `quantity` is a count, or a length in m where `measured`; `exact` is the length without allowance. `where` lists
    the ids of the elements it is for.
    """

    key: str
    group: Group
    name: str
    quantity: float
    measured: bool
    where: tuple[str, ...]
    note: str = ""
    exact: float | None = None


@dataclass(frozen=True, slots=True)
class Supply:
    """All that a take-off is made from."""

    container: str
    containers: int
    manifold: str | None
    regulators: tuple[tuple[str, str], ...]
    runs: tuple[RunPart, ...]
    junctions: tuple[JunctionPart, ...]
    valves: tuple[str, ...]
    taps: tuple[str, ...]
    outlets: tuple[OutletPart, ...]


def take_off(supply: Supply) -> tuple[Item, ...]:
    """The parts of a supply tree, like parts merged, in the order of GROUPS and then of the tree."""
    merged: dict[str, Item] = {}
    for item in _items(supply):
        first = merged.get(item.key)
        if first is None:
            merged[item.key] = item
            continue
        exact = None if first.exact is None or item.exact is None else first.exact + item.exact
        merged[item.key] = Item(
            first.key, first.group, first.name, first.quantity + item.quantity, first.measured,
            first.where + tuple(w for w in item.where if w not in first.where), first.note, exact,
        )  # fmt: skip
    return tuple(sorted(merged.values(), key=lambda item: GROUPS.index(item.group)))


def _items(supply: Supply) -> Iterator[Item]:
    yield from _source(supply)
    for run in supply.runs:
        yield from _run(run)
    for junction in supply.junctions:
        ports = " x ".join(junction.ports)
        yield Item(f"{junction.kind}:{ports}", "fittings", f"{junction.kind}, {ports}", 1, False, (junction.id,),
                   "inlet named first")  # fmt: skip
    for valve in supply.valves:
        yield Item("valve:branch", "valves and connectors", "shut-off valve in a branch, LP-gas listed", 1, False, (valve,))
    for tap in supply.taps:
        yield Item("tap", "valves and connectors", "test tap with plug", 1, False, (tap,))
    for outlet in supply.outlets:
        yield from _outlet(outlet)
    yield from _sundries(supply)


def _source(supply: Supply) -> Iterator[Item]:
    group: Group = "container and regulator"
    yield Item("container", group, supply.container, supply.containers, False, ("container",))
    if supply.containers > 1:
        yield Item("manifold", group, f"{supply.manifold} manifold", 1, False, ("container",))
        yield Item("pigtail", group, "high-pressure hose from container to manifold", supply.containers, False,
                   ("container",), "one for each container")  # fmt: skip
    else:
        yield Item("pigtail", group, "high-pressure hose from container to regulator", 1, False, ("container",),
                   "not needed where the regulator sits on the container valve")  # fmt: skip
    for identity, name in supply.regulators:
        yield Item(f"regulator:{name}", group, name, 1, False, (identity,))


def _run(run: RunPart) -> Iterator[Item]:
    allowance = RIGID_ALLOWANCE if run.rigid else COIL_ALLOWANCE
    yield Item(f"tubing:{run.key}", "tubing", run.name, run.length * (1 + allowance), True, (run.id,),
               f"{allowance:.0%} added for waste (common practice)", run.length)  # fmt: skip
    ends = "fitting for corrugated tubing" if run.corrugated else "end fitting"
    yield Item(f"end:{run.key}", "fittings", f"{ends}, {run.name}", 2, False, (run.id,))
    if run.rigid and run.bends:
        yield Item(f"elbow:{run.key}", "fittings", f"elbow, {run.name}", run.bends, False, (run.id,))
    for place in run.through:
        soft = place in ("floor", "deck", "frame")
        name = f"{'grommet' if soft else 'sleeve'} for {run.name} through a {place}"
        yield Item(f"passage:{place}:{run.key}", "passages", name, 1, False, (run.id,))
        if place in ("wall", "partition") and not run.rigid:
            yield Item("strike-plate", "passages", "steel strike plate, 1/16 in", 1, False, (run.id,),
                       "where the tubing is within 1.5 in of the face of a stud")  # fmt: skip
    clamps = max(2, math.ceil(run.length / run.spacing - 1e-9) + 1) + run.bends
    yield Item(f"clamp:{run.key}", "supports", f"cushion clamp for {run.name}", clamps, False, (run.id,),
               "both ends, every spacing, and one at each bend")  # fmt: skip


def _outlet(outlet: OutletPart) -> Iterator[Item]:
    group: Group = "valves and connectors"
    yield Item("valve:outlet", group, "appliance shut-off valve, LP-gas listed", 1, False, (outlet.id,))
    length = outlet.connector_length
    reach = f", {length:.3f} m" if length is not None else ""
    inlet = f" to {outlet.inlet}" if outlet.inlet else ""
    key = f"connector:{outlet.connector}:{reach}:{inlet}"
    yield Item(key, group, f"{outlet.connector} connector{inlet}", 1, False, (outlet.id,),
               "" if length is not None else "length not chosen yet")  # fmt: skip
    if outlet.corrugated:
        yield Item("termination", "fittings", "floor or wall termination for corrugated tubing", 1, False, (outlet.id,))
    yield Item("cap", "sealing and testing", "cap or plug for an open end during the test", 1, False, (outlet.id,))


def _sundries(supply: Supply) -> Iterator[Item]:
    group: Group = "sealing and testing"
    everywhere: Sequence[str] = ()
    yield Item("sealant", group, "thread sealant rated for LP gas", 1, False, tuple(everywhere),
               "on male tapered threads only")  # fmt: skip
    yield Item("leak-fluid", group, "leak-detection fluid, non-corrosive", 1, False, tuple(everywhere))
    yield Item("label", group, "label for the main shut-off", 1, False, ("container",))
