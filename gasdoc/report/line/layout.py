"""Where the line goes on paper: an order-keeping warp of each axis, the view with the fewest legs on one another, and what lies
behind what.

The warp is of axes, not of legs: a place that is further aft is always drawn further aft, and what is in one line stays so.
Everything here is in px; points in space are metres aft, right and up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from msgspec import Struct

from gasdoc.engineering.supply.geometry import shared

Flat = tuple[float, float]
Space = tuple[float, float, float]

PER_FOOT, FOOT, POWER = 16.0, 0.3048, 0.7
"""A gap between two places of an axis takes 16 px times (gap in ft) to the power 0.7 (our choice: 20 ft then still looks
longer than 4 ft, and both fit on one sheet)."""

LEAST, SYMBOL, SLANT = 44.0, 19.0, 24.0
"""px: every leg is at least 44 long, and 19 more for each symbol on it; a slanted one takes 24 of each of its axes."""

COS, SIN = math.cos(math.radians(30)), math.sin(math.radians(30))

VIEWS: tuple[tuple[Flat, Flat], ...] = (
    ((COS, SIN), (COS, -SIN)),
    ((COS, -SIN), (-COS, -SIN)),
    ((-COS, -SIN), (-COS, SIN)),
    ((-COS, SIN), (COS, SIN)),
)
"""The four isometric views from above: where aft and right point on paper; each is turned by 90 degrees against the last."""

TOUCH, OVER = 4.0, 5.0
"""px: legs nearer than 4 lie on one another where they share more than 5."""

TRIES, WIDEN = 40, (16.0, 34.0)
CUT = 5.0
"""px: a leg behind another is cut so far on either side of it."""


class Piece(Struct, frozen=True):
    """One leg as it is laid out: its two ends in space, and how many symbols stand on it."""

    tail: Space
    head: Space
    symbols: int


class Laid(Struct, frozen=True):
    """The line on paper: two ends for each piece; `depth` of both, larger is nearer; `view` of `VIEWS`; the pairs of pieces
    that lie on one another and do not in space."""

    ends: tuple[tuple[Flat, Flat], ...]
    depth: tuple[Flat, ...]
    view: int
    clashes: tuple[tuple[int, int], ...]


class Axis:
    """One axis with its places in order, and the px between them; `widen` makes one gap larger."""

    def __init__(self, pieces: Sequence[Piece], axis: int) -> None:
        self.places = sorted({end[axis] for piece in pieces for end in (piece.tail, piece.head)})
        self.rank = {place: i for i, place in enumerate(self.places)}
        self.gaps = [PER_FOOT * ((b - a) / FOOT) ** POWER for a, b in zip(self.places, self.places[1:], strict=False)]
        self.least: dict[int, list[tuple[int, float]]] = {}
        for piece in pieces:
            low, high = sorted((self.rank[piece.tail[axis]], self.rank[piece.head[axis]]))
            if low < high:
                along = sum(abs(a - b) > 1e-6 for a, b in zip(piece.tail, piece.head, strict=True)) == 1
                self.least.setdefault(high, []).append((low, (LEAST if along else SLANT) + SYMBOL * piece.symbols))

    def px(self) -> list[float]:
        """Where each place is on its axis."""
        found = [0.0]
        for i, gap in enumerate(self.gaps, 1):
            found.append(max(found[-1] + gap, *(found[low] + least for low, least in self.least.get(i, [(0, 0.0)]))))
        return found

    def of(self, px: Sequence[float], place: float) -> float:
        """Where one place is."""
        return px[self.rank[place]]


def isometric(pieces: Sequence[Piece]) -> Laid:
    """The pieces in the view with the fewest of them on one another, and gaps widened where that parts them."""
    axes = [Axis(pieces, axis) for axis in range(3)]
    true = together(pieces)
    laid = [_view(pieces, axes, view, true) for view in range(len(VIEWS))]
    best = min(laid, key=lambda one: (len(one.clashes), _crowded(one) + _unhandy(one), one.view))
    tries = 0
    while best.clashes and tries < TRIES:
        better = None
        for one, other in best.clashes:
            for axis, i in _between(pieces[one], pieces[other], axes):
                for more in WIDEN:
                    tries += 1
                    axes[axis].gaps[i] += more
                    found = _view(pieces, axes, best.view, true)
                    if len(found.clashes) < len(best.clashes):
                        better = found
                        break
                    axes[axis].gaps[i] -= more
                if better is not None or tries >= TRIES:
                    break
            if better is not None or tries >= TRIES:
                break
        if better is None:
            break
        best = better
    return best


def _between(one: Piece, other: Piece, axes: Sequence[Axis]) -> list[tuple[int, int]]:
    """The gaps, by axis and number, that lie between two pieces."""
    found = []
    for axis in range(3):
        rank = axes[axis].rank
        mine = sorted((rank[one.tail[axis]], rank[one.head[axis]]))
        theirs = sorted((rank[other.tail[axis]], rank[other.head[axis]]))
        if mine[1] < theirs[0]:
            found.append((axis, theirs[0] - 1))
        elif theirs[1] < mine[0]:
            found.append((axis, mine[0] - 1))
    return found


def _view(pieces: Sequence[Piece], axes: Sequence[Axis], view: int, true: frozenset[tuple[int, int]]) -> Laid:
    (ax, ay), (rx, ry) = VIEWS[view]
    px = [axis.px() for axis in axes]

    def laid(point: Space) -> tuple[Flat, float]:
        aft, right, up = (axes[i].of(px[i], point[i]) for i in range(3))
        # What is lower on paper at the same height is nearer, and so is what is higher.
        return (aft * ax + right * rx, aft * ay + right * ry - up), aft * ay + right * ry + up

    both = [(laid(piece.tail), laid(piece.head)) for piece in pieces]
    ends = tuple((tail[0], head[0]) for tail, head in both)
    depth = tuple((tail[1], head[1]) for tail, head in both)
    return Laid(ends, depth, view, tuple(pair for pair in on_one_another(ends) if pair not in true))


def on_one_another(ends: Sequence[tuple[Flat, Flat]], touch: float = TOUCH) -> list[tuple[int, int]]:
    """The pairs of pieces that lie on one another on paper: of one direction, in one line, sharing some of it."""
    classes: dict[tuple[float, float], list[tuple[float, float, float, int]]] = {}
    for i, ((ax, ay), (bx, by)) in enumerate(ends):
        size = math.hypot(bx - ax, by - ay)
        if size < 1e-9:
            continue
        ux, uy = (bx - ax) / size, (by - ay) / size
        if ux < -1e-6 or (abs(ux) <= 1e-6 and uy < 0):
            ux, uy = -ux, -uy
        one, other = ax * ux + ay * uy, bx * ux + by * uy
        classes.setdefault((round(ux, 2), round(uy, 2)), []).append(
            (ay * ux - ax * uy, min(one, other), max(one, other), i)
        )
    found = []
    for lines in classes.values():
        lines.sort()
        for k, (offset, low, high, i) in enumerate(lines):
            for other, least, most, j in lines[k + 1 :]:
                if other - offset >= touch:
                    break
                if min(high, most) - max(low, least) > OVER:
                    found.append((min(i, j), max(i, j)))
    return sorted(found)


def together(pieces: Sequence[Piece]) -> frozenset[tuple[int, int]]:
    """The pairs of pieces that lie on one another in space: what no view can part."""
    return frozenset(
        (i, j)
        for (i, one), (j, other) in combinations(enumerate(pieces), 2)
        if shared(one.tail, one.head, other.tail, other.head) > 1e-3
    )


def _crowded(laid: Laid) -> int:
    """How many corners lie within 7 px of a strange leg."""
    count = 0
    corners = {end for both in laid.ends for end in both}
    for x, y in corners:
        for (ax, ay), (bx, by) in laid.ends:
            if not (min(ax, bx) - 7 < x < max(ax, bx) + 7 and min(ay, by) - 7 < y < max(ay, by) + 7):
                continue
            if (x, y) in ((ax, ay), (bx, by)):
                continue
            dx, dy = bx - ax, by - ay
            count += abs(dx * (y - ay) - dy * (x - ax)) < 7 * math.hypot(dx, dy)
    return count


def _unhandy(laid: Laid) -> float:
    """What it costs that a view is wide, for a sheet of paper, and begins far from the left edge, where a phone opens it."""
    across = [x for both in laid.ends for x, _ in both]
    wide = max(across) - min(across)
    return max(0.0, wide - 520) / 40 + (6 if laid.ends[0][0][0] - min(across) > 300 else 0)


def crossings(laid: Laid) -> list[tuple[int, float]]:
    """Where a piece passes behind another: its number, and the share of its way."""
    found = []
    for i, j in combinations(range(len(laid.ends)), 2):
        (ax, ay), (bx, by) = laid.ends[i]
        (cx, cy), (dx, dy) = laid.ends[j]
        if max(ax, bx) < min(cx, dx) or max(cx, dx) < min(ax, bx):
            continue
        if max(ay, by) < min(cy, dy) or max(cy, dy) < min(ay, by):
            continue
        cross = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
        if abs(cross) < 1e-6:
            continue
        t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / cross
        u = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / cross
        inside_one = 3 / math.hypot(bx - ax, by - ay)
        inside_other = 3 / math.hypot(dx - cx, dy - cy)
        if not (inside_one < t < 1 - inside_one and inside_other < u < 1 - inside_other):
            continue
        mine = laid.depth[i][0] + t * (laid.depth[i][1] - laid.depth[i][0])
        theirs = laid.depth[j][0] + u * (laid.depth[j][1] - laid.depth[j][0])
        found.append((i, t) if mine < theirs else (j, u))
    return found


def seen_from(view: int, *, compass: bool) -> str:
    """Where one stands in a view, in words."""
    (_, aft), (_, right) = VIEWS[view]
    back, side = ("south", "north") if compass else ("aft", "fore"), ("east", "west") if compass else ("right", "left")
    return f"{back[0] if aft > 0 else back[1]} {side[0] if right > 0 else side[1]}"
