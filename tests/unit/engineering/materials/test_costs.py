"""Costs: shelf, packs, unknown prices."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.materials.costs import PackPrice, ShoppingNeed, costs


def test_packs_are_rounded_up_and_the_shelf_is_taken_off_first() -> None:
    (line,) = costs([ShoppingNeed("clamp", 23, pack=10)], {"clamp": PackPrice(4.0, 5.0)}, {"clamp": 2})
    assert (line.on_shelf, line.packs) == (2, 3)
    assert (line.low, line.high) == (12.0, 15.0)


def test_an_unknown_price_is_no_price_and_what_is_on_the_shelf_is_not_bought() -> None:
    tee, nut, cap = costs(
        [ShoppingNeed("tee", 2), ShoppingNeed("nut", 6), ShoppingNeed("cap", 1)],
        {"nut": PackPrice(1.5, 1.5)},
        {"cap": 4},
    )
    assert (tee.low, tee.high, tee.packs) == (None, None, 2)
    assert (nut.low, nut.high) == (9.0, 9.0)
    assert (cap.packs, cap.low) == (0, None)


def test_a_length_that_fills_its_coils_does_not_ask_for_another() -> None:
    # 0.1 + 0.2 is a hair more than 0.3 in binary.
    (line,) = costs([ShoppingNeed("tubing", 0.1 + 0.2, pack=0.1)], {}, {})
    assert line.packs == 3


def test_what_costs_nothing_or_cents_has_a_price() -> None:
    a, b = costs(
        [ShoppingNeed("a", 2), ShoppingNeed("b", 1)], {"a": PackPrice(0.0, 0.0), "b": PackPrice(0.0, 0.25)}, {}
    )
    assert (a.low, a.high, b.low, b.high) == (0.0, 0.0, 0.0, 0.25)


def test_without_a_pack_each_is_bought_singly() -> None:
    assert costs([ShoppingNeed("tee", 11)], {}, {})[0].packs == 11


def test_the_shelf_is_used_once() -> None:
    found = costs([ShoppingNeed("nut", 3), ShoppingNeed("nut", 3)], {}, {"nut": 4})
    assert [line.on_shelf for line in found] == [3, 1]
    assert [line.packs for line in found] == [0, 2]


@given(
    st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 50), st.integers(1, 12)), max_size=8),
    st.dictionaries(st.sampled_from("abc"), st.integers(0, 60)),
)
def test_what_is_used_and_bought_covers_the_need_and_no_more_than_a_pack_is_over(
    rows: list[tuple[str, int, int]], shelf: dict[str, int]
) -> None:
    found = costs([ShoppingNeed(*row) for row in rows], {"a": PackPrice(1.0, 2.0)}, shelf)
    for line, (_, quantity, pack) in zip(found, rows, strict=True):
        assert 0 <= line.on_shelf + line.packs * pack - quantity < pack
    for key in "abc":
        assert sum(line.on_shelf for line in found if line.key == key) <= shelf.get(key, 0)
    assert all(line.low <= line.high for line in found if line.low is not None and line.high is not None)


@pytest.mark.parametrize(
    ("need", "price"),
    [
        (ShoppingNeed("a", -1), None),
        (ShoppingNeed("a", 1, pack=0), None),
        (ShoppingNeed("a", 1), PackPrice(2.0, 1.0)),
        (ShoppingNeed("a", 1), PackPrice(-0.1, 1.0)),
    ],
)
def test_nonsense_is_refused(need: ShoppingNeed, price: PackPrice | None) -> None:
    with pytest.raises(ValueError, match="a:"):
        costs([need], {} if price is None else {"a": price}, {})
