"""What stands behind a field of a result: the unit of its number, and how it is written as data.

`load: Watt` is an ordinary float that holds watts. The unit stands in the annotation, where the JSON and its description
read it; nothing looks at it while a build is worked out. A field that says nothing here is written whole.
"""

from __future__ import annotations

from typing import Annotated, TypeVar

from msgspec import Struct

T = TypeVar("T")


class Aside(Struct, frozen=True):
    """The field is not written as data, and `why`."""

    why: str


class By:
    """Of this value only the fields `names` are written; of one field its value alone."""

    def __init__(self, *names: str) -> None:
        self.names = names


class UnitOf(Struct, frozen=True):
    """The unit is not the same for all: the property `name` of the owner says it."""

    name: str


class UnitBeside(Struct, frozen=True):
    """The number alone is written: its unit is a field of its own beside it."""


class Known(Struct, frozen=True):
    """A figure of the code: `what` it is, its `source`, and how well that is `confirmed`, in the words of the data files. The
    ledger has every one."""

    what: str
    source: str
    confirmed: str


class Told:
    """Marks a property that is written as data beside the fields."""


class Endless:
    """Marks a number that may be infinite, and is null then."""


class Rare:
    """Marks a field that is written only where there is something in it."""


MONEY = "money"
"""Stands for the currency of the build's price list."""

Ratio = Annotated[float, "1"]
Metre = Annotated[float, "m"]
SquareMetre = Annotated[float, "m2"]
CubicMetre = Annotated[float, "m3"]
Kilogram = Annotated[float, "kg"]
Second = Annotated[float, "s"]
Day = Annotated[float, "day"]
Kelvin = Annotated[float, "K"]
Pascal = Annotated[float, "Pa"]
Newton = Annotated[float, "N"]
Joule = Annotated[float, "J"]
Watt = Annotated[float, "W"]
KilogramPerSecond = Annotated[float, "kg/s"]
CubicMetrePerSecond = Annotated[float, "m3/s"]
MetrePerSecond = Annotated[float, "m/s"]
JoulePerKilogramKelvin = Annotated[float, "J/(kg K)"]
WattPerSquareMetreKelvin = Annotated[float, "W/(m2 K)"]
Money = Annotated[float, MONEY]
Shown = Annotated[T, Told]
Seldom = Annotated[T | None, Rare]
