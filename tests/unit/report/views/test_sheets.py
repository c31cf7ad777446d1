"""The pages of one build that belong to the leak test, its form, the sheet for the door and the air: what they say."""

from __future__ import annotations

import html
import posixpath
import re
from pathlib import Path
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee, text

from gasdoc.regions.region import region_ids
from gasdoc.report.site.site import Order, make_site
from gasdoc.report.views.proof.test_sheet import view

COPPER = {"material": "copper", "type": "k"}


def hut(**more: Any) -> Values:
    return build(
        run("20 ft", "5/8 in OD", **COPPER, id="trunk"),
        {"valve": {"id": "main-valve", "place": "Left of the door, knee high"}},
        tee(
            [run("10 ft", "1/2 in OD"), outlet("Heater <1>", "20 kBtu/h", id="heater", place="North wall")],
            [run("6 ft", "1/2 in OD"), outlet("Cooker", "30 kBtu/h", kind="cooker", flue="flueless", shut_off="no")],
            id="split",
            place="Below the floor",
        ),
        coldest=None,
        **more,
    )


def pages(folder: Path, spec: Values, log: str = "") -> dict[str, str]:
    (folder / "test-hut.md").write_text(text(spec) + log, encoding="utf-8")

    def link(page: str, target: str) -> str:
        return posixpath.relpath(target, posixpath.dirname(page) or ".")

    made = make_site(Order(folder, project_templates=None, link=link))
    return {page.uri.removeprefix("test-hut/").removesuffix(".md"): page.html for page in made.pages}


def words(page: str) -> str:
    return " ".join(
        html.unescape(re.sub(r"<[^>]+>", " ", re.sub("<a class=.term.[^>]*>([^<]*)</a>", r"\1", page))).split()
    )  # split() parts at no-break spaces too


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    return pages(tmp_path_factory.mktemp("plain"), hut())


def test_the_log_leads_to_a_joint_by_its_id_and_the_joint_back_to_the_log(tmp_path: Path) -> None:
    log = "\n## 2026-05-01: Joined\n\nWet [the valve](#joint-main-valve-ends), not [that one](#joint-gone).\n"
    made = pages(tmp_path, hut(), log)
    assert 'href="leak-test.md#joint-main-valve-ends"' in made["log"]
    assert 'href="leak-test.md#joints"' in made["log"]  # it is gone: the list is what is left
    row = re.search(r'<li id="joint-main-valve-ends">.*?</li>', made["leak-test"], re.DOTALL)
    assert row is not None
    assert '<a href="log.md#2026-05-01-joined">log ' in row[0]
    assert made["leak-test"].count('href="log.md#2026') == 1


def test_the_door_sheet_lists_the_valves_from_the_container_inwards_with_their_places(plain: dict[str, str]) -> None:
    said = words(plain["door-sheet"])
    order = ["Container valve", "Main valve", "Left of the door, knee high", "Shut-off of Heater <1>", "North wall"]
    assert [said.index(part) for part in order] == sorted(said.index(part) for part in order)
    assert "everything behind it: Heater <1>, Cooker" in said
    assert "Shut-off of Cooker" not in said  # it has none


def test_the_door_sheet_has_the_emergency_steps_in_order_and_room_for_numbers(plain: dict[str, str]) -> None:
    said = words(plain["door-sheet"])
    steps = ["no flame, no spark", "Everyone out", "Shut the container valve", "Go upwind", "Let nobody back"]
    assert [said.index(step) for step in steps] == sorted(said.index(step) for step in steps)
    for label in ("Gas supplier", "Licensed gas fitter", "address or position"):
        assert label in said
    assert len(re.findall(r'<th scope="row">[^<]+</th><td></td>', plain["door-sheet"])) == 4
    assert said.startswith("Test Hut Gas: what to do Call from outside 911 You smell gas")
    assert said.index("No flame. Touch no switch.") < said.index("Out into fresh air.") < said.index("What to shut")


def test_the_numbers_to_call_are_the_specs_own_and_then_those_of_each_country(tmp_path: Path) -> None:
    spec = hut(region="au-nz", setting="cabin", emergency="Site guard 0800 111 000")
    said = words(pages(tmp_path, spec)["door-sheet"])
    assert "Call from outside Site guard 0800 111 000 000 Australia 111 New Zealand" in said


