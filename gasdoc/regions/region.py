"""The rule data as frozen values, and the functions that read it.

One `.yaml` per region, read only when that region is asked for. Rows that several regions share stand once, in
`common.yaml`; a region takes one with `use: <id>` and may set single keys anew. Cautions, upkeep, questions and leak
methods have a file each. Every row is checked when it is read: an unknown key, a word that is not in its closed list
or a figure in the wrong dimension raises DataError.

A row whose citation is marked "memory" must never be the ground for saying that a build has what a rule asks; that
is for the code that evaluates the rows, which finds the mark in `citation.confirmed`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Literal, TypeVar

from gasdoc import data, units
from gasdoc.data import DataError
from gasdoc.source import CONFIRMED, Citation
from gasdoc.units import Given

Basis = Literal["gross", "net"]

_PACKAGE = "gasdoc.regions"
_OTHER_FILES = frozenset({"cautions", "common", "leak_methods", "questions", "sequence", "upkeep"})

_WATER_KG_PER_M3 = 8.32828 * 0.45359237 / 3.785411784e-3
"""Turns a container's water capacity in pounds into a volume: 8.32828 lb/gal at 60 degF (WAC 296-307-40029)."""


_COUNTRIES = {
    "uk": "uk gb england scotland wales britain",
    "eu": "eu europe de germany at austria fr france nl netherlands es spain it italy ie ireland dk no se fi ch",
    "us": "us usa america states",
    "canada": "ca canada canadian",
    "au-nz": "au nz australia zealand aus",
}
"""Words that name where a build is, by the region or family of regions that is for it."""


def _meant(wanted: str) -> list[str]:
    """The regions a word may be meant for: those of the country it names; else one that is spelt much like it."""
    words = set(re.split(r"[^a-z]+", wanted.lower()))
    spelt = difflib.get_close_matches(wanted.lower(), region_ids(), n=1, cutoff=0.75)
    family = next((f for f, names in _COUNTRIES.items() if words & set(names.split())), None)
    if family is None:
        return spelt
    own = {"uk": ["uk", "boat-eu"], "eu": ["eu", "boat-eu"], "us": [r for r in region_ids() if "us" in r.split("-")]}
    fit = own.get(family, [family])
    if words & {"boat", "narrowboat", "yacht"}:
        return [r for r in fit if r.startswith("boat-")] or fit
    return [r for r in spelt if r in fit] or (fit if family == "us" else fit[:1])


class UnknownRegion(ValueError):
    """A region id that has no rule set; `nearest` is the one it was most likely meant for, or None."""

    def __init__(self, wanted: str) -> None:
        near = _meant(wanted)
        self.wanted = wanted
        self.nearest = near[0] if len(near) == 1 else None
        hint = f"did you mean '{self.nearest}'?" if self.nearest else f"use one of {', '.join(near or region_ids())}"
        super().__init__(f"unknown region '{wanted}'; {hint}")

    def __reduce__(self) -> tuple[type[UnknownRegion], tuple[str]]:
        return (UnknownRegion, (self.wanted,))


