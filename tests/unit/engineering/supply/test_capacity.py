"""The sizing equations and the rule that reads a capacity table, on small tables made up for the purpose."""

from __future__ import annotations

import math
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from gasdoc import data
from gasdoc.catalog import tables
from gasdoc.engineering.constants import FOOT, INCH, INCH_OF_WATER, KBTU_PER_HOUR, PSI
from gasdoc.engineering.supply.capacity import (
    CapacityTable,
    Fit,
    OutsideTable,
    capacity,
    high_pressure_capacity,
    high_pressure_squared_drop,
    low_pressure_capacity,
    low_pressure_drop,
    rounding_half_width,
)

HALF_INCH = 0.622 * INCH
TABLES = tuple(tables.table(name) for name in data.names("gasdoc.catalog", "tables"))
DROP = 0.5 * INCH_OF_WATER


def made_up(cells: tuple[tuple[float | None, ...], ...], law: str = "low", fits: tuple[Fit, ...] = ()) -> CapacityTable:
    """A table with rows at 10, 20 ... ft and cells in thousand Btu/h; sizes of 1/2, 3/4, 1 in. schedule 40 bore."""
    bores = (HALF_INCH, 0.824 * INCH, 1.049 * INCH)[: len(cells[0])]
    return CapacityTable(
        id="made-up",
        title="made up for a test",
        source="none",
        confirmed="memory",
        notes=(),
        material="steel",
        sizes=("1/2", "3/4", "1")[: len(cells[0])],
        bores=bores if law != "corrugated" else (None,) * len(bores),
        lengths=tuple(10 * FOOT * (i + 1) for i in range(len(cells))),
        cells=tuple(tuple(None if c is None else c * KBTU_PER_HOUR for c in row) for row in cells),
        half_widths=tuple(tuple(0.5 * KBTU_PER_HOUR for _ in row) for row in cells),
        inlet_gauge=11 * INCH_OF_WATER,
        drop=DROP,
        law=law,  # type: ignore[arg-type]  # a row of the table
        fits=fits,
    )


def in_kbtu(watts: float) -> float:
    return round(watts / KBTU_PER_HOUR, 6)


# --- equations ---


@given(bore=st.floats(0.005, 0.1), length=st.floats(0.5, 200), load=st.floats(100, 1e6))
def test_the_low_pressure_drop_of_a_capacity_is_the_drop_it_came_from(bore: float, length: float, load: float) -> None:
    drop = low_pressure_drop(load, bore, length)
    assert low_pressure_capacity(bore, length, drop) == pytest.approx(load, rel=1e-9)


@given(bore=st.floats(0.005, 0.1), length=st.floats(0.5, 200), outlet=st.floats(0, 9.9))
def test_the_squared_drop_of_a_high_pressure_capacity_is_that_of_its_two_pressures(
    bore: float, length: float, outlet: float
) -> None:
    load = high_pressure_capacity(bore, length, 10 * PSI, outlet * PSI)
    squares = (24.7**2 - (outlet + 14.7) ** 2) * PSI**2
    assert high_pressure_squared_drop(load, bore, length) == pytest.approx(squares, rel=1e-9)


def test_squared_drops_of_two_halves_add_up_to_that_of_the_whole() -> None:
    whole = high_pressure_squared_drop(50_000, HALF_INCH, 30.0)
    assert 2 * high_pressure_squared_drop(50_000, HALF_INCH, 15.0) == pytest.approx(whole, rel=1e-12)


def test_no_load_drops_no_pressure() -> None:
    assert low_pressure_drop(0, HALF_INCH, 3) == 0
    assert high_pressure_squared_drop(0, HALF_INCH, 3) == 0


def test_the_high_pressure_equation_refuses_what_belongs_to_the_low_pressure_one() -> None:
    with pytest.raises(ValueError, match="starts at 1.5 psi"):
        high_pressure_capacity(HALF_INCH, 3, 1.4 * PSI, 1.0 * PSI)
    assert high_pressure_capacity(HALF_INCH, 3, 1.5 * PSI, 1.0 * PSI) > 0


