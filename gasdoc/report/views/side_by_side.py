"""A build beside others that its spec names."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from markupsafe import Markup

from gasdoc.folder.compare import shown
from gasdoc.folder.side_by_side import side_by_side
from gasdoc.report.views.changes import groups
from gasdoc.report.words import NOT_KNOWN
from gasdoc.study import Study
from gasdoc.study.facts import system


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
