"""Costs: shelf, packs, unknown prices."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.engineering.materials.costs import PackPrice, ShoppingNeed, costs


def test_packs_are_rounded_up_and_the_shelf_is_taken_off_first() -> None:
    found = costs(
        [ShoppingNeed("clamp", 23, pack=10)], {"clamp": PackPrice(4.0, 5.0)}, {"clamp": 2}, "USD", "2026-05-01"
    )
    (line,) = found.lines
    assert (line.on_shelf, line.to_buy, line.packs, line.over) == (2, 21, 3, 9)
    assert (found.low, found.high, found.unknown) == (12.0, 15.0, ())
    assert (found.currency, found.date) == ("USD", "2026-05-01")


def test_unknown_prices_are_counted_and_left_out_of_the_sums() -> None:
    found = costs(
        [ShoppingNeed("tee", 2), ShoppingNeed("nut", 6), ShoppingNeed("cap", 1)],
        {"nut": PackPrice(1.5, 1.5)},
        {"cap": 4},
    )
    assert found.unknown == ("tee",)  # the cap is on the shelf
    assert (found.low, found.high) == (9.0, 9.0)
    assert found.lines[0].low is None


def test_a_length_that_fills_its_coils_does_not_ask_for_another() -> None:
    # 0.1 + 0.2 is a hair more than 0.3 in binary.
    found = costs([ShoppingNeed("tubing", 0.1 + 0.2, pack=0.1)], {}, {})
    assert found.lines[0].packs == 3


def test_what_costs_nothing_or_cents_has_a_price() -> None:
    found = costs(
        [ShoppingNeed("a", 2), ShoppingNeed("b", 1)], {"a": PackPrice(0.0, 0.0), "b": PackPrice(0.0, 0.25)}, {}
    )
    assert (found.low, found.high, found.unknown) == (0.0, 0.25, ())


def test_without_a_pack_each_is_bought_singly() -> None:
    assert costs([ShoppingNeed("tee", 11)], {}, {}).lines[0].packs == 11


def test_the_shelf_is_used_once() -> None:
    found = costs([ShoppingNeed("nut", 3), ShoppingNeed("nut", 3)], {}, {"nut": 4})
    assert [line.on_shelf for line in found.lines] == [3, 1]
    assert [line.packs for line in found.lines] == [0, 2]


@given(
    st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 50), st.integers(1, 12)), max_size=8),
    st.dictionaries(st.sampled_from("abc"), st.integers(0, 60)),
)
def test_what_is_used_and_bought_covers_the_need_and_no_more_than_a_pack_is_over(
    rows: list[tuple[str, int, int]], shelf: dict[str, int]
) -> None:
    found = costs([ShoppingNeed(*row) for row in rows], {"a": PackPrice(1.0, 2.0)}, shelf)
    for line, (_, quantity, pack) in zip(found.lines, rows, strict=True):
        assert line.on_shelf + line.packs * pack - line.over == quantity
        assert 0 <= line.over < pack
    for key in "abc":
        assert sum(line.on_shelf for line in found.lines if line.key == key) <= shelf.get(key, 0)
    assert found.low <= found.high


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
