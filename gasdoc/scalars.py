"""The scalar types of specs and data files: each reads the text that was written and says what would be right.

Values arrive as text (see `gasdoc.source`), so a field's type alone decides what `10:02` or `no` means.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
from collections.abc import Callable, Mapping
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Annotated, Any

from msgspec import Struct
from msgspec.structs import asdict
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from gasdoc import units
from gasdoc.units import Given
from gasdoc.words import meant, plain

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo

# Far beyond anything this trade builds; a value above is a slip of the pen, and would overflow what is computed.
_MOST: dict[str, float] = {
    "length": 1e4,
    "area": 1e4,
    "volume": 1e4,
    "mass": 1e6,
    "time": 100 * 365.25 * 86400,
    "temperature": 1e3,
    "temperature difference": 1e3,
    "pressure": 5e7,
    "power": 1e8,
    "energy": 1e12,
    "mass flow": 1e3,
    "volume flow": 1e3,
    "speed": 1e3,
    "share": 1.0,
}

_LEAST = 1e-8
"""In the SI unit of any dimension: less than that, and not nothing, is a slip (our choice)."""
_USUAL: dict[str, float] = {
    "length": 25.0,
    "area": 30.0,
    "volume": 500.0,
    "mass": 2e3,
    "time": 86400.0,
    "pressure": 2.4e5,
    "power": 2.5e5,
    "mass flow": 15 / 3600,
    "volume flow": 20 / 3600,
}
"""The largest values that are usual in builds of this size, in SI (our choice). They decide only whether a number with one
group of three digits is asked back: "9.400 mm" may be 9,400 mm, which is a usual length; "1.500 m" is not 1,500 m."""

_DAY = 86400.0 * (1 + 1e-9)  # s

_FIRST_YEAR, _LAST_YEAR = 1900, 2199
"""A date outside is a slip of the pen, and one near the calendar's end would leave it when an interval is added."""


def problem(code: str, message: str, hint: str, at: tuple[str | int, ...] = ()) -> PydanticCustomError:
    """An error of one value, with the hint that is printed after it; `at` leads from the value to what is wrong in it."""
    return PydanticCustomError("gasdoc", "{message}", {"message": message, "hint": hint, "code": code, "at": at})


def nearest(word: str, known: list[str]) -> str | None:
    """The known word most like this one, if any is alike."""
    match = difflib.get_close_matches(word.lower(), known, n=1, cutoff=0.6)
    return match[0] if match else None


def _text(value: Any, what: str, hint: str = "") -> str:
    if isinstance(value, str):
        return value.strip()
    found = "nothing" if value is None else "a list" if isinstance(value, list) else "a block"
    raise problem("spec-value", f"{found} stands where {what} belongs", hint or f"write {what} on the same line")


class ReadBy(Struct, frozen=True):
    """A value that a function reads, which raises the problem with it."""

    read: Callable[[Any], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)


class ReadBeside(Struct, frozen=True):
    """A value that a function reads by the keys before it, which it is told."""

    read: Callable[[Any, ValidationInfo], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)


