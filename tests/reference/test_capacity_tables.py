"""The capacity tables against the codes' equations, the fits against their cells, and the rule that joins them.

Published values: the cells of IFGC 2018 Tables 402.4(25) to (31) and (35) and IRC 2018 Tables G2413.4(16) and (17), in
gasdoc/catalog/tables; the older and SI tables in data/other_tables.yaml, which gasdoc does not size by. Each file names
its sources. The equation is the code's own (402.4 and appendix A) and was not fitted to the cells; the fits were.
"""

from __future__ import annotations

import math
import statistics
from pathlib import Path
from typing import Any

import fast_yaml
import pytest
from msgspec.structs import replace

from gasdoc import data
from gasdoc.catalog.tables import table
from gasdoc.engineering.constants import BTU, CUBIC_FOOT, FOOT, INCH, INCH_OF_WATER, KBTU_PER_HOUR, PSI
from gasdoc.engineering.supply.capacity import (
    PROPANE,
    CapacityTable,
    CodeGas,
    Fit,
    OutsideTable,
    capacity,
    high_pressure_capacity,
    low_pressure_capacity,
)

OTHER: dict[str, dict[str, Any]] = {
    t["id"]: t for t in fast_yaml.read(Path(__file__).parent / "data/other_tables.yaml")["tables"]
}
STEEL_LOW = "steel_sch40_11inwc_0p5"
TABLES = tuple(table(name) for name in data.names("gasdoc.catalog", "tables"))
SMOOTH = [t for t in TABLES if t.law != "corrugated"]
CORRUGATED = [t for t in TABLES if t.law == "corrugated"]
Place = tuple[int, int]


def known(tab: CapacityTable) -> list[tuple[Place, float]]:
    """Row, size and value of every cell that is known."""
    return [((r, s), cell) for r, row in enumerate(tab.cells) for s, cell in enumerate(row) if cell is not None]


def feet(tab: CapacityTable, row: int) -> int:
    return round(tab.lengths[row] / FOOT)


def mislabelled(tab: CapacityTable, row: int) -> bool:
    return tab.id == STEEL_LOW and feet(tab, row) in (80, 100)


def equation(tab: CapacityTable, place: Place, length: float | None = None) -> float:
    bore, at = tab.bores[place[1]], length or tab.lengths[place[0]]
    assert bore is not None
    if tab.law == "low":
        return low_pressure_capacity(bore, at, tab.drop)
    return high_pressure_capacity(bore, at, tab.inlet_gauge, tab.inlet_gauge - tab.drop)


def without(tab: CapacityTable, gone: set[Place]) -> CapacityTable:
    """The table as if those cells had never been read."""
    cells = tuple(tuple(None if (r, s) in gone else c for s, c in enumerate(row)) for r, row in enumerate(tab.cells))
    return replace(tab, cells=cells)


# --- the code's equations against the code's tables -------------------------------------------------------------------

# Largest and median absolute error in percent as measured, next to the cells they rest on. Rounding alone explains
# 0.5 % of a three-digit cell that starts with 1, and 1.6 % of 31, the smallest cell here; the medians are far below.
AGREEMENT = {
    "copper_10psi_1psi": (167, 0.54, 0.10),
    "copper_11inwc_0p5": (36, 0.99, 0.15),
    "copper_2psi_1psi": (42, 0.52, 0.08),
    "pe_11inwc_0p5": (58, 0.44, 0.11),
    "pe_2psi_1psi": (56, 0.46, 0.12),
    "steel_sch40_10psi_1psi": (74, 0.50, 0.12),
    "steel_sch40_10psi_3psi": (68, 0.52, 0.11),
    "steel_sch40_11inwc_0p5": (54, 0.45, 0.09),
    "steel_sch40_2psi_1psi": (76, 0.40, 0.12),
}


@pytest.mark.parametrize("tab", SMOOTH, ids=lambda t: t.id)
def test_the_codes_equation_reproduces_its_table_within_one_percent(tab: CapacityTable) -> None:
    errors = [abs(equation(tab, p) / c - 1) * 100 for p, c in known(tab) if not mislabelled(tab, p[0])]
    count, largest, median = AGREEMENT[tab.id]
    assert len(errors) == count
    assert max(errors) <= largest < 1
    assert statistics.median(errors) <= median


def test_the_rows_printed_80_and_100_ft_of_the_low_pressure_steel_table_hold_70_and_80_ft() -> None:
    # Three-digit cells and 94: rounding explains up to 0.53 %. At the printed lengths the equation is 7 and 11 % lower.
    tab = table(STEEL_LOW)
    for (row, size), cell in known(tab):
        if mislabelled(tab, row):
            meant = {80: 70, 100: 80}[feet(tab, row)] * FOOT
            assert equation(tab, (row, size), meant) == pytest.approx(cell, rel=0.0055)
            assert equation(tab, (row, size)) < 0.94 * cell


