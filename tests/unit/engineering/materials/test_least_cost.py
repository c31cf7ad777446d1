"""Least-cost sizes: the search against trying everything, and its edges."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from properties import tries

from gasdoc.engineering.materials.least_cost import Option, Sizes, least_cost
from gasdoc.engineering.supply import lpg, network
from gasdoc.engineering.supply import tree as shape
from gasdoc.engineering.supply.network import Pipe

Tree = tuple[tuple[int, ...], list[list[Option]], list[float | None]]


def ends_up_with(
    parent: Sequence[int], options: Sequence[Sequence[Option]], choice: Sequence[int], source: float
) -> list[float]:
    left: list[float] = []
    for i, up in enumerate(parent):
        left.append((left[up] if up >= 0 else source) - options[i][choice[i]].squared_drop)
    return left


def grows(parent: Sequence[int], options: Sequence[Sequence[Option]], choice: Sequence[int]) -> bool:
    """Whether a segment has an option of a higher rank than the one before it."""
    ranks = [options[i][k].rank for i, k in enumerate(choice)]
    return any(up >= 0 and ranks[i] > ranks[up] for i, up in enumerate(parent))


def by_trying_everything(
    parent: Sequence[int], options: Sequence[Sequence[Option]], needs: Sequence[float | None], source: float
) -> int | None:
    best: int | None = None
    for choice in itertools.product(*(range(len(sizes)) for sizes in options)):
        left = ends_up_with(parent, options, choice, source)
        if grows(parent, options, choice):
            continue
        if all(need is None or have >= need for have, need in zip(left, needs, strict=True)):
            cost = sum(sizes[k].cost for sizes, k in zip(options, choice, strict=True))
            best = cost if best is None else min(best, cost)
    return best


@st.composite
def trees(draw: st.DrawFn) -> Tree:
    """Small trees; whole-number drops (some negative: a falling run) keep every sum exact. Needs may be at joints."""
    count = draw(st.integers(1, 6))
    parent = tuple(draw(st.integers(-1, i - 1)) for i in range(count))
    option = st.builds(
        Option, st.integers(-5, 60).map(float), st.integers(0, 30), st.integers(0, draw(st.integers(0, 2)))
    )
    options = [draw(st.lists(option, min_size=1, max_size=3)) for _ in range(count)]
    need = st.one_of(st.none(), st.integers(0, 140).map(float))
    return parent, options, [draw(need) for _ in range(count)]


@tries(200)
@given(trees())
def test_the_cost_is_the_least_there_is(tree: Tree) -> None:
    parent, options, needs = tree
    found = least_cost(parent, options, needs, 150.0)
    best = by_trying_everything(parent, options, needs, 150.0)
    if best is None:
        assert found.reason == "no-size-fits" and found.choice == ()
        return
    assert found.reason is None
    assert found.cost == best
    assert not grows(parent, options, found.choice)
    assert found.cost == sum(sizes[k].cost for sizes, k in zip(options, found.choice, strict=True))
    left = ends_up_with(parent, options, found.choice, 150.0)
    assert all(need is None or have >= need for have, need in zip(left, needs, strict=True))
    # `need` is exactly what the source must have: with it every end is served, the tightest just so.
    spare = [have - need for have, need in zip(left, needs, strict=True) if need is not None]
    assert found.need == max(0.0, 150.0 - min(spare, default=150.0))


def test_the_choice_leaves_the_pressures_it_was_asked_for_in_the_network() -> None:
    gas = lpg.gas(lpg.PROPANE, 288.15, 101325.0 + 2740.0)
    tree = shape.Tree((-1, 0, 0, 2), (4.0, 2.0, 3.0, 6.0), (0.0, 9e3, 5e3, 12e3))
    sizes = [Pipe(bore, 1.5e-6) for bore in (0.0080, 0.0109, 0.0138, 0.0169)]
    minimum = (None, 2500.0, 2600.0, 2640.0)

    def zone(pipes: Sequence[Pipe]) -> network.Network:
        heat = lpg.gross_heating_value(lpg.PROPANE)
        return network.Network(tree, tuple(pipes), (1.0, 0.0, -2.0, 3.0), 2740.0, 101325.0, gas, heat)

    carried = shape.carried(tree)
    rise = network.rise_squares(zone(sizes))
    options = [
        [
            Option(network.larger(zone([pipe] * 4), i, carried[i]) + rise[i], round(tree.length[i] * 100 * (k + 1)))
            for k, pipe in enumerate(sizes)
        ]
        for i in range(4)
    ]
    needs = [None if least is None else (least + 101325.0) ** 2 for least in minimum]
    found = least_cost(tree.parent, options, needs, (2740.0 + 101325.0) ** 2)
    gauge = network.pressures(zone([sizes[k] for k in found.choice]), law=network.larger)
    assert all(least is None or have >= least - 1e-6 for have, least in zip(gauge, minimum, strict=True))
    # One size less anywhere breaks some minimum: the least cost leaves no size to spare when prices rise with size.
    for i, k in enumerate(found.choice):
        if k > 0:
            smaller = [sizes[m - (j == i)] for j, m in enumerate(found.choice)]
            below = network.pressures(zone(smaller), law=network.larger)
            assert any(least is not None and have < least for have, least in zip(below, minimum, strict=True))


TWO = ((-1, 0), [[Option(30.0, 10), Option(10.0, 20)], [Option(30.0, 10), Option(10.0, 20)]])


def test_an_appliance_with_a_higher_minimum_decides_its_own_path_only() -> None:
    fork = (-1, -1)
    options = [[Option(30.0, 10), Option(10.0, 20)]] * 2
    assert least_cost(fork, options, [80.0, 60.0], 100.0).choice == (1, 0)


def test_a_need_at_an_inner_joint_counts() -> None:
    parent, options = TWO
    assert least_cost(parent, options, [None, 60.0], 100.0).cost == 30
    assert least_cost(parent, options, [85.0, 60.0], 100.0).choice == (1, 0)


def test_of_equal_cost_the_choice_that_needs_least_pressure_is_taken_then_the_first_option_from_the_source() -> None:
    parent, options = TWO
    # Either segment may be the small one, at the same cost and the same need: the source's segment keeps option 0.
    assert least_cost(parent, options, [None, 60.0], 100.0).choice == (0, 1)
    assert least_cost((-1,), [[Option(30.0, 10), Option(20.0, 10)]], [60.0], 100.0).choice == (1,)


def test_a_choice_that_just_meets_its_need_is_taken_in_spite_of_rounding() -> None:
    drops = [0.1, 0.2, 0.3, 0.7]
    left = 1.0
    for drop in drops[:3]:
        left -= drop
    parent = (-1, 0, 1)
    assert least_cost(parent, [[Option(d, 1)] for d in drops[:3]], [None, None, left], 1.0).reason is None


def test_when_nothing_fits_the_end_that_is_farthest_from_its_need_is_named() -> None:
    found = least_cost((-1, 0, 0), [[Option(50.0, 1)], [Option(10.0, 1)], [Option(20.0, 1)]], [None, 60.0, 60.0], 100.0)
    assert found == Sizes((), 0, 0.0, "no-size-fits", 2)
    # By 20 where there are 30 of 50, by 10 where there are 40 of 50.
    assert least_cost((-1, -1), [[Option(70.0, 1)], [Option(60.0, 1)]], [50.0, 50.0], 100.0).segment == 0
    assert least_cost((-1, -1), [[Option(60.0, 1)], [Option(70.0, 1)]], [50.0, 50.0], 100.0).segment == 1
    assert least_cost((-1, -1), [[Option(20.0, 1)], [Option(70.0, 1)]], [101.0, 50.0], 100.0).segment == 0


def test_too_many_combinations_are_given_up_with_a_reason() -> None:
    parent = tuple(range(-1, 9))
    options = [[Option(float(2**i * k), 2**i * (3 - k)) for k in range(3)] for i in range(10)]
    found = least_cost(parent, options, [None] * 9 + [0.0], 1e9, most_points=50)
    # From the outlet to the source the list has 3 points, 7, 15, 31, and 63 at the fifth.
    assert found == Sizes((), 0, 0.0, "too-many-combinations", 5)
    assert least_cost(parent, options, [None] * 9 + [0.0], 1e9, most_points=63).segment == 4
    assert least_cost(parent, options, [None] * 9 + [0.0], 1e9).reason is None


def test_a_tree_without_segments_costs_nothing() -> None:
    assert least_cost((), (), (), 100.0) == Sizes((), 0, 0.0)


def test_senseless_input_is_refused() -> None:
    with pytest.raises(ValueError, match="equally long"):
        least_cost((-1,), [], [None], 1.0)
    with pytest.raises(ValueError, match="must have an option"):
        least_cost((-1,), [[]], [None], 1.0)
