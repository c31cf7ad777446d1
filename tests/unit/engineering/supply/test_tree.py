"""The shape of a tree, on one drawn by hand."""

from __future__ import annotations

import math

import pytest

from gasdoc.engineering.supply.tree import Tree, carried, distance, farthest_behind, path

# A trunk of 3 m; on it an outlet 2 m on (9 kW) and a run of 5 m with an outlet at its end (4 kW) and 1 m on (12 kW); a
# second run from the source, 7 m.
TREE = Tree(parent=(-1, 0, 0, 2, -1), length=(3.0, 2.0, 5.0, 1.0, 7.0), load=(0.0, 9e3, 4e3, 12e3, 1e3))


def test_a_segment_carries_what_is_taken_at_its_end_and_everywhere_behind_it() -> None:
    assert carried(TREE) == (25e3, 9e3, 16e3, 12e3, 1e3)


def test_distances_are_from_the_source() -> None:
    assert distance(TREE) == (3.0, 5.0, 8.0, 9.0, 7.0)


def test_the_farthest_end_behind_a_segment_may_be_its_own() -> None:
    assert farthest_behind(TREE) == (9.0, 5.0, 9.0, 9.0, 7.0)


def test_a_path_runs_from_the_source_to_the_segment() -> None:
    assert path(TREE, 3) == (0, 2, 3)
    assert path(TREE, 0) == (0,)
    assert path(TREE, 4) == (4,)
    assert len(TREE) == 5


@pytest.mark.parametrize(
    ("parent", "length", "load", "words"),
    [
        ((-1, 0), (1.0, 1.0), (0.0,), "equally long"),
        ((-1, 0), (1.0,), (0.0, 0.0), "equally long"),
        ((0,), (1.0,), (0.0,), "segment 0 must stand after its parent, not 0"),
        ((-1, 2, 0), (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), "segment 1 must stand after its parent, not 2"),
        ((-2,), (1.0,), (0.0,), "segment 0 must stand after its parent, not -2"),
        ((-1, 0), (1.0, -0.1), (0.0, 0.0), "segment 1 has a negative"),
        ((-1, 0), (1.0, 1.0), (-0.1, 0.0), "segment 0 has a negative"),
        ((-1,), (math.nan,), (0.0,), "segment 0 has a negative"),
        ((-1,), (1.0,), (math.nan,), "segment 0 has a negative"),
    ],
)
def test_arrays_that_are_no_tree_are_refused(
    parent: tuple[int, ...], length: tuple[float, ...], load: tuple[float, ...], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        Tree(parent, length, load)


def test_a_run_of_no_length_and_a_tree_of_nothing_are_trees() -> None:
    assert distance(Tree((-1,), (0.0,), (0.0,))) == (0.0,)
    assert carried(Tree((), (), ())) == ()
