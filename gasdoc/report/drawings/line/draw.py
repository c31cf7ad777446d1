"""The drawings of the line as SVG: isometric, plan and side view. They are kept by their sheet, so that an unchanged line is
drawn once."""

from __future__ import annotations

import html
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from msgspec import Struct, structs

from gasdoc import units
from gasdoc.report.drawings.line import layout
from gasdoc.report.drawings.line.labels import LINE, Box, Label, Paper, PlacedLabel, place
from gasdoc.report.drawings.line.layout import CUT, Flat, Laid, LegPiece
from gasdoc.report.drawings.line.margin import (
    IN_ORDER,
    entry_width,
    in_columns,
    legend_of,
    rose_signs,
    sample_of,
    scale_bar,
    wrapped,
)
from gasdoc.report.drawings.line.sheet import PlacedThing, Sheet, Sign
from gasdoc.report.drawings.line.symbols import GAP, RADIUS, SOURCES, WORDS, bow, broken, sign, thing_sign, top, waves
from gasdoc.report.drawings.svg import tenth
from gasdoc.study.supply.route import Point, Stretch

GROWTH = (1.0, 1.4)
"""How much larger the paper may become, so that words find room; signs and letters stay."""

FAR, FEW = 30.0, 0.15
"""px, share: words farther off are far, and paper is large enough where no more of the words are (our choice)."""

MARGIN = 60.0
"""px: paper round the line for words."""

STEP = 19.0
"""px: between two signs on one leg."""

PER_METRE, WIDEST = 150.0, 680.0
"""px: a metre in plan and side view, at most, and the width that their line may take."""

LEVEL = 1.8
"""m: a plan is cut where no level leg lies in such a height (our choice)."""

BESIDE = 4.0
"""px: legs that lie behind one another in plan or side view are drawn so far beside one another."""

SHEET, NARROWEST = 840.0, 420.0
"""px: so wide a sheet of paper holds drawings that can still be read, and so wide each is at least, for its legend and notes;
a tall one is as wide as it is tall, as a sheet has room beside it."""

LEGEND = 140.0
"""px: where the legend begins, beside the rose."""

STYLE = (
    "<style>text{font:11px Arial,Helvetica,sans-serif;fill:#211f1b}.strong{font-weight:600}.quiet{fill:#5d574e}"
    ".pipe,.pen,.wall,.hose{fill:none;stroke:#211f1b;stroke-width:2;stroke-linecap:round;stroke-linejoin:round}"
    ".pen,.hose{stroke-width:1.4}.open{stroke-dasharray:7 5}.wall{stroke-width:1.2;stroke-dasharray:3 2}"
    ".dot{fill:#211f1b}.leader,.room,.turns{fill:none;stroke:#7a7266;stroke-width:.8}.room{stroke-dasharray:1 3}"
    ".turns{stroke-dasharray:4 3}"
    "@media (prefers-color-scheme:dark){svg{background:#181715}text,.dot{fill:#ebe7df}.quiet{fill:#b4ada1}"
    ".pipe,.pen,.wall,.hose{stroke:#ebe7df}.leader,.room,.turns{stroke:#8d867a}}</style>"
)
"""What a file that stands alone is drawn by; in a page the style of the site says it."""


class Drawn(Struct, frozen=True):
    """A drawing, what it is called, and what it `says` in one sentence.

    `svg` is for a page, which has legend and notes of its own. `file` stands alone and follows the reader's light or dark
    setting. `signs` are the kinds of signs in it, in the order of the legend. `lost` are the words that found no room."""

    name: Literal["isometric", "plan", "side"]
    title: str
    says: str
    svg: str
    file: str
    signs: tuple[str, ...]
    lost: tuple[str, ...]


