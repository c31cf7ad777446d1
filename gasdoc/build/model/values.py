"""The quantities a spec may state, the codes a key may belong to, and what every block of a spec has in common."""

from __future__ import annotations

import typing
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, model_validator

from gasdoc.catalog.appliances import day
from gasdoc.scalars import Quantity, UseOfADay
from gasdoc.units import Given


# What validates a spec is pickled, so these are no lambdas.
def _sea_level() -> Mapping[str, Given]:
    return {"sea level": Given(0.0, "0 m", "m", "length")}


def _words_of_a_day() -> Mapping[str, Given]:
    return day().words


Length = Annotated[Given, Quantity(("length",))]
PositiveLength = Annotated[Given, Quantity(("length",), above=True)]
Height = Annotated[Given, Quantity(("length",), least=None)]
SmallLength = Annotated[Given, Quantity(("length",), usual=1.0, such_as=("1/2 in",))]
Bore = Annotated[
    Given,
    Quantity(("length",), above=True, most=0.1, bounds="more than zero, up to 100 mm", usual=0.1, such_as=("3/8 in",)),
]
SupportSpacing = Annotated[Given, Quantity(("length",), least=0.025, bounds="25 mm or more")]
"""Every support has its place; nearer ones would touch (our choice)."""
BoltLength = Annotated[Given, Quantity(("length",), above=True, usual=1.0, such_as=("2 in",))]
BoltPlace = Annotated[Given, Quantity(("length",), least=None, usual=4.0)]
Area = Annotated[Given, Quantity(("area",))]
Volume = Annotated[Given, Quantity(("volume",), above=True, such_as=("880 ft3",))]
WaterCapacity = Annotated[Given, Quantity(("volume", "mass"), above=True, usual=4.0)]
Mass = Annotated[Given, Quantity(("mass",), above=True)]
Pressure = Annotated[Given, Quantity(("pressure",), above=True)]
GasPressure = Annotated[
    Given,
    Quantity(
        ("pressure",),
        above=True,
        most=7e5,
        bounds="more than zero, and at most 7 bar (101 psi), where propane is liquid at 15 degC",
    ),
]
PressureFromZero = Annotated[Given, Quantity(("pressure",))]
Tolerance = Annotated[Given, Quantity(("pressure", "share"), such_as=("1 inH2O", "9 %"))]
Temperature = Annotated[Given, Quantity(("temperature",))]
# The bounds below are those of the properties of gas and air the engineering rests on.
Altitude = Annotated[
    Given,
    Quantity(
        ("length",),
        least=-500.0,
        most=9000.0,
        usual=9000.0,
        bounds="from -500 m (-1640 ft) to 9000 m (29,500 ft)",
        words=_sea_level,
    ),
]
OutdoorTemperature = Annotated[
    Given, Quantity(("temperature",), least=218.1, most=323.2, bounds="from -55 degC (-67 degF) to 50 degC (122 degF)")
]
TemperatureStep = Annotated[Given, Quantity(("temperature difference",), above=True)]
InputRate = Annotated[Given, Quantity(("power", "mass flow"), above=True)]
Power = Annotated[Given, Quantity(("power",), above=True)]

DailyUse = Annotated[Given, UseOfADay(("time", "mass flow", "power"), words=_words_of_a_day)]
ClosingRate = Annotated[Given, Quantity(("volume flow", "power"), above=True)]
Share = Annotated[Given, Quantity(("share",))]
FillShare = Annotated[Given, Quantity(("share",), most=1.0, bounds="from 0 % to 100 %")]
Duration = Annotated[Given, Quantity(("time",), above=True, such_as=("10 days",))]
PricedAmount = Annotated[Given, Quantity(("mass", "volume"), above=True)]


# Which of the two codes of a build a key belongs to (`gasdoc.study.codes`). It stands on the key itself, in the schema too.
# What a test of tightness was made on: all that bears on a joint or on what the tubing holds.
TIGHTNESS: dict[str, Any] = {"x-code": "tightness"}
# What a signer looked at besides: it changes the build code only.
BUILD: dict[str, Any] = {"x-code": "build"}
# Names, places, records, wishes and prices: a change of these leaves both codes.
NO_CODE: dict[str, Any] = {"x-code": "none"}


class Block(BaseModel):
    """A block of a spec: unknown keys are errors, values do not change.

    `about` says what it is, in the schema and the reference: a docstring would not be there when Python runs with -OO.
    """

    about: ClassVar[str]

    def __init_subclass__(cls, *, about: str, **more: Any) -> None:
        super().__init_subclass__(**more)
        cls.about = about

    # What validates a spec is kept from the run before (`gasdoc.validation.validator`), so nothing is built here.
    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    @model_validator(mode="before")
    @classmethod
    def _not_stated(cls, data: Any) -> Any:
        """A key that may be left out and stands empty is one left out; so is a block of empty keys. 'unknown' is the same
        where nothing is taken for a key that is left out."""
        if not isinstance(data, dict):
            return data
        keys, blocks = _may_be_left_out(cls)
        return {
            k: v
            for k, v in data.items()
            if not ((k in keys and (v is None or (_open(v) and keys[k]))) or (k in blocks and _blank(v)))
        }


@cache
def _may_be_left_out(model: type[BaseModel]) -> tuple[dict[str, bool], frozenset[str]]:
    """The keys of a block that may be left out, with whether nothing is then taken for them, and those that are blocks."""
    keys = {name: field for name, field in model.model_fields.items() if not field.is_required()}
    blocks = {
        name
        for name, field in keys.items()
        if any(isinstance(a, type) and issubclass(a, BaseModel) for a in typing.get_args(field.annotation))
    }
    return {k: f.default is None or f.default_factory is not None for k, f in keys.items()}, frozenset(blocks)


def _open(value: Any) -> bool:
    return value is None or (isinstance(value, str) and value.strip().lower() == "unknown")


def _blank(value: Any) -> bool:
    return _open(value) or (isinstance(value, dict) and bool(value) and all(map(_blank, value.values())))


# Functions, not list and dict: pydantic looks at a factory's signature, which takes it far longer for those.
def no_items() -> list[Any]:
    """An empty list, where a key that holds several is left out."""
    return []


def no_names() -> dict[str, Any]:
    """An empty mapping, where a key that holds some by name is left out."""
    return {}


def not_chosen() -> Any:
    """What an open key has until a choice is taken for it. Nothing is worked out of a build before that."""
    return None
