"""Tubing and pipe: the materials, their sizes, and what a size written in a spec means.

A size is named in several ways that differ by a factor of two in capacity: 3/8 in copper is one tube by outside
diameter and another by nominal size. Nothing is guessed here; text that can be read two ways is an error that carries
both readings.
"""

import dataclasses
import difflib
import re
from collections.abc import Collection
from functools import cache
from typing import Annotated, Literal

from msgspec import Struct, field

from gasdoc import data
from gasdoc.data import Entry, Some
from gasdoc.engineering.constants import INCH
from gasdoc.quantities import Aside, Known, Metre
from gasdoc.scalars import Quantity, choice, problem
from gasdoc.source import CONFIRMED, Citation
from gasdoc.units import Given, UnitError, parse
from gasdoc.words import in_sentence
from gasdoc.wrong import Wrong

About = Literal["material", "kind", "size"]
Length = Annotated[Given, Quantity(("length",), above=True)]

_WORDS = Aside("the label says it")
_SAME = 1e-6  # m: two lengths closer than this are one size written in two ways
_NOT_KNOWN: Annotated[
    Metre, Known("bore that stands in for that of a run whose size is not found: 1/2 in", "Our choice", "practice")
] = 0.5 * INCH

DENSITY: Annotated[
    dict[str, float],
    "kg/m3",
    Known("density of copper (DHP) and of carbon steel, for what tubing weighs", "Handbooks, from memory", "memory"),
] = {"copper": 8940.0, "steel": 7850.0}


@dataclasses.dataclass(frozen=True, slots=True)
class Size:
    """One size of one material and kind.

    `id` is stable and names the size in the capacity tables of its material; `label` is for people, `drawn` and
    `in_letter` are for drawings and letters, material included. `outside_diameter` and `bore` in m, None where not known; `stand_in`
    in m is the smooth bore that stands in for a bore that is not known. `source` is for the bore (for corrugated
    tubing: for its EHD), `outside_source` for the outside diameter. `warnings` say what was assumed in reading it from a spec.
    """

    material: str
    kind: str | None
    id: str
    label: str
    outside_diameter: Metre | None
    bore: Metre | None
    source: Citation
    outside_source: Citation | None = None
    stand_in: Annotated[float | None, Aside("no size: it serves estimates, which say so")] = None
    drawn: Annotated[str, _WORDS] = ""
    in_letter: Annotated[str, _WORDS] = ""
    warnings: tuple[str, ...] = dataclasses.field(default=(), compare=False)

    @property
    def corrugated(self) -> bool:
        """Whether it is a size of corrugated tubing."""
        return material(self.material).corrugated


# --- the rows of tubing.yaml ------------------------------------------------------------------------------------------


class SizeRow(Entry, frozen=True):
    """One size of a material: lengths in m, `bores` by kind where the kinds differ in it."""

    id: str
    od: Length | None = None
    bore: Length | None = None
    bores: dict[str, Length] = field(default_factory=dict)
    stand_in: Length | None = None
    trade: str | None = None
    trade_source: str | None = None
    practice: tuple[str, ...] = ()
    source: str | None = None


class SeriesRow(Entry, frozen=True):
    """Sizes of corrugated tubing that one maker sells together."""

    sizes: Some[str]
    source: str


class Words(Entry, frozen=True):
    """What a material is called in a list of parts, on a drawing and in a letter, and in the last two with its size."""

    parts: str
    drawing: str
    drawing_size: str
    letter: str
    letter_size: str


class Material(Entry, frozen=True, kw_only=True):
    """A tubing material with all that is special about it; the head of tubing.yaml says what each key means.

    `roughness` in m, None where a friction calculation does not apply.
    """

    id: str
    title: str
    kinds: tuple[str, ...]
    family: Literal["copper", "csst", "steel", "pe"]
    named_by: Literal["nominal-or-od", "od-and-wall", "ehd", "nominal"]
    ends: Literal["tube", "csst", "pipe", "pe"]
    sold: Literal["coil", "length"]
    moving: Literal["tube", "rigid", "none"]
    hard: bool
    pair: tuple[str, str] | None = None
    only_buried: bool = False
    metric: str | None = None
    label: str
    words: Words
    roughness: Length | None = None
    roughness_source: str | None = None
    notes: tuple[str, ...]
    source: str | None = None
    bore_sources: dict[str, str] = field(default_factory=dict)
    od_source: str | None = None
    stand_in_source: str | None = None
    sizes: Some[SizeRow]
    series: tuple[SeriesRow, ...] = ()

    def _checked(self) -> None:
        if (self.pair is None) != self.only_buried:
            hint = "give it two sizes, trunk and branch, unless it may lie in the ground only"
            raise problem("data-pair", "a material that lines are made of has a pair of sizes", hint)

    @property
    def corrugated(self) -> bool:
        """Whether it is sized by EHD and has no bore of its own."""
        return self.named_by == "ehd"

    @property
    def has_nuts(self) -> bool:
        """Whether nuts hold its ends, so that a joint comes off without turning another; what is screwed or fused has none."""
        return self.ends in ("tube", "csst")

    @property
    def makes_tails(self) -> bool:
        """Whether a rigid tail to an appliance is made of it."""
        return self.ends in ("tube", "pipe")

    def key(self, kind: str | None) -> str:
        """How it begins the part keys of its sizes: "copper-l", "steel"."""
        return f"{self.id}-{kind.lower()}" if kind and len(self.kinds) > 1 else self.id