@lru_cache(maxsize=64)
def isometric(sheet: Sheet) -> Drawn:
    """The isometric: not to scale, every place in its order along each axis, true figures on the legs."""
    on = [0] * len(sheet.stretches)
    for one in sheet.signs:
        on[one.stretch] += one.kind in ("regulator", "valve", "tap")
    pieces = [LegPiece(s.tail, s.head, k) for s, k in zip(sheet.stretches, on, strict=True)]
    laid = layout.isometric(pieces)
    cuts = list(layout.crossings(laid))
    laid = structs.replace(laid, ends=_beside(laid.ends, range(len(pieces))))
    seen = layout.seen_from(laid.view, compass=sheet.compass)
    says = (
        f"Isometric of the line of {sheet.title}, seen from {seen} and above. Not to scale: the figures on the legs are "
        "true, from centre to centre. Short legs are drawn longer. Legs that lie on one another are drawn beside one another."
    )
    rose = tuple(zip(_directions(compass=sheet.compass), _rose(laid), strict=True))
    part = _Part(sheet, laid, cuts)
    part.apart = layout.beside_strange(laid)
    return _finish(sheet, "isometric", f"Isometric of {sheet.title}", says, [part], rose, None)


@lru_cache(maxsize=64)
def plan(sheet: Sheet) -> Drawn:
    """The plan, to scale: one a level."""
    levels = _levels(sheet)
    aft, right = ((0.0, 1.0), (1.0, 0.0)) if sheet.compass else ((1.0, 0.0), (0.0, 1.0))
    scale = _scale(sheet, aft, right, (0.0, 0.0))
    parts = []
    for low, high in levels:
        title = ""
        if len(levels) > 1:
            ends = [units.show(z, "run length", sheet.shown) for z in (low, high) if math.isfinite(z)]
            title = f"{'Below' if low == -math.inf else 'Above' if high == math.inf else 'From'} {' to '.join(ends)}"
        keep = [i for i, s in enumerate(sheet.stretches) if _in(s, low, high)]
        parts.append(_flat_part(sheet, keep, (aft, right, (0.0, 0.0)), scale, title, (low, high)))
    says = (
        f"Plan of the line of {sheet.title}, to scale. Legs straight up or down are points here. Legs that lie above one "
        "another are drawn beside one another."
    )
    words = _directions(compass=sheet.compass)
    rose = tuple(zip(words, (aft, (-aft[0], -aft[1]), right, (-right[0], -right[1])), strict=False))
    return _finish(sheet, "plan", f"Plan of {sheet.title}", says, parts, rose, scale)


@lru_cache(maxsize=64)
def side(sheet: Sheet) -> Drawn:
    """The side view, to scale: along the longer way of the build."""
    ends = [p for s in sheet.stretches for p in (s.tail, s.head)]
    long = [max(p[axis] for p in ends) - min(p[axis] for p in ends) for axis in (0, 1)]
    along = long[0] >= long[1]
    aft, right = ((1.0, 0.0), (0.0, 0.0)) if along else ((0.0, 0.0), (1.0, 0.0))
    up = (0.0, -1.0)
    scale = _scale(sheet, aft, right, up)
    keep = list(range(len(sheet.stretches)))
    part = _flat_part(sheet, keep, (aft, right, up), scale, "", (-math.inf, math.inf))
    stand = ("west" if along else "south") if sheet.compass else "the left" if along else "aft"
    says = (
        f"Side view of the line of {sheet.title}, to scale, seen from {stand}. Legs that lead towards the reader or away are "
        "points here. Legs that lie behind one another are drawn beside one another."
    )
    words = _directions(compass=sheet.compass)
    pair = words[:2] if along else words[2:4]
    rose = tuple(zip((*pair, "up", "down"), ((1.0, 0.0), (-1.0, 0.0), (0.0, -1.0), (0.0, 1.0)), strict=True))
    return _finish(sheet, "side", f"Side view of {sheet.title}", says, [part], rose, scale)


def _directions(*, compass: bool) -> tuple[str, ...]:
    level = ("south", "north", "east", "west") if compass else ("aft", "fore", "right", "left")
    return (*level, "up", "down")


def _rose(laid: Laid) -> tuple[Flat, ...]:
    (ax, ay), (rx, ry) = layout.VIEWS[laid.view]
    return (ax, ay), (-ax, -ay), (rx, ry), (-rx, -ry), (0.0, -1.0), (0.0, 1.0)


