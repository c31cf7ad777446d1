"""Charts: where lines and bars, scales and round ticks go. A template draws what is placed here (`charts.html`).

Places are in units of the drawing, which is WIDTH wide and scales with the page; they are rounded, so that the same
numbers always give the same text.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Literal

from msgspec import Struct, field

from gasdoc.report.drawings.svg import PlacedDrawing, stroke

WIDTH = 360.0
_HEIGHT = 260.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 42.0, 10.0, 30.0, 40.0
_LETTER = 6.1
"""Width taken for a letter of a label, which is 11 high."""

_KEY_ROW, _KEY_SAMPLE = 16.0, 26.0
_BAR_ROW, _BAR = 40.0, 16.0
_NUMBER = 14.0
"""Width that a number in a bar takes; a narrower piece is told by the table alone."""

_TIMES_TOP, _TIMES_ROW, _CLOSE = 34.0, 34.0, 4.0
LONGEST_LABEL = 56
"""Letters that fit across a drawing."""


Style = Literal["one", "two", "three", "limit"]


class Curve(Struct, frozen=True):
    """A line to draw: points in the axes' units, in order of x; a limit is drawn as what others are held against."""

    name: str
    points: tuple[tuple[float, float], ...]
    style: Style


class Axis(Struct, frozen=True):
    """An axis: its title with the unit; the ticks to use if round ones would not do, and how a tick reads."""

    title: str
    ticks: tuple[float, ...] = ()
    words: Callable[[float], str] = field(default=lambda value: plain(value))  # noqa: PLW0108  # defined further down


class Tick(Struct, frozen=True):
    """A tick: its place along its axis and its label."""

    at: float
    label: str


class DrawnLine(Struct, frozen=True):
    """A drawn line: its path, and where its entry in the key stands."""

    name: str
    style: Style
    path: str
    key_x: float
    key_y: float


class LineChart(PlacedDrawing, frozen=True):
    """A placed line chart."""

    left: float
    right: float
    top: float
    bottom: float
    x_title: str
    y_title: str
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    lines: tuple[DrawnLine, ...]


class BarPart(Struct, frozen=True):
    """A part of a bar to draw: its size in the bars' unit, its number (empty for none); a range is what may come on top."""

    size: float
    number: str = ""
    style: Literal["piece", "range"] = "piece"


class BarAmount(Struct, frozen=True):
    """A bar to draw: its label, what it comes to in words, its parts in order; `whole` is what they are cut from, if anything."""

    label: str
    words: str
    parts: tuple[BarPart, ...]
    whole: float | None = None


class BarPiece(Struct, frozen=True):
    """A drawn part of a bar: its place, its width, and its number where there is room for it."""

    x: float
    width: float
    number: str
    style: str


class Bar(Struct, frozen=True):
    """A drawn bar: its label, its words, its place, its pieces, the width of what they are cut from (0 if of nothing)."""

    label: str
    words: str
    y: float
    pieces: tuple[BarPiece, ...]
    whole: float


class BarChart(PlacedDrawing, frozen=True):
    """A placed chart of lying bars that begin at 0; `limit` is the place of a limit across them, with its words."""

    bar: float
    bars: tuple[Bar, ...]
    limit: float | None
    limit_words: str


class TimelineRow(Struct, frozen=True):
    """A drawn row of a timeline: its label, and the path of its marks."""

    label: str
    y: float
    path: str


class Timeline(PlacedDrawing, frozen=True):
    """Placed rows of marks along a common scale, whose ticks stand at the top."""

    ticks: tuple[Tick, ...]
    rows: tuple[TimelineRow, ...]


def round_ticks(low: float, high: float, most: int = 6) -> tuple[float, ...]:
    """Round numbers (1, 2 or 5 times a power of ten apart) from at or below `low` to at or above `high`.

    At most `most` intervals. Raises ValueError for limits that are not finite or not in order.
    """
    if not (math.isfinite(low) and math.isfinite(high) and low <= high):
        raise ValueError(f"no scale runs from {low} to {high}")
    if low == high:
        low, high = low - (abs(low) or 1.0) / 2, high + (abs(high) or 1.0) / 2
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    for step in (power * factor for factor in (1, 2, 5, 10, 20, 50)):
        first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
        if last - first <= most:
            break
    return tuple(float(f"{i * step:.12g}") for i in range(first, last + 1))


def plain(value: float) -> str:
    """A tick's number without trailing zeros."""
    return f"{value:,.6g}" if value else "0"


