"""Upkeep of a build: which tasks apply, from which of its dates they count, and when they are due."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from gasdoc.regions import Interval, Task, region_ids, upkeep_tasks
from gasdoc.spec.model import Outlet, Regulator
from gasdoc.study.facts import materials, served, setting
from gasdoc.study.resolve import Resolved

SUBJECTS = ("cylinder", "asme", "regulator", "hose", "gas-alarm", "co-alarm", "smoke-alarm")
"""Task conditions that name a part with a date of manufacture of its own."""


@dataclass(frozen=True, slots=True)
class Due:
    """One task for one part of the build.

    `part` names the part, None where the task is for the whole; `counted` is the date it counts from, `due` when it is
    due, both None where the spec gives no date (`missing` then says which) or the task follows an event. `others` are
    rows of other sources for the same task, with longer intervals.
    """

    task: Task
    part: str | None
    counted: dt.date | None
    due: dt.date | None
    missing: str | None
    others: tuple[Task, ...]


def after(date: dt.date, interval: Interval) -> dt.date:
    """The date one interval later; the last day of the month where the month is shorter."""
    if interval.unit in ("day", "week"):
        return date + dt.timedelta(days=interval.count * (7 if interval.unit == "week" else 1))
    months = interval.count * (12 if interval.unit == "year" else 1)
    year, month = divmod(date.year * 12 + date.month - 1 + months, 12)
    return dt.date(year, month + 1, min(date.day, calendar.monthrange(year, month + 1)[1]))


def upkeep(resolved: Resolved) -> tuple[Due, ...]:
    """The build's tasks, those with a due date first and by date, then the others in the order of the data."""
    tasks = upkeep_tasks(_conditions(resolved))
    groups: dict[str, list[Task]] = {}
    for task in tasks:
        groups.setdefault(task.task_group, []).append(task)
    found: list[Due] = []
    for rows in groups.values():
        timed = sorted((t for t in rows if t.interval is not None), key=lambda t: t.interval.days if t.interval else 0)
        shown = timed[0] if timed else rows[0]
        others = tuple(t for t in rows if t is not shown)
        for part, counted, missing in _dates(resolved, shown):
            due = after(counted, shown.interval) if counted is not None and shown.interval is not None else None
            found.append(Due(shown, part, counted, due, missing, others))
    return tuple(sorted(found, key=lambda d: (d.due is None, d.due or dt.date.max)))


def _conditions(resolved: Resolved) -> frozenset[str]:
    spec = resolved.build.spec
    found = {spec.region} & set(region_ids())
    found.add("asme" if resolved.kind.id.startswith("asme") else "cylinder")
    found.add("regulator")
    where = setting(resolved.build)
    found |= {where} if where else {"vehicle"}
    if where == "trailer":
        found.add("vehicle")
    if "csst" in materials(resolved.build):
        found.add("csst")
    if any(_hose(s.outlet) for s in served(resolved.build)) or spec.container.number > 1:
        found.add("hose")
    alarms = spec.space.alarms if spec.space is not None and spec.space.alarms is not None else []
    found |= {f"{alarm.kind}-alarm" for alarm in alarms}
    return frozenset(found)


def _hose(outlet: Outlet) -> bool:
    return outlet.connector is None or outlet.connector.kind != "rigid"


def _dates(resolved: Resolved, task: Task) -> Iterator[tuple[str | None, dt.date | None, str | None]]:
    """Part, date counted from, and what is missing, for each part the task is for."""
    spec = resolved.build.spec
    if task.interval is None:
        yield None, None, None
        return
    done = max((d.date for d in spec.done if d.task in (task.id, task.task_group)), default=None)
    if task.counted_from == "manufactured":
        for part, date in _made(resolved, task):
            yield part, done or date, None if done or date else "date of manufacture"
        return
    base = {
        "fitted": spec.fitted,
        "last-done": spec.fitted,
        "tested": max((t.date for t in spec.tests), default=None),
    }[task.counted_from or "fitted"]
    missing = {"fitted": "date fitted", "last-done": "date fitted or last done", "tested": "date of a test"}
    yield None, done or base, None if done or base else missing[task.counted_from or "fitted"]


def _made(resolved: Resolved, task: Task) -> Iterator[tuple[str, dt.date | None]]:
    spec = resolved.build.spec
    subjects = [word for word in task.applies if word in SUBJECTS]
    alarms = spec.space.alarms if spec.space is not None and spec.space.alarms is not None else []
    for subject in subjects:
        if subject in ("cylinder", "asme"):
            if (subject == "asme") == resolved.kind.id.startswith("asme"):
                yield "container", spec.container.manufactured
        elif subject == "regulator":
            yield "first regulator", spec.regulator.manufactured
            for node in resolved.build.nodes:
                if isinstance(node.part, Regulator):
                    yield node.id, node.part.manufactured
        elif subject == "hose":
            for s in served(resolved.build):
                if _hose(s.outlet):
                    yield f"connector of {s.appliance.name}", s.outlet.connector.manufactured if s.outlet.connector else None
        else:
            for alarm in alarms:
                if subject == f"{alarm.kind}-alarm":
                    yield f"{alarm.kind} alarm" + (f", {alarm.place}" if alarm.place else ""), alarm.manufactured
    if not subjects:
        yield "whole system", None
