"""What is overdue on a date, and only when a date is asked for."""

from __future__ import annotations

import datetime as dt
from typing import Any

from made_up_builds import Values, build, outlet, read, run

from gasdoc.source import Severity
from gasdoc.study import Study, make_study

D = dt.date


def hut(**more: Any) -> Values:
    return build(
        run("20 ft", "1/2 in nominal", material="copper", type="k"),
        outlet("Heater", "20 kBtu/h"),
        coldest=None,
        regulator={"manufactured": "2010-05-01"},
        **more,
    )


def at(spec: Values, as_of: dt.date | None) -> Study:
    taken = read(spec).build
    assert taken is not None
    made, _ = make_study(taken, as_of)
    assert made is not None
    return made


def overdue(spec: Values, as_of: dt.date | None) -> dict[str, Severity]:
    return {f.remedy.split("'")[3]: f.severity for f in at(spec, as_of).findings if f.code == "overdue"}


def test_nothing_is_overdue_unless_somebody_asks_on_a_date() -> None:
    assert overdue(hut(), None) == {}


def test_a_task_is_overdue_from_the_day_after_its_date() -> None:
    # A regulator made on 2010-05-01 is due 15 years later.
    assert "regulator-replace-15" not in overdue(hut(), D(2025, 5, 1))
    assert overdue(hut(), D(2025, 5, 2))["regulator-replace-15"] is Severity.WARNING


def test_the_finding_points_at_the_part_and_names_source_and_dates() -> None:
    (said,) = [f for f in at(hut(), D(2026, 4, 1)).findings if f.code == "overdue" and "regulator-replace" in f.remedy]
    assert said.at == ("regulator",) and said.subject == "first regulator"
    assert "2025-05-01" in said.message and "2010-05-01" in said.message and said.source


def test_what_is_done_every_week_is_only_noted_and_only_where_it_is_kept_in_the_record() -> None:
    alarmed = hut() | {"spaces": [{"alarms": [{"kind": "gas"}]}], "fitted": "2026-01-01"}
    assert "gas-alarm-test" not in overdue(alarmed, D(2026, 6, 1))
    kept = alarmed | {"done": [{"task": "gas-alarm-test", "date": "2026-05-20"}]}
    assert overdue(kept, D(2026, 6, 1))["gas-alarm-test"] is Severity.NOTE
    assert "gas-alarm-test" not in overdue(kept, D(2026, 5, 27))


def test_what_was_done_is_not_overdue() -> None:
    spec = hut(done=[{"task": "regulator-replace", "date": "2026-02-01"}])
    assert "regulator-replace-15" not in overdue(spec, D(2026, 6, 1))


def test_a_record_of_a_task_that_is_none_is_a_warning_where_it_stands() -> None:
    made = at(hut(done=[{"task": "burners", "date": "2026-02-01"}, {"task": "oil-change", "date": "2026-02-01"}]), None)
    (said,) = [f for f in made.findings if f.code == "done-unknown-task"]
    assert said.severity is Severity.WARNING and said.at == ("done", 1, "task") and "oil-change" in said.message


def test_every_task_with_an_interval_has_a_date_or_says_which_one_is_missing() -> None:
    for due in at(hut(), None).upkeep:
        if due.task.interval is not None:
            assert (due.due is None) == (due.missing is not None)


def test_a_us_cylinder_is_overdue_after_twelve_years_and_only_noted_after_ten() -> None:
    def said(as_of: dt.date) -> dict[str, Severity]:  # made on 2020-03-31
        return {
            f.code: f.severity
            for f in at(hut(), as_of).findings
            if f.subject == "container" and f.at == ("container",) and f.code in ("overdue", "past-cautious-date")
        }

    assert said(D(2030, 3, 31)) == {}
    assert said(D(2030, 4, 1)) == {"past-cautious-date": Severity.NOTE}
    assert said(D(2032, 3, 31)) == {"past-cautious-date": Severity.NOTE}
    assert said(D(2032, 4, 1)) == {"overdue": Severity.WARNING}
