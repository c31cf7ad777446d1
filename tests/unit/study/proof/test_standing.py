"""The standing of a build: what its records make of it, and what takes it back."""

from __future__ import annotations

import copy
import datetime as dt
from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, read, run, study_of, text
from markupsafe import Markup

from gasdoc.build.reader import Build, read_spec
from gasdoc.folder.shared_records import records
from gasdoc.regions.region import region_ids
from gasdoc.report.pages import pages
from gasdoc.report.views import overview
from gasdoc.study import Study, make_study
from gasdoc.study.proof.standing import summary

COPPER = {"material": "copper", "type": "k"}


def test_record(kind: str, date: str, **more: Any) -> Values:
    """A test that passes in a US cabin."""
    high = kind == "piping"
    gauge = "22000 Pa" if high else "2240 Pa"
    readings = [
        {"time": f"{hour}:00", "pressure": gauge, "temperature": "15 degC", "barometer": "1013 mbar"}
        for hour in (10, 12)
    ]
    return {
        "date": date,
        "kind": kind,
        "medium": "air" if high else "propane",
        "gauge": {"resolution": "1 Pa"},
        "thermometer": "0.05 K",
        "barometer": "0.1 mbar",
        "bubbles": "none",
        "readings": readings,
    } | more


test_record.__test__ = False  # type: ignore[attr-defined]  # a helper, whatever its name begins with

SIGNED = {"by": "A. Inspector", "role": "licensed fitter", "date": "2026-05-10"}


def hut(**more: Any) -> Values:
    return build(run("20 ft", "1/2 in nominal", **COPPER), outlet("Heater", "20 kBtu/h"), coldest=None, **more)


CODES = study_of(hut()).standing.codes
PRINT, SIGNED_FOR = CODES.tightness, CODES.build


def proven(**more: Any) -> Values:
    """Both tests a US cabin asks, passed on the build as it is, and signed off."""
    tests = [test_record("piping", "2026-05-02", covers=PRINT), test_record("leak-check", "2026-05-03", covers=PRINT)]
    return hut(tests=tests, signed_off=SIGNED | {"covers": SIGNED_FOR}, **more)


def word(spec: Values) -> str:
    return study_of(spec).standing.word


def test_the_four_standings_follow_from_the_records() -> None:
    spec = proven()
    assert word(spec) == "signed off"
    unsigned = {k: v for k, v in spec.items() if k != "signed_off"}
    assert word(unsigned) == "tested"
    assert word({k: v for k, v in unsigned.items() if k != "tests"}) == "fitted"
    assert word({k: v for k, v in spec.items() if k != "fitted"}) == "planned"


def test_a_sign_off_reads_as_recorded_by_the_owner_and_not_verified() -> None:
    found_one = study_of(proven()).standing
    assert (
        found_one.sign_off
        == "recorded by the owner as signed by A. Inspector, licensed fitter, on 2026-05-10, not verified here"
    )
    assert found_one.sign_off in found_one.detail


def test_a_role_is_left_out_where_the_name_says_it() -> None:
    def signed(by: str, role: str) -> str | None:
        return study_of(
            proven() | {"signed_off": SIGNED | {"covers": SIGNED_FOR, "by": by, "role": role}}
        ).standing.sign_off

    assert "by County inspector on 2026" in (signed("County inspector", "Building inspector") or "")
    assert "by A. Fitter, licensed fitter, on 2026" in (signed("A. Fitter", "licensed fitter") or "")


def test_the_detail_says_the_date_fitted_once_and_does_not_repeat_the_word_before_it() -> None:
    fitted = study_of({k: v for k, v in proven().items() if k not in ("tests", "signed_off")}).standing
    assert fitted.word == "fitted" and fitted.detail.startswith("on 20") and "fitted" not in fitted.detail
    tested = study_of({k: v for k, v in proven().items() if k != "signed_off"}).standing
    assert (
        tested.word == "tested" and tested.detail.count("fitted on 20") == 1 and not tested.detail.startswith("fitted")
    )


