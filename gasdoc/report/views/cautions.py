"""The cautions of a build."""

from __future__ import annotations

from typing import Any

from gasdoc.study import Study

GROUP_TITLES = {
    "before": "Before you start", "joints": "Making joints", "container": "The container", "testing": "Testing",
    "living": "Living with it", "emergency": "If you smell gas or an alarm sounds",
}  # fmt: skip



def view(study: Study) -> dict[str, Any]:
    """The cautions this build gives cause to print, by group."""
    groups: dict[str, list[Any]] = {}
    for caution in study.cautions:
        groups.setdefault(caution.group, []).append(caution)
    return {"groups": [(GROUP_TITLES[g], g, rows) for g, rows in groups.items()]}
