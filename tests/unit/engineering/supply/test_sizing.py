"""Choosing and checking sizes on made-up trees."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.supply.sizing import branch_length, carries, choose, longest_length
from gasdoc.engineering.supply.tree import Tree, carried

# trunk 3 m; a near branch of 1 m, a far one of 5 m that splits into 2 m and 4 m
TREE = Tree(parent=(-1, 0, 0, 2, 2), length=(3, 1, 5, 2, 4), load=(0, 100, 0, 200, 300))


def test_the_longest_length_method_sizes_every_segment_by_the_path_to_the_farthest_end() -> None:
    assert longest_length(TREE) == (12, 12, 12, 12, 12)


def test_the_branch_length_method_sizes_a_segment_by_the_farthest_end_behind_it() -> None:
    assert branch_length(TREE) == (12, 4, 12, 10, 12)


def test_a_tree_without_segments_has_no_sizing_lengths() -> None:
    empty = Tree((), (), ())
    assert longest_length(empty) == branch_length(empty) == ()


def test_the_smallest_size_that_carries_the_load_is_chosen() -> None:
    chosen = choose(carried(TREE), longest_length(TREE), [range(4)] * 5, lambda seg, size, x: 200.0 * (size + 1))
    assert chosen == (2, 0, 2, 0, 1)


def test_a_load_equal_to_the_capacity_is_carried() -> None:
    assert carries(0.3, 0.1 + 0.2)
    assert not carries(0.3, 0.3001)


def test_an_unknown_capacity_carries_nothing() -> None:
    assert not carries(None, 0.0)


def test_no_size_is_given_where_none_carries_the_load_or_none_is_known() -> None:
    assert choose([10], [1], ["abc"], lambda seg, size, x: 5.0) == (None,)
    assert choose([10], [1], ["abc"], lambda seg, size, x: None) == (None,)


def test_a_size_of_unknown_capacity_is_passed_over() -> None:
    assert choose([10], [1], ["ab"], lambda seg, size, x: {"a": None, "b": 20.0}[size]) == ("b",)


def test_segments_of_different_materials_choose_from_their_own_sizes() -> None:
    assert choose([10, 10], [1, 1], [(5.0, 50.0), (1.0, 2.0, 3.0, 40.0)], lambda seg, size, x: size) == (50.0, 40.0)


def test_the_capacity_is_asked_for_at_the_segments_own_sizing_length() -> None:
    asked: set[tuple[int, float]] = set()

    def capacity_of(segment: int, size: str, length: float) -> float:
        asked.add((segment, length))
        return 1e9

    choose(carried(TREE), branch_length(TREE), ["a"] * 5, capacity_of)
    assert asked == {(0, 12), (1, 4), (2, 12), (3, 10), (4, 12)}


def test_sequences_of_different_length_are_refused() -> None:
    with pytest.raises(ValueError, match="argument"):
        choose([1, 2], [1], ["a", "a"], lambda seg, size, x: 1.0)


CAPACITIES = st.lists(st.none() | st.floats(0, 1e6), max_size=5)


@given(rows=st.lists(st.tuples(st.floats(0, 1e6), st.floats(0.1, 100), CAPACITIES), max_size=8))
def test_choose_never_gives_a_size_that_does_not_carry_and_never_passes_over_one_that_does(
    rows: list[tuple[float, float, list[float | None]]],
) -> None:
    loads, lengths, offered = zip(*rows, strict=True) if rows else ((), (), ())

    def capacity_of(segment: int, size: int, length: float) -> float | None:
        value = offered[segment][size]
        return None if value is None else value / length

    chosen = choose(loads, lengths, [range(len(each)) for each in offered], capacity_of)
    for i, size in enumerate(chosen):
        smaller = range(len(offered[i]) if size is None else size)
        if size is not None:
            found = capacity_of(i, size, lengths[i])
            assert found is not None and loads[i] <= found * (1 + 1e-9)
        assert not any((c := capacity_of(i, s, lengths[i])) is not None and c >= loads[i] for s in smaller)
