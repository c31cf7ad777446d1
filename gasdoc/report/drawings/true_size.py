"""Parts drawn at their true size, to hold a part against the paper: threads, seats and tubes as far as they are known.

Full lines are to measure; dashed ones are where a measure is missing, and `missing` names it. Male ends are seen from
outside, female ones are cut open. Heavy lines show where a joint gets tight. An end is sketched from its part's body to the
right, in mm from its axis; the sketches are then turned to where the part has them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Literal

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from gasdoc.catalog import screwed
from gasdoc.catalog.joints import Thread, thread
from gasdoc.catalog.part_sizes import part_size
from gasdoc.engineering.materials.ends import End, outside
from gasdoc.engineering.materials.joints import Part
from gasdoc.report.drawings.part_signs import ENDS
from gasdoc.report.drawings.thread_words import on_cone, width_words
from gasdoc.source import Citation
from gasdoc.units import System

Style = Literal["pen", "soft", "seal", "measure"]
Point = tuple[float, float]

_MARGIN = 5.0
"""mm around a drawing, for the letters of its measures."""

_WALL, _GAP, _STUB = 3.0, 7.0, 14.0
"""mm: how thick a wall, how long a body and how long a piece of tube are drawn where nobody knows."""

_TURNS = 5
"""So many turns are drawn of a parallel thread whose length is not known."""

_DEPTHS = {60.0: 0.61, 55.0: 0.64}
"""Depth of a thread in pitches, by the angle between its flanks: ISO 68-1 and ISO 228-1, as a drawing can show it."""


_ANGLES: Mapping[str, tuple[int, ...]] = {"tee": (180, 0, 90), "elbow": (180, 90), "elbow-45": (180, 45)}
"""How the ends of a branched part stand; all others are straight."""


class LetteredMeasure(Struct, frozen=True):
    """What a letter of a drawing stands for, in words, and the source of its figures."""

    letter: str
    words: str
    source: Citation | None


class TrueSize(Struct, frozen=True):
    """A part at its true size: `width` and `height` in mm, and what is drawn in them; `missing` names what is not to measure.
    `known` is no where nothing of it is."""

    width: float
    height: float
    svg: Markup
    measures: tuple[LetteredMeasure, ...]
    missing: tuple[str, ...]
    known: bool


class _Line(Struct, frozen=True):
    style: Style
    points: tuple[Point, ...]


class _Sketch(Struct, frozen=True):
    """An end from its body to the right: how far it reaches, half its width, its lines, what is missing, and `across` what of it is measured."""

    reach: float
    half: float
    lines: tuple[_Line, ...]
    missing: tuple[str, ...]
    across: float | None


class _Pen:
    """An end in the making. Every line above the axis has its like below."""

    def __init__(self) -> None:
        self.lines: list[_Line] = []

    def both(self, style: Style, *points: Point) -> None:
        """A line, and the same mirrored at the axis."""
        self.lines.append(_Line(style, points))
        self.lines.append(_Line(style, tuple((x, -y) for x, y in points)))

    def one(self, style: Style, *points: Point) -> None:
        """A line that is its own mirror image."""
        self.lines.append(_Line(style, points))


@lru_cache(maxsize=1024)  # builds have most of their parts in common
def drawing(part: Part, system: System) -> TrueSize:
    """A part at its true size."""
    size = part_size(part.id)
    angles = (0,) if len(part.ends) == 1 else _ANGLES.get(part.shape, (180, 0))
    length = None if size is None or size.length is None else size.length * 1000
    most = math.inf if length is None else length / 2 - 0.5
    across: tuple[float, ...] = () if size is None else size.across_flats
    around = across[0] * 500 if across else None
    arms = [(angle, end, _sketch(end, most, around)) for angle, end in zip(angles, part.ends, strict=False)]
    missing = [word for _, _, sketch in arms for word in sketch.missing]
    measures = _of_ends(arms, system)
    if angles in ((180, 0), (0,)):
        lines, dimension = _straight(part, arms, length, across)
        told, lacks = _of_body(part, across, system, size.source if size is not None else None)
        if length is not None and size is not None:
            told.append(
                LetteredMeasure("L", _graded(f"{width_words(length / 1000, system)} long", size.source), size.source)
            )
        elif part.shape not in ("stub", "hose", "pigtail", "connector", "end"):
            lacks.append("its length")
        measures += told
    else:
        to_face = _to_face(part)
        lines, dimension = _branched(arms, None if to_face is None else to_face.to_face * 1000)
        lacks = ["its body"]
        if to_face is None:
            lacks.append("how far its faces stand from its middle")
        else:
            measures.append(
                LetteredMeasure(
                    "F",
                    _graded(f"middle to face {width_words(to_face.to_face, system)}", to_face.source),
                    to_face.source,
                )
            )
    letters = {end: chr(ord("A") + i) for i, end in enumerate(dict.fromkeys(end for _, end, _ in arms))}
    return _drawn(lines, dimension, arms, letters, measures, tuple(dict.fromkeys((*missing, *lacks))))


def _of_ends(arms: Sequence[tuple[int, End, _Sketch]], system: System) -> list[LetteredMeasure]:
    """What each end is, under its letter."""
    found: dict[End, LetteredMeasure] = {}
    for _, end, _ in arms:
        letter = found[end].letter if end in found else chr(ord("A") + len(found))
        tube = outside(end) if end.kind != "hose" else None
        wide = "" if tube is None else f", tube {width_words(tube, system)} outside"
        found[end] = LetteredMeasure(letter, f"{end}{wide}", None)
    return list(found.values())


def _of_body(
    part: Part, across: Sequence[float], system: System, source: Citation | None
) -> tuple[list[LetteredMeasure], list[str]]:
    """What is known of the width of a straight part, and what is not."""
    if part.shape in ("nipple", "stub", "hose", "pigtail", "connector", "end"):
        return [], []
    if not across:
        return [], ["its width across flats"]
    said = " to ".join(width_words(one, system) for one in across)
    return [LetteredMeasure("W", f"{said} across flats", source)], [] if len(across) == 1 else [
        "its width across flats, which differs"
    ]


def _graded(words: str, source: Citation) -> str:
    """A measure that a builder cuts by, with the weakest mark said in words."""
    return f"{words}, from memory" if source.confirmed == "memory" else words


def _to_face(part: Part) -> screwed.StraightFitting | None:
    first = part.ends[0]
    if len(set(part.ends)) > 1:
        return None
    return screwed.fitting(part.shape, first.kind, first.size)


# --- ends ---------------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=1024)
def _sketch(end: End, most: float, around: float | None) -> _Sketch:
    """An end as far as it is known; no longer than `most` mm. `around` is half the width of the nut it is in, None where not known."""
    its, sign = thread(end), ENDS[end.kind]
    pen = _Pen()
    if sign == "tube":
        tube = outside(end)
        assert tube is not None, "a tube goes by its outside"
        half, reach = tube * 500, min(_STUB, most)
        pen.both("pen", (0.0, half), (reach, half))
        pen.one("pen", (reach, half), (reach, -half))
        return _Sketch(reach, half, tuple(pen.lines), (), tube * 1000)
    if its is None:
        return _unknown(end, most)
    if around is not None and its.across_flats is None and end.gender == "female":
        its = replace(its, across_flats=around / 500)
    reach, half, missing = _OF[sign](pen, end, its, most)
    across = outside(end) if sign == "nut" else its.major
    return _Sketch(reach, half, tuple(pen.lines), missing, None if across is None else across * 1000)


def _unknown(end: End, most: float) -> _Sketch:
    """An end of which no thread is known: its tube's hole where it takes one, else an outline only."""
    pen, tube = _Pen(), outside(end) if end.kind != "hose" else None
    reach, half = min(_STUB, most), 9.0 if tube is None else tube * 500 + _WALL + 2.0
    what = {
        "csst": "the outside of corrugated tubing: EHD is no length",
        "hose": "the outside of the nozzle and of the hose",
        "pe": "the outside of the pipe",
    }.get(end.kind, "its nut" if tube is not None else "its thread")
    pen.both("soft", (0.0, half), (reach, half))
    pen.one("soft", (reach, half), (reach, -half))
    if tube is not None:
        pen.both("pen", (reach, tube * 500), (reach - 5.0, tube * 500))
        pen.both("seal", (reach - 5.0, tube * 500), (reach - 7.0, tube * 500))
    return _Sketch(reach, half, tuple(pen.lines), (f"{what} ({end})",), None if tube is None else tube * 1000)


