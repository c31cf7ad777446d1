"""The take-off of whole builds: what is counted, from which run, with what support, and the tools."""

from __future__ import annotations

import pytest
from made_up_builds import FOOT, INCH, THREE, Values, build, outlet, run, runs, study_of, tee, two_stage

from gasdoc.catalog.supports import support_spacing
from gasdoc.engineering.materials.take_off import GROUPS, Item
from gasdoc.study.materials.take_off import size_text, taper_joints, tight_joints

COPPER = {"material": "copper", "type": "k"}
THREADS: Values = {"inlet_thread": "1/4 NPT", "outlet_thread": "1/2 NPT"}


def items(spec: Values) -> dict[str, Item]:
    return {item.key: item for item in study_of(spec).materials}


def test_tubing_is_added_up_by_the_sizes_the_sizing_found() -> None:
    made = items(THREE)
    # 1/2: trunk 8 and middle 7 ft; 3/8: 13 and 15 ft; 1/4: 12 ft. A tenth for waste, and 6 in for each run.
    by_hand = {"1/2": (15, 2), "3/8": (28, 2), "1/4": (12, 1)}
    for size, (feet, pieces) in by_hand.items():
        item = made[f"copper-k {size}"]
        assert item.exact == pytest.approx(feet * FOOT)
        assert item.quantity == pytest.approx(1.1 * feet * FOOT + 6 * INCH * pieces)
    assert sum(item.group == "tubing" for item in made.values()) == 3


def test_a_tee_has_the_sizes_of_its_runs_and_a_nut_for_each_end_of_copper() -> None:
    made = items(
        THREE | {"regulator": THREE["regulator"] | THREADS, "container": THREE["container"] | {"connection": "POL"}}
    )
    # 5/8 OD: trunk and middle, two ends each; 1/2 OD: two runs; 3/8 OD: one run.
    assert {key: item.quantity for key, item in made.items() if key.startswith("flare-nut:")} == {
        "flare-nut:5/8": 4,
        "flare-nut:1/2": 4,
        "flare-nut:3/8": 2,
    }
    assert {"flare-reducing-tee:5/8 x 5/8 x 3/8", "flare-reducing-tee:5/8 x 1/2 x 1/2"} <= set(made)


def test_every_regulator_is_listed_with_its_pressure_and_threads() -> None:
    spec = two_stage()
    spec["regulator"] |= {"inlet_thread": "1/4 NPT", "outlet_thread": "3/8 NPT"}
    found = [item for item in study_of(spec).materials if item.key.startswith("regulator:")]
    assert any("10 psi" in item.name and "1/4 NPT x 3/8 NPT" in item.name for item in found)
    assert any("second-stage" in item.name and "11 inH2O" in item.name for item in found)
    assert sum(item.quantity for item in found) == 3


