"""The shape of containers, against closed forms and plain numerical integration."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.container.vessel import (
    Orientation,
    Vessel,
    centroid_height,
    liquid_level,
    of_capacity,
    wetted_area,
)

diameters = st.floats(0.1, 1.0)
stretch = st.floats(0.5, 8.0)
shares = st.floats(0.001, 0.999)
orientations = st.sampled_from(["upright", "horizontal"])


def _below(vessel: Vessel, level: float, slices: int = 20000) -> tuple[float, float]:
    """Volume and skin below a level by slices along the vessel's own axis: another way than the module's."""
    radius, depth, straight = vessel.diameter / 2, vessel.head_depth, vessel.straight
    volume = area = 0.0
    dz = vessel.length / slices
    for i in range(slices):
        z = (i + 0.5) * dz
        off = max(depth - z, z - depth - straight, 0.0)
        r = radius * math.sqrt(max(1 - (off / depth) ** 2, 0.0))
        slope = 0.0 if off == 0 else radius * off / depth**2 / math.sqrt(max(1 - (off / depth) ** 2, 1e-12))
        skin = math.sqrt(1 + slope**2) * dz
        if vessel.orientation == "upright":
            if z <= level:
                volume += math.pi * r * r * dz
                area += 2 * math.pi * r * skin
            continue
        height = level - radius  # above the axis
        if height >= r:
            half = math.pi
        elif height <= -r:
            half = 0.0
        else:
            half = math.acos(-height / r)
        volume += r * r * (half - math.sin(half) * math.cos(half)) * dz
        area += 2 * half * r * skin
    return volume, area


@pytest.mark.parametrize("orientation", ["upright", "horizontal"])
@pytest.mark.parametrize("level_share", [0.02, 0.1, 0.3, 0.5, 0.75, 0.95])
@pytest.mark.parametrize("length", [0.32, 0.9])
def test_wetted_area_and_level_agree_with_slicing(orientation: Orientation, level_share: float, length: float) -> None:
    vessel = Vessel(0.31, length, orientation)
    height = vessel.length if orientation == "upright" else vessel.diameter
    volume, area = _below(vessel, level_share * height)
    assert liquid_level(vessel, volume) == pytest.approx(level_share * height, rel=2e-3)
    assert wetted_area(vessel, volume) == pytest.approx(area, rel=4e-3)  # the slices end steeply at the poles


def test_spheres_and_their_caps_are_exact() -> None:
    """Two hemispheres with nothing between them: V = 4/3 pi r^3, A = 4 pi r^2, half of each at half the height."""
    for orientation in ("upright", "horizontal"):
        sphere = Vessel(0.6, 0.6, orientation, head_ratio=0.5)
        assert sphere.volume == pytest.approx(4 / 3 * math.pi * 0.3**3)
        assert sphere.area == pytest.approx(4 * math.pi * 0.3**2)
        assert liquid_level(sphere, sphere.volume / 2) == pytest.approx(0.3, rel=1e-6)
        assert wetted_area(sphere, sphere.volume / 2) == pytest.approx(sphere.area / 2, rel=1e-3)


def test_area_of_a_two_to_one_head() -> None:
    """A half spheroid with axes r, r, r/2 has a skin of 1.380 pi r^2 (oblate spheroid formula)."""
    e = math.sqrt(0.75)
    half = math.pi * (1 + (1 - e * e) / e * math.atanh(e))
    vessel = Vessel(2.0, 1.0, "upright")
    assert vessel.area == pytest.approx(2 * half)


def test_deep_heads_are_counted_too() -> None:
    """A prolate spheroid, axes 0.2, 0.2, 0.3: A = 2 pi r^2 (1 + c/(r e) asin e)."""
    e = math.sqrt(1 - (0.2 / 0.3) ** 2)
    vessel = Vessel(0.4, 0.6, "horizontal", head_ratio=0.75)
    expected = 2 * math.pi * 0.2**2 * (1 + 0.3 / (0.2 * e) * math.asin(e))
    assert vessel.area == pytest.approx(expected)
    assert wetted_area(vessel, vessel.volume) == pytest.approx(expected)


@given(diameters, stretch, orientations, shares, shares)
def test_more_liquid_stands_higher_and_wets_more(d: float, k: float, o: Orientation, a: float, b: float) -> None:
    vessel = Vessel(d, d * k, o)
    low, high = sorted((a * vessel.volume, b * vessel.volume))
    assert liquid_level(vessel, low) <= liquid_level(vessel, high) * (1 + 1e-12)
    assert wetted_area(vessel, low) <= wetted_area(vessel, high) * (1 + 1e-12)
    assert 0 < wetted_area(vessel, low) < vessel.area


@given(diameters, stretch, shares)
def test_a_lying_vessel_is_symmetric_about_its_axis(d: float, k: float, share: float) -> None:
    vessel = Vessel(d, d * k, "horizontal")
    wet, dry = wetted_area(vessel, share * vessel.volume), wetted_area(vessel, (1 - share) * vessel.volume)
    assert wet + dry == pytest.approx(vessel.area, rel=1e-5)


@given(st.floats(0.01, 0.5), st.floats(0.2, 0.3))
def test_vessel_of_a_capacity_holds_it(volume: float, diameter: float) -> None:
    assert of_capacity(volume, diameter, "upright").volume == pytest.approx(volume)


@pytest.mark.parametrize("orientation", ["upright", "horizontal"])
def test_no_liquid_stands_nowhere_and_too_much_fills_the_vessel(orientation: Orientation) -> None:
    vessel = Vessel(0.3, 0.9, orientation)
    for empty in (0.0, -1.0):
        assert liquid_level(vessel, empty) == wetted_area(vessel, empty) == centroid_height(vessel, empty) == 0.0
    assert liquid_level(vessel, 1.0) == pytest.approx(0.9 if orientation == "upright" else 0.3)
    assert wetted_area(vessel, 1.0) == pytest.approx(vessel.area)
    assert centroid_height(vessel, 1.0) == centroid_height(vessel, vessel.volume)


def test_a_vessel_needs_a_diameter_heads_and_room_for_them() -> None:
    for wrong in ((0.0, 1.0, 0.25), (0.3, 1.0, 0.0), (0.3, 0.1499, 0.25)):
        with pytest.raises(ValueError, match=r"above zero|shorter"):
            Vessel(wrong[0], wrong[1], "upright", wrong[2])
    assert Vessel(0.3, 0.15, "upright").straight == 0.0


def test_centre_of_gravity_of_a_full_and_a_half_full_vessel() -> None:
    full = Vessel(0.4, 1.0, "horizontal")
    assert centroid_height(full, full.volume) == pytest.approx(0.2, rel=1e-4)
    tall = Vessel(0.3, 3.0, "upright")
    assert centroid_height(tall, tall.volume) == pytest.approx(1.5, rel=1e-4)
    assert centroid_height(tall, 0.0) == 0.0
    half_sphere = Vessel(0.6, 0.6, "horizontal", head_ratio=0.5)
    assert centroid_height(half_sphere, half_sphere.volume / 2) == pytest.approx(0.3 * 5 / 8, rel=2e-3)  # 3/8 r below


def test_impossible_vessels_are_refused() -> None:
    with pytest.raises(ValueError, match="shorter than the two heads"):
        Vessel(0.4, 0.1, "upright")
    with pytest.raises(ValueError, match="above zero"):
        Vessel(0.0, 0.1, "upright")
    with pytest.raises(ValueError, match="heads alone"):
        of_capacity(0.001, 0.4, "upright")
