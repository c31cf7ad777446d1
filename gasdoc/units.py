"""The one place for units: reading quantities as people write them, and printing them.

The closed list of units is data (`units.yaml`); the size of each is what pint says it is. pint itself is not
imported for these: it takes longer than a whole check of a spec. So the factors are frozen in the data file, and a test
recomputes every one of them. pint is asked about a unit that is not on the list, to say what it would be in one that is.

A string never goes to a units library whole (pint reads "1 1/2 in" as 0.5 in and "5 ft 6 in" as an area): the number
is parsed here, the unit is looked up in the list, the dimension is checked and the value must be finite.
"""

from __future__ import annotations

import difflib
import math
import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Self

import yaml
from msgspec import Struct

from gasdoc.kept import kept
from gasdoc.wrong import Wrong

if TYPE_CHECKING:
    from pint import UnitRegistry

System = Literal["us", "si", "anz"]
"""The units of pages and messages: US ones, metric ones, and metric ones as Australia and New Zealand use them (kPa, MJ/h)."""


def base(system: System) -> Literal["us", "si"]:
    """Which round figures, gauges and trade sizes are usual where a system is used: those of the US, or metric ones."""
    return "us" if system == "us" else "si"


_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_GROUPS = re.compile(r"\s*[-+\u2212]?\s*[1-9]\d{0,2}(?P<mark>[.,])\d{3}(?![\d.,/]|[eE][-+\d])")
"""One group of three digits behind a point or a comma: a thousands separator for some, a decimal one for others."""
_THOUSAND = re.compile(r"k\s+(?=btu)", re.IGNORECASE)
_PER_HOUR = re.compile(r"\s*(?:/|\bper\b)\s*(?:hour|hr)$", re.IGNORECASE)
_NUMBER = re.compile(
    r"""\s*(?P<sign>[-+\u2212]?)\s*
    (?: (?P<whole>\d+)(?:\s+|-)(?P<num>\d+)/(?P<den>\d+)        # 1 1/2, 1-1/2
      | (?P<num2>\d+)/(?P<den2>\d+)                             # 3/8
      | (?P<thousands>\d{1,3}(?:,\d{3})+(?:\.\d+)?)             # 30,000
      | (?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)       # 12, 12.5, 1e3
    )(?![\d.,/])""",
    re.VERBOSE,
)


class UnitError(Wrong):
    """Text that is not a quantity of the dimension asked for."""


class Given(float):
    """A quantity from a spec: the SI value, which remembers how its author wrote it.

    It is an ordinary float in every computation; `text`, `unit` (the spelling used) and `dimension` are for pages,
    messages and for choosing what a field that admits several dimensions holds.
    """

    text: str
    unit: str
    dimension: str

    def __new__(cls, si: float, text: str, unit: str, dimension: str) -> Self:
        """The quantity of `si` in SI, written as `text` in `unit`."""
        given = super().__new__(cls, si)
        given.text = text
        given.unit = unit
        given.dimension = dimension
        return given

    def __getnewargs__(self) -> tuple[float, str, str, str]:  # type: ignore[override]  # float's takes one
        return (float(self), self.text, self.unit, self.dimension)


class Unit(Struct, frozen=True):
    """One row of the list: `si` is its size, `offset` is added after scaling (temperatures)."""

    dimension: str
    pint: str
    si: float
    offset: float
    spellings: tuple[str, ...]


@lru_cache(maxsize=1)
def _data() -> dict[str, Any]:
    file = Path(__file__).with_name("units.yaml")
    content = kept(file, "data", lambda: yaml.load(file.read_text(encoding="utf-8"), Loader=_LOADER))  # noqa: S506  # a safe loader
    dimensions: dict[str, Any] = content["dimensions"]
    return dimensions


@lru_cache(maxsize=1)
def units() -> dict[str, dict[str, Unit]]:
    """The closed list: dimension -> spelling -> Unit."""
    table: dict[str, dict[str, Unit]] = {}
    for dimension, row in _data().items():
        table[dimension] = {}
        for u in row["units"]:
            unit = Unit(dimension, u["pint"], u["si"], u.get("offset", 0.0), tuple(u["spellings"]))
            for spelling in unit.spellings:
                table[dimension][_squeeze(spelling)] = unit
    return table


