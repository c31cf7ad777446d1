"""The leak test of a build: pressures, gauges, volumes and joints by hand."""

from __future__ import annotations

import math

import pytest
from made_up_builds import FOOT, INCH, INCH_OF_WATER, PSI, THREE, Values, build, outlet, run, study_of, two_stage

from gasdoc.study.proof.leak_test import AskedTest

COPPER = {"material": "copper", "type": "k"}


def piping(spec: Values, test_id: str) -> dict[str, AskedTest]:
    return {a.zone: a for a in study_of(spec).leak_test.asked if a.test.id == test_id}


def test_low_pressure_piping_is_tested_at_3_psi_for_10_minutes_on_a_gauge_of_at_most_15_psi() -> None:
    # 1.5 x 11 inH2O is 0.6 psi; the row asks for 3 psi at least. A dial reads at most 5 times the test pressure.
    (asked,) = piping(THREE, "piping-ifgc").values()
    assert asked.pressure == pytest.approx(3 * PSI)
    assert asked.full_scale == pytest.approx(15 * PSI)
    assert asked.test.hold == 600
    assert asked.working_gauge == pytest.approx(11 * INCH_OF_WATER)


def test_each_zone_is_tested_for_its_own_working_pressure() -> None:
    asked = piping(two_stage(), "piping-ifgc")
    assert asked["first"].pressure == pytest.approx(15 * PSI)  # 1.5 x 10
    assert asked["first"].full_scale == pytest.approx(75 * PSI)
    assert asked["hut-reg"].pressure == asked["shed-reg"].pressure == pytest.approx(3 * PSI)


@pytest.mark.parametrize(("working", "mbar"), [("30 mbar", 90), ("37 mbar", 111), ("50 mbar", 150)])
def test_a_european_boat_is_tested_at_three_times_its_working_pressure_up_to_150_mbar(
    working: str, mbar: float
) -> None:
    spec = build(
        run("5 m", "10 x 1 mm", material="copper-metric"),
        outlet("Heater", "3 kW", jetted_for={"gas": "propane", "pressure": working}),
        region="boat-eu",
        regulator={"outlet": working, "lock_up": None},
    )
    (asked,) = piping(spec, "piping-iso-10239").values()
    assert asked.pressure == pytest.approx(mbar * 100)


def test_every_zone_with_appliances_gets_its_own_leak_check() -> None:
    asked = study_of(two_stage()).leak_test.asked
    checked = {a.zone for a in asked if a.test.id == "leak-check-low"}
    assert checked == {"hut-reg", "shed-reg"}


def test_the_gas_volume_is_bore_times_length() -> None:
    # 1/2 nominal type K has a bore of 0.527 in, 3/8 0.402 in.
    made = study_of(
        build(run("20 ft", "1/2 in nominal", **COPPER), run("10 ft", "3/8 in nominal"), outlet("Heater", "20 kBtu/h"))
    )
    by_hand = math.pi / 4 * ((0.527 * INCH) ** 2 * 20 * FOOT + (0.402 * INCH) ** 2 * 10 * FOOT)
    assert made.leak_test.volume == pytest.approx(by_hand, rel=1e-6)
    assert by_hand == pytest.approx(1.107e-3, rel=1e-3)  # 1.1 litres
    assert not made.leak_test.volume_estimated


def test_volumes_add_up_over_the_zones() -> None:
    tests = study_of(two_stage()).leak_test
    assert [volume.zone for volume in tests.by_zone] == ["first", "hut-reg", "shed-reg"]
    # feeder 45 ft of 1/4 (0.305 in), hut 10 ft of 3/8 (0.402 in), shed 20 ft of 1/2 (0.527 in)
    bores = {"first": (0.305, 45), "hut-reg": (0.402, 10), "shed-reg": (0.527, 20)}
    for volume in tests.by_zone:
        bore, feet = bores[volume.zone]
        assert volume.runs == pytest.approx(math.pi / 4 * (bore * INCH) ** 2 * feet * FOOT, rel=1e-6), volume.zone
    assert tests.volume == pytest.approx(sum(volume.runs for volume in tests.by_zone))


