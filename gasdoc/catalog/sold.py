"""Which kinds of container are sold where, what for, and how their gas is had."""

from functools import cache
from typing import Annotated, Literal

from msgspec import field

from gasdoc.data import Cited, Entry, read
from gasdoc.scalars import Quantity, choice
from gasdoc.source import Citation
from gasdoc.units import Given

How = Literal["exchanged", "filled", "truck"]

HOW_WORDS: dict[How, str] = {
    "exchanged": "exchanged, full for empty",
    "filled": "filled by a dealer",
    "truck": "filled by a truck where it stands",
}


class Sold(Cited, frozen=True, kw_only=True):
    """Kinds that are sold alike; `practice` names the regions by what is usual there, none for all of their trade."""

    kinds: tuple[str, ...]
    settings: tuple[Annotated[str, choice("cabin", "trailer", "vehicle", "boat")], ...]
    practice: tuple[str, ...] = ()
    how: tuple[How, ...]


class Lifting(Cited, frozen=True):
    """The weights, kg, that one person lifts, and that anybody lifts."""

    alone: Annotated[Given, Quantity(("mass",))]
    at_all: Annotated[Given, Quantity(("mass",))]


class _File(Entry, frozen=True):
    rows: tuple[Sold, ...]
    road_tanks: tuple[Annotated[Given, Quantity(("volume",))], ...]
    road_tanks_cited: str = field(name="road_tanks_citation")
    road_tanks_confirmed: str
    lifting: Lifting


def _file() -> _File:
    found: _File = read("gasdoc.catalog", "sold.yaml", _File)
    return found


@cache
def sold(kind: str) -> Sold:
    """How the kind of that id is sold. Raises KeyError for one that has no row."""
    for row in _file().rows:
        if kind in row.kinds:
            return row
    raise KeyError(kind)


def road_tanks() -> tuple[tuple[Given, ...], Citation]:
    """The water capacities of the tanks usual on the road, small to large, and where from."""
    file = _file()
    return file.road_tanks, Citation(file.road_tanks_cited, file.road_tanks_confirmed)


def lifting() -> Lifting:
    """What people lift."""
    return _file().lifting
