"""What the drawing of a supply tree says of a build: the names, numbers and figures that the pages have, too."""

from __future__ import annotations

import pytest
from places import SPECS

from gasdoc.folder.check import study_file
from gasdoc.report.drawings.schematic import Drawing
from gasdoc.report.drawings.supply_tree import drawing
from gasdoc.study import Study


@pytest.fixture(scope="module")
def hut() -> Study:
    made = study_file(SPECS / "larch-hut.md").study
    assert made is not None
    return made


@pytest.fixture(scope="module")
def drawn(hut: Study) -> Drawing:
    return drawing(hut)


def lines(drawn: Drawing, element: str) -> tuple[str, ...]:
    return next(node.lines for node in drawn.nodes if node.id == element)


def test_a_run_has_its_name_size_length_load_bends_passages_and_joints(drawn: Drawing) -> None:
    (run,) = (edge for edge in drawn.edges if edge.head == "test-tee")
    assert run.lines == ("line to the test tee", "3/4 in steel", "3 ft", "57 kBtu/h", "through wall", "joints 11-12")
    assert run.leads == "supply#trunk-wall"


def test_a_regulator_says_what_it_can_pass_and_a_container_what_it_holds_back(drawn: Drawing) -> None:
    assert "capacity 200 kBtu/h" in lines(drawn, "regulator")
    # Vapour pressure of propane: 31.4 psi absolute at -10 degF and 189 psi absolute at 100 degF (published tables, 31.5
    # and 189.5), less 11.8 psi of air at 5,900 ft.
    cold, warm = (line.split(" psi")[0] for line in lines(drawn, "container") if " psi at " in line)
    assert float(cold) == pytest.approx(31.4 - 11.8, abs=0.3)
    assert float(warm) == pytest.approx(189 - 11.8, abs=1)


def test_an_appliance_says_its_shut_off_its_connector_and_its_pressure(drawn: Drawing) -> None:
    assert {"Cooker", "shut-off", "connector 36 in", "31 kBtu/h", "10.8 inH2O"} <= set(lines(drawn, "cooker"))


def test_the_numbers_are_those_of_the_list_of_joints_and_each_stands_once(hut: Study, drawn: Drawing) -> None:
    said = [line for node in drawn.nodes for line in node.lines] + [line for edge in drawn.edges for line in edge.lines]
    numbers: list[int] = []
    for line in said:
        if line.startswith(("joint ", "joints ")):
            first, _, last = line.split(" ")[1].partition("-")
            numbers += range(int(first), int(last or first) + 1)
    assert sorted(numbers) == [joint.number for joint in hut.leak_test.joints]
    assert hut.standing.codes.tightness in drawn.foot


def test_boxes_lead_to_rows_that_are_there(hut: Study, drawn: Drawing) -> None:
    rows = {f"leak-test#joint-{joint.id}" for joint in hut.leak_test.joints}
    rows |= {f"supply#{element}" for element in hut.build.by_id} | {"container"}
    assert {node.leads for node in drawn.nodes} <= rows
    assert {edge.leads for edge in drawn.edges if edge.lines} <= rows
