"""The cautions of a build, and what a leak would do there."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from gasdoc.report.content.words import Quantities
from gasdoc.study import Study
from gasdoc.study.air.release import Leak

GROUP_TITLES = {
    "before": "Before you start",
    "joints": "Making joints",
    "container": "The container",
    "testing": "Testing",
    "living": "Living with it",
    "emergency": "If you smell gas or the gas alarm sounds",
    "carbon-monoxide": "If the carbon monoxide alarm sounds, or heads ache",
}

LEAKS = {
    "pinhole": "A hole 1 mm across, at the highest pressure behind the regulator",
    "cut-hose": "A connector cut through",
    "open-burner": "All burners open and not lit",
}


def view(study: Study) -> dict[str, Any]:
    """The cautions this build gives cause to print, by group."""
    groups: dict[str, list[Any]] = {}
    for caution in study.cautions:
        groups.setdefault(caution.group, []).append(caution)
    q = Quantities.of(study.build)
    return {
        "groups": [(GROUP_TITLES[g], g, rows) for g, rows in groups.items()],
        "leaks": [_leak(leak, q) for leak in study.releases.leaks],
    }


def _leak(leak: Leak, q: Quantities) -> list[Any]:
    name = LEAKS[leak.kind] + (f": {leak.where}" if leak.where else "")
    return [name, q.number(leak.flow, "gas flow"), _time(leak)]


def _time(leak: Leak) -> Markup | str:
    """Rounded down, and never over an hour: by then it has pooled before it mixed."""
    if leak.time is None:
        return {
            "over-an-hour": "no time is given: it pools before it mixes",
            "no-space": "not known: the space is not stated",
            "no-flow": "no flow",
        }[leak.why or "no-flow"]
    if leak.time < 60.0:
        return "under a minute"
    return Markup('<span class="qty">{}&#160;<span class="unit">min</span></span> or less').format(int(leak.time // 60))
