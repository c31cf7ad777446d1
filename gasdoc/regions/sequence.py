"""The test day as data: its steps in order, what each needs, what stops it, and the conditions its lines hang on;
and what a line to do is in this and the other data files."""

import re
from collections.abc import Iterable
from typing import Annotated

from msgspec import field

from gasdoc import data
from gasdoc.data import Cited, Entry, Some
from gasdoc.regions.practice import ROWS
from gasdoc.scalars import Id, choice, nearest, problem
from gasdoc.source import CONFIRMED, Citation


class Instruction(Entry, frozen=True):
    """One thing to do. `text` has `{names}` to fill; `caution` where it warns."""

    text: str
    caution: bool = False
    cited: str | None = field(default=None, name="citation")
    confirmed: Annotated[str, choice(*CONFIRMED)] | None = None

    @property
    def citation(self) -> Citation | None:
        """Where the line comes from, None where that is where its step does."""
        return Citation(self.cited, self.confirmed) if self.cited is not None and self.confirmed is not None else None

    def _checked(self) -> None:
        if (self.cited is None) != (self.confirmed is None):
            raise problem("data-line", "'citation' and 'confirmed' belong together", "give both, or neither")


def check_places(key: str, text: str, names: Iterable[str], *at: int) -> None:
    """Raise the problem with a place in a text that nothing fills."""
    if re.search(r"[{}]", re.sub(r"\{\w+\}", "", text)):
        raise problem(
            "data-place", "a brace begins or ends no place", "write a place as in '{containers}'", at=(key, *at)
        )
    names = tuple(names)
    for name in re.findall(r"\{(\w+)\}", text):
        if name not in names:
            near = nearest(name, list(names))
            hint = f"did you mean '{near}'?" if near else f"write one of: {', '.join(names)}"
            raise problem("data-place", f"nothing fills '{{{name}}}'", hint, at=(key, *at))


CONDITIONS = {
    "alarms": "a gas alarm and a carbon monoxide alarm are listed",
    "boat": "the build is a boat",
    "changeover": "a changeover: one container or bank in use and one in reserve",
    "low-pressure-us": "inches are the region's units, and no appliance is fed above 14 inH2O",
    "main-shut-off": "there is a valve in the line on the way from the first regulator to each appliance",
    "own-test-above": "the region's own test with appliances joined is made above what they work at",
    "line-valves": "there is a valve in the line, before the appliances' own",
    "piping-test": "the region asks a test of this build's piping before gas",
    "relief-stated": "the pressure at which the regulator's relief opens is stated",
    "several-containers": "there is more than one container",
    "several-zones": "there are several pressures, one behind another",
    "start-hose": "there is a hose between the first regulator and the line, and no union",
    "start-union": "there is a union behind the first regulator",
    "weak-parts": "a part that stays in the pressure test is rated for less",
    **{row: f"the region's practice is that of: {where}" for row, where in ROWS.items()},
}
"""What a line or a step of the sequence may hang on; "not-" before it turns it round."""

PARTS = (
    "container-joints",
    "containers",
    "gauge-point",
    "new-joints",
    "outlets",
    "regulators",
    "taps",
    "tested-joints",
    "valves",
)
"""Which parts of a build a step may be about."""

FACTS = (
    "Containers",
    "airhold",
    "appliances",
    "closed",
    "code",
    "containers",
    "containerside",
    "delivered",
    "gauge",
    "gauge_id",
    "half",
    "low",
    "main",
    "main_at",
    "new",
    "noalarm",
    "number",
    "settle",
    "tested",
    "testclose",
    "valves",
    "valves_at",
    "weak",
)
"""What a build fills into any line."""

_ROW = ("asked", "behind", "hold", "instrument", "isolate", "medium", "most", "name", "plates", "pressure", "scale")
EACH = {
    "air-zones": ("behind", "most", "pressure", "why"),
    "appliances": ("name",),
    "appliances-valve-on": ("name",),
    "containers": ("name",),
    "delivered-zones": ("behind", "highest", "locked", "lowest", "setting", "stated", "tolerance", "zone"),
    "flame-failure": ("name",),
    "flow-rows": _ROW,
    "flow-rows-plates": _ROW,
    "flueless": ("name",),
    "gauge-zones": ("behind", "gauge", "gauge_id"),
    "hold-advice": ("advice",),
    "inner-lock-up": ("before", "lockup", "name"),
    "inner-regulators": ("again", "name", "parts", "union"),
    "joined-zones": ("behind", "gauge"),
    "leak-rows": _ROW,
    "leak-rows-known": _ROW,
    "leak-rows-unknown": _ROW,
    "line-valves-off": ("id", "name", "part", "rating", "sealant"),
    "line-valves-stay": ("id", "name", "rating"),
    "lock-up-between": ("behind", "lockup"),
    "lock-up-unknown": ("behind", "lockup"),
    "lock-up-zones": ("behind", "lockup"),
    "low-places": ("place",),
    "no-flame-failure": ("name",),
    "open-flued": ("name",),
    "outlets-no-valve": ("name", "part", "rating", "sealant"),
    "outlets-valve-off": ("name", "part", "rating", "sealant"),
    "outlets-valve-stays": ("name", "part", "rating", "sealant"),
    "own-tests": ("hold", "name", "pressure"),
    "piping-holds": ("behind", "hold"),
    "piping-rows": _ROW,
    "piping-rows-unknown": _ROW,
    "room-sealed": ("name",),
    "start-closed": ("end", "part"),
    "start-open": ("end", "part"),
}
"""What a line may be said once for, and what each of these fills into it."""


_Condition = Annotated[str, choice(*CONDITIONS, *(f"not-{word}" for word in CONDITIONS))]


class LineText(Instruction, frozen=True):
    """One thing to do. `short` is for the sheet, with `{names}` to fill, too, None where it is not there. `each` names what the
    line is said once for, None where once; `when` are conditions that must all hold."""

    short: str | None = None
    each: Annotated[str, choice(*EACH)] | None = None
    when: tuple[_Condition, ...] = ()

    def _checked(self) -> None:
        super()._checked()
        names = (*FACTS, *(EACH[self.each] if self.each is not None else ()))
        check_places("text", self.text, names)
        check_places("short", self.short or "", names)


class StepRow(Cited, frozen=True, kw_only=True):
    """A step as the data file has it. `applies` is a condition, None where the step is always there; `reason` says why not."""

    id: Id
    title: str
    needs: tuple[str, ...]
    parts: Some[Annotated[str, choice(*PARTS)]]
    gate: bool
    passes: str | None = None
    lines: Some[LineText]
    stops: Some[str]
    applies: Annotated[str, choice(*CONDITIONS)] | None = None
    reason: str | None = None

    def _checked(self) -> None:
        if self.gate != (self.passes is not None):
            raise problem(
                "data-step",
                "a gate, and only a gate, says what has to be true",
                "give 'gate: yes' and 'passes', or neither",
            )
        if (self.applies is None) != (self.reason is None):
            raise problem("data-step", "'applies' and 'reason' belong together", "give both, or neither")
        for position, stop in enumerate(self.stops):
            check_places("stops", stop, FACTS, position)


class _Steps(Entry, frozen=True):
    steps: data.ById[StepRow]


def holds(condition: str, true: frozenset[str]) -> bool:
    """Whether a condition, plain or with "not-" before it, holds where those of `true` do."""
    return condition.removeprefix("not-") not in true if condition.startswith("not-") else condition in true


def sequence_rows() -> tuple[StepRow, ...]:
    """The steps in file order. Raises DataError."""
    return data.read("gasdoc.regions", "sequence.yaml", _Steps).steps
