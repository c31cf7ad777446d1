"""The catalogue of parts, stock lengths, openings and tools, and a project's own parts in the same form.

A family in the file becomes one part a size. Everything that is wrong with a file is collected as Problems with line
and column; a family with a problem is left out, the rest is used.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from msgspec import Struct

from gasdoc import data
from gasdoc.catalog import files
from gasdoc.engineering.materials.connectors import LONGEST_BY_CODE
from gasdoc.engineering.materials.ends import EndError, parse_end
from gasdoc.engineering.materials.joints import Part
from gasdoc.engineering.materials.openings import PassageRule
from gasdoc.engineering.materials.tools import Tool
from gasdoc.source import CONFIRMED, Citation, Document, Severity
from gasdoc.units import UnitError, parse

SHAPES = (
    "nipple",
    "coupling",
    "bushing",
    "elbow",
    "union",
    "bulkhead",
    "half-union",
    "swivel",
    "flare-nut",
    "adapter",
    "tee",
    "manifold",
    "valve",
    "cap",
    "plug",
    "tap",
    "termination",
    "pigtail",
    "connector",
    "hose",
    "stub",
)
USES = ("fitting", "pigtail", "manifold", "branch", "valve", "connector", "closure", "test", "termination")
LETTERS = "abc"

_KEYS = (
    "id",
    "name",
    "shape",
    "use",
    "ends",
    "sizes",
    "rating",
    "container_side",
    "concealed",
    "taps",
    "unions",
    "source",
    "confirmed",
)
_NEEDED = ("id", "name", "shape", "use", "ends", "container_side", "concealed", "source")
_TOP = ("sources", "parts", "never", "threads")
_WORDS = (
    "id",
    "name",
    "shape",
    "use",
    "rating",
    "container_side",
    "concealed",
    "taps",
    "unions",
    "source",
    "confirmed",
)
_LONGEST = 200
_ID = re.compile(r"[a-z0-9][a-z0-9-]*")
_LETTER = re.compile(r"\{([^{}]*)\}")


class Catalogue(Struct, frozen=True):
    """Parts in the order they are listed, which is the order of last resort between equally good chains, and the source
    of each by its id."""

    parts: tuple[Part, ...]
    sources: Mapping[str, Citation]

    def __hash__(self) -> int:  # so that what is worked out from a catalogue can be kept by it
        return hash(tuple(part.id for part in self.parts))

    def of_use(self, *uses: str) -> tuple[Part, ...]:
        """The parts of these uses, in order: `of_use("fitting")` are those that may join two ends."""
        return tuple(part for part in self.parts if part.use in uses)

    def part(self, part_id: str) -> Part:
        """The part of that id. Raises KeyError with the nearest one."""
        for part in self.parts:
            if part.id == part_id:
                return part
        near = difflib.get_close_matches(part_id, [part.id for part in self.parts], n=1)
        raise KeyError(f"no part '{part_id}'" + (f"; did you mean '{near[0]}'?" if near else ""))


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """The parts that ship with gasdoc. Raises DataError if its own file has a problem."""
    document = Document("parts.yaml", data=_as_written(files.load("parts.yaml")))
    found = read_parts(document)
    if document.problems:
        raise data.DataError("; ".join(str(problem) for problem in document.problems))
    return found


@lru_cache(maxsize=8)
def with_own(own: Catalogue) -> Catalogue:
    """The parts that ship with gasdoc and a project's own; of the same id the project's own part counts, in the place
    of the listed one; new ones come last."""
    replaced = {part.id: part for part in own.parts}
    listed = catalogue()
    parts = [replaced.pop(part.id, part) for part in listed.parts]
    return Catalogue((*parts, *replaced.values()), {**listed.sources, **own.sources})


def read_parts(document: Document) -> Catalogue:
    """The parts of a file of the form of parts.yaml, as `source.read_yaml` gives it; what is wrong with it is added to
    the document's problems."""
    reader = _Reader(document)
    reader.read()
    return Catalogue(tuple(reader.parts.values()), reader.sources)