def test_names_are_markup_nowhere(plain: dict[str, str]) -> None:
    for page in plain.values():
        assert "Heater <1>" not in page


def test_the_test_sheet_names_build_code_and_what_is_asked(plain: dict[str, str]) -> None:
    said = words(plain["test-sheet"])
    assert "Test Hut" in said and re.search(r"code gt1-[0-9a-f]{12}", said)
    assert "Pumped to 3 psi" in said and "Gauge brought to 8.5 to 9.5 in. w.c." in said
    assert "Heater <1>: connector off, valve open, its outlet closed with plug, 1/2 NPT" in said


def test_the_test_sheet_has_a_blank_for_all_that_an_inspector_asks(plain: dict[str, str]) -> None:
    said = words(plain["test-sheet"])
    for label in (
        "calibrated",
        "Container serial",
        "Approval no.",
        "Purged",
        "Flame failure, s",
        "Flue, spillage",
        "CO, ppm",
        "Relit",
        "Pressure before the regulator",
        "closed point wetted and swept",
    ):
        assert label in said, label


def test_every_gate_of_the_sequence_is_on_the_sheet_in_order(plain: dict[str, str]) -> None:
    said = words(plain["test-sheet"])
    gates = [step.passes for step in study_of(hut()).sequence.steps if step.passes is not None]
    places = [said.index(gate) for gate in gates]
    assert places == sorted(places) and len(gates) == 7
    assert said.count("If not: stop here.") == 7


def test_a_sheet_with_more_joints_than_fit_has_their_numbers_alone(tmp_path: Path) -> None:
    branches = [[run("3 ft", "1/2 in OD"), outlet(f"Lamp {i}", "2 kBtu/h", kind="light")] for i in range(12)]
    made = pages(tmp_path, build(run("3 ft", "5/8 in OD", **COPPER), tee(*branches), coldest=None))
    sheet, page = words(made["test-sheet"]), words(made["leak-test"])
    # 2 before the regulator, its outlet, 2 of the trunk, the manifold, and of 12 lamps 2 of the run, valve, connector, 2 nuts.
    assert "Joints wetted: 78" in sheet and "upstream end fitting" not in sheet
    assert "78 Lamp 11: nut of its connector at the appliance, no sealant" in page


def test_what_is_done_alike_at_many_appliances_is_said_once_before_their_boxes(tmp_path: Path) -> None:
    branches = [[run("3 ft", "1/2 in OD"), outlet(f"Lamp {i}", "2 kBtu/h", kind="light")] for i in range(9)]
    made = pages(tmp_path, build(run("3 ft", "5/8 in OD", **COPPER), tee(*branches), coldest=None))
    said = re.sub(r"[\s\xa0]+", " ", words(made["test-sheet"]))
    alike = "Connector off, valve open, its outlet closed with plug, 1/2 NPT: Lamp 0 Lamp 1 Lamp 2"
    assert alike in said and said.count("Connector off") == 1 and "Lamp 1: connector off" not in said
    assert "Connector joined: Lamp 0 Lamp 1 Lamp 2" in said


def test_the_two_sheets_are_reached_from_their_pages_and_not_from_the_menu(tmp_path: Path) -> None:
    (tmp_path / "test-hut.md").write_text(text(hut()), encoding="utf-8")
    made = make_site(
        Order(
            tmp_path,
            project_templates=None,
            link=lambda page, target: posixpath.relpath(target, posixpath.dirname(page) or "."),
        )
    )
    by_uri = {page.uri: page for page in made.pages}
    assert 'href="test-sheet.md"' in by_uri["test-hut/leak-test.md"].html
    assert 'href="door-sheet.md"' in by_uri["test-hut/cautions.md"].html
    for page in by_uri.values():
        assert not {"test-hut/test-sheet.md", "test-hut/door-sheet.md"} & {item.uri for item in page.menu}
    assert {asset.uri for asset in made.assets} >= {"upkeep.ics", "test-hut/upkeep.ics"}


