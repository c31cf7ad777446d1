"""Editions that the rows of a build's region are cited from, and that have ended."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from gasdoc.regions.proof import LineTest
from gasdoc.regions.rules import Rule
from gasdoc.regions.texts import Edition, cited_editions
from gasdoc.study.facts import Installation, stands_in
from gasdoc.study.findings import Finding, note


def edition_findings(build: Installation, as_of: dt.date | None) -> Iterator[Finding]:
    """A note for each edition that had ended on `as_of`, with the rows that are cited from it; nothing where nobody asks."""
    if as_of is None:
        return
    ended: dict[Edition, list[str]] = {}
    rows: tuple[Rule | LineTest, ...] = (*build.region.rules, *build.region.tests)
    for row in rows:
        if stands_in(build, row.where):
            for edition in cited_editions(row.citation.text):
                if edition.is_past(as_of):
                    ended.setdefault(edition, []).append(row.id)
    for edition, ids in ended.items():
        yield note(
            "edition-ended",
            "build",
            ("region",),
            f"{edition.name} ended on {edition.until}. Rows of the region rest on it: {', '.join(ids)}.",
            f"It was followed by {edition.then or 'another text'}, which may ask something else.",
            "Ask the authority which edition holds for this build, and what it changes.",
            str(edition.citation),
        )
