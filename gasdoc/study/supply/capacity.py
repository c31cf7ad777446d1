"""What a size carries under given conditions, by whichever method serves them: and the least size that carries a load.

The look-up behind sizing and `gasdoc capacity`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated, Literal, cast

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Run
from gasdoc.build.reader import Build
from gasdoc.catalog import tables, tubing
from gasdoc.catalog.tubing import Series, Size
from gasdoc.engineering.constants import FIFTEEN_CELSIUS, STANDARD_ATMOSPHERE
from gasdoc.engineering.supply import capacity as code
from gasdoc.engineering.supply import flow, lpg
from gasdoc.quantities import Known, Metre, Pascal, Ratio, Watt
from gasdoc.regions.materials import Permission, permission
from gasdoc.regions.region import Region
from gasdoc.source import Citation

Basis = Literal[
    "cell",
    "equation-below-cell",
    "equation",
    "past-rows",
    "past-rows-fit",
    "fit",
    "neighbour",
    "scaled",
    "code-equation",
    "calculated",
    "maker",
]

GAS_TEMPERATURE = FIFTEEN_CELSIUS
"""K: the temperature at which flow is calculated, 15 degC. Colder gas is denser and loses less."""

BASIS_WORDS: dict[str, str] = {
    "cell": "the code's table",
    "equation-below-cell": "the code's equation, because the printed cell is higher than it by more than rounding",
    "equation": "the code's equation. This cell of the table is not known here",
    "past-rows": "the code's equation. The rows of the table that are known here end before this length",
    "past-rows-fit": "a fit to the table, lowered by its worst error. The rows that are known here end before this length",
    "fit": "a fit to the table, lowered by its worst error. This cell is not known here",
    "neighbour": "a neighbouring cell of the table, which is lower",
    "scaled": "the table read at a length scaled to this pressure drop. Calculated, no code table",
    "code-equation": "the code's equation. No code table for these conditions",
    "calculated": "calculated (Darcy-Weisbach), no code table",
    "maker": "the tubing maker's own table, as the spec gives it",
}


PAST: tuple[Basis, ...] = ("past-rows", "past-rows-fit")
"""What a capacity rests on past the known rows of a table."""

PAST_ROWS: Annotated[
    Ratio,
    Known("how many times its last row's length a corrugated size's fit is followed", "Our choice", "practice"),
] = 2.0
"""The fits hold over rows whose lengths differ eighteenfold, within 3.4 %; sizes whose fit has a reach of its own end there."""

MAKER_RULES = "the tubing maker's own table rules, and may say less"

MAKER_EXPONENT: Annotated[
    Ratio,
    Known(
        "power of the length that a maker's own capacity of corrugated tubing falls with",
        "The steepest of the fits to the code's tables, 0.47 to 0.56, because a maker's own is not known",
        "computed",
    ),
] = 0.56


class Conditions(Struct, frozen=True):
    """What a capacity depends on besides size and length: gauge inlet pressure and allowed drop, both Pa.

    `by_tables` says whether the region sizes by code tables; `absolute_air` in Pa and `fuel` serve the calculation.
    """

    inlet_gauge: Pascal
    drop: Pascal
    by_tables: bool
    absolute_air: Pascal = STANDARD_ATMOSPHERE
    fuel: lpg.Fuel = lpg.PROPANE


class Answer(Struct, frozen=True):
    """The capacity to use, in W, and what it rests on.

    `row_length` in m is the table row read; `cell`, `equation` and `fit` in W are what table, code equation and fit
    give there, where they exist. `thin_air` is the share `value` was lowered to for altitude, None where it was not.
    `maker_rules` says that the tubing is corrugated, so that its maker's own table counts and not this one.
    """

    value: Watt
    basis: Basis
    source: Citation
    row_length: Metre | None = None
    cell: Watt | None = None
    equation: Watt | None = None
    fit: Watt | None = None
    fit_error: Ratio | None = None
    thin_air: Ratio | None = None
    maker_rules: bool = False

    @property
    def words(self) -> str:
        """What the value rests on, in words."""
        lowered = f", lowered to {self.thin_air:.0%} for thin air" if self.thin_air is not None else ""
        return BASIS_WORDS[self.basis] + lowered + (f"; {MAKER_RULES}" if self.maker_rules else "")


class Unserved(Struct, frozen=True):
    """Why nothing can be said: "length" or "size" outside the table (`limit` in m for a length), or "no-method"."""

    reason: Literal["length", "size", "no-method"]
    limit: Metre
    source: Citation | None


def look_up(size: Size, length: float, conditions: Conditions) -> Answer | Unserved:
    """What `size` carries over `length` (m), the path from the final regulator to the farthest outlet it serves."""
    answer = _at_sea_level(size, length, conditions)
    if isinstance(answer, Answer) and size.corrugated:
        answer = replace(answer, maker_rules=True)
    if isinstance(answer, Answer) and conditions.by_tables and conditions.inlet_gauge >= code.LOW_PRESSURE_LIMIT:
        return _in_thin_air(answer, conditions)
    return answer


def capacity_of(found: Answer | Unserved) -> float | None:
    """The capacity in W, None where nothing can be said."""
    return found.value if isinstance(found, Answer) else None


def by_maker(stated: units.Given) -> Answer:
    """The capacity that a spec gives from the tubing maker's own table."""
    return Answer(
        float(stated), "maker", Citation(f"the tubing maker's own table: {stated.text}, as the spec says", "once")
    )


