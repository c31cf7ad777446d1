"""The links and pictures of a Markdown text, with the place of each: what a log or a page of the project points at.

The rules are those of the converter that makes the pages, so that every link of a page is found here; the tests hold one
against the other. It takes time in proportion to the text.
"""

from __future__ import annotations

import posixpath
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Container, Iterator
from itertools import pairwise
from urllib.parse import unquote, urlsplit

from msgspec import Struct

from gasdoc.build import logtext

ELSEWHERE = ("http", "https", "mailto")
"""Schemes that a link of a page may have."""


class Written(Struct, frozen=True):
    """A link as it was written, with the line and column of its target. `words` are those between its brackets, which say what
    a picture shows; None where the target stands elsewhere."""

    target: str
    line: int
    column: int
    picture: bool
    words: str | None = None


def path_of(link: str) -> str | None:
    """The path that a link names, from where it stands; None for what leads anywhere else than to a file beside or below it
    or above it."""
    try:
        parts = urlsplit(link)
    except ValueError:  # text that is no address
        return None
    if parts.scheme or parts.netloc or link.startswith("/") or not parts.path:
        return None
    return posixpath.normpath(unquote(parts.path))


def stays(link: str) -> bool:
    """Whether a link needs no file: to another site, or to a place on its own page."""
    try:
        parts = urlsplit(link)
    except ValueError:
        return False
    return parts.scheme in ELSEWHERE or not (parts.path or parts.scheme or parts.netloc)


# --- finding them ---------------------------------------------------------------------------------------------------

_INDENTED = re.compile(r" {4}| {0,3}\t")
_LIST = re.compile(r"[ \t>]*(?:[-*+]|\d+\.)(?:[ \t]|$)")
_ALONE = re.compile(
    "[ \t>]*(?:(?:[-*+]|[0-9]+\\.)[ \t]+)*(?:#|\x02|[-=_*|: \t]+$)"
)  # a heading, a fence, a rule, a table's head
_TICKS = re.compile(r"`+")
_MARK = re.compile(r"!?\[|\]")
_ESCAPE = re.compile(r"\\([\\`*_{}\[\]()>#+.!|-])")
_DEFINED = re.compile(
    r"^[ \t>]*(?:(?:[-*+]|\d+\.)[ \t]+)?\[([^\[\]]*)\]:[ ]*(?:\n[ ]*)?([^\s]+)"
    r"(?=[ ]*(?:\n[ ]*)?(?:\"[^\n]*\"|'[^\n]*'|\([^\n]*\))?[ ]*$)",
    re.MULTILINE,
)
_NAMED = re.compile(r"\s?\[([^\]]*)\]")
_BRACKETED = re.compile(r"\(\s*<([^<>]*)>\s*(?:(?:'[^']*'|\"[^\"]*\")\s*)?\)")
_FIRST = re.compile(r"\(\s{0,99}<?([^\s<>()'\"]{1,300})")
_OPEN = re.compile(r"\(\s*")
_FAR = 4000  # letters that a link and its title can have, far above any path
_LONGEST = 300  # letters of a name that stands for a target
_MOST_UNCLOSED = 40  # brackets of a paragraph that no bracket closes; the page shows such text as it stands
_MOST_INSIDE = 25  # brackets of a paragraph that stand in targets
_TAKEN, _CODE = "\x01", "\x02"  # no text that is read has them


