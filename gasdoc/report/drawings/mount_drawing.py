"""The mount drawn to scale: where container, bolts, straps, pushes and distances go. A template draws what is placed here.

Points are in m in the axes of the build (x forward, y to the left, z up) from the middle of the mount on its surface;
places on paper are in px of a drawing WIDTH wide. What the spec does not state is drawn as is usual, and the description
says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from gasdoc import units
from gasdoc.engineering.constants import GRAVITY
from gasdoc.engineering.container.mounting import AXES, DIRECTIONS, Load
from gasdoc.engineering.container.vessel import HEAD_RATIO
from gasdoc.engineering.supply.geometry import dot
from gasdoc.report.drawings.line.labels import LINE, Box, Label, Paper, place
from gasdoc.report.drawings.line.layout import Flat
from gasdoc.report.drawings.svg import PlacedDrawing, stroke, tenth
from gasdoc.study.container.clearances import Clearance
from gasdoc.study.container.holding import Shape
from gasdoc.study.container.mounting import SURFACES, Check, Mount, Tie, directions
from gasdoc.units import System

WIDTH = 360.0
_WIDE, _TALL = 150.0, 190.0
"""px: the most that container and mount take across and down; the rest is for words."""

_ROOM, _LESS = 72.0, 34.0
"""px: above and below them, for arrows and words; where there are no arrows."""

_ARROW, _HEAD = 20.0, 5.0
"""px: how far an arrow goes beyond the container, and the length of its head."""

_DOT = 3.2
"""px: the least radius of a bolt."""

_REACH = 120.0
"""px: the largest distance around the container."""

Vector = tuple[float, float, float]
Style = Literal[
    "shell", "foot", "wall", "bolt", "worst", "push", "most", "measure", "asked", "strap", "centre", "leader"
]


class MountPath(Struct, frozen=True):
    """A path, and what it is."""

    style: Style
    path: str


class MountLine(Struct, frozen=True):
    """A line of words with its place."""

    x: float
    y: float
    text: str
    strong: bool


class MountDrawing(PlacedDrawing, frozen=True):
    """A mount or distances, drawn: the description also names what found no room in it; `note` stands below it."""

    forms: tuple[MountPath, ...]
    lines: tuple[MountLine, ...]
    note: str


class _View(Struct, frozen=True):
    """From where it is seen, and what lies to the right and up on paper, in the axes of the build."""

    right: Vector
    up: Vector
    seen: str

    @property
    def towards(self) -> Vector:
        """From the paper to the reader."""
        (a, b, c), (d, e, f) = self.right, self.up
        return b * f - c * e, c * d - a * f, a * e - b * d

    def flat(self, point: Vector) -> Flat:
        """A point as it lies on paper, in m; y counts downwards."""
        return dot(point, self.right), -dot(point, self.up)


_FORE, _AFT, _LEFT, _RIGHT, _UP, _DOWN = DIRECTIONS.values()
_ZERO: Vector = (0.0, 0.0, 0.0)

_SQUARE = {
    "floor": _View(_FORE, _LEFT, "from above"),
    "overhead": _View(_FORE, _RIGHT, "from below"),
    "front-wall": _View(_RIGHT, _UP, "square to the wall"),
    "rear-wall": _View(_LEFT, _UP, "square to the wall"),
    "left-wall": _View(_FORE, _UP, "square to the wall"),
    "right-wall": _View(_AFT, _UP, "square to the wall"),
}
"""Views square to each surface, from the container's side of it."""

_FROM_THE_RIGHT, _FROM_BEHIND = _View(_FORE, _UP, "from the right side"), _View(_RIGHT, _UP, "from behind")


class _Body(Struct, frozen=True):
    """A container: its sizes, which way its axis lies, and where its middle is."""

    shape: Shape
    axis: Vector
    middle: Vector

    @property
    def length(self) -> float:
        """Length of what lies, overall, or of a standing cylinder's shell alone, m."""
        return min(self.shape.vessel.length, self.shape.length) if self.axis == _UP else self.shape.length

    def half(self, direction: Vector) -> float:
        """How far its shell reaches from the middle in a direction along an axis, m."""
        return (self.length if abs(dot(direction, self.axis)) > 0.5 else self.shape.diameter) / 2

    def corners(self) -> Iterator[Vector]:
        """The ends of it in every direction."""
        for direction in DIRECTIONS.values():
            yield _sum((self.middle, 1.0), (direction, self.half(direction)))


