"""Figures and paths of drawings as SVG has them, to a tenth, which is finer than a screen shows."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct


class PlacedDrawing(Struct, frozen=True):
    """What every drawing has that a template draws: `id` makes the ids in the page unique, `description` says what it shows,
    `width` and `height` are in px."""

    id: str
    title: str
    description: str
    width: float
    height: float


def tenth(value: float) -> str:
    """A figure to a tenth, without a zero that says nothing."""
    return f"{round(value, 1) + 0.0:g}"


def stroke(places: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """The path of straight lines through some places."""
    return "M" + "L".join(f"{tenth(x)},{tenth(y)}" for x, y in places) + ("Z" if closed else "")
