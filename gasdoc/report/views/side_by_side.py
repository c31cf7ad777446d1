"""A build beside others that its spec names."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from itertools import zip_longest
from typing import Any

from markupsafe import Markup

from gasdoc.folder.compare import shown
from gasdoc.folder.side_by_side import ComparedRow, side_by_side
from gasdoc.report.content.words import NOT_KNOWN
from gasdoc.report.views.changes import groups
from gasdoc.study import Study
from gasdoc.study.facts import system
from gasdoc.units import System


def view(study: Study, others: Sequence[Study], to_build: Callable[[str], str]) -> dict[str, Any]:
    """One table of all, in this build's units, what is the same in all in a second one; of two builds also what differs.

    `to_build` gives the address of a build's overview by its slug.
    """
    units = system(study.build)
    found = side_by_side(*others, study)
    rows = [[row.name, *(shown(value, units) or NOT_KNOWN for value in row.values)] for row in found.rows]
    same = [row for row in rows if others and len(set(row[1:])) == 1]
    return {
        "heads": ["About", *(one.build.spec.title for one in found.studies)],
        "rows": [row for row in rows if row not in same],
        "same": [row[:2] for row in same],
        "names": [
            Markup('<a href="{}">{}</a>').format(to_build(other.build.slug), other.build.spec.title) for other in others
        ],
        "missing": [name for name in study.build.spec.beside if name not in {other.build.slug for other in others}],
        "groups": groups(found.difference) if found.difference is not None else [],
    }


# --- as plain text ----------------------------------------------------------------------------------------------------

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
