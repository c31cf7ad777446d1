"""Openings for tubing and what guards it there: hole, saw, sleeve or grommet, plate, seal; and how many supports."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from gasdoc.quantities import Metre

Lining = Literal["grommet", "sleeve", "fitting", "gland", "none"]


class PassageRule(Struct, frozen=True):
    """What a passage through one kind of thing needs. `clearance` m is what the hole is larger than the tubing.

    `plate`: a steel plate where softer tubing than steel lies near to the face. `seal` says in words which end is sealed
    and with what, "" where nothing is.
    """

    place: str
    lining: Lining
    clearance: float
    lining_wall: float
    plate: bool
    seal: str


class Opening(Struct, frozen=True):
    """One passage of one run. Lengths in m.

    `hole` is the least diameter; `saw` the smallest listed hole saw that gives it, None where none is large enough.
    `lining_bore` is the bore of the sleeve, grommet or gland, None without one; a bulkhead fitting is a part of the line.
    """

    place: str
    hole: Metre
    saw: Metre | None
    lining: Lining
    lining_bore: Metre | None
    plate: bool
    seal: str


def opening(rule: PassageRule, tubing: float, saws: Sequence[float], *, hard: bool = False) -> Opening:
    """The opening for tubing of outside diameter `tubing` (m, over its jacket).

    Nuts go on after the tube is pushed through. `hard` tubing (steel), or tubing by no stud, needs no plate. `saws` are the listed hole saws (m).
    Raises ValueError for an outside diameter that is not above zero.

    >>> rule = PassageRule("wall", "sleeve", 0.006, 0.002, False, "")
    >>> found = opening(rule, 0.016, (0.022, 0.025, 0.029))
    >>> round(found.hole, 4), found.saw
    (0.026, 0.029)
    """
    if not tubing > 0:
        raise ValueError("the outside diameter must be above zero")
    bore = tubing + rule.clearance
    hole = bore + 2 * rule.lining_wall if rule.lining != "none" else bore
    return Opening(
        place=rule.place,
        hole=hole,
        saw=min((saw for saw in saws if saw >= hole - 1e-6), default=None),
        lining=rule.lining,
        lining_bore=None if rule.lining in ("none", "fitting") else bore,
        plate=rule.plate and not hard,
        seal=rule.seal,
    )


def support_count(length: float, spacing: float, bends: int) -> int:
    """Supports for a run of `length` m at most `spacing` m apart: one near each end, evenly between them, and one more
    at each bend. Raises ValueError for a length or spacing that is not above zero.

    12 ft with a support at most every 6 ft, and one more for the bend.
    >>> support_count(12.0, 6.0, 1)
    4
    """
    if not (length > 0 and spacing > 0) or bends < 0:
        raise ValueError("length and spacing must be above zero, bends not negative")
    return max(2, math.ceil(length / spacing - 1e-9) + 1) + bends


def support_places(straights: Sequence[float], spacing: float) -> tuple[tuple[float, ...], ...]:
    """Where supports stand on each straight length in m of a run, in m from its start: near the run's start, at the end of
    each straight (a bend, or the run's end), and evenly between, at most `spacing` m apart.

    Raises ValueError for a length or spacing that is not above zero.

    Two legs of 7 ft and 2 ft with a support at most every 3 ft.
    >>> support_places((7.0, 2.0), 3.0)
    ((0.0, 2.3333333333333335, 4.666666666666667, 7.0), (2.0,))
    """
    if not (spacing > 0 and all(length > 0 for length in straights)):
        raise ValueError("lengths and spacing must be above zero")
    found = []
    for i, length in enumerate(straights):
        gaps = math.ceil(length / spacing - 1e-9)
        found.append(tuple(length * k / gaps for k in range(0 if i == 0 else 1, gaps + 1)))
    return tuple(found)