def dimensions() -> tuple[str, ...]:
    """The names of the dimensions, in the order of the list."""
    return tuple(_data())


def example(dimension: str, system: System = "us") -> str:
    """A quantity of this dimension as a person would write it who uses that system."""
    examples = _data()[dimension]["example"]
    return str(examples.get(system, examples["si"]))


def common(dimension: str) -> tuple[str, ...]:
    """Units of this dimension people write, the commonest of both systems first."""
    return tuple(_data()[dimension]["common"])


def si_unit(dimension: str) -> str:
    """The SI unit in which values of this dimension are held."""
    return str(_data()[dimension]["si"])


def _squeeze(spelling: str) -> str:
    return re.sub(r"\s+", " ", spelling.strip())


def _split(text: str) -> tuple[float, str]:
    """The leading number and the rest of the text. Raises UnitError."""
    plain = text
    for sign, fraction in () if text.isascii() else _VULGAR.items():
        plain = re.sub(rf"(\d){sign}", rf"\1 {fraction}", plain).replace(sign, fraction)
    match = _NUMBER.match(plain)
    if match is None:
        hint = "write a number and a unit"
        if decimal := re.match(r"\s*([-+]?\d{1,3}),(\d{1,2}(?!\d).*)", plain):
            hint = f"write the decimal with a point, as in '{decimal[1]}.{decimal[2].rstrip()}'"
        elif grouped := re.match(r"\s*[-+]?(\d{1,3}(?:\.\d{3})+)(?:,(\d+))?(?![\d.,])", plain):
            decimals = f".{grouped[2]}" if grouped[2] else ""
            hint = f"write {grouped[1].replace('.', ',')}{decimals}"
        if text.strip().lower() == "unknown":
            raise UnitError(
                f"'{text.strip()}' cannot stand here",
                "measure it or read it off. Until then write a guess, with its unit",
            )
        raise UnitError(f"'{text}' does not start with a number this field can read", hint)
    part = match.groupdict()
    if part["decimal"] is not None:
        value = float(part["decimal"])
    elif part["thousands"] is not None:
        value = float(part["thousands"].replace(",", ""))
    else:
        den = int(part["den"] or part["den2"])
        if den == 0:
            raise UnitError(f"'{text}' divides by zero", "write a fraction such as 3/8")
        value = int(part["whole"] or 0) + int(part["num"] or part["num2"]) / den
    if part["sign"] in ("-", "\u2212"):
        value = -value
    if spaced := re.match(r"[-+\u2212]?\d{1,3}(?:\s\d{3})+(?!\d)", plain.strip()):
        whole = int(re.sub(r"\D", "", spaced.group()))
        raise UnitError(f"'{text}' has a space inside its number", f"write {whole:,} or {whole}")
    return value, plain[match.end() :].strip()


def _lookup(spelling: str, wanted: tuple[str, ...], text: str, system: System) -> Unit:
    table = units()
    key = _THOUSAND.sub("k", _squeeze(spelling))  # 42K BTU/hr
    dotless = key.removesuffix(".")  # 9 ft., 17 lbs.
    for written in (key, dotless, _PER_HOUR.sub("/h", dotless)):
        for dimension in wanted:
            if written in table[dimension]:
                return table[dimension][written]
    examples = " or ".join(f"'{example(d, system)}'" for d in wanted)
    names = " or ".join(wanted)
    for dimension, spellings in table.items():
        if key in spellings:
            hint = f"this needs {_article(names)}, such as {examples}"
            if dimension == "energy" and wanted[0] == "power" and key.lower().endswith(("btu", "mj")):
                hint = f"a plate means so much an hour: write '{text.strip()}/h'"
            raise UnitError(f"'{text}' is {_article(dimension)}", hint)
    if key.lower() in ("psia", "bara", "kpaa"):
        raise UnitError(f"'{text}' is an absolute pressure", "write the gauge pressure, as in '10 psi'")
    rate = re.sub(r"/(h|hr|hour)$", "", key)
    if rate != key and rate in table["power"] and "power" in wanted:
        raise UnitError(f"unknown unit '{key}' in '{text}'", f"did you mean '{rate}'? It is a rate already")
    if re.match(r"mm?\s?btu", key, re.IGNORECASE) and "power" in wanted:
        raise UnitError(
            f"the M of '{key}' means a thousand for some and a million for others",
            "write kBtu/h for thousands, as in '30 kBtu/h'",
        )
    near = _nearest(key, [s for d in wanted for s in table[d]])
    if near is not None:
        raise UnitError(f"unknown unit '{key}' in '{text}'", f"did you mean '{near}'?")
    elsewhere = _as_pint_reads(text, key, wanted, system)
    if elsewhere is not None:
        raise UnitError(
            f"unknown unit '{key}' in '{text}'",
            f"the unit library pint reads it as {elsewhere}. If that is meant, write '{elsewhere}'",
        )
    raise UnitError(f"unknown unit '{key}' in '{text}'", f"this needs {_article(names)}, such as {examples}")


