"""The pressures that really reach each appliance: every zone solved at full load, alone, and as the spec's scenarios.

Per run the larger of two drops is taken, that of the code's equation and that of Darcy-Weisbach, both as a drop of
squared absolute pressure at the zone's supply pressure (which overstates a drop by at most half its share of the
absolute pressure: 0.06 % at 0.5 inH2O). Corrugated tubing has one law, the fit of its table.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence

from msgspec.structs import replace

from gasdoc.build.model import Regulator
from gasdoc.catalog import tables, tubing
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.supply import fittings, lpg, network, tree
from gasdoc.engineering.supply.capacity import LOW_PRESSURE_LIMIT, CapacityTable
from gasdoc.study.facts import Installation, OutletPressure, Served, fuel, heating_value
from gasdoc.study.supply.capacity import GAS_TEMPERATURE, Answer
from gasdoc.study.supply.hoses import RATED_DROP, head_of, hose_drop
from gasdoc.study.supply.lines import (
    LOCK_UP_SHARE,
    RunPressure,
    ScenarioPressure,
    Shortfall,
    SizedZone,
    Tried,
    Zone,
    ZonePressure,
    most_carried,
)
from gasdoc.study.supply.sizing import behind_a_junction, reach

LOW_TABLE, HIGH_TABLE = "csst_11inwc_0p5", "csst_2psi_1psi"


def solve_zone(build: Installation, zone: SizedZone) -> SizedZone:
    """The zone and its runs with their pressures; as it was where a run has no size and none on offer can be tried."""
    tried = _tried(build, zone)
    if tried is None:
        return zone
    solver = network_of(build, zone, [run.size or tried[i].size for i, run in enumerate(zone.runs)])
    open_ended = {i for i in range(len(zone.runs)) if any(s in tried for s in tree.path(zone.tree, i))}
    regulator = zone.regulator
    low, high = _range(regulator)
    loads = {s.id: s for s in build.served if s.id in dict(zone.outlets)}
    full = network.solve(solver, None, network.larger)
    by_code = network.solve(solver, None, network.code)
    by_darcy = network.solve(solver, None, network.darcy)
    weak = network.pressures(network.fed(solver, low), None, network.larger)
    idle = network.pressures(replace(network.fed(solver, high), head=None), (0.0,) * len(zone.tree), network.larger)
    begin = network.behind_head(solver)
    weak_begin = network.behind_head(network.fed(solver, low))
    minima = _minima(zone, loads, _inlets(build, zone))
    own = _own_gauges(zone, solver, loads)

    outlets = []
    for outlet, segment in zone.outlets:
        served = loads[outlet]
        lost = connector_drop(served)
        a = served.appliance
        outlets.append(
            OutletPressure(
                id=outlet,
                name=a.name,
                full=_less(_at(full.gauge, segment, begin), lost),
                alone=_less(own(outlet)(segment), lost),
                lowest=_less(_at(weak, segment, weak_begin), lost),
                highest=_at(idle, segment, high),
                minimum=float(a.min_inlet) if a.min_inlet is not None else None,
                maximum=float(a.max_inlet) if a.max_inlet is not None else None,
                connector_drop=lost,
                starved=segment in full.starved,
            )
        )
    unbounded = [math.inf] * len(zone.runs)
    spare, longer = _by_the_method(zone) if zone.conditions.by_tables else (unbounded, unbounded)
    hose = hose_drop(build, zone, solver)
    if hose is not None and hose.rated is not None:
        spare = [min(room, max(0.0, hose.rated - zone.load)) for room in spare]
    known = not tried and zone.hose_known and all(m is not None for i, m in enumerate(minima) if zone.tree.load[i] > 0)

    def pressure(i: int) -> RunPressure:
        return RunPressure(
            gauge=full.gauge[i],
            drop=full.drop[i],
            code_drop=by_code.drop[i],
            darcy_drop=by_darcy.drop[i],
            speed=full.speed[i],
            reynolds=full.re[i],
            regime=full.regime[i],
            more_load=_least(_margin(network.load_margin(solver, minima, i, network.larger)), spare[i])
            if known
            else None,
            more_length=_least(_margin(network.length_margin(solver, minima, i, network.larger)), longer[i])
            if known
            else None,
        )

    sizes = [run.size for run in zone.runs if run.size is not None]
    larger = [found[1] if found else None for found in larger_pipes(build, zone, sizes)] if not tried else []
    upsize = network.upsize_first(solver, minima, larger, network.larger) if not tried else None
    ends = [_at(full.gauge, segment, begin) for _, segment in zone.outlets]
    solved = ZonePressure(
        lowest=low,
        highest=high,
        tolerance_known=regulator.tolerance is not None,
        lock_up_known=regulator.lock_up is not None,
        outlets=tuple(o for o, (_, segment) in zip(outlets, zone.outlets, strict=True) if segment not in open_ended),
        regulators=tuple(
            (r, _at(full.gauge, segment, begin)) for r, segment in zone.regulators if segment not in open_ended
        ),
        scenarios=tuple(_scenarios(build, zone, loads, own, open_ended)),
        worst_drop=max((solver.source_gauge - end for end in ends), default=0.0) if not tried else None,
        upsize=(zone.runs[upsize.segment].id, upsize.gain) if upsize is not None and upsize.gain > 0 else None,
        tried=tuple(tried.values()),
        behind=tuple(o for o, (_, segment) in zip(outlets, zone.outlets, strict=True) if segment in open_ended),
        hose=hose,
    )
    runs = tuple(run if i in open_ended else replace(run, pressure=pressure(i)) for i, run in enumerate(zone.runs))
    return replace(zone, runs=runs, pressure=solved)


def unfed(build: Installation, zones: Sequence[SizedZone], gas_suffices: bool = True) -> Iterator[SizedZone]:
    """The same, with nothing known of a zone whose regulator is behind a run without a size or cannot hold its pressure. It is
    not solved where the zone before it is not.

    `gas_suffices` says whether the container's gas ever has what the first regulator needs. Zones stand in the order of the
    supply, each after the one that feeds it.
    """
    feeders: dict[str, ZonePressure | None] = {}
    for zone in zones:
        first, feeder, own = zone.id not in feeders, feeders.get(zone.id), zone.pressure
        tried: tuple[Tried, ...] = ()
        lacks = _overloaded(build, zone)
        if first and not gas_suffices:
            lacks = (Shortfall(zone.id, "gas"), *lacks)
        elif feeder is not None:
            arriving = dict(feeder.regulators).get(zone.id)
            tried = feeder.tried if arriving is None else ()
            lacks = (*feeder.lacks, *_underfed(zone, arriving), *lacks)
        runs = zone.runs
        if feeder is None and not first:
            own = None
        elif own is not None and (tried or lacks):
            own = replace(
                own,
                outlets=(),
                regulators=(),
                scenarios=(),
                worst_drop=None,
                upsize=None,
                tried=(*tried, *own.tried),
                behind=(*own.outlets, *own.behind),
                lacks=lacks,
            )
        if own is None or tried or lacks:
            runs = tuple(replace(run, pressure=None) for run in runs)
        feeders |= {regulator: own for regulator, _ in zone.regulators}
        yield replace(zone, runs=runs, pressure=own)


def _underfed(zone: Zone, gauge: float | None) -> Iterator[Shortfall]:
    """What its regulator lacks where `gauge` (Pa) reaches it; nothing where that is not known."""
    inlet, outlet = zone.regulator.inlet, float(zone.regulator.outlet)
    if gauge is not None and inlet is not None and gauge < inlet:
        yield Shortfall(zone.id, "inlet", gauge, float(inlet))
    if gauge is not None and gauge <= outlet:
        yield Shortfall(zone.id, "outlet", gauge, outlet)


def _overloaded(build: Installation, zone: Zone) -> tuple[Shortfall, ...]:
    rated = most_carried(build, zone.regulator)
    return (
        (Shortfall(zone.id, "capacity", rated, zone.load),)
        if rated is not None and zone.load > rated * (1 + 1e-9)
        else ()
    )


def _tried(build: Installation, zone: SizedZone) -> dict[int, Tried] | None:
    """A size to try in each run, by segment, that has none; None where none on offer can be calculated with."""
    found: dict[int, Tried] = {}
    for i, run in enumerate(zone.runs):
        if run.size is not None:
            continue
        if run.branch.needed is not None:
            found[i] = Tried(run.id, run.branch.needed, "branch-length")
            continue
        usable = [size for size in build.offered_sizes[run.id] if _calculable(zone, size)]
        if not usable:
            return None
        found[i] = Tried(run.id, max(usable, key=_order), "largest")
    return found


def _calculable(zone: SizedZone, size: Size) -> bool:
    return size.id in _corrugated(zone).sizes if size.corrugated else size.bore is not None


def _corrugated(zone: SizedZone) -> CapacityTable:
    return tables.table(LOW_TABLE if zone.regulator.outlet < LOW_PRESSURE_LIMIT else HIGH_TABLE)


def network_of(build: Installation, zone: SizedZone, sizes: Sequence[Size]) -> network.Network:
    """A zone as the solver sees it, its runs in these sizes. Raises ValueError for corrugated tubing in a size that its
    table does not have."""
    source = float(zone.regulator.outlet)
    air = zone.conditions.absolute_air
    return network.Network(
        tree=zone.tree,
        pipes=tuple(pipe(build, zone, i, size) for i, size in enumerate(sizes)),
        rise=tuple(float(run.part.rise or 0.0) for run in zone.runs),
        source_gauge=source,
        atmosphere_absolute=air,
        gas=lpg.gas(fuel(build), GAS_TEMPERATURE, source + air),
        heating_value=heating_value(build),
        head=head_of(build, zone, air),
    )


def pipe(build: Installation, zone: SizedZone, segment: int, size: Size) -> network.Pipe:
    """A run as the solver sees it: its fittings counted in full, whatever a table would allow for."""
    run = zone.runs[segment].part
    bore, _ = tubing.bore_or_stand_in(size)
    if size.corrugated:
        own = run.maker_capacity
        law = corrugated_law(_corrugated(zone), size) if own is None else _maker_law(zone, segment, size, float(own))
        return network.Pipe(bore, 0.0, fittings.corrugated_extra_length(run.bends), law)
    counts = {"elbow-90": run.bends, "tee-branch": int(behind_a_junction(build, zone.runs[segment].id))}
    roughness = tubing.material(size.material).roughness
    assert roughness is not None, "a material with a bore has a roughness"
    return network.Pipe(bore, roughness, fittings.equivalent_length(counts, bore))


def _maker_law(zone: SizedZone, segment: int, size: Size, carries: float) -> network.OwnDrop:
    """The drop of squared pressure of corrugated tubing that `carries` that much (W) over the longest path at the drop the
    zone is sized for, by its maker; with the exponent of the code's table, because the maker's own is not known."""
    table = _corrugated(zone)
    b = table.fits[table.sizes.index(size.id)].b
    squared = network.low_pressure_squared(zone.conditions.drop, zone.conditions.inlet_gauge)
    a = carries * zone.runs[segment].longest.length ** b

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


def tolerance_of(regulator: Regulator) -> float | None:
    """How far the outlet may be off its setting, Pa either way; None where it is not stated. A share is of the setting."""
    given = regulator.tolerance
    if given is None:
        return None
    return given * float(regulator.outlet) if given.dimension == "share" else float(given)


def most_shut(build: Installation, regulator: Regulator, most: float | None) -> float | None:
    """The most an appliance may see with nothing burning, Pa gauge, before `most`, the greatest on its plate, is passed for
    certain: more than that where a text of the region has plates of gas that flows, up to a lock-up that is usual for the
    setting. None where no plate states one."""
    outlet = float(regulator.outlet)
    if most is None or build.region.supply.plate_range is None or outlet + (tolerance_of(regulator) or 0.0) > most:
        return most
    return max(most, outlet * LOCK_UP_SHARE)


def _range(regulator: Regulator) -> tuple[float, float]:
    """The lowest pressure at full flow and the highest at none, Pa gauge, as far as the spec knows them."""
    outlet = float(regulator.outlet)
    tolerance = tolerance_of(regulator) or 0.0
    return max(0.0, outlet - tolerance), max(outlet + tolerance, float(regulator.lock_up or 0.0))


def _minima(zone: SizedZone, loads: dict[str, Served], inlets: dict[str, float | None]) -> list[float | None]:
    """Per segment the pressure its outlets must have before their connectors: the plates', else what the allowance
    leaves; where sizes are calculated both; None where nothing stands."""
    minima: list[float | None] = [None] * len(zone.runs)
    left = float(zone.regulator.outlet) - zone.conditions.drop
    for outlet, segment in zone.outlets:
        if segment < 0:
            continue
        asked = loads[outlet].appliance.min_inlet
        need = (float(asked) if asked is not None else left) + (connector_drop(loads[outlet]) or 0.0)
        if not zone.conditions.by_tables:
            need = max(need, left)  # the sum of drops is what such a zone is sized by
        before = minima[segment]
        minima[segment] = need if before is None else max(before, need)
    for regulator, segment in zone.regulators:
        if segment >= 0:
            before = minima[segment]
            need = inlets.get(regulator) or left
            minima[segment] = need if before is None else max(before, need)
    return minima


def _inlets(build: Installation, zone: SizedZone) -> dict[str, float | None]:
    """The lowest inlet pressure of each regulator the zone feeds, Pa gauge, None where it is not stated."""
    parts = {name: build.by_id[name].part for name, _ in zone.regulators}
    return {
        name: float(part.inlet) if isinstance(part, Regulator) and part.inlet is not None else None
        for name, part in parts.items()
    }


def _own_gauges(
    zone: SizedZone, solver: network.Network, loads: dict[str, Served]
) -> Callable[..., Callable[[int], float]]:
    """A function from outlet ids to the pressures, Pa gauge by segment, with just those in use."""
    segments = dict(zone.outlets)

    def chosen(*outlets: str) -> Callable[[int], float]:
        taken = [0.0] * len(zone.runs)
        beside = 0.0
        for outlet in outlets:
            if segments[outlet] >= 0:
                taken[segments[outlet]] += loads[outlet].load
            else:
                beside += loads[outlet].load
        head = solver.head
        using = solver if head is None else replace(solver, head=replace(head, beside=beside))
        gauge, begin = network.pressures(using, taken, network.larger), network.behind_head(using, taken)
        return lambda segment: _at(gauge, segment, begin)

    return chosen


def _scenarios(
    build: Installation,
    zone: SizedZone,
    loads: dict[str, Served],
    own: Callable[..., Callable[[int], float]],
    open_ended: Collection[int],
) -> Iterator[ScenarioPressure]:
    segments = dict(zone.outlets)
    for scenario in build.spec.scenarios:
        here = [outlet for outlet in scenario.outlets if outlet in segments]
        if not here:
            continue
        gauge = own(*here)
        yield ScenarioPressure(
            scenario.name,
            tuple(
                (o, _less(gauge(segments[o]), connector_drop(loads[o]))) for o in here if segments[o] not in open_ended
            ),
        )


def larger_pipes(
    build: Installation, zone: SizedZone, sizes: Sequence[Size]
) -> Iterator[tuple[Size, network.Pipe] | None]:
    """For each run the next size on offer above that of `sizes`, as the solver sees it; None where there is none."""
    for i, (run, size) in enumerate(zip(zone.runs, sizes, strict=True)):
        bigger = [s for s in build.offered_sizes[run.id] if _order(s) > _order(size) and _calculable(zone, s)]
        yield (bigger[0], pipe(build, zone, i, bigger[0])) if bigger else None


def _order(size: Size) -> float:
    return tubing.bore_or_stand_in(size)[0]


def _at(gauge: tuple[float, ...], segment: int, source: float) -> float:
    return gauge[segment] if segment >= 0 else source


def _less(gauge: float, lost: float | None) -> float:
    return max(0.0, gauge - (lost or 0.0))


def connector_drop(served: Served) -> float | None:
    """The drop of an outlet's connector at its appliance's load, Pa; None where its rating is not known."""
    rated = served.connector_rated
    return fittings.connector_drop(served.load, rated, RATED_DROP) if rated is not None else None


def _by_the_method(zone: SizedZone) -> tuple[list[float], list[float]]:
    """How much more load (W) and length (m) each run could take before the longest-length method calls a run short.

    More load at a run's end is carried by every run on the way to it. More length counts from where the path through
    the run becomes the longest; then every run is sized by it.
    """
    own = [
        max(0.0, run.longest.capacity.value - run.load) if isinstance(run.longest.capacity, Answer) else 0.0
        for run in zone.runs
    ]
    far = tree.farthest_behind(zone.tree)
    reaches = [(reach(run, zone.conditions), run.longest.length + run.longest.extra) for run in zone.runs]
    room = min((r - now if r is not None else 0.0 for r, now in reaches), default=0.0)
    spare = [min(own[s] for s in tree.path(zone.tree, i)) for i in range(len(own))]
    return spare, [zone.longest - far[i] + room for i in range(len(own))]


def _least(margin: float | None, by_method: float) -> float | None:
    return None if margin is None else min(margin, by_method)


def _margin(margin: network.Margin) -> float | None:
    return None if margin.reason == "already-below" or math.isinf(margin.value) else margin.value
