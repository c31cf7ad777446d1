"""The lines of a build as values: a run with all that is known of it, and a pressure zone sized and solved.

Loads are gross heat here and everywhere behind here. A plate that counts net heat is converted in `facts.load`, and nowhere
else: the same power counted net is more gas, by the gross over the net heating value.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.build.model import Hose, Outlet, Regulator, Run
from gasdoc.build.reader import Build
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.supply import flow, tree
from gasdoc.engineering.supply.tree import Tree
from gasdoc.quantities import Aside, By, Known, Metre, MetrePerSecond, Pascal, Ratio, Seldom, Shown, UnitOf, Watt
from gasdoc.regions.region import region
from gasdoc.source import Citation, Path
from gasdoc.study.facts import Installation, OutletPressure, gross_share, heating_value, rated_capacity
from gasdoc.study.supply.capacity import Answer, Conditions, Unserved, capacity_of

# --- pressure zones as a tree -----------------------------------------------------------------------------------------


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

    @property
    def hose_known(self) -> bool:
        """Whether something is stated of what the hose behind its regulator takes; so it is where there is none."""
        hose = self.regulator.hose
        return hose is None or hose.capacity is not None or hose.bore is not None


def most_carried(build: Build, regulator: Regulator) -> float | None:
    """The most gross heat (W) a regulator's rating can mean, None where it is not stated. A power does not say which heat it
    counts: where plates count net, it may be net heat too."""
    rated = rated_capacity(regulator, heating_value(build))
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


# --- runs and zones with what is worked out ---------------------------------------------------------------------------

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


class Method(Struct, frozen=True):
    """One method's answer for one run.

    `length` in m is the sizing length of the method, `extra` the length added for fittings on that path. `needed` is
    the smallest size that carries the load (None if none does); `capacity` is what the run's own size carries.
    """

    name: str
    length: Metre
    extra: Metre
    needed: Size | None
    capacity: Answer | Unserved
    enough: bool


class RunPressure(Struct, frozen=True):
    """A run with all appliances on: `gauge` at its end, `drop` along it (Pa), by the larger of both laws.

    `code_drop` and `darcy_drop` in Pa are each law's own, equal for corrugated tubing. `speed` in m/s. `more_load` in W
    and `more_length` in m is what the run could still take before an appliance falls below its minimum or the hose before
    it is past its rating; None where one falls below already or a limit is not known.
    """

    gauge: Pascal
    drop: Pascal
    code_drop: Pascal
    darcy_drop: Pascal
    speed: MetrePerSecond
    reynolds: Ratio
    regime: flow.Regime | None
    more_load: Watt | None
    more_length: Metre | None


class Line(Struct, frozen=True):
    """A run with all that is known of it: `part` as the spec has it, its size and why, and the pressure in it. `size` is the given one, or the one computed by the longest-length method (by the
    branch-length one where the table does not reach to the longest), None where no size on offer serves; `load` in W.
    `enlarged`: it was made larger than the method asks, so that the pressures hold. `pressure` is None where none can be
    told: behind a run without a size or a regulator that cannot hold its pressure."""

    id: str
    at: Path
    zone: str
    upstream: str
    downstream: str
    part: Annotated[Run, By("length", "bends")]
    material: str
    kind: str | None
    size: Size | None
    given: bool
    load: Watt
    longest: Method
    branch: Method
    enlarged: bool = False
    pressure: RunPressure | None = None

    @property
    def use(self) -> float | None:
        """Load over capacity by the longest-length method, as a share; None where the capacity is not known."""
        carried = capacity_of(self.longest.capacity)
        return self.load / carried if carried is not None else None


class ScenarioPressure(Struct, frozen=True):
    """A named set of appliances in use and the pressure at each of them, Pa gauge."""

    name: str
    gauges: tuple[tuple[str, Pascal], ...]


class Tried(Struct, frozen=True):
    """A run for which no size was found, and the one tried in it to see what would get through: `by` is "branch-length",
    where that method has one, or "largest" on offer."""

    run: str
    size: Size
    by: str


class Shortfall(Struct, frozen=True):
    """Why a regulator cannot hold its pressure with everything on.

    "inlet": less than its lowest inlet reaches it; "outlet": no more than it is set to reaches it; "gas": its lowest inlet
    is more than the container's gas ever has; "capacity": it is rated for less than the load behind it. `has` and `needs`
    are Pa gauge, or W for "capacity"; None for "gas".
    """

    regulator: str
    why: Literal["inlet", "outlet", "gas", "capacity"]
    has: Annotated[float | None, UnitOf("unit")] = None
    needs: Annotated[float | None, UnitOf("unit")] = None

    @property
    def unit(self) -> str:
        """The unit of what it has and needs."""
        return "W" if self.why == "capacity" else "Pa"


class HoseDrop(Struct, frozen=True):
    """The hose behind a regulator with everything on: its `load` in W, gross heat, and the `drop` in Pa. `by` says what that
    is worked out from; both are None where neither its capacity nor its bore is stated. `rated` is its capacity in W. Where
    both are stated the larger drop counts, and `other` in Pa is the smaller one."""

    hose: Annotated[Hose, By("length", "bore", "manufactured")]
    load: Watt
    rated: Watt | None
    by: Literal["capacity", "bore"] | None
    drop: Pascal | None
    other: Seldom[Pascal] = None

    @property
    def by_rating(self) -> float | None:
        """The drop by its rated capacity, Pa; None where that is not stated."""
        return self.drop if self.by == "capacity" else self.other

    @property
    def by_bore(self) -> float | None:
        """The drop by its bore and length, Pa; None where no bore is stated."""
        return self.drop if self.by == "bore" else self.other


class ZonePressure(Struct, frozen=True):
    """A zone solved. `lowest` and `highest` in Pa gauge are the regulator's range; `tolerance_known` and
    `lock_up_known` say whether they rest on its data. `worst_drop` in Pa is the largest from regulator to an outlet.
    `upsize` is the run to enlarge first and what that gains (Pa).

    Where runs have no size, `outlets`, `regulators` and `scenarios` hold only what is not behind such a run: what
    stands there depends on the loads alone. `tried` are those runs and `behind` the outlets behind them, with the sizes
    tried; no other figure rests on a size tried, and `worst_drop` and the room in the runs are then not known.

    `lacks` say why its regulator, or one on the way to it, cannot hold its pressure; then every outlet is `behind`, with
    figures for a regulator that could, and nothing else is known. `hose` is the one behind the regulator.
    """

    lowest: Pascal
    highest: Pascal
    tolerance_known: bool
    lock_up_known: bool
    outlets: tuple[OutletPressure, ...]
    regulators: tuple[tuple[str, Pascal], ...]
    scenarios: tuple[ScenarioPressure, ...]
    worst_drop: Pascal | None
    upsize: tuple[str, Pascal] | None
    tried: tuple[Tried, ...] = ()
    behind: tuple[OutletPressure, ...] = ()
    lacks: tuple[Shortfall, ...] = ()
    hose: Seldom[HoseDrop] = None

    @property
    def whole(self) -> bool:
        """Whether no run without a size and no regulator leaves anything of it unknown."""
        return not (self.tried or self.lacks)


class SizedZone(Zone, frozen=True):
    """A zone with its runs and the conditions it was sized under; `longest` in m is its longest path, `allowance` says why
    that drop. `pressure` is None where the zone cannot be solved, because a run of it has no size and none can be tried."""

    conditions: Conditions
    allowance: Citation
    longest: Metre
    runs: tuple[Line, ...]
    pressure: ZonePressure | None = None

    def way(self, end: str) -> tuple[Line, ...]:
        """The runs from the regulator to an outlet or next regulator of the zone, in flow order."""
        segment = dict((*self.outlets, *self.regulators))[end]
        return tuple(self.runs[i] for i in tree.path(self.tree, segment))


def lines_of(zones: Iterable[SizedZone]) -> dict[str, Line]:
    """Every run of some zones by its id, in flow order."""
    return {run.id: run for zone in zones for run in zone.runs}