# --- closed lists ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity of a build that a rule may limit.

    Its limits are quantities of one of `dimensions`, or words out of `words`, or plain numbers if it has neither.
    """

    meaning: str
    dimensions: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


MEASURES: dict[str, Measure] = {
    "sizing-drop": Measure("pressure lost from the last regulator to an outlet, all appliances on", ("pressure",)),
    "inside-pressure": Measure("highest gauge pressure in a line inside the occupied space", ("pressure",)),
    "connector-length": Measure("length of an appliance connector along its centre line", ("length",)),
    "shutoff-distance": Measure("distance from an appliance to its own shut-off valve", ("length",)),
    "container-count": Measure("containers connected or carried"),
    "container-water-capacity": Measure("volume one container holds, full to the brim", ("volume", "mass")),
    "container-fuel": Measure("gas in all containers together, each filled to its limit", ("mass",)),
    "container-place": Measure("where the container is", words=("outside", "sealed-compartment", "inside")),
    "container-service": Measure("what is drawn from the container", words=("vapour", "liquid")),
    "container-fill": Measure("liquid in the container as a share of its volume", ("share",)),
    "orientation": Measure("the mounted position against the one on its label", words=("as-marked", "other")),
    "sleeping-flueless": Measure(
        "appliances without a flue, cookers apart, in a space people sleep in; heaters alone with that condition"
    ),
    "vent-area-high": Measure("free area of fixed openings at high level", ("area",)),
    "vent-area-low": Measure("free area of fixed openings at low level", ("area",)),
    "vent-area-total": Measure("free area of all fixed openings, high and low", ("area",)),
    "room-volume": Measure("volume of the room the appliances take air from", ("volume",)),
    "gas-alarm": Measure("LP-gas alarms fitted"),
    "co-alarm": Measure("carbon monoxide alarms fitted"),
    "smoke-alarm": Measure("smoke alarms fitted"),
    "test-pressure": Measure("gauge pressure of a recorded pressure test", ("pressure",)),
    "test-hold": Measure("time a recorded pressure test was held", ("time",)),
    "check-hold": Measure("time a recorded leak check was held", ("time",)),
    "csst-on-vehicle": Measure("runs of corrugated stainless tubing on something that moves"),
    "flame-failure": Measure("appliances that do not shut off when the flame fails"),
    "room-sealed-heating": Measure("space and water heaters that are not sealed from the room"),
    "support-spacing": Measure("distance between supports of a line", ("length",)),
    "locker-vent-share": Measure("free area of a locker's openings, high and low, as a share of its floor", ("share",)),
    "locker-smaller-vent-share": Measure(
        "the smaller of a locker's high and low openings, as a share of its floor", ("share",)
    ),
    "locker-vent-area": Measure("free area of a locker's openings, high and low", ("area",)),
    "locker-drain": Measure("bore of a locker's drain", ("length",)),
    "locker-drain-height": Measure("height of a locker's drain above the waterline at rest", ("length",)),
    "locker-to-opening": Measure(
        "distance from a locker's vent or drain to the nearest opening into the rooms", ("length",)
    ),
    "non-return": Measure("a non-return valve at each of several connected containers", words=("yes", "no")),
    "mount-load-multiple": Measure("static load the mounts carry, as a multiple of the filled weight"),
}

RELATIONS = ("at-most", "at-least", "is")
SUBJECTS = (
    "container",
    "mounting",
    "piping",
    "connector",
    "regulator",
    "ventilation",
    "detection",
    "test",
    "space",
    "record",
)

METHODS: dict[str, str] = {
    "as-nzs-5601-2": "610 mm2 per MJ/h of appliances not room-sealed, 650 mm2 a sleeping place, never under the limit",
    "bss-2002": "2200 mm2 per kW without a flue, 440 mm2 per kW with a flue, and 650 mm2 a person",
    "en-721-appliances": "by floor area, with appliances that are not room-sealed",
    "en-721-no-appliances": "by floor area, with no appliances or room-sealed ones only",
    "ifgc-room-volume": "50 ft3 per 1000 Btu/h of all appliances in the room",
    "ifgc-two-indoors": "two openings to other rooms, each 1 in2 per 1000 Btu/h, never under the limit",
    "ifgc-two-outdoors": "two openings to outdoors, each 1 in2 per 4000 Btu/h",
    "ifgc-two-horizontal-ducts": "two horizontal ducts to outdoors, each 1 in2 per 2000 Btu/h",
    "ifgc-one-outdoors": "one opening to outdoors, 1 in2 per 3000 Btu/h",
}
"""Ways to work out a limit from the build itself; the arithmetic is in `gasdoc.engineering`."""

RULE_CONDITIONS = (
    "steel-half-inch",
    "steel-to-one-inch",
    "steel-larger",
    "tubing-half-inch",
    "tubing-to-three-quarter-inch",
    "tubing-larger",
    "moving-tube",
    "moving-rigid",
    "csst",
    "csst-three-eighths-inch",
    "csst-half-inch",
    "csst-larger",
    "cooking",
    "not-cooking",
    "heating",
    "not-heating",
    "cylinder",
    "fixed-tank",
    "fixed-tank-sideways",
    "locker",
    "several-containers",
    "hose",
)
"""What part of a build a row is limited to: the size of a line, the kind of appliance or container, a direction;
"moving-tube" and "moving-rigid" are tube of copper and threaded pipe on what moves, "heating" are room and water heaters,
"hose" are connectors that are not rigid."""

SETTINGS = ("cabin", "trailer", "vehicle", "boat")
PLACES = ("moves", "building")
"""What a row is for, where it is not for all that its region is for: "building" is a cabin, "moves" anything else."""

TEST_KINDS = ("piping", "appliances", "leak-check", "container-side", "flow")

TEST_ZONES = ("first", "between")
"""Where a row is for another zone than its kind: behind the first regulator, or between it and a further one."""

CAUTION_GROUPS = ("before", "joints", "container", "testing", "living", "emergency", "carbon-monoxide")
CAUTION_CONDITIONS = (
    "always",
    "vehicle",
    "trailer",
    "boat",
    "cabin",
    "sleeping",
    "cold",
    "altitude",
    "exchanged-cylinder",
    "permanent-container",
    "inside-locker",
    "flueless",
    "csst",
    "csst-moving",
    "copper",
    "steel",
    "pe",
    "butane",
    "two-stage",
)
TASK_CONDITIONS = (
    "always",
    "cylinder",
    "asme",
    "hose",
    "regulator",
    "gas-alarm",
    "co-alarm",
    "smoke-alarm",
    "csst",
    "vehicle",
    "trailer",
    "boat",
    "cabin",
)
"""What a build has, for upkeep; the ids of regions may stand in the same list."""

TASK_GROUPS = ("regular", "storage", "first-use", "after-damage")
SHORT = 30
"""Letters a task's short title may have; a part's name stands beside it in a chart."""
COUNTED_FROM = ("fitted", "manufactured", "last-done", "tested", "requalified")

PLACEHOLDERS: dict[str, str] = {
    "title": "title of the build",
    "region_title": "title of the region's rule set",
    "codes_text": "codes the rule set rests on",
    "container_text": "container: type, size, where and how it is mounted",
    "tubing_text": "materials, sizes and lengths of the line",
    "appliances_text": "appliances with their inputs and how each is vented",
    "ventilation_text": "ventilation openings the build has",
    "alarms_text": "alarms the build has",
    "test_text": "pressure test and leak check as planned or recorded",
    "upkeep_text": "the next tasks of the upkeep calendar",
}
"""Facts of a build that a question may name in braces. `study` supplies all of them."""


# --- what a region holds --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Sentence:
    """One statement of fact with its source; `where` is one of PLACES, None where it is for both."""

    text: str
    where: str | None
    citation: Citation


@dataclass(frozen=True, slots=True)
class Code:
    """A code or law of a region; `edition` is None where the notes name none, `where` as for rules."""

    code: str
    edition: str | None
    scope: str
    where: str | None
    citation: Citation


@dataclass(frozen=True, slots=True)
class Figure:
    """A quantity in SI (it remembers its text) and what it is for."""

    value: Given
    text: str
    citation: Citation


@dataclass(frozen=True, slots=True)
class Plates:
    """What heat the plates of a region's appliances usually count: "gross" or "net"."""

    basis: Basis
    citation: Citation


