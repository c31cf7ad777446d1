"""The usual cautions, and which of them a build of a region is told."""

from collections.abc import Iterable
from typing import Annotated, Literal

from msgspec import field

from gasdoc import data, units
from gasdoc.data import Cited, Entry, Some
from gasdoc.regions.practice import Practice, Row
from gasdoc.scalars import Id, choice, problem

CAUTION_GROUPS = ("before", "joints", "container", "testing", "living", "emergency", "carbon-monoxide")
AT_THE_DOOR = ("emergency", "carbon-monoxide")
"""The groups whose cautions are steps, in the order to take them."""

CAUTION_CONDITIONS = (
    "always",
    "vehicle",
    "trailer",
    "boat",
    "cabin",
    "sleeping",
    "cold",
    "altitude",
    "exchanged-cylinder",
    "permanent-container",
    "inside-locker",
    "flueless",
    "csst",
    "csst-moving",
    "copper",
    "steel",
    "pe",
    "butane",
    "two-stage",
    "regulator-hose",
    "engine",
    "handwheel",
    "clip-on",
    "handle-not-known",
)

_Condition = Annotated[str, choice(*CAUTION_CONDITIONS)]


class Caution(Cited, frozen=True, kw_only=True):
    """A usual caution. `short` is its one-line form, for the most important ones only; `pages` are the pages of a build whose
    first screen it stands on.

    `door` is what the sheet for the door says in letters to be read from two metres, for the steps of an emergency only.

    `text_us` is the text in US units with what holds there, None where one text is for all. It is shown to a build that has a
    condition of `when` and, if `also` has any, one of those; where `practice` names any, in regions of such a practice only.
    """

    id: Id
    group: Annotated[str, choice(*CAUTION_GROUPS)]
    text: str
    text_us: str | None = None
    why: str | None = None
    when: Some[_Condition]
    also: tuple[_Condition, ...] = field(default=(), name="and")
    practice: tuple[Row, ...] = ()
    short: str | None = None
    door: str | None = None
    pages: tuple[str, ...] = ()

    def _checked(self) -> None:
        """Every step of an emergency has its words for the door, and nothing else has."""
        if (self.group in AT_THE_DOOR) != (self.door is not None):
            raise problem("data-door", "'door' goes with the steps of an emergency", "write it at each of them")

    def said(self, shown: units.System) -> str:
        """The text in the units a build's pages show first."""
        return self.text_us if self.text_us is not None and shown == "us" else self.text


class Shutting(Cited, frozen=True):
    """How a valve is shut, in one sentence; `id` is what it is shut with."""

    id: Id
    text: str


class _Cautions(Entry, frozen=True):
    cautions: data.ById[Caution]
    shutting: data.ById[Shutting]


def shutting(handle: Literal["handwheel", "clip-on", "in-line"]) -> Shutting:
    """How a valve with that handle is shut; "in-line" is one in the line, whatever handle it has."""
    return next(row for row in _read().shutting if row.id == handle)


def _read() -> _Cautions:
    return data.read("gasdoc.regions", "cautions.yaml", _Cautions)


def cautions(conditions: frozenset[str], practice: Practice) -> tuple[Caution, ...]:
    """The cautions for a build that has `conditions`, in file order: those with any of them, and those for always.

    Raises ValueError for a condition that is not in CAUTION_CONDITIONS.
    """
    refuse_unknown(conditions, CAUTION_CONDITIONS)
    has = conditions | {"always"}
    return tuple(
        c
        for c in _read().cautions
        if not has.isdisjoint(c.when) and (not c.also or not has.isdisjoint(c.also)) and practice.takes(c.practice)
    )


def refuse_unknown(conditions: frozenset[str], allowed: Iterable[str]) -> None:
    """Raise ValueError for a condition that is not in the closed list."""
    unknown = sorted(conditions.difference(allowed))
    if unknown:
        raise ValueError(f"unknown conditions: {', '.join(unknown)}")
