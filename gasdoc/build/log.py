"""The build log: the Markdown body of a spec, split into dated entries."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build import logtext
from gasdoc.build.links import Written, written
from gasdoc.build.supply import slug
from gasdoc.source import Problem, Severity, control_character, is_control

_HEADING = re.compile(r"^##[ \t]+(.*)$")
_NUMBERED = re.compile(r"&(?:#(?:[0-9]{1,7}|[xX][0-9a-fA-F]{1,6})|[lr]lm);?")
_DATED = re.compile(r"^(\d{4}-\d{2}-\d{2})(?!\d)\s*[:\u2013\u2014-]?\s*(.*)$")


MOST_ENTRIES = 10_000
"""Entries of a log: one a day for 27 years (our choice)."""


class LogEntry(Struct, frozen=True):
    """One entry: `anchor` is its date and title as an id; `line` is where it begins in the file. `plain` text is more work
    than a log may be, and is shown as it stands; `links` is what its text links."""

    date: dt.date | None
    title: str
    anchor: str
    text: str
    line: int
    plain: bool = False
    links: tuple[Written, ...] = ()


class Log(Struct, frozen=True):
    """What stands before the first entry, which may be `plain` like theirs, and the entries in the order of the file."""

    introduction: str
    entries: tuple[LogEntry, ...]
    plain: bool = False
    links: tuple[Written, ...] = ()
    """What the introduction links."""


def read_log(body: str, path: str, first_line: int) -> tuple[Log, list[Problem]]:
    """The entries of a body that starts on `first_line` of the file; a heading without a date is a warning,
    and so is a second block of front matter."""
    problems = [
        problem
        for number, line in enumerate(body.split("\n"), first_line)
        for problem in _written_as_numbers(line, path, number)
    ]
    entries: list[LogEntry] = []
    introduction: list[str] = []
    current: tuple[dt.date | None, str, int] | None = None
    lines: list[str] = []
    taken: dict[str, int] = {}
    full = False
    fence: tuple[str, int] | None = None  # the marks that opened a fenced block, and their line
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
        text = "\n".join(lines)
        entries.append(LogEntry(date, title, anchor, text.strip("\n"), line, links=written(text, line + 1)))

    for number, line in enumerate(body.split("\n"), first_line):
        if fence is None:
            mark = logtext.fence(line)
            fence = (mark[0], number) if mark else None
        elif logtext.closes(line, fence[0]):
            fence = None
        if opened is not None and not fence and line.startswith("format:"):
            problems.append(
                Problem(
                    path,
                    opened,
                    1,
                    Severity.WARNING,
                    "a second block of front matter begins here. It is read as log text",
                    "keep one spec a file: move it to a file of its own, or delete it",
                    "spec-second-block",
                )
            )
        if line.strip():
            opened = number if line.rstrip() == "---" else None
        heading = None if fence or full else _HEADING.match(line)
        if heading is not None and current is not None and len(entries) + 1 == MOST_ENTRIES:
            full, heading = True, None
            problems.append(
                Problem(
                    path,
                    number,
                    1,
                    Severity.WARNING,
                    "this heading and those that follow it begin no entries",
                    f"a log has at most {MOST_ENTRIES:,}. Put several days into one entry",
                    "log-entries",
                )
            )
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
    if fence is not None:
        problems.append(
            Problem(
                path,
                fence[1],
                1,
                Severity.WARNING,
                "nothing closes the block that begins here, so all that follows is in it",
                f"close it with a line '{fence[0][:10]}'",
                "log-fence",
            )
        )
    before = "\n".join(introduction)
    log = Log(before.strip("\n"), tuple(entries), links=written(before, first_line))
    return _measured(log, path, first_line, problems), problems


def _measured(log: Log, path: str, first_line: int, problems: list[Problem]) -> Log:
    """The log, with each text marked as plain that is more work than those before it have left; the first is told."""
    left = logtext.MOST_WORK
    plain: list[bool] = []
    for line, text in [(first_line, log.introduction), *((entry.line, entry.text) for entry in log.entries)]:
        work = logtext.work(text) + logtext.WORK_OF_ENTRY
        if work > left and not any(plain):
            problems.append(
                Problem(
                    path,
                    line,
                    1,
                    Severity.WARNING,
                    "this text is too much to format, so it is shown as it stands",
                    f"a log has at most {logtext.MOST_WORK:,} lines, table cells, links and marks. Make its tables and "
                    "lists smaller, and take out brackets, rules and lists in lists that belong to nothing",
                    "log-work",
                )
            )
        plain.append(work > left)
        left -= 0 if work > left else work
    entries = tuple(
        replace(entry, plain=one, links=() if one else entry.links)
        for entry, one in zip(log.entries, plain[1:], strict=True)
    )
    return replace(log, entries=entries, plain=plain[0], links=() if plain[0] else log.links) if any(plain) else log


def _written_as_numbers(line: str, path: str, number: int) -> Iterator[Problem]:
    """Characters that no text may hold, written as HTML writes them: the page would have them."""
    for found in _NUMBERED.finditer(line):
        from html import unescape

        character = unescape(found[0])
        if len(character) == 1 and is_control(character):
            what, remedy = control_character(character)
            yield Problem(path, number, found.start() + 1, Severity.ERROR, what, remedy, "file-control-character")


def _dated(heading: str) -> tuple[dt.date | None, str]:
    match = _DATED.match(heading)
    if match:
        try:
            return dt.date.fromisoformat(match.group(1)), match.group(2).strip()
        except ValueError:
            pass
    return None, heading.strip()
