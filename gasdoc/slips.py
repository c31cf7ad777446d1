"""What is most likely wrong with text that is no YAML, in a builder's words and at its place.

A parser says where it could not go on, which is often many lines behind the slip: a quote that is not closed ends at the
next one. So the lines are looked through, from the top to where the parser stopped, for what people do get wrong.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from msgspec import Struct

_ENTRY = re.compile(
    r"(?P<lead>\s*(?:-\s+)*)(?P<key>[^\s\"'{}\[\],#&*!|>%@`-][^\"'{}\[\],#]*?)\s*:(?=\s|$)\s*(?P<value>.*)"
)
_GLUED = re.compile(r"\s*(?:-\s+)*(?P<key>[A-Za-z_][\w-]*):(?P<value>[^\s:/][^:]*)$")
_BLOCK = re.compile(r"[|>][-+\d]*\s*(#.*)?")
_SIGNS = {
    "@": "an at sign",
    "`": "a backtick",
    "%": "a percent sign",
    "&": "an ampersand",
    "*": "an asterisk",
    "|": "an upright stroke",
    ">": "a greater-than sign",
}
_PAIRS = {"{": "}", "[": "]"}
_SHOWN = 40  # letters of a value that a message repeats
_LONGEST_TEXT = 200  # lines over which a text in quotes is followed


class Slip(Struct, frozen=True):
    """What is wrong, what would be right, and where: line and column from 0."""

    line: int
    column: int
    what: str
    hint: str


def find_slip(text: str, line: int, column: int) -> Slip:
    """The first slip in the lines up to the one where a parser stopped; that place itself where none is recognised."""
    lines = text.split("\n")
    stopped = min(line, len(lines) - 1)
    found = next(_slips(lines, stopped), None) or _indent(lines, stopped)
    return found or Slip(
        line,
        column,
        "what stands here does not fit what stands above it",
        "check the indent of this line and the one above, and that quotes and brackets above are closed",
    )


def _slips(lines: list[str], stopped: int) -> Iterator[Slip]:
    """Every slip in the lines up to `stopped` that can be told from them alone. `open_` are brackets not closed yet, `below`
    is the indent of the key whose text of several lines is being passed over, and `quoted` the last line of one in quotes."""
    open_: list[tuple[str, int, int]] = []
    below, quoted = -1, -1
    for number, line in enumerate(lines[: stopped + 1]):
        bare = line.lstrip(" ")
        indent = len(line) - len(bare)
        if number <= quoted or not bare or bare.startswith("#") or (below >= 0 and indent > below):
            continue
        below = -1
        if line.startswith("...") and not line.strip("."):
            yield Slip(number, 0, "a line of three dots ends the block", "take it out")
            return
        if bare.startswith("\t"):
            yield Slip(number, indent, "a tab is used to indent", "indent with spaces, two for each level")
            return
        entry = _ENTRY.match(line)
        if open_ and entry and indent <= _indent_of(lines[open_[0][1]]):
            yield _not_closed(open_[-1])
            return
        if not open_:
            start = entry.start("value") if entry else len(line) - len(bare.lstrip("- "))
            value = "" if line[start : start + 1] == "#" else line[start:]  # a comment behind an empty key
            if _BLOCK.fullmatch(value):
                below = indent
                continue
            if value[:1] in ('"', "'") and (last := _closed_below(lines, number, start)) is not None:
                quoted = last
                continue
            yield from _value(number, start, value, named=entry is not None)
            if entry is None and (glued := _GLUED.match(_uncommented(line))):
                yield Slip(
                    number,
                    glued.start("value"),
                    "there is no space after the colon",
                    f"write '{glued['key']}: {_short(glued['value'])}'",
                )
            if value[:1] not in _PAIRS:
                continue
        else:
            start = 0
        yield from _brackets(number, start, line, open_)
    if open_:
        yield _not_closed(open_[-1])


def _not_closed(bracket: tuple[str, int, int]) -> Slip:
    sign, number, column = bracket
    return Slip(number, column, f"the bracket '{sign}' is not closed", f"end it with '{_PAIRS[sign]}'")


def _value(number: int, start: int, value: str, *, named: bool) -> Iterator[Slip]:
    """What is wrong with a value that stands on a line of its own or behind its key."""
    first = value[:1]
    if first in ('"', "'"):
        yield from _quoted(number, start, value)
    elif first in _SIGNS and not _BLOCK.fullmatch(value):
        yield Slip(
            number,
            start,
            f"a value cannot begin with {_SIGNS[first]}",
            f'put it in quotes, as in "{_short(_plain(value))}"',
        )
    elif first and first not in _PAIRS and named:
        plain = _plain(value)
        closing = next((i for i, sign in enumerate(plain) if sign in "}]"), None)
        colon = re.search(r":(?=\s|$)", plain)
        if colon and closing is not None and not any(sign in plain for sign in "{["):
            yield Slip(
                number,
                start + closing,
                f"'{plain[closing]}' has no bracket that it closes",
                "open it in front of the first key",
            )
        elif colon:
            yield Slip(
                number,
                start + colon.start(),
                "a value with a colon has to stand in quotes",
                f'write "{_short(plain)}", or begin a new line if it is a key',
            )


def _closed_below(lines: list[str], number: int, start: int) -> int | None:
    """The later line on which a quote ends that begins here; None where it ends on this line, or only behind another key."""
    sign = lines[number][start]
    if _end_of_quote(lines[number], start) is not None:
        return None
    for below in range(number + 1, min(number + _LONGEST_TEXT, len(lines))):
        if _ENTRY.match(lines[below]):
            return None
        if _end_of_quote(sign + lines[below], 0) is not None:
            return below
    return None


def _quoted(number: int, start: int, value: str) -> Iterator[Slip]:
    """A value in quotes: closed on its line, nothing behind it, no backslash that means nothing."""
    sign = value[0]
    end = _end_of_quote(value, 0)
    if end is None:
        yield Slip(number, start, f"the quote {sign} is not closed", f"end the text with {sign}")
        return
    behind = value[end + 1 :].lstrip()
    if behind and not behind.startswith(("#", ":")):
        at = start + len(value) - len(behind)
        inch = ", and write inches as 'in'" if sign == '"' else ""
        yield Slip(
            number, at, "text stands behind the closing quote", f"put the whole text in one pair of quotes{inch}"
        )
    if sign == '"' and (escape := re.search(r"\\(?![\\\"/0abtnvfrexuUNLP_ ])", value[: end + 1])):
        yield Slip(
            number,
            start + escape.start(),
            "a backslash means something of its own in double quotes",
            "write it twice, or use single quotes",
        )


def _brackets(number: int, start: int, line: str, open_: list[tuple[str, int, int]]) -> Iterator[Slip]:
    """Follow brackets through a line; what is wrong in them. Keys in braces have commas between them."""
    position, entry_from, colons = start, start, 0
    while position < len(line):
        sign = line[position]
        if sign in "\"'" and line[:position].rstrip()[-1:] in ("", ":", ",", "{", "[", "-"):
            end = _end_of_quote(line, position)
            if end is None:
                yield Slip(number, position, f"the quote {sign} is not closed", f"end the text with {sign}")
                return
            position = end
        elif sign == "#" and (position == 0 or line[position - 1] in " \t"):
            return
        elif sign in _PAIRS:
            open_.append((sign, number, position))
            entry_from, colons = position + 1, 0
        elif sign in "}]":
            if not open_ or _PAIRS[open_[-1][0]] != sign:
                if any(_PAIRS[other] == sign for other, _, _ in open_):  # it closes one around the last
                    yield _not_closed(open_[-1])
                    return
                yield Slip(number, position, f"'{sign}' has no bracket that it closes", "check the brackets before it")
                return
            open_.pop()
            entry_from, colons = position + 1, 0
            if not open_:
                behind = line[position + 1 :].lstrip()
                if behind and not behind.startswith("#"):
                    yield Slip(
                        number,
                        len(line) - len(behind),
                        "text stands behind the closing bracket",
                        "take it out, or put it in the brackets",
                    )
                return
        elif sign == ",":
            entry_from, colons = position + 1, 0
        elif sign == ":" and line[position + 1 : position + 2] in ("", " ") and open_ and open_[-1][0] == "{":
            colons += 1
            if colons == 2:
                words = line[entry_from:position].split()
                at = line.rindex(words[-1], 0, position) if words else position
                yield Slip(
                    number,
                    at,
                    f"a comma is missing before '{line[at:position].strip()}'",
                    "put commas between keys in braces",
                )
                return
        position += 1


def _indent(lines: list[str], stopped: int) -> Slip | None:
    """A line whose indent is that of none of what it could belong to, or that has no key."""
    last = next((i for i in range(stopped, -1, -1) if lines[i].strip() and not lines[i].lstrip().startswith("#")), None)
    if last is None:
        return None
    levels: list[int] = []
    members: dict[int, list[int]] = {}  # the lines at each level of now
    previous = ""
    for number in range(last + 1):
        line = lines[number]
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        indent, above = _indent_of(line), list(levels)
        if number == last:  # only keys stand beside keys, and items beside items
            item = _begins_item(line, indent)
            alike = [at for at in levels if any(_begins_item(lines[i], at) == item for i in members[at])]
            above = alike or above
        deeper = bool(levels) and indent > levels[-1]
        opens = previous.endswith(":") or previous.startswith("- ")
        left: list[int] = []
        while levels and levels[-1] > indent:
            left = members.pop(levels.pop())
        fits = (deeper and opens) or not above or (bool(levels) and levels[-1] == indent)
        if number == last and not fits:
            first = left or members[levels[-1]]
            if len(first) == 1 and _content_of(lines[first[0]]) is None and _below(lines, number) == indent:
                # The first key of a block is the odd one, not all those below it.
                return Slip(
                    first[0],
                    _indent_of(lines[first[0]]),
                    "this line is not indented like those below it",
                    f"give it {indent} spaces, as '{_short(_plain(line.strip()))}' has",
                )
            near = min(above, key=lambda level: (abs(level - indent), -level))
            other = 2 * indent - near  # as near on the other side: only its author knows which was meant
            or_ = f", or {other}, as {_at(lines, number, other)} has" if other != near and other in above else ""
            return Slip(
                number,
                indent,
                "this line is indented like none that it could belong to",
                f"give it {near} spaces, as {_at(lines, number, near)} has{or_}",
            )
        if not levels or levels[-1] != indent:
            levels.append(indent)
        members.setdefault(indent, []).append(number)
        if (content := _content_of(line)) is not None:  # what else the item holds begins where its first key does
            levels.append(content)
            members[content] = [number]
        previous = _plain(line.strip())
    said = [i for i in range(last, -1, -1) if lines[i].strip() and not lines[i].lstrip().startswith("#")]
    for number in said[:2]:
        bare = _plain(lines[number].strip())
        if not re.search(r":(\s|$)|^-|^[\[{\"'}\]]", bare):
            return Slip(number, _indent_of(lines[number]), f"'{_short(bare)}' has no key", "write it as 'key: value'")
    return None


def _below(lines: list[str], number: int) -> int | None:
    """The indent of the next line that says something; None where there is none."""
    return next((_indent_of(line) for line in lines[number + 1 :] if _uncommented(line).strip(" #")), None)


def _at(lines: list[str], before: int, indent: int) -> str:
    """What begins with that indent on the nearest line above, in quotes."""
    return next(
        (
            f"'{_short(_plain(lines[i][indent:]))}'"
            for i in range(before - 1, -1, -1)
            if lines[i].strip() and indent in (_indent_of(lines[i]), _content_of(lines[i]))
        ),
        "the line above",
    )


def _indent_of(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def _begins_item(line: str, indent: int) -> bool:
    return line.startswith("- ", indent)


def _content_of(line: str) -> int | None:
    """Where the first key of an item of a list begins; None where the line begins no item with a key."""
    entry = _ENTRY.match(line)
    return entry.end("lead") if entry and "-" in entry["lead"] else None


def _end_of_quote(text: str, start: int) -> int | None:
    """Where the quote that begins at `start` ends."""
    sign, position = text[start], start + 1
    while position < len(text):
        if text[position] == "\\" and sign == '"':
            position += 1
        elif text[position] == sign:
            if sign == "'" and text[position + 1 : position + 2] == "'":
                position += 1
            else:
                return position
        position += 1
    return None


def _uncommented(line: str) -> str:
    """A line without the comment at its end."""
    return re.split(r"\s#", line, maxsplit=1)[0].rstrip()


def _plain(value: str) -> str:
    """A value without the comment behind it."""
    return _uncommented(value).strip()


def _short(text: str) -> str:
    text = text.strip()
    return text if len(text) <= _SHOWN else text[:_SHOWN].rstrip() + "…"