def _levels(sheet: Sheet) -> list[tuple[float, float]]:
    """The heights between which each plan lies, from the lowest."""
    heights = sorted({s.tail[2] for s in sheet.stretches if abs(s.head[2] - s.tail[2]) < 0.05})
    cuts = [(a + b) / 2 for a, b in pairwise(heights) if b - a > LEVEL]
    edges = [-math.inf, *cuts, math.inf]
    return list(pairwise(edges))


def _in(stretch: Stretch, low: float, high: float) -> bool:
    """Whether a stretch belongs on a level: a level one by its height, a riser by the end that lies in it."""
    return any(low <= end[2] < high for end in (stretch.tail, stretch.head))


def _scale(sheet: Sheet, aft: Flat, right: Flat, up: Flat) -> float:
    places: list[Point] = [p for s in sheet.stretches for p in (s.tail, s.head)]
    places += [thing.at for thing in sheet.things]
    places += [(x, y, 0.0) for room in sheet.rooms for x, y in room.corners] if up == (0.0, 0.0) else []
    found = [_project(p, aft, right, up) for p in places]
    widest = max(max(p[i] for p in found) - min(p[i] for p in found) for i in (0, 1))
    return min(PER_METRE, WIDEST / max(widest, 0.5))


def _project(point: Point, aft: Flat, right: Flat, up: Flat) -> Flat:
    return (
        point[0] * aft[0] + point[1] * right[0] + point[2] * up[0],
        point[0] * aft[1] + point[1] * right[1] + point[2] * up[1],
    )


class _Part:
    """One figure of a drawing: some of the stretches with their ends on paper. `says_away`: a leg that is a point in it has
    its figure. `apart`: where an end lies beside a leg that it is not joined to."""

    def __init__(
        self, sheet: Sheet, laid: Laid, cuts: Sequence[tuple[int, float]], title: str = "", *, to_scale: bool = False
    ) -> None:
        self.sheet, self.laid, self.cuts, self.title, self.to_scale = sheet, laid, cuts, title, to_scale
        self.keep: Sequence[int] = range(len(sheet.stretches))
        self.says_away = False
        self.apart: Sequence[Flat] = ()
        self.rooms: list[tuple[str, list[Flat]]] = []
        self.things: list[tuple[PlacedThing, Flat]] = []


def _beside(ends: Sequence[tuple[Flat, Flat]], keep: Sequence[int]) -> tuple[tuple[Flat, Flat], ...]:
    """The ends of stretches, those that lie on one another moved apart."""
    moved, moves = list(ends), dict[int, int]()
    for i, j in layout.on_one_another([ends[k] for k in keep]):
        one, other = keep[i], keep[j]
        moves[other] = max(moves.get(other, 0), moves.get(one, 0) + 1)
    for k, steps in moves.items():
        (ax, ay), (bx, by) = ends[k]
        size = math.hypot(bx - ax, by - ay)
        dx, dy = (by - ay) / size * BESIDE * steps, -(bx - ax) / size * BESIDE * steps
        if dy > 0:
            dx, dy = -dx, -dy
        moved[k] = ((ax + dx, ay + dy), (bx + dx, by + dy))
    return tuple(moved)


def _flat_part(
    sheet: Sheet,
    keep: Sequence[int],
    axes: tuple[Flat, Flat, Flat],
    scale: float,
    title: str,
    level: tuple[float, float],
) -> _Part:
    """A figure to scale, with what lies behind one another moved apart."""
    aft, right, up = ((scale * x, scale * y) for x, y in axes)
    ends = [(_project(s.tail, aft, right, up), _project(s.head, aft, right, up)) for s in sheet.stretches]
    laid = Laid(_beside(ends, keep), tuple((0.0, 0.0) for _ in ends), 0, ())
    part = _Part(sheet, laid, (), title, to_scale=True)
    part.keep = keep
    part.says_away = up == (0.0, 0.0)
    if part.says_away:
        part.rooms = [
            (room.name, [_project((x, y, 0.0), aft, right, up) for x, y in room.corners]) for room in sheet.rooms
        ]
    part.things = [
        (thing, _project(thing.at, aft, right, up)) for thing in sheet.things if level[0] <= thing.at[2] < level[1]
    ]
    return part