_PLAIN_UNIT = re.compile(r"[A-Za-z]{2,24}(/[A-Za-z]{1,24})?")
"""What pint is asked about: a unit, or one per another. No powers and no sums, which a stranger could make long."""


def _as_pint_reads(text: str, key: str, wanted: tuple[str, ...], system: System) -> str | None:
    """A quantity in a unit that is not on the list, written in one that is; None where pint knows none of a wanted dimension.

    pint is imported here only, for a hint: importing it takes longer than a whole `gasdoc check`.
    """
    if _PLAIN_UNIT.fullmatch(key) is None:
        return None
    from pint import PintError

    for dimension in (d for d in wanted if d != "share"):  # a dozen is no share
        unit = next(iter(units()[dimension].values()))
        usual = common(dimension)
        shown = units()[dimension][usual[system != "us" and len(usual) > 1]]
        try:
            read = _pint().Quantity(_split(text)[0], key).to(unit.pint)
        except (PintError, ArithmeticError, AttributeError, TypeError, ValueError):
            continue
        number = (float(read.magnitude) * unit.si + unit.offset - shown.offset) / shown.si
        if 0.01 <= abs(number) < 10_000:
            return f"{number:.4g} {shown.spellings[0]}"
    return None


@lru_cache(maxsize=1)
def _pint() -> UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry()


def _nearest(key: str, known: list[str]) -> str | None:
    """The spelling that a misspelt one was meant for; None where it may be a unit of another size.

    A letter too many or too few in front of a unit makes it a thousand times another, so the first letter has to be the
    same; and a word that is only a little like is no answer.
    """
    # Only the case is wrong. mPa is no MPa; of what is written in one case, or MBAR and Mbar, one unit is in use.
    one_case = key.isupper() or key.islower() or key[0] == "M"
    alike = [s for s in known if s.lower() == key.lower() and (one_case or {key[0], s[0]} != {"m", "M"})]
    if alike:
        return alike[0]
    alike = difflib.get_close_matches(key, known, n=1, cutoff=0.8)
    return alike[0] if alike and alike[0][0].lower() == key[0].lower() else None


