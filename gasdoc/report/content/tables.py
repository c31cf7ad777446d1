"""Tables as CSV files, and the rows of tables on pages."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape


def to_csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """UTF-8 with CRLF line ends, and text that a spreadsheet would take for a formula defused (common practice)."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(header)
    for row in rows:
        writer.writerow([_plain(cell) for cell in row])
    return out.getvalue().encode("utf-8")


def _plain(cell: object) -> object:
    if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")):
        return "'" + cell
    return cell


def table_rows(rows: Iterable[Any], columns: Sequence[Any], *, row_header: bool = True) -> Markup:
    """The rows of a table, as the macro `table` of the components takes them; one that says so where there are none.

    A function and no macro, because pages have thousands of cells.
    """
    heads = [_head(column) for column in columns]
    made = [_row(row, heads, row_header=row_header) for row in rows]
    none = f'<tr role="row"><td role="cell" colspan="{len(heads)}">None.</td></tr>\n'
    return Markup("".join(made) or none)


def _head(column: Any) -> tuple[str, str]:
    """What each cell of a column says of it: its label on a narrow screen, and its class."""
    if not isinstance(column, Mapping):
        return str(escape(column)), ""
    label, unit = str(escape(column["label"])), column.get("unit")
    if unit:
        label += f", {escape(unit)}"
        if other := getattr(unit, "other", None):
            label += f" ({escape(other)})"
    return label, ' class="number"' if column.get("number") else ""


def _row(row: Any, heads: Sequence[tuple[str, str]], *, row_header: bool) -> str:
    name = ""
    if isinstance(row, Mapping):
        name = f' id="{escape(row["id"])}"' if row.get("id") else ""
        row = row["cells"]
    out: list[str] = []
    for cell, (label, number) in zip(row, heads, strict=False):
        sort = ""
        if isinstance(cell, Mapping):
            sort = f' data-sort="{escape(cell["sort"])}"' if "sort" in cell else ""
            content = str(escape(cell["text"]))
            if cell.get("href"):
                content = f'<a href="{escape(cell["href"])}">{content}</a>'
                content += f' <span class="note">{escape(cell["note"])}</span>' if cell.get("note") else ""
        elif other := getattr(cell, "other", None):
            content = f'<span class="pair">{escape(cell)} <span class="also">{escape(other)}</span></span>'
        else:
            content = str(escape(cell))
        if row_header and not out:
            out.append(f'<th scope="row" role="rowheader"{number}{sort}>{content}</th>')
        else:
            out.append(f'<td role="cell" data-label="{label}"{number}{sort}>{content}</td>')
    return f'<tr role="row"{name}>{"".join(out)}</tr>\n'
