"""Choosing and checking sizes on made-up trees."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.supply.sizing import branch_length, check, choose, longest_length
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
    chosen = choose(carried(TREE), longest_length(TREE), lambda seg, size, x: 200.0 * (size + 1), [4] * 5)
    assert chosen == (2, 0, 2, 0, 1)


def test_a_load_equal_to_the_capacity_is_carried() -> None:
    assert choose([0.1 + 0.2], [1], lambda seg, size, x: 0.3, [1]) == (0,)
    assert choose([0.3001], [1], lambda seg, size, x: 0.3, [1]) == (None,)


def test_no_size_is_given_where_none_carries_the_load_or_none_is_known() -> None:
    assert choose([10], [1], lambda seg, size, x: 5.0, [3]) == (None,)
    assert choose([10], [1], lambda seg, size, x: None, [3]) == (None,)


def test_a_size_of_unknown_capacity_is_passed_over() -> None:
    assert choose([10], [1], lambda seg, size, x: (None, 20.0)[size], [2]) == (1,)


def test_segments_of_different_materials_choose_from_their_own_sizes() -> None:
    offered = ((5.0, 50.0), (1.0, 2.0, 3.0, 40.0))
    assert choose([10, 10], [1, 1], lambda seg, size, x: offered[seg][size], [2, 4]) == (1, 3)


def test_the_capacity_is_asked_for_at_the_segments_own_sizing_length() -> None:
    asked: set[tuple[int, float]] = set()

    def capacity_of(segment: int, size: int, length: float) -> float:
        asked.add((segment, length))
        return 1e9

    choose(carried(TREE), branch_length(TREE), capacity_of, [1] * 5)
    expected, asked = set(asked), set()
    check(carried(TREE), branch_length(TREE), [0] * 5, capacity_of)
    assert asked == expected == set(enumerate(branch_length(TREE)))
    assert asked == {(0, 12), (1, 4), (2, 12), (3, 10), (4, 12)}


def test_a_check_gives_capacity_use_and_whether_it_is_enough() -> None:
    good, bad, unknown = check([50, 80, 10], [4, 5, 6], [0, 1, 2], lambda seg, size, x: (100.0, 64.0, None)[size])
    assert (good.capacity, good.use, good.enough) == (100, 0.5, True)
    assert (bad.capacity, bad.use, bad.enough) == (64, 1.25, False)
    assert (unknown.capacity, unknown.use, unknown.enough) == (None, None, False)
    assert [(c.segment, c.size, c.length, c.load) for c in (good, bad, unknown)] == [
        (0, 0, 4, 50),
        (1, 1, 5, 80),
        (2, 2, 6, 10),
    ]


def test_sequences_of_different_length_are_refused() -> None:
    with pytest.raises(ValueError, match="argument"):
        choose([1, 2], [1], lambda seg, size, x: 1.0, [1, 1])
    with pytest.raises(ValueError, match="argument"):
        check([1], [1], [0, 0], lambda seg, size, x: 1.0)


CAPACITIES = st.lists(st.none() | st.floats(0, 1e6), max_size=5)


@given(rows=st.lists(st.tuples(st.floats(0, 1e6), st.floats(0.1, 100), CAPACITIES), max_size=8))
def test_choose_never_gives_a_size_that_does_not_carry_and_never_passes_over_one_that_does(
    rows: list[tuple[float, float, list[float | None]]],
) -> None:
    loads, lengths, offered = zip(*rows, strict=True) if rows else ((), (), ())

    def capacity_of(segment: int, size: int, length: float) -> float | None:
        value = offered[segment][size]
        return None if value is None else value / length

    chosen = choose(loads, lengths, capacity_of, [len(o) for o in offered])
    for i, size in enumerate(chosen):
        smaller = range(len(offered[i]) if size is None else size)
        if size is not None:
            found = capacity_of(i, size, lengths[i])
            assert found is not None and loads[i] <= found * (1 + 1e-9)
        assert not any((c := capacity_of(i, s, lengths[i])) is not None and c >= loads[i] for s in smaller)
