"""The materials of a build."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from gasdoc.report.tables import to_csv
from gasdoc.report.words import Quantities
from gasdoc.study import Study
from gasdoc.study.facts import system


def view(study: Study) -> dict[str, Any]:
    """The take-off by group."""
    q = Quantities(system(study.build))
    groups: dict[str, list[list[Any]]] = {}
    for item in study.materials:
        quantity = q(item.quantity, "run length") if item.measured else f"{item.quantity:g}"
        note = item.note
        if item.exact is not None:
            note = Markup("{} in the runs; {}").format(q(item.exact, "run length"), item.note)
        groups.setdefault(item.group, []).append([item.name, quantity, ", ".join(item.where), note])
    return {"groups": groups}


def csv(study: Study) -> bytes:
    """The take-off as a table: lengths in the build's own unit, named in the header."""
    q = Quantities(system(study.build))
    unit = q.unit("run length")
    rows = []
    for item in study.materials:
        quantity = q.number(item.quantity, "run length").replace(",", "") if item.measured else f"{item.quantity:g}"
        rows.append([item.group, item.name, quantity, unit if item.measured else "each", " ".join(item.where), item.note])
    return to_csv(["group", "part", f"quantity ({unit} or each)", "unit", "for", "note"], rows)