def test_every_test_the_region_asks_is_needed() -> None:
    for kind in ("piping", "leak-check"):
        spec = proven()
        spec["tests"] = [t for t in spec["tests"] if t["kind"] != kind]
        made = study_of(spec).standing
        assert made.word == "fitted" and [p.why for p in made.open] == ["missing"]


@pytest.mark.parametrize(
    ("change", "why", "code"),
    [
        ({"covers": "gt1-000000000000"}, "stale", "test-stale"),
        ({"covers": None}, "no-covers", "test-covers-missing"),
        ({"bubbles": "found"}, "not-passed", "test-leak"),
        ({"thermometer": None}, "not-passed", "test-could-not-tell"),
    ],
)
def test_a_test_that_did_not_pass_on_this_very_build_does_not_count(change: Values, why: str, code: str) -> None:
    spec = proven()
    spec["tests"][1] = {k: v for k, v in (spec["tests"][1] | change).items() if v is not None}
    made = study_of(spec)
    assert made.standing.word == "fitted" and [p.why for p in made.standing.open] == [why]
    assert one(made, code).at[:2] == ("tests", 1)


def test_a_build_that_was_changed_is_no_longer_tested_and_says_so() -> None:
    spec = proven()
    spec["supply"][0]["run"]["length"] = "21 ft"
    made = study_of(spec)
    now = made.standing.codes.tightness
    assert made.standing.word == "fitted" and now != PRINT
    assert len(found(made, "test-stale")) == 2
    said = found(made, "test-stale")[0]
    assert PRINT in said.reason and now in said.reason and now in said.remedy
    assert "sign-off-stale" in {f.code for f in made.findings}


def test_the_latest_test_of_a_kind_decides() -> None:
    spec = proven()
    spec["tests"].append(test_record("leak-check", "2026-05-20", covers=PRINT, bubbles="found"))
    assert word(spec) == "fitted"
    spec["tests"].append(test_record("leak-check", "2026-05-21", covers=PRINT))
    assert word(spec) == "tested"  # and signed before that test


def test_a_leak_in_a_test_nobody_asked_for_counts_too() -> None:
    spec = proven()
    spec["tests"].append(test_record("container-side", "2026-05-20", covers=PRINT, bubbles="found"))
    made = study_of(spec)
    assert made.standing.word == "fitted" and "shows a leak" in made.standing.detail


@pytest.mark.parametrize(
    ("date", "standing"), [("2026-05-01", "signed off"), ("2026-05-10", "tested"), ("2026-06-01", "fitted")]
)
def test_a_disturbance_voids_what_came_before_it(date: str, standing: str) -> None:
    spec = proven(disturbances=[{"date": date, "kind": "collision"}])
    expected = "fitted" if date > "2026-05-03" else standing
    assert word(spec) == expected


@pytest.mark.parametrize(
    ("kind", "open_"),
    [
        ("hose-replaced", {"leak-check"}),
        ("supply-interrupted", {"leak-check"}),
        ("part-replaced", {"piping", "leak-check"}),
    ],
)
def test_a_new_hose_asks_for_a_leak_check_and_not_for_the_test_of_the_piping(kind: str, open_: set[str]) -> None:
    made = study_of(proven(disturbances=[{"date": "2026-06-01", "kind": kind}]))
    assert {proof.asked.test.kind for proof in made.standing.proofs if proof.why == "disturbed"} == open_


