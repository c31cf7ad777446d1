"""Lengths of screwed pipe: what is cut between two fittings, and what stays in sight of it. Lengths in m.

The way between two fittings is measured from centre to centre. A pipe ends where its thread ends in the fitting: it is
shorter than that way by what each fitting takes from its centre to its face, and longer by what is screwed into each.
"""

from __future__ import annotations

from collections.abc import Sequence

WRENCH = 0.020
"""m of bare pipe that a pipe wrench needs to hold (our choice: the jaw of a small one is about as wide)."""


def cut_length(centres: float, to_face: tuple[float, float], make_up: tuple[float, float]) -> float:
    """The pipe between two fittings `centres` apart, each with its length from centre to face, and its make-up.

    The rule of the trade (a US Army plumbing course, and by the z-method two Austrian school books): centre to centre, less
    both fittings, plus both make-ups. Half-inch pipe, 24 in between two elbows of 1.12 in, 0.5343 in made up at each end:

    >>> round(cut_length(24 * 0.0254, (1.12 * 0.0254,) * 2, (0.5343 * 0.0254,) * 2) / 0.0254, 3)
    22.829
    """
    return centres - sum(to_face) + sum(make_up)


def in_sight(length: float, make_up: tuple[float, float]) -> float:
    """The pipe that is seen between two fittings once both ends are made up: less than WRENCH leaves no place to hold it.

    A close nipple of 1/2 in, 1.125 in long, made up 0.5343 in at each end:

    >>> round(in_sight(1.125 * 0.0254, (0.5343 * 0.0254,) * 2) / 0.0254, 3)
    0.056
    """
    return length - sum(make_up)


def nipple(length: float, sold: Sequence[float], within: float) -> float | None:
    """The nipple as it is sold, of lengths `sold`, that is nearest to a length and at most `within` off; None where none is.

    >>> nipple(0.101, (0.0762, 0.1016), 0.002)
    0.1016
    """
    best = min(sold, key=lambda one: abs(one - length), default=None)
    return best if best is not None and abs(best - length) <= within else None
