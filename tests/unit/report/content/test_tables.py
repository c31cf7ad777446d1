"""Tables as CSV: read back whole, and harmless in a spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from made_up_builds import THREE, Values, build, outlet, run, text
from markupsafe import Markup

from gasdoc.report.content.tables import table_rows, to_csv
from gasdoc.report.site.site import Order, make_site


def back(raw: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(raw.decode("utf-8"), newline="")))


def take_off(folder: Path, spec: Values, name: str = "materials") -> list[list[str]]:
    """The published take-off of a build, or its shopping list."""
    (folder / "hut.md").write_text(text(spec), encoding="utf-8")
    made = make_site(Order(folder, project_templates=None, link=lambda page, target: target))
    (raw,) = [asset.content for asset in made.assets if asset.uri == f"hut/{name}.csv"]
    return back(raw)


@pytest.mark.parametrize(
    "cell", ['=HYPERLINK("http://x","y")', "+1+1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "=cmd|' /C calc'!A0", "-"]
)
def test_no_cell_of_text_is_a_formula_to_a_spreadsheet(cell: str) -> None:
    (_, row) = back(to_csv(["a", "b"], [["x", cell]]))
    assert row[1] == "'" + cell


@pytest.mark.parametrize(
    "cell", ["1/2 in NPT", "a=b", "7.5", "O'Brien", "", "x,y", 'say "tee"', "two\nlines", "Prüfgerät ½"]
)
def test_other_text_comes_back_as_it_was(cell: str) -> None:
    assert back(to_csv(["a"], [[cell]]))[1:] == ([[cell]] if cell else [[""]])


def test_numbers_stay_numbers_even_below_zero() -> None:
    assert back(to_csv(["a", "b"], [[-1.5, 3]]))[1] == ["-1.5", "3"]


def test_lines_end_as_the_format_asks_and_the_text_is_utf8() -> None:
    raw = to_csv(["a", "ü"], [["1", "½"]])
    assert raw == "a,ü\r\n1,½\r\n".encode()


def test_the_take_off_comes_back_with_lengths_in_the_builds_unit(tmp_path: Path) -> None:
    rows = take_off(tmp_path, THREE)
    head, body = rows[0], rows[1:]
    assert head[:2] == ["group", "key"] and "ft" in head[3] and all(len(row) == len(head) for row in rows)
    tubing = {row[1]: (row[2], row[3], row[4]) for row in body if row[0] == "tubing"}
    # 15 ft in two runs and 12 ft in one: a tenth more, and 6 in for each run.
    assert tubing["copper-k 1/2"] == ("1/2 in nominal, 5/8 in OD, type K copper", "17.5", "ft")
    assert tubing["copper-k 1/4"] == ("1/4 in nominal, 3/8 in OD, type K copper", "13.7", "ft")
    counts = {
        row[1]: (row[3], row[4]) for row in body if row[0] == "openings and guards" or row[1].startswith("flare-nut")
    }
    assert counts["flare-nut:5/8"] == ("4", "each")


def test_a_long_run_has_no_thousands_comma_in_its_number(tmp_path: Path) -> None:
    spec = build(run("2000 ft", "2 in nominal", material="copper", type="k"), outlet("Heater", "20 kBtu/h"))
    (tubing,) = [row for row in take_off(tmp_path, spec) if row[0] == "tubing"]
    assert tubing[3] == "2200.5"  # a tenth more, and 6 in


def test_names_from_the_spec_cannot_smuggle_a_formula_into_the_take_off(tmp_path: Path) -> None:
    spec = build(
        run("9 ft", "1/2 in nominal", material="copper", type="k"),
        outlet("=1+1", "20 kBtu/h", connector={"kind": "flexible", "length": "3 ft"}),
        prices={"currency": "=2+2", "date": "2026-01-01", "items": {"@x": "1", "=cmd|' /C calc'!A0": "2"}},
    )
    for row in (*take_off(tmp_path, spec), *take_off(tmp_path, spec, "shopping-list")):
        assert all(not cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row), row


def test_a_row_on_a_page_names_itself_its_columns_and_what_it_sorts_by() -> None:
    columns = ["Run", {"label": "Length", "unit": "ft", "number": True}, {"label": "Size & kind"}]
    rows = [{"id": "run-1", "cells": ["R<1>", {"text": "12", "sort": 3.5}, {"text": "L", "href": "#a&b", "note": "x"}]}]
    assert str(table_rows(rows, columns)) == (
        '<tr role="row" id="run-1"><th scope="row" role="rowheader">R&lt;1&gt;</th>'
        '<td role="cell" data-label="Length, ft" class="number" data-sort="3.5">12</td>'
        '<td role="cell" data-label="Size &amp; kind"><a href="#a&amp;b">L</a> <span class="note">x</span></td></tr>\n'
    )
    assert '<td role="cell" data-label="Run">' in table_rows(rows, columns, row_header=False)


def test_a_cell_in_two_units_shows_both_and_markup_stays_markup() -> None:
    class Pair(str):
        __slots__ = ("other",)
        other: str

    length, unit = Pair("12 ft"), Pair("ft")
    length.other, unit.other = "3.7 m", "m"
    columns = ["", {"label": "Length", "unit": unit}]
    made = table_rows([[Markup("<b>a</b>"), length]], columns)
    assert '<th scope="row" role="rowheader"><b>a</b></th>' in made
    assert 'data-label="Length, ft (m)"><span class="pair">12 ft <span class="also">3.7 m</span></span></td>' in made


def test_a_table_without_rows_says_so() -> None:
    assert table_rows([], ["a", "b"]) == '<tr role="row"><td role="cell" colspan="2">None.</td></tr>\n'