class _Figure(Struct, frozen=True):
    """A figure drawn: its SVG, the box it takes, how far right in it the container stands, the kinds of signs in it, and the
    words that found no room."""

    body: str
    box: Box
    container: float | None
    used: frozenset[str]
    lost: tuple[str, ...]


def _figure(part: _Part) -> _Figure:
    """The smallest paper on which all words find room, and most of them near; on the largest one a run without room keeps its letter."""
    for growth in GROWTH:
        shapes, labels, box, paper = _shapes(part, growth)
        placed, lost = place(labels, paper)
        if not lost and sum(map(_far_off, placed)) <= len(placed) * FEW:
            break
    if lost:
        missing = {id(label) for label in lost}
        shorter = [
            Label((label.short,), "letter", label.one, label.other, label.radius)
            if id(label) in missing and label.short
            else label
            for label in labels
        ]
        placed, lost = place(shorter, paper)
    words = "".join(map(_written, placed))
    boxes = [item.box for item in placed]
    whole = (
        min([box[0] + MARGIN - 12, *(b[0] for b in boxes)]),
        min([box[1] + MARGIN - 12, *(b[1] for b in boxes)]),
        max([box[2] - MARGIN + 12, *(b[2] for b in boxes)]),
        max([box[3] - MARGIN + 12, *(b[3] for b in boxes)]),
    )
    return _Figure(
        "".join(shapes.svg) + words,
        whole,
        shapes.container,
        frozenset(shapes.used),
        tuple(" ".join(label.lines) for label in lost),
    )


def _far_off(item: PlacedLabel) -> bool:
    """Whether words stand so far from what they name that one has to look for it."""
    return item.leader is not None and math.dist(*item.leader) > FAR


class _Shapes:
    """What is drawn of one figure, as it is made."""

    def __init__(self) -> None:
        self.svg: list[str] = []
        self.used: set[str] = set()
        self.container: float | None = None


def _shapes(part: _Part, growth: float) -> tuple[_Shapes, list[Label], Box, Paper]:
    sheet = part.sheet
    ends = [((ax * growth, ay * growth), (bx * growth, by * growth)) for (ax, ay), (bx, by) in part.laid.ends]
    spots = [p for i in part.keep for p in ends[i]]
    rooms = [(name, [(x * growth, y * growth) for x, y in corners]) for name, corners in part.rooms]
    things = [(thing, (x * growth, y * growth)) for thing, (x, y) in part.things]
    spots += [p for _, corners in rooms for p in corners] + [p for _, p in things]
    box = (
        min(x for x, _ in spots) - 2.2 * MARGIN,
        min(y for _, y in spots) - MARGIN,
        max(x for x, _ in spots) + 2.2 * MARGIN,
        max(y for _, y in spots) + MARGIN,
    )
    paper, shapes, labels = Paper(box), _Shapes(), []
    gaps: dict[int, list[tuple[float, float]]] = {}
    for i, share in part.cuts:
        gaps.setdefault(i, []).append((share * _length(ends[i]), CUT))
    for name, corners in rooms:
        shapes.used.add("room")
        for edge in pairwise((*corners, corners[0])):
            paper.line(*edge)
        shapes.svg.append(f'<path class="room" d="{_through(corners)}Z"/>')
        if name:
            labels.append(Label((name,), "quiet", corners[0], corners[0], 2.0))
    for thing, at in things:
        shapes.used.add(thing.kind)
        shapes.svg.append(thing_sign(thing.kind, at))
        paper.block((at[0] - 5, at[1] - 5, at[0] + 5, at[1] + 5))
        labels.append(Label((thing.name,), "quiet", at, at, 5.0))
    kept = set(part.keep)
    marks = [one for one in sheet.signs if one.stretch in kept and not _hidden(one, ends)]
    standing = [(one, *_stands(one, sheet.signs, ends[one.stretch])) for one in marks]
    for one, at, angle in standing:
        shapes.used.add(one.kind)
        shapes.svg.append(sign(one.kind, at, 0 if one.kind in ("container", "appliance") else angle))
        if one.kind == "container":
            shapes.container = at[0]
        r = RADIUS[one.kind]
        paper.block((at[0] - r, at[1] - r, at[0] + r, at[1] + r))
        if one.lines and not (part.to_scale and one.kind == "tap"):
            kind = "strong" if one.kind in ("container", "appliance") else "plain"
            labels.append(Label(one.lines, kind, at, at, r))
        if one.kind in GAP and _length(ends[one.stretch]) > 2 * STEP:
            gaps.setdefault(one.stretch, []).append((math.dist(ends[one.stretch][0], at), GAP[one.kind]))
    for turns in part.laid.corners:
        if turns:
            shapes.used.add("slant")
            shapes.svg.append(f'<path class="turns" d="{_through((x * growth, y * growth) for x, y in turns)}"/>')
    for x, y in part.apart:
        shapes.used.add("apart")
        shapes.svg.append(sign("apart", (x * growth, y * growth)))
    for i in part.keep:
        labels += _along(part, i, ends[i], gaps.get(i, []), shapes, paper)
    labels += _run_labels(part, ends, gaps, shapes, paper)
    return shapes, labels, box, paper


