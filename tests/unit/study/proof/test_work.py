"""The order of work: every step before the ones that need it, and every joint either made or left for the test day."""

from __future__ import annotations

import re

import pytest
from made_up_builds import build, outlet, run, study_of, tee
from places import EXAMPLES, SPECS

from gasdoc.folder.check import study_file
from gasdoc.regions.work import CONDITIONS, EACH, FACTS, work_rows
from gasdoc.study import Study
from gasdoc.study.proof import work
from gasdoc.study.proof.sequence import Step

COPPER = {"material": "copper", "type": "l"}

IDS = ["prepare", "spaces", "mount", "route", "open", "cut", "hold", "join", "leave", "alarms", "record"]


@pytest.fixture(scope="module", params=EXAMPLES)
def example(request: pytest.FixtureRequest) -> Study:
    made = study_file(SPECS / f"{request.param}.md").study
    assert made is not None
    return made


def steps(made: Study) -> dict[str, Step]:
    return {step.id: step for step in made.work.steps}


def numbers(step: Step) -> set[int]:
    heads = [re.match(r"Joints? ([0-9, ]+): ", line.text) for line in step.lines]
    return {int(number) for head in heads if head is not None for number in head[1].split(", ")}


def test_the_steps_stand_in_the_order_in_which_they_are_done(example: Study) -> None:
    made = example.work.steps
    assert [step.id for step in made] == IDS
    assert [step.needs for step in made] == [(), *((before,) for before in IDS[:-1])]
    assert all(step.gate and step.passes and step.stops and step.lines for step in made)


def test_every_joint_is_made_before_the_test_day_or_told_to_stay_open(example: Study) -> None:
    made = steps(example)
    later = {j.number for j in example.leak_test.joints if j.needs is not None or j.zone == "container side"}
    # Where no union stands behind the regulator, the end of the line at it stays open, too.
    ids = {joint.id: joint.number for joint in example.leak_test.joints}
    beside = set() if "regulator-union" in ids else {ids[f"{example.build.nodes[0].id}-upstream"]}
    assert numbers(made["leave"]) == later | beside
    assert numbers(made["join"]) == set(ids.values()) - later - beside
    assert {*made["join"].parts, *made["leave"].parts} == {joint.id for joint in example.leak_test.joints}


def test_no_appliance_regulator_or_container_is_joined_before_the_test_day(example: Study) -> None:
    said = " ".join(line.text for line in steps(example)["join"].lines)
    assert ", inlet" not in said and "connector" not in said and "hose" not in said


def test_each_line_opening_clamp_and_piece_of_the_build_is_in_it(example: Study) -> None:
    made = {step: " ".join(line.text for line in one.lines).lower() for step, one in steps(example).items()}
    for zone in example.zones:
        for line in zone.runs:
            name = example.build.labels[line.id].lower()
            assert all(name in made[step] for step in ("route", "cut", "hold"))
    assert made["open"].count(" hole, ") == len(example.passages.openings)


def test_what_a_build_does_not_have_is_not_said() -> None:
    line = run("9 ft", "5/8 in OD", through=[], **COPPER)
    plain = study_of(build(line, outlet("Heater", "20 kBtu/h", inlet_thread="1/2 flare")))
    made = {step: " ".join(line.text for line in one.lines) for step, one in steps(plain).items()}
    assert "Thread one end" not in made["cut"] and "corrugated" not in made["cut"] and "flare" in made["cut"]
    assert "No line of this build passes through anything." in made["open"]
    assert "states nothing that holds the container" in made["mount"]


def test_what_is_not_known_of_a_line_is_not_said_to_be_nothing() -> None:
    silent = study_of(
        build(run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h", inlet_thread="1/2 flare"))
    )
    (said,) = steps(silent)["open"].lines
    assert said.caution and "not say of every line what it passes through" in said.text


def test_regulators_further_on_are_left_for_the_test_day_too() -> None:
    inner = {
        "regulator": {"id": "hut-reg", "outlet": "11 inH2O", "inlet_thread": "3/8 NPT", "outlet_thread": "3/8 NPT"}
    }
    made = study_of(
        build(
            run("9 ft", "5/8 in OD", **COPPER),
            inner,
            tee(
                [run("5 ft"), outlet("Heater", "20 kBtu/h")],
                [run("5 ft"), outlet("Cooker", "20 kBtu/h")],
            ),
            regulator={"outlet": "10 psi", "stages": "1"},
        )
    )
    assert "hut regulator: inlet" in " ".join(line.text for line in steps(made)["leave"].lines)
    assert "between" not in " ".join(t.text for t in steps(made)["join"].lines if "hut regulator" in t.text)


def test_a_tank_is_set_by_its_supplier_and_a_trench_stays_open_until_the_test() -> None:
    line = run("40 ft", "5/8 in OD", through=[], buried="yes", **COPPER)
    made = study_of(
        build(
            line,
            outlet("Heater", "20 kBtu/h", inlet_thread="1/2 flare"),
            container={"type": "asme-250gal", "orientation": "horizontal", "water_capacity": None},
        )
    )
    said = {step: " ".join(line.text for line in one.lines) for step, one in steps(made).items()}
    assert "Try the place with an empty container" not in said["mount"] and "supplier set the tank" in said["mount"]
    assert "away from the work" not in said["prepare"]
    assert "before you dig" in said["route"].lower() and "trench" in said["hold"]


def test_the_data_use_every_word_they_may_and_the_code_knows_each() -> None:
    lines = [line for row in work_rows() for line in row.lines]
    assert {line.each for line in lines if line.each is not None} == set(EACH) == set(work.EACH_LINE)
    assert {word.removeprefix("not-") for line in lines for word in line.when} == set(CONDITIONS)
    places = {name for line in lines for name in re.findall(r"\{(\w+)\}", line.text)}
    assert places == {*FACTS, *(name for names in EACH.values() for name in names)}


def test_sentences_are_short() -> None:
    for row in work_rows():
        for line in row.lines:
            for sentence in re.split(r"(?<=[.!?]) ", line.text):
                assert len(sentence.split()) <= 20, sentence
