"""The published capacity tables, read from `tables/*.yaml` into SI."""

from functools import cache
from typing import Annotated, Literal

from gasdoc.catalog.rows import Confirmed, Positive, Pressure, hold_full, read
from gasdoc.data import Each, Entry, Some
from gasdoc.engineering.constants import FOOT, INCH, KBTU_PER_HOUR
from gasdoc.engineering.supply.capacity import CapacityTable, Fit, rounding_half_width
from gasdoc.scalars import Bounds, problem
from gasdoc.units import convert

_MATCH = 0.01  # a supply within this share of a table's conditions is the one the table was printed for


class _Source(Entry, frozen=True):
    code: str
    edition: Annotated[int, Bounds(ge=1900)]
    table: str


class _Units(Entry, frozen=True):
    length: Literal["ft"]
    capacity: Literal["thousand Btu/h"]


class _Conditions(Entry, frozen=True):
    gas: str
    specific_gravity: Positive
    inlet: Pressure
    drop: Pressure


class _Column(Entry, frozen=True):
    """A size, with what else the print says of it."""

    size: str
    bore_in: Positive | None = None
    od_in: Positive | None = None
    acr_size: str | None = None
    nominal: str | None = None
    sdr: Positive | None = None


class _SmallSizes(Entry, frozen=True):
    under_ehd: Positive
    reach_ft: Positive


class _FitRow(Entry, frozen=True):
    a: Positive
    b: Positive
    cells: Positive
    median_error_percent: Annotated[float, Bounds(ge=0)]
    max_error_percent: Annotated[float, Bounds(ge=0)]


class _Fits(Entry, frozen=True):
    confirmed: Confirmed
    small_sizes: _SmallSizes
    by_size: Each[_FitRow]


class _Table(Entry, frozen=True):
    """A table as printed: lengths in ft, cells in thousand Btu/h."""

    id: str
    title: str
    material: str
    law: Literal["low", "high", "corrugated"]
    source: _Source
    confirmed: Confirmed
    read: Some[str]
    units: _Units
    conditions: _Conditions
    notes: Some[str]
    columns: Some[_Column]
    rows: Annotated[dict[Positive, tuple[Annotated[int, Bounds(gt=0)] | None, ...]], Bounds(min_length=1)]
    fits: _Fits | None = None

    def _checked(self) -> None:
        hold_full(self.columns, self.rows, "rows")
        for k, column in enumerate(self.columns):
            if self.fits is not None and column.size not in self.fits.by_size:
                at = ("columns", k)
                raise problem("data-table", f"'{column.size}' has no fit", "add it to 'fits'", at=at)
            if (self.law == "corrugated") is (column.bore_in is not None):
                at = ("columns", k)
                hint = "a size of corrugated tubing has none, and any other has one"
                raise problem("data-table", f"'{column.size}': is there a bore?", hint, at=at)


class _Row(Entry, frozen=True):
    id: str
    material: str
    inlet: Pressure
    drop: Pressure


class _Index(Entry, frozen=True):
    tables: Some[_Row]


@cache
def table(table_id: str) -> CapacityTable:
    """The table of that id, in SI. Raises FileNotFoundError for an id without a file."""
    printed = read(f"tables/{table_id}.yaml", _Table)
    sizes = tuple(column.size for column in printed.columns)
    rows = tuple(printed.rows.values())
    return CapacityTable(
        id=printed.id,
        title=printed.title,
        source=f"{printed.source.code} {printed.source.edition}, Table {printed.source.table}",
        confirmed=printed.confirmed,
        notes=printed.notes,
        material=printed.material,
        sizes=sizes,
        bores=tuple(None if column.bore_in is None else column.bore_in * INCH for column in printed.columns),
        lengths=tuple(_feet(length) for length in printed.rows),
        cells=tuple(tuple(None if cell is None else cell * KBTU_PER_HOUR for cell in row) for row in rows),
        half_widths=tuple(
            tuple(0.0 if cell is None else rounding_half_width(cell) * KBTU_PER_HOUR for cell in row) for row in rows
        ),
        inlet_gauge=float(printed.conditions.inlet),
        drop=float(printed.conditions.drop),
        law=printed.law,
        fits=tuple(_fit(size, printed.fits) for size in sizes) if printed.fits is not None else (),
    )


@cache
def tables_for(material: str, inlet_gauge: float, drop: float) -> tuple[CapacityTable, ...]:
    """The tables printed for `material` at an inlet pressure (Pa gauge) and a pressure drop (Pa), both within 1 %.

    Empty where no table serves them. A table's `sizes` are the ids of `gasdoc.catalog.tubing` for its material.
    """
    return tuple(
        table(row.id)
        for row in read("table_index.yaml", _Index).tables
        if row.material == material and _near(inlet_gauge, row.inlet) and _near(drop, row.drop)
    )


def has_tables(material: str) -> bool:
    """Whether any table is printed for the material."""
    return any(row.material == material for row in read("table_index.yaml", _Index).tables)


def _fit(size: str, fits: _Fits) -> Fit:
    row, small = fits.by_size[size], fits.small_sizes
    return Fit(
        a=row.a * KBTU_PER_HOUR * convert(1.0, "length", "ft") ** -row.b,
        b=row.b,
        worst=row.max_error_percent / 100,
        reach=_feet(small.reach_ft) if int(size.removeprefix("EHD ")) < small.under_ehd else None,
    )


def _feet(length: float) -> float:
    return length * FOOT


def _near(value: float, printed: float) -> bool:
    return abs(value - printed) <= _MATCH * printed