class _Source(Entry, frozen=True):
    text: str
    confirmed: Annotated[str, choice(*CONFIRMED)]


class _Tubing(Entry, frozen=True):
    """The whole file. What it checks as a whole: each row has what its way to be named needs, from sources that are there."""

    sources: dict[str, _Source]
    materials: data.ById[Material]

    def _checked(self) -> None:
        for i, of in enumerate(self.materials):
            for at, name in (
                (("roughness_source",), of.roughness_source),
                (("stand_in_source",), of.stand_in_source),
                *((("sizes", k), row.trade_source) for k, row in enumerate(of.sizes)),
                *((("series", k), row.source) for k, row in enumerate(of.series)),
            ):
                if name is not None and name not in self.sources:
                    hint = "name one of them, or add it"
                    raise problem("data-source", f"'{name}' is none of 'sources'", hint, at=("materials", i, *at))
            for k, row in enumerate(of.sizes):
                for kind in of.kinds or (None,):
                    if (wrong := self._wrong(of, kind, row)) is not None:
                        hint = "mend the size, or what its material says of all sizes"
                        at = ("materials", i, "sizes", k)
                        raise problem("data-size", f"size '{row.id}': {wrong}", hint, at=at)

    def _wrong(self, of: Material, kind: str | None, row: SizeRow) -> str | None:
        """What keeps a row from being a size; None for nothing."""
        try:
            made = self.size(of, kind, row)
        except (LookupError, ValueError, AttributeError) as error:
            return f"{error} is asked for by the label, the words or the sources, and is not there"
        if made.bore is None:
            return "it has no bore, and none that stands in" if made.stand_in is None else None
        if of.roughness is None or of.roughness_source is None:
            return "it has a bore, and the material no roughness"
        return (
            "it is not wider outside than inside"
            if made.outside_diameter is None or made.outside_diameter <= made.bore
            else None
        )

    def cited(self, name: str | None) -> Citation:
        """The source of that name. Raises KeyError."""
        row = self.sources[name or ""]
        return Citation(row.text, row.confirmed)

    def size(self, of: Material, kind: str | None, row: SizeRow) -> Size:
        """A listed size. Raises KeyError or ValueError where the row has not what it needs."""
        if of.named_by == "od-and-wall":
            match = _METRIC.match(row.id)
            if match is None:
                raise ValueError("outside diameter and wall as in 15x1")
            return self.metric_size(of, float(match["od"]), float(match["wall"]), row.source or of.source)
        bore = row.bores[kind or ""] if row.bores else row.bore
        figures = {"id": row.id, "kind": kind, "dn": _DN.get(row.id)}
        figures |= {"od": row.od.text} if row.od is not None else {}
        if of.named_by == "ehd":
            int(row.id.removeprefix("EHD "))
            _fraction(row.trade or "")
        else:
            _fraction(row.id)
        return Size(
            material=of.id,
            kind=kind,
            id=row.id,
            label=of.label.format(**figures),
            outside_diameter=None if row.od is None else float(row.od),
            bore=None if bore is None else float(bore),
            source=self.cited(of.bore_sources[kind or ""] if of.bore_sources else of.source),
            outside_source=None if row.od is None else self.cited(of.od_source),
            stand_in=None if row.stand_in is None else float(row.stand_in),
            drawn=of.words.drawing_size.format(**figures),
            in_letter=of.words.letter_size.format(**figures),
        )

    def metric_size(self, of: Material, od: float, wall: float, source: str | None) -> Size:
        """A size by its outside diameter and wall in mm."""
        figures = {"od": f"{od:g}", "wall": f"{wall:g}"}
        return Size(
            material=of.id,
            kind=None,
            id=f"{od:g}x{wall:g}",
            label=of.label.format(**figures),
            outside_diameter=od / 1000,
            bore=(od - 2 * wall) / 1000,
            source=self.cited(source),
            outside_source=self.cited(source),
            drawn=of.words.drawing_size.format(**figures),
            in_letter=of.words.letter_size.format(**figures),
        )


