"""Kinds of container that would serve a build: they carry its coldest day and last as long as asked, by the same simulated
days as its own container, within what the region's rules limit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.catalog import containers as catalog
from gasdoc.catalog.containers import ContainerKind
from gasdoc.catalog.sold import sold
from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.vaporisation import Manifold
from gasdoc.quantities import By, CubicMetre, Day, Kelvin, Kilogram, Metre, Ratio, UnitOf, Watt
from gasdoc.regions.rules import Rule
from gasdoc.source import Citation
from gasdoc.study.container.cold_day import FILLS, GRID_FILLS, Cold, Rig
from gasdoc.study.container.coldest_days import ahead, lasts
from gasdoc.study.container.draw_off import draw_table
from gasdoc.study.container.holding import Container, full_mass, shape_of
from gasdoc.study.facts import Installation, heating_value, setting, stands_in

MOST = 4
"""How many equal containers are looked at at most (our choice); of a kind that is filled in place one."""

_MEASURES = ("container-count", "container-water-capacity", "container-fuel")
"""What region rules limit of a set of containers."""


class LimitKept(Struct, frozen=True):
    """A limit of the region that a set keeps within: the `value` it has, in SI."""

    rule: str
    asks: str
    measure: str
    value: Annotated[float, UnitOf("unit")]
    limit: Annotated[float, UnitOf("unit")]
    citation: Citation

    @property
    def unit(self) -> str:
        """The SI unit of what is limited."""
        return {"container-water-capacity": "m3", "container-fuel": "kg"}.get(self.measure, "count")


class Serving(Struct, frozen=True):
    """A set of equal containers that would serve; `water` m3 only for a kind that comes in many sizes.

    `lasts_to_fill` is the emptiest fill with which it still carries the coldest day. `days` a full set lasts
    then, `at_least` where it had not fallen short within the days looked at. `fuel_mass` and `weight_full` kg are those of
    all, `one_full` of one; `diameter` and `length` m those outside of one. `rate` W is the largest load of 24 hours when
    one fifth full. `own`: it is the build's own.
    """

    kind: str
    name: str
    water: CubicMetre | None
    number: int
    manifold: Manifold
    lasts_to_fill: Ratio
    days: Day
    at_least: bool
    rate: Watt
    fuel_mass: Kilogram
    one_full: Kilogram
    weight_full: Kilogram
    diameter: Metre
    length: Metre
    limits: tuple[LimitKept, ...]
    own: bool


class Servings(Struct, frozen=True):
    """What would serve in air at `air` K for `per_day` kg a day, `must_last` days where the spec asks for so many: `found`, the
    build's own first, then the fewest and the lightest. `left_out`: kinds that a limit of the region keeps out, with it."""

    air: Kelvin
    per_day: Kilogram
    must_last: Day | None
    found: tuple[Serving, ...]
    left_out: tuple[tuple[str, Annotated[Rule, By("id", "asks", "citation")]], ...]


def serving(build: Installation, container: Container, cold: Cold | None) -> Servings | None:
    """The smallest set of each kind of the region's trade that would serve; None where coldest air or use is not known."""
    if cold is None or cold.coldest is None or not cold.rig.periods:
        return None
    asked = build.spec.container.must_last
    must_last = float(asked) / DAY if asked is not None else None
    rules = tuple(limits(build))
    found, out = _found(sold_here(build), rules, cold.rig, cold.coldest, must_last)
    own = _own(build, container, cold, rules, must_last)
    if own is not None:
        same = (own.kind, own.number, own.manifold)
        found = (own, *(s for s in found if (s.kind, s.number, s.manifold) != same or s.water is not None))
    return Servings(cold.coldest, cold.rig.energy / heating_value(build), must_last, found, out)


def limits(build: Installation) -> Iterator[Rule]:
    """The region's limits on what a set of containers holds, or how many they are."""
    for measure in _MEASURES:
        for rule in build.region.rules_for(measure):
            numeric = isinstance(rule.limit, float | int) and rule.relation == "at-most"
            if numeric and not rule.alternative and stands_in(build, rule.where):
                yield rule


def kept(
    rules: Sequence[Rule], kind: ContainerKind, number: int, water: float, fuel: float
) -> tuple[tuple[LimitKept, ...], Rule | None]:
    """The limits such a set keeps, and the first it does not keep."""
    found: list[LimitKept] = []
    fixed = kind.stays == "permanent"
    values = {"container-count": float(number), "container-water-capacity": water, "container-fuel": fuel * number}
    for rule in rules:
        about = rule.condition or ""
        if about and about.startswith("fixed-tank") != fixed:
            continue
        assert rule.measure is not None
        assert isinstance(rule.limit, float | int), "as _limits picks them"
        value, limit = values[rule.measure], float(rule.limit)
        if value > limit * (1 + 1e-6):
            return tuple(found), rule
        found.append(LimitKept(rule.id, rule.asks, rule.measure, value, limit, rule.citation))
    return tuple(found), None


