"""A short line to show how legs are written: the text of a spec, and the drawing that comes of it."""

from __future__ import annotations

from gasdoc.build.model.route import way
from gasdoc.report.line import draw
from gasdoc.report.line.sheet import RunWords, Sheet, Sign
from gasdoc.study.supply.route import Passage, Stretch, plus

LEGS = ("1 ft up", "4 ft aft", "14 in aft-down", "3 ft aft", "2 ft left")
THROUGH = {1: Passage("wall", 0.375, guessed=False)}
"""The second leg passes a wall 18 in from its start."""

TEXT = "legs: [1 ft up, {leg: 4 ft aft, through: wall, at: 18 in}, 14 in aft-down, 3 ft aft, 2 ft left]"


def example() -> draw.Drawn:
    """The drawing of `TEXT`, with a valve and an appliance at its end."""
    at = (0.0, 0.0, 0.0)
    stretches = [Stretch("container", True, plus(at, (0.0, 0.0, -0.3)), at, 0.3, "", "", "", ())]
    for i, text in enumerate(LEGS):
        leg = way(text)
        head = plus(at, leg.vector)
        passages = (THROUGH[i],) if i in THROUGH else ()
        stretches.append(Stretch("run", False, at, head, leg.length, text, text.rpartition(" ")[0], "", passages))
        at = head
    stretches.append(Stretch("burner", True, at, plus(at, (0.0, 0.0, 0.3)), 0.3, "1 ft up", "1 ft", "", ()))
    last = len(LEGS)
    signs = (
        Sign("container", "container", 0, "tail", 0, ("container",)),
        Sign("regulator", "regulator", 1, "tail", 0, ("regulator",)),
        Sign("valve", "valve", last, "head", 0, ("valve",)),
        Sign("burner", "appliance", last + 1, "head", 0, ("burner",)),
    )
    runs = (RunWords("run", "A", ("the run",), tuple(range(1, last + 1))),)
    sheet = Sheet("example", "these legs", tuple(stretches), signs, runs, (), (), False, "us", True, "")
    return draw.isometric(sheet)
