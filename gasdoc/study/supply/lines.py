"""The lines of a build as values: a run with all that is known of it, and a pressure zone sized and solved."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.build.model import Run
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.supply import flow, tree
from gasdoc.quantities import By, Metre, MetrePerSecond, Pascal, Ratio, UnitOf, Watt
from gasdoc.source import Citation, Path
from gasdoc.study.facts import OutletPressure
from gasdoc.study.supply.capacity import Answer, Conditions, Unserved, capacity_of
from gasdoc.study.supply.zones import Zone


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
    and `more_length` in m is what the run could still take before an appliance falls below its minimum; None where it
    falls below already or a limit is not known.
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


class ZonePressure(Struct, frozen=True):
    """A zone solved. `lowest` and `highest` in Pa gauge are the regulator's range; `tolerance_known` and
    `lock_up_known` say whether they rest on its data. `worst_drop` in Pa is the largest from regulator to an outlet.
    `upsize` is the run to enlarge first and what that gains (Pa).

    Where runs have no size, `outlets`, `regulators` and `scenarios` hold only what is not behind such a run: what
    stands there depends on the loads alone. `tried` are those runs and `behind` the outlets behind them, with the sizes
    tried; no other figure rests on a size tried, and `worst_drop` and the room in the runs are then not known.

    `lacks` say why its regulator, or one on the way to it, cannot hold its pressure; then every outlet is `behind`, with
    figures for a regulator that could, and nothing else is known.
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
