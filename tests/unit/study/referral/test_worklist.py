"""What is open of a build: every lack belongs to one thing to do, and a plan is asked what belongs to it and no more."""

from __future__ import annotations

import re
from typing import Any

from made_up_builds import CONTAINER, REGULATOR, Values, build, outlet, read, run, study_of, tee, without_none

from gasdoc import data
from gasdoc.folder.check import finding_problems
from gasdoc.folder.check import study_of as study_of_file
from gasdoc.report.formats.finding_codes import codes, explained
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.referral.worklist import STAGES, lack, lacks

SAYS_NOT_KNOWN = re.compile(r"[Nn]ot (stated|known|chosen)|[Ll]eft out|does not state|assumed|taken to")

NO_LACKS = {
    "butane-too-cold": "the lowest inlet pressure that is assumed there is told itself",
    "flueless-heater": "that the heater has no flue is what is wrong",
    "pressure-unknown": "it follows from a size that is open, which is told itself",
}
"""Findings that speak of what is not known and say that something is wrong, each with why."""

NOTHING_READ: Values = dict.fromkeys(
    (
        "jetted_for",
        "min_inlet",
        "max_inlet",
        "inlet_thread",
        "flue",
        "flame_failure",
        "daily_use",
        "distance",
        "connector",
        "shut_off",
        "shut_off_distance",
    )
)
NOT_BEGUN: Values = dict.fromkeys(("fitted", "container", "regulator", "spaces", "coldest", "altitude"))
FOUR = ("Oven", "Fryer", "Griddle", "Heater")


def plan(*names: str, **more: Any) -> Study:
    """The study of a plan of such appliances on a junction, of which nothing else is stated."""
    branches = [[run("6 ft"), outlet(name, "20 kBtu/h", **NOTHING_READ)] for name in names]
    found = study_of_file(read(without_none(build(run("8 ft"), tee(*branches)) | NOT_BEGUN | more)))
    assert found.study is not None, [str(p) for p in found.read.problems]
    return found.study


def lines(made: Study) -> list[str]:
    return [errand.text for errand in made.worklist.open]


def asked(made: Study) -> set[str]:
    return {thing.id for errand in made.worklist.open for thing in errand.things}


# --- the list of lacks ------------------------------------------------------------------------------------------------


def test_every_finding_that_says_what_is_not_known_is_a_lack() -> None:
    said = {c.code for c in codes().values() if c.about == "the build" and SAYS_NOT_KNOWN.search(" ".join(c.message))}
    assert len(said) > 30
    assert {code for code in said if lack(code) is None} == set(NO_LACKS)


def test_every_lack_is_the_code_of_a_finding_and_belongs_to_an_errand_that_is_listed() -> None:
    errands = data.words("gasdoc.study.referral", "lacks.yaml")["errands"]
    assert [code for code in lacks() if code not in codes()] == []
    assert [code for code, row in lacks().items() if row.errand not in errands] == []
    used = {row.errand for row in lacks().values()}
    # The questions, the tests and the sign-off that are open are no findings.
    assert set(errands) - used == {"authority", "tests", "sign-off"}


def test_the_page_of_codes_says_what_one_does_about_a_lack_and_from_when_on() -> None:
    plate, wrong = explained("jetting-unknown"), explained("starved")
    assert plate is not None and (plate.doing, plate.stage) == ("Read off the plates", "planned")
    assert wrong is not None and wrong.doing is None


# --- a plan -----------------------------------------------------------------------------------------------------------


def test_a_plan_of_four_appliances_has_at_most_fifteen_lines_and_no_warning() -> None:
    made = plan(*FOUR, region="us-trailer")
    assert finding_problems(made) == []
    assert len(lines(made)) <= 15
    assert "Decide how long each burns on the coldest day." in lines(made)[0]


def test_all_appliances_stand_together_in_the_order_of_the_tree() -> None:
    found = [line for line in lines(plan(*FOUR)) if line.startswith("Read off the plates")]
    assert len(found) == 1
    assert found[0].startswith("Read off the plates of Oven, Fryer, Griddle, Heater: the gas and the pressure")
    assert "(" not in found[0]


def test_what_is_known_of_some_appliances_is_asked_of_the_others_only() -> None:
    known = outlet("Oven", "20 kBtu/h", **NOTHING_READ | {"flue": "open-flued"})
    branches = [[run("6 ft"), known], [run("6 ft"), outlet("Fryer", "20 kBtu/h", **NOTHING_READ)]]
    made = study_of_file(read(without_none(build(run("8 ft"), tee(*branches)) | NOT_BEGUN))).study
    assert made is not None
    assert "where the flue gases go (Fryer)" in next(line for line in lines(made) if "plates" in line)


