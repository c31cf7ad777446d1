"""The published capacity tables, read from `tables/*.yaml` into SI."""

from __future__ import annotations

from functools import cache
from typing import Any

from gasdoc.catalog import files
from gasdoc.engineering.constants import KBTU_PER_HOUR
from gasdoc.engineering.supply.capacity import CapacityTable, Fit, rounding_half_width
from gasdoc.units import convert, parse

_MATCH = 0.01  # a supply within this share of a table's conditions is the one the table was printed for


@cache
def table(table_id: str) -> CapacityTable:
    """The table of that id, in SI. Raises FileNotFoundError for an id without a file."""
    return read_table(files.load(f"tables/{table_id}.yaml"))


@cache
def tables_for(material: str, inlet_gauge: float, drop: float) -> tuple[CapacityTable, ...]:
    """The tables printed for `material` at an inlet pressure (Pa gauge) and a pressure drop (Pa), both within 1 %.

    Empty where no table serves them. A table's `sizes` are the ids of `gasdoc.catalog.tubing` for its material.
    """
    return tuple(
        table(row["id"])
        for row in files.load("table_index.yaml")
        if row["material"] == material
        and _near(inlet_gauge, parse(row["inlet"], "pressure"))
        and _near(drop, parse(row["drop"], "pressure"))
    )


def has_tables(material: str) -> bool:
    """Whether any table is printed for the material."""
    return any(row["material"] == material for row in files.load("table_index.yaml"))


def read_table(raw: dict[str, Any]) -> CapacityTable:
    """A table from a data file's content: lengths in ft and cells in thousand Btu/h, as printed. Raises KeyError or
    ValueError when the file is not such a table."""
    columns, rows = raw["columns"], raw["rows"]
    sizes = tuple(str(column["size"]) for column in columns)
    inch = parse("1 in", "length")
    return CapacityTable(
        id=raw["id"],
        title=raw["title"],
        source="{code} {edition}, Table {table}".format(**raw["source"]),
        confirmed=raw["confirmed"],
        notes=tuple(raw["notes"]),
        material=raw["material"],
        sizes=sizes,
        bores=tuple(column["bore_in"] * inch if "bore_in" in column else None for column in columns),
        lengths=tuple(_feet(length) for length in rows),
        cells=tuple(tuple(None if c is None else c * KBTU_PER_HOUR for c in row) for row in rows.values()),
        half_widths=tuple(
            tuple(0.0 if c is None else rounding_half_width(c) * KBTU_PER_HOUR for c in row) for row in rows.values()
        ),
        inlet_gauge=float(parse(raw["conditions"]["inlet"], "pressure")),
        drop=float(parse(raw["conditions"]["drop"], "pressure")),
        law=raw["law"],
        fits=tuple(_fit(size, raw["fits"]) for size in sizes) if "fits" in raw else (),
    )


def _fit(size: str, fits: dict[str, Any]) -> Fit:
    row, small = fits["by_size"][size], fits["small_sizes"]
    short = int(size.removeprefix("EHD ")) < small["under_ehd"]
    return Fit(
        a=row["a"] * KBTU_PER_HOUR * convert(1.0, "length", "ft") ** -row["b"],
        b=row["b"],
        worst=row["max_error_percent"] / 100,
        reach=_feet(small["reach_ft"]) if short else None,
    )


def _feet(length: float) -> float:
    return float(parse(f"{length} ft", "length"))


def _near(value: float, printed: float) -> bool:
    return abs(value - printed) <= _MATCH * printed
