"""A region's file: what it is for, what its codes ask, which tests, who may work and sign, what to ask.

One `.yaml` per region, read only when that region is asked for. Rows that several regions share stand once, in
`common.yaml`; a region takes one with `use: <id>` and may set single keys anew.

A row whose citation is marked "memory" must never be the ground for saying that a build has what a rule asks; that
is for the code that evaluates the rows, which finds the mark in `citation.confirmed`.
"""

import difflib
import re
from functools import cache
from typing import Annotated, Any, Literal

from msgspec.structs import replace

from gasdoc import data, units
from gasdoc.data import Cited, DataError, Entry, Some
from gasdoc.regions.practice import Practice, Setting, Where
from gasdoc.regions.proof import LineTest
from gasdoc.regions.questions import Question
from gasdoc.regions.rules import Rule, Sought
from gasdoc.scalars import Quantity, nearest, problem
from gasdoc.units import Given
from gasdoc.wrong import Wrong

Basis = Literal["gross", "net"]

_PACKAGE = "gasdoc.regions"
_OTHER_FILES = frozenset(
    {"cautions", "common", "leak_methods", "materials", "questions", "sequence", "texts", "upkeep", "looks", "work"}
)

_Pressure = Annotated[Given, Quantity(("pressure",))]


class Sentence(Cited, frozen=True):
    """One statement of fact with its source; `where` says what it is for, None where it is for both."""

    text: str
    where: Where | None = None


class Code(Cited, frozen=True, kw_only=True):
    """A code or law of a region; `edition` is None where the notes name none, `where` as for rules."""

    code: str
    edition: str | None = None
    scope: str
    where: Where | None = None


class Emergency(Cited, frozen=True):
    """Whom to call in an emergency in one country of a region: `call` is the number, `country` its name."""

    country: str
    call: str


class Delivered(Cited, frozen=True):
    """A gauge pressure in Pa at which gas is delivered, and to what."""

    value: _Pressure
    text: str


class ColdestPlace(Cited, frozen=True):
    """The coldest place in K that something is made for, and what the text says of it."""

    value: Annotated[Given, Quantity(("temperature",))]
    text: str


class Plates(Cited, frozen=True):
    """What heat the plates of a region's appliances usually count: "gross" or "net"."""

    basis: Basis


class PlateRange(Cited, frozen=True):
    """What the range of pressures on a plate is taken to be of, where a text of the region says it."""

    text: str


class Sizing(Cited, frozen=True):
    """How lines are sized; pressures are gauge, in Pa.

    `method` "tables" sizes by a code's tables, made for `inlet` and `drop`; "calculated" has no code table here and
    allows a `drop`, or `drop_share` of the delivered pressure. A spec may set its own allowance.
    """

    method: Literal["tables", "calculated"]
    inlet: _Pressure | None = None
    drop: _Pressure | None = None
    drop_share: Annotated[Given, Quantity(("share",))] | None = None

    def _checked(self) -> None:
        tables = self.method == "tables"
        if (
            tables != (self.inlet is not None)
            or (tables and self.drop is None)
            or (self.drop is None) == (self.drop_share is None)
        ):
            raise problem(
                "data-sizing",
                "'tables' goes with inlet and drop, 'calculated' with drop or drop_share",
                "change one of them",
            )

    def drop_allowance(self, delivered_gauge: float) -> float:
        """The pressure that may be lost between the last regulator and an outlet, in Pa."""
        if self.drop is not None:
            return float(self.drop)
        assert self.drop_share is not None  # the model lets only one of the two be missing
        return self.drop_share * delivered_gauge


class Supply(Entry, frozen=True, kw_only=True):
    """How gas is delivered and how lines are sized.

    `nominal` is what is usual, `nominal_buildings` what is usual for propane in buildings, None where that is the same.
    `regulator_coldest` is the coldest place regulators to the region's standard are for without more being asked of them;
    None where no such text was read. `plate_range` stands where a plate's range is of gas that flows: a lock-up a little
    above it is then asked about, no error.
    """

    nominal: Delivered
    nominal_buildings: Delivered | None = None
    plates: Plates
    plate_range: PlateRange | None = None
    regulator_coldest: ColdestPlace | None = None
    sizing: Sizing

    def delivered(self, *, propane_in_building: bool) -> Delivered:
        """The usual pressure for something that moves or floats, or else for propane in a building."""
        return (self.nominal_buildings if propane_in_building else None) or self.nominal


