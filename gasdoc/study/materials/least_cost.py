"""Least cost: the cheapest sizes that leave every appliance its pressure at 90 % of the allowance, zone by zone.

A calculated alternative for review, not a code method: nothing else of a study is made from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.catalog import stock, tubing
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.materials.least_cost import Option, least_cost
from gasdoc.engineering.supply import network
from gasdoc.engineering.supply.tree import carried
from gasdoc.quantities import Known, Money, Pascal, Ratio
from gasdoc.study.facts import Installation, Served
from gasdoc.study.materials.cutting import tubing_key
from gasdoc.study.materials.price_list import PriceList
from gasdoc.study.supply.lines import Line, SizedZone
from gasdoc.study.supply.pressures import connector_drop, network_of, pipe

MARGIN: Annotated[
    Ratio, Known("share of the drop allowed that the cheapest sizes may use", "Our choice", "practice")
] = 0.9
"""The exact optimum has nothing to give."""


class CheapRun(Struct, frozen=True):
    """One run: the size of the code's method, and that of the least cost with its price for the run's own length."""

    id: str
    size: Size | None
    cheapest: Size
    cost: Money


class Cheapest(Struct, frozen=True):
    """One zone. `reason` says why there is no answer: "no-prices" (`missing` are the part keys that have none),
    "no-size-fits" (`missing` is the run that stays short), "too-many-combinations", "no-runs"; None if there is one.

    `cost` and `code_cost` are tubing alone, by its price per length; `cost` is None where there is no answer; `code_cost` where a run of the code's method
    has no size or price. `needs` in Pa gauge is the pressure asked at each outlet or regulator, before its connector.
    """

    zone: str
    reason: str | None
    missing: tuple[str, ...]
    runs: tuple[CheapRun, ...]
    cost: Money | None
    code_cost: Money | None
    needs: tuple[tuple[str, Pascal], ...]


def cheapest(build: Installation, zones: tuple[SizedZone, ...], prices: PriceList) -> tuple[Cheapest, ...]:
    """Every zone by itself, in the order of the zones."""
    loads = {s.id: s for s in build.served}
    return tuple(_zone(build, zone, loads, prices) for zone in zones)


def _zone(build: Installation, zone: SizedZone, loads: Mapping[str, Served], prices: PriceList) -> Cheapest:
    if not zone.runs:
        return Cheapest(zone.id, "no-runs", (), (), None, None, ())
    offers = [list(_offers(build, run, prices)) for run in zone.runs]
    missing = tuple(
        dict.fromkeys(
            tubing.material(run.material).key(run.kind)
            for run, offer in zip(zone.runs, offers, strict=True)
            if not offer
        )
    )
    if missing:
        return Cheapest(zone.id, "no-prices", missing, (), None, None, ())
    asked = _needs(zone, loads)
    minima: list[float | None] = [None] * len(zone.runs)
    for _, segment, gauge in asked:
        if segment >= 0:
            minima[segment] = max(gauge, minima[segment] or 0.0)
    found = optimum(build, zone, offers, minima)
    stated = tuple((name, gauge) for name, _, gauge in asked) if found.searched else ()
    if found.reason is not None:
        return Cheapest(zone.id, found.reason, found.short, (), None, None, stated)
    runs = tuple(
        CheapRun(run.id, run.size, size, per_metre * length)
        for run, (size, per_metre), length in zip(zone.runs, found.chosen, zone.tree.length, strict=True)
    )
    return Cheapest(zone.id, None, (), runs, sum(run.cost for run in runs), _code_cost(zone, prices), stated)


class Optimum(Struct, frozen=True):
    """The sizes of one zone with the least sum of cost, each with what a metre of it costs; none where `reason` says why, of
    which `short` is the run. `searched`: every run has a size that can be tried."""

    chosen: tuple[tuple[Size, float], ...]
    reason: str | None = None
    short: tuple[str, ...] = ()
    searched: bool = True


def optimum(
    build: Installation,
    zone: SizedZone,
    offers: Sequence[Sequence[tuple[Size, float]]],
    minima: Sequence[float | None],
    ranks: Mapping[Size, int] | None = None,
) -> Optimum:
    """The sizes with the least sum of cost for which every run has at its end the pressure `minima` (Pa gauge; None where
    nothing is asked): exact, to a hundredth of the unit in which a metre of each size offered costs.

    With `ranks` no run is of a higher rank than the run before it: no size grows downstream.
    """
    air = zone.conditions.absolute_air
    needs = [None if least is None else (least + air) ** 2 for least in minima]
    whole = network_of(build, zone, [offer[-1][0] for offer in offers])
    rises = network.rise_squares(whole)
    flows = carried(zone.tree)
    kept: list[list[tuple[Size, float]]] = []
    options: list[list[Option]] = []
    for i, (run, offer) in enumerate(zip(zone.runs, offers, strict=True)):
        here: list[tuple[Option, tuple[Size, float]]] = []
        for size, per_metre in offer:
            try:
                fitted = replace(whole, pipes=(*whole.pipes[:i], pipe(build, zone, i, size), *whole.pipes[i + 1 :]))
            except ValueError:
                continue  # corrugated tubing that the table has no column for
            drop = network.larger(fitted, i, flows[i]) + rises[i]
            cost = round(per_metre * zone.tree.length[i] * 100)
            here.append((Option(drop, cost, ranks[size] if ranks is not None else 0), (size, per_metre)))
        if not here:
            return Optimum((), "no-size-fits", (run.id,), searched=False)
        options.append([option for option, _ in here])
        kept.append([what for _, what in here])
    found = least_cost(zone.tree.parent, options, needs, (network.behind_head(whole) + air) ** 2)
    if found.reason is not None:
        return Optimum((), found.reason, (zone.run_ids[found.segment],) if found.segment is not None else ())
    return Optimum(tuple(kept[i][choice] for i, choice in enumerate(found.choice)))


def _offers(build: Installation, run: Line, prices: PriceList) -> Iterator[tuple[Size, float]]:
    """The sizes of a run's material that have a price, each with what a metre costs; small sizes first."""
    for size in build.offered_sizes[run.id]:
        cost = per_metre(run.material, run.kind, size, prices)
        if cost is not None:
            yield (size, cost)


