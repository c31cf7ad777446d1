"""The joints to wet: none of the system is left out, and their numbers follow the gas."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee
from places import EXAMPLES, SPECS

from gasdoc.folder.check import study_file
from gasdoc.study import Study

COPPER = {"material": "copper", "type": "l"}
STEEL = {"material": "steel"}
METRIC: dict[str, Any] = {"material": "copper-metric"}

MADE_UP: dict[str, Values] = {
    "copper with every kind of element": build(
        run("9 ft", "5/8 in OD", **COPPER, id="trunk"),
        {"valve": {"id": "main"}},
        {"tap": {"id": "test"}},
        {"valve": {"id": "second"}},
        run("9 ft", "5/8 in OD", id="next", bends="2"),
        tee(
            [run("4 ft", id="left"), outlet("Hob", "9 kBtu/h", id="hob", kind="cooker")],
            [run("4 ft", id="right"), outlet("Heater", "9 kBtu/h", id="heater", shut_off="no")],
            id="split",
        ),
        container={"number": "4", "manifold": "changeover"},
    ),
    "screwed steel with a second regulator": build(
        run("9 ft", "3/4 in", **STEEL, id="trunk", bends="3"),
        {
            "regulator": {
                "id": "inside",
                "outlet": "11 inH2O",
                "inlet_thread": "3/4 NPT",
                "outlet_thread": "3/4 NPT",
            }
        },
        run("9 ft", "3/4 in", **STEEL, id="behind", bends="1"),
        outlet("Heater", "20 kBtu/h", id="heater", connector={"kind": "rigid"}),
        regulator={"outlet": "10 psi", "stages": "1"},
    ),
    "corrugated tubing to a drain": build(
        run("9 ft", "EHD 18", material="csst", id="line", through=["floor"]), outlet("Heater", "20 kBtu/h", id="heater")
    ),
    "a boat's line through a vapour-tight wall": build(
        run("3 m", "10 x 1 mm", **METRIC, id="feed", through=["bulkhead"]),
        {"tap": {"id": "gauge"}},
        {"valve": {"id": "cock"}},
        run("1 m", "8 x 1 mm", id="on"),
        outlet("Hob", "2 kW", id="hob", connector={"kind": "hose"}, inlet_thread="1/4 BSPT"),
        region="boat-eu",
        units="si",
        regulator={"outlet": "30 mbar", "lock_up": "40 mbar"},
    ),
}


@pytest.fixture(scope="module", params=[*EXAMPLES, *MADE_UP])
def made(request: pytest.FixtureRequest) -> Study:
    if request.param in MADE_UP:
        return study_of(MADE_UP[request.param])
    example = study_file(SPECS / f"{request.param}.md").study
    assert example is not None
    return example


def test_every_connection_belongs_to_a_joint_that_is_wetted(made: Study) -> None:
    known = {joint.id for joint in made.leak_test.joints}
    for joined in made.fittings.joined:
        assert joined.joints, (joined.before.words, joined.after.words)
        assert set(joined.joints) <= known, (joined.before.words, joined.after.words)


def test_every_joint_is_where_something_is_joined(made: Study) -> None:
    joined = {joint for one in made.fittings.joined for joint in one.joints}
    # The nuts of a connector hide inside it; a valve that is a tap of its manifold is joined to nothing before it.
    inside = ("-nut-upstream", "-nut-downstream")
    assert not [j.id for j in made.leak_test.joints if j.id not in joined and not j.id.endswith(inside)]


def test_numbers_count_from_one_and_follow_the_gas(made: Study) -> None:
    joints = made.leak_test.joints
    assert [joint.number for joint in joints] == list(range(1, len(joints) + 1))
    first = {joint.element: joint.number for joint in reversed(joints)}
    nodes = made.build.nodes
    for node in nodes:
        if node.parent >= 0:
            assert first[nodes[node.parent].id] < first[node.id]


def test_an_elbow_of_screwed_pipe_and_a_sediment_trap_are_wetted_too() -> None:
    example = study_file(SPECS / "larch-hut.md").study
    assert example is not None
    texts = {joint.id: joint.text for joint in example.leak_test.joints}
    assert texts["trunk-outside-elbows"] == "line to the main shut-off: both ends of each of its 3 elbows"
    assert texts["trunk-inside-elbows"] == "line to the heater tee: both ends of its elbow"
    assert "trunk-wall-elbows" not in texts  # it has no bend
    assert "room-heater-trap" in texts
    assert "cooker-trap" not in texts  # a cooker takes none


def test_a_bend_of_tubing_is_no_joint() -> None:
    bent = study_of(build(run("9 ft", "5/8 in OD", **COPPER, bends="3"), outlet("Heater", "20 kBtu/h")))
    assert not [joint for joint in bent.leak_test.joints if joint.id.endswith("-elbows")]


def test_a_fitting_to_buy_names_the_joint_that_it_closes() -> None:
    example = study_file(SPECS / "larch-hut.md").study
    assert example is not None
    nipple = next(item for item in example.materials if item.key == "npt-reducing-nipple:3/4 x 1/2")
    assert nipple.joints == ("regulator-outlet", "regulator-union")