class _Sheet:
    """A drawing in the making: a view at a scale, its forms, and the words that want a place."""

    def __init__(self, view: _View, scale: float, points: Sequence[Vector], room: float = _ROOM) -> None:
        self.view, self.scale = view, scale
        flat = [view.flat(p) for p in points]
        left, right = min(x for x, _ in flat), max(x for x, _ in flat)
        top, bottom = min(y for _, y in flat), max(y for _, y in flat)
        self.shift = WIDTH / 2 - scale * (left + right) / 2, room - scale * top
        self.height = round(2 * room + scale * (bottom - top))
        dx, dy = self.shift
        self.inside: Box = (left * scale + dx, top * scale + dy, right * scale + dx, bottom * scale + dy)
        self.paper = Paper((2.0, 2.0, WIDTH - 2.0, self.height - 2.0))
        self.forms: list[MountPath] = []
        self.labels: list[Label] = []

    def at(self, point: Vector) -> Flat:
        """Where a point lies on paper, px."""
        x, y = self.view.flat(point)
        return x * self.scale + self.shift[0], y * self.scale + self.shift[1]

    def path(self, style: Style, points: Sequence[Flat], *, closed: bool = False) -> None:
        """A line through places on paper."""
        self.forms.append(MountPath(style, stroke(points, closed=closed)))
        ends = [*points, points[0]] if closed else points
        for one, other in pairwise(ends):
            self.paper.line(one, other)

    def box(self, style: Style, one: Flat, other: Flat) -> None:
        """A box between two of its corners."""
        (a, b), (c, d) = one, other
        self.path(style, ((a, b), (c, b), (c, d), (a, d)), closed=True)

    def circle(self, style: Style, middle: Flat, radius: float) -> None:
        """A circle, px."""
        x, y = middle
        r = tenth(radius)
        self.forms.append(
            MountPath(
                style,
                f"M{tenth(x - radius)},{tenth(y)}a{r},{r} 0 1 0 {tenth(2 * radius)},0a{r},{r} 0 1 0 {tenth(-2 * radius)},0Z",
            )
        )
        turns = [k * math.pi / 18 for k in range(37)]
        ring = [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]
        for one, other in pairwise(ring):
            self.paper.line(one, other)

    def name(self, spot: Flat, words: Sequence[str], radius: float, kind: str = "") -> None:
        """Words for a spot."""
        self.labels.append(Label(tuple(words), kind, spot, spot, radius))

    def shell(self, body: _Body) -> None:
        """The container's outline: a circle from its end, else its side with the heads that it is taken to have."""
        x, y = self.at(body.middle)
        radius = body.shape.diameter / 2 * self.scale
        if abs(dot(body.axis, self.view.towards)) > 0.5:
            self.circle("shell", (x, y), radius)
            return
        half, head = body.length / 2 * self.scale, body.shape.diameter * HEAD_RATIO * self.scale
        r, h = tenth(radius), tenth(head)
        straight = half - head
        if abs(dot(body.axis, self.view.right)) > 0.5:
            path = (
                f"M{tenth(x - straight)},{tenth(y - radius)}h{tenth(2 * straight)}a{h},{r} 0 0 1 0,{tenth(2 * radius)}"
                f"h{tenth(-2 * straight)}a{h},{r} 0 0 1 0,{tenth(-2 * radius)}Z"
            )
            corners = ((x - half, y - radius), (x + half, y + radius))
        else:
            path = (
                f"M{tenth(x + radius)},{tenth(y - straight)}v{tenth(2 * straight)}a{r},{h} 0 0 1 {tenth(-2 * radius)},0"
                f"v{tenth(-2 * straight)}a{r},{h} 0 0 1 {tenth(2 * radius)},0Z"
            )
            corners = ((x - radius, y - half), (x + radius, y + half))
        self.forms.append(MountPath("shell", path))
        (a, b), (c, d) = corners
        for one, other in (((a, b), (c, b)), ((c, b), (c, d)), ((c, d), (a, d)), ((a, d), (a, b))):
            self.paper.line(one, other)

    def foot_and_collar(self, body: _Body, floor: float) -> None:
        """Foot ring and collar of a standing cylinder: from the floor (m) to the shell, and what its height is more."""
        x, _ = self.at(body.middle)
        bottom, top = body.middle[2] - body.length / 2, body.middle[2] + body.length / 2
        for low, high, share in ((floor, bottom, 0.8), (top, floor + body.shape.length, 0.6)):
            if high > low:
                half = share * body.shape.diameter / 2 * self.scale
                self.box("foot", (x - half, self.at((0.0, 0.0, low))[1]), (x + half, self.at((0.0, 0.0, high))[1]))

    def surface(self, along: Vector, name: str) -> None:
        """The surface it is held to, seen from its edge, a little longer than what stands on it."""
        x, y = self.at(_ZERO)
        left, top, right, bottom = self.inside
        ends = (
            ((left - 12, y), (right + 12, y))
            if abs(dot(along, self.view.right)) > 0.5
            else ((x, top - 12), (x, bottom + 12))
        )
        self.path("wall", ends)
        self.name(ends[1], (name,), 3.0)

    def bolt(self, point: Vector, square: Vector, radius: float, *, worst: bool) -> None:
        """A bolt: its shank where it points to the reader, else a stroke through the surface."""
        x, y = self.at(point)
        if worst:
            self.circle("worst", (x, y), radius + 3.5)
        if abs(dot(square, self.view.towards)) > 0.5:
            self.circle("bolt", (x, y), radius)
            return
        (dx, dy), long = self.view.flat(square), 9.0
        self.path("bolt", ((x - long * dx, y - long * dy), (x + long * dx, y + long * dy)))

    def push(self, centre: Vector, body: _Body, direction: Vector, words: Sequence[str], *, most: bool) -> None:
        """An arrow from the centre of gravity, with words at its head; nothing where it points to the reader or away."""
        dx, dy = self.view.flat(direction)
        if math.hypot(dx, dy) < 0.5:
            return
        x, y = self.at(centre)
        beyond = body.half(direction) + dot(direction, body.middle) - dot(direction, centre)
        far = beyond * self.scale + _ARROW
        tip = x + dx * far, y + dy * far
        back = tip[0] - _HEAD * dx, tip[1] - _HEAD * dy
        style: Style = "most" if most else "push"
        self.path(style, ((x, y), tip))
        self.path(style, ((back[0] - 3 * dy, back[1] + 3 * dx), tip, (back[0] + 3 * dy, back[1] - 3 * dx)))
        self.name(tip, words, 2.0, "strong" if most else "")

    def centre(self, point: Vector) -> None:
        """The centre of gravity."""
        x, y = self.at(point)
        self.circle("centre", (x, y), 5.0)
        self.path("centre", ((x - 5, y), (x + 5, y)))
        self.path("centre", ((x, y - 5), (x, y + 5)))

    def measure(self, one: Flat, other: Flat, words: str) -> None:
        """A measure between two places on paper, level or upright."""
        level = abs(one[1] - other[1]) < abs(one[0] - other[0])
        tick = (0.0, 3.5) if level else (3.5, 0.0)
        self.path("measure", (one, other))
        for x, y in (one, other):
            self.path("measure", ((x - tick[0], y - tick[1]), (x + tick[0], y + tick[1])))
        self.labels.append(Label((words,), "", one, other))

    def drawing(self, name: str, title: str, said: str, note: str = "") -> MountDrawing:
        """All of it with the words in their places; what finds no room is told in words."""
        placed, lost = place(self.labels, self.paper)
        forms, lines = list(self.forms), []
        for one in placed:
            if one.leader is not None:
                forms.append(MountPath("leader", stroke(one.leader)))
            x = (one.box[0] + one.box[2]) / 2
            for k, text in enumerate(one.label.lines):
                lines.append(
                    MountLine(round(x, 1), round(one.box[1] + 10 + k * LINE, 1), text, one.label.kind == "strong")
                )
        if lost:
            rest = f"Not written in it for want of room: {'; '.join(' '.join(label.lines) for label in lost)}."
            said, note = f"{said} {rest}", f"{note} {rest}".strip()
        return MountDrawing(name, title, said, WIDTH, self.height, tuple(forms), tuple(lines), note)


