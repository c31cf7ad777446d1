"""The build log: the Markdown body of a spec, split into dated entries."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from gasdoc.source import Problem, Severity
from gasdoc.spec.supply import slug

_HEADING = re.compile(r"^##[ \t]+(.*)$")
_FENCE = re.compile(r"^ {0,3}(`{3,}(?!.*`)|~{3,})(.*)$")
_DATED = re.compile(r"^(\d{4}-\d{2}-\d{2})(?!\d)\s*[:\u2013\u2014-]?\s*(.*)$")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: `anchor` is its date and title as an id; `line` is where it begins in the file."""

    date: dt.date | None
    title: str
    anchor: str
    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Log:
    """What stands before the first entry, and the entries in the order of the file."""

    introduction: str
    entries: tuple[Entry, ...]


def read_log(body: str, path: str, first_line: int) -> tuple[Log, list[Problem]]:
    """The entries of a body that starts on `first_line` of the file; a heading without a date is a warning,
    and so is a second block of front matter."""
    problems: list[Problem] = []
    entries: list[Entry] = []
    introduction: list[str] = []
    current: tuple[dt.date | None, str, int] | None = None
    lines: list[str] = []
    taken: dict[str, int] = {}
    fence = ""
    opened: int | None = first_line  # where front matter would begin: behind that of the spec, or at a line '---'

    def close() -> None:
        if current is None:
            introduction.extend(lines)
            return
        date, title, line = current
        base = "-".join(filter(None, (date.isoformat() if date else "", slug(title) if title else ""))) or "entry"
        count = taken.get(base, 0) + 1
        while count > 1 and f"{base}-{count}" in taken:
            count += 1
        anchor = base if count == 1 else f"{base}-{count}"
        taken[base] = count
        taken.setdefault(anchor, 1)
        entries.append(Entry(date, title, anchor, "\n".join(lines).strip("\n"), line))

    for number, line in enumerate(body.split("\n"), first_line):
        mark = _FENCE.match(line)
        if mark and not fence:
            fence = mark.group(1)
        elif mark and mark.group(1).startswith(fence) and not mark.group(2).strip():
            fence = ""
        if opened is not None and not fence and line.startswith("format:"):
            problems.append(
                Problem(
                    path,
                    opened,
                    1,
                    Severity.WARNING,
                    "a second block of front matter begins here; it is read as log text",
                    "keep one spec a file: move it to a file of its own, or delete it",
                    "spec-second-block",
                )
            )
        if line.strip():
            opened = number if line.rstrip() == "---" else None
        heading = None if fence else _HEADING.match(line)
        if heading is None:
            lines.append(line)
            continue
        close()
        lines = []
        date, title = _dated(heading.group(1).rstrip(" \t#"))
        if date is None:
            problems.append(
                Problem(
                    path,
                    number,
                    1,
                    Severity.WARNING,
                    "this log heading has no date",
                    "begin it with one, as in '## 2026-04-18: tank hung'",
                    "log-date",
                )
            )
        current = (date, title, number)
    close()
    return Log("\n".join(introduction).strip("\n"), tuple(entries)), problems


def _dated(heading: str) -> tuple[dt.date | None, str]:
    match = _DATED.match(heading)
    if match:
        try:
            return dt.date.fromisoformat(match.group(1)), match.group(2).strip()
        except ValueError:
            pass
    return None, heading.strip()
