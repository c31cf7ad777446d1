"""Prices and what is on the shelf, as a builder writes them: each entry short where it can be short."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from msgspec import Struct
from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from gasdoc import units
from gasdoc.scalars import nearest, problem
from gasdoc.units import Given

MOST_PIECES = 200

_KEYS = ["price", "low", "high", "per", "pack"]
_AMOUNT = re.compile(r"\d{1,7}(\.\d{1,2})?")
_HOW = "write a plain number, as in 38.50, or {low: 30, high: 38.50, per: 50 ft}"


class Price(Struct, frozen=True):
    """What one purchase costs, from `low` to `high`. `per` in m: the price is for that much length; `pack`: for so many
    pieces; None where it is for one."""

    low: Decimal
    high: Decimal
    per: Given | None = None
    pack: int | None = None


class OnShelf(Struct, frozen=True):
    """What the builder has: a `number` of pieces, or pieces of tubing of these `lengths` in m."""

    number: int = 0
    lengths: tuple[Given, ...] = ()


class PriceText(Struct, frozen=True):
    """Reads a price: a number, or a block of price (or low and high) with per or pack."""

    def read(self, value: Any) -> Price:
        """The price; raises the problem with what was written."""
        if isinstance(value, Price):
            return value
        if not isinstance(value, dict):
            amount = _amount(value)
            return Price(amount, amount)
        for key in value:
            if key not in _KEYS:
                near = nearest(str(key), _KEYS)
                raise problem(
                    "spec-unknown-key",
                    f"unknown key '{key}' in a price",
                    f"did you mean '{near}'?" if near else f"the keys here are: {', '.join(_KEYS)}",
                )
        if ("price" in value) == ("low" in value or "high" in value) or ("low" in value) != ("high" in value):
            raise problem("spec-price", "a price is one figure, or a low and a high one", _HOW)
        low, high = (_amount(value[k]) for k in (("price", "price") if "price" in value else ("low", "high")))
        if low > high:
            raise problem("spec-price", f"the low price, {low}, is above the high one, {high}", "exchange them")
        if "per" in value and "pack" in value:
            raise problem("spec-price", "a price is for a length or for a pack of pieces", "take out 'per' or 'pack'")
        pack = _number(value["pack"], "a pack") if "pack" in value else None
        if pack == 0:
            raise problem("spec-price", "a pack of none has no price", "write how many pieces it holds")
        return Price(low, high, _length(value["per"]) if "per" in value else None, pack)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        money = {"type": ["number", "string"], "examples": ["38.50"]}
        length = {"type": "string", "examples": ["50 ft"]}
        block = {
            "type": "object",
            "additionalProperties": False,
            "properties": {
                "price": {**money, "description": "Price of one purchase."},
                "low": {**money, "description": "Lowest price found."},
                "high": {**money, "description": "Highest price found."},
                "per": {**length, "description": "Length the price is for, as in '50 ft'."},
                "pack": {"type": ["integer", "string"], "description": "How many pieces the price is for."},
            },
        }
        return {"anyOf": [money, block]}


class ShelfText(Struct, frozen=True):
    """Reads what is on the shelf: a number of pieces, a length, or a list of lengths."""

    def read(self, value: Any) -> OnShelf:
        """What is on the shelf; raises the problem with what was written."""
        if isinstance(value, OnShelf):
            return value
        if isinstance(value, list):
            if len(value) > MOST_PIECES:
                raise problem("spec-structure", f"more than {MOST_PIECES} pieces", "leave out the short ones")
            return OnShelf(lengths=tuple(_length(item) for item in value))
        if isinstance(value, str) and re.fullmatch(r"\d{1,6}", value.strip()):
            return OnShelf(number=int(value))
        return OnShelf(lengths=(_length(value),))

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        length = {"type": "string", "examples": ["12 ft"]}
        return {"anyOf": [{"type": "integer"}, length, {"type": "array", "items": length}]}


def _amount(value: Any) -> Decimal:
    if not isinstance(value, str):
        raise problem("spec-price", "no price stands here", _HOW)
    text = value.strip()
    if _AMOUNT.fullmatch(text) is None:
        raise problem("spec-price", f"'{text[:60]}' is not a price", "write a plain number, as in 38.50")
    return Decimal(text)


def _number(value: Any, what: str) -> int:
    text = value.strip() if isinstance(value, str) else ""
    if re.fullmatch(r"\d{1,6}", text) is None:
        raise problem("spec-count", f"'{text[:60]}' is not {what}", "write a whole number of pieces")
    return int(text)


def _length(value: Any) -> Given:
    text = value.strip() if isinstance(value, str) else ""
    try:
        given = units.parse(text, "length")
    except units.UnitError as error:
        raise problem("spec-quantity", error.message, error.hint) from None
    if not 0 < given <= 10_000:
        raise problem("spec-range", f"'{text}' is out of range", "this must be more than zero")
    return given