def bolted(
    mount: Mount, shape: Shape, force: Callable[[float], str], shown: System
) -> tuple[MountDrawing, MountDrawing]:
    """A container on bolts, seen square to their surface and from its side, with the pushes of the rule that leaves the bolts
    least; `force` words a force in N."""
    given = mount.given
    u, v, n = AXES[SURFACES[given.surface]]
    places = [(float(a), float(b)) for a in given.along for b in given.across]
    middle = [sum(one[k] for one in places) / len(places) for k in (0, 1)]
    bolts = [_sum((u, a - middle[0]), (v, b - middle[1])) for a, b in places]
    wide = [max(one[k] for one in places) - min(one[k] for one in places) for k in (0, 1)]
    lies, level = shape.vessel.orientation == "horizontal", given.surface in ("floor", "overhead")
    axis = _UP if not lies else v if level and wide[1] > wide[0] else u
    spacer = float(given.spacer or 0.0)
    body = _Body(shape, axis, _sum((n, float(given.height or 0.0) + spacer)))
    centre = _sum((n, mount.centre))

    check = mount.worst or max(mount.checks, key=lambda one: one.worst.utilisation, default=None)
    worst = check.worst if check is not None else None
    most = _worst_bolts(worst)
    said = _of_bolts(mount, check)
    if lies and level:
        said += " The spec does not say which way the container lies: it is drawn along the longer side of the bolts."
    radius = math.sqrt(mount.bolt.area / math.pi)
    views = _SQUARE[given.surface], _FROM_BEHIND if given.surface in ("left-wall", "right-wall") else _FROM_THE_RIGHT
    points = (
        [*body.corners(), *bolts, centre, *_overall(body, spacer)]
        if given.surface == "floor"
        else [*body.corners(), *bolts]
    )
    scale = _scale(views, points)
    drawings = []
    for view, edge in zip(views, (False, True), strict=True):
        sheet = _Sheet(view, scale, points)
        if edge:
            sheet.surface(u if abs(dot(u, view.towards)) < 0.5 else v, given.surface.replace("-", " "))
            if lies or given.surface != "floor":
                for x, y in dict.fromkeys(sheet.at(one) for one in bolts):
                    dx, dy = view.flat(n)
                    far = scale * (spacer + float(given.height or 0.0) - shape.diameter / 4)
                    sheet.path("foot", ((x, y), (x + far * dx, y + far * dy)))
            else:
                sheet.foot_and_collar(body, spacer)
        sheet.shell(body)
        for i, point in enumerate(bolts):
            sheet.bolt(point, n, max(_DOT, radius * scale), worst=i in most)
        if worst is not None and most:
            which = "worst bolt" if len(most) == 1 else f"one of {len(most)} worst bolts"
            sheet.name(sheet.at(bolts[min(most)]), (which,), max(_DOT, radius * scale) + 3.5, "strong")
        for load in check.loads if check is not None else ():
            used = "no hold" if load.reason else f"{load.utilisation * 100:.0f} % of limit"
            words = load.direction, force(load.force), used
            sheet.push(centre, body, DIRECTIONS[load.direction], words, most=load is worst)
        sheet.centre(centre)
        _measures(sheet, (u, v), wide, shown) if not edge else _height(
            sheet, n, centre, units.show(mount.centre, "short length", shown)
        )
        title = f"The mount, seen {view.seen}"
        drawings.append(sheet.drawing(f"mount-{'side' if edge else 'plan'}", title, said, said if edge else ""))
    return drawings[0], drawings[1]