@dataclass(frozen=True, slots=True)
class Supply:
    """How gas is delivered and how lines are sized; pressures are gauge, in Pa.

    `method` "tables" sizes by a code's tables, made for `inlet` and `drop`; "calculated" has no code table here and
    allows a `drop`, or `drop_share` of the delivered pressure. A spec may set its own allowance. `regulator_coldest` K is
    the coldest place regulators to the region's standard are for without more being asked of them; None where no such text
    was read.
    """

    nominal: Figure
    others: tuple[Figure, ...]
    plates: Plates
    inside_maximum: Figure | None
    regulator_coldest: Figure | None
    method: Literal["tables", "calculated"]
    inlet: Given | None
    drop: Given | None
    drop_share: Given | None
    citation: Citation

    def drop_allowance(self, delivered_gauge: float) -> float:
        """The pressure that may be lost between the last regulator and an outlet, in Pa."""
        if self.drop is not None:
            return float(self.drop)
        assert self.drop_share is not None  # the loader lets only one of the two be missing
        return self.drop_share * delivered_gauge


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing a region asks.

    `measure` is the quantity of the build it limits, or None when only a person can judge. The limit is a quantity in
    SI (a water capacity in m3, whatever it was written in), a plain number, or the words that are accepted. Where
    `method` is set the limit comes from the build by that method, and `limit`, if any, is the least it may give. A
    measure with neither is not a matter of a number: the row is shown when the build has any of it.

    `alternative` rows come from another source, or are another accepted way: shown beside the region's own rows,
    never evaluated in their place. A row with `citation.confirmed` "memory" must never give "met".
    """

    id: str
    subject: str
    asks: str
    measure: str | None
    relation: str | None
    limit: float | tuple[str, ...] | None
    method: str | None
    condition: str | None
    where: str | None
    alternative: bool
    citation: Citation

    @property
    def limit_text(self) -> str | None:
        """The limit as the source words it, or None."""
        if isinstance(self.limit, tuple):
            return " or ".join(self.limit)
        if isinstance(self.limit, Given):
            return self.limit.text
        return None if self.limit is None else f"{self.limit:g}"


@dataclass(frozen=True, slots=True)
class AskedPressure:
    """The pressure a test asks for; gauge, Pa. `factor` multiplies the greatest working pressure of the line.

    `below` is how far under its working pressure the line may stand; `lock_up` the highest with nothing burning.
    `by_plates`: the appliances' plates say the least and the greatest. `over` and `up_to` bound the working pressures the row
    is for; None where it is for all.
    """

    text: str
    minimum: Given | None
    factor: float | None
    maximum: Given | None
    over: Given | None
    up_to: Given | None
    below: Given | None
    lock_up: Given | None
    by_plates: bool

    def applies(self, working_gauge: float) -> bool:
        """Whether the row is for a line of this working pressure, in Pa."""
        return (self.over is None or working_gauge > self.over) and (self.up_to is None or working_gauge <= self.up_to)

    def least(self, working_gauge: float) -> float | None:
        """The lowest gauge pressure in Pa that satisfies the row, or None where only words are given."""
        if self.minimum is None and self.factor is None and self.below is None:
            return None
        under = working_gauge - self.below if self.below is not None else 0.0
        low = max(self.minimum or 0.0, (self.factor or 0.0) * working_gauge, under)
        return low if self.maximum is None else min(low, self.maximum)


@dataclass(frozen=True, slots=True)
class Gauge:
    """The instrument a test asks for: full scale at most this multiple of the test pressure, finest step in Pa."""

    text: str
    full_scale_factor: float | None
    resolution: Given | None


@dataclass(frozen=True, slots=True)
class Pass:
    """What passes: the largest drop and rise in Pa not explained by temperature; None where the row sets no figure."""

    text: str
    allowed_drop: Given | None
    allowed_rise: Given | None


@dataclass(frozen=True, slots=True)
class LineTest:
    """A pressure test ("piping", "appliances"), a leak check, a check of the container side, or of delivered pressure.

    `asked` is False for a row of another code or state, shown beside the region's own. Times are in s; `hold` is None
    where the text read gives no time. `connected`: the appliances stay connected in it, their taps shut. `zone` is one of
    TEST_ZONES, None where the kind says which zones it is made in; `where` one of PLACES, None where it is for both.
    """

    id: str
    kind: str
    zone: str | None
    name: str
    when: str
    medium: tuple[str, ...]
    pressure: AskedPressure
    settle: Given | None
    hold: Given | None
    gauge: Gauge
    passes: Pass
    isolate: str
    connected: bool
    where: str | None
    asked: bool
    citation: Citation


@dataclass(frozen=True, slots=True)
class Question:
    """A question for the authority, with `{placeholders}` out of PLACEHOLDERS, for builds with a condition in `when`."""

    id: str
    text: str
    when: tuple[str, ...]
    citation: Citation

    def filled(self, facts: Mapping[str, str]) -> str:
        """The question with the build's facts in it. Raises KeyError for a fact that is missing."""
        return self.text.format_map(facts)


