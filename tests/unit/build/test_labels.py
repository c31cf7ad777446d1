"""What people call the elements of a build: one name each, from an id that was given or from what stands behind."""

from __future__ import annotations

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee
from places import EXAMPLES, SPECS

from gasdoc.folder.check import study_file

COPPER = {"material": "copper", "type": "l"}


def called(*supply: Values) -> dict[str, str]:
    return study_of(build(*supply)).build.labels


def test_a_run_is_called_by_what_it_leads_to() -> None:
    found = called(
        run("9 ft", "5/8 in OD", **COPPER, id="a"),
        {"valve": {"id": "galley-valve"}},
        run("9 ft", "5/8 in OD", id="b"),
        tee(
            [run("4 ft", "1/2 in OD", id="c"), outlet("Hob", "9 kBtu/h")],
            [run("4 ft", "1/2 in OD"), outlet("Room heater", "9 kBtu/h")],
            id="galley-tee",
        ),
    )
    assert found["a"] == "line to the galley valve"
    assert found["b"] == "line to the galley tee"
    assert found["c"] == "line to Hob"
    assert found["run-room-heater"] == "line to Room heater"


def test_runs_in_a_row_say_which_part_they_are() -> None:
    row = [run("3 ft", "5/8 in OD", **COPPER, id=identity) for identity in ("x", "y", "z")]
    found = called(*row, outlet("Hob", "9 kBtu/h"))
    assert [found[identity] for identity in ("x", "y", "z")] == [
        "line to Hob, part 1 of 3",
        "line to Hob, part 2 of 3",
        "line to Hob, part 3 of 3",
    ]


def test_an_id_becomes_words_and_says_what_kind_of_element_it_is() -> None:
    found = called(
        {"valve": {"id": "main-shut-off"}},
        {"valve": {"id": "v1"}},
        {"valve": {"id": "galley"}},
        {"tap": {"id": "low-end"}},
        run("3 ft", "5/8 in OD", **COPPER),
        outlet("Hob", "9 kBtu/h"),
    )
    assert found["main-shut-off"] == "main shut-off"
    assert found["v1"] == "valve v1"
    assert found["galley"] == "galley valve"
    assert found["low-end"] == "low end test point"
    assert found["regulator"] == "first regulator"


def test_what_has_no_id_is_called_by_what_is_behind_it() -> None:
    found = called(
        {"valve": {}},
        {"valve": {}},
        run("3 ft", "5/8 in OD", **COPPER),
        tee([run("4 ft"), outlet("Hob", "9 kBtu/h")], [run("4 ft"), outlet("Heater", "9 kBtu/h")]),
    )
    assert "tee to Hob and Heater" in found.values()
    assert "line to the tee to Hob and Heater" in found.values()
    assert {"valve before Hob and Heater", "valve 2 before Hob and Heater"} <= set(found.values())


def test_two_elements_are_never_called_alike() -> None:
    found = called(
        run("3 ft", "5/8 in OD", **COPPER),
        tee(
            [run("4 ft"), outlet("Burner", "9 kBtu/h", id="left")],
            [run("4 ft"), outlet("Burner", "9 kBtu/h", id="right")],
        ),
    )
    assert len(set(found.values())) == len(found)
    assert (found["left"], found["right"]) == ("Burner (left)", "Burner (right)")


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_element_of_the_examples_has_a_name_of_its_own(name: str) -> None:
    made = study_file(SPECS / f"{name}.md").study
    assert made is not None
    found = made.build.labels
    assert set(found) == {"regulator", *made.build.by_id}
    assert len(set(found.values())) == len(found)
