"""Sets of equal containers, other than a build's own, put through the build's own days: what the page of the container and the
choices of a plan both ask."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.catalog import containers as catalog
from gasdoc.catalog.containers import ContainerKind
from gasdoc.catalog.sold import sold
from gasdoc.engineering.container.vaporisation import Manifold
from gasdoc.quantities import UnitOf
from gasdoc.regions.rules import Rule
from gasdoc.source import Citation
from gasdoc.study.container.cold_day import GRID_FILLS, Heat, Rig
from gasdoc.study.container.draw_off import draw_table
from gasdoc.study.container.holding import full_mass, shape_of
from gasdoc.study.facts import Installation, setting, stands_in

MOST = 4
"""How many equal containers are looked at at most (our choice)."""

_WAYS: dict[int, tuple[Manifold, ...]] = {
    1: ("single",),
    2: ("changeover", "parallel"),
    3: ("parallel",),
    4: ("banks", "parallel"),
}
"""How so many are joined: an automatic changeover has two sides, and four are two on each (common practice)."""

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


class Member(Struct, frozen=True):
    """One container of a kind, with `water` m3 and the `rig` it is alone; `most` kg may be in it at the most."""

    kind: ContainerKind
    water: float
    rig: Rig
    most: float

    @property
    def one_full(self) -> float:
        """What it weighs full, kg, at the most."""
        return self.rig.shape.heavy + self.most

    @property
    def ways(self) -> Iterator[tuple[int, Manifold]]:
        """Every number of it and way of joining them that is looked at, fewest first."""
        for number in range(1, (1 if self.kind.alone else MOST) + 1):
            for way in _WAYS[number]:
                yield number, way

    def joined(self, number: int, manifold: Manifold) -> tuple[Rig, bool]:
        """The rig of so many, held under the trade's table; and whether that table gives what the day asks."""
        rig = self.rig.joined(number, manifold)
        table = draw_table(self.kind, rig.full_mass, rig.feeding, rig.periods, rig.heating)
        if table is None:
            return rig, True
        return replace(rig, uninterrupted=table.rows[0].load / rig.feeding), table.enough


@lru_cache(maxsize=256)
def member(kind: ContainerKind, water: float, like: Rig) -> Member:
    """One container of a kind that holds `water` m3, with the use, the regulator and the gas of another rig."""
    mass = full_mass(kind, water, like.gas, stamped=kind.water_capacity is None)
    most = kind.fuel_mass.high if kind.fuel_mass is not None else mass
    shape = shape_of(kind, water)
    rig = replace(like, shape=shape, full_mass=mass, number=1, manifold="single", uninterrupted=None)
    return Member(kind, water, rig, most)


def emptiest(rig: Rig, air: float, heat: Heat) -> float | None:
    """The emptiest of GRID_FILLS with which a set carries a day in air at `air` K; None where it falls short even full."""
    # What is emptier falls short sooner, so the days that are looked at in vain are short.
    return next((fill for fill in reversed(GRID_FILLS) if rig.short(air, fill, heat).enough), None)


def limits(build: Installation) -> Iterator[Rule]:
    """The region's limits on what a set of containers holds, or how many they are."""
    for measure in _MEASURES:
        for rule in build.region.rules_for(measure):
            numeric = isinstance(rule.limit, float | int) and rule.relation == "at-most"
            if numeric and not rule.alternative and stands_in(build, rule.where):
                yield rule


def kept(rules: Sequence[Rule], one: Member, number: int) -> tuple[tuple[LimitKept, ...], Rule | None]:
    """The limits that so many keep, and the first that they do not keep."""
    found: list[LimitKept] = []
    fixed = one.kind.stays == "permanent"
    values = {
        "container-count": float(number),
        "container-water-capacity": one.water,
        "container-fuel": one.most * number,
    }
    for rule in rules:
        about = rule.condition or ""
        if about and about.startswith("fixed-tank") != fixed:
            continue
        assert rule.measure is not None
        assert isinstance(rule.limit, float | int), "as `limits` picks them"
        value, limit = values[rule.measure], float(rule.limit)
        if value > limit * (1 + 1e-6):
            return tuple(found), rule
        found.append(LimitKept(rule.id, rule.asks, rule.measure, value, limit, rule.citation))
    return tuple(found), None


def sold_here(build: Installation) -> tuple[str, ...]:
    """The ids of the kinds that the region's trade sells for what the build is fitted in."""
    practice, where, propane = build.region.practice, setting(build), build.spec.gas.propane
    return tuple(
        kind
        for kind in catalog.trade(practice.containers)
        if practice.takes(sold(kind).practice)
        and (where is None or where in sold(kind).settings)
        and catalog.container_kind(kind).worked_out_with(propane)
    )
