"""Upkeep tasks by their sources, and which of them a build of a region has."""

import re
from typing import Annotated, Any, Literal

from msgspec import Struct, field

from gasdoc import data
from gasdoc.data import Cited, Entry, Some
from gasdoc.regions.cautions import refuse_unknown
from gasdoc.regions.practice import Practice, Row
from gasdoc.scalars import Bounds, Id, ReadBy, choice, problem

TASK_CONDITIONS = (
    "always",
    "cylinder",
    "asme",
    "hose",
    "regulator",
    "gas-alarm",
    "co-alarm",
    "smoke-alarm",
    "csst",
    "vehicle",
    "trailer",
    "boat",
    "cabin",
)
"""What a build has, for upkeep."""

TASK_GROUPS = ("regular", "storage", "first-use", "after-damage")
SHORT = 30
"""Letters a task's short title may have; a part's name stands beside it in a chart."""


class Interval(Struct, frozen=True):
    """How often: a count of calendar units."""

    text: str
    count: int
    unit: Literal["day", "week", "month", "year"]

    @property
    def days(self) -> int:
        """Nominal length in days, month 30 and year 365, so that a due date is never put too late."""
        return self.count * {"day": 1, "week": 7, "month": 30, "year": 365}[self.unit]


def _interval(written: Any) -> Interval:
    match = re.fullmatch(r"([1-9]\d*) (day|week|month|year)s?", str(written))
    if match is None:
        raise problem("data-interval", f"'{written}' is not an interval", "write it as in '6 months'")
    unit: Literal["day", "week", "month", "year"] = match.group(2)  # type: ignore[assignment]  # the regex's four words
    return Interval(match[0], int(match[1]), unit)


class Task(Cited, frozen=True, kw_only=True):
    """An upkeep task: by `interval`, counted from `counted_from`, or after an `event`, or both.

    It is for a build that has a condition of `applies`; where `practice` names any, in regions of such a practice only.
    Rows with one `task_group` are the same task by different sources: show all, use the shortest that is not
    from memory. `decides` is no for a row of a text that no longer holds: it is shown beside the others and sets no date.
    `once`: done once in a container's life. `short` is the task in a few words, at most SHORT letters.
    """

    id: Id
    task_group: str
    group: Annotated[str, choice(*TASK_GROUPS)]
    short: Annotated[str, Bounds(max_length=SHORT)]
    task: str
    interval: Annotated[Interval, ReadBy(_interval)] | None = None
    event: str | None = None
    applies: Some[Annotated[str, choice(*TASK_CONDITIONS)]]
    practice: tuple[Row, ...] = ()
    counted_from: Literal["fitted", "manufactured", "last-done", "tested", "requalified"] | None = field(
        default=None, name="from"
    )
    once: bool = False
    decides: bool = True
    who: Literal["owner", "licensed person"]

    @classmethod
    def _completed(cls, row: Any) -> Any:
        return {"task_group": row.get("id"), **row} if isinstance(row, dict) else row

    def _checked(self) -> None:
        if (self.interval is None) != (self.counted_from is None):
            raise problem(
                "data-task", "an interval and the date it counts from belong together", "give both, or neither"
            )
        if self.interval is None and self.event is None:
            raise problem("data-task", "the task has neither an interval nor an event", "say when it is due")


class _Tasks(Entry, frozen=True):
    tasks: data.ById[Task]


def upkeep_tasks(conditions: frozenset[str], practice: Practice) -> tuple[Task, ...]:
    """The upkeep tasks for a build that has `conditions`, in file order: those with any of them, and those for always.

    Raises ValueError for a condition that is not in TASK_CONDITIONS.
    """
    refuse_unknown(conditions, TASK_CONDITIONS)
    has = conditions | {"always"}
    tasks = data.read("gasdoc.regions", "upkeep.yaml", _Tasks).tasks
    return tuple(t for t in tasks if not has.isdisjoint(t.applies) and practice.takes(t.practice))
