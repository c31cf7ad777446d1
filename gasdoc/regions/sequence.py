"""The test day as data: its steps in order, what each needs, what stops it, and the conditions its lines hang on."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from gasdoc import data
from gasdoc.regions.region import _Row
from gasdoc.source import Citation

CONDITIONS = {
    "alarms": "a gas alarm and a carbon monoxide alarm are listed",
    "boat": "the build is a boat",
    "canada": "the region is Canada",
    "changeover": "two containers, one in use and one in reserve",
    "low-pressure-us": "inches are the region's units, and no appliance is fed above 14 inH2O",
    "main-shut-off": "there is a valve in the line on the way from the first regulator to each appliance",
    "own-test-above": "the region's own test with appliances joined is made above what they work at",
    "line-valves": "there is a valve in the line, before the appliances' own",
    "piping-test": "the region asks a test of this build's piping before gas",
    "relief-stated": "the pressure at which the regulator's relief opens is stated",
    "several-containers": "there is more than one container",
    "several-zones": "there are several pressures, one behind another",
    "start-union": "there is a union behind the first regulator",
    "us": "the region is one of the United States",
    "weak-parts": "a part that stays in the pressure test is rated for less",
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


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to do. `text` and `short` have `{names}` to fill; `short` is for the sheet, None where it is not there.
    `each` names what the line is said once for, None where once; `when` are conditions that must all hold."""

    text: str
    short: str | None
    each: str | None
    when: tuple[str, ...]
    caution: bool
    citation: Citation | None


@dataclass(frozen=True, slots=True)
class StepRow:
    """A step as the data file has it. `applies` is a condition, None where the step is always there; `reason` says why not."""

    id: str
    title: str
    needs: tuple[str, ...]
    parts: tuple[str, ...]
    gate: bool
    passes: str | None
    lines: tuple[Line, ...]
    stops: tuple[str, ...]
    applies: str | None
    reason: str | None
    citation: Citation


def holds(condition: str, true: frozenset[str]) -> bool:
    """Whether a condition, plain or with "not-" before it, holds where those of `true` do."""
    return condition.removeprefix("not-") not in true if condition.startswith("not-") else condition in true


@lru_cache(maxsize=1)
def sequence_rows() -> tuple[StepRow, ...]:
    """The steps in file order. Raises DataError."""
    content = _Row(data.load("gasdoc.regions", "sequence.yaml"), "sequence.yaml")
    steps = content.each("steps", _step)
    content.end()
    return steps


def _step(row: _Row) -> StepRow:
    needs = row.row.pop("needs", None)
    if not isinstance(needs, list):
        raise row.wrong("'needs' is a list of ids, empty for the first step")
    gate = row.flag("gate")
    step = StepRow(
        id=row.text("id"),
        title=row.text("title"),
        needs=tuple(str(need) for need in needs),
        parts=row.choices("parts", PARTS),
        gate=gate,
        passes=row.optional("passes"),
        lines=row.each("lines", _line),
        stops=_stops(row),
        applies=row.choice("applies", CONDITIONS) if "applies" in row.row else None,
        reason=row.optional("reason"),
        citation=row.citation(),
    )
    if gate != (step.passes is not None):
        raise row.wrong("a gate, and only a gate, says what has to be true: 'passes'")
    if (step.applies is None) != (step.reason is None):
        raise row.wrong("'applies' and 'reason' belong together")
    if not step.lines:
        raise row.wrong("a step needs lines")
    return step


def _stops(row: _Row) -> tuple[str, ...]:
    stops = row.texts("stops")
    for stop in stops:
        _filled(row, "stops", stop, FACTS)
    return stops


def _line(row: _Row) -> Line:
    when = row.texts("when") if "when" in row.row else ()
    for condition in when:
        row.among(condition.removeprefix("not-"), "when", CONDITIONS)
    line = Line(
        text=row.text("text"),
        short=row.optional("short"),
        each=row.choice("each", EACH) if "each" in row.row else None,
        when=when,
        caution=row.flag("caution", default=False),
        citation=row.citation() if "citation" in row.row else None,
    )
    names = (*FACTS, *(EACH[line.each] if line.each is not None else ()))
    for key, text in (("text", line.text), ("short", line.short or "")):
        _filled(row, key, text, names)
    return line


def _filled(row: _Row, key: str, text: str, names: tuple[str, ...]) -> None:
    """Raise DataError for a place in a text that nothing fills."""
    if re.sub(r"\{\w+\}", "", text).count("{") or re.sub(r"\{\w+\}", "", text).count("}"):
        raise row.wrong(f"'{key}' has a brace that begins or ends no place")
    for name in re.findall(r"\{(\w+)\}", text):
        row.among(name, key, names)
