"""How pages set what specs and messages write in letters that are easy to type: °F, in. w.c., ft³, ×, −, and no line break
inside a quantity, a date or a code of a build. Code stays as it is written, because it is for specs."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, lru_cache

from gasdoc import data
from gasdoc.report.content.pieces import KEPT, opening, pieces
from gasdoc.report.content.words import first_upper

SIGNS = {"degF": "°F", "degC": "°C", "inH2O": "in. w.c."}
"""Units whose sign on paper is another than in a spec."""

_POWERS = {"2": "²", "3": "³"}
_UNITS = (
    "°F|°C|K|in\\. w\\.c\\.|ft[²³]?|in[²³]?|mm²?|cm[²³]?|m[²³]?|mi|km|psi|mbar|bar|kPa|Pa|kBtu|Btu|kWh?|W|MJ|lb|oz|kg|g|"
    "gal|L|mL|h|min|s|days?|%"
)
_SIGN = re.compile(rf"(?<![\w-])({'|'.join(SIGNS)})(?![\w-])")
_POWER = re.compile(r"(?<![\w-])(ft|in|mm|cm|m|kg/m|W/m)([23])(?![\w-])")
_NUMBER = r"\d[\d.,/]*"
_MINUS = re.compile(
    rf"(?<![\w.,/)-])-(?={_NUMBER}(?: to -?{_NUMBER})? (?:{_UNITS})(?![\w²³]))|^-(?={_NUMBER}(?:&#160;)?$)"
)
"""Of a quantity, or of a number that is all of a cell or stands before the element of its unit. In the number of a rule ("296-307-44511 to -44521") a hyphen stays one."""
_SPACE = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w²³]))")
_DATE = re.compile(r"\b(\d{4}-\d\d-\d\d|g[tb]1-[0-9a-f]{12})\b")
_ANY = re.compile(r"deg[FC]|inH2O|[a-z][23]| x |-\d|\d ")
_WHOLE = "code", "pre", "kbd", "svg", "script"
"""Elements that stay as they are, or are drawings."""

_APART = re.compile(rf"(<({'|'.join(_WHOLE)})\b.*?</\2>|<[^>]*>)", re.DOTALL)
_opened = opening(*_WHOLE)
_TEXT = re.compile(r">([^<>]+)<")
_LABEL = re.compile(r'((?:data|aria)-label=")([^"]*)')


@lru_cache(maxsize=16384)  # the pages of a build say most things more than once
def typeset(text: str) -> str:
    """A plain text as a page or a drawing shows it."""
    if not _ANY.search(text):
        return text
    text = _SIGN.sub(lambda found: SIGNS[found[1]], text)
    text = text.replace("w.c..", "w.c.")  # the sign's own dot ends the sentence too
    text = _POWER.sub(lambda found: found[1] + _POWERS[found[2]], text)
    return _SPACE.sub("\u00a0", _MINUS.sub("−", text.replace(" x ", " × ")))


class _Words(data.Entry, frozen=True):
    words: dict[str, str]


@cache
def _american() -> tuple[re.Pattern[str], dict[str, str], tuple[str, ...]]:
    """What finds the words, what each becomes, and the shortest of them: no text has a word that has none of these in it."""
    words = data.read("gasdoc.report.content", "american.yaml", _Words).words
    shortest = tuple(word for word in words if not any(other in word for other in words if other != word))
    return re.compile(rf"'[^'<>]{{1,80}}'|\b({'|'.join(words)})\b", re.IGNORECASE), words, shortest


def american(text: str) -> str:
    """A text with the words spelt as in the United States. What stands in quotes stays: keys of a spec do."""
    pattern, words, shortest = _american()
    small = text.lower()
    if not any(word in small for word in shortest):
        return text

    def spelt(found: re.Match[str]) -> str:
        word = found[1]
        if word is None:
            return found[0]
        other = words[word.lower()]
        return first_upper(other) if word[0].isupper() else other

    return pattern.sub(spelt, text)


@lru_cache(maxsize=16384)
def _set(text: str, spell: Callable[[str], str]) -> str:
    text = typeset(spell(text))
    return _DATE.sub(r'<span class="date">\1</span>', text) if "-" in text else text


def typeset_page(html: str, spell: Callable[[str], str] = str) -> str:
    """A page whose texts, drawings and labels are typeset and whose dates stay on one line; code stays as it is. `spell` spells
    its words."""
    return "\n".join(_set_piece(piece, spell) for piece in pieces(html, _opened))


@lru_cache(maxsize=KEPT)
def _set_piece(html: str, spell: Callable[[str], str]) -> str:
    parts = _APART.split(html)
    for i in range(0, len(parts), 3):
        if parts[i] and not parts[i].isspace():
            parts[i] = _set(parts[i], spell)
    for i in range(1, len(parts), 3):
        parts[i + 1] = ""  # the name of the element that stays as it is
        if parts[i].startswith("<svg"):
            parts[i] = _TEXT.sub(lambda found: f">{typeset(found[1])}<", parts[i])
        elif "-label=" in parts[i]:
            parts[i] = _LABEL.sub(lambda found: found[1] + typeset(found[2]), parts[i])
    return "".join(parts)