def test_each_lack_stands_in_one_line() -> None:
    work = plan(*FOUR).worklist
    told = [
        (f.code, f.subject) for errand in (*work.open, *work.later) for thing in errand.things for f in thing.findings
    ]
    assert len(told) == len(set(told)) > 20


def test_a_proposal_stands_beside_what_is_to_be_decided() -> None:
    made = plan("Oven", "Fryer")
    kind, regulator = made.build.container_kind.names[0], made.build.spec.regulator.outlet.text
    assert any(line.startswith("Decide the container. Until then") and kind in line for line in lines(made))
    assert any(line.startswith("Decide the first regulator.") and regulator in line for line in lines(made))
    assert "Decide how long a full supply is to last. Until then this is taken: 7 days." in lines(made)


def test_an_error_stays_an_error_and_a_warning_that_is_no_lack_stays_one() -> None:
    made = plan("Oven", "Fryer", container={"place": "inside"})
    told = {problem.code: problem.severity for problem in finding_problems(made)}
    assert told["container-inside"] is Severity.ERROR
    other = plan("Oven", "Fryer", region="us-trailer", setting="boat")
    assert "region-for-another-setting" in {problem.code for problem in finding_problems(other)}


def test_a_junction_of_tubing_that_is_only_proposed_is_no_error() -> None:
    made = plan(*FOUR, region="eu", units="si")
    assert [f.code for f in made.findings if f.severity is Severity.ERROR] == []


# --- the stages -------------------------------------------------------------------------------------------------------


def test_what_belongs_to_a_later_stage_is_not_asked_of_a_plan() -> None:
    made = plan(*FOUR)
    work = made.worklist
    assert work.stage == "planned"
    later = {thing.id for errand in work.later for thing in errand.things}
    assert {"alarms-unknown", "connector-capacity-unknown"} <= later
    assert later.isdisjoint(asked(made))
    assert {lacks()[code].stage for code in later} <= set(STAGES[1:])


def test_once_all_is_chosen_the_data_sheets_are_asked_for() -> None:
    regulator = {"capacity": None, "tolerance": None, "lock_up": None, "inlet": None}
    spec = build(run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "30 kBtu/h"))
    spec |= {"fitted": None, "regulator": without_none(REGULATOR | regulator), "container": CONTAINER}
    made = study_of(without_none(spec))
    assert made.worklist.stage == "bought"
    line = next(line for line in lines(made) if "data sheet" in line)
    assert line.startswith("Read off the data sheet of the regulator: the capacity; ")
    assert "; the lowest inlet pressure; how far it may be off its setting" in line  # all of one regulator
    assert "regulator-capacity-unknown" not in {problem.code for problem in finding_problems(made)}


def test_what_is_decided_about_the_container_names_it_once() -> None:
    spec = build(run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "30 kBtu/h"))
    made = study_of(without_none(spec | {"fitted": None, "container": without_none(CONTAINER | {"place": None})}))
    assert "Decide where the container stands." in lines(made)


def test_a_build_that_is_fitted_is_told_its_lacks_as_warnings() -> None:
    spec = build(run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "30 kBtu/h", flue=None))
    made = study_of(spec)
    assert made.worklist.stage == "fitted" and "flue-unknown" in asked(made)
    assert "flue-unknown" in {problem.code for problem in finding_problems(made)}


def test_of_a_build_that_is_fitted_the_tests_are_asked_for_and_then_the_sign_off() -> None:
    made = study_of(build(run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "30 kBtu/h")))
    line = next(line for line in lines(made) if line.startswith("Make these tests and record them: "))
    assert all(proof.asked.test.name in line for proof in made.standing.open) and made.standing.open
    assert not any("signed off" in line for line in lines(made))
    assert not any("Make these tests" in line for line in lines(plan("Oven", "Fryer")))


def test_a_plan_with_a_record_is_told_its_lacks_as_warnings() -> None:
    spec = build(run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "30 kBtu/h", flue=None))
    spec |= {"signed_off": {"by": "A. Inspector", "date": "2026-05-16"}}
    made = study_of(without_none(spec | {"fitted": None}))
    assert made.standing.word == "planned"
    assert "flue-unknown" in {problem.code for problem in finding_problems(made)}


def test_the_authority_is_asked_until_it_has_signed() -> None:
    assert any(line.startswith("Ask the authority: the ") for line in lines(plan("Oven", "Fryer")))
