"""Tubing and pipe: the materials, their sizes, and what a size written in a spec means.

A size is named in several ways that differ by a factor of two in capacity: 3/8 in copper is one tube by outside
diameter and another by nominal size. Nothing is guessed here; text that can be read two ways is an error that carries
both readings.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, Literal

from gasdoc.catalog import files
from gasdoc.quantities import Metre
from gasdoc.source import CONFIRMED, Citation
from gasdoc.units import Given, UnitError, parse

About = Literal["material", "kind", "size"]

_INCH = 0.0254
_SAME = 1e-6  # m: two lengths closer than this are one size written in two ways


@dataclass(frozen=True, slots=True)
class Size:
    """One size of one material and kind.

    `id` is stable and names the size in the capacity tables of its material; `label` is for people. `od` and `bore` in
    m, None where not known; `source` is for the bore (for corrugated tubing: for its EHD), `od_source` for the
    outside diameter. `warnings` say what was assumed in reading it from a spec.
    """

    material: str
    kind: str | None
    id: str
    label: str
    od: Metre | None
    bore: Metre | None
    source: Citation
    od_source: Citation | None = None
    warnings: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Material:
    """A tubing material. `roughness` in m, None where a friction calculation does not apply; `kinds` are the types."""

    name: str
    title: str
    kinds: tuple[str, ...]
    roughness: float | None
    roughness_source: Citation | None
    notes: tuple[str, ...]


class SizeError(ValueError):
    """A material, kind or size that cannot be told. `about` says which of them; `hint` what would be right;
    `readings` the sizes the text may mean, where it may mean several or is short of a word."""

    def __init__(self, message: str, hint: str, readings: tuple[Size, ...] = (), about: About = "size") -> None:
        self.message = message
        self.hint = hint
        self.readings = readings
        self.about = about
        super().__init__(message, hint, readings, about)

    def __str__(self) -> str:
        return f"{self.message}; {self.hint}"


def materials() -> tuple[str, ...]:
    """The names of the materials a spec may give."""
    return tuple(_data()["materials"])


def material(name: str) -> Material:
    """The material of that name. Raises SizeError with the nearest known name."""
    row = _material(name)
    roughness = row["roughness_um"]
    return Material(
        name=name,
        title=row["title"],
        kinds=tuple(row["kinds"]),
        roughness=None if roughness is None else roughness * 1e-6,
        roughness_source=None if roughness is None else _source(row["roughness_source"]),
        notes=tuple(row["notes"]),
    )


def sizes(material: str, kind: str | None = None) -> tuple[Size, ...]:
    """The listed sizes of a material and kind, smallest first. Raises SizeError for an unknown material or kind."""
    return _sizes(material, _kind(material, kind))


@dataclass(frozen=True, slots=True)
class Series:
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
        Series(tuple(f"EHD {ehd}" for ehd in row["ehds"]), _source(row["source"]))
        for row in _material("csst")["series"]
    )


def resolve(material: str, kind: str | None, size_text: str) -> Size:
    """The size that a spec's material, type and size text mean, with warnings for what was assumed.

    Raises SizeError: an unknown material or kind, a copper type left out, text that is no size, text that can be read
    two ways (with both readings), a size that is not listed (with the listed ones in the hint).
    """
    if material == "copper" and (_METRIC.match(_plain(size_text)) or _MM_ALONE.match(_plain(size_text))):
        raise SizeError(
            f"'{size_text}' is a metric size, and 'copper' is the inch sizes",
            "write 'material: copper-metric' and leave the type out",
            about="size",
        )
    kind = _kind(material, kind)
    readers = {"copper": _copper, "copper-metric": _metric, "csst": _corrugated}
    return readers.get(material, _nominal)(material, kind, _plain(size_text), size_text.strip())


# --- the lists --------------------------------------------------------------------------------------------------------


def _data() -> dict[str, Any]:
    rows: dict[str, Any] = files.load("tubing.yaml")
    return rows


def _source(name: str) -> Citation:
    row = _data()["sources"][name]
    return Citation(row["text"], row["confirmed"])


def _material(name: str) -> dict[str, Any]:
    rows: dict[str, dict[str, Any]] = _data()["materials"]
    if name not in rows:
        near = difflib.get_close_matches(name, rows, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"the materials are {_listed(rows)}"
        raise SizeError(f"unknown material '{name}'", hint, about="material")
    return rows[name]


def _kind(name: str, kind: str | None) -> str | None:
    """The kind in its listed spelling. Copper has two that matter; a material with one listed kind needs none named."""
    kinds: list[str] = _material(name)["kinds"]
    if kind is None or not kind.strip():
        if len(kinds) > 1:
            raise SizeError(
                f"{name} needs its type: {_listed(kinds, 'or')}",
                f"add the type, as in 'type: {kinds[0]}'; it is printed on the tubing",
                about="kind",
            )
        return kinds[0] if kinds else None
    given = re.sub(r"\s+", " ", kind.strip()).lower().removeprefix("type ").replace("sch ", "schedule ")
    for known in kinds:
        if given in (known.lower(), known.lower().removeprefix("schedule ")):
            return known
    if not kinds:
        raise SizeError(f"{name} has no types, so '{kind}' means nothing here", "leave the type out", about="kind")
    hint = f"the listed types are {_listed(kinds)}" if len(kinds) > 1 else f"only {kinds[0]} is listed"
    if given == "acr":
        hint += "; type K of the same outside diameter has a bore no larger than that of ACR tubing"
    raise SizeError(f"{name} of type '{kind}' is not listed", hint, about="kind")


@cache
def _sizes(name: str, kind: str | None) -> tuple[Size, ...]:
    row = _material(name)
    if name == "csst":
        return tuple(
            Size(name, kind, f"EHD {s['ehd']}", f"EHD {s['ehd']}", None, None, _source(row["source"]))
            for s in row["sizes"]
        )
    if name == "copper-metric":
        return tuple(_metric_size(s["od_mm"], s["wall_mm"], row["source"]) for s in row["sizes"])
    od_source = _source(row["od_source"])
    if name == "copper":
        return tuple(
            Size(
                name,
                kind,
                s["id"],
                f"{s['id']} in nominal, {s['od']} in OD, type {kind}",
                s["od_in"] * _INCH,
                s["bore_in"][kind] * _INCH,
                _source(row["bore_sources"][kind]),
                od_source,
            )
            for s in row["sizes"]
        )
    label = f" in nominal, {kind}" if kind else " in nominal"
    return tuple(
        Size(
            name,
            kind,
            s["id"],
            s["id"] + label,
            s["od_in"] * _INCH,
            s["bore_in"] * _INCH,
            _source(row["bore_source"]),
            od_source,
        )
        for s in row["sizes"]
    )


def _metric_size(od_mm: float, wall_mm: float, source: str) -> Size:
    return Size(
        material="copper-metric",
        kind=None,
        id=f"{od_mm:g}x{wall_mm:g}",
        label=f"{od_mm:g} mm OD x {wall_mm:g} mm wall",
        od=od_mm / 1000,
        bore=(od_mm - 2 * wall_mm) / 1000,
        source=_source(source),
        od_source=_source(source),
    )


# --- reading a size ---------------------------------------------------------------------------------------------------

_BY = re.compile(r"^(?:(?P<before>od|nominal) )?(?P<length>.*?)(?: ?(?P<after>od|nominal))?$")
_METRIC = re.compile(
    r"^(?P<od>\d+(?:\.\d+)?) ?(?P<unit>mm)?(?: od)? ?x ?(?P<wall>\d+(?:\.\d+)?) ?(?P<wall_unit>mm)?(?: wall)?$"
)
_MM_ALONE = re.compile(r"^(?:od )?(?P<od>\d+(?:\.\d+)?) ?mm(?: od)?$")
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


def _copper(name: str, kind: str | None, plain: str, written: str) -> Size:
    if _METRIC.match(plain) or _MM_ALONE.match(plain):
        raise SizeError(
            f"'{written}' is a metric size, and 'copper' is the inch sizes",
            "write 'material: copper-metric' and leave the type out",
        )
    way, length_text = _way(plain)
    bare = way is None and re.fullmatch(r"[\d ./-]+", length_text) is not None
    length = _inches(
        f"{length_text} in" if bare else length_text, written, "write it as in '1/2 in OD' or '1/2 in nominal'"
    )
    listed = sizes(name, kind)
    nominal = tuple(s for s in listed if abs(_fraction(s.id) - length) < _SAME)
    outside = tuple(s for s in listed if s.od is not None and abs(s.od - length) < _SAME)
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
        raise SizeError(f"no copper tubing of type {kind} is listed as '{written}'", f"listed are {_listed(names)}")
    return found[0]


def _metric(name: str, kind: str | None, plain: str, written: str) -> Size:
    if alone := _MM_ALONE.match(plain):
        raise SizeError(
            f"'{written}' leaves out the wall, and the bore depends on it",
            f"add the wall, as in '{alone['od']} mm x 1 mm'; it is printed on the tube",
            tuple(s for s in sizes(name, kind) if s.id.split("x")[0] == f"{float(alone['od']):g}"),
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
    given = _metric_size(od, wall, "wall")
    return next((s for s in sizes(name, kind) if s.id == given.id), given)


def _corrugated(name: str, kind: str | None, plain: str, written: str) -> Size:
    listed = sizes(name, kind)
    known = f"the tables have {_listed(s.id for s in listed)}"
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
    rows = [r for r in _material(name)["sizes"] if abs(_fraction(r["trade"]) - length) < _SAME]
    if not rows:
        raise SizeError(f"no corrugated tubing is listed as '{written}'", f"write its EHD; {known}")
    smallest = next(s for s in listed if s.id == f"EHD {rows[0]['ehd']}")
    sold_as = _listed((f"EHD {r['ehd']} ({CONFIRMED[_source(r['trade_source']).confirmed]})" for r in rows), "or")
    warning = f"'{written}' corrugated tubing is {sold_as}. The smaller is taken; give the EHD printed on the tubing."
    return replace(smallest, warnings=(warning,))


def _nominal(name: str, kind: str | None, plain: str, written: str) -> Size:
    """Pipe that is named by nominal size alone."""
    way, length_text = _way(plain)
    hint = "write the nominal size, as in '3/4 in'"
    if way == "od":
        raise SizeError(f"{name} pipe is named by its nominal size, not by its outside diameter", hint)
    length = _inches(length_text, written, hint)
    listed = sizes(name, kind)
    for size in listed:
        if abs(_fraction(size.id) - length) < _SAME:
            return size
    raise SizeError(f"no {name} pipe is listed as '{written}'", f"listed are {_listed(f'{s.id} in' for s in listed)}")


def _fraction(size_id: str) -> float:
    """A nominal size as a length in m."""
    return float(parse(f"{size_id} in", "length"))


def _listed(words: Iterable[str], last: str = "and") -> str:
    *head, tail = words
    return f"{', '.join(head)} {last} {tail}" if head else tail