def tied(tie: Tie, shape: Shape, force: Callable[[float], str]) -> tuple[MountDrawing, MountDrawing]:
    """A container in straps, a chain, a tray or a rack, from above and from its side, with the largest push that is asked.

    Only the container is to scale: where straps, tray or rack are, no spec says. `force` words a force in N.
    """
    lies = shape.vessel.orientation == "horizontal"
    axis, middle = (_FORE, shape.diameter * 0.6) if lies else (_UP, shape.length / 2)
    body = _Body(shape, axis, (0.0, 0.0, middle))
    rule, multiple = max(tie.checks, key=lambda one: one[1], default=("", 0.0))
    pushed = directions(rule) if multiple else ()
    words = f"{multiple:g} x weight", force(multiple * GRAVITY * tie.mass)
    said = "The container is to scale. What holds it is drawn as is usual, not as measured."
    if pushed:
        said += f" The arrows are {multiple:g} times the filled weight, {words[1]}, at the container's middle."
    views = _SQUARE["floor"], _FROM_THE_RIGHT
    points = [*body.corners(), *_overall(body, 0.0), _ZERO]
    scale = _scale(views, points)
    drawings = []
    for view, edge in zip(views, (False, True), strict=True):
        sheet = _Sheet(view, scale, points)
        if edge:
            sheet.surface(_FORE, "floor")
            if not lies:
                sheet.foot_and_collar(body, 0.0)
        sheet.shell(body)
        _hold(sheet, tie, body, edge=edge)
        for k, direction in enumerate(d for d in pushed if abs(dot(DIRECTIONS[d], view.towards)) < 0.5):
            sheet.push(body.middle, body, DIRECTIONS[direction], (direction, *(() if k else words)), most=False)
        sheet.centre(body.middle)
        drawings.append(
            sheet.drawing(
                f"mount-{'side' if edge else 'plan'}",
                f"Held by {tie.name}, seen {view.seen}",
                said,
                said if edge else "",
            )
        )
    return drawings[0], drawings[1]