def written(text: str, first_line: int) -> tuple[Written, ...]:
    """Every link and picture of a Markdown text whose first line has the number `first_line`, in the order of the text."""
    if "](" not in text and "]:" not in text:
        return ()
    fenced = _without_fences(text)
    plain = _ESCAPE.sub(lambda mark: _TAKEN + chr(0xE000 + ord(mark[1])), _without_spans(fenced))
    starts = [0, *(at.end() for at in re.finditer("\n", text))]
    found: list[tuple[int, str, bool, str | None]] = []
    used: dict[str, bool] = {}
    definitions = {mark.start(1) - 1: mark for mark in _DEFINED.finditer(fenced)}
    # A definition is no use of its name, unless that is defined again: one of them may be a heading by what stands below.
    names = Counter(_name(mark[1]) for mark in definitions.values())
    only = {at for at, mark in definitions.items() if names[_name(mark[1])] == 1}
    for start, end in _blocks(text):
        for at, target, picture, words in _inline(plain, start, end, only, used):
            shown = re.sub(_TAKEN + "(.)", lambda mark: chr(ord(mark[1]) - 0xE000), target)
            found.append((at, text[at : at + len(target)] if _CODE in target else shown, picture, text[slice(*words)]))
    for mark in definitions.values():
        name = _name(mark[1])
        if name in used:
            found.append((mark.start(2), text[mark.start(2) : mark.end(2)].lstrip("<").rstrip(">"), used[name], None))
    return tuple(_placed(found, starts, first_line))


def _placed(found: list[tuple[int, str, bool, str | None]], starts: list[int], first_line: int) -> Iterator[Written]:
    for at, target, picture, words in sorted(found, key=lambda one: one[:3]):
        at += len(target) - len(target.lstrip())
        line = bisect_right(starts, at) - 1
        yield Written(target.strip(), first_line + line, at - starts[line] + 1, picture, words)


