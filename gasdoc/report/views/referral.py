"""Who decides: the region's codes, people and rules, and the questions to ask."""

from __future__ import annotations

from typing import Any

from gasdoc.source import Citation
from gasdoc.study import Study
from gasdoc.study.facts import stands_in
from gasdoc.study.referral.questions import asked_of

OUTCOMES = ("not met", "not known", "met by the numbers", "for a licensed person")
OPEN = OUTCOMES[:2]
"""Outcomes that are shown before all others, whatever they are about."""


def view(study: Study) -> dict[str, Any]:
    """The region, its rules that are not met or not known, and all its rules by subject, with what this build has."""
    subjects = tuple(dict.fromkeys(r.rule.subject for r in study.rules))
    rows = {subject: rule_rows(study, (subject,)) for subject in subjects}
    counts = {word: sum(1 for r in study.rules if r.outcome == word and not r.rule.alternative) for word in OUTCOMES}
    region = study.build.region
    codes = [code for code in region.codes if stands_in(study.build, code.where)]
    people, signoff = (
        [said for said in sentences if stands_in(study.build, said.where)]
        for sentences in (region.people, region.signoff)
    )
    return {
        "region": region,
        "codes": codes,
        "people": people,
        "signoff": signoff,
        "counts": counts,
        "open_rules": [row for found in rows.values() for row in found if row["outcome"] in OPEN],
        "subjects": [(subject, _said(found), found) for subject, found in rows.items()],
    }


def _said(rows: list[dict[str, Any]]) -> str:
    """How the rules of a subject come out, in one line."""
    counts = [(sum(1 for row in rows if row["outcome"] == word), word) for word in OUTCOMES]
    return ", ".join(f"{count} {word}" for count, word in counts if count)


def to_ask(study: Study, row: str, citation: Citation) -> dict[int, str]:
    """The questions to put before a row of the region is relied on that is from memory; none of a row that was read."""
    if citation.confirmed != "memory":
        return {}
    return asked_of(study.questions, study.build.region.id, row)


def rule_rows(study: Study, subjects: tuple[str, ...]) -> list[dict[str, Any]]:
    """The rules of some subjects, as `pages/rules.html` shows them."""
    return [
        {
            "asks": r.asks,
            "needs": r.needs or "",
            "has": r.has or "",
            "outcome": r.outcome,
            "citation": r.rule.citation,
            "beside": r.rule.alternative,
            "ask": to_ask(study, f"rules/{r.rule.id}", r.rule.citation),
        }
        for r in study.rules
        if r.rule.subject in subjects
    ]