def line_chart(
    chart_id: str, title: str, description: str, x: Axis, y: Axis, series: Sequence[Curve], from_zero: bool = True
) -> LineChart:
    """The lines placed. Both scales hold every point; `from_zero` makes the upright one begin at 0 (or below).

    Raises ValueError where there is no point to draw.
    """
    points = [point for one in series for point in one.points]
    if not points:
        raise ValueError("a chart needs points")
    x_ticks = x.ticks or round_ticks(min(p[0] for p in points), max(p[0] for p in points))
    lowest = min(p[1] for p in points)
    y_ticks = y.ticks or round_ticks(min(lowest, 0.0) if from_zero else lowest, max(p[1] for p in points))
    places, rows = _key(series)
    top = _TOP + rows * _KEY_ROW
    bottom, right = top + _HEIGHT - _TOP - _BOTTOM, WIDTH - _RIGHT

    def across(value: float) -> float:
        return _LEFT + (value - x_ticks[0]) / (x_ticks[-1] - x_ticks[0]) * (right - _LEFT)

    def up(value: float) -> float:
        return bottom - (value - y_ticks[0]) / (y_ticks[-1] - y_ticks[0]) * (bottom - top)

    lines = tuple(
        DrawnLine(one.name, one.style, stroke((across(a), up(b)) for a, b in one.points), *place)
        for one, place in zip(series, places, strict=True)
    )
    return LineChart(
        chart_id,
        title,
        description,
        WIDTH,
        bottom + _BOTTOM,
        _LEFT,
        right,
        top,
        bottom,
        x.title,
        y.title,
        tuple(Tick(_round(across(t)), x.words(t)) for t in x_ticks),
        tuple(Tick(_round(up(t)), y.words(t)) for t in y_ticks),
        lines,
    )


def bar_chart(
    chart_id: str,
    title: str,
    description: str,
    amounts: Sequence[BarAmount],
    limit: float | None = None,
    limit_words: str = "",
) -> BarChart:
    """The bars placed, the largest (or the limit) across the whole width.

    Raises ValueError for no bars or a size that is negative or not finite.
    """
    if not amounts or any(part.size < 0 or not math.isfinite(part.size) for one in amounts for part in one.parts):
        raise ValueError("bars need sizes of at least 0")
    most = max([_reach(one) for one in amounts] + ([limit] if limit is not None else [])) or 1.0
    bars = tuple(
        Bar(
            one.label,
            one.words,
            _round(18 + i * _BAR_ROW),
            tuple(_pieces(one.parts, WIDTH / most)),
            _round((one.whole or 0.0) / most * WIDTH),
        )
        for i, one in enumerate(amounts)
    )
    height = len(amounts) * _BAR_ROW + (20.0 if limit is not None else 0.0)
    return BarChart(
        chart_id,
        title,
        description,
        WIDTH,
        height,
        _BAR,
        bars,
        None if limit is None else _round(limit / most * WIDTH),
        limit_words,
    )


def _reach(one: BarAmount) -> float:
    """How far a bar goes."""
    return max(sum(part.size for part in one.parts), one.whole or 0.0)


def _pieces(parts: Sequence[BarPart], scale: float) -> Iterator[BarPiece]:
    at = 0.0
    for part in parts:
        width = part.size * scale
        yield BarPiece(_round(at), _round(width), part.number if width >= _NUMBER else "", part.style)
        at += width


def timeline(
    chart_id: str,
    title: str,
    description: str,
    rows: Sequence[tuple[str, Sequence[float]]],
    ticks: Sequence[tuple[float, str]],
) -> Timeline:
    """The rows placed, each a label and its marks between 0 and 1; marks that would run together become a line.

    Raises ValueError for a mark outside the scale.
    """
    if any(not 0 <= mark <= 1 for _, marks in rows for mark in marks):
        raise ValueError("marks stand between 0 and 1")
    placed = []
    for i, (label, marks) in enumerate(rows):
        y = _TIMES_TOP + i * _TIMES_ROW
        places = sorted(_round(mark * WIDTH) for mark in marks)
        if len(places) > 2 and (places[-1] - places[0]) / (len(places) - 1) < _CLOSE:
            path = f"M{places[0]:g},{_round(y + 14):g}H{places[-1]:g}"
        else:
            path = "".join(f"M{place:g},{_round(y + 9):g}v10" for place in places)
        placed.append(TimelineRow(label, _round(y), path))
    height = _TIMES_TOP + len(rows) * _TIMES_ROW
    return Timeline(
        chart_id,
        title,
        description,
        WIDTH,
        height,
        tuple(Tick(_round(at * WIDTH), label) for at, label in ticks),
        tuple(placed),
    )


def _key(series: Sequence[Curve]) -> tuple[list[tuple[float, float]], int]:
    """Where each entry of the key stands, and how many rows that takes."""
    places: list[tuple[float, float]] = []
    at, row = 0.0, 0
    for one in series:
        wide = _KEY_SAMPLE + len(one.name) * _LETTER + 12
        if at > 0 and at + wide > WIDTH:
            at, row = 0.0, row + 1
        places.append((_round(at), _round(row * _KEY_ROW + 10)))
        at += wide
    return places, row + 1


def _round(value: float) -> float:
    return round(value, 1) + 0.0