def _depth(its: Thread) -> float:
    """mm."""
    return 0.0 if its.pitch is None else its.pitch * 1000 * _DEPTHS.get(its.form or 60.0, 0.61)


def _teeth(
    start: float, stop: float, its: Thread, crest: Callable[[float], float], inwards: float
) -> tuple[Point, ...]:
    """The flanks of a thread from x = `stop` back to `start`, beginning at a root; `inwards` is the way from crest to root."""
    if its.pitch is None:
        return ((stop, crest(stop)), (start, crest(start)))
    half = its.pitch * 500
    steps = max(1, int((stop - start) / half + 1e-9))
    places = [stop - k * half for k in range(steps + 1)]
    return tuple((x, crest(x) + (inwards if k % 2 == 0 else 0.0)) for k, x in enumerate(places))


def _length(its: Thread, most: float) -> float:
    """How much of a thread is drawn, mm."""
    if its.useful is not None:
        return min(its.useful * 1000, most)
    return min(_TURNS * its.pitch * 1000 if its.pitch is not None else 10.0, most)


def _taper(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    """A taper thread: its outside grows by a sixteenth of the way from its tip, to the pipe's."""
    reach, pipe = _length(its, most), its.major * 500
    gauge = 0.0 if its.hand_tight is None else its.hand_tight * 1000
    if end.kind == "npt":
        # ASME B1.20.1: the pitch diameter at the small end is D - (0.05 D + 1.1) p, and a thread is 0.8 p deep.
        pitch = (its.pitch or 0.0) * 1000
        most_out, depth = pipe, 0.8 * pitch
        tip = (2 * pipe - (0.05 * 2 * pipe / 25.4 + 1.1) * pitch + depth) / 2
    else:
        most_out, depth, tip = math.inf, _depth(its), pipe - gauge / 32
    if end.gender == "male":
        teeth = _teeth(0.0, reach, its, lambda x: min(most_out, tip + (reach - x) / 32), -depth)
        pen.both("pen", *teeth)
        pen.one("pen", teeth[0], (teeth[0][0], -teeth[0][1]))
        pen.both("seal", *((x, y + 0.6) for x, y in teeth[1:-1:2]))
        return reach, pipe, ()
    face = tip + gauge / 32
    half = face + _WALL
    pen.both("pen", *_teeth(0.0, reach, its, lambda x: face - (reach - x) / 32, -depth))
    pen.both("pen", (reach, face), (reach, half))
    pen.both("soft", (0.0, half), (reach, half))
    return reach, half, ("its outside",)


def _parallel(pen: _Pen, its: Thread, most: float) -> tuple[float, float]:
    """A parallel male thread without what stands at its tip: its length, and its root there, mm."""
    reach, crest = _length(its, most), its.major * 500
    teeth = _teeth(0.0, reach, its, lambda _: crest, -_depth(its))
    pen.both("pen", *teeth)
    return reach, teeth[0][1]


def _nut(pen: _Pen, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    """A female thread cut open, in a nut or a body: its reach, half its outside, what is missing."""
    reach, crest = _length(its, most), its.major * 500
    known = its.across_flats
    half = crest + _WALL if known is None else known * 500
    pen.both("pen", *_teeth(0.0, reach, its, lambda _: crest, -_depth(its)))
    pen.both("pen" if known is not None else "soft", (0.0, half), (reach, half), (reach, crest))
    return reach, half, () if known is not None else ("its outside",)


def _washer(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    coned = on_cone(end)
    if end.gender == "male":
        reach, root = _parallel(pen, its, most)
        pen.one("pen", (reach, root), (reach, -root))
        if coned:
            pen.both("seal", (reach, root * 0.75), (reach - root * 0.4, root * 0.35))
        else:
            pen.both("seal", (0.4, its.major * 500 + 0.5), (0.4, its.major * 500 + _WALL))
        return reach, its.major * 500, ("the length of its thread",)
    reach, half, missing = _nut(pen, its, most)
    inner = its.major * 500 - _depth(its)
    pen.both(
        "seal", *(((0.0, inner * 0.75), (inner * 0.4, inner * 0.35)) if coned else ((0.4, inner), (0.4, inner * 0.6)))
    )
    return reach, half, (*missing, "the length of its thread")


def _face(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    if end.gender == "male":
        reach, root = _parallel(pen, its, most)
        pen.one("pen", (reach, root), (reach, -root))
        pen.both("seal", (reach, root * 0.9), (reach, root * 0.4))
        return reach, its.major * 500, ("the length of its thread", "its nose and its seal")
    reach, half, missing = _nut(pen, its, most)
    inner = its.major * 500 - _depth(its)
    pen.both("seal", (1.0, inner * 0.9), (1.0, inner * 0.4))
    return reach, half, (*missing, "the length of its thread", "its nose and its seal")


def _flare(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    """A cone beyond a male thread; in a nut the same cone, as the flare of the tube lies on it."""
    slope = math.tan(math.radians(its.seat or 45.0))
    way = (outside(end) or 0.0) * 440
    if end.gender == "male":
        reach, root = _parallel(pen, its, most)
        tip = reach + (root - way) / slope
        pen.both("pen", (reach, root), (tip, way))
        pen.both("soft", (tip, way), (0.0, way))
        pen.both("seal", (reach + 0.3, root - 0.3 * slope), (tip, way))
        return tip, its.major * 500, ("the length of its thread", "its passage")
    reach, half, missing = _nut(pen, its, most)
    inner, tube = its.major * 500 - _depth(its), (outside(end) or 0.0) * 500
    back = -(inner - tube) / slope
    pen.both("pen", (0.0, inner), (back, tube))
    pen.both("seal", (0.0, inner), (back, tube))
    return reach, half, (*missing, "the length of its thread")


def _inverted(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    """The cone stands at the bottom of the female end; the flare of the tube is pressed onto it by the male nut."""
    tube = (outside(end) or 0.0) * 500
    if end.gender == "male":
        reach, root = _parallel(pen, its, most)
        pen.both("pen", (reach, root), (reach - (root - tube * 0.8), tube * 0.8))
        pen.both("seal", (reach, root), (reach - (root - tube * 0.8), tube * 0.8))
        return reach, its.major * 500, ("the length of its thread",)
    reach, half, missing = _nut(pen, its, most)
    inner = its.major * 500 - _depth(its)
    pen.both("pen", (0.0, inner), (inner - tube * 0.7, tube * 0.7))
    pen.both("seal", (0.0, inner), (inner - tube * 0.7, tube * 0.7))
    return reach, half, (*missing, "the length of its thread")


def _flare_nut(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    """The back of a flare nut, where the tube comes out."""
    reach, tube = min(6.0, most), (outside(end) or 0.0) * 500
    known = its.across_flats
    half = its.major * 500 + _WALL if known is None else known * 500
    pen.both("pen", (0.0, tube), (reach, tube))
    pen.both("pen" if known is not None else "soft", (0.0, half), (reach, half - 1.0))
    pen.both("soft", (reach, half - 1.0), (reach, tube))
    return reach, half, () if known is not None else ("its outside",)


def _ring(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    """The stud of a ring fitting with its cone inside, and its nut around it."""
    tube, slope = (outside(end) or 0.0) * 500, math.tan(math.radians(its.seat or 12.0))
    reach, root = _parallel(pen, its, most)
    mouth = root - 0.4
    pen.one("pen", (reach, root), (reach, mouth))
    pen.one("pen", (reach, -root), (reach, -mouth))
    pen.both("pen", (reach, mouth), (reach - (mouth - tube) / slope, tube))
    pen.both("seal", (reach - 0.5, mouth - 0.5 * slope - 0.2), (reach - (mouth - tube) / slope, tube))
    half = (its.across_flats or its.major) * 500
    far = reach + 6.0
    pen.both("pen" if its.across_flats is not None else "soft", (2.0, half), (far - 1.0, half))
    pen.both("soft", (2.0, half), (2.0, its.major * 500))
    pen.both("soft", (far - 1.0, half), (far, tube))
    return far, half, ("the length of its thread and of its nut",)


def _pol(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    crest = its.major * 500
    nose = crest * 0.45
    if end.gender == "male":
        reach, root = _parallel(pen, its, most)
        pen.one("pen", (reach, root), (reach, -root))
        far = reach + 6.0
        pen.both("soft", (reach, crest * 0.75), (far - 2.0, nose), (far, 0.0))
        pen.both("seal", (far - 2.0, nose), (far - 0.3, nose * 0.2))
        return far, crest, ("the length of its thread", "the shape of its nose")
    reach, half, missing = _nut(pen, its, most)
    pen.both("seal", (0.3, nose), (-1.5, nose * 0.3))
    return reach, half, (*missing, "the depth of its thread", "its seat")


def _hand_nut(pen: _Pen, end: End, its: Thread, most: float) -> tuple[float, float, tuple[str, ...]]:
    if end.gender == "male":
        reach, root = _parallel(pen, its, most)
        pen.one("pen", (reach, root), (reach, -root))
        pen.both("seal", (reach - 6.0, root * 0.5), (reach, root * 0.5))
        return reach, its.major * 500, ("the pitch and the length of its thread", "its seat")
    reach, half, missing = _nut(pen, its, most)
    pen.both("soft", (0.0, its.major * 220), (reach + 4.0, its.major * 220))
    pen.both("seal", (reach - 2.0, its.major * 220), (reach + 3.0, its.major * 220))
    return reach + 4.0, half, (*missing, "the pitch and the length of its thread", "its probe")


_OF: Mapping[str, Callable[[_Pen, End, Thread, float], tuple[float, float, tuple[str, ...]]]] = {
    "taper": _taper,
    "washer": _washer,
    "face": _face,
    "flare": _flare,
    "inverted": _inverted,
    "nut": _flare_nut,
    "ring": _ring,
    "pol": _pol,
    "hand-nut": _hand_nut,
}
"""How an end is drawn whose thread is known, by its drawing in `ENDS`."""


# --- parts --------------------------------------------------------------------------------------------------------------


def _turned(sketch: _Sketch, angle: float, base: float) -> Iterator[_Line]:
    """The lines of an end whose body ends at a distance from the middle, in a direction; y upwards, mm."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    for line in sketch.lines:
        yield _Line(line.style, tuple(((x + base) * c - y * s, (x + base) * s + y * c) for x, y in line.points))


_Arms = Sequence[tuple[int, End, _Sketch]]
_Dimension = tuple[Point, Point, str]


def _straight(
    part: Part, arms: _Arms, length: float | None, across: Sequence[float]
) -> tuple[list[_Line], list[_Dimension]]:
    """A straight part: its ends, its body between them, and where its measures stand."""
    reaches = [sketch.reach for _, _, sketch in arms]
    gap = _GAP if length is None else max(0.0, length - sum(reaches))
    bases = [gap / 2] * len(arms)
    first = arms[0][1]
    its = thread(first)
    style: Style = "soft"
    if part.shape == "nipple" and its is not None and len(set(part.ends)) == 1:
        half, style = its.major * 500, "pen"
    elif part.shape == "stub" and arms[0][2].across is not None and len(set(part.ends)) == 1:
        half, style = arms[0][2].across / 2, "pen"
    elif across:
        half = across[0] * 500
        style = "pen" if len(across) == 1 else "soft"
    else:
        half = max(sketch.half for _, _, sketch in arms) + 1.0
    lines = [
        line for (angle, _, sketch), base in zip(arms, bases, strict=True) for line in _turned(sketch, angle, base)
    ]
    lines += [_Line(style, ((-gap / 2, y), (gap / 2, y))) for y in (half, -half) if gap]
    sides = ((-gap / 2, arms[0]), (gap / 2, arms[-1])) if len(arms) > 1 else ((gap / 2, arms[0]),)
    closed = [(x, arm) for x, arm in sides if abs(half - arm[2].half) > 0.2]
    for x, (_, _, sketch) in closed:
        lines += [_Line(style, ((x, sign * half), (x, sign * sketch.half))) for sign in (1, -1)]
    if len(arms) == 1:
        lines.append(_Line("soft", ((-gap / 2, half), (-gap / 2, -half))))
    dimensions: list[_Dimension] = []
    if length is not None:
        low = -max(half, *(sketch.half for _, _, sketch in arms)) - 2.5
        dimensions.append(((-length / 2, low), (length / 2, low), "L"))
    if across and gap:
        dimensions.append(((0.0, -half), (0.0, half), "W"))
    return lines, dimensions


def _branched(arms: _Arms, to_face: float | None) -> tuple[list[_Line], list[_Dimension]]:
    """A tee or an elbow: its ends, and lines of its body to where they meet, which nobody knows."""
    lines: list[_Line] = []
    dimensions: list[_Dimension] = []
    for angle, _, sketch in arms:
        others = {other: its.half for other, _, its in arms}
        base = max(its.half for _, _, its in arms) + 1.0 if to_face is None else to_face - sketch.reach
        lines += _turned(sketch, angle, base)
        for turn in (90, -90):
            beside, across = others.get((angle + turn) % 360), others.get((angle - turn) % 360)
            beyond = across if across is not None and (angle + 180) % 360 not in others else 0.0
            stop = beside if beside is not None else -beyond
            edge = _Line("soft", ((stop, sketch.half * turn / 90), (base, sketch.half * turn / 90)))
            body = _Sketch(0.0, 0.0, (edge,), (), None)
            lines += _turned(body, angle, 0.0)
        if to_face is not None and angle == 0:
            low = -sketch.half - 2.5
            dimensions.append(((0.0, low), (to_face, low), "F"))
    return lines, dimensions


def _drawn(
    lines: Sequence[_Line],
    dimensions: Sequence[_Dimension],
    arms: _Arms,
    letters: Mapping[End, str],
    measures: Sequence[LetteredMeasure],
    missing: tuple[str, ...],
) -> TrueSize:
    """The drawing on its paper: the width of each end measured beside it, then everything in mm from the upper left."""
    points = [point for line in lines for point in line.points]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    bottom, top = min(y for _, y in points), max(y for _, y in points)
    marks = list(dimensions)
    for angle, end, sketch in arms:
        if sketch.across is not None:
            r = sketch.across / 2
            if angle in (0, 180):
                x = right + 2.5 if angle == 0 else left - 2.5
                marks.append(((x, -r), (x, r), letters[end]))
            elif angle == 90:
                marks.append(((-r, top + 2.5), (r, top + 2.5), letters[end]))
    dx, dy = _MARGIN + 2.0 - left, top + _MARGIN + 2.0

    def at(point: Point) -> Point:
        return point[0] + dx, dy - point[1]

    forms = [_path(line.style, *map(at, line.points)) for line in lines]
    placed = []
    for a, b, text in marks:
        upright = abs(a[0] - b[0]) < 1e-9
        tick = (0.8, 0.0) if upright else (0.0, 0.8)
        forms.append(_path("measure", at(a), at(b)))
        forms += [_path("measure", at((x - tick[0], y - tick[1])), at((x + tick[0], y + tick[1]))) for x, y in (a, b)]
        middle = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        away = 2.2 if not upright else 0.0
        side = 0.0 if not upright else (2.2 if middle[0] >= 0 else -2.2)
        x, y = at((middle[0] + side, middle[1] + (away if middle[1] > 0 else -away)))
        placed.append(f'<text x="{round(x, 1)}" y="{round(y, 1)}">{text}</text>')
    return TrueSize(
        round(right - left + 2 * (_MARGIN + 2.0), 1),
        round(top - bottom + 2 * (_MARGIN + 2.0), 1),
        Markup("".join((*forms, *placed))),
        tuple(measures),
        missing,
        any(sketch.across is not None for _, _, sketch in arms),
    )


def _path(style: Style, *points: Point) -> str:
    """A path in hundredths of a mm: a tenth would show in the turns of a thread."""
    places = "L".join(f"{round(x, 2) + 0.0:g},{round(y, 2) + 0.0:g}" for x, y in points)
    return f'<path class="true-{style}" d="M{places}"/>'
