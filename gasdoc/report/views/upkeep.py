"""The upkeep of a build."""

from __future__ import annotations

from typing import Any

from gasdoc.study import Study


def view(study: Study) -> dict[str, Any]:
    """Tasks by group, those with a date first."""
    groups: dict[str, list[Any]] = {}
    for due in study.upkeep:
        groups.setdefault(due.task.group, []).append(due)
    return {"groups": groups}
