"""The signs of a drawing as SVG, each for a line that comes from the left; and what the legend says of them.

The shapes are our own: no picture of a standard was seen. Two rules of published texts are kept. The triangle of a regulator
points towards the higher pressure (GOST 2.785-96, item 7, a public translation). A pipe that passes behind another is broken
there, and lengths go from centre to centre (EN ISO 6412 as a drawing textbook, ISBN 978-3-7100-5825-7, tells it).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from gasdoc.report.drawings.line.layout import Flat
from gasdoc.report.drawings.svg import tenth

SIGNS = {
    "container": '<rect class="pen" x="-9" y="-14" width="18" height="28" rx="7"/>',
    "regulator": '<path class="pen" d="M-8 0L7 -6V6ZM0 -3V-11M-4 -11H4"/>',
    "valve": '<path class="pen" d="M-7 -5V5L7 -5V5Z"/>',
    "tap": '<path class="pen" d="M0 0V-10M-4 -10H4"/>',
    "junction": '<circle class="dot" r="3.4"/>',
    "appliance": '<rect class="pen" x="-8" y="-8" width="16" height="16"/><circle class="dot" r="2.2"/>',
    "passage": '<path class="wall" d="M-2.5 -9V9M2.5 -9V9"/>',
    "arrow": '<path class="dot" d="M-5 -4L5 0L-5 4Z"/>',
    "loop": '<circle class="pen" cy="-7" r="7"/>',
    "away": '<circle class="pen" r="5"/>',
    "apart": '<circle class="turns" r="10"/>',
}
"""Each sign round its own middle."""

WORDS = {
    "container": "container",
    "regulator": "regulator, its point towards the higher pressure",
    "valve": "shut-off valve",
    "tap": "test point, plugged",
    "junction": "tee or manifold",
    "connector": "connector or hose",
    "passage": "passage through a wall or a floor",
    "appliance": "appliance",
    "arrow": "direction of flow",
    "loop": "loop, with its own length",
    "sweep": "sweep, with its own length",
    "slant": "slanted leg, and its way along the directions",
    "away": "leg towards the reader or away",
    "apart": "what meets here on paper is not joined",
    "open": "route not measured",
    "room": "room",
    "opening": "opening, intake, flue or source of ignition",
    "alarm": "alarm",
}

GAP = {"regulator": 8.0, "valve": 7.0, "passage": 0.0, "loop": 0.0}
"""px: how far the line is cut on either side of a sign that stands on it."""

RADIUS = {"container": 15.0, "regulator": 11.0, "valve": 8.0, "tap": 10.0, "junction": 4.0, "appliance": 11.0}

SOURCES = (
    "Signs are our own. No standard is claimed for their shapes. Lines follow rules told of EN ISO 6412 by a textbook: lengths "
    "from centre to centre, and a pipe that passes behind another is broken there. The regulator's triangle follows GOST "
    "2.785-96, read in a public translation."
)


def sign(kind: str, at: Flat, angle: float = 0.0) -> str:
    """A sign at a place, turned by some degrees."""
    turn = f" rotate({tenth(angle)})" if abs(angle) > 0.05 else ""
    return f'<g transform="translate({tenth(at[0])} {tenth(at[1])}){turn}">{SIGNS[kind]}</g>'


def waves(one: Flat, other: Flat) -> str:
    """The path of a connector between two places: a wave of some height."""
    dx, dy = other[0] - one[0], other[1] - one[1]
    length = math.hypot(dx, dy)
    if length < 1:
        return f"M{tenth(one[0])} {tenth(one[1])}h0"
    count = max(2, 2 * round(length / 16))
    nx, ny = -dy / length * 7, dx / length * 7
    steps = [f"M{tenth(one[0])} {tenth(one[1])}"]
    for i in range(count):
        side = 1 if i % 2 == 0 else -1
        mid, end = (i + 0.5) / count, (i + 1) / count
        steps.append(
            f"Q{tenth(one[0] + mid * dx + side * nx)} {tenth(one[1] + mid * dy + side * ny)} "
            f"{tenth(one[0] + end * dx)} {tenth(one[1] + end * dy)}"
        )
    return "".join(steps)


BOW = 7.0
"""px: how far a sweep is drawn from straight."""


def bow(one: Flat, other: Flat) -> str:
    """The path of a sweep: a wide curve between two places."""
    x, y = _beside(one, other, 2 * BOW)
    return f"M{tenth(one[0])} {tenth(one[1])}Q{tenth(x)} {tenth(y)} {tenth(other[0])} {tenth(other[1])}"


def top(one: Flat, other: Flat) -> Flat:
    """The middle of a sweep."""
    return _beside(one, other, BOW)


def _beside(one: Flat, other: Flat, away: float) -> Flat:
    """A place so far beside the middle between two."""
    dx, dy = other[0] - one[0], other[1] - one[1]
    length = max(math.hypot(dx, dy), 1.0)
    return (one[0] + other[0]) / 2 - dy / length * away, (one[1] + other[1]) / 2 + dx / length * away


def broken(one: Flat, other: Flat, gaps: Sequence[tuple[float, float]]) -> str:
    """A straight line, left out where it passes behind another or where a sign stands on it."""
    length = math.dist(one, other)
    if length < 0.5:
        return f"M{tenth(one[0])} {tenth(one[1])}h0"
    ux, uy = (other[0] - one[0]) / length, (other[1] - one[1]) / length
    at, path = 0.0, []
    for middle, half in [*sorted(gaps), (length + 1, 1.0)]:
        if middle - half > at + 0.5:
            end = min(middle - half, length)
            path.append(
                f"M{tenth(one[0] + ux * at)} {tenth(one[1] + uy * at)}L{tenth(one[0] + ux * end)} {tenth(one[1] + uy * end)}"
            )
        at = max(at, middle + half)
    return "".join(path)


def thing_sign(kind: str, at: Flat) -> str:
    """What stands beside the line: an alarm, or an opening."""
    if kind == "alarm":
        return f'<circle class="pen" cx="{tenth(at[0])}" cy="{tenth(at[1])}" r="5"/>'
    return f'<path class="pen" d="M{tenth(at[0])} {tenth(at[1] - 5)}l5 5l-5 5l-5 -5Z"/>'