def test_the_volume_of_corrugated_tubing_is_marked_as_estimated() -> None:
    made = study_of(build(run("20 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h")))
    assert made.leak_test.volume_estimated


def test_every_joint_is_listed_once_and_under_the_pressure_it_stands_at() -> None:
    found = study_of(THREE).leak_test.joints
    assert len({joint.id for joint in found}) == len(found)
    # Container side: the container's connection and the regulator's inlet. Behind it: the regulator's outlet, two ends
    # of each of five runs, two tees, and of each of three appliances the valve, the connector, the two nuts
    # of it and the sediment trap.
    assert sum(1 for joint in found if joint.zone == "container side") == 2
    assert sum(1 for joint in found if joint.zone == "regulator") == 1 + 2 * 5 + 2 + 5 * 3


def test_both_sides_of_a_second_regulator_stand_in_their_own_zones() -> None:
    zones = {joint.id: joint.zone for joint in study_of(two_stage()).leak_test.joints}
    assert zones["hut-reg-inlet"] == "first" and zones["hut-reg-outlet"] == "hut-reg"
    assert zones["shed-run-upstream"] == "shed-reg" and zones["feeder-shed-downstream"] == "first"


def test_more_containers_have_more_joints() -> None:
    spec = build(
        run("5 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        container={"number": "3", "manifold": "parallel"},
    )
    texts = [joint.text for joint in study_of(spec).leak_test.joints if joint.zone == "container side"]
    assert len([t for t in texts if "connection at its valve" in t]) == 3
    assert any("manifold" in t for t in texts)


def test_a_tap_and_a_valve_have_joints_too() -> None:
    spec = build(
        {"valve": {"id": "main"}},
        run("5 ft", "1/2 in nominal", **COPPER),
        {"tap": {"id": "gauge-here"}},
        outlet("Heater", "20 kBtu/h"),
    )
    ids = {joint.element for joint in study_of(spec).leak_test.joints}
    assert {"main", "gauge-here"} <= ids


def test_every_appliance_is_disconnected_by_name() -> None:
    assert study_of(THREE).leak_test.disconnect == ("Heater", "Cooker", "Boiler")


def on_a_boat(working: str, **plate: object) -> Values:
    return build(
        run("5 m", "10 x 1 mm", material="copper-metric"),
        outlet("Heater", "3 kW", jetted_for={"gas": "propane", "pressure": working}, **plate),
        region="boat-eu",
        regulator={"outlet": working, "lock_up": None},
    )


@pytest.mark.parametrize(("working", "mbar"), [("30 mbar", 27.5), ("37 mbar", 34.5), ("50 mbar", 47.5)])
def test_a_leak_check_below_lock_up_follows_the_pressure_of_its_zone(working: str, mbar: float) -> None:
    (asked,) = piping(on_a_boat(working), "leak-check-lockup").values()
    assert asked.pressure == pytest.approx(mbar * 100)


def test_the_delivered_pressure_is_held_to_the_plates() -> None:
    def flow(**plate: object) -> AskedTest:
        (row,) = [a for a in study_of(on_a_boat("50 mbar", **plate)).leak_test.beside if a.test.kind == "flow"]
        return row

    row = flow(min_inlet="42.5 mbar", max_inlet="57.5 mbar")
    assert (row.pressure, row.highest) == (pytest.approx(4250), pytest.approx(5750))
    assert flow(min_inlet=None).pressure is None


def test_a_check_between_the_stages_is_listed_for_the_zone_between_them() -> None:
    made = study_of(two_stage()).leak_test
    where = {(a.test.id, a.zone) for a in (*made.asked, *made.beside) if a.test.kind == "leak-check"}
    assert {zone for test, zone in where if test == "leak-check-between"} == {"first"}
    assert {zone for test, zone in where if test == "leak-check-container"} == {"first"}
    single = study_of(THREE).leak_test
    assert [a.zone for a in single.beside if a.test.id == "leak-check-between"] == []