def _hold(sheet: _Sheet, tie: Tie, body: _Body, *, edge: bool) -> None:
    """What holds it: straps and chains to a wall ahead or over it to the floor, a tray with its rod, a rack with its bar."""
    x, y = sheet.at(body.middle)
    r, half = body.shape.diameter / 2 * sheet.scale, body.half(_FORE) * sheet.scale
    lies = body.axis != _UP
    floor, top = sheet.at(_ZERO)[1], sheet.inside[1]
    if tie.given.way in ("straps", "chain"):
        count = tie.given.number or 1
        shares = [(k + 0.5) / count for k in range(count)] if count > 1 or tie.given.way == "straps" else [2 / 3]
        wall = x + half + 8
        for share in shares:
            if lies:
                at = x + (share - 0.5) * 2 * half
                sheet.path("strap", ((at, floor), (at, y - r - 2)) if edge else ((at, y - r - 4), (at, y + r + 4)))
            elif edge:
                at = floor + share * (top - floor)
                sheet.path("strap", ((x - r - 2, at), (wall, at)))
        if not lies and not edge:
            turns = [math.pi / 2 + k * math.pi / 12 for k in range(13)]
            bow = [(x + (r + 2) * math.cos(t), y - (r + 2) * math.sin(t)) for t in turns]
            sheet.path("strap", ((wall, bow[0][1]), *bow, (wall, bow[-1][1])))
        if not lies:
            ends = ((wall, top - 8), (wall, floor)) if edge else ((wall, y - r - 14), (wall, y + r + 14))
            sheet.path("wall", ends)
            sheet.name((wall, (ends[0][1] * 3 + ends[1][1]) / 4), ("anchor",), 3.0)
        return
    a, b = x - half - 4, x + half + 4
    if not edge:
        sheet.box("strap", (a, y - r - 4), (b, y + r + 4))
        sheet.path("strap", ((a, y), (b, y)) if tie.given.way == "tray" else ((a, y + r + 1), (b, y + r + 1)))
    elif tie.given.way == "tray":
        sheet.path("strap", ((a, floor - 14), (a, floor - 1), (b, floor - 1), (b, floor - 14)))
        sheet.path("strap", ((a, floor), (a, top - 3), (b, top - 3), (b, floor)))
    else:
        bar = floor + (top - floor) * 2 / 3
        sheet.path("strap", ((a, top), (a, floor - 1), (b, floor - 1), (b, top)))
        sheet.path("strap", ((a, bar), (b, bar)))


_FROM = {"relief": "the relief valve's outlet", "fill": "the fill point", "vent": "the regulator's vent"}
_TO = {"opening": "opening", "ignition": "ignition", "intake": "air intake", "exhaust": "exhaust"}


def around(clearances: Sequence[Clearance], shown: System) -> Iterator[MountDrawing]:
    """The distances around the container, a drawing for each place they are taken from: what is asked as circles, what this build
    has on lines whose directions mean nothing."""
    for place_, words in _FROM.items():
        found = [c for c in clearances if c.measure.split("_")[0] == place_ and c.value is not None]
        if found:
            yield _around(place_, words, found, shown)


def _around(place_: str, words: str, found: Sequence[Clearance], shown: System) -> MountDrawing:
    largest = max(max(c.value or 0.0, c.limit or 0.0) for c in found) or 1.0
    names = [_TO[c.measure.split("_")[2]] for c in found]
    limits: dict[float, list[str]] = {}
    for name, c in zip(names, found, strict=True):
        if c.limit is not None:
            limits.setdefault(c.limit, []).append(name)

    def spot(turn: float, radius: float) -> Vector:
        return radius * math.sin(turn), radius * math.cos(turn), 0.0

    step = 2 * math.pi / len(found)
    ends = [spot(k * step, c.value or 0.0) for k, c in enumerate(found)]
    rims = [spot(k * math.pi / 2, limit) for limit in limits for k in range(4)]
    sheet = _Sheet(_SQUARE["floor"], _REACH / largest, [*ends, *rims, _ZERO], _LESS)
    for k, (limit, those) in enumerate(limits.items()):
        sheet.circle("asked", sheet.at(_ZERO), limit * sheet.scale)
        asked = f"asked {units.show(limit, 'distance', shown)}", f"to {', '.join(those)}"
        sheet.name(sheet.at(spot((k + 0.5) * step, limit)), asked, 4.0)
    said = [f"To scale, from {words}. The dashed circles are what is asked. The directions mean nothing."]
    for name, c, end in zip(names, found, ends, strict=True):
        under = c.answer == "under the limit"
        style: Style = "most" if under else "push"
        sheet.path(style, (sheet.at(_ZERO), sheet.at(end)))
        sheet.circle(style, sheet.at(end), 2.5)
        has = units.show(c.value or 0.0, "distance", shown)
        sheet.name(sheet.at(end), (f"{name} {has}",), 3.0, "strong" if under else "")
        limit_words = f", {units.show(c.limit, 'distance', shown)} asked" if c.limit is not None else ""
        said.append(f"To the nearest {name} {has}{limit_words}.")
    sheet.circle("centre", sheet.at(_ZERO), 4.0)
    return sheet.drawing(f"around-{place_}", f"Distances from {words}", " ".join(said), said[0])


