"""What is open of a build: what is not known, by what one does about it."""

from __future__ import annotations

from typing import Any

from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.referral.worklist import Thing, headings

STAGES = {
    "planned": "It is planned, and something is still to be chosen.",
    "bought": "All of it is chosen, and nothing is recorded as fitted.",
    "fitted": "It is fitted.",
    "tested": "It is fitted, and the tests that the region asks are recorded as passed.",
    "signed": "It is signed off.",
}
"""The stage of a build in words."""


def view(study: Study) -> dict[str, Any]:
    """The errors, then one line a thing under what one does about it, then what is asked later."""
    work = study.worklist
    groups = []
    for doing, title in headings().items():
        lines = [(errand.text, list(map(_detail, errand.things))) for errand in work.open if errand.doing == doing]
        if lines:
            groups.append({"id": doing, "title": title, "lines": lines})
    return {
        "stage": STAGES[work.stage],
        "errors": [f for f in study.findings if f.severity is Severity.ERROR],
        "groups": groups,
        "later": [(errand.text, list(map(_detail, errand.things))) for errand in work.later],
        "to_choose": bool(study.build.open),
    }


def _detail(thing: Thing) -> tuple[str, str, str]:
    """The id of a thing, why it matters, and what to do: of several, each by its own key."""
    remedies = dict.fromkeys(finding.remedy for finding in thing.findings)
    return thing.id, thing.findings[0].reason, " ".join(remedies)