# --- the rule ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tab", TABLES, ids=lambda t: t.id)
def test_every_known_cell_is_given_back_as_printed_except_in_the_mislabelled_rows(tab: CapacityTable) -> None:
    for (row, size), cell in known(tab):
        found = capacity(tab, size, tab.lengths[row])
        assert found.cell == cell
        if mislabelled(tab, row):
            assert found.basis == "equation-below-cell"
            assert found.value < 0.94 * cell
        else:
            assert (found.value, found.basis) == (cell, "cell")


def test_exactly_the_fifteen_cells_of_the_two_mislabelled_rows_are_lowered() -> None:
    lowered = [
        (tab.id, feet(tab, row), tab.sizes[size])
        for tab in TABLES
        for (row, size), _ in known(tab)
        if capacity(tab, size, tab.lengths[row]).basis == "equation-below-cell"
    ]
    steel = ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "4")
    assert lowered == [(STEEL_LOW, 80, s) for s in steel] + [(STEEL_LOW, 100, s) for s in steel[:6]]


def test_the_published_tables_never_need_the_guard_against_rising_capacities() -> None:
    for tab in TABLES:
        for row in tab.lengths:
            for size in range(len(tab.sizes)):
                try:
                    assert capacity(tab, size, row).basis != "neighbour"
                except OutsideTable:
                    continue


def test_199_thousand_btu_per_hour_over_80_ft_does_not_take_three_quarter_inch_steel() -> None:
    # The row printed 80 ft says 212. The equation says 197, and the older table's own worked example takes 1 in.
    tab = table(STEEL_LOW)
    found = capacity(tab, tab.sizes.index("3/4"), 80 * FOOT)
    assert round((found.cell or 0) / KBTU_PER_HOUR) == 212
    assert found.value < 199 * KBTU_PER_HOUR
    assert capacity(tab, tab.sizes.index("1"), 80 * FOOT).value > 199 * KBTU_PER_HOUR


def test_small_corrugated_sizes_are_not_carried_past_100_ft_beyond_their_last_known_cell() -> None:
    outside = []
    for tab in CORRUGATED:
        # As if the last row of the two had not been read; every other cell of the 2 psi table is.
        cut = without(
            tab, {(r, s) for (r, s), _ in known(tab) if tab.sizes[s] in ("EHD 15", "EHD 18") and feet(tab, r) == 500}
        )
        for size in range(len(tab.sizes)):
            for row, length in enumerate(tab.lengths):
                try:
                    capacity(cut, size, length)
                except OutsideTable as error:
                    outside.append((tab.id, tab.sizes[size], feet(tab, row), round(error.limit / FOOT)))
    assert outside == [("csst_2psi_1psi", "EHD 15", 500, 400), ("csst_2psi_1psi", "EHD 18", 500, 400)]


# --- cells as if unknown ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("quarter", range(4))
@pytest.mark.parametrize("tab", SMOOTH, ids=lambda t: t.id)
def test_an_unread_cell_is_filled_within_one_percent_and_rounding_and_never_above_the_print(
    tab: CapacityTable, quarter: int
) -> None:
    """Each quarter of the cells in turn taken as unread: all 600 sound cells are exercised.

    Measured: no filled value stands above its printed cell; the lowest are 4.0 % (30 for 31 there) and 1.3 % under it,
    which is rounding down (up to a unit of the last digit) on top of the cell's own rounding and the equation's 1 %.
    """
    gone = dict(known(tab)[quarter::4])
    trial = without(tab, set(gone))
    for (row, size), cell in gone.items():
        if mislabelled(tab, row):
            continue
        found = capacity(trial, size, trial.lengths[row])
        assert found.basis == "equation"
        half = tab.half_widths[row][size]
        assert abs((found.equation or 0) - cell) <= 0.01 * cell + half
        assert cell - (0.01 * cell + half) - 2 * half <= found.value <= cell


@pytest.mark.parametrize("quarter", range(4))
@pytest.mark.parametrize("tab", CORRUGATED, ids=lambda t: t.id)
def test_an_unread_corrugated_cell_is_filled_from_the_fit_and_never_above_the_print(
    tab: CapacityTable, quarter: int
) -> None:
    """Measured on 248 of 251 cells (three lie past the reach of a small size once unread): none above its cell; median
    0.7 % (11 in. w.c.) and 0.6 % (2 psi) under it, lowest 7.1 %: 26 for 28, where one unit is 3.6 %.

    The fits were made from all cells, so this tests the lowering and the bounds. The next test leaves cells out of the
    fits too.
    """
    gone = dict(known(tab)[quarter::4])
    trial = without(tab, set(gone))
    for (row, size), cell in gone.items():
        try:
            found = capacity(trial, size, trial.lengths[row])
        except OutsideTable:
            assert tab.fits[size].reach is not None and tab.lengths[row] > 100 * FOOT
            continue
        assert found.basis == "fit"
        assert 0.92 * cell <= found.value <= cell