def _hidden(one: Sign, ends: Sequence[tuple[Flat, Flat]]) -> bool:
    """Whether a sign stands on a leg that is only a point in this view."""
    return one.kind in ("regulator", "valve", "tap") and _length(ends[one.stretch]) < 6


def _stands(one: Sign, signs: Sequence[Sign], ends: tuple[Flat, Flat]) -> tuple[Flat, float]:
    """Where a sign stands and how it is turned. Signs on one leg keep their order, also on a short one."""
    (ax, ay), (bx, by) = ends
    length = _length(ends)
    angle = math.degrees(math.atan2(by - ay, bx - ax)) if length > 0.5 else 0.0
    if one.kind in ("container", "junction", "appliance"):
        return (ends[0] if one.end == "tail" else ends[1]), angle
    many = sum(other.stretch == one.stretch and other.kind in ("regulator", "valve", "tap") for other in signs)
    step = min(STEP, length / (many + 1))
    away = min(12.0, step) + step * one.back
    share = 0.0 if length < 0.5 else away / length
    share = share if one.end == "tail" else 1 - share
    return (ax + share * (bx - ax), ay + share * (by - ay)), angle


def _along(
    part: _Part,
    i: int,
    ends: tuple[Flat, Flat],
    gaps: list[tuple[float, float]],
    shapes: _Shapes,
    paper: Paper,
) -> Iterator[Label]:
    """One stretch: its line, its passages, its figure."""
    stretch = part.sheet.stretches[i]
    one, other = ends
    length = _length(ends)
    bowed = stretch.curve == "sweep" and length > STEP
    for edge in pairwise((one, top(one, other), other) if bowed else ends):
        paper.line(*edge)
    angle = math.degrees(math.atan2(other[1] - one[1], other[0] - one[0])) if length > 0.5 else 0.0
    dashed = "" if stretch.measured or i == 0 else " open"
    shapes.used |= {"connector"} if stretch.connector else set()
    shapes.used |= {"open"} if dashed else set()
    if stretch.connector:
        shapes.svg.append(f'<path class="hose{dashed}" d="{waves(one, other)}"/>')
    elif bowed:
        shapes.used.add("sweep")
        shapes.svg.append(f'<path class="pipe" d="{bow(one, other)}"/>')
    else:
        shapes.svg.append(f'<path class="pipe{dashed}" d="{broken(one, other, gaps)}"/>')
    if length < 0.5 and not stretch.connector:
        shapes.used.add("away")
        shapes.svg.append(sign("away", one))
        paper.block((one[0] - 5, one[1] - 5, one[0] + 5, one[1] + 5))
        if part.says_away and stretch.text and (part.sheet.full_words or stretch.length > LEVEL):
            yield Label((stretch.text,), "quiet", one, one, 5.0)
    if stretch.curve == "loop" and length > 0.5:
        shapes.used.add("loop")
        middle = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
        shapes.svg.append(sign("loop", middle, angle))
        paper.block((middle[0] - 14, middle[1] - 14, middle[0] + 14, middle[1] + 14))
    if length > 0.5:
        for passage in stretch.passages:
            at = (one[0] + passage.share * (other[0] - one[0]), one[1] + passage.share * (other[1] - one[1]))
            shapes.used.add("passage")
            shapes.svg.append(sign("passage", at, angle))
            paper.block((at[0] - 5, at[1] - 5, at[0] + 5, at[1] + 5))
            yield Label((passage.through,), "quiet", at, at, 8.0)
    if stretch.figure and not part.to_scale:
        # A curve is longer than its chord, and only the chord says where it ends.
        curved = stretch.curve and stretch.text
        lines = (stretch.text, f"{stretch.figure} long") if curved else (stretch.figure,)
        yield Label(lines, "quiet", one, other)