@pytest.mark.parametrize(("time", "standing"), [("09:00", "signed off"), ("13:00", "fitted"), (None, "fitted")])
def test_tests_after_a_disturbance_on_the_same_day_count_if_its_time_is_known(time: str | None, standing: str) -> None:
    happened = {"date": "2026-05-03", "kind": "part-replaced"} | ({"time": time} if time else {})
    spec = proven(disturbances=[happened])
    for test in spec["tests"]:
        test["date"] = "2026-05-03"
    assert word(spec) == standing
    assert bool(found(study_of(spec), "test-disturbed")) == (standing == "fitted")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"covers": None}, "does not say what it covers"),
        ({"covers": "gb1-000000000000"}, "something else"),
        ({"date": "2026-05-02"}, "older than a test"),
    ],
)
def test_a_sign_off_that_does_not_fit_the_tests_leaves_the_build_tested(change: Values, why: str) -> None:
    spec = proven()
    spec["signed_off"] = {k: v for k, v in (spec["signed_off"] | change).items() if v is not None}
    made = study_of(spec).standing
    assert made.word == "tested" and made.sign_off_why is not None and why in made.sign_off_why
    assert made.sign_off is not None and "not verified here" in made.detail


def test_a_sign_off_without_tests_signs_nothing_off() -> None:
    made = study_of(hut(signed_off=SIGNED | {"covers": SIGNED_FOR}))
    assert made.standing.word == "fitted" and "sign-off-does-not-count" in {f.code for f in made.findings}


def test_a_sign_off_on_the_day_of_the_last_test_counts() -> None:
    spec = proven()
    spec["signed_off"]["date"] = "2026-05-03"
    assert word(spec) == "signed off"


def two_zones(tests: list[Values]) -> Values:
    return build(
        run("35 ft", "1/2 in nominal", material="copper", type="k", id="feeder"),
        {"regulator": {"id": "second", "outlet": "11 inH2O", "lock_up": "13 inH2O", "capacity": "150 kBtu/h"}},
        run("10 ft", "1/2 in nominal", id="inside"),
        outlet("Heater", "20 kBtu/h"),
        coldest=None,
        regulator={"stages": "1", "outlet": "10 psi", "lock_up": "12 psi", "id": "first"},
        tests=tests,
    )


def test_every_zone_is_tested_for_itself() -> None:
    name = study_of(two_zones([])).standing.codes.tightness
    low = test_record("piping", "2026-05-02", covers=name, zone="second")
    high = test_record("piping", "2026-05-02", covers=name, zone="first")
    for reading in high["readings"]:
        reading["pressure"] = "104000 Pa"
    check = test_record("leak-check", "2026-05-03", covers=name, zone="second")
    assert word(two_zones([low, check])) == "fitted"
    assert word(two_zones([low, high, check])) == "tested"


def flow(date: str, half: str, burning: str | None = "half") -> Values:
    """Delivered pressure; the plate asks 10 inH2O at least."""
    readings = [
        {"time": "10:00", "pressure": half} | ({"burning": burning} if burning else {}),
        {"time": "10:05", "pressure": "11.9 inH2O", "burning": "none"},
    ]
    return {
        "date": date,
        "kind": "flow",
        "medium": "propane",
        "gauge": {"resolution": "0.1 inH2O"},
        "readings": readings,
    }


def test_a_pressure_that_a_plate_does_not_allow_keeps_a_proven_build_from_being_tested_and_the_overview_says_why() -> (
    None
):
    spec = proven()
    spec["tests"].append(flow("2026-05-04", "9.0 inH2O"))
    made = study_of(copy.deepcopy(spec))
    assert made.standing.word == "fitted" and made.standing.open == ()
    assert "plate does not allow" in made.standing.detail and "plate does not allow" in (
        made.standing.sign_off_why or ""
    )
    assert one(made, "test-pressure-outside").at == ("tests", 2)
    assert any("what the recorded tests show" in step for step in overview.view(made, Markup())["next_steps"])
    spec["tests"].append(flow("2026-05-05", "10.8 inH2O"))
    assert study_of(spec).standing.word == "signed off"