@pytest.mark.parametrize("outlet", [2 * PSI, 3 * PSI, -1.0])
def test_the_high_pressure_equation_refuses_an_outlet_pressure_not_below_its_inlet(outlet: float) -> None:
    with pytest.raises(ValueError, match="between 0 and the inlet"):
        high_pressure_capacity(HALF_INCH, 3, 2 * PSI, outlet)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_the_equations_refuse_dimensions_that_are_not_positive_numbers(bad: float) -> None:
    with pytest.raises(ValueError, match="bore must be"):
        low_pressure_capacity(bad, 3, DROP)
    with pytest.raises(ValueError, match="length must be"):
        low_pressure_drop(1000, HALF_INCH, bad)
    with pytest.raises(ValueError, match="drop must be"):
        low_pressure_capacity(HALF_INCH, 3, bad)
    with pytest.raises(ValueError, match="length must be"):
        high_pressure_squared_drop(1000, HALF_INCH, bad)
    with pytest.raises(ValueError, match="length must be"):
        low_pressure_capacity(HALF_INCH, bad, DROP)
    with pytest.raises(ValueError, match="bore must be"):
        high_pressure_capacity(bad, 3, 2 * PSI, 1 * PSI)
    with pytest.raises(ValueError, match="length must be"):
        high_pressure_capacity(HALF_INCH, bad, 2 * PSI, 1 * PSI)
    with pytest.raises(ValueError, match="bore must be"):
        low_pressure_drop(1000, bad, 3)


def test_the_equations_refuse_a_negative_load() -> None:
    with pytest.raises(ValueError, match="load must not be negative"):
        low_pressure_drop(-1, HALF_INCH, 3)


# --- reading a table ---


def test_a_length_between_rows_reads_the_next_longer_row() -> None:
    table = made_up(((291,), (200,), (160,)))
    assert capacity(table, 0, 10.1 * FOOT).row_length == pytest.approx(20 * FOOT)
    assert in_kbtu(capacity(table, 0, 10.1 * FOOT).value) == 200


def test_a_length_equal_to_a_row_but_for_the_last_bits_reads_that_row() -> None:
    table = made_up(((291,), (200,)))
    assert in_kbtu(capacity(table, 0, 10 * FOOT * (1 + 5e-10)).value) == 291
    assert in_kbtu(capacity(table, 0, 10 * FOOT * (1 + 1e-8)).value) == 200


@pytest.mark.parametrize("length", [0.0, 1.0, 10 * FOOT])
def test_a_length_up_to_the_first_row_reads_the_first_row(length: float) -> None:
    assert in_kbtu(capacity(made_up(((291,), (200,))), 0, length).value) == 291


def test_a_length_past_the_last_row_is_outside_and_says_how_far_the_table_goes() -> None:
    with pytest.raises(OutsideTable) as caught:
        capacity(made_up(((291,), (200,))), 0, 20.1 * FOOT)
    assert caught.value.reason == "length"
    assert caught.value.limit == pytest.approx(20 * FOOT)
    assert "6.096 m" in str(caught.value)


@pytest.mark.parametrize("index", [-1, 2])
def test_a_size_that_is_no_column_is_outside_and_says_how_many_there_are(index: int) -> None:
    with pytest.raises(OutsideTable) as caught:
        capacity(made_up(((291, 608), (200, 418))), index, 1.0)
    assert (caught.value.reason, caught.value.limit) == ("size", 2)
    assert str(caught.value) == "the table has 2 sizes"


@pytest.mark.parametrize("length", [-0.1, math.nan, math.inf])
def test_a_length_that_is_not_a_length_is_refused(length: float) -> None:
    with pytest.raises(ValueError, match="a length must be"):
        capacity(made_up(((291,),)), 0, length)


def test_the_error_for_outside_survives_pickling() -> None:
    error = pickle.loads(pickle.dumps(OutsideTable("length", 3.0)))
    assert (error.reason, error.limit) == ("length", 3.0)


def test_a_cell_the_equation_bears_out_stands_as_printed() -> None:
    found = capacity(made_up(((291,),)), 0, 3.0)
    assert (in_kbtu(found.value), in_kbtu(found.cell or 0), found.basis) == (291, 291, "cell")
    assert found.equation == low_pressure_capacity(HALF_INCH, 10 * FOOT, DROP)


def test_a_cell_lower_than_the_equation_stands() -> None:
    found = capacity(made_up(((200,),)), 0, 3.0)
    assert (in_kbtu(found.value), found.basis) == (200, "cell")


