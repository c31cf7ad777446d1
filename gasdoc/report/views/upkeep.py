"""The upkeep of a build."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Any

from msgspec.structs import replace

from gasdoc.report.content.links import Address
from gasdoc.report.drawings.chart import LONGEST_LABEL, Timeline, timeline
from gasdoc.report.formats import calendar
from gasdoc.study import Study
from gasdoc.study.upkeep import Due, after

YEARS = 5
"""How far ahead the timeline looks, from the first date that is due."""


def view(study: Study, address: Address | None = None) -> dict[str, Any]:
    """Tasks by group, those with a date first; whether there is a calendar of them, and where one subscribes to it if the
    site's address is known; the next years at a glance."""
    groups: dict[str, list[Any]] = {}
    for due in _together(study.upkeep):
        groups.setdefault(due.task.group, []).append(due)
    chart, rows = _ahead(study)
    dated = any(due.due is not None for due in study.upkeep)
    return {
        "groups": groups,
        "dated": dated,
        "subscribed": calendar.subscription(study.build.slug, address) if dated and address is not None else None,
        "chart": chart,
        "ahead_rows": rows,
        "done": _done(study),
    }


def _done(study: Study) -> list[list[str]]:
    """What was done, the latest first: date, task in words, note."""
    names = {name: due.task.short for due in study.upkeep for name in (due.task.task_group, due.task.id) if name}
    done = sorted(study.build.spec.done, key=lambda done: done.date, reverse=True)
    return [[str(d.date), names.get(d.task, d.task), d.note or ""] for d in done]


def _together(upkeep: Iterable[Due]) -> list[Due]:
    """The same task of several parts once, with all of them named, where nothing but the part differs."""
    found: dict[Due, list[str]] = {}
    for due in upkeep:
        found.setdefault(replace(due, part=None, at=()), []).append(due.part or "")
    return [replace(due, part="; ".join(parts) or None) for due, parts in found.items()]


def _ahead(study: Study) -> tuple[Timeline | None, list[list[str]]]:
    """The dated tasks of the next years, drawn, and as rows of task, first date, interval, times; no drawing without a date."""
    dated = [(due, due.due) for due in study.upkeep if due.due is not None]
    if not dated:
        return None, []
    first = min(date for _, date in dated)
    last = _years_on(first, YEARS)
    span = (last - first).days
    drawn: list[tuple[str, list[float]]] = []
    rows = []
    for due, date in dated:
        times = list(_times(due, date, last))
        if times:
            drawn.append((_label(due), [(time - first).days / span for time in times]))
        again = (
            "once"
            if due.task.once or due.task.interval is None
            else f"every {due.task.interval.text.removeprefix('1 ')}"
        )
        rows.append([_words(due), str(date), again, f"{len(times)}" if times else "later"])
    ticks = [((new_year - first).days / span, str(new_year.year)) for new_year in _new_years(first, last)]
    made = timeline(
        "upkeep-ahead",
        f"Upkeep in the {YEARS} years from {first}",
        f"One row for each task with a date, {len(drawn)} in all. A mark stands at each time it is due, if each is done on its"
        " day. The table below has the same.",
        drawn,
        ticks,
    )
    return made, rows


def _times(due: Due, date: dt.date, last: dt.date) -> Iterator[dt.date]:
    """When a task is due up to a date, if it is done on its day each time."""
    while date <= last:
        yield date
        if due.task.once or due.task.interval is None:
            return
        date = after(date, due.task.interval)


def _years_on(date: dt.date, years: int) -> dt.date:
    return dt.date(date.year + years, date.month, min(date.day, 28))


def _new_years(first: dt.date, last: dt.date) -> list[dt.date]:
    return [dt.date(year, 1, 1) for year in range(first.year + 1, last.year + 1)]


def _words(due: Due) -> str:
    """A task's short title, and the part it is for or, where the title names that, its place."""
    if due.part is None:
        return due.task.short
    name, _, place = due.part.partition(", ")
    told = name.lower() in due.task.short.lower()  # "gas alarm, by the bunk": that it is an alarm the title says
    about = place.partition(",")[0] if told else name
    return f"{due.task.short} ({about})" if about else due.task.short


def _label(due: Due) -> str:
    words = _words(due)
    return words if len(words) <= LONGEST_LABEL else words[: LONGEST_LABEL - 1].rstrip() + "…"
