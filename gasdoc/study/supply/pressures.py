"""The pressures that really reach each appliance: every zone solved at full load, alone, and as the spec's scenarios.

Per run the larger of two drops is taken, that of the code's equation and that of Darcy-Weisbach, both as a drop of
squared absolute pressure at the zone's supply pressure (which overstates a drop by at most half its share of the
absolute pressure: 0.06 % at 0.5 inH2O). Corrugated tubing has one law, the fit of its table.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from gasdoc.build.model import Junction, Regulator
from gasdoc.build.reader import Build
from gasdoc.catalog import tables, tubing
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.supply import fittings, flow, network, tree
from gasdoc.engineering.supply import fuel as fluid
from gasdoc.engineering.supply.capacity import CapacityTable
from gasdoc.quantities import Metre, MetrePerSecond, Pascal, Ratio, UnitOf, Watt
from gasdoc.study.facts import Installation, Served, fuel, heating_value
from gasdoc.study.supply.capacity import GAS_TEMPERATURE, Answer
from gasdoc.study.supply.sizing import ZoneSizing, bore_or_stand_in, reach
from gasdoc.study.supply.zones import Zone, most_carried

CONNECTOR_RATED_DROP = 0.5 * 249.08891
"""Pa: the drop at which appliance connectors are rated, 0.5 inH2O (from memory)."""

LOW_TABLE, HIGH_TABLE = "csst_11inwc_0p5", "csst_2psi_1psi"


@dataclass(frozen=True, slots=True)
class RunPressure:
    """One run with all appliances on: `gauge` at its end, `drop` along it (Pa), by the larger of both laws.

    `code_drop` and `darcy_drop` in Pa are each law's own, equal for corrugated tubing. `speed` in m/s. `more_load` in W
    and `more_length` in m is what the run could still take before an appliance falls below its minimum; None where it
    falls below already or a limit is not known.
    """

    id: str
    gauge: Pascal
    drop: Pascal
    code_drop: Pascal
    darcy_drop: Pascal
    speed: MetrePerSecond
    re: Ratio
    regime: flow.Regime | None
    more_load: Watt | None
    more_length: Metre | None


@dataclass(frozen=True, slots=True)
class OutletPressure:
    """The pressures at one appliance's inlet, Pa gauge.

    `full`: all appliances on, regulator as set. `alone`: only this one. `lowest`: all on, regulator at the low end of
    its tolerance. `highest`: nothing on, regulator locked up. `minimum` and `maximum` are the plate's, None if not
    known. `connector_drop` is included in all but `highest`, None where the connector's rating is not known.
    """

    id: str
    full: Pascal
    alone: Pascal
    lowest: Pascal
    highest: Pascal
    minimum: Pascal | None
    maximum: Pascal | None
    connector_drop: Pascal | None
    starved: bool


@dataclass(frozen=True, slots=True)
class ScenarioPressure:
    """A named set of appliances in use and the pressure at each of them, Pa gauge."""

    name: str
    gauges: tuple[tuple[str, Pascal], ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """A run for which no size was found, and the one tried in it to see what would get through: `by` is "branch-length",
    where that method has one, or "largest" on offer."""

    run: str
    size: Size
    by: str


@dataclass(frozen=True, slots=True)
class Lack:
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


@dataclass(frozen=True, slots=True)
class ZonePressure:
    """A zone solved. `lowest` and `highest` in Pa gauge are the regulator's range; `tolerance_known` and
    `lock_up_known` say whether they rest on its data. `worst_drop` in Pa is the largest from regulator to an outlet.
    `upsize` is the run to enlarge first and what that gains (Pa).

    Where runs have no size, `runs`, `outlets`, `regulators` and `scenarios` hold only what is not behind such a run: what
    stands there depends on the loads alone. `tried` are those runs and `behind` the outlets behind them, with the sizes
    tried; no other figure rests on a size tried, and `worst_drop` and the room in the runs are then not known.

    `lacks` say why its regulator, or one on the way to it, cannot hold its pressure; then every outlet is `behind`, with
    figures for a regulator that could, and nothing else is known.
    """

    id: str
    lowest: Pascal
    highest: Pascal
    tolerance_known: bool
    lock_up_known: bool
    runs: tuple[RunPressure, ...]
    outlets: tuple[OutletPressure, ...]
    regulators: tuple[tuple[str, Pascal], ...]
    scenarios: tuple[ScenarioPressure, ...]
    worst_drop: Pascal | None
    upsize: tuple[str, Pascal] | None
    tried: tuple[Tried, ...] = ()
    behind: tuple[OutletPressure, ...] = ()
    lacks: tuple[Lack, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether no run without a size and no regulator leaves anything of it unknown."""
        return not (self.tried or self.lacks)