def test_a_cell_above_the_equation_by_more_than_rounding_and_one_percent_is_lowered_to_it() -> None:
    # The equation gives 290.8; a cell may stand up to x with x - 0.5 - 0.01 x = 290.8, which is 294.2.
    stands = capacity(made_up(((294,),)), 0, 3.0)
    lowered = capacity(made_up(((295,),)), 0, 3.0)
    assert (in_kbtu(stands.value), stands.basis) == (294, "cell")
    assert (in_kbtu(lowered.value), lowered.basis, in_kbtu(lowered.cell or 0)) == (290, "equation-below-cell", 295)
    edge = (low_pressure_capacity(HALF_INCH, 10 * FOOT, DROP) / KBTU_PER_HOUR + 0.5) / 0.99
    assert edge == pytest.approx(294.2, abs=0.05)
    assert [capacity(made_up(((edge * s,),)), 0, 3.0).basis for s in (0.9999, 1.0001)] == [
        "cell",
        "equation-below-cell",
    ]


def test_a_thousand_btu_an_hour_are_293_watts() -> None:
    assert pytest.approx(293.07107, rel=1e-8) == KBTU_PER_HOUR  # the International Table Btu, 1055.05585 J, over 3.6 s


def test_an_unknown_cell_takes_the_equation_rounded_down_to_three_digits() -> None:
    # 1 in. at 10 ft: the equation gives 1146 thousand Btu/h (the code prints 1150), which goes down to 1140.
    found = capacity(made_up(((None, None, None),)), 2, 3.0)
    assert (in_kbtu(found.value), found.basis, found.cell) == (1140, "equation", None)
    assert 1145 < in_kbtu(found.equation or 0) < 1150


def test_an_unknown_corrugated_cell_takes_the_fit_lowered_by_its_worst_error() -> None:
    fit = Fit(a=100 * KBTU_PER_HOUR * (10 * FOOT) ** 0.5, b=0.5, worst=0.02)
    found = capacity(made_up(((None,), (70,)), "corrugated", (fit,)), 0, 3.0)
    assert (in_kbtu(found.value), found.basis, found.fit_error) == (98, "fit", 0.02)
    assert in_kbtu(found.fit or 0) == 100


def test_a_fit_is_kept_between_the_known_cells_around_it() -> None:
    high = Fit(a=900 * KBTU_PER_HOUR, b=0.1, worst=0.01)
    low = Fit(a=9 * KBTU_PER_HOUR, b=0.1, worst=0.01)
    cells = ((100,), (None,), (60,))
    assert in_kbtu(capacity(made_up(cells, "corrugated", (high,)), 0, 20 * FOOT).value) == 100
    assert in_kbtu(capacity(made_up(cells, "corrugated", (low,)), 0, 20 * FOOT).value) == 60
    # The next longer row counts, not one after it that stands out of line.
    out_of_line = ((100,), (None,), (60,), (70,))
    assert in_kbtu(capacity(made_up(out_of_line, "corrugated", (low,)), 0, 20 * FOOT).value) == 60


def test_a_fit_is_not_carried_past_its_reach_beyond_the_last_known_cell() -> None:
    fit = Fit(a=100 * KBTU_PER_HOUR, b=0.5, worst=0.01, reach=20 * FOOT)
    table = made_up(((60,), (None,), (None,)), "corrugated", (fit,))
    assert capacity(table, 0, 20 * FOOT).basis == "fit"
    with pytest.raises(OutsideTable) as caught:
        capacity(table, 0, 30 * FOOT)
    assert caught.value.limit == pytest.approx(20 * FOOT)


def test_a_fit_past_its_reach_still_serves_between_known_cells() -> None:
    fit = Fit(a=100 * KBTU_PER_HOUR, b=0.5, worst=0.01, reach=20 * FOOT)
    assert capacity(made_up(((60,), (40,), (None,), (30,)), "corrugated", (fit,)), 0, 30 * FOOT).basis == "fit"


def test_a_capacity_that_would_rise_with_length_or_fall_with_size_is_lowered() -> None:
    fits = (Fit(1.0, 0.5, 0.0),) * 2
    table = made_up(((100, 90), (120, 80), (70, 85)), "corrugated", fits)
    values = [
        [(in_kbtu(capacity(table, s, x * FOOT).value), capacity(table, s, x * FOOT).basis) for s in (0, 1)]
        for x in (10, 20, 30)
    ]
    assert values == [
        [(90, "neighbour"), (90, "cell")],
        [(80, "neighbour"), (80, "cell")],
        [(70, "cell"), (80, "neighbour")],
    ]