def _measures(sheet: _Sheet, axes: tuple[Vector, Vector], wide: Sequence[float], shown: System) -> None:
    """How far the bolts stand apart both ways, in their upper row and their left column on paper."""
    corners = [_sum((axes[0], a * wide[0]), (axes[1], b * wide[1])) for a in (-0.5, 0.5) for b in (-0.5, 0.5)]
    places = sorted(map(sheet.at, corners))
    left, top = places[:2], sorted(places, key=lambda place: place[1])[:2]
    level = abs(dot(axes[0], sheet.view.right)) > 0.5
    for (one, other), length in zip((top, left) if level else (left, top), wide, strict=True):
        if length > 0:
            sheet.measure(one, other, units.show(length, "short length", shown))


def _height(sheet: _Sheet, square: Vector, centre: Vector, words: str) -> None:
    """How far the centre of gravity is from the surface, beside all."""
    left, _, _, bottom = sheet.inside
    one, other = sheet.at(_ZERO), sheet.at(centre)
    level = abs(dot(square, sheet.view.right)) > 0.5
    ends = [(x, bottom + 14) if level else (left - 18, y) for x, y in (one, other)]
    sheet.measure(ends[0], ends[1], words)


def _worst_bolts(load: Load | None) -> frozenset[int]:
    """Which bolts carry as much as the worst, by their places; none where they have no hold."""
    if load is None or load.reason is not None:
        return frozenset()
    pull, shear = load.tensions[load.worst], load.shears[load.worst]
    near = 1e-6 * (pull + shear)
    pairs = zip(load.tensions, load.shears, strict=True)
    return frozenset(i for i, (t, s) in enumerate(pairs) if abs(t - pull) <= near and abs(s - shear) <= near)


def _of_bolts(mount: Mount, check: Check | None) -> str:
    given = mount.given
    said = (
        f"To scale. {mount.count} bolts {mount.bolt.thread} stand along at {', '.join(v.text for v in given.along)} and "
        f"across at {', '.join(v.text for v in given.across)}. The container is over their middle."
    )
    if check is not None:
        worst = check.worst
        said += f" The arrows are {check.multiple:g} times the filled weight, at the centre of gravity."
        said += (
            f" Pushed {worst.direction}, the bolts have no hold."
            if worst.reason is not None
            else f" Pushed {worst.direction}, the bolts with a ring are nearest to their limit: {worst.utilisation * 100:.0f} %."
        )
    return said + " Feet, foot ring and collar are drawn as is usual."


def _overall(body: _Body, floor: float) -> tuple[Vector, ...]:
    """The lowest and the highest point of a standing cylinder with foot ring and collar; nothing of one that lies."""
    return () if body.axis != _UP else ((0.0, 0.0, floor), (0.0, 0.0, floor + body.shape.length))


def _scale(views: Sequence[_View], points: Sequence[Vector]) -> float:
    """px to a metre, so that every view has room."""
    scales = []
    for view in views:
        flat = [view.flat(p) for p in points]
        for k, most in enumerate((_WIDE, _TALL)):
            wide = max(f[k] for f in flat) - min(f[k] for f in flat)
            scales.append(most / max(wide, 1e-3))
    return min(scales)


def _sum(*terms: tuple[Sequence[float], float]) -> Vector:
    """A sum of vectors, each with its factor."""
    x, y, z = (sum(vector[k] * factor for vector, factor in terms) for k in range(3))
    return x, y, z
