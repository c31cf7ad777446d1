"""How cylinders of a country are connected, and the ends that lines there begin and end with."""

from collections.abc import Iterable

from gasdoc.catalog.rows import Sourced, read
from gasdoc.data import Entry, Some


class Fed(Entry, frozen=True):
    """A regulator's inlet, and how many containers lead to it."""

    inlet: str
    number: int


class Cylinder(Sourced, frozen=True):
    """How the cylinders of some countries are connected: `seal` says where what makes it tight sits, `turned` by what it is."""

    practice: Some[str]
    countries: str
    what: str
    connection: str
    kind: str
    seal: str
    turned: str
    ways: Some[Fed]


class LineEnds(Entry, frozen=True):
    """A regulator's outlet and the inlets of two appliances."""

    outlet: str
    inlets: tuple[str, str]


class _Lines(Sourced, frozen=True):
    practice: Some[str]
    lines: Some[LineEnds]


class _Countries(Entry, frozen=True):
    cylinders: Some[Cylinder]
    lines: Some[_Lines]


def _file() -> _Countries:
    return read("countries.yaml", _Countries)


def cylinders(practice: Iterable[str] | None = None) -> tuple[Cylinder, ...]:
    """The connections that are met in a region, by what is usual there; all of them where none is named."""
    rows = None if practice is None else {*practice}
    return tuple(row for row in _file().cylinders if rows is None or not rows.isdisjoint(row.practice))


def line_ends(practice: Iterable[str]) -> tuple[LineEnds, ...]:
    """The ends of lines in a region. Raises StopIteration where nothing is known of it."""
    rows = {*practice}
    return next(row.lines for row in _file().lines if not rows.isdisjoint(row.practice))
