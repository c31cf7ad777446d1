"""A build with its open keys filled in: what a choice states, put where the spec leaves it open."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Run
from gasdoc.build.reader import Build
from gasdoc.build.supply import changed, flatten
from gasdoc.catalog.tubing import Size, material
from gasdoc.source import Path

OF_THE_OLD = (
    "water_capacity",
    "orientation",
    "stays",
    "connection",
    "diameter",
    "length",
    "tare",
    "excess_flow",
    "manufactured",
    "requalified",
    "serial",
    "fill",
)
"""Keys of a container that were read off the one it was: with another kind they say nothing."""


class Set(Struct, frozen=True):
    """A container choice as a spec states it; `water` only for a kind that comes in many sizes."""

    kind: str
    number: int
    manifold: str | None
    orientation: str
    water: str | None = None

    @property
    def keys(self) -> dict[str, str]:
        """Its keys and values as they are written."""
        found = {"type": self.kind, "number": str(self.number) if self.number > 1 else None, "manifold": self.manifold}
        found |= {"water_capacity": self.water, "orientation": self.orientation}
        return {key: value for key, value in found.items() if value is not None}


class Reduced(Struct, frozen=True):
    """A regulator as it is asked for: its outlet and lowest inlet as they are written, and its stages."""

    outlet: str
    inlet: str | None
    stages: int

    @property
    def keys(self) -> dict[str, str]:
        """Its keys and values as they are written."""
        found = {"stages": str(self.stages), "inlet": self.inlet, "outlet": self.outlet}
        return {key: value for key, value in found.items() if value is not None}


class Pipes(Struct, frozen=True):
    """The tubing of runs: one material and type, and a size for each run by id; no sizes leave them to be computed."""

    material: str
    kind: str | None
    sizes: tuple[tuple[str, Size], ...] = ()


class Picked(Struct, frozen=True):
    """What is chosen together; None for what stays as it is."""

    container: Set | None = None
    regulator: Reduced | None = None
    tubing: Pipes | None = None


def size_text(size: Size) -> str:
    """A size as a spec states it, in the words that can be read in one way only."""
    named_by = material(size.material).named_by
    if named_by == "nominal-or-od":
        return size.label.split(", ")[1]
    if named_by == "od-and-wall":
        return size.id.replace("x", " x ") + " mm"
    return size.id if named_by == "ehd" else f"{size.id} in"


def fill(build: Build, picked: Picked) -> Build:
    """The build with what is picked in it; its `plan` is what the spec states."""
    spec, chosen = build.spec, picked.container
    changes: dict[str, Any] = {}
    if chosen is not None:
        update: dict[str, Any] = dict.fromkeys(OF_THE_OLD)
        update |= {"type": chosen.kind, "number": chosen.number, "manifold": chosen.manifold}
        update |= {"orientation": chosen.orientation}
        if chosen.water is not None:
            update["water_capacity"] = units.parse(chosen.water, "volume")
        changes["container"] = spec.container.model_copy(update=update)
    if picked.regulator is not None:
        wanted = picked.regulator
        inlet = None if wanted.inlet is None else units.parse(wanted.inlet, "pressure")
        outlet = units.parse(wanted.outlet, "pressure")
        changes["regulator"] = spec.regulator.model_copy(
            update={"outlet": outlet, "inlet": inlet, "stages": wanted.stages}
        )
    if picked.tubing is not None:
        chosen_keys = {at: _read(keys) for at, keys in tubing_keys(build, picked.tubing).items()}
        changes["supply"] = changed(spec.supply, ("supply",), chosen_keys)
    filled = spec.model_copy(update=changes)
    return replace(build, spec=filled, nodes=flatten(filled), plan=build.stated)


def tubing_keys(build: Build, pipes: Pipes) -> dict[Path, dict[str, str | None]]:
    """What each run states once the tubing is chosen, by its place: the material on the first of a way, sizes on all.

    Runs keep to their own material where some of the plan are open and others are not.
    """
    found: dict[Path, dict[str, str | None]] = {}
    sizes = dict(pipes.sizes)
    chosen: set[int] = set()
    for index, node in enumerate(build.nodes):
        if not isinstance(node.part, Run) or (build.stated.open_runs and node.id not in build.stated.open_runs):
            continue
        above = node.parent
        while above >= 0 and not isinstance(build.nodes[above].part, Run):
            above = build.nodes[above].parent
        first = above not in chosen
        chosen.add(index)
        size = size_text(sizes[node.id]) if node.id in sizes else None
        found[node.at] = {
            "material": pipes.material if first else None,
            "type": pipes.kind if first and len(material(pipes.material).kinds) > 1 else None,
            "size": size,
            "maker_capacity": None,
        }
    return found


def _read(keys: Mapping[str, Any]) -> dict[str, Any]:
    """The keys of a run as the model holds them: types of copper in small letters."""
    return {key: value.lower() if key == "type" and value is not None else value for key, value in keys.items()}
