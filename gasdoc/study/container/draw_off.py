"""The trade's table of draw-off for European cylinders, beside the heat balance; the more careful of both is used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from gasdoc import units
from gasdoc.catalog import containers as catalog
from gasdoc.catalog.containers import ContainerKind
from gasdoc.engineering.container.burning import Period
from gasdoc.engineering.container.draw_off import Pattern, highest_loads
from gasdoc.quantities import Kilogram, KilogramPerSecond, Shown, Watt
from gasdoc.source import Citation
from gasdoc.study.findings import Finding, warning

FAMILIES = ("eu-cylinder", "eu-refillable")
"""The families of kinds the table is for: steel bottles of the same sizes."""

PATTERNS: dict[Pattern, str] = {
    "uninterrupted": "without interruption",
    "half-time-off": "with half the time off",
    "bursts": "in bursts of 20 min",
}
"""The ways of drawing in words, in the table's order."""


class DrawRow(Struct, frozen=True):
    """One way of drawing: the mass `flow` (kg/s) and `load` (W, gross) all feeding cylinders give by the table, and the highest
    load the cold day `asks` in it."""

    pattern: Pattern
    flow: KilogramPerSecond
    load: Watt
    asks: Watt

    @property
    def enough(self) -> Shown[bool]:
        """Whether the table gives what is asked."""
        return self.asks <= self.load * (1 + 1e-9)


class DrawTable(Struct, frozen=True):
    """The table for a build: the row of a `cylinder` of so many kg, for `feeding` cylinders at once."""

    cylinder: Kilogram
    feeding: int
    rows: tuple[DrawRow, ...]
    citation: Citation
    note: str

    @property
    def enough(self) -> Shown[bool]:
        """Whether the table gives what the day asks, in every way of drawing."""
        return all(row.enough for row in self.rows)


def draw_table(
    kind: ContainerKind, fuel_mass: float, feeding: int, periods: Sequence[Period], heating_value: float
) -> DrawTable | None:
    """The table for `feeding` cylinders of `fuel_mass` kg; None for a kind it is not for. `heating_value` in J/kg."""
    steel_propane = kind.family in FAMILIES and kind.gas == "propane" and kind.material == "steel"
    found = catalog.draw_rates(fuel_mass) if steel_propane else None
    if found is None:
        return None
    cylinder, flows = found
    asked = highest_loads(periods)
    rows = tuple(
        DrawRow(pattern, flow * feeding, flow * feeding * heating_value, asked[pattern])
        for pattern, flow in zip(PATTERNS, flows, strict=True)
    )
    return DrawTable(cylinder, feeding, rows, *catalog.draw_source())


def table_findings(table: DrawTable, shown: units.System) -> Iterator[Finding]:
    """What the day asks beyond the table."""
    over = [row for row in table.rows if not row.enough]
    if over:
        words = "; ".join(
            f"{PATTERNS[row.pattern]} {units.show(row.asks, 'load', shown)} is asked, and the table gives "
            f"{units.show(row.load, 'load', shown)} ({row.flow * 3600:.1f} kg/h)"
            for row in over
        )
        yield warning(
            "draw-above-table",
            "container",
            ("container",),
            f"The trade's table of draw-off gives less than a cold day asks: {words}.",
            "The table is a rule of thumb that knows neither air nor fill. The more careful of it and the heat balance counts.",
            "Draw from more cylinders at once, use larger ones, or burn less at a time.",
            str(table.citation),
        )