@dataclass(frozen=True, slots=True)
class Region:
    """A rule set: what it is for (`settings` are the settings out of SETTINGS), what its codes ask, which tests, who may
    work and sign, what to ask."""

    id: str
    title: str
    scope: str
    settings: tuple[str, ...]
    units: units.System
    codes: tuple[Code, ...]
    people: tuple[Sentence, ...]
    signoff: tuple[Sentence, ...]
    supply: Supply
    rules: tuple[Rule, ...]
    tests: tuple[LineTest, ...]
    questions: tuple[Question, ...]

    def rules_for(self, measure: str) -> tuple[Rule, ...]:
        """The rows that limit `measure`, the region's own first, then the alternatives."""
        rows = [r for r in self.rules if r.measure == measure]
        return tuple(sorted(rows, key=lambda r: r.alternative))


# --- what is the same everywhere ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Caution:
    """A usual caution. `short` is its one-line form for the top of every page, for the most important ones only.

    `text_us` is the text in US units with what holds there, None where one text is for all. It is shown to a build that has a
    condition of `when` and, if `also` has any, one of those; in `regions` only, if there are any.
    """

    id: str
    group: str
    text: str
    text_us: str | None
    why: str | None
    when: tuple[str, ...]
    also: tuple[str, ...]
    regions: tuple[str, ...]
    short: str | None
    citation: Citation

    def said(self, shown: units.System) -> str:
        """The text in the units a build's pages show first."""
        return self.text_us if self.text_us is not None and shown == "us" else self.text


@dataclass(frozen=True, slots=True)
class Interval:
    """How often: a count of calendar units."""

    text: str
    count: int
    unit: Literal["day", "week", "month", "year"]

    @property
    def days(self) -> int:
        """Nominal length in days, month 30 and year 365, so that a due date is never put too late."""
        return self.count * {"day": 1, "week": 7, "month": 30, "year": 365}[self.unit]