def solve_zone(build: Installation, sized: ZoneSizing, appliances: tuple[Served, ...]) -> ZonePressure | None:
    """The pressures of a zone; None where a run has no size and none on offer can be tried."""
    tried = _tried(build, sized)
    if tried is None:
        return None
    zone = network_of(build, sized, [run.size or tried[i].size for i, run in enumerate(sized.runs)])
    open_ended = {i for i in range(len(sized.runs)) if any(s in tried for s in tree.path(sized.zone.tree, i))}
    regulator = sized.zone.regulator
    low, high = _range(regulator)
    loads = {s.id: s for s in appliances if s.id in dict(sized.zone.outlets)}
    full = network.solve(zone, None, network.larger)
    by_code = network.solve(zone, None, network.code)
    by_darcy = network.solve(zone, None, network.darcy)
    weak = network.pressures(network.fed(zone, low), None, network.larger)
    idle = network.pressures(network.fed(zone, high), (0.0,) * len(zone.tree), network.larger)
    minima = _minima(sized, loads, _inlets(build, sized))
    own_load = _own_loads(sized, loads)

    outlets = []
    for outlet, segment in sized.zone.outlets:
        served = loads[outlet]
        alone = network.pressures(zone, own_load(outlet), network.larger)
        lost = connector_drop(served)
        a = served.appliance
        outlets.append(
            OutletPressure(
                id=outlet,
                full=_less(_at(full.gauge, segment, zone.source_gauge), lost),
                alone=_less(_at(alone, segment, zone.source_gauge), lost),
                lowest=_less(_at(weak, segment, low), lost),
                highest=_at(idle, segment, high),
                minimum=float(a.min_inlet) if a.min_inlet is not None else None,
                maximum=float(a.max_inlet) if a.max_inlet is not None else None,
                connector_drop=lost,
                starved=segment in full.starved,
            )
        )
    unbounded = [math.inf] * len(sized.runs)
    spare, longer = _by_the_method(sized) if sized.conditions.by_tables else (unbounded, unbounded)
    known = not tried and all(m is not None for i, m in enumerate(minima) if zone.tree.load[i] > 0)
    runs = tuple(
        RunPressure(
            id=sized.zone.runs[i],
            gauge=full.gauge[i],
            drop=full.drop[i],
            code_drop=by_code.drop[i],
            darcy_drop=by_darcy.drop[i],
            speed=full.speed[i],
            re=full.re[i],
            regime=full.regime[i],
            more_load=_least(_margin(network.load_margin(zone, minima, i, network.larger)), spare[i])
            if known
            else None,
            more_length=_least(_margin(network.length_margin(zone, minima, i, network.larger)), longer[i])
            if known
            else None,
        )
        for i in range(len(zone.tree))
        if i not in open_ended
    )
    sizes = [run.size for run in sized.runs if run.size is not None]
    larger = [found[1] if found else None for found in larger_pipes(build, sized, sizes)] if not tried else []
    upsize = network.upsize_first(zone, minima, larger, network.larger) if not tried else None
    ends = [_at(full.gauge, segment, zone.source_gauge) for _, segment in sized.zone.outlets]
    return ZonePressure(
        id=sized.zone.id,
        lowest=low,
        highest=high,
        tolerance_known=regulator.tolerance is not None,
        lock_up_known=regulator.lock_up is not None,
        runs=runs,
        outlets=tuple(
            o for o, (_, segment) in zip(outlets, sized.zone.outlets, strict=True) if segment not in open_ended
        ),
        regulators=tuple(
            (r, _at(full.gauge, segment, zone.source_gauge))
            for r, segment in sized.zone.regulators
            if segment not in open_ended
        ),
        scenarios=_scenarios(build, sized, zone, loads, own_load, open_ended),
        worst_drop=max((zone.source_gauge - end for end in ends), default=0.0) if not tried else None,
        upsize=(sized.zone.runs[upsize.segment], upsize.gain) if upsize is not None and upsize.gain > 0 else None,
        tried=tuple(tried.values()),
        behind=tuple(o for o, (_, segment) in zip(outlets, sized.zone.outlets, strict=True) if segment in open_ended),
    )


