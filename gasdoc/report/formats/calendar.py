"""Upkeep dates as calendars (RFC 5545): one for each build, and one for all of them together.

The same spec gives the same bytes: an event's stamp is the latest date of the record, not the time of the build, and
its UID is made of build, task and part, so that a calendar that reads the file again finds the event it knows.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Iterable

from icalendar import Alarm, Calendar, Event
from msgspec import Struct

from gasdoc import __version__
from gasdoc.build.model import Spec
from gasdoc.report.content.links import Address
from gasdoc.report.content.words import first_upper
from gasdoc.study import Study
from gasdoc.study.upkeep import Due

MORNING = dt.timedelta(hours=9)
"""When a calendar reminds of a task (our choice)."""

AHEAD = dt.timedelta(days=7)
"""How long before its day it reminds for the first time of a task that is not done every week: time to call somebody (our
choice)."""


def uri(slug: str | None) -> str:
    """Where a build's calendar is among the site's sources; the one of all builds for None."""
    return f"{slug}/upkeep.ics" if slug else "upkeep.ics"


def subscription(slug: str | None, address: Address) -> str:
    """The link by which a calendar program takes a calendar and follows it."""
    return re.sub(r"^https?:", "webcal:", address(uri(slug)))


class Dated(Struct, frozen=True, order=True):
    """A task with its date, as an event of a calendar."""

    date: dt.date
    slug: str
    number: int
    event: bytes


def dated(study: Study) -> Iterable[Dated]:
    """The tasks of a build that have a date, as all-day events."""
    for number, due in enumerate(study.upkeep):
        if due.due is not None:
            yield Dated(due.due, study.build.slug, number, bytes(_event(study, due, due.due).to_ical()))


def calendar(events: Iterable[Dated], name: str) -> bytes:
    """A calendar of tasks, in order of date."""
    made = Calendar()
    made.add("prodid", f"-//gasdoc//upkeep {__version__}//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("x-wr-calname", name)
    # What a calendar has is its own lines and then its events, so that events are written once, also for a second calendar.
    head, end, tail = bytes(made.to_ical()).partition(b"END:VCALENDAR")
    return head + b"".join(event.event for event in sorted(events)) + end + tail


def _event(study: Study, due: Due, date: dt.date) -> Event:
    spec = study.build.spec
    task = due.task
    about = f" ({due.part})" if due.part else ""
    event = Event()
    named = "\n".join((study.build.slug, task.id, due.part or ""))
    event.add("uid", f"{hashlib.sha256(named.encode()).hexdigest()[:32]}@upkeep.gasdoc")
    event.add("dtstamp", dt.datetime.combine(stamp(spec), dt.time(), dt.UTC))
    event.add("dtstart", date)
    event.add("summary", f"{spec.title}: {task.short}{about}")
    counted = (
        "the date marked on it"
        if due.marked
        else f"every {task.interval.text if task.interval else ''}, counted from {due.counted}"
    )
    event.add(
        "description",
        f"{task.task} By the {task.who}. {first_upper(counted)}. Source: {task.citation}. Task id: {task.id}.",
    )
    event.add("transp", "TRANSPARENT")
    often = task.interval is not None and task.interval.unit in ("day", "week") and not due.marked
    if often and task.interval is not None:
        event.add(
            "rrule", {"freq": {"day": "DAILY", "week": "WEEKLY"}[task.interval.unit], "interval": task.interval.count}
        )
    for trigger in (MORNING,) if often else (MORNING - AHEAD, MORNING):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", f"{spec.title}: {task.short}{about}")
        alarm.add("trigger", trigger)
        event.add_component(alarm)
    return event


def stamp(spec: Spec) -> dt.date:
    """The latest date of the record: what was started, fitted, made, tested, signed or done."""
    return max(_dates(spec), default=dt.date(2000, 1, 1))


def _dates(spec: Spec) -> Iterable[dt.date]:
    yield from (
        date
        for date in (
            spec.started,
            spec.fitted,
            spec.container.manufactured,
            spec.container.requalified,
            spec.regulator.manufactured,
        )
        if date is not None
    )
    yield from (test.date for test in spec.tests)
    yield from (done.date for done in spec.done)
    yield from (disturbance.date for disturbance in spec.disturbances)
    if spec.signed_off is not None:
        yield spec.signed_off.date
