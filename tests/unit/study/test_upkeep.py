"""Upkeep: which tasks a build gets, and dates counted by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of

from gasdoc.regions.upkeep import Interval
from gasdoc.study.upkeep import Due, after

COPPER = {"material": "copper", "type": "k"}
D = dt.date


def hut(**more: Any) -> Values:
    regulator = more.pop("regulator", None)
    container = more.pop("container", None)
    return build(
        run("10 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        regulator=regulator,
        container=container,
        **more,
    )


def due(spec: Values, group: str) -> list[Due]:
    return [d for d in study_of(spec).upkeep if group in (d.task.task_group, d.task.id)]


@pytest.mark.parametrize(
    ("start", "count", "unit", "end"),
    [
        (D(2026, 1, 31), 1, "month", D(2026, 2, 28)),
        (D(2024, 2, 29), 1, "year", D(2025, 2, 28)),
        (D(2024, 2, 29), 4, "year", D(2028, 2, 29)),
        (D(2026, 12, 15), 1, "month", D(2027, 1, 15)),
        (D(2026, 11, 30), 3, "month", D(2027, 2, 28)),
        (D(2026, 5, 1), 2, "week", D(2026, 5, 15)),
        (D(2026, 12, 31), 1, "day", D(2027, 1, 1)),
        (D(2016, 2, 1), 10, "year", D(2026, 2, 1)),
    ],
)
def test_an_interval_ends_on_the_same_day_of_a_later_month_or_its_last(start: D, count: int, unit: str, end: D) -> None:
    assert after(start, Interval(count=count, unit=unit, text="")) == end  # type: ignore[arg-type]  # a row of the table


def test_a_regulator_is_due_15_years_after_its_date_in_a_us_hut_and_10_on_a_boat_in_europe() -> None:
    dated = {"manufactured": "2020-02-29"}
    (us,) = due(hut(regulator=dated), "regulator-replace")
    assert (us.part, us.due) == ("first regulator", D(2035, 2, 28))
    (europe,) = due(hut(regulator=dated, region="boat-eu"), "regulator-replace")
    assert europe.due == D(2030, 2, 28)
    assert [t.id for t in europe.others] == ["regulator-replace-15"]


def test_a_part_without_a_date_has_no_due_date_and_says_what_is_missing() -> None:
    (regulator,) = due(hut(), "regulator-replace")
    assert regulator.due is None and regulator.missing == "date of manufacture"


def test_a_yearly_leak_check_counts_from_the_last_test() -> None:
    assert due(hut(), "leak-check")[0].missing == "date of a test"
    tests = [
        {"date": date, "kind": "leak-check", "readings": [{"time": "10:00", "pressure": "9 inH2O"}]}
        for date in ("2025-03-01", "2026-06-15", "2024-01-01")
    ]
    assert due(hut(tests=tests), "leak-check")[0].due == D(2027, 6, 15)


def test_what_was_done_moves_the_next_date_on() -> None:
    assert due(hut(), "appliance-service")[0].due == D(2027, 5, 1)  # a year after it was fitted
    done = [{"task": "appliance-service", "date": "2027-04-20"}, {"task": "appliance-service", "date": "2026-12-01"}]
    assert due(hut(done=done), "appliance-service")[0].due == D(2028, 4, 20)


def test_a_us_cylinder_is_due_twelve_years_after_its_date_with_the_older_rule_beside_it() -> None:
    (first,) = due(hut(container={"manufactured": "2020-03-31"}), "cylinder-first-requalification")
    assert (first.part, first.due) == ("container", D(2032, 3, 31))
    assert [t.id for t in first.others] == ["dot-first-10"]


def test_the_next_requalification_counts_from_the_one_stamped_on_the_cylinder() -> None:
    spec = hut(container={"manufactured": "2010-03-01", "requalified": "2022-06-01"})
    (again,) = due(spec, "cylinder-next-requalification")
    assert again.due == D(2027, 6, 1)  # 5 years, the shortest of the rows
    first = due(spec, "cylinder-first-requalification")
    assert all(d.due is None or d.due > D(2022, 6, 1) for d in first)


def test_a_cylinder_never_requalified_has_no_date_for_requalifying_again() -> None:
    assert all(d.due is None for d in due(hut(), "cylinder-next-requalification"))


def test_a_retested_european_cylinder_counts_from_its_retest() -> None:
    spec = hut(
        container={
            "type": "eu-11kg",
            "water_capacity": "27 L",
            "manufactured": "2014-06-01",
            "requalified": "2024-06-01",
        },
        region="eu",
        setting="cabin",
    )
    (retest,) = due(spec, "europe-cylinder")
    assert retest.due == D(2034, 6, 1)


def test_alarms_are_due_one_by_one_five_years_after_their_dates() -> None:
    space = {
        "alarms": [
            {"kind": "gas", "place": "low", "manufactured": "2024-01-15"},
            {"kind": "gas", "place": "bilge", "manufactured": "2026-01-15"},
        ]
    }
    found = due(hut(spaces=[space]), "gas-alarm-replace")
    assert [(d.part, d.due) for d in found] == [
        ("gas alarm, low", D(2029, 1, 15)),
        ("gas alarm, bilge", D(2031, 1, 15)),
    ]


def test_the_date_on_an_alarms_back_rules_where_it_is_earlier() -> None:
    space = {"alarms": [{"kind": "co", "manufactured": "2024-01-15", "replace_by": "2027-01-15"}]}
    (alarm,) = due(hut(spaces=[space]), "co-alarm-replace")
    assert alarm.due == D(2027, 1, 15)


def test_the_date_on_an_alarms_back_rules_where_it_is_later_than_its_usual_life() -> None:
    space = {"alarms": [{"kind": "co", "manufactured": "2024-01-15", "replace_by": "2034-01-15"}]}
    (alarm,) = due(hut(spaces=[space]), "co-alarm-replace")
    assert alarm.due == D(2034, 1, 15) and alarm.marked


def test_tasks_of_what_the_build_does_not_have_are_left_out() -> None:
    ids = {d.task.id for d in study_of(hut(spaces=[{"alarms": []}])).upkeep}
    assert "gas-alarm-replace" not in ids and "relief-valve-replace" not in ids and "dot-first-12" in ids
    tank = {"type": "asme-horizontal", "water_capacity": "40 gal", "orientation": "horizontal", "stays": "yes"}
    ids = {d.task.id for d in study_of(hut(container=tank)).upkeep}
    assert "relief-valve-replace" in ids and "dot-first-12" not in ids


def test_dated_tasks_come_first_and_in_order_of_date() -> None:
    dates = [d.due for d in study_of(hut(regulator={"manufactured": "2021-01-01"})).upkeep]
    known = [d for d in dates if d is not None]
    assert known == sorted(known) and dates[: len(known)] == known and len(known) < len(dates)


def test_nothing_is_due_from_a_clock() -> None:
    assert study_of(hut()).upkeep == study_of(hut()).upkeep
    assert all(d.due is None for d in study_of(hut(fitted=None, container={"manufactured": None})).upkeep)


@pytest.mark.parametrize(
    ("number", "inlet", "names"),
    [
        ("1", "1/4 in inverted flare", {"hose of the container"}),  # a pigtail to the regulator on the wall
        ("2", "1/4 in inverted flare", {"hoses of the containers"}),
        ("1", "POL", set()),  # the regulator goes onto the valve
        ("1", None, set()),  # nobody says what joins the two
    ],
)
def test_a_hose_of_a_container_is_due_by_the_date_on_it(number: str, inlet: str | None, names: set[str]) -> None:
    def hoses(made: dt.date | None) -> dict[str | None, dt.date | None]:
        several: Values = {"number": number, "manifold": "changeover" if number == "2" else None}
        container = several | {"hose_manufactured": str(made) if made else None}
        line = run("3 m", "1/2", material="steel-dn"), outlet("Heater", "5 kW", connector=None)
        more: Values = {"region": "eu", "setting": "cabin", "fitted": None, "container": container}
        return {d.part: d.due for d in due(build(*line, regulator={"inlet_thread": inlet}, **more), "hose-replace")}

    assert hoses(None) == dict.fromkeys(names)
    assert hoses(dt.date(2025, 3, 1)) == dict.fromkeys(names, dt.date(2035, 3, 1))  # ten years in Germany


def test_a_rigid_tail_that_is_taken_as_usual_is_no_hose() -> None:
    """Where the spec names no connector, appliances in Europe hang on a rigid tail, and those of the US on a connector."""
    parts = {
        region: [
            d.part
            for d in due(
                build(
                    run("3 m", "15 x 1 mm" if region == "eu" else "1/2 in OD", **tube),
                    outlet("Heater", "5 kW", connector=None),
                    region=region,
                    setting="cabin",
                    container={"number": "2", "manifold": "changeover"},
                ),
                "hose-replace",
            )
        ]
        for region, tube in (("eu", {"material": "copper-metric"}), ("us-cabin", COPPER))
    }
    assert set(parts["eu"]) == {"hoses of the containers"}
    assert "connector of Heater" in parts["us-cabin"]


@pytest.mark.parametrize("region", ["us-cabin", "eu", "au-nz"])
def test_the_yearly_pressures_are_held_against_what_the_plates_and_the_test_sheet_of_this_build_say(
    region: str,
) -> None:
    # A range of its own here would contradict a regulator of 11 inH2O give or take 0.5, and a plate of 13.
    (yearly,) = due(hut(region=region), "regulator-pressure")
    assert "The test sheet and the plates give the limits" in yearly.task.task
    assert "more or less" not in yearly.task.task