def test_the_procedure_is_filled_in_with_this_builds_names(plain: dict[str, str]) -> None:
    said = words(plain["leak-test"])
    assert "Heater <1>: take its connector off. Open its shut-off valve." in said
    assert "Leave the main valve (Left of the door, knee high) open" in said
    assert "Cooker: take its connector off and close its line with" in said
    assert "to 3 psi. A dial gauge reads at most 15 psi at full scale" in said
    assert "at the split: Below the floor" in said  # where to hold a detector
    for joint in (
        "line to the main valve: upstream end fitting",
        "split: all 3 ports",
        "Cooker: both ends of its connector",
    ):
        assert joint in said
    assert (
        "of the 10 joints" in said
    )  # two ends of 3 runs, the valve, the tee, the ends at two appliances: 6 + 1 + 1 + 2


def test_the_page_leads_with_the_sheet_and_says_what_to_bring_before_how_long(plain: dict[str, str]) -> None:
    said = words(plain["leak-test"])
    assert said.index("The sheet for the test day") < said.index("Tests the region asks, passed")
    bring = said[said.index("Before you begin") :]
    assert bring.index("With an ordinary thermometer it takes") < bring.index("How long to hold")
    assert bring.index("bring a thermometer that reads 0.1 °F") < bring.index("With an ordinary thermometer it takes")


def test_where_the_appliances_stay_connected_in_the_test_the_procedure_says_so(tmp_path: Path) -> None:
    said = words(pages(tmp_path, hut(region="boat-eu", units="si"))["leak-test"])
    assert said.index("Heater <1>: take its connector off") < said.index(
        "Make it here only if the maker of each appliance"
    )
    assert "each appliance too, unless its maker says" in said
    assert "of the 12 joints" in said  # the two connectors as well; hoses sold there have no adapters of their own


def test_a_recorded_test_is_shown_with_its_numbers_and_a_plot(tmp_path: Path) -> None:
    readings = [
        {"time": f"10:{minute:02d}", "pressure": "22000 Pa", "temperature": "15 degC", "barometer": "1013 mbar"}
        for minute in (0, 20, 40)
    ]
    test = {
        "date": "2026-05-02",
        "kind": "piping",
        "medium": "air",
        "gauge": {"resolution": "10 Pa"},
        "thermometer": "0.1 K",
        "barometer": "0.1 mbar",
        "readings": readings,
        "bubbles": "none",
    }
    made = pages(tmp_path, hut(tests=[test]))["leak-test"]
    said = words(made)
    assert "Passed, by the numbers recorded" in said and "does not say what it covers" in said
    assert "Smallest leak this test was sure to show" in said and made.count('<figure class="chart') == 1
    assert "1 of 2" not in said and "0 of 2" in said


@pytest.mark.parametrize(
    ("end", "kelvin", "bubbles", "outcome"),
    [
        ("22000 Pa", "288.15 K", "none", "Passed, by the numbers recorded."),
        ("20000 Pa", "288.15 K", "none", "Leak."),
        ("22000 Pa", "288.15 K", "found", "Leak."),
        ("22000 Pa", "291.15 K", "none", "Suspected leak."),
        ("20720 Pa", "285.15 K", "none", "Could not tell."),
    ],
)
def test_every_outcome_of_a_test_has_its_words_on_the_page(
    end: str, kelvin: str, bubbles: str, outcome: str, tmp_path: Path
) -> None:
    ends = [("10:00", "22000 Pa", "288.15 K"), ("10:40", end, kelvin)]
    readings = [{"time": t, "pressure": p, "temperature": k, "barometer": "1013.25 mbar"} for t, p, k in ends]
    test = {
        "date": "2026-05-02",
        "kind": "piping",
        "medium": "air",
        "gauge": {"resolution": "10 Pa"},
        "thermometer": "0.1 K",
        "barometer": "0.1 mbar",
        "readings": readings,
        "bubbles": bubbles,
    }
    said = words(pages(tmp_path, hut(tests=[test]))["leak-test"])
    assert outcome in said[said.index("Recorded tests") :]


@pytest.mark.parametrize("region", region_ids())
def test_the_pages_of_every_region_can_be_made_and_never_give_a_verdict_of_their_own(
    region: str, tmp_path: Path
) -> None:
    made = pages(tmp_path, hut(region=region, setting="trailer"))
    for section in ("leak-test", "test-sheet", "door-sheet", "air", "cautions", "upkeep", "referral"):
        said = words(made[section]).lower()
        assert not re.search(r"\bcompliant\b|\bapproved by gasdoc\b|\bis safe\b|\bsafe to\b", said), section
        assert "none none" not in said and "markup(" not in said