class _Reader:
    """Reads one file, family by family."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.parts: dict[str, Part] = {}
        self.sources: dict[str, Citation] = {}
        self._shared: dict[str, Citation] = {}

    def wrong(self, path: tuple[str | int, ...], message: str, hint: str, *, value: bool = True) -> None:
        shown = message if len(message) <= 300 else message[:300] + "…"  # it quotes what was written
        self.document.problem(path, Severity.ERROR, shown, hint, "part", value=value)

    def read(self) -> None:
        top = self.document.data
        if top is None:
            return
        if not isinstance(top, dict):
            self.wrong((), "a parts file is a mapping", "start it with 'parts:'")
            return
        for key in top:
            if key not in _TOP:
                self.wrong((key,), f"unknown key '{key}'", _near(key, _TOP), value=False)
        self._read_sources(top.get("sources") or {})
        rows = top.get("parts")
        if not isinstance(rows, list):
            self.wrong(("parts",), "'parts' is a list of families", "begin each family with '- id:'")
            return
        for i, row in enumerate(rows):
            before = len(self.document.problems)
            family = self._family(("parts", i), row)
            if len(self.document.problems) == before:
                for part, source in family:
                    if part.id in self.parts:
                        message = f"part '{part.id}' is listed twice"
                        self.wrong(("parts", i, "id"), message, "give the family another id")
                        continue
                    self.parts[part.id], self.sources[part.id] = part, source

    def _read_sources(self, rows: Any) -> None:
        if not isinstance(rows, dict):
            self.wrong(("sources",), "'sources' is a mapping", "write 'name: {text: ..., confirmed: once}'")
            return
        for name, row in rows.items():
            fields = row if isinstance(row, dict) else {}
            if not isinstance(fields.get("text"), str) or str(fields.get("confirmed")) not in CONFIRMED:
                hint = f"write {{text: ..., confirmed: one of {', '.join(CONFIRMED)}}}"
                self.wrong(("sources", name), f"source '{name}' needs a text and how well it is confirmed", hint)
                continue
            self._shared[name] = Citation(fields["text"], fields["confirmed"])

    def _family(self, at: tuple[str | int, ...], row: Any) -> list[tuple[Part, Citation]]:  # noqa: C901, PLR0912  # a check a key
        if not isinstance(row, dict):
            self.wrong(at, "a family is a mapping", f"write it with {', '.join(_NEEDED)}")
            return []
        before = len(self.document.problems)
        for key in row:
            if key not in _KEYS:
                self.wrong((*at, key), f"unknown key '{key}'", _near(key, _KEYS), value=False)
        for key in _NEEDED:
            if row.get(key) in (None, ""):
                self.wrong(at, f"'{key}' is missing", f"a family has {', '.join(_NEEDED)}")
        for key in _WORDS:
            if isinstance(row.get(key), list | dict):
                self.wrong((*at, key), f"'{key}' is a list or a block", "write one text on the same line")
        if len(self.document.problems) > before:
            return []
        if _ID.fullmatch(row["id"]) is None:
            self.wrong((*at, "id"), f"'{row['id'][:60]}' is no id", "use small letters, digits and hyphens")
        if len(row["name"]) > _LONGEST:
            self.wrong((*at, "name"), f"the name is longer than {_LONGEST} characters", "shorten it")
        self._choice(at, row, "shape", SHAPES)
        self._choice(at, row, "use", USES)
        places = {key: self._yes_no(at, row, key) for key in ("container_side", "concealed", "taps") if key in row}
        if row.get("unions", "0") not in ("0", "1", "2"):
            self.wrong((*at, "unions"), "'unions' counts a part's own union joints", "write 1 or 2, or leave it out")
        rating = self._rating(at, row)
        source = self._source(at, row)
        ends, sizes = row["ends"], row.get("sizes", [""])
        if not isinstance(ends, list) or not ends or not all(isinstance(end, str) for end in ends):
            self.wrong((*at, "ends"), "'ends' is a list of connections", 'write it as in ["{a} MNPT", "{a} MNPT"]')
        if not isinstance(sizes, list) or not sizes or not all(isinstance(size, str) for size in sizes):
            self.wrong((*at, "sizes"), "'sizes' is a list", 'write it as in ["1/2", "3/4"] or ["3/4 x 1/2"]')
        if len(self.document.problems) > before or source is None:
            return []
        found = []
        for i, size in enumerate(sizes):
            values = dict(zip(LETTERS, size.split(" x "), strict=False))
            try:
                name, *written = (_filled(text, values) for text in (row["name"], *ends))
            except KeyError:
                hint = "'3/4 x 1/2' gives {a} and {b}; every letter used in name and ends needs a value"
                self.wrong((*at, "sizes", i), f"size '{size[:60]}' does not fill the name and the ends", hint)
                continue
            parsed = []
            for k, text in enumerate(written):
                try:
                    end = parse_end(text, "female")
                except EndError as error:
                    self.wrong((*at, "ends", k), error.message, error.hint)
                    return []
                parsed.append(type(end)(end.kind, end.size, end.gender, rating, end.hand))
            part_id = f"{row['id']}:{size}" if size else row["id"]
            part = Part(
                part_id,
                name,
                row["shape"],
                row["use"],
                tuple(parsed),
                rating,
                places["container_side"],
                places["concealed"],
                places.get("taps", False),
                int(row.get("unions", "0")),
            )
            found.append((part, source))
        return found

    def _choice(self, at: tuple[str | int, ...], row: dict[str, Any], key: str, known: tuple[str, ...]) -> None:
        if row[key] not in known:
            self.wrong((*at, key), f"'{row[key]}' is no {key}", _near(str(row[key]), known))

    def _yes_no(self, at: tuple[str | int, ...], row: dict[str, Any], key: str) -> bool:
        if row[key] not in ("yes", "no"):
            self.wrong((*at, key), f"'{key}' is yes or no", "write yes or no")
        return bool(row[key] == "yes")

    def _rating(self, at: tuple[str | int, ...], row: dict[str, Any]) -> float | None:
        if row.get("rating") is None:
            return None
        try:
            rating = float(parse(str(row["rating"]), "pressure"))
        except UnitError as error:
            self.wrong((*at, "rating"), error.message, error.hint)
            return None
        if not rating > 0:
            self.wrong((*at, "rating"), "a rating must be above zero", "leave it out if it is not known")
        return rating

    def _source(self, at: tuple[str | int, ...], row: dict[str, Any]) -> Citation | None:
        """A shared source by its name, or a text of the row's own with `confirmed` beside it."""
        named = self._shared.get(str(row["source"]))
        if named is not None and "confirmed" not in row:
            return named
        if row.get("confirmed") not in CONFIRMED:
            hint = f"name one of 'sources', or add 'confirmed': {', '.join(CONFIRMED)}"
            self.wrong((*at, "source"), f"how well is '{row['source']}' confirmed?", hint)
            return None
        return Citation(str(row["source"]), row["confirmed"])