@dataclass(frozen=True, slots=True)
class Task:
    """An upkeep task: by `interval`, counted from `counted_from`, or after an `event`, or both.

    Rows with one `task_group` are the same task by different sources: show all, use the shortest that is not
    from memory. `once`: done once in a container's life. `short` is the task in a few words, at most SHORT letters.
    """

    id: str
    task_group: str
    group: str
    short: str
    task: str
    interval: Interval | None
    event: str | None
    applies: tuple[str, ...]
    counted_from: str | None
    once: bool
    who: Literal["owner", "licensed person"]
    citation: Citation


@dataclass(frozen=True, slots=True)
class LeakMethod:
    """A way to look for a leak. `smallest` is about the least leak it shows, in m3/s, or None where no figure fits."""

    id: str
    name: str
    text: str
    smallest: Given | None
    citation: Citation


# --- reading --------------------------------------------------------------------------------------------------------

_T = TypeVar("_T")


_SHARED = "(shared)"
"""The key under which a row that a region takes from common.yaml says so."""


class _Row:
    """One mapping of a data file, taken apart key by key; what nobody took is an unknown key."""

    def __init__(self, row: Any, where: str) -> None:
        if not isinstance(row, dict):
            raise DataError(f"{where}: a mapping is needed, not {row!r}")
        self.row: dict[str, Any] = dict(row)
        shared = self.row.pop(_SHARED, None)
        where = f"{where}, shared with {shared}" if shared else where
        self.where = f"{where}: {row['id']}" if "id" in row else where

    def wrong(self, message: str) -> DataError:
        return DataError(f"{self.where}: {message}")

    def optional(self, key: str) -> str | None:
        value = self.row.pop(key, None)
        if value is None:
            return None
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(f"'{key}' must be text, not {value!r}")
        return " ".join(value.split())

    def text(self, key: str) -> str:
        value = self.optional(key)
        if value is None:
            raise self.wrong(f"'{key}' is missing")
        return value

    def choice(self, key: str, allowed: Iterable[str]) -> str:
        return self.among(self.text(key), key, allowed)

    def among(self, value: str, key: str, allowed: Iterable[str]) -> str:
        if value not in allowed:
            raise self.wrong(f"'{key}' is '{value}', not one of {', '.join(sorted(allowed))}")
        return value

    def choices(self, key: str, allowed: Iterable[str]) -> tuple[str, ...]:
        return tuple(self.among(value, key, allowed) for value in self.texts(key))

    def texts(self, key: str) -> tuple[str, ...]:
        values = self.row.pop(key, None)
        if not isinstance(values, list) or not values or not all(isinstance(v, str) and v for v in values):
            raise self.wrong(f"'{key}' must be a list of words, not {values!r}")
        return tuple(values)

    def flag(self, key: str, *, default: bool | None = None) -> bool:
        value = self.row.pop(key, default)
        if not isinstance(value, bool):
            raise self.wrong(f"'{key}' must be yes or no, not {value!r}")
        return value

    def number(self, key: str) -> float | None:
        value = self.row.pop(key, None)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.wrong(f"'{key}' must be a plain number, not {value!r}")
        return float(value)

    def quantity(self, key: str, *dimensions: str) -> Given | None:
        text = self.optional(key)
        if text is None:
            return None
        try:
            return units.parse(text, *dimensions)
        except units.UnitError as error:
            raise self.wrong(f"'{key}': {error}") from error

    def needed(self, key: str, *dimensions: str) -> Given:
        value = self.quantity(key, *dimensions)
        if value is None:
            raise self.wrong(f"'{key}' is missing")
        return value

    def citation(self) -> Citation:
        return Citation(self.text("citation"), self.choice("confirmed", CONFIRMED))

    def part(self, key: str) -> _Row:
        return _Row(self.row.pop(key, None), f"{self.where}: {key}")

    def each(self, key: str, read: Callable[[_Row], _T]) -> tuple[_T, ...]:
        """The rows under `key`, none if it is absent, each read to its last key, ids unique."""
        return _each(self.row.pop(key, None) or [], f"{self.where}: {key}", read)

    def end(self) -> None:
        if self.row:
            raise self.wrong(f"unknown keys {', '.join(map(repr, self.row))}")


def _each(rows: Any, where: str, read: Callable[[_Row], _T]) -> tuple[_T, ...]:
    if not isinstance(rows, list):
        raise DataError(f"{where}: a list is needed, not {rows!r}")
    made: list[_T] = []
    seen: set[str] = set()
    for position, raw in enumerate(rows):
        row = _Row(raw, f"{where}[{position}]")
        identity = row.row.get("id")
        if identity in seen:
            raise row.wrong("this id is used twice")
        if identity is not None:
            seen.add(str(identity))
            if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", str(identity)):
                raise row.wrong("an id is written in small letters and hyphens")
        made.append(read(row))
        row.end()
    return tuple(made)