def per_metre(material: str, kind: str | None, size: Size, prices: PriceList) -> float | None:
    """What a metre of a tubing costs by itself or as the cheapest of its coils; None where it has no price."""
    lengths = {
        length.text: float(length) for row in stock.stock_rows(material, size.kind, size.id) for length in row.lengths
    }
    return prices.per_metre(tubing_key(material, kind, size), lengths)


def _code_cost(zone: SizedZone, prices: PriceList) -> float | None:
    costs = [
        None
        if run.size is None or (cost := per_metre(run.material, run.kind, run.size, prices)) is None
        else cost * float(run.part.length)
        for run in zone.runs
    ]
    known = [cost for cost in costs if cost is not None]
    return sum(known) if len(known) == len(costs) else None


def _needs(zone: SizedZone, loads: Mapping[str, Served]) -> list[tuple[str, int, float]]:
    """(outlet or regulator, its segment, the pressure it must have there in Pa gauge): what is left at 90 % of the
    allowance, or what the appliance's plate asks with its connector, if that is more."""
    left = float(zone.regulator.outlet) - MARGIN * zone.conditions.drop
    found = []
    for outlet, segment in zone.outlets:
        asked = loads[outlet].appliance.min_inlet
        plate = float(asked) + (connector_drop(loads[outlet]) or 0.0) if asked is not None else 0.0
        found.append((outlet, segment, max(left, plate)))
    return found + [(regulator, segment, left) for regulator, segment in zone.regulators]
