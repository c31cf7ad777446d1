"""What would change an answer: another container, found by the same search, for one thing that is otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.catalog import regulators as trade
from gasdoc.choices.containers import Asked, First, first
from gasdoc.engineering.constants import DAY
from gasdoc.study.container.cold_day import Rig, need_of, periods_of
from gasdoc.study.container.sets import MOST
from gasdoc.study.facts import Installation, system

Role: TypeAlias = Literal["usual", "lightest", "no-lifting"]

WARMER = {"us": 10.0 / 1.8, "si": 5.0}
"""K by which a night is warmer, or colder, in such an answer: 10 degF or 5 degC (our choice)."""

HOUR = 3600.0

NEAR = 10.0
"""K: within so much of the floor another lowest inlet decides (our choice)."""


class OtherContainer(Struct, frozen=True):
    """One thing that is otherwise, in words, and the `container` that would stand there then, None for none; `same` where it is
    the one that stands there now. `key` is the key of the spec that says it."""

    key: str
    words: str
    container: str | None
    same: bool


class Search(Struct, frozen=True):
    """What the search is asked: the build with any container as its rig, what is wished, of which containers it is, and how
    many at most."""

    build: Installation
    rig: Rig
    asked: Asked
    role: Role = "usual"
    most: int = MOST

    def answer(self) -> First | None:
        """The container that stands first."""
        lifted = {"usual": None, "lightest": True, "no-lifting": False}[self.role]
        return first(self.build, self.rig, self.asked, lifted=lifted, lightest=self.role == "lightest", most=self.most)

    def other(
        self, key: str, words: str, now: First | None, *, rig: Rig | None = None, asked: Asked | None = None
    ) -> OtherContainer:
        """The answer with another rig or another wish, beside that of now."""
        found = replace(self, rig=rig or self.rig, asked=asked or self.asked).answer()
        return OtherContainer(key, words, found.words if found is not None else None, same=found == now)


def changes(question: Search) -> Iterator[OtherContainer]:
    """An hour less a day, a warmer night, and where the cold is near what the regulator can work with another lowest inlet."""
    build, rig, asked = question.build, question.rig, question.asked
    now = question.answer()
    most = max(build.served, key=lambda s: s.per_day or 0.0)
    if most.per_day and most.per_day < most.load * DAY:
        less = max(most.per_day - most.load * HOUR, 0.0)
        served = tuple(replace(s, per_day=less) if s.id == most.id else s for s in build.served)
        shorter = replace(rig, periods=periods_of(served))
        yield question.other("daily_use", f"{most.name} one hour less a day", now, rig=shorter)
    shown = system(build)
    warmer = asked.air + WARMER[units.base(shown)]
    words = f"a coldest night of {units.show(warmer, 'temperature', shown)}"
    yield question.other("coldest", words, now, asked=replace(asked, air=warmer))
    if asked.air <= rig.need.floor + NEAR:
        for inlet in trade.regulators(build.region.practice.rows).inlets:
            if abs(float(inlet) - rig.need.inlet) <= 1.0 or inlet <= build.spec.regulator.outlet:
                continue
            other = with_inlet(build, rig, inlet)
            words = f"a regulator rated from {units.show(inlet, 'container pressure', shown)}"
            if other is not None:
                yield question.other("inlet", words, now, rig=other)
            else:
                yield OtherContainer("inlet", words, None, same=now is None)


def with_inlet(build: Installation, rig: Rig, inlet: units.Given) -> Rig | None:
    """The rig with another lowest inlet of the regulator; None where the gas never has it."""
    need = need_of(build, build.spec.regulator.model_copy(update={"inlet": inlet}))
    return None if need is None else replace(rig, need=need)
