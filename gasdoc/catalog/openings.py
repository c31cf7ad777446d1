"""Openings for tubing, guards outside, and the tools of a job."""

from functools import cache
from typing import Annotated, Literal

from gasdoc.catalog.rows import Length, Sourced, read
from gasdoc.data import ById, DataError, Each, Entry, Some
from gasdoc.engineering.materials.openings import Lining, PassageRule
from gasdoc.engineering.materials.tools import Tool
from gasdoc.scalars import Bounds
from gasdoc.source import Citation


class _Passage(Sourced, frozen=True):
    lining: Lining
    clearance: Length
    lining_wall: Length
    plate: bool
    seal: Annotated[str, Bounds(min_length=0)]


class Plate(Sourced, frozen=True):
    """Within which distance of a face (m) softer tubing than steel gets a plate, how thick and how far past the timber (m)."""

    within: Length
    thickness: Length
    beyond: Length


class _Saws(Sourced, frozen=True):
    sizes: Some[Length]


class _SawsBySystem(Entry, frozen=True):
    us: _Saws
    si: _Saws


class _Jackets(Sourced, frozen=True):
    values: Each[Length]


class Guard(Sourced, frozen=True, kw_only=True):
    """What protects a run that lies outside on something that is moving or standing, `per` length or run; `if_needed`: only
    where its words say; `family`: for tubing of that family only."""

    id: str
    where: Literal["moving", "standing"]
    per: Literal["length", "run"]
    if_needed: bool
    family: str | None = None
    name: str

    @property
    def by_length(self) -> bool:
        """Whether it is bought by length, or else one a run."""
        return self.per == "length"


class _Openings(Entry, frozen=True):
    passages: Each[_Passage]
    plate: Plate
    saws: _SawsBySystem
    csst_outside: _Jackets
    guards: ById[Guard]


class _ToolRow(Entry, frozen=True):
    id: str
    name: str
    when: Some[str]
    why: str


class _Tools(Entry, frozen=True):
    tools: ById[_ToolRow]


def _openings() -> _Openings:
    return read("openings.yaml", _Openings)


def listed_guards() -> tuple[Guard, ...]:
    """The listed guards, in order."""
    return _openings().guards


def plate() -> Plate:
    """The plate that guards from a nail."""
    return _openings().plate


@cache
def passage_rule(place: str) -> tuple[PassageRule, Citation]:
    """What a passage through a floor, wall, ... needs, and its source. Raises DataError for a place that is not listed."""
    row = _openings().passages.get(place)
    if row is None:
        raise DataError(f"openings.yaml: passages: '{place}' is missing")
    rule = PassageRule(
        place=place,
        lining=row.lining,
        clearance=float(row.clearance),
        lining_wall=float(row.lining_wall),
        plate=row.plate,
        seal=row.seal,
    )
    return rule, row.source


def hole_saws(system: str) -> tuple[float, ...]:
    """The hole saws (m) on the market, smallest first: system "us" or "si"."""
    saws = _openings().saws
    return tuple(float(size) for size in (saws.us if system == "us" else saws.si).sizes)


def csst_outside(ehd: str) -> tuple[float, Citation] | None:
    """The outside diameter (m) over the jacket of corrugated tubing "EHD 18"; None where not listed."""
    listed = _openings().csst_outside
    across = listed.values.get(ehd.removeprefix("EHD "))
    return None if across is None else (float(across), listed.source)


@cache
def tools() -> tuple[Tool, ...]:
    """The listed tools, in order; all common practice."""
    return tuple(Tool(row.id, row.name, frozenset(row.when), row.why) for row in read("tools.yaml", _Tools).tools)