def sold_here(build: Installation) -> tuple[str, ...]:
    """The ids of the kinds that the region's trade sells for what the build is fitted in."""
    practice, where = build.region.practice, setting(build)
    return tuple(
        kind
        for kind in catalog.trade(practice.containers)
        if practice.takes(sold(kind).practice) and (where is None or where in sold(kind).settings)
    )


@lru_cache(maxsize=64)  # the page and the JSON ask for the same
def _found(
    kinds: tuple[str, ...], rules: tuple[Rule, ...], like: Rig, air: float, must_last: float | None
) -> tuple[tuple[Serving, ...], tuple[tuple[str, Rule], ...]]:
    found: list[Serving] = []
    out: list[tuple[str, Rule]] = []
    for kind_id in kinds:
        kind = catalog.container_kind(kind_id)
        if "vapour" not in kind.withdrawal:
            continue
        waters = (kind.water_capacity.low,) if kind.water_capacity is not None else catalog.asme_capacities()
        for water in waters:
            made, rule = _smallest(kind, water, rules, like, air, must_last)
            if rule is not None:
                out.append((kind.names[0], rule))
            if made is not None:
                found.append(made)
            if made is not None or rule is not None:
                break  # a larger one of the kind is not the smallest that serves
    found.sort(key=lambda s: (s.number, s.weight_full, s.kind))
    return tuple(found), tuple(out)


def _smallest(
    kind: ContainerKind, water: float, rules: Sequence[Rule], like: Rig, air: float, must_last: float | None
) -> tuple[Serving | None, Rule | None]:
    """The smallest set of a kind that serves, or the limit that keeps it out; None for both where nothing serves."""
    gas, per_day = like.gas, like.energy / like.heating
    mass = full_mass(kind, water, gas)
    most = kind.fuel_mass.high if kind.fuel_mass is not None else mass
    base = replace(like, shape=shape_of(kind, water), full_mass=mass, number=1, manifold="single", uninterrupted=None)
    for number in range(1, MOST + 1 if kind.stays != "permanent" else 2):
        if must_last is not None and number * mass < must_last * per_day:
            continue  # it does not even hold so much
        within, rule = kept(rules, kind, number, water, most)
        if rule is not None:
            return None, rule
        ways: tuple[Manifold, ...] = ("changeover", "parallel") if number > 1 else ("single",)
        for way in ways:
            rig = _with_table(base.joined(number, way), kind)
            if rig is None or not rig.short(air, FILLS[0], rig.careful).enough:
                continue
            one = _served(kind, rig, air, must_last, within, most, water if kind.water_capacity is None else None)
            if one is not None:
                return one, None
    return None, None


def _with_table(rig: Rig, kind: ContainerKind) -> Rig | None:
    """The rig held under the trade's table, None where the table gives less than the day asks."""
    table = draw_table(kind, rig.full_mass, rig.feeding, rig.periods, rig.heating)
    if table is None:
        return rig
    return replace(rig, uninterrupted=table.rows[0].load / rig.feeding) if table.enough else None


def _served(
    kind: ContainerKind,
    rig: Rig,
    air: float,
    must_last: float | None,
    within: tuple[LimitKept, ...],
    most: float,
    water: float | None,
    *,
    own: bool = False,
) -> Serving | None:
    """The set as a row, where it carries the coldest day when full and lasts as long as asked; else None."""
    lasting = lasts(rig, air, rig.careful, ahead(rig, must_last))
    if must_last is not None and lasting.short and lasting.days < must_last * (1 - 1e-9):
        return None
    low, high = 0, len(GRID_FILLS) - 1  # GRID_FILLS falls; the first, full, carries it
    while low < high:
        middle = (low + high + 1) // 2
        if rig.short(air, GRID_FILLS[middle], rig.careful).enough:
            low = middle
        else:
            high = middle - 1
    one = rig.shape.heavy + most
    return Serving(
        kind.id,
        kind.names[0],
        water,
        rig.number,
        rig.manifold,
        GRID_FILLS[low],
        lasting.days,
        not lasting.short,
        rig.largest(air, FILLS[-1]),
        rig.number * rig.full_mass,
        one,
        one * rig.number,
        rig.shape.diameter,
        rig.shape.length,
        within,
        own,
    )


def _own(
    build: Installation, container: Container, cold: Cold, rules: Sequence[Rule], must_last: float | None
) -> Serving | None:
    """The build's own set where it serves."""
    rig, kind, air = cold.rig, build.container_kind, cold.coldest
    assert air is not None, "asked before"
    within, rule = kept(rules, kind, rig.number, container.water_capacity, container.heaviest_fuel)
    tabled = cold.table is None or cold.table.enough
    if rule is not None or not tabled or not rig.short(air, FILLS[0], rig.careful).enough:
        return None
    water = container.water_capacity if kind.water_capacity is None else None
    return _served(kind, rig, air, must_last, within, container.heaviest_fuel, water, own=True)