def _article(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def parse(text: str, *wanted: str, system: System = "us") -> Given:
    """The quantity written in `text`, in SI, of one of the dimensions `wanted`; hints have their examples from `system`.

    Reads whole and mixed fractions, decimals, thousands commas and feet with inches. Raises UnitError, whose hint
    says what would be right: no number, no unit, an unknown unit, another dimension, a value that is not finite.
    """
    if len(text) > 200:
        raise UnitError("the text is too long for a quantity", f"write it as in '{example(wanted[0], system)}'")
    return _parsed(text, wanted, system)


@lru_cache(maxsize=4096)  # the figures of the catalogue and the rules are read again for every build
def _parsed(text: str, wanted: tuple[str, ...], system: System) -> Given:
    value, rest = _split(text)
    if not rest:
        *some, last = [unit for d in wanted for unit in (common(d) if len(wanted) == 1 else common(d)[:2])]
        such = f"{', '.join(some)} or {last}" if some else last
        raise UnitError(f"'{text}' has no unit", f"add the unit, such as {such}")
    if "length" in wanted and (match := re.fullmatch(r"(?:(?:ft|feet|foot)\s+|['′]\s*)(\d.*)", rest)):
        if not value.is_integer():
            raise UnitError(f"'{text}' mixes a fraction of a foot with inches", "write it as in '5 ft 6 in'")
        inches, unit_text = _split(match.group(1))
        unit = _lookup(unit_text or "in", ("length",), text, system)
        if unit.pint != "inch" or not 0 <= inches < 12:
            raise UnitError(f"'{text}' is not feet and inches", "write it as in '5 ft 6 in'")
        feet = _lookup("ft", ("length",), text, system)
        return Given(math.copysign(abs(value) * feet.si + inches * unit.si, value), text.strip(), "ft", "length")
    if rest in ("k", "K") and "temperature" not in wanted and "temperature difference" not in wanted:
        such = " or ".join(common(d)[0] for d in wanted)
        raise UnitError(
            f"'{text}' has no unit. The {rest} says a thousand", f"write the unit behind it, such as {such}"
        )
    unit = _lookup(rest, wanted, text, system)
    si = value * unit.si + unit.offset
    if not math.isfinite(si):
        raise UnitError(f"'{text}' is not a finite value", f"write it as in '{example(unit.dimension, system)}'")
    if unit.dimension == "temperature" and si < 0:
        raise UnitError(f"'{text}' is below absolute zero", f"write it as in '{example('temperature', system)}'")
    return Given(si, text.strip(), unit.spellings[0], unit.dimension)


def other_reading(given: Given, most: float) -> tuple[str, str] | None:
    """Both ways to write a quantity whose number has one group of three digits, where it may have been meant the other
    way; None where it says what it means.

    A point is read as a decimal one and a comma as one of thousands, and half of the world writes them the other way
    round. `most` in SI is the largest value that is usual: "3.000 m" may be 3,000 m where that is not too much, and
    "1,500 m" is doubtful where 1,500 m is. A number below one, as 0.125, has no thousands.
    """
    match = _GROUPS.match(given.text)
    if match is None:
        return None
    point = match["mark"] == "."
    if abs(given) * 1000 > most if point else abs(given) <= most:
        return None
    number, unit = match.group().strip(), given.text[match.end() :].strip()
    whole, _, group = number.partition(match["mark"])
    shorter = group.rstrip("0")
    plain = whole if not shorter else f"{whole}.{shorter}" if len(shorter) < len(group) else f"{whole}.{group}0"
    return f"{plain} {unit}", f"{whole}{group} {unit}"


def convert(si: float, dimension: str, spelling: str) -> float:
    """An SI value in another unit of the list."""
    unit = _unit(dimension, spelling)
    return (si - unit.offset) / unit.si


@lru_cache(maxsize=512)
def _unit(dimension: str, spelling: str) -> Unit:
    return units()[dimension][_squeeze(spelling)]


# --- printing -------------------------------------------------------------------------------------------------------
#
# One table decides which unit and how many digits a kind of quantity gets on pages, in findings and in messages.


class _Shown(Struct, frozen=True):
    dimension: str
    us: str
    si: str
    us_digits: int
    si_digits: int
    anz: str | None = None
    anz_digits: int = 0
    feet: bool = False

    def unit(self, system: System) -> tuple[str, int]:
        """The unit in a system and its digits; what `anz` does not say is as in `si`."""
        if system == "us":
            return self.us, self.us_digits
        return (self.anz, self.anz_digits) if system == "anz" and self.anz is not None else (self.si, self.si_digits)


_KINDS: dict[str, _Shown] = {
    "run length": _Shown("length", "ft", "m", 1, 2),
    "short length": _Shown("length", "in", "mm", 1, 0),
    "distance": _Shown("length", "in", "mm", 1, 0, feet=True),
    "bore": _Shown("length", "in", "mm", 3, 2),
    "cut length": _Shown("length", "in", "mm", 2, 0),
    "altitude": _Shown("length", "ft", "m", 0, 0),
    "area": _Shown("area", "in2", "cm2", 1, 0),
    "room volume": _Shown("volume", "ft3", "m3", 0, 1),
    "liquid volume": _Shown("volume", "gal", "L", 1, 1),
    "gas volume": _Shown("volume", "ft3", "L", 3, 2),
    "weight": _Shown("mass", "lb", "kg", 1, 1),
    "temperature": _Shown("temperature", "degF", "degC", 0, 0),
    "test temperature": _Shown("temperature", "degF", "degC", 1, 1),
    "temperature step": _Shown("temperature difference", "degF", "K", 2, 2),
    "supply pressure": _Shown("pressure", "inH2O", "mbar", 1, 1, "kPa", 2),
    "test pressure": _Shown("pressure", "psi", "mbar", 2, 0, "kPa", 1),
    "drop": _Shown("pressure", "inH2O", "mbar", 2, 2, "kPa", 3),
    "stage drop": _Shown("pressure", "psi", "mbar", 3, 1, "kPa", 2),
    "container pressure": _Shown("pressure", "psi", "bar", 1, 2, "kPa", 0),
    "barometer": _Shown("pressure", "inHg", "mbar", 2, 0, "kPa", 1),
    "load": _Shown("power", "kBtu/h", "kW", 1, 2, "MJ/h", 1),
    "energy": _Shown("energy", "kBtu", "kWh", 0, 1, "MJ", 0),
    "fuel use": _Shown("mass flow", "lb/day", "kg/day", 2, 2),
    "gas mass": _Shown("mass flow", "lb/h", "kg/h", 3, 3),
    "gas flow": _Shown("volume flow", "ft3/h", "m3/h", 1, 3),
    "gas speed": _Shown("speed", "ft/s", "m/s", 1, 1),
    "leak rate": _Shown("volume flow", "cm3/min", "cm3/min", 3, 3),
    "time": _Shown("time", "h", "h", 1, 1),
    "hold": _Shown("time", "min", "min", 1, 1),
}


def show(si: float, kind: str, system: System) -> str:
    """A quantity as text with its unit, in the units and digits of its kind: 'kind' is one of `kinds()`.

    Trailing zeros of a fraction are dropped, so a length given as 9 ft prints as "9 ft".
    """
    return _in_digits(si, kind, system, 0)


def show_up(si: float, kind: str, system: System) -> str:
    """The least that something may be: rounded up, because what is a little smaller would not do.

    12 kW in thousands of Btu an hour are 40.946.
    >>> show(12000.0, "load", "us"), show_up(12000.0, "load", "us")
    ('40.9 kBtu/h', '41 kBtu/h')
    """
    return _in_digits(si, kind, system, 0, up=True)


def show_apart(si: float, other: float, kind: str, system: System) -> str:
    """A quantity with as many more digits as it takes to print otherwise than `other`, a limit that it just misses."""
    for more in range(4):
        text = _in_digits(si, kind, system, more)
        if text != _in_digits(other, kind, system, more):
            return text
    return show(si, kind, system)


FEET_FROM = 24.0
"""in: from here on a distance is written in feet and inches, as a tape is read (our choice)."""


def _in_digits(si: float, kind: str, system: System, more: int, *, up: bool = False) -> str:
    shown = _KINDS[kind]
    spelling, digits = shown.unit(system)
    value, step = convert(si, shown.dimension, spelling), 10 ** (digits + more)
    # What arithmetic leaves behind the last digit is not rounded up.
    value = math.ceil(round(value * step, 6)) / step if up else round(value, digits + more)
    if shown.feet and spelling == "in" and value >= FEET_FROM:
        feet, inches = divmod(value, 12.0)
        return f"{feet:.0f} ft {_number(inches, digits + more)} in"
    return f"{_number(value, digits + more)} {spelling}"


def _number(value: float, digits: int) -> str:
    """A number with at most so many digits behind the point."""
    number = f"{value:,.{digits}f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return "0" if number in ("-0", "") else number


def pressure_kind(gauge: float, system: System) -> str:
    """The kind that suits a gauge pressure (Pa): psi read better than inches of water from 0.7 psi up, bar than mbar from 0.5."""
    if gauge < (5e3 if system == "us" else 5e4):
        return "supply pressure"
    return "test pressure" if gauge < 5e4 else "container pressure"


def drop_kind(gauge: float, system: System) -> str:
    """The kind that suits a drop in a line whose gauge pressure (Pa) that is."""
    return "drop" if pressure_kind(gauge, system) == "supply pressure" else "stage drop"


def both(si: float, kind: str, system: System) -> str:
    """The quantity first in `system`, the other system in brackets after it."""
    other: System = "si" if system == "us" else "us"
    return f"{show(si, kind, system)} ({show(si, kind, other)})"


def si_of(kind: str) -> str:
    """The SI unit in which values of a kind of quantity are held."""
    return si_unit(_KINDS[kind].dimension)


def kinds() -> tuple[str, ...]:
    """The kinds of quantity `show` knows."""
    return tuple(_KINDS)
