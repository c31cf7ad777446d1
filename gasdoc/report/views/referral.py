"""Who decides: the region's codes, people and rules, and the questions to ask."""

from __future__ import annotations

from typing import Any

from gasdoc.study import Study


def view(study: Study) -> dict[str, Any]:
    """The region and its rules by subject, with what this build has."""
    subjects = tuple(dict.fromkeys(r.rule.subject for r in study.rules))
    counts = {word: sum(1 for r in study.rules if r.outcome == word and not r.rule.alternative)
              for word in ("not met", "not known", "met by the numbers", "for a licensed person")}  # fmt: skip
    return {"region": study.resolved.region, "rules": [(s, rule_rows(study, (s,))) for s in subjects], "counts": counts}


def rule_rows(study: Study, subjects: tuple[str, ...]) -> list[dict[str, Any]]:
    """The rules of some subjects, as `pages/rules.html` shows them."""
    return [
        {"asks": r.rule.asks, "needs": r.needs or "", "has": r.has or "", "outcome": r.outcome,
         "citation": r.rule.citation, "beside": r.rule.alternative}
        for r in study.rules if r.rule.subject in subjects
    ]  # fmt: skip