def test_containers_and_their_hoses_are_counted() -> None:
    spec = build(
        run("5 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        container={"number": "2", "manifold": "changeover", "connection": "POL"},
        regulator=THREADS,
    )
    made = items(spec)
    assert (made["container:dot-100lb"].quantity, made["container:dot-100lb"].name) == (
        2,
        "100-lb cylinder, propane, outlet POL",
    )
    assert made["pol-pigtail-npt:1/4"].quantity == 2 and "with changeover" in made["regulator:regulator"].name


def test_two_banks_have_a_block_each_and_a_changeover_between() -> None:
    spec = build(
        run("5 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        container={"number": "4", "manifold": "banks", "connection": "POL"},
        regulator=THREADS,
    )
    made = items(spec)
    assert made["container:dot-100lb"].quantity == 4
    assert made["container-manifold-2:1/4 x 1/4"].quantity == 2
    assert "with changeover" in made["regulator:regulator"].name


def test_a_run_without_a_size_is_listed_as_not_found_and_not_left_out() -> None:
    made = items(build(run("10 ft", **COPPER, id="r"), outlet("Kiln", "9000 kBtu/h", kind="other")))
    (item,) = [item for item in made.values() if item.group == "tubing"]
    assert "size not found" in item.name and item.exact == pytest.approx(10 * FOOT)


def test_valves_in_branches_and_taps_are_listed() -> None:
    spec = build(
        run("5 ft", "5/8 in OD", **COPPER),
        {"valve": {"id": "main"}},
        run("5 ft", "5/8 in OD"),
        {"tap": {"id": "gauge-here"}},
        run("5 ft", "5/8 in OD"),
        outlet("Heater", "20 kBtu/h"),
    )
    made = items(spec)
    assert made["valve-flare:5/8"].where == ("main",)
    assert made["flare-test-tee:5/8 x 1/4"].where == ("gauge-here",) and made["test-tap-npt:1/4"].quantity == 1
    assert "closes a test point" in made["npt-plug:1/4"].note


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
    assert support_spacing(material, runs(made)["r"].size, False)[0] == pytest.approx(feet * FOOT)


def test_on_something_that_moves_supports_are_never_more_than_24_inches_apart() -> None:
    hut = build(run("12 ft", "1/2 in nominal", **COPPER, id="r"), outlet("Heater", "20 kBtu/h"))
    # In a hut 12 ft at 6 ft: 3; in a vehicle at 2 ft: 7.
    assert items(hut)["clamp:5/8 in"].quantity == 3
    assert items(hut | {"region": "us-vehicle"})["clamp:5/8 in"].quantity == 7
    assert support_spacing("steel", None, True)[0] == pytest.approx(24 * INCH)


def test_each_passage_has_its_lining_and_soft_tubing_a_plate_in_a_wall() -> None:
    spec = build(run("12 ft", "5/8 in OD", **COPPER, through=["wall", "floor", "frame"]), outlet("Heater", "20 kBtu/h"))
    made = items(spec)
    # A sleeve is 1/2 in wider than 5/8, a grommet 1/16.
    assert made["sleeve:1-1/8 in"].quantity == 1 and made["grommet:11/16 in"].quantity == 2
    assert made["strike-plate"].quantity == 1
    steel = build(run("12 ft", "1/2 in", material="steel", through=["wall"]), outlet("Heater", "20 kBtu/h"))
    assert "strike-plate" not in items(steel)


def test_a_run_outside_is_guarded_as_what_it_is_on_moves_or_stands() -> None:
    spec = build(run("12 ft", "1/2 in", material="steel", outside="yes"), outlet("Heater", "20 kBtu/h"))
    assert {i.key for i in study_of(spec).materials} >= {"rust-coat", "knock-guard"}
    moving = items(spec | {"region": "us-trailer"})
    assert moving["stone-guard"].measured and moving["heat-shield"].if_needed and "rust-coat" not in moving


def test_a_gauge_is_listed_for_each_pressure_the_tests_ask_for() -> None:
    made = study_of(build(run("12 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h")))
    gauges = [item for item in made.materials if item.key.startswith("gauge:")]
    asked = [a for a in made.leak_test.asked if a.pressure is not None]
    assert len(gauges) == len(asked) > 0
    # IFGC asks 3 psi and a gauge of at most five times that.
    assert any("3 psi" in g.name and "15 psi" in g.name for g in gauges)


def test_tools_follow_from_what_is_joined() -> None:
    copper = {t.id for t in study_of(build(run("9 ft", "5/8 in OD", **COPPER), outlet("H", "9 kBtu/h"))).tools}
    assert {"flaring-tool", "tube-cutter", "bender"} <= copper and "pipe-threader" not in copper
    steel = {
        t.id
        for t in study_of(
            build(run("9 ft", "1/2 in", material="steel"), outlet("H", "9 kBtu/h"), regulator=THREADS)
        ).tools
    }
    assert {"pipe-threader", "sealant"} <= steel and "flaring-tool" not in steel


def test_every_element_of_the_tree_is_named_by_some_line() -> None:
    made = study_of(THREE)
    named = {name for item in made.materials for name in item.where}
    elements = {node.id for node in made.build.nodes}
    assert elements <= named


def test_lines_stand_in_the_order_of_their_groups_and_no_two_read_alike() -> None:
    made = study_of(
        build(
            tee(
                [run("9 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h")],
                [
                    run("9 ft", "5/8 in OD", **COPPER),
                    outlet("Boiler", "20 kBtu/h", connector={"kind": "flexible", "length": "4 ft"}),
                ],
            )
        )
    )
    places = [GROUPS.index(item.group) for item in made.materials]
    assert places == sorted(places)
    told = [(item.name, item.note) for item in made.materials]
    assert len(set(told)) == len(told)


@pytest.mark.parametrize(
    ("inches", "us", "si"),
    [(0.5625, "9/16 in", "15 mm"), (0.7325, "3/4 in", "19 mm"), (1.0, "1 in", "26 mm"), (1.55, "1-9/16 in", "40 mm")],
)
def test_a_width_is_named_as_it_is_sold_and_never_smaller(inches: float, us: str, si: str) -> None:
    assert size_text(inches * INCH, "us") == us and size_text(inches * INCH, "si") == si


def test_a_gauge_reads_all_the_pressures_its_test_meets() -> None:
    """A leak check at 8.5 to 9.5 inH2O begins at what the regulator locks up at, 13 inH2O on its data sheet."""
    made = study_of(build(run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "20 kBtu/h")))
    (gauge,) = [item for item in made.materials if item.key == "gauge:leak-check-low"]
    assert gauge.name == "gauge that reads 13 inH2O"


def test_a_gauge_reads_more_than_the_set_pressure_where_lock_up_is_not_stated() -> None:
    """A regulator of 37 mbar, its line bled to 2.5 mbar under lock-up: a gauge to 34.5 mbar would stand at its end."""
    line = (run("3 m", "12 x 1 mm", material="copper-metric"), outlet("Heater", "3 kW"))
    made = study_of(build(*line, region="boat-eu", units="si", regulator={"outlet": "37 mbar", "lock_up": None}))
    (gauge,) = [item for item in made.materials if item.key == "gauge:leak-check-lockup"]
    assert gauge.name == "gauge that reads 37 mbar and what the regulator locks up at"


def test_every_joint_that_is_made_is_counted_and_so_are_those_with_sealant() -> None:
    """By hand: hose at the cylinder, hose at the regulator, half union in the regulator, its flare, the flare at the valve, the
    connector in the valve, its two nuts, the connector in the cooker. Taper are the hose and the half union in the
    regulator, and the connector at both ends."""
    spec = build(
        run("5 ft", "1/2 in nominal", **COPPER),
        outlet("Cooker", "20 kBtu/h", kind="cooker", inlet_thread="1/2 NPT", connector={"kind": "flexible", "length": "3 ft"}),
        container={"connection": "POL"},
        regulator=THREADS,
    )  # fmt: skip
    made = study_of(spec).fittings
    assert (tight_joints(made), taper_joints(made)) == (9, 4)
