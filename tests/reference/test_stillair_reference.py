"""Still air against a published library of heat transfer, a textbook's worked examples and a hand computation."""

from __future__ import annotations

import pytest

from gasdoc.engineering.container.still_air import coefficient, convection, lying_cylinder, radiation, vertical_plate
from gasdoc.engineering.container.vessel import Vessel

BOTTLE = Vessel(0.30, 0.50, "upright")


@pytest.mark.parametrize(
    ("rayleigh", "prandtl", "nusselt"),
    # ht 1.2.0, Nu_vertical_plate_Churchill, above the laminar range.
    [(5e9, 0.72, 203.187396516651), (1.813e9, 0.69, 147.11901036004778)],
)
def test_a_vertical_plate_in_turbulent_flow(rayleigh: float, prandtl: float, nusselt: float) -> None:
    assert vertical_plate(rayleigh, prandtl) == pytest.approx(nusselt, rel=1e-12)


def test_a_vertical_plate_in_laminar_flow_by_hand() -> None:
    # Pr 0.71: (0.492/0.71)^(9/16) = 0.8136; 1.8136^(4/9) = 1.3029; Ra 1e8: 100 x 0.670 / 1.3029 + 0.68 = 52.1.
    assert vertical_plate(1e8, 0.71) == pytest.approx(52.1, abs=0.05)


@pytest.mark.parametrize(
    ("rayleigh", "prandtl", "nusselt"),
    # ht 1.2.0, Nu_horizontal_cylinder_Churchill_Chu.
    [(1e6, 0.71, 14.53723548790252), (3e8, 0.72, 79.59422922466106), (5.073e6, 0.697, 23.09105139621961)],
)
def test_a_lying_cylinder(rayleigh: float, prandtl: float, nusselt: float) -> None:
    assert lying_cylinder(rayleigh, prandtl) == pytest.approx(nusselt, rel=1e-12)


def test_a_textbooks_vertical_panel() -> None:
    """Incropera and DeWitt, example 9.2: a panel 0.71 m high at 232 degC in air of 23 degC has 7.0 W/(m2 K) by convection."""
    panel = Vessel(1.42, 0.71, "upright")
    assert convection(panel, 296.15, 505.15) == pytest.approx(7.0, rel=0.02)


def test_a_bottle_in_frost_by_hand() -> None:
    """30 x 50 cm at -35 degC in still air of -15 degC: by hand 3.5 by convection and 3.1 by radiation, 6.7 in all."""
    # 4 x 0.9 x 5.67e-8 x 248.15^3 = 3.12
    assert radiation(258.15, 238.15) == pytest.approx(3.12, abs=0.01)
    # Film -25 degC: nu 1.13e-5 m2/s, k 0.0223 W/(m K), Pr 0.72; Ra = 9.81/248 x 20 x 0.125 / nu^2 x 0.72 = 5.6e8;
    # Nu = 0.68 + 0.670 x 153.8 / 1.301 = 79.9; h = 79.9 x 0.0223 / 0.5 = 3.56.
    assert convection(BOTTLE, 258.15, 238.15) == pytest.approx(3.56, rel=0.01)
    assert coefficient(BOTTLE, 258.15, 238.15) == pytest.approx(6.68, rel=0.01)


def test_it_is_about_a_third_of_moving_air_and_grows_with_the_difference() -> None:
    found = [coefficient(BOTTLE, 265.0, 265.0 - step) for step in (1.0, 5.0, 10.0, 20.0, 30.0)]
    assert found == sorted(found)
    assert 4.0 < found[0] < found[-1] < 8.0
    assert coefficient(BOTTLE, 265.0, 265.0) == pytest.approx(radiation(265.0, 265.0), abs=0.05)  # Nu 0.68 is left


def test_thin_air_carries_less() -> None:
    # Laminar: Nu goes with the square root of the density, radiation does not.
    low, high = convection(BOTTLE, 258.15, 238.15), convection(BOTTLE, 258.15, 238.15, 70_000.0)
    assert high / low == pytest.approx((70_000 / 101_325) ** 0.5, rel=0.01)