def _filled(text: str, values: Mapping[str, str]) -> str:
    """The text with {a}, {b} and {c} replaced by their values, and nothing else done. Raises KeyError for one without."""
    return _LETTER.sub(lambda match: values[match[1]], text)


def _near(word: str, known: Iterable[str]) -> str:
    listed = list(known)
    near = difflib.get_close_matches(word, listed, n=1)
    return f"did you mean '{near[0]}'?" if near else f"use one of {', '.join(listed)}"


# --- the other lists --------------------------------------------------------------------------------------------------


class StockRow(Struct, frozen=True):
    """The lengths (m) that tubing of one material and kind is sold in. `coil`, or else straight lengths. `units` are those of
    the regions they are sold in, None for all."""

    material: str
    kind: str | None
    coil: bool
    lengths: tuple[float, ...]
    labels: tuple[str, ...]
    source: Citation
    units: str | None = None


class ConnectorRow(Struct, frozen=True):
    """The lengths (m) that a kind of connector is sold in, with their labels, and the longest that its standard or code
    knows."""

    kind: str
    lengths: tuple[float, ...]
    labels: tuple[str, ...]
    longest: float
    source: Citation


class Allowance(Struct, frozen=True):
    """What is added: a `share` of the length, or a `length` in m; the other is 0."""

    share: float
    length: float
    source: Citation


def never(code: str) -> tuple[str, Citation]:
    """Why a joint must never be made, in words, by the code of `materials.ends.forbidden`; and where that is from."""
    row = files.load("parts.yaml")["never"][code]
    return row["text"], _cited(row)