@pytest.mark.parametrize(
    ("wrong", "silent"),
    [
        (flow("2026-05-04", "9.0 inH2O"), flow("2026-05-05", "10.8 inH2O", None)),
        (
            test_record("container-side", "2026-05-04", bubbles="found"),
            test_record("container-side", "2026-05-05", bubbles="not-looked"),
        ),
    ],
)
def test_a_record_that_does_not_tell_takes_nothing_back(wrong: Values, silent: Values) -> None:
    spec = proven()
    spec["tests"] += [wrong, silent]
    made = study_of(spec)
    assert made.standing.word == "fitted" and made.standing.trouble
    assert [j.current for j in made.judged[2:]] == [True, True]


@pytest.mark.parametrize("region_id", region_ids())
def test_no_region_calls_a_build_tested_that_has_no_test(region_id: str) -> None:
    spec = hut(region=region_id, setting="cabin")
    made = study_of(spec).standing
    assert made.word == "fitted" and made.proofs and len(made.open) == len(made.proofs)


def test_figures_from_memory_are_named_where_a_standing_rests_on_them() -> None:
    spec = proven(region="canada")
    for reading in spec["tests"][0]["readings"]:
        reading["pressure"] = "104000 Pa"
    spec["tests"].append(test_record("container-side", "2026-05-03", covers=PRINT))
    spec["signed_off"]["covers"] = study_of(copy.deepcopy(spec)).standing.codes.build  # other rules were looked at
    made = study_of(copy.deepcopy(spec)).standing
    assert made.signed and "figures from memory" in made.detail


# --- what a sign-off stands beside, and what counts for nothing ---------------------------------------------------------


def built(raw: str) -> Build:
    found_one = read_spec(raw.encode(), "specs/a.md", "a").build
    assert found_one is not None
    return found_one


def read_on(day: str, spec: Values) -> Study:
    taken = read(spec)
    assert taken.build is not None, taken.problems
    made, _ = make_study(taken.build, day=dt.date.fromisoformat(day))
    assert made is not None
    return made


def test_a_sign_off_never_stands_alone_beside_errors() -> None:
    spec = proven()
    spec["supply"][1]["outlet"]["appliance"]["jetted_for"]["gas"] = "natural-gas"
    spec["signed_off"]["covers"] = study_of(copy.deepcopy(spec)).standing.codes.build  # signed as it is now
    made = study_of(spec)
    assert made.standing.word == "signed off, with errors" and made.standing.signed
    assert made.standing.errors == sum(1 for f in made.findings if str(f.severity) == "error") == 1
    assert summary(made.build, made.standing) == "signed off on 2026-05-10, with 1 error as the build stands now"
    line = pages.standing_line(made)
    assert line.startswith("Signed off on 2026-05-10, with 1 error as the build stands now") and "not verified" in line
    clean = study_of(proven())
    assert summary(clean.build, clean.standing) == "signed off on 2026-05-10" and clean.standing.errors == 0


@pytest.mark.parametrize("change", [{"vent_low": "0 in2", "vent_high": "0 in2"}, {"alarms": []}, {"volume": "300 ft3"}])
def test_a_sign_off_ends_with_the_room_it_was_given_for_and_the_tests_stay(change: Values) -> None:
    spec = proven()
    spec["spaces"] = [spec["spaces"][0] | change]
    made = study_of(spec)
    assert made.standing.word == "tested" and "sign-off-stale" in {f.code for f in made.findings}


def test_a_sign_off_ends_with_another_gas() -> None:
    assert word(proven(gas={"propane": "60 %", "butane": "40 %"})) == "tested"


@pytest.mark.parametrize(
    "part",
    [
        lambda s: s["regulator"].update(outlet_thread="1 NPT"),
        lambda s: s["regulator"].update(manufactured="2024-01-01"),
        lambda s: s["regulator"].update(over_pressure_protection="no"),
        lambda s: s["container"].update(connection="QCC1"),
        lambda s: s["supply"][0]["run"].update(through=["floor"]),
    ],
)
def test_a_test_ends_with_the_joints_it_was_made_on(part: Any) -> None:
    spec = proven()
    part(spec)
    assert word(spec) == "fitted" and found(study_of(spec), "test-stale")