def unfed(
    build: Build, sized: Sequence[ZoneSizing], solved: Sequence[ZonePressure | None], gas_suffices: bool = True
) -> tuple[ZonePressure | None, ...]:
    """The same, with nothing known of a zone whose regulator is behind a run without a size or cannot hold its pressure. It is
    None where the zone before it is.

    `gas_suffices` says whether the container's gas ever has what the first regulator needs. Zones stand in the order of the
    supply, each after the one that feeds it.
    """
    found: list[ZonePressure | None] = []
    feeders: dict[str, ZonePressure | None] = {}
    for zone, own in zip(sized, solved, strict=True):
        first, feeder = zone.zone.id not in feeders, feeders.get(zone.zone.id)
        tried: tuple[Tried, ...] = ()
        lacks = _overloaded(build, zone.zone)
        if first and not gas_suffices:
            lacks = (Lack(zone.zone.id, "gas"), *lacks)
        elif feeder is not None:
            arriving = dict(feeder.regulators).get(zone.zone.id)
            tried = feeder.tried if arriving is None else ()
            lacks = (*feeder.lacks, *_underfed(zone.zone, arriving), *lacks)
        if own is None or (feeder is None and not first):
            pressures = None
        elif tried or lacks:
            pressures = replace(
                own,
                runs=(),
                outlets=(),
                regulators=(),
                scenarios=(),
                worst_drop=None,
                upsize=None,
                tried=(*tried, *own.tried),
                behind=(*own.outlets, *own.behind),
                lacks=lacks,
            )
        else:
            pressures = own
        feeders |= {regulator: pressures for regulator, _ in zone.zone.regulators}
        found.append(pressures)
    return tuple(found)


def _underfed(zone: Zone, gauge: float | None) -> tuple[Lack, ...]:
    """What its regulator lacks where `gauge` (Pa) reaches it; nothing where that is not known."""
    inlet, outlet = zone.regulator.inlet, float(zone.regulator.outlet)
    found: list[Lack] = []
    if gauge is not None and inlet is not None and gauge < inlet:
        found.append(Lack(zone.id, "inlet", gauge, float(inlet)))
    if gauge is not None and gauge <= outlet:
        found.append(Lack(zone.id, "outlet", gauge, outlet))
    return tuple(found)


def _overloaded(build: Build, zone: Zone) -> tuple[Lack, ...]:
    rated = most_carried(build, zone.regulator)
    return (
        (Lack(zone.id, "capacity", rated, zone.load),) if rated is not None and zone.load > rated * (1 + 1e-9) else ()
    )


def _tried(build: Installation, sized: ZoneSizing) -> dict[int, Tried] | None:
    """A size to try in each run, by segment, that has none; None where none on offer can be calculated with."""
    found: dict[int, Tried] = {}
    for i, run in enumerate(sized.runs):
        if run.size is not None:
            continue
        if run.branch.needed is not None:
            found[i] = Tried(run.id, run.branch.needed, "branch-length")
            continue
        usable = [size for size in build.offered_sizes[run.id] if _calculable(sized, size)]
        if not usable:
            return None
        found[i] = Tried(run.id, max(usable, key=_order), "largest")
    return found


def _calculable(sized: ZoneSizing, size: Size) -> bool:
    return size.id in _corrugated(sized).sizes if size.material == "csst" else size.bore is not None


def _corrugated(sized: ZoneSizing) -> CapacityTable:
    return tables.table(LOW_TABLE if sized.zone.regulator.outlet < 1.5 * 6894.757 else HIGH_TABLE)


def network_of(build: Installation, sized: ZoneSizing, sizes: Sequence[Size]) -> network.Zone:
    """A zone as the solver sees it, its runs in these sizes. Raises ValueError for corrugated tubing in a size that its
    table does not have."""
    source = float(sized.zone.regulator.outlet)
    air = sized.conditions.absolute_air
    return network.Zone(
        tree=sized.zone.tree,
        pipes=tuple(pipe(build, sized, i, size) for i, size in enumerate(sizes)),
        rise=tuple(float(run.run.rise or 0.0) for run in sized.runs),
        source_gauge=source,
        atmosphere_absolute=air,
        gas=fluid.gas(fuel(build), GAS_TEMPERATURE, source + air),
        heating_value=heating_value(build),
    )


