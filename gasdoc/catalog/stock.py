"""Lengths the trade sells, and what is added to a run before it is cut."""

from functools import lru_cache
from typing import Literal

from pydantic import Field

from gasdoc.catalog.rows import Length, Share, Some, Sourced, read
from gasdoc.data import Entry
from gasdoc.engineering.materials.connectors import LONGEST_BY_CODE
from gasdoc.source import Citation
from gasdoc.units import Given

_NONE = Given(0.0, "0", "", "length")


class StockRow(Sourced):
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


class ConnectorRow(Sourced):
    """The lengths (m) that a kind of connector is sold in, and the longest that its standard knows."""

    kind: str
    lengths: Some[Length]
    listed_longest: Length = Field(alias="longest")

    @property
    def longest(self) -> float:
        """The longest in m that its standard or the code knows."""
        return min(float(self.listed_longest), LONGEST_BY_CODE)


class Tail(Sourced):
    """The kind of connector that is usual."""

    kind: str


class _Tails(Entry):
    us: Tail
    si: Tail


class Allowance(Sourced):
    """What is added: a `share` of the length, or a `length` in m; the other is 0."""

    what: str
    share: Share = _NONE
    length: Length = _NONE


class _Stock(Entry):
    tubing: Some[StockRow]
    connectors: Some[ConnectorRow]
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


def connector_row(kind: str) -> ConnectorRow | None:
    """The lengths of a kind of connector; None where it is cut to length (rigid) or not listed."""
    return next((row for row in _stock().connectors if row.kind == kind), None)


def usual_tail(system: str) -> tuple[str, Citation]:
    """The kind of connector that is usual where units are "us" or "si", and its source."""
    tails = _stock().tails
    row = tails.us if system == "us" else tails.si
    return row.kind, row.source


def allowance(what: str) -> Allowance:
    """An allowance or spare share by its name. Raises KeyError for a name that is not listed."""
    listed = _stock()
    return next((row for row in (*listed.allowances, *listed.spares) if row.what == what), None) or _missing(what)


def _missing(what: str) -> Allowance:
    raise KeyError(what)