def test_what_is_still_to_come_counts_for_nothing_until_it_is_past() -> None:
    spec = proven()
    assert read_on("2026-05-10", copy.deepcopy(spec)).standing.word == "signed off"
    assert read_on("2026-05-09", copy.deepcopy(spec)).standing.word == "tested"
    assert read_on("2026-05-02", copy.deepcopy(spec)).standing.word == "fitted"
    assert read_on("2026-04-30", copy.deepcopy(spec)).standing.word == "planned"
    early = read_on("2026-05-02", copy.deepcopy(spec))
    assert one(early, "test-to-come").at == ("tests", 1)
    assert "still to come" in (early.standing.sign_off_why or "")


def test_a_test_to_come_takes_none_back_that_counts() -> None:
    spec = proven()
    spec["tests"].append(test_record("leak-check", "2199-01-01", covers=PRINT, bubbles="found"))
    made = read_on("2026-06-01", spec)
    assert made.standing.word == "signed off" and not found(made, "test-leak")


@pytest.mark.parametrize("covers", ["gd1-16eac2f6baa1", "yes", "gt1-short"])
def test_a_code_of_another_form_counts_for_nothing_and_the_message_says_what_to_do(covers: str) -> None:
    spec = proven()
    spec["tests"][0]["covers"] = covers
    made = study_of(spec)
    assert made.standing.word == "fitted"
    said = one(made, "test-covers-unknown")
    assert covers in said.reason and PRINT in said.remedy and said.at == ("tests", 0, "covers")


def test_a_sign_off_that_names_the_code_for_tests_is_told_so() -> None:
    spec = proven()
    spec["signed_off"]["covers"] = PRINT
    why = study_of(spec).standing.sign_off_why
    assert word(spec) == "tested" and why is not None and "names a tightness code" in why


def test_the_same_record_in_two_specs_counts_in_neither_and_both_are_named() -> None:
    one_text = text(proven())
    other_text = text(proven(title="Another Hut"))
    held = records({"a.md": one_text.encode(), "b.md": other_text.encode(), "c.md": text(hut()).encode()})
    assert set(held.shared) == {"a.md", "b.md"} and held.of("c.md") == {}
    for name, other in (("a.md", "b.md"), ("b.md", "a.md")):
        assert held.of(name) == {("tests", 0): (other,), ("tests", 1): (other,), ("signed_off",): (other,)}
        made, _ = make_study(built(one_text), shared=held.of(name))
        assert made is not None and made.standing.word == "fitted"
        assert {p.why for p in made.standing.proofs} == {"shared"}
        assert all(other in f.reason for f in found(made, "test-in-two-specs"))
        assert other in one(made, "sign-off-in-two-specs").message


def test_a_record_whose_readings_say_the_day_of_the_test_is_the_same_record() -> None:
    mine, other = proven(), proven(title="Another Hut")
    for t in other["tests"]:
        for reading in t["readings"]:
            reading["date"] = t["date"]
    held = records({"a.md": text(mine).encode(), "b.md": text(other).encode()})
    assert set(held.of("a.md")) == {("tests", 0), ("tests", 1), ("signed_off",)}


def test_no_test_counts_while_the_size_of_a_run_is_left_out() -> None:
    """Without it the size follows the load, which is no key of the tightness code: another tube than the tested one."""

    def unsized(load: str, tests: list[Values]) -> Values:
        return build(run("20 ft", **COPPER), outlet("Heater", load), coldest=None, tests=tests)

    small, large = (study_of(unsized(load, [])) for load in ("20 kBtu/h", "400 kBtu/h"))
    assert small.standing.codes.tightness == large.standing.codes.tightness
    covers = small.standing.codes.tightness
    tests = [test_record("piping", "2026-05-02", covers=covers), test_record("leak-check", "2026-05-03", covers=covers)]
    for load in ("20 kBtu/h", "400 kBtu/h"):
        made = study_of(unsized(load, tests))
        assert made.standing.word == "fitted" and {p.why for p in made.standing.proofs} == {"size-open"}
        assert found(made, "test-size-open")


