"""Words: those that people write for words and keys of a spec, from `words.yaml`; the article of a noun; names in a sentence."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct

from gasdoc.kept import kept

_VOWEL = re.compile(
    r"(?!uni|euro)[aeiou]|8|1[18](?!\d)", re.IGNORECASE
)  # a union, a unit, a European one; an 80-litre one
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Meant(Struct, frozen=True):
    """What a word is here; `taken`: it is understood as that; `note` says what to look at, None where there is nothing."""

    word: str
    taken: bool
    note: str | None


@lru_cache(maxsize=1)
def _file() -> dict[str, Any]:
    file = Path(__file__).with_name("words.yaml")
    found: dict[str, Any] = kept(file, "data", lambda: yaml.load(file.read_text(encoding="utf-8"), Loader=_LOADER))  # noqa: S506  # a safe loader
    return found


def plain(word: str) -> str:
    """A word without what makes no difference: capitals, hyphens, spaces.

    >>> plain("Direct-Vent ")
    'direct vent'
    """
    return " ".join(re.split(r"[\s_-]+", word.strip().lower()))


def meant(word: str, known: Collection[str]) -> Meant | None:
    """What a word is among the words that are `known`; None where no row says so."""
    said = plain(word)
    for name in known:
        row = _file()["values"].get(name, {})
        if said == plain(name) or said in row.get("taken", ()):
            return Meant(name, True, None)
    for name in known:
        row = _file()["values"].get(name, {})
        if said in row.get("asked", ()):
            return Meant(name, False, row.get("note"))
    return None


def meant_key(key: str, known: Collection[str]) -> str | None:
    """The key that another word for it is meant for, among those that are `known`."""
    said = plain(key)
    rows: dict[str, list[str]] = _file()["keys"]
    return next((name for name in known if said in map(plain, rows.get(name, ()))), None)


def with_article(noun: str, article: str = "a") -> str:
    """A noun with its article, `a` or at the start of a sentence `A`: by its first letter, or by the number it begins with.

    >>> with_article("60-lb cylinder"), with_article("11-lb cylinder"), with_article("ASME container"), with_article("union")
    ('a 60-lb cylinder', 'an 11-lb cylinder', 'an ASME container', 'a union')
    """
    return f"{article}{'n' * bool(_VOWEL.match(noun))} {noun}"


def in_sentence(names: Iterable[str], last: str = "and") -> str:
    """Names as a sentence has them.

    >>> in_sentence(["K", "L", "M"]), in_sentence(["K", "L"], "or"), in_sentence(["K"])
    ('K, L and M', 'K or L', 'K')
    """
    *head, tail = names
    return f"{', '.join(head)} {last} {tail}" if head else tail


def other_words() -> tuple[tuple[str, ...], ...]:
    """For each word of a spec that people write otherwise: the word, and the others that are understood as it."""
    rows: dict[str, Any] = _file()["values"]
    return tuple((plain(name), *row["taken"]) for name, row in rows.items() if row.get("taken"))