def refitted(tab: CapacityTable) -> CapacityTable:
    """The table with fits made from the cells it now has, in the way the catalogue's were."""
    fits = []
    for size in range(len(tab.sizes)):
        points = [(math.log(tab.lengths[r]), math.log(c)) for (r, s), c in known(tab) if s == size]
        b, log_a = (
            -statistics.linear_regression(*zip(*points, strict=True)).slope,
            statistics.linear_regression(*zip(*points, strict=True)).intercept,
        )
        worst = max(abs(math.exp(log_a - b * x - y) - 1) for x, y in points)
        fits.append(Fit(math.exp(log_a), b, worst, tab.fits[size].reach))
    return replace(tab, fits=tuple(fits))


@pytest.mark.parametrize("tab", CORRUGATED, ids=lambda t: t.id)
def test_a_fit_made_without_the_unread_cell_stays_close_to_it_between_known_rows(tab: CapacityTable) -> None:
    """Each quarter of the cells left out of the fits as well, so nothing of them is known.

    Measured between known rows: at most 1.7 % above the print, at EHD 25, 80 ft, 2 psi, where the printed 768 itself
    breaks the curve of its neighbours; else at most 0.5 % (209 for 208). Beyond the last known row two-digit cells do
    mislead: from four cells up to 30 ft, EHD 13 comes out at 23 for 20 at 50 ft. So the catalogue's fits use every
    cell, and small sizes have a reach; see the next test.
    """
    over = {}
    for quarter in range(4):
        gone = dict(known(tab)[quarter::4])
        trial = refitted(without(tab, set(gone)))
        left = {place for place, _ in known(trial)}
        for (row, size), cell in gone.items():
            if any(s == size and r < row for r, s in left) and any(s == size and r > row for r, s in left):
                excess = capacity(trial, size, trial.lengths[row]).value / cell - 1
                if excess > 1e-12:
                    over[tab.sizes[size], feet(tab, row)] = excess
    assert over.pop(("EHD 25", 80), 0) < 0.017
    assert all(excess < 0.005 for excess in over.values()), over


@pytest.mark.parametrize("tab", CORRUGATED, ids=lambda t: t.id)
def test_small_sizes_past_their_last_known_cell_fall_at_least_as_steeply_as_smooth_pipe(tab: CapacityTable) -> None:
    # A check that does not lean on the fit: from the last known cell, whose rounding is half a unit, on with the
    # exponent 0.541 of the code's equation.
    for size in range(len(tab.sizes)):
        column = {row: cell for (row, s), cell in known(tab) if s == size}
        last = max(column)
        if tab.fits[size].reach is None:
            continue
        for row in range(last + 1, len(tab.lengths)):
            try:
                found = capacity(tab, size, tab.lengths[row])
            except OutsideTable:
                continue
            assert found.value <= column[last] * (tab.lengths[last] / tab.lengths[row]) ** 0.541


# --- the fits ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tab", CORRUGATED, ids=lambda t: t.id)
def test_every_cell_of_a_corrugated_size_lies_within_its_fits_stated_error(tab: CapacityTable) -> None:
    errors = []
    for (row, size), cell in known(tab):
        error = abs(tab.fits[size].at(tab.lengths[row]) / cell - 1)
        assert error <= tab.fits[size].worst
        errors.append(error)
    assert statistics.median(errors) < 0.0015
    assert max(errors) < {"csst_11inwc_0p5": 0.0293, "csst_2psi_1psi": 0.0198}[tab.id]


@pytest.mark.parametrize("tab", CORRUGATED, ids=lambda t: t.id)
def test_a_fits_stated_error_is_not_larger_than_its_cells_need(tab: CapacityTable) -> None:
    # It is their largest error, rounded up to 0.01 %.
    for size, fit in enumerate(tab.fits):
        worst = max(abs(fit.at(tab.lengths[r]) / c - 1) for (r, s), c in known(tab) if s == size)
        assert fit.worst - worst <= 0.000101


# --- other published tables, and the equation's other form ------------------------------------------------------------