class HeldTo(Struct, frozen=True):
    """A value of its type that a function holds to something, which gives it back or raises the problem with it."""

    hold: Callable[[Any], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_after_validator_function(self.hold, handler(source))


class Bounds(Struct, frozen=True):
    """How large a number may be, how long a text, a list or a mapping; by the names that pydantic has for it."""

    gt: float | None = None
    ge: float | None = None
    min_length: int | None = None
    max_length: int | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        schema: Any = handler(source)
        bounded: CoreSchema = schema | {name: bound for name, bound in asdict(self).items() if bound is not None}
        return bounded


class Quantity(Struct, frozen=True):
    """A number with a unit of one of `dimensions`.

    `least` and `most` are in SI; `above` says it must be more than `least`. `bounds` is how a message words them. `usual`
    is the largest usual value of the first dimension, in SI, where the field has one of its own: it decides which numbers are asked back because
    their point or comma may have been meant for thousands. Less than `smallest`, and not nothing, is a slip. `words` gives the
    values that words stand for, `such_as` examples of the field's own.
    """

    dimensions: tuple[str, ...]
    least: float | None = 0.0
    above: bool = False
    most: float | None = None
    bounds: str = ""
    usual: float | None = None
    smallest: float = _LEAST
    words: Callable[[], Mapping[str, Given]] = dict
    such_as: tuple[str, ...] = ()

    def read(self, value: Any, system: units.System = "us") -> Given:
        """The quantity; raises the problem with what was written, its examples in the units of `system`."""
        if isinstance(value, Given):
            return value
        text = _text(value, f"a quantity such as '{units.example(self.dimensions[0], system)}'")
        if (words := self.words()) and (stood := words.get(plain(text))) is not None:
            return Given(stood, text, stood.unit, stood.dimension)
        try:
            given = units.parse(text, *self.dimensions, system=system)
        except units.UnitError as error:
            raise problem("spec-quantity", error.message, error.hint) from None
        if self.least is not None and (given < self.least or (self.above and given == self.least)):
            wanted = self.bounds or ("more than zero" if self.above else "zero or more")
            raise problem("spec-range", f"'{text}' is out of range", f"this must be {wanted}")
        if 0 < abs(given) < self.smallest:
            raise problem("spec-range", f"'{text}' is too small to be measured", "check the number and its unit")
        if abs(given) > (_MOST[given.dimension] if self.most is None else self.most):
            hint = f"this must be {self.bounds}" if self.bounds else "check the number and its unit"
            raise problem("spec-range", f"'{text}' is out of range", hint)
        usual = self.usual if given.dimension == self.dimensions[0] and self.usual else _USUAL.get(given.dimension)
        if usual is not None and (readings := units.other_reading(given, usual)) is not None:
            short, long = readings
            raise problem(
                "spec-thousands",
                f"'{text}' may be {short} or {long}: a {'point' if '.' in text else 'comma'} before three digits is read both ways",
                f"write '{short}' or '{long}'",
            )
        return given

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self._in_context)

    def _in_context(self, value: Any, info: ValidationInfo) -> Given:
        """The quantity, with examples in the units that the context of the validation names, if any."""
        return self.read(value, (info.context or {}).get("system", "us"))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        words = "".join(f"|^{word}$" for word in self.words())
        spellings = sorted({s for d in self.dimensions for u in units.units()[d].values() for s in u.spellings[:1]})
        return {
            "type": "string",
            "pattern": r"^\s*[-+\u2212]?\s*[0-9.½¼¾⅛⅜⅝⅞⅓⅔].*[A-Za-z%'\"′″].*$" + words,
            "examples": list(self.such_as) or [units.example(d) for d in self.dimensions],
            "x-dimensions": list(self.dimensions),
            "x-units": spellings,
        }


class UseOfADay(Quantity, frozen=True):
    """What is used on one day: an amount, or a time of at most 24 hours."""

    def read(self, value: Any, system: units.System = "us") -> Given:
        """The quantity; raises the problem with what was written."""
        given = super().read(value, system)
        if given.dimension == "time" and given > _DAY:
            raise problem(
                "spec-range",
                f"'{given.text}' is longer than a day",
                "write the hours at full input on one day, at most 24 h",
            )
        return given


class _Plain(Struct, frozen=True, eq=False):
    """A scalar read by `read`; `schema` is its JSON Schema."""

    schema: dict[str, Any]

    def read(self, value: Any) -> Any:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return dict(self.schema)


class _Text(_Plain, frozen=True, eq=False):
    longest: int

    def read(self, value: Any) -> str:
        text = " ".join(_text(value, "text").split())
        if not text:
            raise problem("spec-value", "the text is empty", "write something, or leave the key out")
        if len(text) > self.longest:
            raise problem("spec-value", f"the text is longer than {self.longest} characters", "move detail to the log")
        return text


class _Id(_Plain, frozen=True, eq=False):
    def read(self, value: Any) -> str:
        text = _text(value, "an id")
        if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", text) or len(text) > 40:
            raise problem(
                "spec-id", f"'{text[:60]}' is not an id", "use small letters, digits and hyphens, as in 'oven-run'"
            )
        return text


