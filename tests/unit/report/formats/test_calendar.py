"""Calendars of upkeep: read back with another library, and the same bytes every time."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import vobject
from made_up_builds import Values, build, outlet, run, study_of

from gasdoc.report.formats.calendar import calendar, dated, stamp

COPPER = {"material": "copper", "type": "k"}


def hut(**more: Any) -> Values:
    spec = build(
        run("20 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        coldest=None,
        regulator={"manufactured": "2024-02-29"},
        **more,
    )
    spec["spaces"][0]["alarms"] = [
        {"kind": "gas", "place": "low; by the door, left", "manufactured": "2025-01-15"},
        {"kind": "co", "place": "über dem Bett", "manufactured": "2025-01-15", "replace_by": "2027-01-15"},
    ]
    return spec


def events(raw: bytes) -> list[Any]:
    parsed = list(vobject.readComponents(raw.decode("utf-8")))
    assert len(parsed) == 1
    return list(parsed[0].vevent_list)


def test_every_dated_task_is_an_all_day_event_on_its_date() -> None:
    made = study_of(hut())
    expected = [due for due in made.upkeep if due.due is not None]
    read = events(calendar(dated(made), "Upkeep of Test Hut"))
    assert [e.dtstart.value for e in read] == [due.due for due in expected]
    assert all(type(e.dtstart.value) is dt.date for e in read)
    for event, due in zip(read, expected, strict=True):
        assert due.task.short in event.summary.value and due.task.task in event.description.value
        assert "Test Hut" in event.summary.value
        assert due.task.who in event.description.value and due.task.id in event.description.value
        assert str(due.task.citation) in event.description.value


def test_a_part_is_named_whatever_characters_it_has() -> None:
    texts = [e.summary.value for e in events(calendar(dated(study_of(hut())), "x"))]
    assert any("low; by the door, left" in t for t in texts) and any("über dem Bett" in t for t in texts)


def test_the_date_marked_on_an_alarm_is_said_to_be() -> None:
    (event,) = [e for e in events(calendar(dated(study_of(hut())), "x")) if "über" in e.summary.value]
    assert event.dtstart.value == dt.date(2027, 1, 15) and "marked on it" in event.description.value


def test_the_stamp_is_the_latest_date_of_the_record_and_not_the_clock() -> None:
    made = study_of(hut(done=[{"task": "burners", "date": "2026-08-09"}]))
    assert stamp(made.build.spec) == dt.date(2026, 8, 9)
    stamps = {e.dtstamp.value for e in events(calendar(dated(made), "x"))}
    assert stamps == {dt.datetime(2026, 8, 9, tzinfo=dt.UTC)}


def test_an_event_keeps_its_id_when_its_date_moves_and_every_event_has_its_own() -> None:
    def ids(spec: Values) -> list[str]:
        return [e.uid.value for e in events(calendar(dated(study_of(spec)), "x"))]

    before, after = ids(hut()), ids(hut(done=[{"task": "burners", "date": "2027-08-09"}]))
    assert len(set(before)) == len(before) and set(before) == set(after)


def test_weekly_tasks_repeat_and_others_do_not() -> None:
    for event in events(calendar(dated(study_of(hut())), "x")):
        weekly = "test button" in event.description.value
        assert hasattr(event, "rrule") == weekly
        assert not weekly or event.rrule.value == "FREQ=WEEKLY;INTERVAL=1"


def test_lines_end_and_fold_as_the_format_asks() -> None:
    raw = calendar(dated(study_of(hut())), "x")
    assert raw.endswith(b"END:VCALENDAR\r\n") and b"\n" not in raw.replace(b"\r\n", b"")
    assert max(map(len, raw.split(b"\r\n"))) <= 75
    assert raw.count(b"DTSTART;VALUE=DATE:") == raw.count(b"BEGIN:VEVENT") > 5


def test_the_same_spec_gives_the_same_bytes_and_all_builds_go_into_one() -> None:
    one, again = study_of(hut()), study_of(hut())
    assert calendar(dated(one), "x") == calendar(dated(again), "x")
    other = study_of(hut(title="Other Hut"))
    both = calendar([*dated(one), *dated(other)], "Upkeep of all builds")
    assert len(events(both)) == 2 * len(events(calendar(dated(one), "x")))
    dates = [e.dtstart.value for e in events(both)]
    assert dates == sorted(dates)


def test_no_event_is_said_to_be_overdue() -> None:
    assert not re.search(rb"overdue", calendar(dated(study_of(hut())), "x"), re.IGNORECASE)


def test_a_calendar_reminds_on_the_morning_of_the_day_and_a_week_ahead_of_what_is_not_weekly() -> None:
    nine = dt.timedelta(hours=9)
    for event in events(calendar(dated(study_of(hut())), "x")):
        told = [alarm.trigger.value for alarm in event.valarm_list]
        assert told == ([nine] if hasattr(event, "rrule") else [nine - dt.timedelta(days=7), nine])
        for alarm in event.valarm_list:
            assert alarm.action.value == "DISPLAY" and alarm.description.value == event.summary.value