class Common(Entry, frozen=True):
    """The rows that more than one region has."""

    rules: data.ById[Rule]
    tests: data.ById[LineTest]


@cache
def _common(kind: str) -> dict[str, Any]:
    """The rows of common.yaml under `kind` as they are written, by their ids."""
    return {row["id"]: row for row in data.words(_PACKAGE, "common.yaml")[kind]}


def _shared(row: dict[str, Any], at: tuple[str, int]) -> dict[str, Any]:
    """The row of common.yaml that a row names, with what it sets anew. Raises the problem with a name that is none."""
    kind, common, used = at[0], _common(at[0]), row["use"]
    if not isinstance(used, str) or used not in common:
        near = nearest(str(used), list(common))
        hint = f"did you mean '{near}'?" if near else "name one of its ids"
        raise problem("data-use", f"common.yaml has no '{used}' under {kind}", hint, at=(*at, "use"))
    return {**common[used], **{key: value for key, value in row.items() if key != "use"}}


class Region(Entry, frozen=True, kw_only=True):
    """A rule set: what it is for (`settings`), what is usual where it holds, what its codes ask, which tests, who may work
    and sign, what to ask. `spelling` is how pages are written where it holds. `countries` are words that name where it holds,
    for a name of a region that is none."""

    id: str
    title: str
    scope: str
    countries: Some[str]
    settings: Some[Setting]
    units: units.System
    spelling: Literal["british", "american"] = "british"
    practice: Practice
    codes: tuple[Code, ...]
    people: tuple[Sentence, ...]
    emergency: Some[Emergency]
    signoff: tuple[Sentence, ...]
    supply: Supply
    rules: data.ById[Rule]
    tests: data.ById[LineTest]
    questions: data.ById[Question] = ()

    @classmethod
    def _completed(cls, written: Any) -> Any:
        """The region with each `use: <id>` replaced by the shared row, keys given beside it set anew."""
        if not isinstance(written, dict):
            return written
        lists = {key: written[key] for key in ("rules", "tests") if isinstance(written.get(key), list)}
        return written | {
            key: [
                _shared(row, (key, place)) if isinstance(row, dict) and "use" in row else row
                for place, row in enumerate(rows)
            ]
            for key, rows in lists.items()
        }

    def rule(self, identity: Sought) -> Rule | None:
        """The row with an id, None where the region has none."""
        return next((r for r in self.rules if r.id == identity), None)

    def rules_for(self, measure: str) -> tuple[Rule, ...]:
        """The rows that limit `measure`, the region's own first, then the alternatives."""
        rows = [r for r in self.rules if r.measure == measure]
        return tuple(sorted(rows, key=lambda r: r.alternative))


class UnknownRegion(Wrong):
    """A region id that has no rule set; the hint names the regions it was most likely meant for."""


def _meant(wanted: str) -> list[str]:
    """The regions a word may be meant for: those of the country it names; else one that is spelt much like it."""
    words = set(re.split(r"[^a-z]+", wanted.lower()))
    spelt = difflib.get_close_matches(wanted.lower(), region_ids(), n=1, cutoff=0.75)
    there = [id_ for id_ in region_ids() if words & set(region(id_).countries)]
    boats = [id_ for id_ in there if region(id_).settings == ("boat",)]
    if words & {"boat", "narrowboat", "yacht"}:
        return boats or there or spelt
    on_land = [id_ for id_ in there if id_ not in boats]
    return [id_ for id_ in spelt if id_ in there] or (on_land if len(on_land) == 1 else there) or spelt


@cache
def region_ids() -> tuple[str, ...]:
    """The ids of all rule sets, sorted."""
    return tuple(name for name in data.names(_PACKAGE) if name not in _OTHER_FILES)


@cache
def region(region_id: str) -> Region:
    """The rule set `region_id`; reads its file and the shared rows, no other. Raises UnknownRegion, DataError."""
    if region_id not in region_ids():
        near = _meant(region_id)
        hint = f"did you mean '{near[0]}'?" if len(near) == 1 else f"use one of {', '.join(near or region_ids())}"
        raise UnknownRegion(f"unknown region '{region_id}'", hint)
    data.read(_PACKAGE, "common.yaml", Common)  # first, so that a slip in it is told with its place there
    found = data.read(_PACKAGE, f"{region_id}.yaml", Region)
    if found.id != region_id:
        raise DataError(f"{region_id}.yaml: the id is '{found.id}'. It must be the file's name")
    return replace(found, questions=tuple(question.of(region_id) for question in found.questions))