def test_records_that_differ_in_date_readings_or_code_are_not_the_same() -> None:
    mine, later, colder = proven(), proven(), proven()
    later["tests"] = [t | {"date": "2026-05-06"} for t in later["tests"]]
    later["signed_off"] = later["signed_off"] | {"date": "2026-05-11"}
    for t in colder["tests"]:
        t["readings"][0]["pressure"] = "22001 Pa"
    colder.pop("signed_off")
    held = records({f"{i}.md": text(s).encode() for i, s in enumerate((mine, later, colder))})
    assert held.shared == {}


def test_a_build_that_stands_is_asked_for_every_size_connector_and_thread() -> None:
    spec = proven()
    spec["supply"][0]["run"].pop("size")
    spec["supply"][1]["outlet"]["connector"].pop("length")
    spec["regulator"].pop("outlet_thread")
    said = one(study_of(copy.deepcopy(spec)), "fitted-not-stated").message
    assert "3 of its sizes, connectors and threads" in said
    for words in ("size of run-heater", "connector length of heater", "outlet thread of regulator"):
        assert words in said
    spec.pop("fitted")
    assert not found(study_of(spec), "fitted-not-stated")
    assert not found(study_of(proven()), "fitted-not-stated")


def test_tests_that_rest_on_figures_from_memory_are_named() -> None:
    detail = study_of(proven(region="us-vehicle", setting="vehicle")).standing.detail
    assert "ask which test is wanted: Pressure test of the low-pressure piping, RV" in detail
    assert "figures from memory" not in study_of(proven()).standing.detail


# --- progress ---------------------------------------------------------------------------------------------------------


def steps(made: Study) -> list[tuple[str, str, str | None]]:
    return [(m.name, m.state, None if m.date is None else m.date.isoformat()) for m in made.progress]


def test_a_proposal_is_planned_and_has_its_parts_to_buy_next() -> None:
    made = study_of(hut(fitted=None))
    assert steps(made) == [
        ("planned", "done", None),
        ("bought", "next", None),
        ("fitted", "later", None),
        ("tested", "later", None),
        ("signed", "later", None),
        ("in use", "later", None),
    ]


def test_the_dates_of_a_proven_build_come_from_its_records() -> None:
    made = study_of(proven(started="2026-04-01", bought="2026-04-20", fitted="2026-05-01", in_use="2026-05-11"))
    assert steps(made) == [
        ("planned", "done", "2026-04-01"),
        ("bought", "done", "2026-04-20"),
        ("fitted", "done", "2026-05-01"),
        ("tested", "done", "2026-05-03"),
        ("signed", "done", "2026-05-10"),
        ("in use", "done", "2026-05-11"),
    ]
    assert found(made, "in-use-unsigned") == []


def test_a_test_of_another_build_does_no_step_and_use_without_a_sign_off_is_a_warning() -> None:
    spec = proven(fitted="2026-05-01", in_use="2026-05-11")
    spec["supply"][0]["run"]["length"] = "21 ft"
    made = study_of(spec)
    assert [state for _, state, _ in steps(made)] == ["done", "done", "done", "next", "later", "done"]
    assert "since 2026-05-11" in one(made, "in-use-unsigned").message


def test_what_is_dated_later_than_the_day_it_is_read_does_no_step_and_is_no_use() -> None:
    spec = hut(fitted=None, bought="2026-06-02", in_use="2026-06-03")
    before, after = read_on("2026-06-01", spec), read_on("2026-06-03", spec)
    assert [state for _, state, _ in steps(before)] == ["done", "next", "later", "later", "later", "later"]
    assert found(before, "in-use-unsigned") == [] and found(after, "in-use-unsigned") != []
