"""Where words go in a drawing, so that none lies on another or on a line: a bitmap of small cells, and places in order of cost.

A row of cells is one whole number, so that asking whether a box is free is one operation a row.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct

from gasdoc.report.drawings.line.layout import Flat

CELL = 3.0
"""px: side of a cell."""

SIZE, LINE = 11.0, 13.0
"""px: height of letters, and of a line of them."""

TRIES = 4
"""So many orders of the labels are tried."""

_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78, 0.14, 0.86, 0.08)
_ANGLES = (0, 180, 90, 270, 45, 135, 315, 225, 22, 158, 338, 202, 67, 113, 293, 247)
_AROUND = tuple((math.cos(math.radians(a)), math.sin(math.radians(a))) for a in _ANGLES)
_FAR = (26.0, 42.0, 60.0, 84.0, 112.0, 146.0)
_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[] -"), frozenset("mwMW@%\u2014")

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

Rows = tuple[int, int, int]
"""The first row of cells, the one behind the last, and the cells of each."""


class Label(Struct, frozen=True):
    """Words for a leg between two points, or for a spot where both are the same; `radius` is what the spot takes. `kind` is
    how it is written; `short` is what stands for it where there is no room."""

    lines: tuple[str, ...]
    kind: str
    one: Flat
    other: Flat
    radius: float = 0.0
    short: str = ""

    @property
    def size(self) -> Flat:
        """Width and height, px."""
        heavy = 1.08 if self.kind == "strong" else 1.0
        return heavy * max(map(wide, self.lines)) + 2, LINE * len(self.lines)


class PlacedLabel(Struct, frozen=True):
    """A label with its place, and the end of the line that leads to it from what it names."""

    label: Label
    box: Box
    leader: tuple[Flat, Flat] | None


def wide(text: str) -> float:
    """The most that a line of words takes in common sans-serif fonts, px."""
    return SIZE * sum(map(_letter, text))


@lru_cache(maxsize=512)
def _letter(letter: str) -> float:
    if letter in _NARROW:
        return 0.45
    if letter in _WIDE or unicodedata.east_asian_width(letter) in "WF":
        return 1.0
    return 0.8 if letter.isupper() or ord(letter) > 0x24F else 0.64


class Paper:
    """The bitmap: what lines and symbols take, and what labels and the lines that lead to them take."""

    def __init__(self, box: Box) -> None:
        self.left, self.top = box[0], box[1]
        self.columns = int((box[2] - box[0]) / CELL) + 1
        count = int((box[3] - box[1]) / CELL) + 1
        self.lines = [0] * count
        self.clear()

    def clear(self) -> None:
        """Take all labels off."""
        self.words = [0] * len(self.lines)
        self.taken = list(self.lines)

    def line(self, one: Flat, other: Flat) -> None:
        """A line takes the cells it touches."""
        for x, y in self._cells(one, other):
            self.lines[y] |= 1 << x

    def block(self, box: Box) -> None:
        """A symbol takes a box."""
        if (rows := self.rows(box)) is not None:
            top, bottom, mask = rows
            for y in range(top, bottom):
                self.lines[y] |= mask

    def rows(self, box: Box) -> Rows | None:
        """The cells of a box; None where it leaves the paper."""
        left, top = int((box[0] - self.left) / CELL), int((box[1] - self.top) / CELL)
        right, bottom = int((box[2] - self.left) / CELL) + 1, int((box[3] - self.top) / CELL) + 1
        if box[0] < self.left or box[1] < self.top or right > self.columns or bottom > len(self.lines):
            return None
        return top, bottom, ((1 << (right - left)) - 1) << left

    def free(self, rows: Rows) -> bool:
        """Whether nothing lies in some cells."""
        top, bottom, mask = rows
        for row in self.taken[top:bottom]:  # noqa: SIM110  # all() takes twice as long here
            if row & mask:
                return False
        return True

    def clean(self, one: Flat, other: Flat) -> bool:
        """Whether a line would cross no label."""
        words = self.words
        return not any(words[y] >> x & 1 for x, y in self._cells(one, other))

    def take(self, rows: Rows, leader: tuple[Flat, Flat] | None) -> None:
        """A label and the line that leads to it."""
        top, bottom, mask = rows
        for y in range(top, bottom):
            self.words[y] |= mask
            self.taken[y] |= mask
        for x, y in self._cells(*leader) if leader is not None else ():
            self.words[y] |= 1 << x
            self.taken[y] |= 1 << x

    def _cells(self, one: Flat, other: Flat) -> list[tuple[int, int]]:
        dx, dy = other[0] - one[0], other[1] - one[1]
        steps = int(max(abs(dx), abs(dy)) / 2) + 1
        x, y = (one[0] - self.left) / CELL, (one[1] - self.top) / CELL
        dx, dy = dx / CELL / steps, dy / CELL / steps
        return [(int(x + i * dx), int(y + i * dy)) for i in range(steps + 1)]


def place(labels: Sequence[Label], paper: Paper) -> tuple[list[PlacedLabel], list[Label]]:
    """The labels with room, and those without. The ones with the fewest places near go first, and what found no room goes
    first in the next try."""
    paper.clear()
    near = [[(box, rows) for box in _near(label) if (rows := paper.rows(box)) and paper.free(rows)] for label in labels]
    order = sorted(range(len(labels)), key=lambda i: len(near[i]))
    best: tuple[list[PlacedLabel], list[int]] = ([], order)
    for _ in range(TRIES):
        paper.clear()
        placed: list[PlacedLabel] = []
        lost: list[int] = []
        for i in order:
            found = _room(labels[i], near[i], paper)
            if found is None:
                lost.append(i)
                if len(lost) >= len(best[1]):
                    break
            else:
                placed.append(found)
        else:
            best = placed, lost
        if not lost:
            break
        order = [*lost, *(i for i in order if i not in lost)]
    return best[0], [labels[i] for i in best[1]]


def _room(label: Label, near: Sequence[tuple[Box, Rows]], paper: Paper) -> PlacedLabel | None:
    for box, rows in near:
        if paper.free(rows):
            paper.take(rows, None)
            return PlacedLabel(label, box, None)
    for box, (x, y), (ux, uy) in _far(label):
        rows_there = paper.rows(box)
        if rows_there is not None and paper.free(rows_there):
            leader = (
                (x + ux * label.radius, y + uy * label.radius),
                (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3])),
            )
            if paper.clean(*leader):
                paper.take(rows_there, leader)
                return PlacedLabel(label, box, leader)
    return None


def _near(label: Label) -> Iterator[Box]:
    """Along a leg on both sides of it, or round a spot."""
    width, height = label.size
    (ax, ay), (bx, by) = label.one, label.other
    length = math.hypot(bx - ax, by - ay)
    if length < 1:
        for ux, uy in _AROUND:
            reach = label.radius + 3
            yield _box(ax + ux * (reach + width / 2), ay + uy * (reach + height / 2), width, height)
        return
    nx, ny = (by - ay) / length, (ax - bx) / length
    if ny > 0.1 or (abs(ny) <= 0.1 and nx < 0):
        nx, ny = -nx, -ny  # above a line first, and to the right of an upright one
    reach = 4 + abs(nx) * width / 2 + abs(ny) * height / 2
    for share in _SHARES:
        x, y = ax + share * (bx - ax), ay + share * (by - ay)
        yield _box(x + nx * reach, y + ny * reach, width, height)
        yield _box(x - nx * reach, y - ny * reach, width, height)


def _far(label: Label) -> Iterator[tuple[Box, Flat, Flat]]:
    """Farther away: the box, from where a line leads there, and which way."""
    width, height = label.size[0] / 2, label.size[1] / 2
    (ax, ay), (bx, by) = label.one, label.other
    shares = (0.5,) if math.dist(label.one, label.other) < 1 else (0.5, 0.25, 0.75)
    starts = [(ax + share * (bx - ax), ay + share * (by - ay)) for share in shares]
    for far in _FAR:
        for x, y in starts:
            for ux, uy in _AROUND:
                mx, my = x + ux * (far + width), y + uy * (far + height)
                yield (mx - width, my - height, mx + width, my + height), (x, y), (ux, uy)


def _box(x: float, y: float, width: float, height: float) -> Box:
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2