def test_no_time_over_an_hour_is_printed_for_a_leak(plain: dict[str, str], tmp_path: Path) -> None:
    big = hut()
    big["spaces"][0] |= {"floor_area": "900 m2"}
    said = words(pages(tmp_path, big)["cautions"])
    table = said[said.index("What a leak would do here") :]
    minutes = [int(n) for n in re.findall(r"(\d+) min or less", table)]
    assert all(n <= 60 for n in minutes) and "it pools before it mixes" in table
    assert "How large the lowest space is, is not stated" in words(plain["cautions"])


def test_a_form_never_has_only_the_lower_of_two_limits(tmp_path: Path) -> None:
    said = words(
        pages(tmp_path, hut(region="boat-eu", units="si", regulator={"outlet": "30 mbar", "lock_up": "35 mbar"}))[
            "test-sheet"
        ]
    )
    assert "90 to 150 mbar" in said and "90 mbar or more" not in said
    assert "27.5 mbar or more, below lock-up" in said


def test_the_emergency_comes_before_the_cautions_and_only_there(plain: dict[str, str]) -> None:
    door = plain["door-sheet"]
    assert (
        door.index("You smell gas")
        < door.index("Let nobody back")
        < door.index("What to shut")
        < door.index('class="cautions"')
    )
    assert plain["cautions"].index('class="cautions"') < plain["cautions"].index("Let nobody back")


def test_a_distance_on_the_door_is_in_the_units_of_the_build(plain: dict[str, str], tmp_path: Path) -> None:
    assert "(100 ft or more)" in words(plain["door-sheet"])
    assert "(30 m or more)" in words(pages(tmp_path, hut(units="si"))["door-sheet"])


def test_before_anything_is_undone_the_pressure_goes(plain: dict[str, str]) -> None:
    said = words(plain["leak-test"])
    failed = said[said.index("If it fails") :]
    assert (
        failed.index("let the pressure go") < failed.index("at the end nearer to the regulator")
        and "fresh sealant" in failed
    )
    assert "is let pass" not in said and "There is no acceptable leak in LP gas" in failed


def test_page_and_sheet_give_the_same_volumes(plain: dict[str, str]) -> None:
    form = words(plain["test-sheet"])
    alone, connected = re.findall(r"Gas volume up to ([\d.]+) ft³ , with connectors ([\d.]+) ft³", form)[0]
    said = words(plain["leak-test"])
    assert float(alone) < float(connected)
    assert f"For {alone} ft³ of gas, the upper estimate, piping alone" in said
    assert f"For {connected} ft³ of gas, the upper estimate, connectors included" in said


def test_boxes_stand_in_columns_only_where_two_pages_have_room_for_them() -> None:
    assert view(study_of(hut()))["roomy"]
    name = "The griddle on the long counter of the left wall, number"
    branches = [
        [run("6 ft", "1/2 in OD", **COPPER), outlet(f"{name} {i}", "20 kBtu/h", id=f"griddle-{i}")] for i in range(4)
    ]
    long = build(
        run("20 ft", "7/8 in OD", **COPPER, id="trunk"),
        {"valve": {"id": "main-valve"}},
        {"tap": {"id": "gauge-here"}},
        tee(*branches, id="rail"),
        region="us-trailer",
        setting="trailer",
    )
    assert not view(study_of(long))["roomy"]


def test_a_drawing_has_as_many_mm_as_it_has_units(plain: dict[str, str]) -> None:
    """Else nothing on the page is at its true size, nor are its bars."""
    page = plain["true-size"]
    found = re.findall(r'class="true" width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"', page)
    assert len(found) == page.count('class="true"') > 3
    assert all((width, height) == (across, down) for width, height, across, down in found)
    bars = re.search(r'<path class="true-bar" d="([^"]+)"', page)
    assert bars is not None
    assert "M2,8H52" in bars[1]  # 50 mm
    assert "M2,18H52.8" in bars[1]  # 2 in