@lru_cache(maxsize=512)
def stock_rows(material: str, kind: str | None, size: str) -> tuple[StockRow, ...]:
    """What tubing of that material, kind and size id is sold in; empty where nothing is listed."""
    return tuple(
        StockRow(
            material,
            row.get("kind"),
            row["form"] == "coil",
            tuple(_metres(text) for text in row["lengths"]),
            tuple(row["lengths"]),
            _cited(row),
            row.get("units"),
        )
        for row in files.load("stock.yaml")["tubing"]
        if row["material"] == material and row.get("kind", kind) == kind and size in row.get("sizes", [size])
    )


def connector_row(kind: str) -> ConnectorRow | None:
    """The lengths of a kind of connector; None where it is cut to length (rigid) or not listed."""
    for row in files.load("stock.yaml")["connectors"]:
        if row["kind"] == kind:
            longest = min(_metres(row["longest"]), LONGEST_BY_CODE)
            lengths = tuple(_metres(text) for text in row["lengths"])
            return ConnectorRow(kind, lengths, tuple(row["lengths"]), longest, _cited(row))
    return None


def usual_tail(system: str) -> tuple[str, Citation]:
    """The kind of connector that is usual where units are "us" or "si", and its source."""
    row = files.load("stock.yaml")["tails"][system]
    return row["kind"], _cited(row)


class Guard(Struct, frozen=True):
    """What protects a run that lies outside on something that is moving or standing; `by_length`, or one a run;
    `if_needed`: only where its words say; `family`: for tubing of that family only."""

    id: str
    where: str
    by_length: bool
    if_needed: bool
    family: str | None
    name: str
    source: Citation


def guards() -> tuple[Guard, ...]:
    """The listed guards, in order."""
    return tuple(
        Guard(r["id"], r["where"], r["per"] == "length", r["if_needed"], r.get("family"), r["name"], _cited(r))
        for r in files.load("openings.yaml")["guards"]
    )


def plate() -> tuple[float, float, Citation]:
    """Within which distance of a face (m) softer tubing than steel gets a plate, how thick (m), and the source."""
    row = files.load("openings.yaml")["plate"]
    return _metres(row["within"]), _metres(row["thickness"]), _cited(row)


def allowance(what: str) -> Allowance:
    """An allowance or spare share by its name. Raises KeyError for a name that is not listed, `data.DataError` for a row
    that lacks a key."""
    stock = files.load("stock.yaml")
    for row in (*stock["allowances"], *stock["spares"]):
        if row["what"] == what:
            share = float(parse(row["share"], "share")) if "share" in row else 0.0
            return Allowance(share, _metres(row["length"]) if "length" in row else 0.0, _cited(row))
    raise KeyError(what)


def passage_rule(place: str) -> tuple[PassageRule, Citation]:
    """What a passage through a floor, wall, ... needs, and its source. Raises `data.DataError` for a place, or
    a key of it, that the file has not got."""
    row = files.load("openings.yaml")["passages"][place]
    rule = PassageRule(
        place=place,
        lining=row["lining"],
        clearance=_metres(row["clearance"]),
        lining_wall=_metres(row["lining_wall"]),
        plate=row["plate"],
        seal=row["seal"],
    )
    return rule, _cited(row)


def hole_saws(system: str) -> tuple[float, ...]:
    """The hole saws (m) on the market, smallest first: system "us" or "si"."""
    return tuple(_metres(text) for text in files.load("openings.yaml")["saws"][system]["sizes"])


def csst_outside(ehd: str) -> tuple[float, Citation] | None:
    """The outside diameter (m) over the jacket of corrugated tubing "EHD 18"; None where not listed."""
    row = files.load("openings.yaml")["csst_outside"]
    text = row["values"].get(ehd.removeprefix("EHD "))
    return None if text is None else (_metres(text), _cited(row))


def tools() -> tuple[Tool, ...]:
    """The listed tools, in order; all common practice."""
    return tuple(Tool(r["id"], r["name"], frozenset(r["when"]), r["why"]) for r in files.load("tools.yaml")["tools"])


def _as_written(value: Any) -> Any:
    """Values of a file that ships with gasdoc as the text that `read_yaml` would give."""
    if isinstance(value, dict):
        return {str(key): _as_written(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_as_written(item) for item in value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if value is None else str(value)


def _metres(text: str) -> float:
    return float(parse(text, "length"))


def _cited(row: Mapping[str, Any]) -> Citation:
    return Citation(row["source"], row["confirmed"])
