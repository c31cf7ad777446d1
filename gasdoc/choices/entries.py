"""What every choice is told with: whether it fits, why not, its figures and where they are from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated

from msgspec import Struct

from gasdoc.quantities import UnitBeside
from gasdoc.source import CONFIRMED, Citation


class Figure(Struct, frozen=True):
    """One figure of a choice in its SI unit, with how well it is confirmed; `value` is None where it is not known."""

    value: Annotated[float | None, UnitBeside()]
    unit: str
    confirmed: str


class Why(Struct, frozen=True):
    """A reason why a choice does not fit, or why nothing can be said: a `code` for programs and a sentence for people.

    `open`: only a figure is lacking.
    """

    code: str
    text: str
    open: bool = False


class Choice(Struct, frozen=True):
    """What each entry of a list begins with: whether it `fits`, None where only figures are lacking, and if not `why_not`."""

    id: str
    fits: bool | None
    why_not: tuple[Why, ...]
    figures: dict[str, Figure]
    sources: tuple[Citation, ...]


def fits(reasons: Iterable[Why]) -> bool | None:
    """Whether a choice fits: None where only figures are lacking."""
    found = list(reasons)
    return None if found and all(why.open for why in found) else not found


def least_confirmed(*words: str) -> str:
    """Of several, how well the least confirmed is."""
    return max(words, key=list(CONFIRMED).index)


def sources(*cited: Citation | None) -> tuple[Citation, ...]:
    """Each source once."""
    return tuple(dict.fromkeys(each for each in cited if each is not None))