class _Count(_Plain, frozen=True, eq=False):
    least: int
    most: int

    def read(self, value: Any) -> int:
        text = _text(value, "a whole number")
        if not re.fullmatch(r"\d{1,6}", text) or not self.least <= int(text) <= self.most:
            raise problem(
                "spec-count",
                f"'{text[:60]}' is not a whole number from {self.least} to {self.most}",
                "write it in digits, without a unit",
            )
        return int(text)


class _YesNo(_Plain, frozen=True, eq=False):
    def read(self, value: Any) -> bool:
        text = _text(value, "yes or no").lower()
        if text in ("yes", "true"):
            return True
        if text in ("no", "false"):
            return False
        raise problem("spec-value", f"'{text[:60]}' is neither yes nor no", "write yes or no")


class _Day(_Plain, frozen=True, eq=False):
    def read(self, value: Any) -> dt.date:
        text = _text(value, "a date")
        try:
            day = dt.date.fromisoformat(text) if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text) else None
        except ValueError:
            day = None
        if day is None:
            raise problem("spec-date", f"'{text[:60]}' is not a date", "write it as year-month-day, as in 2026-05-16")
        if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
            raise problem(
                "spec-range", f"'{text}' is out of range", f"the year must be from {_FIRST_YEAR} to {_LAST_YEAR}"
            )
        return day


class _Clock(_Plain, frozen=True, eq=False):
    def read(self, value: Any) -> dt.time:
        text = _text(value, "a time of day")
        try:
            if re.fullmatch(r"\d{1,2}:\d{2}(:\d{2})?", text):
                return dt.time.fromisoformat(text.rjust(5, "0") if text.count(":") == 1 else text.rjust(8, "0"))
        except ValueError:
            pass
        raise problem("spec-time", f"'{text[:60]}' is not a time of day", "write it as 24-hour time, as in 14:05")


class _Money(_Plain, frozen=True, eq=False):
    def read(self, value: Any) -> Decimal:
        text = _text(value, "a price")
        try:
            amount = Decimal(text) if re.fullmatch(r"\d{1,7}(\.\d{1,2})?", text) else None
        except InvalidOperation:
            amount = None
        if amount is None:
            raise problem("spec-price", f"'{text[:60]}' is not a price", "write a plain number, as in 38.50")
        return amount


Text = Annotated[str, _Text({"type": "string", "maxLength": 500}, 500)]
Name = Annotated[str, _Text({"type": "string", "maxLength": 80}, 80)]
Id = Annotated[str, _Id({"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "maxLength": 40})]
YesNo = Annotated[bool, _YesNo({"enum": ["yes", "no", True, False]})]
Day = Annotated[dt.date, _Day({"type": "string", "format": "date", "examples": ["2026-05-16"]})]
Clock = Annotated[dt.time, _Clock({"type": "string", "examples": ["14:05"]})]
Money = Annotated[Decimal, _Money({"type": ["number", "string"], "examples": ["38.50"]})]


def count(least: int, most: int) -> _Count:
    """A whole number within limits, for `Annotated[int, count(0, 20)]`."""
    return _Count({"type": ["integer", "string"], "minimum": least, "maximum": most}, least, most)


class OneOf(_Plain, frozen=True, eq=False):
    """One of a closed list of words."""

    words: tuple[str, ...]

    def read(self, value: Any) -> str:
        """The word as the spec has it; raises the problem with what was written."""
        text = _text(value, "a word", "write one of: " + ", ".join(self.words))
        word = text.lower()
        if word in self.words:
            return word
        found = meant(word, self.words)
        if found is not None and found.taken:
            return found.word
        near = found.word if found is not None else nearest(word, list(self.words))
        hint = f"did you mean '{near}'?" if near else "write one of: " + ", ".join(self.words)
        if found is not None and found.note is not None:
            hint = f"{hint} {found.note[:1].upper()}{found.note[1:]}"
        raise problem("spec-choice", f"'{text[:60]}' is not known here", hint)


def choice(*words: str) -> OneOf:
    """A word of a closed list, for `Annotated[str, choice("us", "si")]`."""
    return OneOf({"enum": list(words)}, words)