def pipe(build: Installation, sized: ZoneSizing, segment: int, size: Size) -> network.Pipe:
    """A run as the solver sees it: its fittings counted in full, whatever a table would allow for."""
    run = sized.runs[segment].run
    bore, _ = bore_or_stand_in(size.bore, size.id)
    if size.material == "csst":
        own = run.maker_capacity
        law = corrugated_law(_corrugated(sized), size) if own is None else _maker_law(sized, segment, size, float(own))
        return network.Pipe(bore, 0.0, fittings.corrugated_extra_length(run.bends), law)
    counts = {"elbow-90": run.bends, "tee-branch": int(_behind_a_junction(build, sized.runs[segment].id))}
    roughness = tubing.material(size.material).roughness
    assert roughness is not None, "a material with a bore has a roughness"
    return network.Pipe(bore, roughness, fittings.equivalent_length(counts, bore))


def _maker_law(sized: ZoneSizing, segment: int, size: Size, carries: float) -> network.OwnDrop:
    """The drop of squared pressure of corrugated tubing that `carries` that much (W) over the longest path at the drop the
    zone is sized for, by its maker; with the exponent of the code's table, because the maker's own is not known."""
    table = _corrugated(sized)
    b = table.fits[table.sizes.index(size.id)].b
    squared = network.low_pressure_squared(sized.conditions.drop, sized.conditions.inlet_gauge)
    a = carries * sized.runs[segment].longest.length ** b

    def drop(load: float, length: float) -> float:
        return fittings.corrugated_drop(load, length, a, b, squared)

    return drop


def corrugated_law(table: CapacityTable, size: Size) -> network.OwnDrop:
    """The drop of squared pressure of a corrugated size, from the fit of its table lowered by its worst error."""
    fit = table.fits[table.sizes.index(size.id)]
    if table.law != "corrugated":
        raise ValueError(f"{table.id} is not a table of corrugated tubing")
    squared = network.low_pressure_squared(table.drop, table.inlet_gauge)

    def drop(load: float, length: float) -> float:
        return fittings.corrugated_drop(load, length, fit.a * (1 - fit.worst), fit.b, squared)

    return drop


def _behind_a_junction(build: Installation, run_id: str) -> bool:
    parent = build.by_id[run_id].parent
    return parent >= 0 and isinstance(build.nodes[parent].part, Junction)


def tolerance_of(regulator: Regulator) -> float | None:
    """How far the outlet may be off its setting, Pa either way; None where it is not stated. A share is of the setting."""
    given = regulator.tolerance
    if given is None:
        return None
    return given * float(regulator.outlet) if given.dimension == "share" else float(given)


def _range(regulator: Regulator) -> tuple[float, float]:
    """The lowest pressure at full flow and the highest at none, Pa gauge, as far as the spec knows them."""
    outlet = float(regulator.outlet)
    tolerance = tolerance_of(regulator) or 0.0
    return max(0.0, outlet - tolerance), max(outlet + tolerance, float(regulator.lock_up or 0.0))


def _minima(sized: ZoneSizing, loads: dict[str, Served], inlets: dict[str, float | None]) -> list[float | None]:
    """Per segment the pressure its outlets must have before their connectors: the plates', else what the allowance
    leaves; where sizes are calculated both; None where nothing stands."""
    minima: list[float | None] = [None] * len(sized.runs)
    left = float(sized.zone.regulator.outlet) - sized.conditions.drop
    for outlet, segment in sized.zone.outlets:
        if segment < 0:
            continue
        asked = loads[outlet].appliance.min_inlet
        need = (float(asked) if asked is not None else left) + (connector_drop(loads[outlet]) or 0.0)
        if not sized.conditions.by_tables:
            need = max(need, left)  # the sum of drops is what such a zone is sized by
        before = minima[segment]
        minima[segment] = need if before is None else max(before, need)
    for regulator, segment in sized.zone.regulators:
        if segment >= 0:
            before = minima[segment]
            need = inlets.get(regulator) or left
            minima[segment] = need if before is None else max(before, need)
    return minima