def _sentence(row: _Row) -> Sentence:
    return Sentence(row.text("text"), _where(row), row.citation())


def _code(row: _Row) -> Code:
    return Code(row.text("code"), row.optional("edition"), row.text("scope"), _where(row), row.citation())


def _figure(row: _Row, dimension: str = "pressure") -> Figure:
    return Figure(row.needed("value", dimension), row.text("text"), row.citation())


def _plates(row: _Row) -> Plates:
    basis: Basis = "gross" if row.choice("basis", ("gross", "net")) == "gross" else "net"
    plates = Plates(basis, row.citation())
    row.end()
    return plates


def _limit(row: _Row, measure: Measure) -> float | tuple[str, ...] | None:
    if row.row.get("limit") is None:
        row.row.pop("limit", None)
        return None
    if measure.words:
        return row.choices("limit", measure.words)
    if not measure.dimensions:
        return row.number("limit")
    limit = row.needed("limit", *measure.dimensions)
    if limit.dimension == "mass" and "volume" in measure.dimensions:
        return Given(limit / _WATER_KG_PER_M3, f"{limit.text} of water", limit.unit, "volume")
    return limit


def _rule(row: _Row) -> Rule:
    identity = row.text("id")
    measure, relation, method, condition = (row.optional(k) for k in ("measure", "relation", "method", "condition"))
    limit = None
    if measure is not None:
        limit = _limit(row, MEASURES[row.among(measure, "measure", MEASURES)])
    if relation is not None:
        row.among(relation, "relation", RELATIONS)
    if method is not None:
        row.among(method, "method", METHODS)
    if condition is not None:
        row.among(condition, "condition", RULE_CONDITIONS)
    if (relation is None) != (limit is None and method is None):
        raise row.wrong("a relation and a limit or method belong together")
    if isinstance(limit, tuple) != (relation == "is"):
        raise row.wrong("'is' goes with words, 'at-most' and 'at-least' with figures")
    return Rule(
        id=identity,
        subject=row.choice("subject", SUBJECTS),
        asks=row.text("asks"),
        measure=measure,
        relation=relation,
        limit=limit,
        method=method,
        condition=condition,
        where=_where(row),
        alternative=row.flag("alternative", default=False),
        citation=row.citation(),
    )


def _where(row: _Row) -> str | None:
    where = row.optional("where")
    return where if where is None else row.among(where, "where", PLACES)


def _line_test(row: _Row) -> LineTest:
    identity, kind, zone = row.text("id"), row.choice("kind", TEST_KINDS), row.optional("zone")
    if zone is not None:
        row.among(zone, "zone", TEST_ZONES)
    pressure, gauge, passes = row.part("pressure"), row.part("gauge"), row.part("pass")
    test = LineTest(
        id=identity,
        kind=kind,
        zone=zone,
        name=row.text("name"),
        when=row.text("when"),
        medium=row.texts("medium"),
        pressure=AskedPressure(
            text=pressure.text("text"),
            minimum=pressure.quantity("minimum", "pressure"),
            factor=pressure.number("factor"),
            maximum=pressure.quantity("maximum", "pressure"),
            over=pressure.quantity("over", "pressure"),
            up_to=pressure.quantity("up_to", "pressure"),
            below=pressure.quantity("below", "pressure"),
            lock_up=pressure.quantity("lock_up", "pressure"),
            by_plates=pressure.flag("by_plates", default=False),
        ),
        settle=row.quantity("settle", "time"),
        hold=row.quantity("hold", "time"),
        gauge=Gauge(gauge.text("text"), gauge.number("full_scale_factor"), gauge.quantity("resolution", "pressure")),
        passes=Pass(
            text=passes.text("text"),
            allowed_drop=passes.quantity("allowed_drop", "pressure"),
            allowed_rise=passes.quantity("allowed_rise", "pressure"),
        ),
        isolate=row.text("isolate"),
        connected=row.flag("connected", default=kind != "piping"),
        where=_where(row),
        asked=row.flag("asked"),
        citation=row.citation(),
    )
    for part in (pressure, gauge, passes):
        part.end()
    return test


def _question(row: _Row) -> Question:
    when = row.choices("when", CAUTION_CONDITIONS) if "when" in row.row else ("always",)
    question = Question(row.text("id"), row.text("text"), when, row.citation())
    for name in re.findall(r"\{(.*?)\}", question.text):
        row.among(name, "placeholder", PLACEHOLDERS)
    return question