class SizeError(Wrong):
    """A material, kind or size that cannot be told. `about` says which of them,
    `readings` the sizes the text may mean, where it may mean several or is short of a word."""

    def __init__(self, message: str, hint: str, readings: tuple[Size, ...] = (), about: About = "size") -> None:
        super().__init__(message, hint, readings, about)
        self.readings = readings
        self.about = about


def materials() -> tuple[str, ...]:
    """The names of the materials a spec may give."""
    return tuple(_rows())


def every_material() -> tuple[tuple[str, str | None], ...]:
    """All materials that are listed, each with each of its types."""
    return tuple((name, kind) for name, row in _rows().items() for kind in row.kinds or (None,))


def kinds() -> tuple[str, ...]:
    """The types a spec may give, of the materials that come in several, in small letters."""
    return tuple(kind.lower() for row in _rows().values() if len(row.kinds) > 1 for kind in row.kinds)


@cache
def material(name: str) -> Material:
    """The material of that name. Raises SizeError with the nearest known name."""
    rows = _rows()
    if name not in rows:
        near = difflib.get_close_matches(name, rows, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"the materials are {in_sentence(rows)}"
        raise SizeError(f"unknown material '{name}'", hint, about="material")
    return rows[name]


def sizes(material: str, kind: str | None = None) -> tuple[Size, ...]:
    """The listed sizes of a material and kind, smallest first. Raises SizeError for an unknown material or kind."""
    return _sizes(material, _kind(material, kind))


def offered(material: str, kind: str | None, rows: Collection[str]) -> tuple[Size, ...]:
    """Those of the sizes that are on offer in a region, by what is usual there."""
    sold = {row.id for row in _rows()[material].sizes if not row.practice or not {*rows}.isdisjoint(row.practice)}
    return tuple(size for size in sizes(material, kind) if size.id in sold)


class Series(Struct, frozen=True):
    """Sizes of corrugated tubing that one maker sells together, by their ids, smallest first."""

    sizes: tuple[str, ...]
    source: Citation

    @property
    def label(self) -> str:
        """The series in words."""
        return f"EHD {', '.join(size.removeprefix('EHD ') for size in self.sizes)}"


def series() -> tuple[Series, ...]:
    """The series of corrugated tubing that are known."""
    return tuple(
        Series(row.sizes, _file().cited(row.source)) for material in _rows().values() for row in material.series
    )


def resolve(name: str, kind: str | None, size_text: str) -> Size:
    """The size that a spec's material, type and size text mean, with warnings for what was assumed.

    Raises SizeError: an unknown material or kind, a copper type left out, text that is no size, text that can be read
    two ways (with both readings), a size that is not listed (with the listed ones in the hint).
    """
    of, plain, written = material(name), _plain(size_text), size_text.strip()
    alone = of.named_by != "nominal" and _MM_ALONE.match(plain)  # pipe of 20 mm may be meant by its nominal size
    if of.metric is not None and (_METRIC.match(plain) or alone):
        raise SizeError(
            f"'{written}' is a metric size, and '{name}' is not sold by those",
            f"write 'material: {of.metric}' and leave the type out",
        )
    if of.named_by != "ehd" and _EHD.match(plain):
        other = next(row.id for row in _rows().values() if row.named_by == "ehd")
        raise SizeError(
            f"'{written}' is a size of corrugated tubing, and the material here is '{name}'",
            f"write 'material: {other}' beside it. A run takes over the material of the run that feeds it, not of another branch",
        )
    readers = {"nominal-or-od": _either, "od-and-wall": _metric, "ehd": _corrugated, "nominal": _nominal}
    return readers[of.named_by](of, _kind(name, kind), plain, written)


def bore_or_stand_in(size: Size | None) -> tuple[float, bool]:
    """The bore in m, or the smooth bore that stands in for it; and whether it does."""
    if size is None:
        return _NOT_KNOWN, True
    return (size.bore, False) if size.bore is not None else (size.stand_in or _NOT_KNOWN, True)


# --- the lists --------------------------------------------------------------------------------------------------------


def _file() -> _Tubing:
    found: _Tubing = data.read("gasdoc.catalog", "tubing.yaml", _Tubing)
    return found


@cache
def _rows() -> dict[str, Material]:
    return {row.id: row for row in _file().materials}


def _kind(name: str, kind: str | None) -> str | None:
    """The kind in its listed spelling. Copper has two that matter; a material with one listed kind needs none named."""
    kinds = material(name).kinds
    if kind is None or not kind.strip():
        if len(kinds) > 1:
            raise SizeError(
                f"{name} needs its type: {in_sentence(kinds, 'or')}",
                f"add the type, as in 'type: {kinds[0]}'. It is printed on the tubing",
                about="kind",
            )
        return kinds[0] if kinds else None
    given = re.sub(r"\s+", " ", kind.strip()).lower().removeprefix("type ").replace("sch ", "schedule ")
    for known in kinds:
        if given in (known.lower(), known.lower().removeprefix("schedule ")):
            return known
    if not kinds:
        raise SizeError(f"{name} has no types, so '{kind}' means nothing here", "leave the type out", about="kind")
    hint = f"the listed types are {in_sentence(kinds)}" if len(kinds) > 1 else f"only {kinds[0]} is listed"
    if given == "acr":
        hint += ". Type K of the same outside diameter has a bore no larger than that of ACR tubing"
    raise SizeError(f"{name} of type '{kind}' is not listed", hint, about="kind")


@cache
def _sizes(name: str, kind: str | None) -> tuple[Size, ...]:
    of = material(name)
    return tuple(_file().size(of, kind, row) for row in of.sizes)


# --- reading a size ---------------------------------------------------------------------------------------------------

_BY = re.compile(r"^(?:(?P<before>od|nominal) )?(?P<length>.*?)(?: ?(?P<after>od|nominal))?$")
_METRIC = re.compile(
    r"^(?P<od>\d+(?:\.\d+)?) ?(?P<unit>mm)?(?: od)? ?x ?(?P<wall>\d+(?:\.\d+)?) ?(?P<wall_unit>mm)?(?: wall)?$"
)
_MM_ALONE = re.compile(r"^(?:od )?(?P<od>\d+(?:\.\d+)?) ?mm(?: od)?$")
_DN = {
    "1/4": 8,
    "3/8": 10,
    "1/2": 15,
    "3/4": 20,
    "1": 25,
    "1-1/4": 32,
    "1-1/2": 40,
    "2": 50,
    "2-1/2": 65,
    "3": 80,
    "4": 100,
}
_DN_TEXT = re.compile(r"^dn ?(?P<dn>\d+)$")
_R_TEXT = re.compile(r"^(?:r ?)?(?P<size>\d[\d ./-]*)(?: ?in)?$")
_EHD = re.compile(r"^(?:ehd ?-?(?P<after>\d+)|(?P<before>\d+) ?ehd)$")


def _plain(text: str) -> str:
    """The text in lower case with single spaces, and one word for each way to say outside diameter and nominal."""
    plain = re.sub(r"\s+", " ", text.strip().lower()).replace("×", "x")
    plain = re.sub(r"(?<![a-z])(?:o\.d\.|outside diameter)", "od", plain)
    return re.sub(r"(?<![a-z])(?:nom\.?|trade size|trade|nominal size)(?![a-z.])", "nominal", plain)


def _way(plain: str) -> tuple[str | None, str]:
    """Whether a size says "od" or "nominal" (None: neither), and the length that is left."""
    match = _BY.match(plain)
    assert match is not None  # every part of the pattern may be empty
    return match["before"] or match["after"], match["length"]


def _inches(length_text: str, written: str, hint: str) -> Given:
    """A length written in inches. Raises SizeError for anything else."""
    try:
        length = parse(length_text, "length")
    except UnitError as error:
        raise SizeError(f"'{written}' is not a size: {error.message}", hint) from error
    if length.unit != "in":
        raise SizeError(f"'{written}' is not in inches", hint)
    return length


def _either(of: Material, kind: str | None, plain: str, written: str) -> Size:
    """A size by its nominal size or its outside diameter, and never by one that could be either."""
    way, length_text = _way(plain)
    bare = way is None and re.fullmatch(r"[\d ./-]+", length_text) is not None
    length = _inches(
        f"{length_text} in" if bare else length_text, written, "write it as in '1/2 in OD' or '1/2 in nominal'"
    )
    listed = sizes(of.id, kind)
    nominal = tuple(s for s in listed if abs(_fraction(s.id) - length) < _SAME)
    outside = tuple(s for s in listed if s.outside_diameter is not None and abs(s.outside_diameter - length) < _SAME)
    if way is None and nominal and nominal == outside:
        return nominal[0]
    if way is None and (nominal or outside):
        raise SizeError(
            f"'{written}' {'has no unit, and ' if bare else ''}may be an outside diameter or a nominal size, which are two "
            "different tubes",
            f"add which, as in '{written}{' in' if bare else ''} OD' or '{written}{' in' if bare else ''} nominal'",
            nominal + outside,
        )
    found = {"od": outside, "nominal": nominal, None: ()}[way]
    if not found:
        names = [s.label.split(", ")[1] if way == "od" else f"{s.id} in nominal" for s in listed]
        raise SizeError(
            f"no {of.id} tubing of type {kind} is listed as '{written}'", f"listed are {in_sentence(names)}"
        )
    return found[0]


def _metric(of: Material, kind: str | None, plain: str, written: str) -> Size:
    if alone := _MM_ALONE.match(plain):
        raise SizeError(
            f"'{written}' leaves out the wall, and the bore depends on it",
            f"add the wall, as in '{alone['od']} mm x 1 mm'. It is printed on the tube",
            tuple(s for s in sizes(of.id, kind) if s.id.split("x")[0] == f"{float(alone['od']):g}"),
        )
    match = _METRIC.match(plain)
    if match is None:
        hint = "write outside diameter and wall, as in '15 mm x 1 mm'"
        raise SizeError(f"'{written}' is not a metric tube size", hint)
    if not (match["unit"] or match["wall_unit"]):
        raise SizeError(f"'{written}' has no unit", f"write '{match['od']} mm x {match['wall']} mm'")
    od, wall = float(match["od"]), float(match["wall"])
    if not 0 < 2 * wall < od:
        hint = "write the outside diameter first, then the wall, as in '15 mm x 1 mm'"
        raise SizeError(f"'{written}' leaves no bore", hint)
    given = _file().metric_size(of, od, wall, "wall")
    return next((s for s in sizes(of.id, kind) if s.id == given.id), given)


def _corrugated(of: Material, kind: str | None, plain: str, written: str) -> Size:
    listed = sizes(of.id, kind)
    known = f"the tables have {in_sentence(s.id for s in listed)}"
    if match := _EHD.match(plain):
        number = int(match["after"] or match["before"])
        found = [s for s in listed if s.id == f"EHD {number}"]
        if not found:
            raise SizeError(f"EHD {number} is not in the capacity tables", known)
        return found[0]
    way, length_text = _way(plain)
    example = "write its EHD, as in 'EHD 18', or its trade size, as in '1/2 in'"
    if way == "od":
        raise SizeError("corrugated tubing is not sized by outside diameter", example)
    length = _inches(length_text, written, example)
    rows = [row for row in of.sizes if row.trade is not None and abs(_fraction(row.trade) - length) < _SAME]
    if not rows:
        raise SizeError(f"no corrugated tubing is listed as '{written}'", f"write its EHD; {known}")
    smallest = next(s for s in listed if s.id == rows[0].id)
    sold_as = in_sentence((f"{r.id} ({CONFIRMED[_file().cited(r.trade_source).confirmed]})" for r in rows), "or")
    warning = f"'{written}' corrugated tubing is {sold_as}. The smaller is taken. Give the EHD printed on the tubing."
    return dataclasses.replace(smallest, warnings=(warning,))


def _nominal(of: Material, kind: str | None, plain: str, written: str) -> Size:
    """Pipe that is named by nominal size alone."""
    if (match := _DN_TEXT.match(plain)) is not None:
        plain = next((f"{inches} in" for inches, dn in _DN.items() if dn == int(match["dn"])), plain)
    elif (match := _R_TEXT.match(plain)) is not None:
        plain = f"{match['size']} in"
    way, length_text = _way(plain)
    hint = "write the nominal size, as in '3/4 in' or 'DN 20'"
    if way == "od":
        raise SizeError(f"{of.id} pipe is named by its nominal size, not by its outside diameter", hint)
    length = _inches(length_text, written, hint)
    listed = sizes(of.id, kind)
    for size in listed:
        if abs(_fraction(size.id) - length) < _SAME:
            return size
    raise SizeError(f"no {of.id} pipe is listed as '{written}'", f"listed are {in_sentence(s.drawn for s in listed)}")


def _fraction(size_id: str) -> float:
    """A nominal size as a length in m."""
    return float(parse(f"{size_id} in", "length"))