def _run_labels(
    part: _Part,
    ends: Sequence[tuple[Flat, Flat]],
    gaps: dict[int, list[tuple[float, float]]],
    shapes: _Shapes,
    paper: Paper,
) -> Iterator[Label]:
    """Each run's words at its longest stretch, with an arrow in the direction of flow."""
    kept = set(part.keep)
    for run in part.sheet.runs:
        shown = [i for i in run.stretches if i in kept and _length(ends[i]) > 1]
        if not shown:
            continue
        longest = max(shown, key=lambda i: _length(ends[i]))
        one, other = ends[longest]
        length = _length(ends[longest])
        full = part.sheet.full_words and not part.to_scale
        lines = run.lines if full else (run.letter,)
        yield Label(lines, "plain" if full else "letter", one, other, 0.0, run.letter if full else "")
        clear = [at for at, _ in gaps.get(longest, [])]
        stretch = part.sheet.stretches[longest]
        clear += [p.share * length for p in stretch.passages] + [length / 2] * (stretch.curve == "loop")
        shares = (0.5,) if stretch.curve == "sweep" else (0.6, 0.4, 0.75, 0.25)
        share = next((s for s in shares if all(abs(s * length - at) > 15 for at in clear)), None)
        if length > 40 and share is not None:
            at = (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1]))
            at = top(one, other) if stretch.curve == "sweep" else at
            shapes.used.add("arrow")
            shapes.svg.append(sign("arrow", at, math.degrees(math.atan2(other[1] - one[1], other[0] - one[0]))))
            paper.block((at[0] - 5, at[1] - 5, at[0] + 5, at[1] + 5))


def _through(places: Iterable[Flat]) -> str:
    """The path of a line through some places."""
    return "M" + "L".join(f"{tenth(x)} {tenth(y)}" for x, y in places)


def _length(ends: tuple[Flat, Flat]) -> float:
    return math.dist(*ends)


def _written(item: PlacedLabel) -> str:
    """A label and the line that leads to it."""
    left, top, right, _ = item.box
    middle = (left + right) / 2
    found = ""
    if item.leader is not None:
        (ax, ay), (bx, by) = item.leader
        found = f'<path class="leader" d="M{tenth(ax)} {tenth(ay)}L{tenth(bx)} {tenth(by)}"/>'
    style = {"plain": "", "letter": ' class="strong"'}.get(item.label.kind, f' class="{item.label.kind}"')
    for i, line in enumerate(item.label.lines):
        found += f'<text{style} x="{tenth(middle)}" y="{tenth(top + LINE * i + 10)}" text-anchor="middle">{html.escape(line)}</text>'
    return found


