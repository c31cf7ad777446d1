"""Upkeep of a build: which tasks apply, from which of its dates they count, and when they are due."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterator
from typing import Annotated

from msgspec import Struct

from gasdoc.build.labels import room_name
from gasdoc.build.model import Outlet, Regulator
from gasdoc.quantities import By, Shown
from gasdoc.regions.upkeep import Interval, Task, upkeep_tasks
from gasdoc.source import Path
from gasdoc.study.facts import Installation, connector_kind, families, regulators, setting
from gasdoc.study.findings import Finding, note, warning
from gasdoc.study.supply.names import on_the_valve

SUBJECTS = ("cylinder", "asme", "regulator", "hose", "gas-alarm", "co-alarm", "smoke-alarm")
"""Task conditions that name a part with a date of manufacture of its own."""


class Due(Struct, frozen=True):
    """One task for one part of the build.

    `part` names the part, None where the task is for the whole, `at` its place in the spec; `counted` is the date it
    counts from, `due` when it is due, both None where the spec gives no date (`missing` then says which) or the task
    follows an event. `mark` is the end of life marked on the part itself: where there is one, it is the date due. `others`
    are rows of other sources for the same task, with longer intervals, from memory, or of texts that no longer hold.
    """

    task: Annotated[Task, By("id", "group", "short", "task", "interval", "event", "who", "citation")]
    part: str | None
    at: Path
    counted: dt.date | None
    due: dt.date | None
    missing: str | None
    mark: dt.date | None
    others: tuple[Annotated[Task, By("id", "interval", "citation")], ...]

    @property
    def marked(self) -> Shown[bool]:
        """Whether it is the date marked on the part that is due."""
        return self.mark is not None and self.mark == self.due

    @property
    def habit(self) -> bool:
        """Whether it is for every day or week, which few people write down."""
        return self.task.interval is not None and self.task.interval.unit in ("day", "week")


class _Part(Struct, frozen=True):
    """A part with the date its life counts from and the date marked on it as its end."""

    name: str
    at: Path
    date: dt.date | None
    end: dt.date | None = None


def after(date: dt.date, interval: Interval) -> dt.date:
    """The date one interval later; the last day of the month where the month is shorter."""
    if interval.unit in ("day", "week"):
        return date + dt.timedelta(days=interval.count * (7 if interval.unit == "week" else 1))
    months = interval.count * (12 if interval.unit == "year" else 1)
    year, month = divmod(date.year * 12 + date.month - 1 + months, 12)
    return dt.date(year, month + 1, min(date.day, calendar.monthrange(year, month + 1)[1]))


def upkeep(build: Installation) -> tuple[Due, ...]:
    """The build's tasks, those with a due date first and by date, then the others in the order of the data."""
    tasks = upkeep_tasks(_conditions(build), build.region.practice)
    groups: dict[str, list[Task]] = {}
    for task in tasks:
        if not (task.once and build.spec.container.requalified is not None):
            groups.setdefault(task.task_group, []).append(task)
    found: list[Due] = []
    for rows in groups.values():
        # A row from memory, or of a text that no longer holds, never decides beside one that was read.
        timed = sorted(
            (t for t in rows if t.interval is not None),
            key=lambda t: (not t.decides, t.citation.confirmed == "memory", t.interval.days if t.interval else 0),
        )
        shown = timed[0] if timed else rows[0]
        others = tuple(t for t in rows if t is not shown)
        found += _dues(build, shown, others)
    return tuple(sorted(found, key=lambda d: (d.due is None, d.due or dt.date.max)))


def _conditions(build: Installation) -> frozenset[str]:
    spec = build.spec
    found = {_container(build)}
    found.add("regulator")
    where = setting(build)
    found |= {where} if where else {"vehicle"}
    if where == "trailer":
        found.add("vehicle")
    if "csst" in families(build):
        found.add("csst")
    hoses = any(True for _ in (*_regulator_hoses(build), *_container_hoses(build)))
    if hoses or any(_hose(build, s.outlet) for s in build.served):
        found.add("hose")
    found |= {f"{alarm.kind}-alarm" for space in spec.spaces for alarm in space.alarms or ()}
    return frozenset(found)


def _container(build: Installation) -> str:
    """What the container is to the tasks: "asme" where its kind is tested again as those are, else "cylinder"."""
    return "asme" if build.container_kind.retested == "asme" else "cylinder"


def _regulator_hoses(build: Installation) -> Iterator[_Part]:
    """The hoses between regulators and their lines."""
    for name, at, regulator in regulators(build):
        if regulator.hose is not None:
            yield _Part(f"hose of the {build.labels[name]}", (*at, "hose"), regulator.hose.manufactured)


def _container_hoses(build: Installation) -> Iterator[_Part]:
    """The hose or pigtail from the container to the regulator; none where that goes onto the valve itself, or where it is not
    stated what joins the two."""
    container, inlet = build.spec.container, build.spec.regulator.inlet_thread
    if container.number > 1:
        yield _Part("hoses of the containers", ("container",), container.hose_manufactured)
    elif container.connection is not None and inlet is not None and not on_the_valve(build):
        yield _Part("hose of the container", ("container",), container.hose_manufactured)


