"""Builds side by side as a table of plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest

from gasdoc.folder.compare import shown
from gasdoc.folder.side_by_side import ComparedRow
from gasdoc.report.words import NOT_KNOWN
from gasdoc.units import System

WIDEST = 26
"""Characters of a column, so that three builds fit into a usual window (our choice)."""


def table_text(names: Sequence[str], rows: Sequence[ComparedRow], units: System) -> Iterator[str]:
    """The rows that differ, under the names of the builds; below them what is the same in all."""
    cells = [(row.name, *(shown(value, units) or NOT_KNOWN for value in row.values)) for row in rows]
    same = [row for row in cells if len(set(row[1:])) == 1]
    if len(same) < len(cells):
        yield from _columns([("", *names), *(row for row in cells if row not in same)])
        yield ""
    if same:
        yield "the same in all of them:"
        yield from _columns([row[:2] for row in same])


def _columns(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Columns of equal width, long cells on several lines."""
    wrapped = [[textwrap.wrap(cell, WIDEST) or [""] for cell in row] for row in rows]
    wide = [max(len(line) for row in wrapped for line in row[i]) for i in range(len(rows[0]))]
    for row in wrapped:
        for lines in zip_longest(*row, fillvalue=""):
            yield "  " + "  ".join(line.ljust(width) for line, width in zip(lines, wide, strict=True)).rstrip()
