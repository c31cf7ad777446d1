"""Lines of a take-off: what is added up, and in what order."""

from __future__ import annotations

import pytest

from gasdoc.engineering.materials.take_off import GROUPS, Item, merge


def item(key: str, quantity: float = 1, where: tuple[str, ...] = (), **more: object) -> Item:
    given = {"group": "fittings", "name": key, "measured": False}
    return Item(key, quantity=quantity, where=where, **(given | more))  # type: ignore[arg-type]  # a row of the table


def test_like_parts_are_added_up_and_say_for_what() -> None:
    (tee, nut) = merge([item("tee", 1, ("a",)), item("nut", 2, ("a",)), item("tee", 3, ("b", "a"))])
    assert (tee.quantity, tee.where) == (4, ("a", "b")) and nut.quantity == 2


def test_lengths_keep_what_they_are_without_allowance() -> None:
    (tubing,) = merge([item("t", 3.3, measured=True, exact=3.0), item("t", 1.1, measured=True, exact=1.0)])
    assert (tubing.quantity, tubing.exact) == (pytest.approx(4.4), pytest.approx(4.0))


def test_a_length_with_one_part_not_known_exactly_is_not_known_exactly() -> None:
    for exact in ((3.0, None), (None, 3.0)):
        (tubing,) = merge([item("t", 3.3, measured=True, exact=e) for e in exact])
        assert tubing.exact is None


def test_notes_of_both_are_kept_once() -> None:
    (cap,) = merge([item("cap", note=""), item("cap", note="for the test"), item("cap", note="for the test")])
    assert (cap.quantity, cap.note) == (3, "for the test")
    assert (
        merge([item("cap", note="at the tap"), item("cap", note="for the test")])[0].note == "at the tap; for the test"
    )


def test_lines_stand_in_the_order_of_their_groups_and_then_as_they_came() -> None:
    made = merge([item(f"{g}-{n}", group=g) for n in (1, 2) for g in reversed(GROUPS)])
    assert [i.group for i in made] == [g for g in GROUPS for _ in (1, 2)]
    assert [i.key[-1] for i in made] == ["1", "2"] * len(GROUPS)