def _in_thin_air(answer: Answer, conditions: Conditions) -> Answer:
    """The answer of a code table or equation for 1.5 psi and over, lowered for altitude.

    They add 14.7 psi to a gauge pressure. In thinner air the same drop is less of a drop of squared absolute pressure,
    and capacity goes with that to a power, as in equation 4-2.
    """
    inlet, outlet = conditions.inlet_gauge, conditions.inlet_gauge - conditions.drop
    here = (inlet + conditions.absolute_air) ** 2 - (outlet + conditions.absolute_air) ** 2
    there = (inlet + code.ATMOSPHERE) ** 2 - (outlet + code.ATMOSPHERE) ** 2
    share = (here / there) ** code.DROP_POWER
    if share > 0.995:
        return answer
    return replace(answer, value=_rounded_down(answer.value * share), thin_air=share)


def _at_sea_level(size: Size, length: float, conditions: Conditions) -> Answer | Unserved:
    if conditions.by_tables:
        for table in tables.tables_for(size.material, conditions.inlet_gauge, conditions.drop):
            return _from_table(table, size, length)
    if size.corrugated:
        return _scaled(size, length, conditions)
    if size.bore is None:
        return Unserved("no-method", 0.0, None)
    if conditions.by_tables:
        return _code_equation(size.bore, length, conditions)
    return _calculated(size, size.bore, length, conditions)


def _from_table(table: code.CapacityTable, size: Size, length: float, basis: Basis | None = None) -> Answer | Unserved:
    source = Citation(table.source, table.confirmed)
    if size.id not in table.sizes:
        return Unserved("size", len(table.sizes), source)
    try:
        found = code.capacity(table, table.sizes.index(size.id), length)
    except code.OutsideTable as outside:
        if outside.reason == "length" and size.bore is not None:
            equation = _equation(size.bore, length, table.inlet_gauge, table.drop)
            return Answer(_rounded_down(equation), "past-rows", source, equation=equation)
        if outside.reason == "length" and table.law == "corrugated":
            fit = table.fits[table.sizes.index(size.id)]
            reach = fit.reach or PAST_ROWS * table.lengths[-1]
            if length > reach:
                return Unserved("length", reach, source)
            fitted = fit.at(length)
            lowered = _rounded_down(fitted * (1 - fit.worst))
            return Answer(lowered, "past-rows-fit", source, fit=fitted, fit_error=fit.worst)
        return Unserved(outside.reason, outside.limit, source)
    return Answer(
        found.value,
        basis or found.basis,
        source,
        found.row_length,
        found.cell,
        found.equation,
        found.fit,
        found.fit_error,
    )


def _scaled(size: Size, length: float, conditions: Conditions) -> Answer | Unserved:
    """Corrugated tubing at a low pressure no table is printed for.

    The drop per length is uniform along a run, so a drop of d over L is that of the table's drop over L x (table drop
    / d). The gas being nearly incompressible at these pressures, the inlet pressure itself does not matter.
    """
    if conditions.inlet_gauge >= code.LOW_PRESSURE_LIMIT:
        return Unserved("no-method", 0.0, None)
    table = tables.table("csst_11inwc_0p5")
    answer = _from_table(table, size, length * table.drop / conditions.drop, "scaled")
    if isinstance(answer, Unserved) and answer.reason == "length":
        return Unserved("length", answer.limit * conditions.drop / table.drop, answer.source)
    return answer


def _code_equation(bore: float, length: float, conditions: Conditions) -> Answer:
    low = conditions.inlet_gauge < code.LOW_PRESSURE_LIMIT
    value = _equation(bore, length, conditions.inlet_gauge, conditions.drop)
    source = Citation(f"IFGC 2018 402.4, equation {'4-1' if low else '4-2'} in the form of its appendix A", "memory")
    return Answer(_rounded_down(value), "code-equation", source, equation=value)


def _equation(bore: float, length: float, inlet_gauge: float, drop: float) -> float:
    """What the code's equation gives, in W."""
    if inlet_gauge < code.LOW_PRESSURE_LIMIT:
        return code.low_pressure_capacity(bore, length, drop)
    return code.high_pressure_capacity(bore, length, inlet_gauge, inlet_gauge - drop)