def _supply(row: _Row, rules: tuple[Rule, ...]) -> Supply:
    nominal = row.part("nominal")
    sizing = row.part("sizing")
    cold = row.part("regulator_coldest") if "regulator_coldest" in row.row else None
    limit = next((r for r in rules if r.measure == "inside-pressure" and not r.alternative), None)
    inside = None
    if limit is not None and isinstance(limit.limit, Given):
        inside = Figure(limit.limit, limit.asks, limit.citation)
    method: Literal["tables", "calculated"]
    method = "tables" if sizing.choice("method", ("tables", "calculated")) == "tables" else "calculated"
    supply = Supply(
        nominal=_figure(nominal),
        others=row.each("others", _figure),
        plates=_plates(row.part("plates")),
        inside_maximum=inside,
        regulator_coldest=_figure(cold, "temperature") if cold is not None else None,
        method=method,
        inlet=sizing.quantity("inlet", "pressure"),
        drop=sizing.quantity("drop", "pressure"),
        drop_share=sizing.quantity("drop_share", "share"),
        citation=sizing.citation(),
    )
    inlet_given = supply.inlet is not None
    if inlet_given != (method == "tables") or (supply.drop is None) == (supply.drop_share is None):
        raise row.wrong("'tables' goes with inlet and drop, 'calculated' with drop or drop_share")
    if method == "tables" and supply.drop is None:
        raise row.wrong("'tables' goes with inlet and drop")
    for part in (nominal, sizing, cold, row):
        if part is not None:
            part.end()
    return supply


@cache
def _shared(kind: str) -> dict[str, dict[str, Any]]:
    """The rows of common.yaml under `kind` by their ids."""
    rows = _Row(data.load(_PACKAGE, "common.yaml"), "common.yaml").row.get(kind)
    if not isinstance(rows, list):
        raise DataError(f"common.yaml: {kind}: a list is needed, not {rows!r}")
    return {_Row(row, f"common.yaml: {kind}[{i}]").text("id"): row for i, row in enumerate(rows)}


def _with_common(rows: Any, kind: str, where: str) -> list[Any]:
    """A region's rows with each `use: <id>` replaced by the shared row, keys given beside it set anew."""
    if not isinstance(rows, list):
        raise DataError(f"{where}: {kind}: a list is needed, not {rows!r}")
    filled, shared = [], _shared(kind)
    for row in rows:
        if isinstance(row, dict) and "use" in row:
            if row["use"] not in shared:
                raise DataError(f"{where}: common.yaml has no '{row['use']}' under {kind}")
            own = {k: v for k, v in row.items() if k != "use"}
            row = {**shared[row["use"]], **own, _SHARED: f"common.yaml: {kind}"}
        filled.append(row)
    return filled


@lru_cache(maxsize=1)
def region_ids() -> tuple[str, ...]:
    """The ids of all rule sets, sorted."""
    return tuple(name for name in data.names(_PACKAGE) if name not in _OTHER_FILES)


@cache
def region(region_id: str) -> Region:
    """The rule set `region_id`; reads its file and the shared rows, no other. Raises UnknownRegion, DataError."""
    if region_id not in region_ids():
        raise UnknownRegion(region_id)
    name = f"{region_id}.yaml"
    row = _Row(data.load(_PACKAGE, name), name)
    for kind in ("rules", "tests"):
        row.row[kind] = _with_common(row.row.get(kind), kind, name)
    if row.text("id") != region_id:
        raise row.wrong("'id' must be the file's name")
    rules = row.each("rules", _rule)
    made = Region(
        id=region_id,
        title=row.text("title"),
        scope=row.text("scope"),
        settings=row.choices("settings", SETTINGS),
        units="us" if row.choice("units", ("us", "si")) == "us" else "si",
        codes=row.each("codes", _code),
        people=row.each("people", _sentence),
        signoff=row.each("signoff", _sentence),
        supply=_supply(row.part("supply"), rules),
        rules=rules,
        tests=row.each("tests", _line_test),
        questions=row.each("questions", _question),
    )
    row.end()
    return made


def _file(name: str, key: str, read: Callable[[_Row], _T]) -> tuple[_T, ...]:
    content = _Row(data.load(_PACKAGE, name), name)
    rows = content.each(key, read)
    content.end()
    return rows


