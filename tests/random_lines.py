"""Random lines to draw: sheets of trees with some appliances, made without a spec."""

from __future__ import annotations

import random

from gasdoc.report.drawings.line.sheet import FULL_WORDS, RunWords, Sheet, Sign, letter
from gasdoc.study.supply.route import Passage, Point, Stretch, plus

AXES = ((1, 0, 0), (0, 1, 0), (0, -1, 0), (-1, 0, 0), (0, 0, 1), (0, 0, -1))
FEET = (4 / 12, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 12, 20)
NAMES = ("Cooker", "Room heater", "Water heater", "Refrigerator", "Lamp", "Kiln", "Dryer", "Sauna stove", "Forge")


class RandomLine:
    """One tree drawn from `seed`, with so many appliances."""

    def __init__(self, seed: int, appliances: int) -> None:
        self.chance = random.Random(seed)
        self.appliances = appliances
        self.stretches = [Stretch("container", True, (-0.3, 0.0, 0.0), (0.0, 0.0, 0.0), 0.3, "", "", "", ())]
        self.signs = [
            Sign("container", "container", 0, "tail", 0, ("2 x 100-lb cylinder", "#1")),
            Sign("regulator", "regulator", 1, "tail", 0, ("regulator", "11 inH2O", "#2, 3")),
        ]
        self.runs: list[RunWords] = []

    def sheet(self) -> Sheet:
        """The sheet of it."""
        at, way = self._run((0.0, 0.0, 0.0), (-1, 0, 0), trunk=True)
        self.signs.append(Sign("main", "valve", len(self.stretches) - 1, "head", 0, ("main shut-off, #6",)))
        for number in range(self.appliances):
            if number < self.appliances - 1:
                name = f"tee {number + 1}"
                self.signs.append(Sign(name, "junction", len(self.stretches) - 1, "head", 0, (f"{name}, #12",)))
            self._branch(NAMES[number], at, way)
            if number < self.appliances - 1:
                at, way = self._run(at, way, trunk=True)
        full = self.appliances <= FULL_WORDS
        return Sheet(
            "made-up",
            "Made Up",
            tuple(self.stretches),
            tuple(self.signs),
            tuple(self.runs),
            (),
            (),
            False,
            "us",
            full,
            "gt1-0123456789ab",
        )

    def _branch(self, name: str, at: Point, way: tuple[int, int, int]) -> None:
        at, way = self._run(at, way, trunk=False)
        self.signs.append(Sign(f"{name}-valve", "valve", len(self.stretches) - 1, "head", 0, ()))
        feet = self.chance.choice((1, 1.5, 2))
        self._stretch(name, at, way, feet, connector=True)
        self.signs.append(
            Sign(name, "appliance", len(self.stretches) - 1, "head", 0, (name, "12 kBtu/h", "#21\N{EN DASH}24"))
        )

    def _run(self, at: Point, way: tuple[int, int, int], *, trunk: bool) -> tuple[Point, tuple[int, int, int]]:
        name, first = f"run-{len(self.runs)}", len(self.stretches)
        for _ in range(self.chance.randint(1, 3)):
            turns = [axis for axis in AXES if sum(a * b for a, b in zip(axis, way, strict=True)) == 0]
            way = self.chance.choice(turns[:2] if trunk and self.chance.random() < 0.5 else turns)
            at = self._stretch(name, at, way, self.chance.choice(FEET), connector=False)
        size = ("3/4 in steel", "5/8 in OD copper L", "EHD 18 corrugated")[len(self.runs) % 3]
        here = letter(len(self.runs))
        self.runs.append(
            RunWords(
                name,
                here,
                (f"{here}: {size}", f"120 kBtu/h, #{len(self.runs) + 4}, 7"),
                tuple(range(first, len(self.stretches))),
            )
        )
        return at, way

    def _stretch(self, part: str, at: Point, way: tuple[int, int, int], feet: float, *, connector: bool) -> Point:
        metres = feet * 0.3048
        head = plus(at, (way[0] * metres, way[1] * metres, way[2] * metres))
        figure = f"{feet * 12:g} in" if feet < 1 else f"{feet:g} ft"
        passages = (Passage("floor", 0.5, False),) if self.chance.random() < 0.12 and not connector else ()
        self.stretches.append(Stretch(part, connector, at, head, metres, f"{figure} aft", figure, "", passages))
        return head
