"""Dates that contradict each other, and dates that are still to come."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, read, run

from gasdoc.source import Severity
from gasdoc.study import make_study

TEST = {
    "kind": "piping",
    "date": "2026-05-10",
    "medium": "air",
    "readings": [{"time": "10:00", "pressure": "3 psi"}, {"time": "10:30", "pressure": "3 psi"}],
}
SIGNED = {"date": "2026-05-20", "by": "County inspector"}


def hut(**more: Any) -> Values:
    return build(
        run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "20 kBtu/h"), coldest=None, **more
    )


def said(spec: Values) -> list[str]:
    return [f"{p.message}; {p.hint}" for p in read(spec).problems if p.code == "spec-dates"]


@pytest.mark.parametrize("more", [{"fitted": "2026-05-01"}, {"tests": [TEST]}, {"signed_off": SIGNED}])
def test_what_is_dated_before_the_work_began_is_an_error(more: Values) -> None:
    (told,) = said(hut(started="2026-06-01", **more))
    assert "is before 2026-06-01, when the work began; correct this date" in told
    assert said(hut(started="2026-05-01", **more)) == said(hut(**more)) == []


def test_one_wrong_date_is_told_once() -> None:
    assert len(said(hut(started="2026-06-01", fitted="2026-05-01", tests=[TEST], signed_off=SIGNED))) == 1


def to_come(spec: Values, as_of: dt.date | None) -> list[tuple[object, ...]]:
    taken = read(spec).build
    assert taken is not None
    made, _ = make_study(taken, as_of)
    assert made is not None
    assert all(f.severity is Severity.WARNING for f in made.findings if f.code == "date-to-come")
    return sorted(f.at for f in made.findings if f.code == "date-to-come")


def test_a_date_that_is_still_to_come_is_a_warning_where_it_stands() -> None:
    spec = hut(fitted="2026-05-01", tests=[TEST], signed_off=SIGNED, regulator={"manufactured": "2030-01-01"})
    spec["spaces"] = [{"alarms": [{"kind": "gas", "manufactured": "2026-01-01", "replace_by": "2033-01-01"}]}]
    assert to_come(spec, None) == []  # pages know no clock
    assert to_come(spec, dt.date(2026, 6, 1)) == [("regulator", "manufactured")]
    assert to_come(spec, dt.date(2026, 5, 20)) == [("regulator", "manufactured")]
    assert ("signed_off", "date") in to_come(spec, dt.date(2026, 5, 19))
    assert ("tests", 0, "date") in to_come(spec, dt.date(2026, 5, 9))
    assert len(to_come(spec, dt.date(2025, 12, 31))) == 5


def test_the_date_of_an_appliance_deep_in_the_tree_is_looked_at() -> None:
    spec = hut()
    spec["supply"][-1]["outlet"]["appliance"]["manufactured"] = "2031-01-01"
    ((*way, last),) = to_come(spec, dt.date(2026, 6, 1))
    assert last == "manufactured" and way[:2] == ["supply", 1]
