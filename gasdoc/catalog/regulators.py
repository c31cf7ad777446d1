"""What regulators are sold as: inlets, sizes and connections by region."""

from collections.abc import Iterable
from typing import Annotated

from gasdoc.data import Cited, Entry, read
from gasdoc.scalars import Quantity
from gasdoc.units import Given

_Pressure = Annotated[Given, Quantity(("pressure",), above=True)]


class FirstStage(Entry, frozen=True):
    """What a regulator is sold as that feeds other regulators only, with its usual `outlet`, gauge."""

    words: str
    outlet: _Pressure


class Trade(Cited, frozen=True):
    """What a first regulator is sold as where `practice` is usual; `words` say what to ask for, `marks` what stands on it, by
    the setting."""

    practice: tuple[str, ...]
    stages: int
    words: str
    marks: dict[str, str]
    inlets: tuple[_Pressure, ...]
    usual: _Pressure
    first: FirstStage
    sizes: tuple[Annotated[Given, Quantity(("mass flow",), above=True)], ...]
    container: str
    line: str
    protection: str
    cold: str


class _File(Entry, frozen=True):
    rows: tuple[Trade, ...]


def regulators(practice: Iterable[str]) -> Trade:
    """What is sold in a region, by what is usual there. Raises KeyError where nothing is known of it."""
    file: _File = read("gasdoc.catalog", "regulators.yaml", _File)
    names = set(practice)
    for row in file.rows:
        if not names.isdisjoint(row.practice):
            return row
    raise KeyError(", ".join(sorted(names)))
