"""Bolt groups under the six loads, against balances worked by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.constants import GRAVITY
from gasdoc.engineering.container.mounting import (
    DIRECTIONS,
    BoltGroup,
    Direction,
    Load,
    Requirement,
    Surface,
    filled_mass,
    interaction,
    mount_loads,
    severest,
)

FOUR = ((0.25, 0.15), (0.25, -0.15), (-0.25, 0.15), (-0.25, -0.15))
TEN_KILONEWTON = {d: Requirement(10_000 / (100 * GRAVITY)) for d in DIRECTIONS}  # on 100 kg


def _by_direction(group: BoltGroup, centre: tuple[float, float, float]) -> dict[str, Load]:
    return {load.direction: load for load in mount_loads(group, 100.0, centre, TEN_KILONEWTON)}


def test_four_bolts_under_a_centred_container() -> None:
    """By hand: F = 10,000 N at 0.2 m above the plane, 4 bolts, 0.5 m apart lengthwise, 0.3 m across.

    forward: shear 10,000/4 = 2,500 N each; moment 10,000 x 0.2 = 2,000 N m over two rows 0.5 m apart: 4,000 N a row,
    2,000 N a bolt, in the rear row. left: 2,000/0.3 = 6,667 N a row, 3,333 N a bolt, in the right row.
    up: 2,500 N each, no shear. down: nothing.
    """
    loads = _by_direction(BoltGroup("below", FOUR, 20_000.0), (0.0, 0.0, 0.2))
    assert loads["forward"].force == pytest.approx(10_000)
    assert loads["forward"].shears == pytest.approx((2500,) * 4)
    assert loads["forward"].tensions == pytest.approx((0, 0, 2000, 2000), abs=1e-6)
    assert loads["rearward"].tensions == pytest.approx((2000, 2000, 0, 0), abs=1e-6)
    assert loads["left"].tensions == pytest.approx((0, 10_000 / 3, 0, 10_000 / 3), abs=1e-6)
    assert loads["up"].tensions == pytest.approx((2500,) * 4)
    assert loads["up"].shears == pytest.approx((0,) * 4, abs=1e-9)
    assert loads["down"].tensions == (0, 0, 0, 0)
    assert loads["down"].utilisation == pytest.approx(0, abs=1e-9)
    # forward: T/T0 = 0.1, V/V0 = 2500 / 12000 = 0.20833; together 0.23109
    assert loads["forward"].utilisation == pytest.approx(0.231090, rel=1e-5)


def test_spacers_lengthen_the_arm() -> None:
    """By hand: 0.05 m of spacer makes the arm 0.25 m: 10,000 x 0.25 / 0.5 / 2 = 2,500 N instead of 2,000."""
    loads = _by_direction(BoltGroup("below", FOUR, 20_000.0, spacer=0.05), (0.0, 0.0, 0.2))
    assert max(loads["forward"].tensions) == pytest.approx(2500)


def test_an_off_centre_load_twists_the_group() -> None:
    """By hand: centre of gravity 0.1 m to the left in the plane, forward 10,000 N: twist -1,000 N m,
    polar sum 4 (0.25^2 + 0.15^2) = 0.34 m2; bolt (0.25, 0.15): 2500 + 1000 x 0.15 / 0.34 = 2941.2 forward,
    1000 x 0.25 / 0.34 = 735.3 across: 3031.7 N. On the far side 2500 - 441.2 = 2058.8: 2186.2 N."""
    loads = _by_direction(BoltGroup("below", FOUR, 20_000.0), (0.0, 0.1, 0.0))
    assert loads["forward"].shears == pytest.approx((3031.70, 2186.19, 3031.70, 2186.19), abs=0.01)
    assert loads["forward"].tensions == pytest.approx((0,) * 4, abs=1e-6)


def test_a_container_hung_on_the_wall_in_front_of_it_pulls_the_bolts_rearward() -> None:
    """By hand: 0.3 m off the wall; down 10,000 N: 2,500 N of shear each, 3,000 N m over rows 0.4 m apart: 7,500 N a
    row,
    3,750 N in each upper bolt (negative 'down' coordinate). rearward: 2,500 N of tension each. forward: pressed."""
    wall = BoltGroup("front", ((0.2, 0.2), (-0.2, 0.2), (0.2, -0.2), (-0.2, -0.2)), 30_000.0)
    loads = _by_direction(wall, (0.0, 0.0, 0.3))
    assert loads["down"].shears == pytest.approx((2500,) * 4)
    assert loads["down"].tensions == pytest.approx((0, 0, 3750, 3750), abs=1e-6)
    assert loads["rearward"].tensions == pytest.approx((2500,) * 4)
    assert loads["forward"].tensions == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("surface", "pulls"),
    [
        ("below", "up"),
        ("above", "down"),
        ("front", "rearward"),
        ("rear", "forward"),
        ("left", "right"),
        ("right", "left"),
    ],
)
def test_only_the_load_away_from_the_surface_pulls_on_every_bolt(surface: Surface, pulls: str) -> None:
    loads = _by_direction(BoltGroup(surface, FOUR, 20_000.0), (0.0, 0.0, 0.0))
    for direction, load in loads.items():
        assert (min(load.tensions) > 0) == (direction == pulls)


@pytest.mark.parametrize(
    ("surface", "along_u", "along_v"),
    [
        ("below", "forward", "left"),
        ("above", "forward", "right"),
        ("front", "left", "down"),
        ("rear", "left", "up"),
        ("left", "forward", "up"),
        ("right", "forward", "down"),
    ],
)
def test_the_places_of_the_bolts_count_along_the_axes_that_are_named(
    surface: Surface, along_u: Direction, along_v: Direction
) -> None:
    """10,000 N along an axis, 0.2 m off the surface: 2,500 N of shear each, and the two bolts behind are pulled, over 0.5 m
    by 2,000 N, over 0.3 m by 3,333 N; against the axis, the two before."""
    against = {"forward": "rearward", "left": "right", "right": "left", "down": "up", "up": "down"}
    loads = _by_direction(BoltGroup(surface, FOUR, 20_000.0), (0.0, 0.0, 0.2))
    for direction, pulled, force in (
        (along_u, (0, 0, 1, 1), 2000),
        (against[along_u], (1, 1, 0, 0), 2000),
        (along_v, (0, 1, 0, 1), 10_000 / 3),
        (against[along_v], (1, 0, 1, 0), 10_000 / 3),
    ):
        assert loads[direction].shears == pytest.approx((2500,) * 4, rel=1e-12)
        assert loads[direction].tensions == pytest.approx([force * share for share in pulled], abs=1e-6)
    off = next(d for d in DIRECTIONS if min(loads[d].tensions) > 0)
    assert loads[off].tensions == pytest.approx((2500,) * 4) and loads[off].shears == pytest.approx((0,) * 4, abs=1e-9)


def test_weight_is_mass_times_standard_gravity() -> None:
    needs: dict[Direction, Requirement] = {d: Requirement(4.0) for d in DIRECTIONS}
    for load in mount_loads(BoltGroup("below", FOUR, 20_000.0), 100.0, (0.0, 0.0, 0.2), needs):
        assert load.force == pytest.approx(3922.66)  # 4 x 9.80665 x 100


def test_bolts_in_one_row_hold_a_moment_along_the_row_only() -> None:
    row = BoltGroup("below", ((0.2, 0.0), (0.0, 0.0), (-0.2, 0.0)), 20_000.0)
    loads = _by_direction(row, (0.0, 0.0, 0.2))
    # forward: 2,000 N m over sum u^2 = 0.08 m2: 2000 x 0.2 / 0.08 = 5,000 N at the rear end
    assert loads["forward"].tensions == pytest.approx((0, 0, 5000), abs=1e-6)
    assert loads["left"].utilisation == math.inf
    assert loads["left"].reason == "no-lever-arm"
    assert loads["left"].standing == "not-met"
    skew = BoltGroup("below", ((0.1, 0.1), (-0.1, -0.1)), 20_000.0)
    assert _by_direction(skew, (0.0, 0.0, 0.2))["forward"].reason == "no-lever-arm"


def test_one_bolt_holds_no_moment_but_a_pull_through_it() -> None:
    loads = _by_direction(BoltGroup("below", ((0.0, 0.0),), 20_000.0), (0.0, 0.0, 0.1))
    assert loads["up"].utilisation == pytest.approx(0.5)
    assert loads["left"].reason == "no-lever-arm"


def test_safety_factor_multiplies_and_memory_never_meets() -> None:
    group = BoltGroup("below", FOUR, 20_000.0)
    needs: dict[Direction, Requirement] = {
        "up": Requirement(4.0, safety_factor=4.0),
        "left": Requirement(4.0, from_memory=True),
        "right": Requirement(400.0, from_memory=True),
    }
    loads = {load.direction: load for load in mount_loads(group, 100.0, (0.0, 0.0, 0.2), needs)}
    assert loads["up"].utilisation == pytest.approx(4 * (4 * GRAVITY * 100 / 4) / 20_000)
    assert loads["up"].standing == "met"
    assert loads["left"].utilisation < 1
    assert loads["left"].standing == "unconfirmed"
    assert loads["right"].standing == "not-met"
    assert severest(tuple(loads.values())).direction == "right"


def test_the_group_counts_from_its_own_middle_wherever_it_lies() -> None:
    moved = tuple((u + 0.3, v - 0.1) for u, v in FOUR)
    here = _by_direction(BoltGroup("below", FOUR, 20_000.0), (0.05, 0.02, 0.2))
    there = _by_direction(BoltGroup("below", moved, 20_000.0), (0.35, -0.08, 0.2))
    for direction, load in here.items():
        assert there[direction].tensions == pytest.approx(load.tensions, abs=1e-6)
        assert there[direction].shears == pytest.approx(load.shears, abs=1e-6)


def test_a_pull_beside_the_middle_by_hand() -> None:
    """10,000 N at (0.1, 0.05): 1,000 and 500 N m; sum u^2 = 0.25, sum v^2 = 0.09 m2: 4,000 x 0.25 = 1,000 N more in front,
    5,556 x 0.15 = 833 N more on the left."""
    up = _by_direction(BoltGroup("below", FOUR, 20_000.0), (0.1, 0.05, 0.0))["up"]
    assert up.tensions == pytest.approx((4333.33, 2666.67, 2333.33, 666.67), abs=0.01)
    assert up.worst == 0
    assert up.utilisation == pytest.approx(4333.33 / 20_000, rel=1e-5)


def test_a_load_to_the_left_before_the_middle_twists_the_group() -> None:
    """By hand: 1,000 N m over 0.34 m2 is 2,941 N/m: in front 2,500 + 735.3 across and 441.2 along, 3,265.2 N; behind
    1,764.7 and 441.2, 1,819.0 N."""
    left = _by_direction(BoltGroup("below", FOUR, 20_000.0), (0.1, 0.0, 0.0))["left"]
    assert left.shears == pytest.approx((3265.24, 3265.24, 1819.02, 1819.02), abs=0.01)


def test_three_bolts_share_a_pull_as_the_lever_says() -> None:
    """Three supports leave no choice: at 0.2, 0.3 and 0.5 of the corners they take 2,000, 3,000 and 5,000 N."""
    corners = ((0.0, 0.0), (0.4, 0.1), (0.3, 0.5))
    u, v = (sum(share * corner[k] for share, corner in zip((0.2, 0.3, 0.5), corners, strict=True)) for k in (0, 1))
    load = _by_direction(BoltGroup("below", corners, 20_000.0), (u, v, 0.0))["up"]
    assert load.tensions == pytest.approx((2000, 3000, 5000), abs=1e-6)
    assert load.worst == 2


@pytest.mark.parametrize(
    "ends",
    [((0.2, 0.1), (-0.2, -0.1)), ((0.2, -0.1), (-0.2, 0.1)), ((0.0, 0.2), (0.0, -0.2)), ((0.2, 0.0), (-0.2, 0.0))],
)
def test_two_bolts_share_a_pull_between_them_and_hold_none_beside_their_line(
    ends: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    """At a quarter of the way they take 7,500 and 2,500 N."""
    (u, v), group = ends[0], BoltGroup("below", ends, 20_000.0)
    assert _by_direction(group, (u / 2, v / 2, 0.0))["up"].tensions == pytest.approx((7500, 2500), abs=1e-6)
    beside = _by_direction(group, (u / 2 + v, v / 2 - u, 0.0))["up"]
    assert beside == Load("up", beside.force, (0.0, 0.0), (0.0, 0.0), 0, math.inf, "not-met", "no-lever-arm")
    assert beside.force == pytest.approx(10_000)


def test_one_bolt_holds_no_twist() -> None:
    assert _by_direction(BoltGroup("below", ((0.0, 0.0),), 20_000.0), (0.1, 0.0, 0.0))["left"].reason == "no-lever-arm"


@pytest.mark.parametrize(("factor", "standing"), [(7.9, "met"), (8.1, "not-met"), (12.0, "not-met")])
def test_a_bolt_may_be_used_up_and_no_further(factor: float, standing: str) -> None:
    needs: dict[Direction, Requirement] = {"up": Requirement(10_000 / (100 * GRAVITY), factor)}
    (load,) = mount_loads(BoltGroup("below", FOUR, 20_000.0), 100.0, (0.0, 0.0, 0.2), needs)
    assert load.utilisation == pytest.approx(2500 * factor / 20_000)
    assert load.standing == standing


def test_interaction_at_its_corners() -> None:
    assert interaction(10.0, 0.0, 10.0) == pytest.approx(1.0)
    assert interaction(0.0, 6.0, 10.0) == pytest.approx(1.0)
    assert interaction(6.0, 4.8, 10.0) == pytest.approx(1.0)  # 0.6^2 + 0.8^2
    assert interaction(-5.0, 0.0, 10.0) == 0.0


def test_fittings_count_in_the_filled_mass() -> None:
    assert filled_mass(12.0, 9.0, 1.5) == 22.5
    assert filled_mass(12.0, 9.0) == 21.0


coordinates = st.floats(-0.5, 0.5)
positions = st.lists(st.tuples(coordinates, coordinates), min_size=3, max_size=8).map(tuple)


@given(positions, coordinates, coordinates, st.floats(0, 0.5), st.sampled_from(sorted(DIRECTIONS)))
def test_shear_of_the_bolts_balances_the_load(
    bolts: tuple[tuple[float, float], ...], u: float, v: float, h: float, direction: Direction
) -> None:
    """The shears of all bolts never add up to less than the load along the plane."""
    (load,) = mount_loads(BoltGroup("below", bolts, 1e4), 50.0, (u, v, h), {direction: Requirement(4.0)})
    if load.reason is None:
        along = 0.0 if direction in ("up", "down") else load.force
        assert sum(load.shears) >= along * (1 - 1e-9)
        assert all(t >= 0 for t in load.tensions)
        if direction == "up":
            assert sum(load.tensions) >= load.force * (1 - 1e-9)


@given(st.floats(0.05, 0.5), st.floats(0.05, 0.5), st.floats(0.01, 0.6), st.floats(0.0, 0.2))
def test_wider_bolts_shorter_arms_lighter_loads_never_hurt(a: float, b: float, h: float, more: float) -> None:
    def worst(a: float, h: float, mass: float) -> float:
        square = ((a, b), (a, -b), (-a, b), (-a, -b))
        needs = {d: Requirement(4.0) for d in DIRECTIONS}
        return severest(mount_loads(BoltGroup("below", square, 2e4), mass, (0.0, 0.0, h), needs)).utilisation

    base = worst(a, h, 40.0)
    assert worst(a + more, h, 40.0) <= base * (1 + 1e-12)
    assert worst(a, h + more, 40.0) >= base * (1 - 1e-12)
    assert worst(a, h, 40.0 + more) >= base * (1 - 1e-12)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="needs bolts"):
        BoltGroup("below", (), 1.0)
    with pytest.raises(ValueError, match="strength"):
        BoltGroup("below", FOUR, 0.0)
    with pytest.raises(ValueError, match="negative"):
        BoltGroup("below", FOUR, 1.0, -0.01)
    with pytest.raises(ValueError, match="mass"):
        mount_loads(BoltGroup("below", FOUR, 1.0), 0.0, (0, 0, 0), {})
    with pytest.raises(ValueError, match="height"):
        mount_loads(BoltGroup("below", FOUR, 1.0), 1.0, (0, 0, -0.1), {})
    assert mount_loads(BoltGroup("below", FOUR, 0.5), 0.5, (0, 0, 0), {}) == ()