def _name(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip().lower()


def _without_fences(text: str) -> str:
    """The text with what stands in fences replaced, so that every place stays the same."""
    lines = text.split("\n")
    opened = ""
    for number, line in enumerate(lines):
        mark = None if opened else logtext.fence(line)
        if opened or mark:
            lines[number] = _CODE * len(line)
        if mark:
            opened = mark[0]
        elif opened and logtext.closes(line, opened):
            opened = ""
    return "\n".join(lines)


def _without_spans(text: str) -> str:
    """The text with what stands between backticks of a paragraph replaced."""
    if "`" not in text:
        return text
    out: list[str] = []
    done = 0
    for start, end in _pieces(text):
        runs = [(mark.start() + start, len(mark[0])) for mark in _TICKS.finditer(text[start:end])]
        places: dict[int, list[int]] = {}
        for at, length in runs:
            places.setdefault(length, []).append(at)
        longest = [0]  # of the runs behind each, from the last one on
        for _, length in reversed(runs):
            longest.append(max(longest[-1], length))
        after = start
        for (at, length), behind in zip(runs, reversed(longest[:-1]), strict=True):
            if at < after:
                continue
            slash = at
            while slash > start and text[slash - 1] == "\\":
                slash -= 1
            skipped = (at - slash) % 2
            # It is closed by as many; or, where neither as many nor more follow, by most of those that do.
            for ticks in (length - skipped, behind):
                others = places.get(ticks, [])
                place = bisect_right(others, at)
                if 0 < ticks <= length - skipped and place < len(others):
                    close = others[place] + ticks
                    out.append(text[done : at + skipped])
                    out.append(re.sub(r"[^\n]", _CODE, text[at + skipped : close]))
                    done = after = close
                    break
    out.append(text[done:])
    return "".join(out)


def _pieces(text: str) -> Iterator[tuple[int, int]]:
    """Where each paragraph, point of a list, heading, row of a table and definition begins and ends: a span of code stays in
    one."""
    ends = {0, len(text)}
    at = 0
    quoted = table = False
    for line in text.split("\n"):
        after = min(at + len(line) + 1, len(text))
        empty, alone, quote = not line.strip(), bool(_ALONE.match(line)), line.lstrip(" ").startswith(">")
        if empty or alone or table or (quote and not quoted) or _LIST.match(line):
            ends.add(at)
        if alone or table:
            ends.add(after)
        table = not empty and (table or (alone and "-" in line and "|" in line))
        quoted = not empty and (quoted or quote)
        at = after
    for mark in _DEFINED.finditer(text):
        ends |= {mark.start(), mark.end()}
    yield from pairwise(sorted(ends))


def _blocks(text: str) -> Iterator[tuple[int, int]]:
    """Where each paragraph begins and ends, without those that are code because they are indented."""
    start = at = 0
    in_list = False
    lines: list[str] = []
    for line in [*text.split("\n"), ""]:
        if line.strip():
            lines.append(line)
        elif lines:
            if any(_LIST.match(other) for other in lines):
                in_list = True
            elif not _INDENTED.match(lines[0]):
                in_list = False
            if in_list or not all(_INDENTED.match(other) for other in lines):
                yield start, min(at, len(text))
            lines = []
        at += len(line) + 1
        if not lines:
            start = at


def _inline(
    text: str, begin: int, end: int, definitions: Container[int], used: dict[str, bool]
) -> Iterator[tuple[int, str, bool, tuple[int, int]]]:
    """The links with a target of their own in a paragraph, and where their words begin and end; the names of those with a
    target elsewhere go into `used`."""
    opened: list[tuple[int, bool]] = []
    unclosed = inside = after = 0
    for mark in _MARK.finditer(text, begin, end):
        if mark.start() < after and (inside := inside + 1) > _MOST_INSIDE:
            continue  # what stands in a target may still be a link, or end one
        if mark[0] != "]":
            opened.append((mark.end(), mark[0] == "!["))
            continue
        if not opened:
            continue
        start, picture = opened.pop()
        following = text[mark.end() : mark.end() + 1]
        if following == "(":
            target = _target(text[mark.end() : min(mark.end() + _FAR, end)])
            if target is not None:
                at, shown = mark.end() + target[0], target[1]
                yield at, shown, picture, (start, mark.start())
                after = max(after, at + len(shown))
            elif (unclosed := unclosed + 1) > _MOST_UNCLOSED:
                return
            elif mark.end() + _FAR < end and (far := _FIRST.match(text, mark.end())):  # its title is longer than that
                yield far.start(1), far[1], picture, (start, mark.start())
        name = _NAMED.match(text, mark.end(), mark.end() + _LONGEST) if following in ("[", " ", "\n") else None
        own = "" if start - 1 in definitions else text[start : min(mark.start(), start + _LONGEST + 1)]
        for words in (name[1] if name is not None else "", own):
            if 0 < len(words) <= _LONGEST:
                used[_name(words)] = used.get(_name(words), False) or picture


def _target(text: str) -> tuple[int, str] | None:
    """Place and text of the target in the bracket that a text begins with; None where it does not end."""
    bracketed = _BRACKETED.match(text)
    if bracketed:
        return bracketed.start(1), bracketed[1]
    begin = _OPEN.match(text)
    assert begin is not None
    end = _end(text, begin.end())
    return (begin.end(), text[begin.end() : end]) if end is not None else None


def _end(text: str, start: int) -> int | None:
    """Where a target that begins at `start` ends, before its title; None where its bracket is not closed.

    Round brackets inside it come in pairs. From a quotation mark on they need not, if the mark is closed just before the
    last bracket: then the quoted part is the title.
    """
    depth, spare, fallback = 1, 1, None
    first = second = last = ""
    first_at = second_at = -1
    first_closed = second_closed = False
    for at in range(start, len(text)):
        c = text[at]
        titled = (first_closed and last == first) or (second_closed and last == second)
        if c == "(" and not first:
            depth += 1
        elif c == ")" and titled:
            return first_at if first_closed and last == first else second_at
        elif c == ")" and not first:
            depth -= 1
            if depth == 0:
                return at
        elif c in "()" and spare:
            spare -= 1
            if c == ")" and spare == 0:
                fallback = at
        elif c in "'\"":
            if not first:
                first, first_at, spare = c, at, depth
            elif c == first:
                first_closed = True
            elif not second:
                second, second_at = c, at
            else:
                second_closed = True
        if c != " ":
            last = c
    return fallback