def test_an_entry_says_what_it_rests_on_whatever_its_basis() -> None:
    """Rows of 10 and 20 ft; the fit is 100 thousand Btu/h at 10 ft, 70.71 at 20 ft, and off by 2 % at most."""
    fit = Fit(a=100 * KBTU_PER_HOUR * (10 * FOOT) ** 0.5, b=0.5, worst=0.02)
    table = made_up(((100, 90), (None, 85)), "corrugated", (fit, fit))
    ten, twenty = 10 * FOOT, 20 * FOOT
    k = KBTU_PER_HOUR
    entries = [capacity(table, size, length) for length in (ten, twenty) for size in (0, 1)]
    assert [(e.row_length, e.basis) for e in entries] == [
        (ten, "neighbour"),
        (ten, "cell"),
        (twenty, "fit"),
        (twenty, "cell"),
    ]
    assert [e.cell for e in entries] == pytest.approx([100 * k, 90 * k, None, 85 * k])
    assert [e.fit for e in entries] == pytest.approx([100 * k, 100 * k, 70.7107 * k, 70.7107 * k], rel=1e-6)
    assert [(e.equation, e.fit_error) for e in entries] == [(None, 0.02)] * 4
    # 70.7107 less 2 % is 69.3; three digits of whole thousands
    assert [in_kbtu(e.value) for e in entries] == [90, 90, 69, 85]

    steel = made_up(((295,), (None,)))
    lowered, unknown = (capacity(steel, 0, length) for length in (ten, twenty))
    for entry, length in ((lowered, ten), (unknown, twenty)):
        assert (entry.row_length, entry.fit, entry.fit_error) == (length, None, None)
        assert entry.equation == low_pressure_capacity(HALF_INCH, length, DROP)
    assert (lowered.basis, unknown.basis) == ("equation-below-cell", "equation")
    # A neighbour of steel keeps its equation too: 350 printed for 1/2 in. at 20 ft over 200 at 10 ft.
    held = capacity(made_up(((150,), (160,))), 0, twenty)
    assert (in_kbtu(held.value), held.basis, held.row_length) == (150, "neighbour", twenty)
    assert held.equation == low_pressure_capacity(HALF_INCH, twenty, DROP)


@given(table=st.sampled_from(TABLES), data=st.data())
def test_a_longer_run_never_carries_more(table: CapacityTable, data: st.DataObject) -> None:
    size = data.draw(st.integers(0, len(table.sizes) - 1))
    lengths = st.floats(0, table.lengths[-1])
    short, long = sorted((data.draw(lengths), data.draw(lengths)))
    try:
        longer = capacity(table, size, long)
    except OutsideTable:
        return
    assert longer.value <= capacity(table, size, short).value


@given(table=st.sampled_from(TABLES), data=st.data())
def test_a_larger_size_never_carries_less(table: CapacityTable, data: st.DataObject) -> None:
    length = data.draw(st.floats(0, table.lengths[-1]))
    small, large = sorted(data.draw(st.tuples(*[st.integers(0, len(table.sizes) - 1)] * 2)))
    try:
        values = [capacity(table, size, length).value for size in (small, large)]
    except OutsideTable:
        return
    assert values[0] <= values[1]


@pytest.mark.parametrize(
    ("printed", "half"),
    [(1, 0.5), (20, 0.5), (45, 0.5), (291, 0.5), (480, 0.5), (1240, 5), (1638, 0.5), (10500, 50), (176000, 500)],
)
def test_a_printed_cell_is_known_to_half_its_last_significant_digit(printed: int, half: float) -> None:
    assert rounding_half_width(printed) == half


def test_a_cell_that_is_not_positive_has_no_rounding() -> None:
    with pytest.raises(ValueError, match="must be positive"):
        rounding_half_width(0)


def test_a_table_whose_parts_do_not_fit_together_is_refused() -> None:
    with pytest.raises(ValueError, match="one entry for each"):
        made_up(((291, 608), (200,)))
    with pytest.raises(ValueError, match="needs a fit"):
        made_up(((291,),), "corrugated")
    table = made_up(((291, 608), (200, 418)))
    with pytest.raises(ValueError, match="must ascend"):
        structs.replace(table, lengths=(6.096, 3.048))
    with pytest.raises(ValueError, match="must ascend"):
        structs.replace(table, lengths=(3.048, 3.048))
    with pytest.raises(ValueError, match="must ascend"):
        structs.replace(table, lengths=(), cells=(), half_widths=())
    with pytest.raises(ValueError, match="one entry for each of the 2 sizes"):
        structs.replace(table, half_widths=table.half_widths[:1])
    with pytest.raises(ValueError, match="or None"):
        structs.replace(table, bores=table.bores[:1])
    with pytest.raises(ValueError, match="a bore for every size"):
        structs.replace(table, bores=(HALF_INCH, None))