def _inlets(build: Installation, sized: ZoneSizing) -> dict[str, float | None]:
    """The lowest inlet pressure of each regulator the zone feeds, Pa gauge, None where it is not stated."""
    parts = {name: build.by_id[name].part for name, _ in sized.zone.regulators}
    return {
        name: float(part.inlet) if isinstance(part, Regulator) and part.inlet is not None else None
        for name, part in parts.items()
    }


def _own_loads(sized: ZoneSizing, loads: dict[str, Served]) -> Callable[..., tuple[float, ...]]:
    """A function from outlet ids to the loads per segment with just those in use."""
    segments = dict(sized.zone.outlets)

    def chosen(*outlets: str) -> tuple[float, ...]:
        taken = [0.0] * len(sized.runs)
        for outlet in outlets:
            if segments[outlet] >= 0:
                taken[segments[outlet]] += loads[outlet].load
        return tuple(taken)

    return chosen


def _scenarios(
    build: Installation,
    sized: ZoneSizing,
    zone: network.Zone,
    loads: dict[str, Served],
    own_load: Callable[..., tuple[float, ...]],
    open_ended: Collection[int],
) -> tuple[ScenarioPressure, ...]:
    segments = dict(sized.zone.outlets)
    found = []
    for scenario in build.spec.scenarios:
        here = [outlet for outlet in scenario.outlets if outlet in segments]
        if not here:
            continue
        gauge = network.pressures(zone, own_load(*here), network.larger)
        found.append(
            ScenarioPressure(
                scenario.name,
                tuple(
                    (o, _less(_at(gauge, segments[o], zone.source_gauge), connector_drop(loads[o])))
                    for o in here
                    if segments[o] not in open_ended
                ),
            )
        )
    return tuple(found)


def larger_pipes(
    build: Installation, sized: ZoneSizing, sizes: Sequence[Size]
) -> list[tuple[Size, network.Pipe] | None]:
    """For each run the next size on offer above that of `sizes`, as the solver sees it; None where there is none."""
    larger: list[tuple[Size, network.Pipe] | None] = []
    for i, (run, size) in enumerate(zip(sized.runs, sizes, strict=True)):
        bigger = [s for s in build.offered_sizes[run.id] if _order(s) > _order(size) and _calculable(sized, s)]
        larger.append((bigger[0], pipe(build, sized, i, bigger[0])) if bigger else None)
    return larger


def _order(size: Size) -> float:
    return bore_or_stand_in(size.bore, size.id)[0]


def _at(gauge: tuple[float, ...], segment: int, source: float) -> float:
    return gauge[segment] if segment >= 0 else source


def _less(gauge: float, lost: float | None) -> float:
    return max(0.0, gauge - (lost or 0.0))


def connector_drop(served: Served) -> float | None:
    """The drop of an outlet's connector at its appliance's load, Pa; None where its rating is not known."""
    connector = served.outlet.connector
    if connector is None or connector.capacity is None:
        return None
    return fittings.connector_drop(served.load, float(connector.capacity), CONNECTOR_RATED_DROP)


def _by_the_method(sized: ZoneSizing) -> tuple[list[float], list[float]]:
    """How much more load (W) and length (m) each run could take before the longest-length method calls a run short.

    More load at a run's end is carried by every run on the way to it. More length counts from where the path through
    the run becomes the longest; then every run is sized by it.
    """
    own = [
        max(0.0, run.longest.capacity.value - run.load) if isinstance(run.longest.capacity, Answer) else 0.0
        for run in sized.runs
    ]
    far = tree.farthest_behind(sized.zone.tree)
    reaches = [(reach(run, sized.conditions), run.longest.length + run.longest.extra) for run in sized.runs]
    room = min((r - now if r is not None else 0.0 for r, now in reaches), default=0.0)
    spare = [min(own[s] for s in tree.path(sized.zone.tree, i)) for i in range(len(own))]
    return spare, [sized.longest - far[i] + room for i in range(len(own))]


def _least(margin: float | None, by_method: float) -> float | None:
    return None if margin is None else min(margin, by_method)


def _margin(margin: network.Margin) -> float | None:
    return None if margin.reason == "already-below" or math.isinf(margin.value) else margin.value