def test_the_bore_from_flow_form_gives_up_to_0_8_percent_more_than_the_form_used_here() -> None:
    # IFGC 402.4 equation 4-1: D = Q^0.381 / (19.17 (dH / (Cr L))^0.206). The two forms' rounded exponents differ, so
    # the one that allows less is used.
    for bore_in in (0.622, 0.824, 1.049, 1.38):
        for length_ft in (10, 60):
            flow = (bore_in * 19.17 * (0.5 / (1.2462 * length_ft)) ** 0.206) ** (1 / 0.381)
            used = low_pressure_capacity(bore_in * INCH, length_ft * FOOT, 0.5 * INCH_OF_WATER)
            assert 1.0 < flow * 2488 * BTU / 3600 / used < 1.0085


def other(name: str, column_key: str, **columns: float) -> list[tuple[float, float, float]]:
    """Length, bore in m and capacity as printed; `columns` gives bores by `column_key` where the table has none."""
    tab = OTHER[name]
    found = []
    for length, row in tab["rows"].items():
        for column, cell in zip(tab["columns"], row, strict=True):
            bore = columns.get(column.get(column_key, ""), column.get("id_in"))
            if cell is not None and bore is not None:
                found.append((float(length), bore * INCH, float(cell)))
    return found


def test_the_older_low_pressure_steel_table_stands_3_to_9_percent_under_the_equation() -> None:
    # An older edition on another basis (specific gravity 1.53), printed lower; kept as a check of row labels: its rows
    # at 80 and 100 ft stand to the equation as its other rows do.
    cells = other("older_steel_sch40_11inwc_0p5", "nominal")
    over = [low_pressure_capacity(b, x * FOOT, 0.5 * INCH_OF_WATER) / (c * KBTU_PER_HOUR) - 1 for x, b, c in cells]
    far = [o for o, (x, _, _) in zip(over, cells, strict=True) if x in (80, 100)]
    assert min(over) > 0.025 and max(over) < 0.095
    assert statistics.median(over) == pytest.approx(0.07, abs=0.006)
    assert statistics.median(far) == pytest.approx(statistics.median(over), abs=0.02)
    heavier = CodeGas(0.00354 * 1.53 * 520 * (0.008 / 1.53) ** 0.152, PROPANE.y, PROPANE.heating_value)
    ratio = low_pressure_capacity(0.02, 10, 100, heavier) / low_pressure_capacity(0.02, 10, 100)
    assert statistics.median(o + 1 for o in over) * ratio - 1 == pytest.approx(0.06, abs=0.006)


def test_the_older_first_stage_table_agrees_for_pipe_and_stands_above_the_equation_for_copper() -> None:
    # Its copper columns rest on wider bores than type K, so the equation on type K is lower, which is the safe side.
    pipe = other("older_first_stage_10psi_1psi", "pipe_nominal", **{"1/2": 0.622, "3/4": 0.824})
    type_k = {"3/8": 0.305, "1/2": 0.402, "5/8": 0.527, "3/4": 0.652}
    tube = other("older_first_stage_10psi_1psi", "copper_od", **type_k)
    assert len(pipe) == 10 and len(tube) == 25

    def error(row: tuple[float, float, float]) -> float:
        length, bore, cell = row
        return high_pressure_capacity(bore, length * FOOT, 10 * PSI, 9 * PSI) / (cell * KBTU_PER_HOUR) - 1

    assert max(abs(error(row)) for row in pipe) < 0.0065
    assert all(-0.175 < error(row) < 0 for row in tube)


@pytest.mark.parametrize("name", ["si_steel_sch40_125pa", "si_copper_k_125pa", "si_copper_l_125pa"])
def test_the_si_tables_agree_on_their_own_basis(name: str) -> None:
    # 94 MJ/m3, 125 Pa, lengths already taken 50 % longer for fittings. An online reference, not a code. 1.4 %: it does
    # not say at which conditions a m3 holds 94 MJ, and the code's 2488 Btu/ft3 is 92.7 MJ/m3. Also half a printed kW.
    gas = CodeGas(PROPANE.cr, PROPANE.y, 94e6)
    cells = other(name, "nominal")
    assert len(cells) >= 18
    for length, bore, cell in cells:
        assert abs(low_pressure_capacity(bore, 1.5 * length, 125, gas) - cell * 1000) <= 0.014 * cell * 1000 + 500


def test_cr_follows_from_its_definition() -> None:
    # Cr = 0.00354 S T (Z/S)^0.152 at 60 degF, S = 1.50, Z = 0.008 cP (IFGC appendix A); printed 1.2462.
    assert pytest.approx(PROPANE.cr, abs=0.00005) == 0.00354 * 1.50 * 520 * (0.008 / 1.50) ** 0.152
    assert PROPANE.heating_value * CUBIC_FOOT / BTU == pytest.approx(2488)