def _calculated(size: Size, bore: float, length: float, conditions: Conditions) -> Answer:
    inlet_absolute = conditions.inlet_gauge + conditions.absolute_air
    gas = lpg.gas(conditions.fuel, GAS_TEMPERATURE, inlet_absolute)
    roughness = tubing.material(size.material).roughness
    assert roughness is not None, "a material with a bore has a roughness"
    mass = flow.capacity(bore, length, roughness, inlet_absolute, conditions.drop, gas)
    value = lpg.load_carried(mass, lpg.gross_heating_value(conditions.fuel))
    source = Citation("Darcy-Weisbach with Colebrook-White friction. No code table for these conditions", "computed")
    return Answer(_rounded_down(value), "calculated", source)


def _rounded_down(watts: float) -> float:
    """Three significant digits, downwards."""
    if watts <= 0:
        return 0.0
    place = 10.0 ** (math.floor(math.log10(watts)) - 2)
    return math.floor(watts / place * (1 + 1e-12)) * place


def ways_to_read(build: Build, readings: Sequence[Size], region: Region) -> str:
    """The readings of an ambiguous size with what each carries over this build's longest path."""
    length = longest_path(build)
    usual = region.supply.sizing
    delivered = float(build.spec.regulator.outlet)
    conditions = Conditions(
        inlet_gauge=float(usual.inlet) if usual.inlet is not None else delivered,
        drop=usual.drop_allowance(delivered),
        by_tables=usual.method == "tables",
        absolute_air=lpg.atmosphere_absolute(float(build.spec.altitude or 0.0)),
        fuel=lpg.Fuel(min(1.0, max(0.0, float(build.spec.gas.propane)))),
    )
    system = cast(units.System, build.spec.units or region.units)
    parts = []
    for size in readings:
        answer = look_up(size, length, conditions)
        carries = units.show(answer.value, "load", system) if isinstance(answer, Answer) else "not in the table"
        parts.append(f"{size.label}: {carries}")
    return f"over {units.show(length, 'run length', system)} they carry " + "; ".join(parts)


def longest_path(build: Build) -> float:
    """The longest way from the first regulator to an end of the tree, in m."""
    far = [0.0] * len(build.nodes)
    for i, node in enumerate(build.nodes):
        own = float(node.part.length) if isinstance(node.part, Run) else 0.0
        far[i] = own + (far[node.parent] if node.parent >= 0 else 0.0)
    return max(far, default=0.0)


# --- the least size that carries a load -------------------------------------------------------------------------------


class LeastSize(Struct, frozen=True):
    """The least size of one material and type, of corrugated tubing of one maker's series, that carries a load.

    `size` and `answer` are null where none of those listed does, by what is known of them. `permission` is what the region
    says of the material, null where no region is asked about. `only_buried`: it is for the ground only.
    """

    material: str
    type: str | None
    series: str | None
    only_buried: bool
    size: Size | None
    answer: Answer | None
    permission: Permission | None

    @property
    def words(self) -> str:
        """The material with its type and series."""
        kind = f" type {self.type}" if self.type else ""
        series = f" of the series {self.series}" if self.series else ""
        return f"{self.material}{kind}{series}{', in the ground only' if self.only_buried else ''}"


def least_sizes(
    load: float,
    length: float,
    conditions: Conditions,
    materials: Sequence[tuple[str, str | None]],
    region: Region | None = None,
) -> tuple[LeastSize, ...]:
    """For each of `materials`, a name and a type, the least size that carries `load` (W) over the path `length` (m).

    With a region those that are usual there come first, and those that it never allows are left out unless they are the
    only ones asked about. Without code tables of its own a material is calculated.
    """
    found = [least for name, kind in materials for least in _of(load, length, conditions, name, kind, region)]
    allowed = [least for least in found if least.permission is None or least.permission.answer != "never"]
    return tuple(
        sorted(allowed or found, key=lambda least: least.permission.order if least.permission else (False, 99))
    )


def _of(
    load: float, length: float, conditions: Conditions, name: str, kind: str | None, region: Region | None
) -> Iterator[LeastSize]:
    of = tubing.material(name)
    said = permission(name, kind, region.practice, region.practice.setting) if region is not None else None
    here = of_material(conditions, name)
    listed = tubing.offered(name, kind, region.practice.rows) if region is not None else tubing.sizes(name, kind)
    every: tuple[Series | None, ...] = tubing.series() if of.corrugated else (None,)
    for series in every:
        sizes = (size for size in listed if series is None or size.id in series.sizes)
        size, answer = next(_carrying(sizes, load, length, here), (None, None))
        yield LeastSize(name, kind, series.label if series is not None else None, of.only_buried, size, answer, said)


def _carrying(
    sizes: Iterable[Size], load: float, length: float, conditions: Conditions
) -> Iterator[tuple[Size, Answer]]:
    for size in sizes:
        answer = look_up(size, length, conditions)
        if isinstance(answer, Answer) and answer.value >= load:
            yield size, answer


def of_material(conditions: Conditions, name: str) -> Conditions:
    """The conditions for one material: calculated where no code table is for it."""
    return replace(conditions, by_tables=conditions.by_tables and tables.has_tables(name))
