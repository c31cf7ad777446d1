"""Where the line goes on paper: an order-keeping warp of each axis, the view with the fewest legs on one another, and what lies
behind what.

The warp is of axes, not of legs: a place that is further aft is always drawn further aft, and what is in one line stays so.
Everything here is in px; points in space are metres aft, right and up.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import combinations

from msgspec import Struct

from gasdoc.engineering.supply.geometry import nearest, shared

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

NEAR = 7.0
"""px: an end that is nearer to a strange leg looks as if it were joined to it."""

TRIES, WIDEN = 40, (16.0, 34.0)
CUT = 5.0
"""px: a leg behind another is cut so far on either side of it."""


class LegPiece(Struct, frozen=True):
    """One leg as it is laid out: its two ends in space, and how many symbols stand on it."""

    tail: Space
    head: Space
    symbols: int


class Laid(Struct, frozen=True):
    """The line on paper, seen from a `view` of `VIEWS`.

    `ends` are the two ends of each piece, and `depth` that of both: larger is nearer. `clashes` are the pairs of pieces that
    lie on one another here and do not in space. `false_ends` are the pairs of which one ends beside the other and is not
    joined to it. `corners` is the way of each slanted piece along the axes, from tail to head."""

    ends: tuple[tuple[Flat, Flat], ...]
    depth: tuple[Flat, ...]
    view: int
    clashes: tuple[tuple[int, int], ...]
    false_ends: tuple[tuple[int, int], ...] = ()
    corners: tuple[tuple[Flat, ...], ...] = ()

    @property
    def doubtful(self) -> Flat:
        """How many pairs can be taken for what they are not: first those on one another."""
        return len(self.clashes), len(self.false_ends)


class WarpedAxis:
    """One axis with its places in order, and the px between them; `wider` is what a gap has more."""

    def __init__(self, pieces: Sequence[LegPiece], axis: int) -> None:
        self.places = sorted({end[axis] for piece in pieces for end in (piece.tail, piece.head)})
        self.rank = {place: i for i, place in enumerate(self.places)}
        self.gaps = [PER_FOOT * ((b - a) / FOOT) ** POWER for a, b in zip(self.places, self.places[1:], strict=False)]
        self.wider = [0.0] * len(self.gaps)
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
            needed = (found[low] + least for low, least in self.least.get(i, [(0, 0.0)]))
            found.append(max(found[-1] + gap, *needed) + self.wider[i - 1])
        return found

    def of(self, px: Sequence[float], place: float) -> float:
        """Where one place is."""
        return px[self.rank[place]]


def isometric(pieces: Sequence[LegPiece]) -> Laid:
    """The pieces in the handiest of the views with few of them on one another, and gaps widened where that parts them."""
    axes = [WarpedAxis(pieces, axis) for axis in range(3)]
    true = together(pieces)
    laid = [_view(pieces, axes, view, true) for view in range(len(VIEWS))]
    best = min(laid, key=lambda one: (2 * len(one.clashes) + 0.5 * len(one.false_ends) + _unhandy(one), one.view))
    tries = 0
    while best.doubtful > (0, 0) and tries < TRIES:
        better = None
        for axis, i in _gaps(pieces, axes, best):
            for more in WIDEN:
                tries += 1
                axes[axis].wider[i] += more
                found = _view(pieces, axes, best.view, true)
                if found.doubtful < best.doubtful:
                    better = found
                    break
                axes[axis].wider[i] -= more
            if better is not None or tries >= TRIES:
                break
        if better is None:
            break
        best = better
    return best


def _gaps(pieces: Sequence[LegPiece], axes: Sequence[WarpedAxis], laid: Laid) -> Iterator[tuple[int, int]]:
    """The gaps, by axis and number, that lie between two pieces that can be taken for what they are not; each once."""
    told = set[tuple[int, int]]()
    for one, other in (*laid.clashes, *laid.false_ends):
        for gap in _between(pieces[one], pieces[other], axes):
            if gap not in told:
                told.add(gap)
                yield gap


def _between(one: LegPiece, other: LegPiece, axes: Sequence[WarpedAxis]) -> Iterator[tuple[int, int]]:
    """The gaps, by axis and number, that lie between two pieces."""
    for axis in range(3):
        rank = axes[axis].rank
        mine = sorted((rank[one.tail[axis]], rank[one.head[axis]]))
        theirs = sorted((rank[other.tail[axis]], rank[other.head[axis]]))
        if mine[1] < theirs[0]:
            yield (axis, theirs[0] - 1)
        elif theirs[1] < mine[0]:
            yield (axis, mine[0] - 1)


def _view(pieces: Sequence[LegPiece], axes: Sequence[WarpedAxis], view: int, true: frozenset[tuple[int, int]]) -> Laid:
    (ax, ay), (rx, ry) = VIEWS[view]
    px = [axis.px() for axis in axes]

    def laid(point: Space) -> tuple[Flat, float]:
        aft, right, up = (axes[i].of(px[i], point[i]) for i in range(3))
        # What is lower on paper at the same height is nearer, and so is what is higher.
        return (aft * ax + right * rx, aft * ay + right * ry - up), aft * ay + right * ry + up

    places = {end: laid(end) for piece in pieces for end in (piece.tail, piece.head)}
    ends = tuple((places[piece.tail][0], places[piece.head][0]) for piece in pieces)
    depth = tuple((places[piece.tail][1], places[piece.head][1]) for piece in pieces)
    clashes = tuple(pair for pair in on_one_another(ends) if pair not in true)
    corners = tuple(tuple(laid(corner)[0] for corner in _corners(piece)) for piece in pieces)
    return Laid(ends, depth, view, clashes, false_ends(pieces, ends), corners)


def _corners(piece: LegPiece) -> tuple[Space, ...]:
    """The way of a slanted piece along the axes, from its tail to its head; nothing of a straight one."""
    aft, right, up = piece.head
    way = tuple(dict.fromkeys((piece.tail, (aft, *piece.tail[1:]), (aft, right, piece.tail[2]), (aft, right, up))))
    return way if len(way) > 2 else ()


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


def together(pieces: Sequence[LegPiece]) -> frozenset[tuple[int, int]]:
    """The pairs of pieces that lie on one another in space: what no view can part."""
    return frozenset(
        (i, j)
        for (i, one), (j, other) in combinations(enumerate(pieces), 2)
        if shared(one.tail, one.head, other.tail, other.head) > 1e-3
    )


def false_ends(pieces: Sequence[LegPiece], ends: Sequence[tuple[Flat, Flat]]) -> tuple[tuple[int, int], ...]:
    """The pairs of pieces of which the first ends on paper beside the second, and in space elsewhere."""
    spots = sorted((ends[i][k], (piece.tail, piece.head)[k], i) for i, piece in enumerate(pieces) for k in (0, 1))
    across = [spot[0][0] for spot in spots]
    found = set()
    for j, ((ax, ay), (bx, by)) in enumerate(ends):
        low, high, piece = min(ay, by) - NEAR, max(ay, by) + NEAR, pieces[j]
        dx, dy = bx - ax, by - ay
        size = math.hypot(dx, dy)
        for k in range(bisect_left(across, min(ax, bx) - NEAR), bisect_left(across, max(ax, bx) + NEAR)):
            (x, y), spot, i = spots[k]
            if not low < y < high or abs(dx * (y - ay) - dy * (x - ax)) >= NEAR * size:
                continue
            if spot not in (piece.tail, piece.head) and nearest(spot, spot, piece.tail, piece.head) > 1e-3:
                found.add((i, j))
    return tuple(sorted(found))


def beside_strange(laid: Laid) -> tuple[Flat, ...]:
    """Where on paper an end still lies beside a leg that it is not joined to, each place once."""
    found: list[Flat] = []
    for i, j in laid.false_ends:
        (ax, ay), (bx, by) = laid.ends[j]
        leg = (ax, ay, 0.0), (bx, by, 0.0)
        spot = min(laid.ends[i], key=lambda end: nearest((*end, 0.0), (*end, 0.0), *leg))
        if all(math.dist(spot, one) > NEAR for one in found):
            found.append(spot)
    return tuple(found)


def _unhandy(laid: Laid) -> float:
    """What it costs that a view is wide, for a sheet of paper, and begins far from the upper left corner, where a box opens it
    on a phone."""
    spots = [end for both in laid.ends for end in both]
    (left, top), right = (min(spot[i] for spot in spots) for i in (0, 1)), max(x for x, _ in spots)
    x, y = laid.ends[0][0]
    return max(0.0, right - left - 520) / 40 + (6 if x - left > 300 else 0) + (y - top) / 100


def crossings(laid: Laid) -> Iterator[tuple[int, float]]:
    """Where a piece passes behind another: its number, and the share of its way."""
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
        yield (i, t) if mine < theirs else (j, u)


def seen_from(view: int, *, compass: bool) -> str:
    """Where one stands in a view, in words."""
    (_, aft), (_, right) = VIEWS[view]
    back, side = ("south", "north") if compass else ("aft", "fore"), ("east", "west") if compass else ("right", "left")
    return f"{back[0] if aft > 0 else back[1]} {side[0] if right > 0 else side[1]}"
