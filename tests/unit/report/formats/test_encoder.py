"""Results as data: what stands behind a field in its annotation decides how it is written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Annotated, Any, Literal

import pytest

from gasdoc.quantities import Aside, By, CubicMetre, Endless, Metre, Money, Pascal, Ratio, Shown, UnitOf, Watt
from gasdoc.report.formats.encoder import Encoder, describe, left_out
from gasdoc.report.formats.jsonout import dumps
from gasdoc.units import parse


class Colour(StrEnum):
    RED = "red"


@dataclass(frozen=True)
class Pipe:
    id: str
    length: Metre
    drop: Pascal | None
    carries: tuple[Watt, ...]
    near: Annotated[Pipe | None, By("id", "length")] = None
    why: Annotated[str, Aside("it is said elsewhere")] = ""

    @property
    def long(self) -> Shown[bool]:
        """Whether it is longer than 10 m."""
        return self.length > 10

    @property
    def short(self) -> bool:
        return not self.long

    @cached_property
    def volume(self) -> CubicMetre:
        """What it holds; None where nobody knows."""
        return self.length * 1e-4


@dataclass(frozen=True)
class Sale:
    measured: bool
    amount: Annotated[float, UnitOf("unit")]
    price: Money | None
    colour: Colour
    day: dt.date | None
    by: Mapping[str, Metre]
    gauges: tuple[tuple[str, Pascal], ...]
    pair: tuple[Metre, bool]
    kinds: frozenset[str]
    word: Literal["in", "out"]
    share: Annotated[Ratio, Endless] = 0.5
    given: Any = None

    @property
    def unit(self) -> str:
        return "m" if self.measured else "count"


@dataclass(frozen=True)
class Bare:
    x: float


SHORT = Pipe("a", 2.5, None, (1000.0, 2000.0))


def sale(**more: Any) -> Sale:
    row = {
        "measured": True,
        "amount": 3.0,
        "price": 9.5,
        "colour": Colour.RED,
        "day": dt.date(2026, 4, 18),
        "by": {"x": 1.5},
        "gauges": (("heater", 2740.0), ("range", 2700.0)),
        "pair": (0.25, True),
        "kinds": frozenset({"b", "a"}),
        "word": "in",
    }
    return Sale(**(row | more))  # type: ignore[arg-type]


def test_a_number_has_the_unit_of_its_annotation_and_what_is_left_out_is_not_there() -> None:
    assert Encoder().write(Pipe("b", 12.0, 49.8, (), SHORT)) == {
        "id": "b",
        "length": {"value": 12.0, "unit": "m"},
        "drop": {"value": 49.8, "unit": "Pa"},
        "carries": [],
        "near": {"id": "a", "length": {"value": 2.5, "unit": "m"}},
        "long": True,
        "volume": {"value": 0.0012, "unit": "m^3"},
    }
    made = Encoder().write(SHORT)
    assert made["drop"] is None and made["near"] is None
    assert made["carries"] == [{"value": 1000.0, "unit": "W"}, {"value": 2000.0, "unit": "W"}]


def test_units_that_hang_on_the_row_money_names_dates_and_words() -> None:
    assert Encoder("EUR").write(sale()) == {
        "measured": True,
        "amount": {"value": 3.0, "unit": "m"},
        "price": {"value": 9.5, "unit": "EUR"},
        "colour": "red",
        "day": "2026-04-18",
        "by": {"x": {"value": 1.5, "unit": "m"}},
        "gauges": {"heater": {"value": 2740.0, "unit": "Pa"}, "range": {"value": 2700.0, "unit": "Pa"}},
        "pair": [{"value": 0.25, "unit": "m"}, True],
        "kinds": ["a", "b"],
        "word": "in",
        "share": {"value": 0.5, "unit": "1"},
        "given": None,
    }
    assert Encoder("EUR").write(sale(measured=False, amount=3))["amount"] == {"value": 3.0, "unit": "count"}
    assert Encoder().write(sale())["price"] is None  # without a price list money has no unit


def test_a_quantity_of_the_spec_says_how_it_is_written() -> None:
    made = Encoder().write(sale(given=parse("3/8 in", "length")))["given"]
    assert made == {"value": 0.009525, "unit": "m", "written": "3/8 in"}


def test_a_quantity_of_the_spec_in_a_field_for_numbers_is_a_number() -> None:
    """Else a key would sometimes have `written` and sometimes not."""
    assert Encoder().write(Pipe("a", parse("2 m", "length"), None, ()))["length"] == {"value": 2.0, "unit": "m"}


def test_numbers_have_nine_digits_and_only_what_is_marked_may_be_infinite() -> None:
    assert Encoder().write(Pipe("a", 1 / 3, None, ()))["length"] == {"value": 0.333333333, "unit": "m"}
    assert Encoder().write(sale(share=float("inf")))["share"] is None
    with pytest.raises(ValueError, match="JSON compliant"):
        dumps(Encoder().write(Pipe("a", float("inf"), None, ())))


@pytest.mark.parametrize("value", [Bare(1.0), Pipe("a", 1.0, None, (), Bare(2.0)), object(), sale(given=1.0)])  # type: ignore[arg-type]
def test_what_says_nothing_of_itself_is_refused(value: Any) -> None:
    with pytest.raises((TypeError, KeyError)):
        Encoder().write(value)


def test_the_description_has_the_keys_that_are_written() -> None:
    pipe, row = describe(Pipe, Sale)
    assert [key.name for key in pipe.keys] == list(Encoder().write(SHORT))
    assert [key.name for key in row.keys] == list(Encoder("EUR").write(sale()))
    forms = {key.name: key.form for key in (*pipe.keys, *row.keys)}
    assert forms["drop"] == "a quantity, Pa or null" and forms["carries"] == "a list, each a quantity, W"
    assert forms["near"] == "[Pipe]: `id`, `length` or null" and forms["volume"] == "a quantity, m^3"
    assert forms["amount"] == "a quantity, its unit beside it" and forms["price"] == "a quantity, the currency or null"
    assert forms["gauges"] == "names, each with a quantity, Pa" == forms["by"].replace(", m", ", Pa")
    assert forms["pair"] == "a list of a quantity, m, then true or false" and forms["word"] == "`in` or `out`"
    assert {key.name: key.what for key in pipe.keys}["volume"] == "What it holds; null where nobody knows."


def test_what_is_left_out_says_why() -> None:
    assert left_out(Annotated[str, Aside("it is said elsewhere")] | None) == "it is said elsewhere"
    assert left_out(str) is None
