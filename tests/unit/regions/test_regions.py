"""The rule data: every row is sourced, marked and in its closed lists, and the loader refuses one that is not."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any, get_args

import fast_yaml
import pytest
from changed_data import changed_files

from gasdoc import data, regions
from gasdoc.catalog.tubing import material, materials
from gasdoc.data import Cited, Entry
from gasdoc.regions.cautions import CAUTION_CONDITIONS, CAUTION_GROUPS, cautions
from gasdoc.regions.proof import leak_methods
from gasdoc.regions.questions import PLACEHOLDERS, questions
from gasdoc.regions.region import UnknownRegion, region, region_ids
from gasdoc.regions.rules import MEASURES, Sought
from gasdoc.regions.upkeep import TASK_CONDITIONS, TASK_GROUPS, Interval, upkeep_tasks
from gasdoc.source import CONFIRMED, Citation
from gasdoc.units import Given, parse

REGIONS = region_ids()
FOLDER = Path(regions.__file__).parent
SHARED_FILES = ("cautions", "common", "leak_methods", "questions", "upkeep")
RANK = {"memory": 0, "practice": 1, "computed": 2, "once": 3, "twice": 4}
FORBIDDEN = re.compile(r"\b(compliant|approved|certified|leak-free|is safe)\b", re.IGNORECASE)

every_region = pytest.mark.parametrize("region_id", REGIONS)


def values(thing: object) -> Iterator[object]:
    """The thing and everything inside it."""
    yield thing
    if isinstance(thing, Cited):
        yield thing.citation
    if isinstance(thing, Entry):
        for name in thing.__struct_fields__:
            yield from values(getattr(thing, name))
    elif isinstance(thing, tuple):
        for item in thing:
            yield from values(item)


def everything_shared() -> tuple[object, ...]:
    tasks = tuple(t for r in REGIONS for t in upkeep_tasks(frozenset(TASK_CONDITIONS), region(r).practice))
    return (cautions(frozenset(CAUTION_CONDITIONS), region("us-cabin").practice), tasks, leak_methods())


def strings(raw: Any) -> Iterator[str]:
    if isinstance(raw, dict):
        for value in raw.values():
            yield from strings(value)
    elif isinstance(raw, list):
        for value in raw:
            yield from strings(value)
    elif isinstance(raw, str):
        yield raw


def refused(tmp_path: Path, name: str, **keys: Any) -> str:
    """What is told of a data file in which some keys are set anew, or taken out where they are None."""
    raw = fast_yaml.read(FOLDER / name) | keys
    text = fast_yaml.written({key: value for key, value in raw.items() if value is not None})
    with changed_files("gasdoc.regions", {name: text}, tmp_path), pytest.raises(data.DataError) as caught:
        region("us-cabin")
        upkeep_tasks(frozenset(), region("us-cabin").practice)
    assert re.match(rf"{name}:\d+:\d+: ", str(caught.value))
    return str(caught.value)


# --- sources, marks, words ------------------------------------------------------------------------------------------


@every_region
def test_everything_in_a_region_has_a_source_and_a_mark(region_id: str) -> None:
    found = region(region_id)
    cited = [v for v in values(found) if isinstance(v, Citation)]
    rows = (found.codes, found.people, found.signoff, found.rules, found.tests, found.questions)
    assert all(rows) and len(cited) >= sum(map(len, rows)) + 2  # and two of the supply
    assert all(c.text.strip() and c.confirmed in CONFIRMED for c in cited)


def test_everything_shared_has_a_source_and_a_mark() -> None:
    cited = [v for v in values(everything_shared()) if isinstance(v, Citation)]
    assert len(cited) > 120
    assert all(c.text.strip() and c.confirmed in CONFIRMED for c in cited)


@every_region
def test_a_shared_row_is_never_given_a_better_mark_than_it_has(region_id: str) -> None:
    raw = data.words("gasdoc.regions", f"{region_id}.yaml")
    common = data.words("gasdoc.regions", "common.yaml")
    for kind in ("rules", "tests"):
        shared = {row["id"]: row for row in common[kind]}
        for row in raw[kind]:
            if "use" in row:
                mark = row.get("confirmed", shared[row["use"]]["confirmed"])
                assert RANK[mark] <= RANK[shared[row["use"]]["confirmed"]], row


def test_each_row_that_parts_are_chosen_by_is_a_row_of_some_region() -> None:
    assert {*get_args(Sought)} <= {rule.id for name in REGIONS for rule in region(name).rules}


def test_what_regions_say_of_tubing_is_said_of_one_that_there_is() -> None:
    rows = data.words("gasdoc.regions", "materials.yaml")["rows"]
    known = {(name, kind) for name in materials() for kind in (None, *material(name).kinds)}
    assert {(row["material"], row.get("type")) for row in rows} <= known


def test_every_shared_row_is_used() -> None:
    common = data.words("gasdoc.regions", "common.yaml")
    for kind in ("rules", "tests"):
        used = {row.get("use") for r in REGIONS for row in data.words("gasdoc.regions", f"{r}.yaml")[kind]}
        assert {row["id"] for row in common[kind]} <= used


@pytest.mark.parametrize("name", [*REGIONS, *SHARED_FILES])
def test_no_file_uses_a_word_that_would_be_a_verdict(name: str) -> None:
    texts = list(strings(data.words("gasdoc.regions", f"{name}.yaml")))
    assert texts
    assert [t for t in texts if FORBIDDEN.search(t)] == []


def test_the_search_for_verdicts_would_find_one() -> None:
    assert FORBIDDEN.search("the build is safe") and FORBIDDEN.search("Approved detector")
    assert not FORBIDDEN.search("a certificate is asked for")


# --- rules ----------------------------------------------------------------------------------------------------------


@every_region
def test_every_limit_is_in_the_dimension_its_measure_needs(region_id: str) -> None:
    limited = [r for r in region(region_id).rules if r.limit is not None]
    assert limited
    for rule in limited:
        assert rule.measure is not None
        measure = MEASURES[rule.measure]
        if measure.words:
            assert isinstance(rule.limit, tuple) and set(rule.limit) <= set(measure.words)
        elif measure.dimensions:
            assert isinstance(rule.limit, Given) and rule.limit.dimension == measure.dimensions[0]
        else:
            assert isinstance(rule.limit, float) and not isinstance(rule.limit, Given)
        assert rule.limit_text


@every_region
def test_a_region_states_one_limit_for_a_measure_unless_the_other_is_an_alternative(region_id: str) -> None:
    seen: dict[tuple[object, ...], object] = {}
    for rule, where in product(region(region_id).rules, ("moves", "building")):
        if rule.relation is not None and not rule.alternative and rule.where in (None, where):
            # One of the two EN 721 rows applies: to room-sealed appliances only, or to all others.
            sealed_only = rule.method == "en-721-no-appliances"
            key = (rule.measure, rule.relation, rule.condition, sealed_only, where)
            said = (rule.limit, rule.method)
            assert seen.setdefault(key, said) == said, rule.id


@every_region
def test_the_drop_used_for_sizing_is_the_one_the_rules_ask(region_id: str) -> None:
    found = region(region_id)
    rows = [r for r in found.rules_for("sizing-drop") if not r.alternative]
    if found.supply.sizing.method == "tables":
        assert [r.limit for r in rows] == [found.supply.sizing.drop]
    else:
        assert rows == []


def test_the_greatest_inside_pressure_of_a_vehicle_is_14_inches_of_water() -> None:
    """24 CFR 3280.704(a)(2): 14 in. water column, 1/2 psi."""
    (rule,) = [r for r in region("us-vehicle").rules_for("inside-pressure") if not r.alternative]
    assert rule.citation.confirmed == "twice"
    assert rule.limit == pytest.approx(parse("14 inH2O", "pressure"))
    assert rule.limit == pytest.approx(parse("0.5 psi", "pressure"), rel=0.02)  # 14 in. is 0.506 psi
    of_all, of_manufactured = region("us-cabin").rules_for("inside-pressure")
    assert of_manufactured.alternative and not of_all.alternative
    assert of_all.limit == pytest.approx(parse("20 psi", "pressure"))  # NFPA 54 1.1.1.1(B), exception 2


def test_the_drop_allowance_is_the_tables_or_a_share() -> None:
    assert region("us-cabin").supply.sizing.drop_allowance(2740.0) == pytest.approx(124.54, abs=0.01)
    assert region("eu").supply.sizing.drop_allowance(3000.0) == pytest.approx(150.0)
    assert region("eu").supply.sizing.citation.confirmed == "practice"


def test_a_water_capacity_in_pounds_is_held_as_a_volume() -> None:
    """105 lb at 8.32828 lb/gal (WAC 296-307-40029) is 12.608 US gal or 47.73 L."""
    rule = next(r for r in region("us-vehicle").rules if r.id == "rv-cylinder-size")
    assert isinstance(rule.limit, Given)
    assert rule.limit * 1000 == pytest.approx(47.73, abs=0.005)
    assert rule.limit_text == "105 lb of water"


def test_a_weight_is_held_as_a_volume_only_where_the_measure_takes_volumes() -> None:
    """100 lb is 45.359237 kg; of water, at 8.32828 lb/gal and 3.785411784 L/gal, 45.45 L."""
    fuel = MEASURES["container-fuel"].limit("100 lb")
    assert isinstance(fuel, Given) and fuel.dimension == "mass"
    assert (fuel.text, fuel) == ("100 lb", pytest.approx(45.359237))
    water = MEASURES["container-water-capacity"].limit("100 lb")
    assert isinstance(water, Given) and water.dimension == "volume"
    assert water * 1000 == pytest.approx(45.45, abs=0.005)


def test_the_regions_own_rows_come_before_alternatives() -> None:
    rows = region("us-vehicle").rules_for("mount-load-multiple")
    assert [(r.limit, r.alternative) for r in rows] == [(4.0, False), (8.0, True)]


# --- tests ----------------------------------------------------------------------------------------------------------


@every_region
def test_every_region_has_a_pressure_test_and_a_leak_check_with_pressure_and_hold(region_id: str) -> None:
    tests = region(region_id).tests
    for kind in ("piping", "leak-check"):
        rows = [t for t in tests if t.kind == kind]
        assert any(t.asked for t in rows)
        assert any(t.hold is not None and t.hold > 0 and t.pressure.text for t in rows)


@every_region
def test_a_pressure_test_never_uses_gas_or_oxygen_and_has_a_lowest_pressure(region_id: str) -> None:
    for test in region(region_id).tests:
        assert "oxygen" not in test.medium
        if test.kind == "piping":
            assert "LP gas" not in test.medium
            known = test.pressure.least(parse("11 inH2O", "pressure"))
            assert (
                (known or 0) > 0
                if test.id != "piping-building"
                else known is None and "No text of them was read" in test.pressure.text
            )
        low, high = test.pressure.minimum, test.pressure.maximum
        assert low is None or high is None or low <= high


@pytest.mark.parametrize(
    ("region_id", "test_id", "least", "hold", "settle", "drop", "source"),
    [
        ("us-cabin", "piping-ifgc", "3 psi", "10 min", None, "0 psi", "IFGC 406.4.1, 406.4.2"),
        ("us-cabin", "piping-louisiana", "3 psi", "15 min", None, "0 psi", "LAC 55:IX.175"),
        ("us-trailer", "piping-vendor-unit", "10 psi", "15 min", None, "0 psi", "WAC 296-150V-1450"),
        ("us-cabin", "leak-check-low", "8.5 inH2O", "3 min", None, "0 Pa", "NFPA 54 Annex C.3: 9 in. +/- 1/2"),
        ("uk", "piping-en-1949", "150 mbar", "5 min", "5 min", "10 mbar", "EN 1949:2011+A1:2013 4.3"),
        ("eu", "piping-en-1949", "150 mbar", "5 min", "5 min", "10 mbar", "EN 1949:2011+A1:2013 4.3"),
        ("boat-eu", "piping-iso-10239", "90 mbar", "5 min", "5 min", "5 mbar", "ISO 10239 wording: 3 x working"),
        ("au-nz", "leak-check-as-nzs", "30 mbar", "5 min", "2 min", "0 Pa", "AS/NZS 5601.2 E.3.2: at working pressure"),
        ("boat-us", "piping-cfr-58", "5 psi", None, None, "0 psi", "46 CFR 58.16-19(a), which gives no time"),
    ],
)
def test_the_figures_of_the_tests_are_those_of_their_sources(
    region_id: str, test_id: str, least: str, hold: str | None, settle: str | None, drop: str, source: str
) -> None:
    test = next(t for t in region(region_id).tests if t.id == test_id)
    assert test.pressure.least(parse("30 mbar", "pressure")) == pytest.approx(parse(least, "pressure"))
    assert test.hold == (parse(hold, "time") if hold else None), source
    assert test.settle == (parse(settle, "time") if settle else None), source
    assert test.passes.allowed_drop == pytest.approx(parse(drop, "pressure")), source


def test_the_asked_pressure_follows_the_working_pressure_within_its_bounds() -> None:
    ifgc = next(t for t in region("us-cabin").tests if t.id == "piping-ifgc").pressure
    assert ifgc.least(parse("1 psi", "pressure")) == pytest.approx(parse("3 psi", "pressure"))
    assert ifgc.least(parse("5 psi", "pressure")) == pytest.approx(parse("7.5 psi", "pressure"))
    iso = next(t for t in region("boat-eu").tests if t.id == "piping-iso-10239").pressure
    assert iso.least(parse("60 mbar", "pressure")) == pytest.approx(parse("150 mbar", "pressure"))
    words = next(t for t in region("us-cabin").tests if t.id == "leak-check-container").pressure
    assert words.least(1000.0) is None


@pytest.mark.parametrize(("region_id", "test_id"), [("us-vehicle", "piping-nfpa-1192"), ("canada", "piping-csa")])
def test_a_test_known_from_memory_says_so(region_id: str, test_id: str) -> None:
    row = next(t for t in region(region_id).tests if t.id == test_id)
    assert row.asked and row.citation.confirmed == "memory"


@every_region
@pytest.mark.parametrize("working", ["11 inH2O", "30 mbar", "10 psi"])
def test_no_pressure_test_asked_of_a_line_is_under_its_working_pressure(region_id: str, working: str) -> None:
    gauge = parse(working, "pressure")
    for test in region(region_id).tests:
        if test.kind == "piping" and test.pressure.applies(gauge) and test.id != "piping-building":
            assert (test.pressure.least(gauge) or 0) >= gauge, test.id


def test_where_canadas_texts_differ_the_longer_time_is_asked_and_all_are_told() -> None:
    """A training series: 15 min of any length, 60 min of 250 ft, 180 min at 50 psi over 200 ft; above 2 psi 60 or 180 min."""
    low, high = (test for test in region("canada").tests if test.kind == "piping")
    assert (low.hold, high.hold) == (parse("60 min", "time"), parse("180 min", "time"))
    assert all(words in low.when for words in ("15 min", "60 min", "50 psi for 180 min", "Ask which holds"))


def test_canadas_two_pressure_tests_divide_at_2_psi() -> None:
    rows = [t.pressure for t in region("canada").tests if t.kind == "piping"]
    assert [r.applies(parse("2 psi", "pressure")) for r in rows] == [True, False]
    assert [r.applies(parse("2.1 psi", "pressure")) for r in rows] == [False, True]
    assert [r.applies(parse("34 psi", "pressure")) for r in rows] == [False, False]


# --- questions, cautions, upkeep, leak methods ----------------------------------------------------------------------


@every_region
def test_every_question_can_be_filled_from_the_closed_list(region_id: str) -> None:
    facts = {name: f"<{name}>" for name in PLACEHOLDERS}
    asked = questions(region(region_id).questions, frozenset(CAUTION_CONDITIONS))
    assert len(asked) >= 13
    for question in asked:
        assert "{" not in question.filled(facts)
    assert len({q.id for q in asked}) == len(asked)


def test_a_fact_with_braces_is_left_alone_and_a_missing_one_is_an_error() -> None:
    question = questions(region("uk").questions, frozenset())[0]
    facts = dict.fromkeys(PLACEHOLDERS, "{title}")
    assert "{title}" in question.filled(facts)
    with pytest.raises(KeyError):
        question.filled({})


def test_the_questions_name_every_placeholder_and_the_file_explains_each() -> None:
    text = (FOLDER / "questions.yaml").read_text(encoding="utf-8")
    header, _, body = text.partition("\nquestions:")
    assert body.count("- id:") == 16
    for name in PLACEHOLDERS:
        assert f"{{{name}}}" in header and f"{{{name}}}" in body


@every_region
def test_a_hut_is_not_asked_about_moving_nor_about_tubing_it_has_not(region_id: str) -> None:
    def ids(*conditions: str) -> set[str]:
        return {q.id for q in questions(region(region_id).questions, frozenset(conditions))}

    moving = {"parked", "tubing-moving", "travelling"}
    assert not moving & ids("cabin") and all(moving <= ids(where) for where in ("vehicle", "trailer", "boat"))
    assert "corrugated" in ids("cabin", "csst") and "corrugated" not in ids("cabin", "copper")
    own = " ".join(q.text for q in questions(region(region_id).questions, frozenset({"cabin"})))
    assert not re.search(r"something that moves|travelling|parked|vehicle procedure", own)


def test_a_hut_gets_no_caution_of_vehicles_or_boats() -> None:
    standing = set(CAUTION_CONDITIONS) - {"vehicle", "trailer", "boat", "csst-moving"}
    texts = {c.id: f"{c.text} {c.why}" for c in cautions(frozenset(standing), region("us-cabin").practice)}
    for name, text in texts.items():
        assert not re.search(
            r"(?i)\bwheels?\b|\bawning\b|\bbilge|vehicle is level|\bboat\b|engine running|footwell", text
        ), name
    moving = " ".join(c.text for c in cautions(frozenset({"trailer", "boat"}), region("us-trailer").practice))
    for word in ("wheels", "wheel spray", "vehicle or boat level", "awning", "bilge"):
        assert word in moving


def test_cautions_come_in_order_of_their_groups_with_the_emergency_steps_last_and_counted() -> None:
    shown = cautions(frozenset({"cabin", "handwheel"}), region("us-cabin").practice)
    groups = [c.group for c in shown]
    assert groups == sorted(groups, key=CAUTION_GROUPS.index)
    steps = [c.id for c in shown if c.group == "emergency"]
    assert [s.split("-")[1] for s in steps] == ["1", "2", "fire", "3", "4", "5", "6"]  # not to a valve in flames
    assert steps == [c.id for c in shown if c.group != "carbon-monoxide"][-7:]


def test_a_caution_is_shown_only_where_one_of_its_conditions_holds() -> None:
    def ids(*conditions: str) -> set[str]:
        return {c.id for c in cautions(frozenset(conditions), region("us-cabin").practice)}

    assert "flare" in ids("copper") and "flare" not in ids("steel")
    assert "bilge" in ids("boat") and "bilge" not in ids("cabin")
    assert "no-flame" in ids()
    assert ids() < ids("vehicle", "cold", "csst")


def test_few_cautions_have_a_line_for_the_top_of_every_page() -> None:
    lines = [c.short for c in cautions(frozenset(), region("us-cabin").practice) if c.short]
    assert 4 <= len(lines) <= 8
    assert max(map(len, lines)) <= 90


def test_every_caution_condition_is_used() -> None:
    used = {w for c in cautions(frozenset(CAUTION_CONDITIONS), region("us-cabin").practice) for w in c.when}
    assert used == set(CAUTION_CONDITIONS)


def test_an_unknown_condition_is_refused() -> None:
    with pytest.raises(ValueError, match="unknown conditions: hut"):
        cautions(frozenset({"hut"}), region("us-cabin").practice)
    with pytest.raises(ValueError, match="unknown conditions: bathtub"):
        upkeep_tasks(frozenset({"bathtub"}), region("us-cabin").practice)


def test_a_task_for_one_region_is_not_shown_in_another() -> None:
    def ids(where: str, *conditions: str) -> set[str]:
        return {t.id for t in upkeep_tasks(frozenset(conditions), region(where).practice)}

    assert "dot-first-12" in ids("us-cabin", "cylinder")
    assert "dot-first-12" not in ids("eu", "cylinder")
    assert "dot-first-12" not in ids("us-cabin", "asme")
    assert "leak-check-monthly" in ids("boat-us")
    assert "leak-check-monthly" not in ids("boat-eu", "boat")
    assert "burners" in ids("uk")


def test_sources_that_disagree_share_a_group() -> None:
    shown = upkeep_tasks(frozenset({"regulator", "cylinder"}), region("boat-us").practice)
    years = {t.id: t.interval.count for t in shown if t.task_group == "regulator-replace" and t.interval}
    assert years == {"regulator-replace-15": 15, "regulator-replace-10": 10}
    first = [t.interval.text for t in shown if t.task_group == "cylinder-first-requalification" and t.interval]
    assert first == ["12 years", "10 years"]  # 49 CFR 180.209(e), (g); the second from memory


@every_region
def test_every_task_says_when_it_is_due(region_id: str) -> None:
    tasks = upkeep_tasks(frozenset(TASK_CONDITIONS), region(region_id).practice)
    assert len({t.id for t in tasks}) == len(tasks)
    for task in tasks:
        assert task.interval is not None or task.event
        assert (task.interval is None) == (task.counted_from is None)
        assert task.interval is None or task.interval.days > 0
    assert {t.group for t in tasks} == set(TASK_GROUPS)


@every_region
def test_every_task_has_a_short_title_and_no_figure_of_another_region(region_id: str) -> None:
    tasks = upkeep_tasks(frozenset(TASK_CONDITIONS), region(region_id).practice)
    assert all(0 < len(t.short) <= 30 and not re.search(r"[;.:,]$", t.short) for t in tasks)
    pressure = [t.task for t in tasks if t.task_group == "regulator-pressure"]
    assert len(pressure) == 1 and sum(unit in pressure[0] for unit in ("inH2O", "mbar", "kPa")) == 1
    lighter = {t.id for t in tasks if "lighter's gas" in t.task}
    assert lighter == {"gas-alarm-test", "co-alarm-test"}


def test_an_interval_counts_days_on_the_short_side() -> None:
    assert Interval("1 week", 1, "week").days == 7
    assert Interval("6 months", 6, "month").days == 180
    assert Interval("12 years", 12, "year").days == 4380


def test_leak_methods_range_over_two_decades_and_smell_is_no_test() -> None:
    methods = {m.id: m for m in leak_methods()}
    soap = methods["bubble-fluid"].smallest
    assert soap is not None
    assert soap == pytest.approx(1e-10, rel=0.01)  # 1e-4 cm3/s is 1e-10 m3/s
    assert methods["smell"].smallest is None
    # 1.5 L, 0.1 inH2O, 10 min, from Q = V dP / (P0 t); two digits are printed
    assert methods["water-manometer"].smallest == pytest.approx(1.5e-3 * 24.909 / (101325 * 600), rel=0.02)


# --- the loader -----------------------------------------------------------------------------------------------------


def test_loading_one_region_reads_no_other_regions_file(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    original = data.kept

    def spy(file: Path, *rest: Any, **more: Any) -> Any:
        read.append(file.name)
        return original(file, *rest, **more)

    data.forget()
    monkeypatch.setattr(data, "kept", spy)
    region("uk")
    assert set(read) == {"uk.yaml", "common.yaml"}


def test_a_region_is_read_once() -> None:
    assert region("uk") is region("uk")


@pytest.mark.parametrize(("wanted", "nearest"), [("us-cabinn", "us-cabin"), ("boat-uk", "boat-eu"), ("mars", None)])
def test_an_unknown_region_is_answered_with_the_nearest(wanted: str, nearest: str | None) -> None:
    with pytest.raises(UnknownRegion) as caught:
        region(wanted)
    assert (f"did you mean '{nearest}'?" if nearest else "use one of au-nz") in str(caught.value)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def rule(**keys: Any) -> dict[str, Any]:
    return {"id": "a", "subject": "piping", "asks": "b", "citation": "c", "confirmed": "once", **keys}


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([rule(measure="drop", relation="at-most", limit="1 Pa")], "'drop' is not known here"),
        ([rule(measure="sizing-drop", relation="at-most", limit="1 ft")], "this needs a pressure"),
        ([rule(measure="sizing-drop", relation="at-most", limit="0.5")], "has no unit"),
        ([rule(measure="container-count", relation="at-most", limit="two")], "'two' is not a number"),
        ([rule(measure="container-place", relation="is", limit=["roof"])], "'roof' is not known here"),
        ([rule(measure="container-place", relation="is", limit="outside")], "is a list of words"),
        ([rule(measure="container-place", relation="at-most", limit=["outside"])], "'is' goes with words"),
        ([rule(measure="sizing-drop", relation="is", limit="1 Pa")], "'is' goes with words"),
        ([rule(measure="sizing-drop", relation="at-most")], "belong together"),
        ([rule(measure="sizing-drop", limit="1 Pa")], "belong together"),
        ([rule(relation="at-most", limit="1 Pa")], "the rule has no measure"),
        ([rule(relation="most", limit="1 Pa")], "'most' is not known here; did you mean 'at-most'?"),
        ([rule(subject="pipeing")], "'pipeing' is not known here; did you mean 'piping'?"),
        ([rule(confirmed="sure")], "'sure' is not known here"),
        ([rule(citation=" ")], "the text is empty"),
        ([rule(note="x")], "unknown key 'note'"),
        ([rule(condition="blue")], "'blue' is not known here"),
        ([rule(alternative="maybe")], "'maybe' is neither yes nor no"),
        ([rule(), rule()], "the id 'a' stands here a second time"),
        ([rule(id="A b")], "'A b' is not an id"),
        ([{"use": "orientatoin"}], "common.yaml has no 'orientatoin' under rules; did you mean 'orientation'?"),
        ([{"use": "orientation", "subject": "pipes"}], "'pipes' is not known here"),
        (["text"], "must be a block of keys"),
        ("text", "'rules' must be a list"),
        (None, "'rules' is missing"),
    ],
)
def test_a_wrong_rule_is_refused_with_its_place(tmp_path: Path, rows: Any, told: str) -> None:
    assert told in refused(tmp_path, "us-cabin.yaml", rules=rows)


def test_a_wrong_shared_rule_is_told_with_its_place_in_the_shared_file(tmp_path: Path) -> None:
    assert "'drop' is not known here" in refused(tmp_path, "common.yaml", rules=[rule(measure="drop")])


def test_a_key_that_is_set_anew_is_told_where_it_stands(tmp_path: Path) -> None:
    text = (FOLDER / "us-cabin.yaml").read_text(encoding="utf-8")
    used = "  - use: orientation\n"
    assert used in text
    line = text[: text.index(used)].count("\n") + 2
    changed = text.replace(used, f"{used}    relation: most\n")
    with (
        changed_files("gasdoc.regions", {"us-cabin.yaml": changed}, tmp_path),
        pytest.raises(data.DataError, match=rf"^us-cabin\.yaml:{line}:15: 'most' is not known here"),
    ):
        region("us-cabin")


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"colour": "red"}, "unknown key 'colour'"),
        ({"settings": ["castle"]}, "'castle' is not known here"),
        ({"practice": {"rows": ["us"], "two_stage": "asked"}}, "'containers' is missing from practice"),
        ({"practice": {"rows": ["uss"], "two_stage": "asked", "containers": ["dot-upright"]}}, "did you mean 'us'?"),
        (
            {"questions": [{"id": "a", "text": "Is {tank} full?", "citation": "b", "confirmed": "practice"}]},
            "nothing fills '{tank}'",
        ),
    ],
)
def test_a_slip_in_a_region_is_refused(tmp_path: Path, keys: dict[str, Any], told: str) -> None:
    assert told in refused(tmp_path, "us-cabin.yaml", **keys)


@pytest.mark.parametrize(
    "sizing",
    [
        {"method": "tables", "inlet": "11 inH2O"},
        {"method": "tables", "drop": "1 inH2O"},
        {"method": "tables", "inlet": "11 inH2O", "drop_share": "5 %"},
        {"method": "calculated"},
        {"method": "calculated", "drop": "1 mbar", "drop_share": "5 %"},
        {"method": "calculated", "inlet": "30 mbar", "drop": "1 mbar"},
    ],
)
def test_a_region_sized_by_tables_needs_their_conditions_and_any_other_an_allowance(
    tmp_path: Path, sizing: dict[str, str]
) -> None:
    supply = fast_yaml.read(FOLDER / "us-cabin.yaml")["supply"]
    supply["sizing"] = sizing | {"citation": "c", "confirmed": "once"}
    assert "'tables' goes with inlet and drop" in refused(tmp_path, "us-cabin.yaml", supply=supply)


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"interval": "yearly"}, "'yearly' is not an interval; write it as in '6 months'"),
        ({"short": "Replace the hose that leads to the cooker"}, "the text is longer than 30 characters"),
        ({"from": None}, "an interval and the date it counts from belong together"),
        ({"interval": None, "from": None}, "the task has neither an interval nor an event"),
    ],
)
def test_a_task_says_when_it_is_due_and_from_what_day(tmp_path: Path, keys: dict[str, Any], told: str) -> None:
    row = rule(group="regular", short="b", task="b", interval="1 year", applies=["always"], who="owner") | {
        "from": "tested"
    }
    del row["subject"], row["asks"]
    row = {key: value for key, value in (row | keys).items() if value is not None}
    assert told in refused(tmp_path, "upkeep.yaml", tasks=[row])
