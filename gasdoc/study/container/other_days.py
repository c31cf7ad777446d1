"""The coldest day at other fills, in other air and with one container more; what the container gives at a moment."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from gasdoc import units
from gasdoc.engineering.container.vaporisation import GasRate, Manifold
from gasdoc.quantities import Kelvin, Ratio, Watt, WattPerSquareMetreKelvin
from gasdoc.study.container.cold_day import FILLS, GRID_FILLS, HEAT_WORDS, Cell, Cold, Heat, SimulatedDay
from gasdoc.study.container.coldest_days import Usable, usable
from gasdoc.study.facts import Installation

_FAHRENHEIT = ("-20 degF", "0 degF", "20 degF", "40 degF", "60 degF")
_CELSIUS = ("-30 degC", "-20 degC", "-10 degC", "0 degC", "10 degC")


_NEAR = 2.0
"""K: a step this near the coldest air stated is left out beside it."""


class More(Struct, frozen=True):
    """What another way of joining containers gives on the coldest day: its runs at every fill, and the largest continuous load,
    W, at one fifth full."""

    number: int
    manifold: Manifold
    runs: tuple[SimulatedDay, ...]
    largest: Watt


def air_steps(coldest: float | None, shown: units.System) -> tuple[float, ...]:
    """Air temperatures for tables, K, rising: round ones and the coldest stated."""
    steps = [float(units.parse(text, "temperature")) for text in (_FAHRENHEIT if shown == "us" else _CELSIUS)]
    kept = [t for t in steps if coldest is None or abs(t - coldest) > _NEAR]
    return tuple(sorted(kept if coldest is None else [*kept, coldest]))


def grid(cold: Cold, airs: Sequence[float]) -> Iterator[tuple[Cell, ...]]:
    """The day at every air temperature (rows, in rising order) and fill (GRID_FILLS).

    Where a colder and emptier day lasts, a warmer and fuller one does, and is not worked out again (a test holds the
    simulation to that).
    """
    known = {(run.air, run.fill): Cell(run.air, run.fill, run.short_from, run.reason) for run in days_at(cold)}
    lasting: list[tuple[float, float]] = []
    for air in sorted(airs):
        cells: list[Cell] = []
        for fill in reversed(GRID_FILLS):
            if any(air >= a and fill >= f for a, f in lasting):
                cells.insert(0, Cell(air, fill, None, None))
                continue
            cell = known.get((air, fill)) or cold.rig.short(air, fill)
            cells.insert(0, cell)
            if cell.enough:
                lasting.append((air, fill))
        yield tuple(cells)


def days_at(cold: Cold) -> tuple[SimulatedDay, ...]:
    """The coldest day at all of FILLS; empty where there is none."""
    if cold.coldest is None or not cold.rig.periods:
        return ()
    known = {run.fill: run for run in cold.runs}
    return tuple(known.get(fill) or cold.rig.run(cold.coldest, fill) for fill in FILLS)


def one_more(cold: Cold) -> tuple[More, ...]:
    """The coldest day as it is, and with one container more: by changeover, and in parallel."""
    if cold.coldest is None or not cold.rig.periods:
        return ()
    rig, found = cold.rig, [More(cold.rig.number, cold.rig.manifold, days_at(cold), cold.largest or 0.0)]
    joined: tuple[Manifold, ...] = ("changeover", "parallel")
    for manifold in joined:
        other = rig.joined(rig.number + 1, manifold)
        runs = tuple(other.run(cold.coldest, fill) for fill in FILLS)
        largest = (cold.largest or 0.0) / rig.feeding * other.feeding
        found.append(More(other.number, manifold, runs, largest))
    return tuple(found)


class SupplyAt(Struct, frozen=True):
    """What the container gives at a moment, in air of `air` and filled to the share `fill`."""

    air: Kelvin
    fill: Ratio
    supply: GasRate


class HeatEnd(Struct, frozen=True):
    """One end of the heat that gets in at the coldest air: its coefficient of wetted skin, and how long the supply lasts."""

    heat: Heat
    coefficient: WattPerSquareMetreKelvin
    usable: Usable | None


class OtherDays(Struct, frozen=True):
    """The coldest day at every fill, other air, one container more, and what the container gives at a moment.

    `fill_and_air` has a row for each air, in rising order.
    """

    days: tuple[SimulatedDay, ...]
    fill_and_air: tuple[tuple[Cell, ...], ...]
    supply: tuple[SupplyAt, ...]
    heat: tuple[HeatEnd, ...]
    one_more: tuple[More, ...]

    def supply_at(self, fill: float) -> list[tuple[float, GasRate]]:
        """Each air, K, with what the container gives in it at one of FILLS."""
        return [(at.air, at.supply) for at in self.supply if at.fill == fill]


def other_days(build: Installation, cold: Cold, shown: units.System) -> OtherDays:
    """All of these, in air of round figures in the units shown."""
    rig, airs, coldest = cold.rig, air_steps(cold.coldest, shown), cold.coldest
    ends = HEAT_WORDS if coldest is not None else ()
    return OtherDays(
        days_at(cold),
        tuple(grid(cold, airs)) if rig.periods else (),
        tuple(SupplyAt(air, fill, rig.supply(air, fill)) for air in airs for fill in FILLS),
        tuple(HeatEnd(h, rig.coefficient(coldest, h), usable(build, cold, h)) for h in ends if coldest is not None),
        one_more(cold),
    )
