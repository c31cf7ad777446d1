"""Which tubing would do: every material of the region as a whole solved design, in one size, in two, in the least.

The sizes that the study itself settles on are the floor. Other designs only take larger ones, and none grows downstream: so
what the method asks holds for each of them. Where the sum of drops is the rule, the lightest sizes that keep to it are
searched exactly.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.model import Run
from gasdoc.catalog import tubing as catalog
from gasdoc.catalog.tubing import Series, Size
from gasdoc.choices.entries import Choice, Figure, Why, fits, sources
from gasdoc.choices.filled import Picked, Pipes, fill
from gasdoc.engineering.materials.cutting import CuttingPlan
from gasdoc.engineering.materials.joints import NoChain
from gasdoc.quantities import Aside, Shown
from gasdoc.regions.materials import Permission
from gasdoc.source import Severity
from gasdoc.study.facts import Installation, setting
from gasdoc.study.materials.cutting import SHELF, Lengths
from gasdoc.study.materials.least_cost import optimum, per_metre
from gasdoc.study.materials.own_files import Own
from gasdoc.study.materials.permitted import permitted
from gasdoc.study.materials.price_list import PriceList
from gasdoc.study.study import Study, installation_study
from gasdoc.study.supply.final_sizes import pressures_asked
from gasdoc.study.supply.lines import SizedZone, lines_of
from gasdoc.study.supply.names import resolve
from gasdoc.study.supply.pressure_findings import pressure_findings
from gasdoc.study.supply.size_findings import sizing_findings

Goal = Literal["one-size", "two-sizes", "least-tube", "least-weight", "least-cost"]

GOAL_WORDS: dict[Goal, str] = {
    "one-size": "one size throughout",
    "two-sizes": "two sizes",
    "least-tube": "the smallest size for each run",
    "least-weight": "the lightest sizes that keep to the pressure",
    "least-cost": "the cheapest sizes by the metre that keep to the pressure",
}


class TubingChoice(Choice, frozen=True):
    """One material with a size for each run. `lost` Pa is the drop to the outlet that loses most, of `allowed`; `worst` is the
    outlet with the least pressure over what it asks, or the least pressure. `stock` are the coils or lengths to buy."""

    material: str
    type: str | None
    goal: Goal
    series: str | None
    sizes: tuple[tuple[str, str], ...]
    worst: str | None
    stock: tuple[tuple[str, int], ...]
    unpriced: tuple[str, ...]
    permission: Permission
    picked: Annotated[Picked, Aside("what is written when it is taken")]

    @property
    def words(self) -> Shown[str]:
        """What it is good for, in words."""
        return GOAL_WORDS[self.goal]


def tubings(build: Installation, own: Own) -> tuple[TubingChoice, ...]:
    """Every material that the region and setting do not forbid, the usual ones first."""
    rows = sorted(permitted(build.region.practice, setting(build)), key=lambda found: found[0].order)
    found = [choice for row, material, kind in rows for choice in _of_a_material(build, material, kind, row, own)]
    found.sort(key=lambda choice: ({True: 0, None: 1, False: 2}[choice.fits], choice.permission.answer != "allowed"))
    return tuple(found)


def _of_a_material(
    build: Installation, material: str, kind: str | None, row: Permission, own: Own
) -> Iterator[TubingChoice]:
    """One size, two sizes, the least tube, and where the sum of drops is the rule the lightest and the cheapest: only those
    that differ."""
    for series in catalog.series() if catalog.material(material).corrugated else (None,):
        floor = _floor(build, material, kind, series, own)
        if floor is None:
            continue
        done: set[tuple[tuple[str, Size], ...]] = set()
        for goal, sizes in (*_designs(floor), *_optima(build, floor, Pipes(material, kind), own)):
            if sizes not in done:
                done.add(sizes)
                yield _choice(build, Pipes(material, kind, sizes), goal, series, row, own)


def piped(build: Installation, pipes: Pipes, own: Own) -> Study | None:
    """The study of the build in other tubing, of which only what is asked for is worked out; None where it cannot be read."""
    found, _ = resolve(fill(build, Picked(tubing=pipes)))
    return installation_study(found, own) if found else None


class Floor(Struct, frozen=True):
    """The smallest sizes that may be: of each run the one the study settles on, none smaller than one behind it.

    `offered` are the sizes that can be had, small to large.
    """

    runs: tuple[str, ...]
    lengths: tuple[float, ...]
    least: tuple[int, ...]
    offered: tuple[Size, ...]

    def named(self, chosen: Sequence[int]) -> tuple[tuple[str, Size], ...]:
        """The sizes by run."""
        return tuple((run, self.offered[i]) for run, i in zip(self.runs, chosen, strict=True))


def _floor(build: Installation, material: str, kind: str | None, series: Series | None, own: Own) -> Floor | None:
    """The floor of a material; None where a run has no size in it, or where there is no run."""
    made = piped(build, Pipes(material, kind), own)
    if made is None:
        return None
    offered = _one_wall([size for size in catalog.sizes(material, kind) if series is None or size.id in series.sizes])
    picked = {
        run.id: run
        for run in lines_of(made.zones).values()
        if not build.stated.open_runs or run.id in build.stated.open_runs
    }
    order = [node.id for node in build.nodes if node.id in picked]
    if not order:
        return None
    least: list[int] = []
    for run_id in order:
        size = picked[run_id].size
        at_least = None if size is None else next((i for i, o in enumerate(offered) if _carries_as(o, size)), None)
        if at_least is None:
            return None
        least.append(at_least)
    parents = []
    for run_id in order:
        above = build.by_id[run_id].parent
        while above >= 0 and build.nodes[above].id not in order:
            above = -1 if build.nodes[above].kind == "regulator" else build.nodes[above].parent
        parents.append(order.index(build.nodes[above].id) if above >= 0 else -1)
    for i in range(len(order) - 1, -1, -1):  # a size never grows downstream
        if parents[i] >= 0:
            least[parents[i]] = max(least[parents[i]], least[i])
    lengths = tuple(float(part.length) for part in (build.by_id[run].part for run in order) if isinstance(part, Run))
    return Floor(tuple(order), lengths, tuple(least), tuple(offered))


def _optima(
    build: Installation, floor: Floor, pipes: Pipes, own: Own
) -> Iterator[tuple[Goal, tuple[tuple[str, Size], ...]]]:
    """The lightest and the cheapest sizes where the sum of drops is the rule; none where no size has a weight, or a price."""
    made = piped(build, replace(pipes, sizes=floor.named(floor.least)), own)
    if made is None or any(zone.conditions.by_tables for zone in made.zones):
        return
    material, kind = pipes.material, pipes.kind
    weights = {size: kg * 1e3 for size in floor.offered if (kg := metal(material, size)) is not None}
    costs = {size: per for size in floor.offered if (per := per_metre(material, kind, size, made.prices)) is not None}
    goals: tuple[tuple[Goal, dict[Size, float]], ...] = (("least-weight", weights), ("least-cost", costs))
    for goal, cost in goals:
        found = least(made, floor, cost) if cost else None
        if found is not None:
            yield goal, found


def least(made: Study, floor: Floor, cost: Mapping[Size, float]) -> tuple[tuple[str, Size], ...] | None:
    """The sizes with the least sum of cost that leave each end what is asked of it, none larger than the one before; None
    where no sizes do. `cost` is that of a metre of each size that may be taken; runs that are not open keep theirs."""
    found: dict[str, Size] = {}
    ranks = {size: i for i, size in enumerate(floor.offered)}
    served = {s.id: s for s in made.build.served}
    offers = [(size, cost[size]) for size in floor.offered if size in cost]
    for zone in made.zones:
        if not zone.runs:
            continue
        fixed = {run.id: run.size for run in zone.runs if run.id not in floor.runs and run.size is not None}
        for size in fixed.values():
            ranks.setdefault(size, sum(not _carries_as(each, size) for each in floor.offered))
        _, asked = pressures_asked(zone, served)
        each = [[(fixed[run.id], 0.0)] if run.id in fixed else offers for run in zone.runs]
        best = optimum(made.build, zone, each, asked, ranks)
        if best.reason is not None:
            return None
        found |= {run.id: size for run, (size, _) in zip(zone.runs, best.chosen, strict=True)}
    return tuple((run, found[run]) for run in floor.runs)


def _carries_as(size: Size, least: Size) -> bool:
    """Whether a size is that one, or a larger."""
    if size.bore is not None and least.bore is not None:
        return size.bore >= least.bore - 1e-9
    return _ehd(size) >= _ehd(least)


def _ehd(size: Size) -> int:
    return int(size.id.removeprefix("EHD "))


def _one_wall(sizes: Sequence[Size]) -> list[Size]:
    """Of several walls of one outside diameter the thickest that is usual: tube, nuts and sleeves are bought for one wall."""
    kept: dict[float | str, Size] = {}
    for size in sizes:
        key: float | str = size.outside_diameter if size.outside_diameter is not None else size.id
        if key not in kept or (size.bore or 0.0) < (kept[key].bore or 0.0):
            kept[key] = size
    return list(kept.values())


def _designs(floor: Floor) -> Iterator[tuple[Goal, tuple[tuple[str, Size], ...]]]:
    """One size, two sizes with the least surface of tube, and the least tube."""
    largest = max(floor.least)
    yield "one-size", floor.named([largest] * len(floor.least))
    two = two_sizes(floor)
    if two is not None:
        yield "two-sizes", floor.named(two)
    yield "least-tube", floor.named(floor.least)


def two_sizes(floor: Floor) -> tuple[int, ...] | None:
    """The two sizes with the least tube, measured as size times length; None where there is one size alone."""
    largest = max(floor.least)
    best: tuple[float, tuple[int, ...]] | None = None
    for small in range(largest):
        chosen = tuple(small if least <= small else largest for least in floor.least)
        if len(set(chosen)) == 2:
            weight = sum(_surface(floor.offered[i]) * length for i, length in zip(chosen, floor.lengths, strict=True))
            if best is None or weight < best[0] - 1e-12:
                best = weight, chosen
    return best[1] if best is not None else None


def _surface(size: Size) -> float:
    """Outside diameter m, or of corrugated tubing its number, which grows with it."""
    return size.outside_diameter if size.outside_diameter is not None else float(_ehd(size))


def _choice(
    build: Installation,
    pipes: Pipes,
    goal: Goal,
    series: Series | None,
    row: Permission,
    own: Own,
) -> TubingChoice:
    made = piped(build, pipes, own)
    assert made is not None, "its floor was made"
    here, zones, lengths, prices = made.build, made.zones, made.lengths, made.prices
    errors = [
        finding
        for zone in zones
        for finding in (*sizing_findings(here, zone), *pressure_findings(here, zone))
        if finding.severity is Severity.ERROR and finding.at[:1] == ("supply",)
    ]
    reasons = [Why(finding.code, finding.message) for finding in errors]
    uncut = [each for each in lengths if not isinstance(each.plan, CuttingPlan)]
    reasons += [
        Why("plan-not-cuttable", f"A run is longer than the longest {each.name} that is listed.", open=True)
        for each in uncut
    ]
    unjoined = dict.fromkeys(
        f"{each.a} to {each.b}" for each in made.fittings.joined if isinstance(each.found, NoChain)
    )
    if unjoined:
        reasons.append(
            Why("joint-impossible", f"No listed parts join {', '.join(unjoined)}: ask the supplier.", open=True)
        )
    if row.answer == "ask":
        reasons.append(Why("ask-first", row.asks, open=True))
    solved = [zone.pressure for zone in zones if zone.pressure is not None]
    drops = [found.worst_drop for found in solved if found.worst_drop is not None]
    outlets = [(outlet.full, outlet.id) for found in solved for outlet in found.outlets]
    left, worst = min(outlets, default=(None, None))
    stock: dict[str, int] = {}
    for each in lengths:
        if isinstance(each.plan, CuttingPlan):
            for cut in each.plan.cuts:
                name = f"{each.name}, {each.label(cut.stock)}"
                stock[name] = stock.get(name, 0) + 1
    bought = None if uncut else sum(each.plan.bought_length for each in lengths if isinstance(each.plan, CuttingPlan))
    net = sum(each.net for each in lengths)
    weight = metal_weight(zones)
    cost, unpriced = _cost(lengths, prices)
    joints = None if unjoined else float(sum(len(chain.joints) for _, chain in made.fittings.chains()))
    figures = {
        "lost": Figure(max(drops, default=None), "Pa", "computed"),
        "allowed": Figure(
            min((zone.conditions.drop for zone in zones if zone.delivers), default=None),
            "Pa",
            zones[0].allowance.confirmed,
        ),
        "left_at_worst": Figure(left, "Pa", "computed"),
        "sizes": Figure(float(len({size.id for _, size in pipes.sizes})), "count", "computed"),
        "joints": Figure(joints, "count", "computed"),
        "net": Figure(net, "m", "computed"),
        "bought": Figure(bought, "m", "computed"),
        "metal": Figure(weight, "kg", "memory"),
        "cost": Figure(cost, prices.currency or "", "computed"),
    }
    of = catalog.material(pipes.material)
    label = f"-{'abcdefgh'[catalog.series().index(series)]}" if series is not None else ""
    return TubingChoice(
        id=f"{of.key(pipes.kind)}{label}-{goal}",
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=figures,
        sources=sources(row.citation, *(zone.allowance for zone in zones), series.source if series else None),
        material=pipes.material,
        type=pipes.kind if len(of.kinds) > 1 else None,
        goal=goal,
        series=series.label if series is not None else None,
        sizes=tuple((run, size.label) for run, size in pipes.sizes),
        worst=worst,
        stock=tuple(stock.items()),
        unpriced=unpriced,
        permission=row,
        picked=Picked(tubing=pipes),
    )


def _cost(lengths: Sequence[Lengths], prices: PriceList) -> tuple[float | None, tuple[str, ...]]:
    """What the tube to buy costs, half way between low and high, and the part keys without a price; None where there is one."""
    cost = 0.0
    unpriced: list[str] = []
    for each in lengths:
        if not isinstance(each.plan, CuttingPlan):
            unpriced.append(each.key)
            continue
        for cut in each.plan.cuts:
            if cut.stock.startswith(SHELF):
                continue
            price = prices.coil(each.key, each.label(cut.stock), each.length(cut.stock))
            if price is None:
                unpriced.append(each.key)
            else:
                cost += sum(price) / 2
    return (None if unpriced else cost), tuple(dict.fromkeys(unpriced))


def metal(material: str, size: Size) -> float | None:
    """What a metre of a size weighs, kg; None where it has no outside diameter, or its metal no density here."""
    density = catalog.DENSITY.get(catalog.material(material).family)
    if size.outside_diameter is None or size.bore is None or density is None:
        return None
    return math.pi / 4 * (size.outside_diameter**2 - size.bore**2) * density


def metal_weight(made: Sequence[SizedZone]) -> float | None:
    """What the tube weighs, kg; None where a size has no outside diameter or its metal no density here."""
    total = 0.0
    for zone in made:
        for run in zone.runs:
            each = metal(run.material, run.size) if run.size is not None else None
            if each is None:
                return None
            total += each * float(run.part.length)
    return total