def _finish(
    sheet: Sheet,
    name: Literal["isometric", "plan", "side"],
    title: str,
    says: str,
    parts: Sequence[_Part],
    rose: Sequence[tuple[str, Flat]],
    scale: float | None,
) -> Drawn:
    """The figures, the rose, the legend and the notes."""
    figures = [_figure(part) for part in parts]
    used = frozenset().union(*(figure.used for figure in figures))
    body, across, y, container = _in_rows(parts, figures)
    signs = tuple(kind for kind in IN_ORDER if kind in used)
    directions = rose_signs(rose, 66, y + 44)
    bar = scale_bar(scale, sheet.shown, LEGEND, y + 40) if scale is not None else ""
    width = max(across + 16, NARROWEST, min(y, WIDEST), LEGEND + max(map(entry_width, signs)))
    lost = tuple(word for figure in figures for word in figure.lost)

    def svg(style: str, wide_one: float, high: float, *inside: str) -> str:
        ids, size = f"{sheet.slug}-{name}", (math.ceil(wide_one), math.ceil(high))
        opens = " from-right" if container is not None and container > wide_one / 2 else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="route{opens}" role="img" aria-labelledby="{ids}-t {ids}-d" '
            f'width="{size[0]}" height="{size[1]}" viewBox="0 0 {size[0]} {size[1]}">{style}'
            f'<title id="{ids}-t">{html.escape(title)}</title>'
            f'<desc id="{ids}-d">{html.escape(says)} The table of runs has the same in words.</desc>'
            f"{body}{directions}{bar}{''.join(inside)}</svg>"
        )

    page = svg("", max(across + 16, 140 + 160 * bool(bar)), y + 100)
    legend, below = legend_of(signs, LEGEND, y + 12 + 60 * bool(bar), width)
    notes, below = _notes(sheet, says, max(below, y + 94), width, keyed=name == "isometric", lost=bool(lost))
    return Drawn(name, title, says, page, svg(STYLE, width, below, legend, notes) + "\n", signs, lost)


def _notes(sheet: Sheet, says: str, y: float, width: float, *, keyed: bool, lost: bool) -> tuple[str, float]:
    """What stands below a drawing that stands alone: the runs where it names them by letter, and the notes."""
    body = ""
    if keyed and not sheet.full_words:
        for row in in_columns([", ".join(run.lines) for run in sheet.runs], width - 16):
            y += 16
            body += "".join(f'<text x="{tenth(8 + x)}" y="{tenth(y)}">{html.escape(text)}</text>' for x, text in row)
        y += 8
    notes = [says, "What found no room here stands in the table by its letter."] if lost else [says]
    for line in wrapped(" ".join([*notes, *remarks(sheet)]), width - 16):
        y += 14
        body += f'<text class="quiet" x="8" y="{tenth(y)}">{html.escape(line)}</text>'
    return body, y + 12


def remarks(sheet: Sheet) -> tuple[str, ...]:
    """What holds for all drawings of a sheet: which code its numbers hold for, and where its signs are from."""
    code = f"Numbers behind # are joints. They hold for the tightness code {sheet.code}."
    return (code, SOURCES) if sheet.code else (SOURCES,)


def sample(kind: str) -> tuple[str, str]:
    """A sign for a page's legend, and its words."""
    return f'<svg class="route" viewBox="-20 -16 40 32" aria-hidden="true">{sample_of(kind, 0, 0)}</svg>', WORDS[kind]


def _in_rows(parts: Sequence[_Part], figures: Sequence[_Figure]) -> tuple[str, float, float, float | None]:
    """The figures side by side as far as a sheet is wide; how far right they go, where they end, and how far right the
    container stands."""
    body, x, y, across, below = "", 8.0, 8.0, 0.0, 8.0
    container = None
    for part, figure in zip(parts, figures, strict=True):
        left, top, right, bottom = figure.box
        if x > 8 and x + right - left > SHEET:
            x, y = 8.0, below
        head = 20.0 if part.title else 0.0
        if part.title:
            body += f'<text class="strong" x="{tenth(x)}" y="{tenth(y + 11)}">{html.escape(part.title)}</text>'
        body += f'<g transform="translate({tenth(x - left)} {tenth(y + head - top)})">{figure.body}</g>'
        if figure.container is not None:
            container = x - left + figure.container
        x += right - left
        across, below = max(across, x - 8), max(below, y + head + bottom - top + 14)
        x += 24
    return body, across, below, container
