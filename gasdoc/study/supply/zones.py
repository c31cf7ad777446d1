"""The pressure zones of a build: what lies behind each regulator, as a tree for the engineering modules.

Loads are gross heat here and everywhere behind here. A plate that counts net heat is converted in `facts.load`, and nowhere
else: the same power counted net is more gas, by the gross over the net heating value.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from gasdoc.build.model import Outlet, Regulator, Run
from gasdoc.build.reader import Build
from gasdoc.engineering.supply.tree import Tree
from gasdoc.quantities import Aside, By, Known, Metre, Ratio, Shown, Watt
from gasdoc.regions.region import region
from gasdoc.source import Path
from gasdoc.study.facts import Installation, gross_share, heating_value


class Zone(Struct, frozen=True):
    """What lies between one regulator and the outlets or next regulators behind it.

    `run_ids` are the ids of its runs, one per segment of `tree` and in its order. `outlets` and `regulators` say at
    which segment each outlet and each next regulator of the zone stands (-1: at the source itself). `load` in W, gross
    heat, is all that the zone takes.
    """

    id: str
    at: Path
    regulator: Annotated[Regulator, By("outlet", "inlet", "capacity")]
    tree: Annotated[Tree, Aside("the runs as the solver takes them")]
    run_ids: Annotated[tuple[str, ...], Aside("the runs say it themselves")]
    outlets: Annotated[tuple[tuple[str, int], ...], Aside("the outlets as the solver takes them")]
    regulators: Annotated[tuple[tuple[str, int], ...], Aside("the regulators as the solver takes them")]
    load: Watt

    @property
    def delivers(self) -> Shown[bool]:
        """Whether the zone supplies appliances, not only further regulators."""
        return bool(self.outlets)


def regulator_capacity(regulator: Regulator, heat: float) -> float | None:
    """A regulator's rated capacity in W, None where it is not stated; one in gas per hour is converted with the heating
    value `heat` (J/kg)."""
    rated = regulator.capacity
    if rated is None:
        return None
    return rated * heat if rated.dimension == "mass flow" else float(rated)


def most_carried(build: Build, regulator: Regulator) -> float | None:
    """The most gross heat (W) a regulator's rating can mean, None where it is not stated. A power does not say which heat it
    counts: where plates count net, it may be net heat too."""
    rated = regulator_capacity(regulator, heating_value(build))
    if rated is None or regulator.capacity is None or regulator.capacity.dimension == "mass flow":
        return rated
    return rated * gross_share(build, region(build.spec.region).supply.plates.basis)


def zones(build: Installation) -> tuple[Zone, ...]:
    """The zones of a build in flow order, the first one behind the regulator at the container."""
    nodes = build.nodes
    loads_of = {served.id: served.load for served in build.served}
    behind = [loads_of.get(node.id, 0.0) for node in nodes]
    for i in range(len(nodes) - 1, -1, -1):
        if nodes[i].parent >= 0:
            behind[nodes[i].parent] += behind[i]

    found: list[Zone] = []
    heads = [-1] + [i for i, node in enumerate(nodes) if isinstance(node.part, Regulator)]
    for head in heads:
        segment_of = {head: -1}
        parents: list[int] = []
        lengths: list[float] = []
        loads: list[float] = []
        runs: list[str] = []
        outlets: list[tuple[str, int]] = []
        regulators: list[tuple[str, int]] = []
        for i, node in enumerate(nodes):
            if node.parent not in segment_of:
                continue
            segment = segment_of[node.parent]
            part = node.part
            if isinstance(part, Regulator):
                regulators.append((node.id, segment))
                if segment >= 0:
                    loads[segment] += behind[i]
                continue
            if isinstance(part, Outlet):
                outlets.append((node.id, segment))
                if segment >= 0:
                    loads[segment] += behind[i]
            if isinstance(part, Run):
                parents.append(segment)
                lengths.append(float(part.length))
                loads.append(0.0)
                runs.append(node.id)
                segment = len(runs) - 1
            segment_of[i] = segment
        spec = build.spec
        regulator = spec.regulator if head < 0 else nodes[head].part
        assert isinstance(regulator, Regulator)
        total = sum(b for b, node in zip(behind, nodes, strict=True) if node.parent == -1) if head < 0 else behind[head]
        found.append(
            Zone(
                id=build.first if head < 0 else nodes[head].id,
                at=("regulator",) if head < 0 else nodes[head].at,
                regulator=regulator,
                tree=Tree(tuple(parents), tuple(lengths), tuple(loads)),
                run_ids=tuple(runs),
                outlets=tuple(outlets),
                regulators=tuple(regulators),
                load=total,
            )
        )
    return tuple(found)


CONNECTOR_BORE: Annotated[
    Metre, Known("widest bore that a connector is taken to have: 1/2 in", "Our choice", "practice")
] = 0.0127
"""One of unknown length is taken as 6 ft long."""


def highest_in_use(regulator: Regulator) -> float:
    """The highest pressure behind a regulator in use, Pa gauge: its lock-up, or its setting by `LOCK_UP_SHARE`."""
    outlet = float(regulator.outlet)
    return max(outlet, float(regulator.lock_up)) if regulator.lock_up is not None else outlet * LOCK_UP_SHARE


LOCK_UP_SHARE: Annotated[
    Ratio,
    Known(
        "how far over its setting a regulator locks up whose lock-up pressure is not stated", "Our choice", "practice"
    ),
] = 1.3