def _caution(row: _Row) -> Caution:
    return Caution(
        id=row.text("id"),
        group=row.choice("group", CAUTION_GROUPS),
        text=row.text("text"),
        text_us=row.optional("text_us"),
        why=row.optional("why"),
        when=row.choices("when", CAUTION_CONDITIONS),
        also=row.choices("and", CAUTION_CONDITIONS) if "and" in row.row else (),
        regions=row.choices("regions", region_ids()) if "regions" in row.row else (),
        short=row.optional("short"),
        citation=row.citation(),
    )


@lru_cache(maxsize=1)
def _cautions() -> tuple[Caution, ...]:
    return _file("cautions.yaml", "cautions", _caution)


def cautions(conditions: frozenset[str], region_id: str) -> tuple[Caution, ...]:
    """The cautions for a build of a region that has `conditions`, in file order: those with any of them, and those for always.

    Raises ValueError for a condition that is not in CAUTION_CONDITIONS.
    """
    _known(conditions, CAUTION_CONDITIONS)
    has = conditions | {"always"}
    return tuple(
        c
        for c in _cautions()
        if not has.isdisjoint(c.when)
        and (not c.also or not has.isdisjoint(c.also))
        and (not c.regions or region_id in c.regions)
    )


def _known(conditions: frozenset[str], allowed: Iterable[str]) -> None:
    unknown = sorted(conditions.difference(allowed))
    if unknown:
        raise ValueError(f"unknown conditions: {', '.join(unknown)}")


def _interval(row: _Row) -> Interval | None:
    text = row.optional("interval")
    if text is None:
        return None
    match = re.fullmatch(r"([1-9]\d*) (day|week|month|year)s?", text)
    if match is None:
        raise row.wrong(f"'interval' is '{text}'; write it as in '6 months'")
    unit: Literal["day", "week", "month", "year"] = match.group(2)  # type: ignore[assignment]  # the regex's four words
    return Interval(text, int(match.group(1)), unit)


def _task(row: _Row) -> Task:
    identity = row.text("id")
    task = Task(
        id=identity,
        task_group=row.optional("task_group") or identity,
        group=row.choice("group", TASK_GROUPS),
        short=row.text("short"),
        task=row.text("task"),
        interval=_interval(row),
        event=row.optional("event"),
        applies=row.choices("applies", (*TASK_CONDITIONS, *region_ids())),
        counted_from=row.optional("from"),
        once=row.flag("once", default=False),
        who="owner" if row.choice("who", ("owner", "licensed person")) == "owner" else "licensed person",
        citation=row.citation(),
    )
    if task.counted_from is not None:
        row.among(task.counted_from, "from", COUNTED_FROM)
    if (task.interval is None) != (task.counted_from is None):
        raise row.wrong("an interval and the date it counts from belong together")
    if len(task.short) > SHORT:
        raise row.wrong(f"'short' has more than {SHORT} letters")
    if task.interval is None and task.event is None:
        raise row.wrong("a task needs an interval or an event")
    return task


@lru_cache(maxsize=1)
def _tasks() -> tuple[Task, ...]:
    return _file("upkeep.yaml", "tasks", _task)


def upkeep_tasks(conditions: frozenset[str]) -> tuple[Task, ...]:
    """The upkeep tasks for a build that has `conditions` (its region's id among them), in file order.

    A task that names regions applies in those only; of its other conditions the build needs any one. Raises
    ValueError for a condition that is neither in TASK_CONDITIONS nor the id of a region.
    """
    regions = frozenset(region_ids())
    _known(conditions, (*TASK_CONDITIONS, *regions))
    has = conditions | {"always"}

    def applies(task: Task) -> bool:
        where, what = regions.intersection(task.applies), set(task.applies) - regions
        return (not where or not has.isdisjoint(where)) and (not what or not has.isdisjoint(what))

    return tuple(t for t in _tasks() if applies(t))


@lru_cache(maxsize=1)
def _questions() -> tuple[Question, ...]:
    return _file("questions.yaml", "questions", _question)


def questions(of: Region, conditions: frozenset[str]) -> tuple[Question, ...]:
    """The questions for a build that has `conditions`: the shared ones, then the region's own.

    Raises ValueError for a condition that is not in CAUTION_CONDITIONS.
    """
    _known(conditions, CAUTION_CONDITIONS)
    has = conditions | {"always"}
    return tuple(q for q in _questions() + of.questions if not has.isdisjoint(q.when))


def _leak_method(row: _Row) -> LeakMethod:
    return LeakMethod(
        row.text("id"), row.text("name"), row.text("text"), row.quantity("smallest", "volume flow"), row.citation()
    )


@lru_cache(maxsize=1)
def leak_methods() -> tuple[LeakMethod, ...]:
    """What each way of looking for a leak can show, in file order."""
    return _file("leak_methods.yaml", "methods", _leak_method)
