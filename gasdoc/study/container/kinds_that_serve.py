"""Kinds of container that would serve a build: they carry its coldest day and last as long as asked, by the same simulated
days as its own container, within what the region's rules limit."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Annotated

from msgspec import Struct

from gasdoc.catalog import containers as catalog
from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.vaporisation import Manifold
from gasdoc.quantities import Aside, By, CubicMetre, Day, Kelvin, Kilogram, Metre, Ratio, Shown, Watt
from gasdoc.regions.rules import Rule
from gasdoc.study.container.cold_day import FILLS, Cold, Rig
from gasdoc.study.container.coldest_days import ahead, lasts
from gasdoc.study.container.holding import Container
from gasdoc.study.container.sets import LimitKept, Member, emptiest, kept, limits, member, sold_here
from gasdoc.study.facts import Installation, heating_value


class Serving(Struct, frozen=True):
    """A set of equal containers that would serve; `water` m3 only for a kind that comes in many sizes.

    `lasts_to_fill` is the emptiest fill with which it still carries the coldest day. `days` a full set lasts
    then, `at_least` where it had not fallen short within the days looked at. `fuel_mass` and `weight_full` kg are those of
    all, `one_full` of one; `diameter` and `length` m those outside of one. `own`: it is the build's own.
    """

    kind: str
    name: str
    water: CubicMetre | None
    number: int
    manifold: Manifold
    lasts_to_fill: Ratio
    days: Day
    at_least: bool
    fuel_mass: Kilogram
    one_full: Kilogram
    weight_full: Kilogram
    diameter: Metre
    length: Metre
    limits: tuple[LimitKept, ...]
    own: bool
    rig: Annotated[Rig, Aside("what it is worked out from")]
    air: Annotated[Kelvin, Aside("stands above, once for all")]

    @property
    def rate(self) -> Shown[Watt]:
        """The largest load of 24 hours when one fifth full."""
        return self.rig.largest(self.air, FILLS[-1])


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
            made, rule = _smallest(member(kind, water, like), rules, air, must_last)
            if rule is not None:
                out.append((kind.names[0], rule))
            if made is not None:
                found.append(made)
            if made is not None or rule is not None:
                break  # a larger one of the kind is not the smallest that serves
    found.sort(key=lambda s: (s.number, s.weight_full, s.kind))
    return tuple(found), tuple(out)


def _smallest(
    one: Member, rules: Sequence[Rule], air: float, must_last: float | None
) -> tuple[Serving | None, Rule | None]:
    """The smallest set of a kind that serves, or the limit that keeps it out; None for both where nothing serves."""
    per_day = one.rig.energy / one.rig.heating
    for number, way in one.ways:
        if must_last is not None and number * one.rig.full_mass < must_last * per_day:
            continue  # it does not even hold so much
        within, rule = kept(rules, one, number)
        if rule is not None:
            return None, rule
        rig, tabled = one.joined(number, way)
        made = _served(one, rig, air, must_last, within) if tabled else None
        if made is not None:
            return made, None
    return None, None


def _served(
    one: Member, rig: Rig, air: float, must_last: float | None, within: tuple[LimitKept, ...], *, own: bool = False
) -> Serving | None:
    """The set as a row, where it carries the coldest day when full and lasts as long as asked; else None."""
    to_fill = emptiest(rig, air, rig.careful)
    if to_fill is None:
        return None
    lasting = lasts(rig, air, rig.careful, ahead(rig, must_last))
    if must_last is not None and lasting.short and lasting.days < must_last * (1 - 1e-9):
        return None
    return Serving(
        one.kind.id,
        one.kind.names[0],
        one.water if one.kind.water_capacity is None else None,
        rig.number,
        rig.manifold,
        to_fill,
        lasting.days,
        not lasting.short,
        rig.number * rig.full_mass,
        one.one_full,
        one.one_full * rig.number,
        rig.shape.diameter,
        rig.shape.length,
        within,
        own,
        rig,
        air,
    )


def _own(
    build: Installation, container: Container, cold: Cold, rules: Sequence[Rule], must_last: float | None
) -> Serving | None:
    """The build's own set where it serves."""
    assert cold.coldest is not None, "asked before"
    one = Member(build.container_kind, container.water_capacity, cold.rig, container.heaviest_fuel)
    within, rule = kept(rules, one, cold.rig.number)
    if rule is not None or (cold.table is not None and not cold.table.enough):
        return None
    return _served(one, cold.rig, cold.coldest, must_last, within, own=True)
