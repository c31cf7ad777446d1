"""What a pipe of a given size and length carries at a given pressure drop: the fuel gas codes' equations and tables.

The equations are those of IFGC 402.4 (NFPA 54 has the same). The exponents in the codes are rounded, so their two
forms do not agree exactly; this is the flow-from-bore form, which gives 0.4 to 0.8 % less capacity than the other.
They are written in feet, inches, inches of water and psia, so the functions convert inside: SI comes in and goes out.

Confirmed: the variables, their units, the specific gravity and viscosity behind Cr (read once, appendix text). The
coefficients Cr and Y were read in IRC 2018 Table G2413.4; the exponents are from memory. The set reproduces 600 printed
cells with a largest error under 1 % (tests/reference/test_capacity_tables.py).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.constants import BTU, CUBIC_FOOT, FOOT, INCH, INCH_OF_WATER, KBTU_PER_HOUR, PSI
from gasdoc.quantities import Known, Pascal, Ratio

ATMOSPHERE: Annotated[
    Pascal,
    Known(
        "atmosphere that the codes add to a gauge pressure: 14.7 psi",
        "IFGC 402.4, definitions of P1 and P2, in its appendix text",
        "once",
    ),
] = 14.7 * PSI

LOW_PRESSURE_LIMIT: Annotated[
    Pascal,
    Known(
        "inlet pressure under which the codes' low-pressure equation applies: 1.5 psi",
        "IFGC 402.4, headings of equations 4-1 and 4-2, in its appendix text",
        "once",
    ),
] = 1.5 * PSI

_EXPONENTS = "IFGC appendix A, exponents from memory; with them 600 printed cells come out within 1 %"
_LOW: Annotated[
    float,
    "ft3/h",
    Known("low-pressure equation: flow at 1 in of bore and 1 in of water for each ft", _EXPONENTS, "memory"),
] = 2313.0
_HIGH: Annotated[
    float,
    "ft3/h",
    Known("high-pressure equation: flow at 1 in of bore and 1 psia2 for each ft", _EXPONENTS, "memory"),
] = 2237.0
_BORE_POWER: Annotated[
    Ratio, Known("power of the bore that capacity goes with, in both of the codes' equations", _EXPONENTS, "memory")
] = 2.623
DROP_POWER: Annotated[
    Ratio, Known("power of the drop that capacity goes with, in both of the codes' equations", _EXPONENTS, "memory")
] = 0.541

_ALLOWANCE = 0.01  # the equation's own largest error against sound cells is under this share
_SAME_LENGTH = 1e-9  # lengths closer than this share are one length written in two units


class CodeGas(Struct, frozen=True):
    """A gas in the sizing equations: Cr and Y of IFGC Table 402.4; heating value in J/m3 (60 degF, 30 in. Hg)."""

    cr: float
    y: float
    heating_value: float


PROPANE: Annotated[
    CodeGas,
    Known(
        "undiluted propane, specific gravity 1.50, in the codes' equations; 2,488 Btu/ft3 after vaporising",
        "IRC 2018 Table G2413.4 for Cr and Y; the LP-gas property table of NFPA 58, read in two places, for the heat",
        "once",
    ),
] = CodeGas(cr=1.2462, y=0.9910, heating_value=2488 * BTU / CUBIC_FOOT)
"""The propane capacity tables rest on it."""


def low_pressure_capacity(bore: float, length: float, drop: float, gas: CodeGas = PROPANE) -> float:
    """The power, in W, that gas through `bore` (m) over `length` (m) carries at a pressure drop of `drop` (Pa).

    Q = 2313 D^2.623 (dH / (Cr L))^0.541, ft3/h, in., in. of water, ft. Source: IFGC 2018 402.4 equation 4-1, in the
    form of its appendix A. Valid for inlet pressures under 1.5 psi. Raises ValueError for a value that is not positive.

    IFGC 2018 Table 402.4(28) prints 608 thousand Btu/h for 3/4 in. schedule 40 pipe (0.824 in.) at 10 ft.
    >>> round(low_pressure_capacity(0.824 * INCH, 10 * FOOT, 0.5 * INCH_OF_WATER) / KBTU_PER_HOUR)
    608
    """
    _positive(bore=bore, length=length, drop=drop)
    return _carried(_LOW, bore, drop / INCH_OF_WATER / (gas.cr * length / FOOT), gas)


def low_pressure_drop(load: float, bore: float, length: float, gas: CodeGas = PROPANE) -> float:
    """The pressure drop, in Pa, of gas for `load` (W) through `bore` (m) over `length` (m): equation 4-1 solved for dH.

    Source and validity: see `low_pressure_capacity`, whose inverse this is. Raises ValueError for a negative load, or
    a bore or length that is not positive.

    >>> load = low_pressure_capacity(0.824 * INCH, 10 * FOOT, 0.5 * INCH_OF_WATER)
    >>> round(low_pressure_drop(load, 0.824 * INCH, 10 * FOOT) / INCH_OF_WATER, 9)
    0.5
    """
    return gas.cr * (length / FOOT) * _reduced(load, bore, length, _LOW, gas) * INCH_OF_WATER


def high_pressure_capacity(
    bore: float, length: float, inlet_gauge: float, outlet_gauge: float, gas: CodeGas = PROPANE
) -> float:
    """The power, in W, that gas through `bore` (m) over `length` (m) carries between two pressures (Pa gauge).

    Q = 2237 D^2.623 ((P1^2 - P2^2) Y / (Cr L))^0.541, ft3/h, in., psia, ft. Source: IFGC 2018 402.4 equation 4-2, in
    the form of its appendix A. Valid for inlet pressures of 1.5 psi and over; raises ValueError under that, for an
    outlet pressure not under the inlet pressure, and for a bore or length that is not positive.

    IFGC 2018 Table 402.4(29) prints 513 thousand Btu/h for 1/4 in. type K copper (0.305 in.) at 10 ft.
    >>> carried = high_pressure_capacity(0.305 * INCH, 10 * FOOT, 10 * PSI, 9 * PSI)
    >>> round(carried / KBTU_PER_HOUR)
    512
    """
    _positive(bore=bore, length=length)
    if not inlet_gauge >= LOW_PRESSURE_LIMIT * (1 - _SAME_LENGTH):
        raise ValueError(f"the high-pressure equation starts at 1.5 psi, not {inlet_gauge / PSI:g} psi")
    if not 0 <= outlet_gauge < inlet_gauge:
        raise ValueError("the outlet pressure must stand between 0 and the inlet pressure")
    squares = ((inlet_gauge + ATMOSPHERE) ** 2 - (outlet_gauge + ATMOSPHERE) ** 2) / PSI**2
    return _carried(_HIGH, bore, squares * gas.y / (gas.cr * length / FOOT), gas)


def high_pressure_squared_drop(load: float, bore: float, length: float, gas: CodeGas = PROPANE) -> float:
    """P1^2 - P2^2, in Pa2 of absolute pressures, for `load` (W) through `bore` (m) over `length` (m).

    This is what adds up along a path of several segments. Equation 4-2 solved for the squares; source and validity:
    see `high_pressure_capacity`. Raises ValueError for a negative load, or a bore or length that is not positive.

    >>> carried = high_pressure_capacity(0.305 * INCH, 10 * FOOT, 10 * PSI, 9 * PSI)
    >>> round(high_pressure_squared_drop(carried, 0.305 * INCH, 10 * FOOT) / PSI**2, 6)  # 24.7^2 - 23.7^2
    48.4
    """
    return gas.cr * (length / FOOT) / gas.y * _reduced(load, bore, length, _HIGH, gas) * PSI**2


def _watt_per_cubic_foot_per_hour(gas: CodeGas) -> float:
    return gas.heating_value * CUBIC_FOOT / 3600


def _carried(coefficient: float, bore: float, reduced: float, gas: CodeGas) -> float:
    """W, from either equation: `reduced` is the term it raises to 0.541."""
    flow = coefficient * math.pow(bore / INCH, _BORE_POWER) * math.pow(reduced, DROP_POWER)
    return flow * _watt_per_cubic_foot_per_hour(gas)


def _reduced(load: float, bore: float, length: float, coefficient: float, gas: CodeGas) -> float:
    """The term raised to 0.541 in either equation, from the flow: the inverse of `_carried`."""
    _positive(bore=bore, length=length)
    if not load >= 0:
        raise ValueError(f"load must not be negative: {load}")
    flow = load / _watt_per_cubic_foot_per_hour(gas)
    return math.pow(flow / (coefficient * math.pow(bore / INCH, _BORE_POWER)), 1 / DROP_POWER)


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (value > 0 and math.isfinite(value)):
            raise ValueError(f"{name} must be a positive number: {value}")


# --- published tables -------------------------------------------------------------------------------------------------

Law = Literal["low", "high", "corrugated"]
Basis = Literal["cell", "equation-below-cell", "equation", "fit", "neighbour"]


class Fit(Struct, frozen=True):
    """A power law through the known cells of one size: capacity in W = a (length in m)^-b.

    `worst` is its largest error on those cells, as a share. `reach` (m), where given, is the length past which it is
    not carried beyond the size's last known cell.
    """

    a: float
    b: float
    worst: float
    reach: float | None = None

    def at(self, length: float) -> float:
        """The capacity, in W, at `length` (m).

        >>> Fit(40e3, 0.5, 0.01).at(4.0)
        20000.0
        """
        return self.a * math.pow(length, -self.b)


class CapacityTable(Struct, frozen=True, eq=False):
    """One published capacity table in SI; rows are run lengths, columns are sizes in the order of capacity.

    `lengths` in m, ascending; `cells[row][size]` in W, None where the cell is not known here; `half_widths` in W, how
    far rounding may have moved each cell; `inlet_gauge` and `drop` in Pa. `bores` (m) serve the laws "low" and "high",
    `fits` the law "corrugated". Raises ValueError when the parts do not fit together.
    """

    id: str
    title: str
    source: str
    confirmed: str
    notes: tuple[str, ...]
    material: str
    sizes: tuple[str, ...]
    bores: tuple[float | None, ...]
    lengths: tuple[float, ...]
    cells: tuple[tuple[float | None, ...], ...]
    half_widths: tuple[tuple[float, ...], ...]
    inlet_gauge: float
    drop: float
    law: Law
    fits: tuple[Fit, ...] = ()

    def __post_init__(self) -> None:
        count = len(self.sizes)
        if not self.lengths or any(b <= a for a, b in zip(self.lengths, self.lengths[1:], strict=False)):
            raise ValueError(f"{self.id}: the lengths must ascend")
        for grid in (self.cells, self.half_widths):
            if len(grid) != len(self.lengths) or any(len(row) != count for row in grid):
                raise ValueError(f"{self.id}: every row needs one entry for each of the {count} sizes")
        if len(self.bores) != count:
            raise ValueError(f"{self.id}: every size needs a bore, or None")
        if self.law == "corrugated" and len(self.fits) != count:
            raise ValueError(f"{self.id}: every corrugated size needs a fit")
        if self.law != "corrugated" and None in self.bores:
            raise ValueError(f"{self.id}: the equation needs a bore for every size")


class Capacity(Struct, frozen=True):
    """The capacity of one size at one length, and what it rests on.

    `value` in W is the one to use; `row_length` (m) the printed row read; `cell` what is printed there, if known;
    `equation` what the code's equation gives at that row, `fit` the power law of a corrugated size, both before
    rounding and lowering. `basis` says where `value` comes from:

    "cell": the printed cell. "equation-below-cell": the equation, because the cell stands above it by more than its
    rounding and 1 %. "equation": the cell is not known here. "fit": the same for corrugated tubing, lowered by
    `fit_error`, the fit's worst error as a share. "neighbour": lowered to a shorter row or a larger size.
    """

    value: float
    row_length: float
    cell: float | None
    equation: float | None
    fit: float | None
    fit_error: float | None
    basis: Basis


class OutsideTable(ValueError):
    """A length or size the table does not cover. `reason` is "length" (`limit`: the longest length served, in m) or
    "size" (`limit`: the number of sizes)."""

    def __init__(self, reason: Literal["length", "size"], limit: float) -> None:
        self.reason = reason
        self.limit = limit
        super().__init__(reason, limit)

    def __str__(self) -> str:
        if self.reason == "size":
            return f"the table has {self.limit:g} sizes"
        return f"the table serves this size up to {self.limit:.6g} m"


def rounding_half_width(printed: int) -> float:
    """Half the last significant digit of a printed cell, in the units of the cell.

    The tables print three significant digits, or every digit of a whole number: 20 and 291 are known to 0.5, 1240 to
    5, 1638 to 0.5, 176000 to 500. Raises ValueError for a cell that is not positive.

    >>> [rounding_half_width(cell) for cell in (20, 291, 1240, 1638, 176_000)]
    [0.5, 0.5, 5.0, 0.5, 500.0]
    """
    if printed <= 0:
        raise ValueError(f"a capacity must be positive: {printed}")
    place = _third_digit(printed)
    while printed % place:
        place //= 10
    return place / 2


def capacity(table: CapacityTable, size_index: int, length: float) -> Capacity:
    """The capacity to use for one size of a published table at a run length (m).

    The row is the printed one of that length, or the next longer; a length under the first row uses the first. The
    cell stands unless the code's equation is lower by more than the cell's rounding plus 1 %; then the equation is
    used. (IFGC 2018 Table 402.4(28) has two rows printed under too long a length; this finds them.) A cell not known
    here uses the equation at that row; for corrugated tubing the fit, lowered by its worst error, kept between the
    known cells of the next shorter and next longer rows. Computed values are rounded down as the tables print. The
    value never rises with length and never falls with size.

    Raises OutsideTable past the printed rows and columns, and where a corrugated size's fit has no reach; ValueError
    for a length that is negative or not a number.

    >>> table = CapacityTable(
    ...     "made-up",
    ...     "two rows of one size",
    ...     "",
    ...     "computed",
    ...     (),
    ...     "steel",
    ...     ("1/2",),
    ...     (0.0158,),
    ...     (3.0, 6.0),
    ...     ((50e3,), (30e3,)),
    ...     ((150.0,), (150.0,)),
    ...     2740.0,
    ...     124.5,
    ...     "low",
    ... )
    >>> capacity(table, 0, 4.5).row_length, capacity(table, 0, 4.5).basis
    (6.0, 'cell')
    """
    if not 0 <= length < math.inf:
        raise ValueError(f"a length must be a number, not negative: {length}")
    if not 0 <= size_index < len(table.sizes):
        raise OutsideTable("size", len(table.sizes))
    if length > table.lengths[-1] * (1 + _SAME_LENGTH):
        raise OutsideTable("length", table.lengths[-1])
    row = next(i for i, printed in enumerate(table.lengths) if length <= printed * (1 + _SAME_LENGTH))
    grid = _grid(table)
    found = grid[row][size_index]
    if found is None:
        served = [table.lengths[i] for i in range(row) if grid[i][size_index] is not None]
        raise OutsideTable("length", max(served, default=0.0))
    return found


@lru_cache(maxsize=64)
def _grid(table: CapacityTable) -> tuple[tuple[Capacity | None, ...], ...]:
    """The capacity of every row and size, worked out once a table; None where nothing may be said."""
    entry = _corrugated if table.law == "corrugated" else _smooth
    grid: list[list[Capacity | None]] = []
    for row in range(len(table.lengths)):
        grid.append([entry(table, row, size) for size in range(len(table.sizes))])
        for size in reversed(range(len(table.sizes))):
            above = grid[row - 1][size] if row else None
            larger = next((c for c in grid[row][size + 1 :] if c is not None), None)
            grid[row][size] = _not_above(grid[row][size], above, larger)
    return tuple(tuple(entries) for entries in grid)


def _not_above(entry: Capacity | None, *neighbours: Capacity | None) -> Capacity | None:
    """The entry, lowered to the lowest of the neighbours that must not be smaller than it."""
    limit = min((n.value for n in neighbours if n is not None), default=math.inf)
    if entry is None or entry.value <= limit:
        return entry
    return Capacity(limit, entry.row_length, entry.cell, entry.equation, entry.fit, entry.fit_error, "neighbour")


def _smooth(table: CapacityTable, row: int, size: int) -> Capacity:
    length, cell, bore = table.lengths[row], table.cells[row][size], table.bores[size]
    assert bore is not None  # CapacityTable holds that
    if table.law == "low":
        equation = low_pressure_capacity(bore, length, table.drop)
    else:
        equation = high_pressure_capacity(bore, length, table.inlet_gauge, table.inlet_gauge - table.drop)
    if cell is None:
        return Capacity(_rounded_down(equation), length, None, equation, None, None, "equation")
    if equation < cell - table.half_widths[row][size] - _ALLOWANCE * cell:
        return Capacity(_rounded_down(equation), length, cell, equation, None, None, "equation-below-cell")
    return Capacity(cell, length, cell, equation, None, None, "cell")


def _corrugated(table: CapacityTable, row: int, size: int) -> Capacity | None:
    length, cell, fit = table.lengths[row], table.cells[row][size], table.fits[size]
    fitted = fit.at(length)
    if cell is not None:
        return Capacity(cell, length, cell, None, fitted, fit.worst, "cell")
    longer = [c for later in table.cells[row + 1 :] if (c := later[size]) is not None]
    if not longer and fit.reach is not None and length > fit.reach * (1 + _SAME_LENGTH):
        return None
    value = _rounded_down(fitted * (1 - fit.worst))
    value = max([value, *longer[:1]])  # _grid keeps it from standing above a shorter row
    return Capacity(value, length, None, None, fitted, fit.worst, "fit")


def _rounded_down(watts: float) -> float:
    """W, rounded down to what the tables print: three significant digits of whole thousands of Btu/h."""
    printed = watts / KBTU_PER_HOUR * (1 + 1e-12)  # a value that is whole but for the last bit stays whole
    place = _third_digit(int(printed))
    return math.floor(printed / place) * place * KBTU_PER_HOUR


def _third_digit(whole: int) -> int:
    """The place value of the third digit of a whole number, at least 1: 10 for 1240, 1 for 45."""
    return int("1".ljust(len(str(whole)) - 2, "0"))
