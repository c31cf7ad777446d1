"""The take-off of whole builds: what is counted, from which run, with what support."""

from __future__ import annotations

import pytest
from made_up_builds import FOOT, INCH, Values, build, outlet, run, runs, study_of, tee
from test_study_zones import THREE, two_stage

from gasdoc.materials.takeoff import Item
from gasdoc.study.materials import support_spacing

COPPER = {"material": "copper", "type": "k"}


def items(spec: Values) -> dict[str, Item]:
    return {item.key: item for item in study_of(spec).materials}


def test_tubing_is_added_up_by_the_sizes_the_sizing_found() -> None:
    made = items(THREE)
    # 1/2: trunk 8 and middle 7 ft; 3/8: 13 and 15 ft; 1/4: 12 ft.
    by_hand = {"1/2": 15, "3/8": 28, "1/4": 12}
    for size, feet in by_hand.items():
        item = made[f"tubing:copper:k:{size}"]
        assert item.exact == pytest.approx(feet * FOOT) and item.quantity == pytest.approx(1.1 * feet * FOOT)
    assert sum(1 for key in made if key.startswith("tubing:")) == 3


def test_fittings_are_two_ends_a_run_and_a_tee_for_each_junction_with_its_sizes() -> None:
    made = items(THREE)
    assert {key: item.quantity for key, item in made.items() if key.startswith("end:")} == {
        "end:copper:k:1/2": 4,
        "end:copper:k:3/8": 4,
        "end:copper:k:1/4": 2,
    }
    tees = [item for key, item in made.items() if key.startswith("tee:")]
    assert len(tees) == 2
    assert [
        [port.strip().split(" in nominal")[0] for port in item.name.removeprefix("tee, ").split(" x ")] for item in tees
    ] == [
        ["1/2", "1/4", "1/2"],
        ["1/2", "3/8", "3/8"],
    ]


def test_every_regulator_is_listed_with_its_pressure_and_threads() -> None:
    spec = two_stage()
    spec["regulator"] |= {"inlet_thread": "1/4 NPT", "outlet_thread": "3/8 NPT"}
    names = [item.name for item in study_of(spec).materials if item.key.startswith("regulator:")]
    assert any("10 psi" in name and "1/4 NPT x 3/8 NPT" in name for name in names)
    assert any("second-stage" in name and "11 inH2O" in name for name in names)
    quantities = [item.quantity for item in study_of(spec).materials if item.key.startswith("regulator:")]
    assert sum(quantities) == 3


def test_containers_and_their_hoses_are_counted() -> None:
    spec = build(
        run("5 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        container={"number": "2", "manifold": "changeover"},
    )
    made = items(spec)
    assert made["container"].quantity == 2 and made["container"].name == "100-lb cylinder"
    assert made["manifold"].name == "changeover manifold" and made["pigtail"].quantity == 2


def test_a_run_without_a_size_is_listed_as_not_found_and_not_left_out() -> None:
    made = items(build(run("10 ft", **COPPER, id="r"), outlet("Kiln", "9000 kBtu/h", kind="other")))
    (item,) = [item for key, item in made.items() if key.startswith("tubing:")]
    assert "size not found" in item.name and item.exact == pytest.approx(10 * FOOT)


def test_a_corrugated_run_ends_in_a_termination_at_its_appliance() -> None:
    made = items(
        build(
            tee(
                [run("9 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h")],
                [run("9 ft", "1/2 in nominal", **COPPER), outlet("Boiler", "20 kBtu/h")],
            )
        )
    )
    assert made["termination"].where == ("heater",)
    assert "corrugated" in made["end:csst::EHD 18"].name


def test_valves_in_branches_and_taps_are_listed() -> None:
    spec = build(
        {"valve": {"id": "main"}},
        run("5 ft", "1/2 in nominal", **COPPER),
        {"tap": {"id": "gauge-here"}},
        outlet("Heater", "20 kBtu/h"),
    )
    made = items(spec)
    assert made["valve:branch"].where == ("main",) and made["tap"].where == ("gauge-here",)
    assert made["valve:outlet"].where == ("heater",)


@pytest.mark.parametrize(
    ("material", "size", "feet"),
    [
        ("copper", "3/8 in nominal", 4),
        ("copper", "1/2 in nominal", 6),
        ("copper", "3/4 in nominal", 8),
        ("steel", "1/2 in", 6),
        ("steel", "3/4 in", 8),
        ("steel", "1-1/4 in", 10),
        ("csst", "EHD 15", 4),
        ("csst", "EHD 18", 6),
        ("csst", "EHD 23", 8),
    ],
)
def test_supports_are_as_far_apart_as_the_data_have_them(material: str, size: str, feet: float) -> None:
    """1/2 and 3/4 nominal copper are 5/8 and 7/8 in outside; the rows of tubing go by outside diameter."""
    kind = {"type": "k"} if material == "copper" else {}
    made = study_of(build(run("5 ft", size, material=material, **kind, id="r"), outlet("Heater", "5 kBtu/h")))
    assert support_spacing(material, runs(made)["r"].size, False) == pytest.approx(feet * FOOT)


def test_on_something_that_moves_supports_are_never_more_than_24_inches_apart() -> None:
    hut = build(run("12 ft", "1/2 in nominal", **COPPER, id="r"), outlet("Heater", "20 kBtu/h"))
    # In a hut 12 ft at 6 ft: 3; in a vehicle at 2 ft: 7.
    assert items(hut)["clamp:copper:k:1/2"].quantity == 3
    assert items(hut | {"region": "us-vehicle"})["clamp:copper:k:1/2"].quantity == 7
    assert support_spacing("steel", None, True) == pytest.approx(24 * INCH)


def test_every_element_of_the_tree_is_named_by_some_line() -> None:
    made = study_of(THREE)
    named = {name for item in made.materials for name in item.where}
    elements = {node.id for node in made.build.nodes}
    assert elements <= named
