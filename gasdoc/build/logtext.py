"""How much work the text of a log is to turn into HTML, counted before anybody turns it.

What reads Markdown looks at each mark again and again, so a short text can take hours. The work is told by counts of
what stands in the text, never by a clock, so the same log reads the same on every machine.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

MOST_WORK = 30_000
"""Work for the log of one spec (our choice): half a second to a second. A log of ten years has 300 entries with a table, a
list and a dozen links each, and stays below it."""

WORK_OF_ENTRY = 12
"""What an entry costs beside its text."""

_EMPTY = re.compile(r"\n(?:[ \t]*\n)+")
_MARKS = re.compile(r"[\\`*_\[\]&<|]|!(?=\[)|  \n")
_ITEM = re.compile(r" {0,3}(?:[-*+]|\d+[.)])[ \t]")
_DELIMITERS = frozenset("|:- \t")
_CROWDED = 1000  # marks that cost twice as much each, because all of them are looked at for each

_LIST_MARKS = re.compile(r"(?:[ \t]*(?:[-*+>]|\d+[.)])(?:[ \t]+|(?=>)))+")
_DEEPEST = 150  # columns of list marks before a line's own text: 75 levels
_LINK = re.compile(r"\[[^\[\]]*\](?:\([^()]*\)|\[[^\[\]]*\]|(?![(\[]))")
_MOST_STRAYS = 30  # opening brackets of a paragraph that belong to no link
_RULE = re.compile(r"^(?:#|[=*_ -]{3,}$)", re.MULTILINE)
_MOST_RULES = 200  # headings and rules without an empty line between them


def fence(line: str) -> tuple[str, str] | None:
    """The marks of a line that opens or closes a fenced block, and what stands behind them; None for another line."""
    text = line.lstrip(" ")
    mark = text[:1]
    if mark not in ("`", "~") or not text.startswith(mark * 3) or len(line) - len(text) > 3:
        return None
    rest = text.lstrip(mark)
    return None if mark == "`" and "`" in rest else (text[: len(text) - len(rest)], rest)


def closes(line: str, opened: str) -> bool:
    """Whether a line closes the fenced block that these marks opened."""
    found = fence(line)
    return found is not None and found[0].startswith(opened) and not found[1].strip()


def work(text: str) -> int:
    """The work of a text, 0 for none. Text in which lists stand too deep in lists, or marks that belong to nothing are too
    many, is more than any log may have."""
    lines = text.split("\n")
    if any((marks := _LIST_MARKS.match(line)) and len(marks[0].expandtabs(4)) > _DEEPEST for line in lines):
        return MOST_WORK + 1
    # Empty lines are taken from the front of all that is left, two by two.
    return sum(map(_of_block, filter(None, _EMPTY.split(text)))) + sum(map(str.isspace, lines), lines.count("")) // 8


def _of_block(block: str) -> int:
    """The work of what stands between two empty lines."""
    if len(_RULE.findall(block)) > _MOST_RULES:
        return MOST_WORK + 1
    if block.count("[") > _MOST_STRAYS and _LINK.sub("", block).count("[") > _MOST_STRAYS:
        return MOST_WORK + 1
    lines = block.split("\n")
    work = len(lines)
    for stretch in _stretches(block, lines):
        marks = len(_MARKS.findall(stretch))
        work += marks + marks * marks // _CROWDED
    if len(lines) > 1 and "-" in lines[1] and _DELIMITERS.issuperset(lines[1]):
        work += len(lines) * (lines[0].count("|") + 1)  # a table: as many cells in each row as in the first
    return 1 + work


def _stretches(block: str, lines: list[str]) -> Iterator[str]:
    """What is looked at in one piece: a list's items each by itself, else the whole block."""
    first = _ITEM.match(lines[0])
    if first is None:
        yield block
        return
    number = first[0].strip()[0].isdigit()
    item: list[str] = []
    for line in lines:
        mark = _ITEM.match(line)
        if mark and mark[0].strip()[0].isdigit() is number:
            yield "\n".join(item)
            item = []
        item.append(line)
    yield "\n".join(item)
