"""Lengths the trade sells, and what is added to a run before it is cut."""

from functools import lru_cache
from typing import Literal

from gasdoc.catalog.rows import Length, Share, Sourced, read
from gasdoc.data import Entry, Some
from gasdoc.source import Citation
from gasdoc.units import Given

_NONE = Given(0.0, "0", "", "length")


class StockRow(Sourced, frozen=True, kw_only=True):
    """The lengths (m) that tubing of one material and kind is sold in, of all sizes or of those listed. `units` are those
    of the regions they are sold in, None for all."""

    material: str
    kind: str | None = None
    form: Literal["coil", "length"]
    sizes: tuple[str, ...] | None = None
    lengths: Some[Length]
    units: Literal["us", "si"] | None = None

    @property
    def coil(self) -> bool:
        """Whether they are coils, or else straight lengths."""
        return self.form == "coil"


class ConnectorRow(Sourced, frozen=True):
    """The lengths (m) that a kind of connector is sold in, and the longest in m that its standard or the code knows. `units`
    are those of the regions it is sold in, None for all."""

    kind: str
    lengths: Some[Length]
    longest: Length
    units: Literal["us", "si"] | None = None


class CylinderHose(Sourced, frozen=True, kw_only=True):
    """The lengths (m) that high-pressure hoses are sold in where `practice` is usual, and the `longest` that is allowed, None
    where no figure is known. `where`: at what moves or at huts only."""

    practice: tuple[str, ...]
    where: Literal["moves", "building"] | None = None
    lengths: Some[Length]
    longest: Length | None = None
    besides: str = ""


class Tail(Sourced, frozen=True):
    """The kind of connector that is usual."""

    kind: str


class _Tails(Entry, frozen=True):
    us: Tail
    si: Tail


class Allowance(Sourced, frozen=True):
    """What is added: a `share` of the length, or a `length` in m; the other is 0."""

    what: str
    share: Share = _NONE
    length: Length = _NONE


class _Stock(Entry, frozen=True):
    tubing: Some[StockRow]
    connectors: Some[ConnectorRow]
    cylinder_hoses: Some[CylinderHose]
    tails: _Tails
    allowances: Some[Allowance]
    spares: Some[Allowance]


def _stock() -> _Stock:
    return read("stock.yaml", _Stock)


@lru_cache(maxsize=512)
def stock_rows(material: str, kind: str | None, size: str) -> tuple[StockRow, ...]:
    """What tubing of that material, kind and size id is sold in; empty where nothing is listed."""
    return tuple(
        row
        for row in _stock().tubing
        if row.material == material
        and (row.kind is None or row.kind == kind)
        and (row.sizes is None or size in row.sizes)
    )


def connector_row(kind: str, sold_in: str = "us") -> ConnectorRow | None:
    """The lengths of a kind of connector where units are "us" or "si"; None where it is cut to length (rigid) or not listed."""
    return next((row for row in _stock().connectors if row.kind == kind and row.units in (None, sold_in)), None)


def cylinder_hose(rows: tuple[str, ...], *, moves: bool) -> CylinderHose:
    """The high-pressure hoses of a region, by what is usual there, for what moves or for a hut. Raises StopIteration where none
    are listed."""
    where = "moves" if moves else "building"
    return next(row for row in _stock().cylinder_hoses if {*rows} & {*row.practice} and row.where in (None, where))


def usual_tail(system: str) -> tuple[str, Citation]:
    """The kind of connector that is usual where units are "us" or "si", and its source."""
    tails = _stock().tails
    row = tails.us if system == "us" else tails.si
    return row.kind, row.source


def allowance(what: str) -> Allowance:
    """An allowance or spare share by its name. Raises KeyError for a name that is not listed."""
    listed = _stock()
    return {row.what: row for row in (*listed.allowances, *listed.spares)}[what]
