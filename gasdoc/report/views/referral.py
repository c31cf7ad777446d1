"""Who decides: the region's codes, people and rules, and the questions to ask."""

from __future__ import annotations

from typing import Any

from gasdoc.study import Study


def view(study: Study) -> dict[str, Any]:
    """The region and its rules by subject, with what this build has."""
    subjects = tuple(dict.fromkeys(r.rule.subject for r in study.rules))
    return {"region": study.resolved.region, "rules": [(s, _rules(study, (s,))) for s in subjects]}


def _rules(study: Study, subjects: tuple[str, ...]) -> list[dict[str, Any]]:
    return [
        {"asks": r.rule.asks, "limit": r.rule.limit_text or "", "has": r.has or "", "outcome": r.outcome,
         "citation": r.rule.citation, "beside": r.rule.alternative}
        for r in study.rules if r.rule.subject in subjects
    ]  # fmt: skip