def _hose(build: Installation, outlet: Outlet) -> bool:
    """Whether a hose or a flexible connector leads to the appliance: a rigid tail has no date and is none."""
    return connector_kind(build, outlet)[0] != "rigid"


MISSING = {
    "fitted": "date fitted",
    "last-done": "date fitted or last done",
    "tested": "date of a test",
    "manufactured": "date of manufacture",
    "requalified": "date of the last requalification",
}
"""The date an interval counts from, as it is called where the spec does not give it."""


def _dues(build: Installation, task: Task, others: tuple[Task, ...]) -> Iterator[Due]:
    """The task for each part it is for."""
    spec = build.spec
    if task.interval is None:
        yield Due(task, None, (), None, None, None, None, others)
        return
    done = max((d.date for d in spec.done if d.task in (task.id, task.task_group)), default=None)
    source = task.counted_from or "fitted"
    if source == "manufactured":
        parts = list(_made(build, task))
    else:
        date = {
            "fitted": spec.fitted,
            "last-done": spec.fitted,
            "tested": max((t.date for t in spec.tests), default=None),
            "requalified": spec.container.requalified,
        }[source]
        parts = [_Part("", (), date)]
    for part in parts:
        dates = [date for date in (part.date, done) if date is not None]
        # What was done counts, unless the part is newer still.
        counted = max(dates, default=None)
        # The date its maker marked on a part stands over the usual life of such parts.
        due = part.end or (after(counted, task.interval) if counted is not None else None)
        missing = MISSING[source] if due is None else None
        yield Due(task, part.name or None, part.at, counted, due, missing, part.end, others)


def _made(build: Installation, task: Task) -> Iterator[_Part]:
    spec = build.spec
    subjects = [word for word in task.applies if word in SUBJECTS]
    for subject in subjects:
        if subject in ("cylinder", "asme"):
            if subject == _container(build):
                dates = [d for d in (spec.container.manufactured, spec.container.requalified) if d is not None]
                yield _Part("container", ("container",), max(dates, default=None))
        elif subject == "regulator":
            yield _Part("first regulator", ("regulator",), spec.regulator.manufactured)
            for node, regulator in build.each(Regulator):
                yield _Part(node.id, node.at, regulator.manufactured)
        elif subject == "hose":
            yield from _regulator_hoses(build)
            for s in build.served:
                if _hose(build, s.outlet):
                    made = s.outlet.connector.manufactured if s.outlet.connector else None
                    yield _Part(f"connector of {s.appliance.name}", s.at, made)
            yield from _container_hoses(build)
        else:
            for k, space in enumerate(spec.spaces):
                for i, alarm in enumerate(space.alarms or ()):
                    if subject == f"{alarm.kind}-alarm":
                        named = alarm.place or (room_name(space, k) if len(spec.spaces) > 1 else "")
                        name = f"{alarm.kind} alarm" + (f", {named}" if named else "")
                        yield _Part(name, ("spaces", k, "alarms", i), alarm.manufactured, alarm.replace_by)
    if not subjects:
        yield _Part("whole system", (), None)


def upkeep_findings(build: Installation, found: tuple[Due, ...], as_of: dt.date | None) -> Iterator[Finding]:
    """What is overdue on a date, if one is given, and records of tasks that are none. A habit is overdue only where it is
    kept in the record."""
    names = {name for d in found for task in (d.task, *d.others) for name in (task.id, task.task_group)}
    recorded = {done.task for done in build.spec.done}
    for i, done in enumerate(build.spec.done):
        if done.task not in names:
            yield warning(
                "done-unknown-task",
                "build",
                ("done", i, "task"),
                f"'{done.task}' is no upkeep task of this build.",
                "What was done under that name moves no date on.",
                "Take the task's id from the upkeep page.",
            )
    for d in found:
        if as_of is None or d.due is None:
            continue
        if d.due >= as_of:
            yield from _earlier(d, as_of)
            continue
        if d.habit and not recorded & {d.task.id, d.task.task_group}:
            continue
        since = "marked on it" if d.marked else f"{d.task.interval.text if d.task.interval else ''} from {d.counted}"
        yield (note if d.habit else warning)(
            "overdue",
            d.part or "build",
            d.at,
            f"Overdue since {d.due.isoformat()} ({since}): {d.task.task}",
            "Nothing later is recorded.",
            f"Have it done by the {d.task.who} and record it under 'done:' as '{d.task.id}'.",
            str(d.task.citation),
        )


def _earlier(d: Due, as_of: dt.date) -> Iterator[Finding]:
    """Rows that do not decide, whose earlier date is past, while the one that decides is not."""
    for other in d.others:
        if other.interval is None or d.counted is None or d.marked:
            continue
        date = after(d.counted, other.interval)
        if date < as_of:
            yield note(
                "past-cautious-date",
                d.part or "build",
                d.at,
                f"Due {d.due.isoformat() if d.due else ''}; past {date.isoformat()}, {other.interval.text} from {d.counted}: {other.task}",
                "That row is from memory and does not decide."
                if other.decides
                else "That row is of a text that no longer holds, and does not decide.",
                f"Ask the {d.task.who} if in doubt.",
                str(other.citation),
            )
