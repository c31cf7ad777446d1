"""What changed from the build that a build was started from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from msgspec import Struct

from gasdoc.folder.compare import Change, Comparison, Group, arrow, difference, shown
from gasdoc.report.content.words import NOT_KNOWN
from gasdoc.study.facts import system

TITLES: dict[Group, str] = {
    "inputs": "What the spec states",
    "results": "What follows from it",
    "materials": "Materials",
    "cost": "Cost",
    "records": "Records",
    "findings": "Findings",
}


class Template(Struct, frozen=True):
    """The build one was started from, as far as it can be had. `comparison` is None where it cannot; `revision` is the one
    compared with, None for the text as it is now. `title` and `uri` are those of its page, None where it has none."""

    build: str
    revision: str | None
    recorded: str | None
    comparison: Comparison | None
    title: str | None
    uri: str | None


def view(template: Template) -> dict[str, Any]:
    """The differences by group."""
    return {"groups": groups(template.comparison) if template.comparison is not None else []}


def groups(comparison: Comparison) -> list[dict[str, Any]]:
    """The differences by group, each as a row: what, before, after."""
    shown_first = system(comparison.after.build)
    found = []
    for group, title in TITLES.items():
        changes = comparison.of(group)
        if not changes:
            continue
        if group == "findings":
            rows = list(_findings(changes))
        else:
            rows = [
                [_about(change), shown(change.before, shown_first) or "-", shown(change.after, shown_first) or "-"]
                + ([difference(change, shown_first)] if group in ("materials", "cost") else [])
                for change in changes
            ]
        found.append({"id": group, "title": title, "rows": rows})
    return found


def summary(template: Template) -> list[str]:
    """The sizes, pressures and days that differ, for the overview."""
    if template.comparison is None:
        return []
    shown_first = system(template.comparison.after.build)
    return [
        f"{_about(change)}: {arrow(change, shown_first)}"
        for change in template.comparison.of("results", "cost")
        if change.before is not None and change.after is not None
    ]


def _about(change: Change) -> str:
    name = "whole build" if change.subject == "build" and change.name == "build" else change.name
    return f"{name}: {change.what}" if change.what else name


def _findings(changes: Iterable[Change]) -> Iterator[list[Any]]:
    for change in changes:
        word = "gone" if change.after is None else "new"
        subject = "whole build" if change.subject == "build" else change.subject
        yield [subject, f"{word} {change.what}", change.after or change.before or NOT_KNOWN]
