"""What a leak would do on a build: figures by hand, and no time over an hour."""

from __future__ import annotations

import math

import pytest
from made_up_builds import INCH_OF_WATER, KBTU_PER_HOUR, Values, build, outlet, run, study_of

from gasdoc.engineering.constants import STANDARD_ATMOSPHERE
from gasdoc.engineering.supply import lpg
from gasdoc.study.air.release import Leak

COPPER = {"material": "copper", "type": "k"}


def hut(**space: object) -> Values:
    spec = build(
        run("20 ft", "1/2 in nominal", **COPPER),
        {
            "junction": {
                "kind": "tee",
                "branches": [
                    [run("3 ft", "1/2 in nominal"), outlet("Heater", "20 kBtu/h")],
                    [run("3 ft", "1/2 in nominal"), outlet("Cooker", "30 kBtu/h", kind="cooker", flue="flueless")],
                ],
            }
        },
        regulator={"capacity": "100 kBtu/h"},
        coldest=None,
    )
    spec["spaces"][0] |= space
    return spec


def leaks(spec: Values) -> dict[str, Leak]:
    return {leak.kind: leak for leak in study_of(spec).releases.leaks}


DENSITY = lpg.gas(lpg.Fuel(1.0), 288.15, STANDARD_ATMOSPHERE).density
HEAT = lpg.gross_heating_value(lpg.Fuel(1.0))


def test_an_open_burner_is_the_largest_appliances_input_as_gas() -> None:
    burner = leaks(hut(floor_area="20 m2"))["open-burner"]
    mass = 30 * KBTU_PER_HOUR / HEAT
    assert burner.where == "Cooker" and burner.mass == pytest.approx(mass)
    # 2 % of the lowest 0.3 m over 20 m2, filled with that flow
    assert burner.time == pytest.approx(0.02 * 0.3 * 20 * DENSITY / mass)


def test_a_pinhole_is_an_orifice_at_the_highest_pressure_behind_the_regulator() -> None:
    hole = leaks(hut(floor_area="20 m2"))["pinhole"]
    gauge = 13 * INCH_OF_WATER
    rho = lpg.gas(lpg.Fuel(1.0), 288.15, STANDARD_ATMOSPHERE + gauge).density
    assert hole.mass == pytest.approx(0.8 * math.pi / 4 * 1e-6 * math.sqrt(2 * gauge * rho), rel=0.03)


def test_a_cut_connector_passes_no_more_than_the_regulator_is_rated_for() -> None:
    cut = leaks(hut(floor_area="20 m2"))["cut-hose"]
    assert cut.mass == pytest.approx(100 * KBTU_PER_HOUR / HEAT)
    spec = hut(floor_area="20 m2")
    spec["regulator"].pop("capacity")
    assert leaks(spec)["cut-hose"].mass > cut.mass


def test_the_smaller_of_void_and_floor_counts() -> None:
    assert study_of(hut(floor_area="20 m2", lowest_void="1 m3")).releases.space_is == "void"
    found = study_of(hut(floor_area="2 m2", lowest_void="1 m3")).releases
    assert found.space_is == "floor" and found.space == pytest.approx(0.6)


def test_a_space_that_is_not_stated_gives_no_time_and_says_so() -> None:
    assert {leak.why for leak in leaks(hut()).values()} == {"no-space"}


@pytest.mark.parametrize("area", ["5 m2", "50 m2", "500 m2", "5000 m2"])
def test_no_time_over_an_hour_is_ever_given(area: str) -> None:
    for leak in leaks(hut(floor_area=area)).values():
        assert (leak.time is None) == (leak.why == "over-an-hour")
        assert leak.time is None or leak.time <= 3600.0
