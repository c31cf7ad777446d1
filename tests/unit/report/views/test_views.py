"""The overview's answers, the paths' pressures and the upkeep ahead, from small builds."""

from __future__ import annotations

import datetime as dt
import re
from typing import get_args

import pytest
from made_up_builds import INCH_OF_WATER, REGULATOR, build, european, outlet, pressures, run, study_of, tee
from markupsafe import Markup

from gasdoc.regions.proof import TestKind as Kind
from gasdoc.report.content.words import Quantities, Text
from gasdoc.report.views import overview, referral, upkeep, worklist
from gasdoc.report.views.container import page as container_page
from gasdoc.report.views.materials import page as materials
from gasdoc.report.views.materials import shopping
from gasdoc.report.views.proof import page as leak_test
from gasdoc.report.views.supply import page as supply
from gasdoc.report.views.supply.page import path_view
from gasdoc.study import Study
from gasdoc.units import System

Q = Quantities("us")


def words(study: Study) -> str:
    """The answer to: does the gas get there?"""
    return study.answers.gas_gets_there.word


def test_gas_that_arrives_with_enough_pressure_is_a_yes_by_the_numbers() -> None:
    study = study_of(build(run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h")))
    assert words(study) == "yes, by the numbers"


def test_an_appliance_below_its_plate_is_named() -> None:
    study = study_of(build(run("120 ft", "3/8 in OD", material="copper", type="l"), outlet("Cooker", "60 kBtu/h")))
    assert words(study) == "not to Cooker"


def test_a_run_without_a_size_leaves_it_unknown() -> None:
    enough = {**REGULATOR, "capacity": "900 kBtu/h"}
    study = study_of(
        build(run("900 ft", material="copper", type="l"), outlet("Cooker", "900 kBtu/h"), regulator=enough)
    )
    assert words(study) == "not known"


def test_a_path_falls_from_the_regulator_to_the_appliance_and_its_length_adds_up() -> None:
    study = study_of(
        build(
            run("10 ft", "1/2 in OD", material="copper", type="l"),
            tee(
                [run("5 ft", "3/8 in OD"), outlet("Cooker", "20 kBtu/h")],
                [run("20 ft", "3/8 in OD"), outlet("Heater", "10 kBtu/h")],
            ),
        )
    )
    solved = pressures(study)[0]
    assert solved is not None
    charts, rows = path_view(study.zones[0], solved, Q, study.build.labels)
    assert [line.name for line in charts[0].lines][:2] == ["Cooker", "Heater"]
    heater = [row for row in rows if row[0] == "Heater"]
    assert [float(row[2]) for row in heater] == [0, 10, 30, 30]
    gauges = [float(row[3]) for row in heater]
    assert gauges == sorted(gauges, reverse=True) and gauges[0] == 11
    full = {o.id: o.full for o in solved.outlets}["heater"]
    assert gauges[-1] == pytest.approx(full / INCH_OF_WATER, abs=0.05)  # printed to a tenth


def test_upkeep_ahead_has_each_dated_task_with_how_often_it_falls_due() -> None:
    study = study_of(
        build(
            run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h"), fitted="2026-05-16"
        )
    )
    found = upkeep.view(study)
    first = min(due.due for due in study.upkeep if due.due is not None)
    assert found["chart"].title == f"Upkeep in the 5 years from {first}"
    assert [tick.label for tick in found["chart"].ticks] == [str(first.year + n) for n in range(1, 6)]
    yearly = [row for row in found["ahead_rows"] if row[2] == "every year"]
    assert yearly
    for row in yearly:
        # By hand: a yearly task falls due on its day in each year up to five years after the first date.
        start = dt.date.fromisoformat(row[1])
        assert row[3] == str(
            1
            + sum(
                (start.year + n, start.month, start.day) <= (first.year + 5, first.month, first.day)
                for n in range(1, 7)
            )
        )
    assert len(found["chart"].rows) == sum(1 for row in found["ahead_rows"] if row[3] != "later")


def dated_hut() -> Study:
    spec = build(
        run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h"), fitted="2026-05-16"
    )
    spec["spaces"][0]["alarms"] = [
        {"kind": "gas", "place": "by the door, left", "manufactured": "2025-01-15"},
        {"kind": "co", "place": "bunk room", "manufactured": "2025-01-15"},
    ]
    return study_of(spec)


def test_upkeep_is_labelled_in_whole_words_that_fit_and_name_the_alarm_by_its_place() -> None:
    labels = [row.label for row in upkeep.view(dated_hut())["chart"].rows]
    assert "Replace the LP-gas alarm (by the door)" in labels and "Replace the CO alarm (bunk room)" in labels
    assert not any("…" in label or len(label) > 56 for label in labels)


def test_a_calendar_is_subscribed_to_where_the_address_of_the_site_is_known() -> None:
    made = dated_hut()
    assert upkeep.view(made)["subscribed"] is None
    found = upkeep.view(made, lambda target: f"https://example.org/b/{target}")["subscribed"]
    assert found == f"webcal://example.org/b/{made.build.slug}/upkeep.ics"


def test_the_next_upkeep_is_a_first_date_and_no_claim_that_it_is_still_to_come() -> None:
    step = overview.view(dated_hut(), Markup())["next_steps"][-1]
    assert str(step) == (
        "Besides what is done every week or oftener, upkeep is first due 2027-05-16, then every year: Measure delivered "
        "pressure. <code>gasdoc check</code> says what is overdue."
    )


def test_the_question_about_upkeep_names_four_tasks_at_most_and_tubing_in_words() -> None:
    asked = {q.id: q.text for q in dated_hut().questions}
    assert len(re.findall(r"\(\d{4}-\d\d-\d\d\)", asked["periodic"])) == 4 and asked["periodic"].endswith(" and more.")
    assert "mbar" not in asked["periodic"] and "10 ft of 1/2 in OD copper, type L?" in asked["tubing"]
    metric = study_of(
        build(run("2 m", "8 mm x 1 mm", material="copper-metric"), outlet("Cooker", "2 kW"), region="boat-eu")
    )
    assert "of 8 mm x 1 mm copper?" in {q.id: q.text for q in metric.questions}["tubing"]


def test_a_build_without_dates_has_no_drawing_of_upkeep() -> None:
    study = study_of(
        build(
            run("10 ft", "1/2 in OD", material="copper", type="l"),
            outlet("Cooker", "20 kBtu/h"),
            fitted=None,
            container={"manufactured": None},
        )
    )
    assert all(due.due is None for due in study.upkeep)
    assert upkeep.view(study)["chart"] is None
    assert upkeep.view(study, str)["subscribed"] is None


def test_numbers_of_a_table_know_the_other_unit() -> None:
    both = Quantities("us", "si")
    number, unit = both.number(2740.0, "supply pressure"), both.unit("supply pressure")
    assert isinstance(number, Text) and isinstance(unit, Text)
    assert (number, number.other, unit, unit.other) == ("11", "27.4", "inH2O", "mbar")
    same = both.number(1e-6 / 60, "leak rate")
    assert (same, same.other) == ("1", "")  # type: ignore[attr-defined]  # a Text behind a str
    assert re.fullmatch(r"[\d.]+", number)


def priced_hut(items: dict[str, object]) -> Study:
    return study_of(
        build(
            run("10 ft", "1/2 in OD", material="copper", type="l"),
            outlet("Cooker", "20 kBtu/h"),
            prices={"currency": "USD", "date": "2026-01-01", "items": items},
        )
    )


def test_cost_by_group_sums_the_known_prices_and_says_how_many_lines_have_none() -> None:
    study = priced_hut({"leak-fluid": 5, "thread-sealant": {"low": 4, "high": 7}})
    found = materials.view(study)
    (bar,) = found["cost"].bars  # nothing else has a price
    row = next(row for row in found["cost_rows"] if row[0] == "Sealing and testing")
    lines, missing = int(row[1]), int(row[2])
    # By hand: one bottle at 5, one tin at 4 to 7.
    assert row[3] == "9.00 to 12.00" and missing == lines - 2
    assert bar.label == "Sealing and testing" and bar.words == f"9.00 to 12.00, {missing} not known"
    assert [(piece.style, piece.width) for piece in bar.pieces] == [("piece", 270), ("range", 90)]  # 9 and 3 of 12
    assert [sum(int(r[i]) for r in found["cost_rows"]) for i in (1, 2)] == [int(found["cost_foot"][i]) for i in (1, 2)]
    to_buy, unknown = len(study.shopping.to_buy), study.shopping.unknown
    assert unknown == to_buy - 2
    assert found["cost_said"] == (
        f"{unknown} of {to_buy} lines to buy ({unknown / to_buy * 100:.0f} %) have no price, so every sum here is short of those."
    )


def test_without_a_known_price_there_is_no_picture_of_cost() -> None:
    assert materials.view(priced_hut({}))["cost"] is None
    bare = study_of(build(run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h")))
    assert materials.view(bare)["cost"] is None


def test_rules_that_are_not_met_or_not_known_come_first_and_every_rule_is_counted_under_its_subject() -> None:
    study = study_of(build(run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h")))
    found = referral.view(study)
    expected = [r.rule.asks for r in study.rules if r.outcome in ("not met", "not known")]
    assert sorted(row["asks"] for row in found["open_rules"]) == sorted(expected) and expected
    for _, said, rows in found["subjects"]:
        assert sum(int(count) for count in re.findall(r"(\d+) (?:not|met|for)", said)) == len(rows)


def test_the_same_task_of_several_parts_is_said_once_and_names_them_all() -> None:
    study = study_of(
        build(
            run("10 ft", "1/2 in OD", material="copper", type="l"),
            tee([outlet("Cooker", "20 kBtu/h")], [outlet("Heater", "10 kBtu/h")]),
            fitted="2026-05-16",
        )
    )
    shown = [due for rows in upkeep.view(study)["groups"].values() for due in rows]
    keys = [(due.task.id, due.due, due.counted, due.missing, due.mark) for due in shown]
    assert len(keys) == len(set(keys)) <= len(study.upkeep)
    parts = [due.part for due in study.upkeep if due.part is not None]
    assert all(any(part in (due.part or "") for due in shown) for part in parts)


@pytest.mark.parametrize(
    ("outlet_set", "lock_up", "system"),
    [("30 mbar", "36 mbar", "si"), ("50 mbar", "60 mbar", "si"), ("2 psi", "2.4 psi", "us")],
)
def test_the_pressures_of_any_zone_print_with_digits_that_tell_them_apart(
    outlet_set: str, lock_up: str, system: System
) -> None:
    """A zone at 50 mbar was shown in bar, where every drop was 0."""
    regulator = {**REGULATOR, "outlet": outlet_set, "lock_up": lock_up, "tolerance": "0 mbar"}
    spec = build(
        run("4 m", "10 x 1 mm", material="copper-metric", id="near"),
        tee([run("4 m", "8 x 1 mm"), outlet("Stove", "4 kW")], [run("1 m", "8 x 1 mm"), outlet("Oven", "3 kW")]),
        regulator=regulator,
        units=system,
        region="eu" if system == "si" else "us-cabin",
        setting="cabin",
    )
    made = study_of(spec)
    (zone,) = supply.view(made, Markup(), ("", ()))["zones"]
    gauges, drops = ([str(row[i]) for row in zone["run_pressures"]] for i in (1, 2))
    assert len(set(gauges)) > 1 and "0" not in drops
    assert str(Quantities(system).unit(zone["kind"])) == str(Quantities(system).unit(zone["drop_kind"]))


def test_the_example_of_a_price_is_of_the_builds_own_tubing_and_units() -> None:
    us = build(run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h"))
    for spec, key, per in ((us, "copper-l 3/8", "50 ft"), (european(), "copper-metric 10x1", "10 m")):
        (zone,) = shopping.least_cost_view(study_of(spec))["zones"]
        assert (zone["example"], zone["per"]) == (key, per)


def test_all_appliances_at_once_are_told_in_gas_an_hour_where_regulators_are_sold_by_it() -> None:
    """6 kW net are 6 x 1.086 gross, and 50.0 MJ/kg make 0.47 kg/h of that."""

    def at_once(study: Study) -> str:
        return re.sub(r"<[^>]+>", "", str(overview.view(study, Markup())["figures"][0][2]))

    assert at_once(dated_hut()) == "1 appliance"
    told = re.fullmatch(r"(.+?)&#160;kg/h of gas; 1 appliance", at_once(study_of(european())))
    assert told is not None and float(told[1]) == pytest.approx(0.47, abs=0.005)


def test_every_kind_of_test_has_a_name_and_a_step() -> None:
    assert set(get_args(Kind)) == set(leak_test.TEST_TITLES) == set(leak_test.ROWS)


def test_the_weight_of_a_kind_sold_with_more_in_it_says_how_much() -> None:
    """8.5 or 9 kg are sold in one and the same cylinder: the use is counted on the one, the weight on the other."""
    line = (run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h"))
    two = {"type": "anz-9kg", "tare": "8.5 kg", "water_capacity": None}
    made = study_of(build(*line, container=two, region="au-nz", units="si"))
    weight = {name: (str(value), str(said)) for name, value, said in container_page._figures(made, Quantities("si"))}
    value, said = weight["Weight when full"]
    assert "17.5" in value and "up to" in said and "9" in said.split("up to")[1]
    even = study_of(build(*line))
    assert not any("up to" in str(said) for _, _, said in container_page._figures(even, Q))


def test_what_is_open_names_the_key_of_each_place_that_lacks_a_thread() -> None:
    line = (run("10 ft", "1/2 in OD", material="copper", type="l"), outlet("Cooker", "20 kBtu/h", inlet_thread=None))
    regulator = {**REGULATOR, "inlet_thread": None}
    made = study_of(build(*line, regulator=regulator, container={"connection": None}, fitted=None))
    groups = worklist.view(made)["groups"]
    (said,) = (
        remedy for group in groups for _, things in group["lines"] for _, _, remedy in things if "'POL'" in remedy
    )
    keys = (
        "'connection:' under 'container:'",
        "'inlet_thread:' under 'regulator:'",
        "'inlet_thread:' under 'appliance:'",
    )
    assert all(key in said for key in keys)


def test_the_gauge_with_the_shortest_hold_stands_first() -> None:
    """A coarse gauge that takes long is not what one should bring: it stands behind those that do with the rule's time."""
    spec = build(run("20 ft", "3/4 in", material="steel"), outlet("Heater", "20 kBtu/h"))
    for plan in study_of(spec).plans:
        shown = [row[0].split(", read to")[0] for row in leak_test._plan_table(plan.holds, Q)[1]]
        least = {gauge: min(h.hold or 9e9 for h in plan.holds if h.gauge == gauge) for gauge in shown}
        assert [least[gauge] for gauge in shown] == sorted(least.values())
