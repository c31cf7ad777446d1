"""The texts that figures are cited from, with their editions, and what was found when a figure was looked for in them."""

import datetime as dt
import re
from functools import cache
from typing import Literal

from gasdoc import data
from gasdoc.data import Cited, Entry, Some
from gasdoc.scalars import Day, Id

_OF_A_REGION = re.compile(r"^regions/[\w-]+ (?=rules|tests)")

Verdict = Literal["agrees", "differs", "not found"]


class Edition(Cited, frozen=True, kw_only=True):
    """One edition of a text. `until` is the last day of it, None where it lasts or that is not known; `then` what took its place."""

    id: Id
    name: str
    cited_as: Some[str]
    until: Day | None = None
    then: str | None = None
    looked: Day

    def is_past(self, day: dt.date) -> bool:
        """Whether it is known to have ended before `day`."""
        return self.until is not None and self.until < day


class Look(Entry, frozen=True, kw_only=True):
    """One look for some figures in public texts: which rows it was for, what was read where, and whether it agrees.

    `at` names rows as the ledger does, a row also for all below it. `says` is in our own words.
    """

    at: Some[str]
    verdict: Verdict
    says: str
    read_in: str | None = None
    edition: str | None = None
    looked: Day


class _Texts(Entry, frozen=True):
    texts: data.ById[Edition]


class _Looks(Entry, frozen=True):
    looks: tuple[Look, ...]


@cache
def editions() -> tuple[Edition, ...]:
    """Every edition that a citation may name."""
    return data.read("gasdoc.regions", "texts.yaml", _Texts).texts


@cache
def looks() -> tuple[Look, ...]:
    """Every look, in the order of the file."""
    return data.read("gasdoc.regions", "looks.yaml", _Looks).looks


def cited_editions(citation: str) -> tuple[Edition, ...]:
    """The editions that a citation names, in the order of texts.yaml."""
    return tuple(edition for edition in editions() if any(words in citation for words in edition.cited_as))


def around(at: str) -> frozenset[str]:
    """The place of a row as the ledger names it, and those of all that it is part of; a rule or a test is also `region rules/...`,
    which says it of whichever region has such a row."""
    names = (at, *(at[:end] for end, letter in enumerate(at) if letter in "/ "))
    return frozenset((*names, *(_OF_A_REGION.sub("region ", name) for name in names)))
