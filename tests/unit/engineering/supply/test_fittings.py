"""Fittings, corrugated tubing and connectors: behaviour."""

from __future__ import annotations

import pytest

from gasdoc.engineering.supply import fittings


def test_equivalent_length_adds_fittings_in_proportion_to_the_bore() -> None:
    one = fittings.equivalent_length({"elbow-90": 2, "tee-branch": 1}, 0.01)
    assert one == pytest.approx((2 * 30 + 60) * 0.01)
    assert fittings.equivalent_length({"elbow-90": 2, "tee-branch": 1}, 0.02) == pytest.approx(2 * one)
    assert fittings.equivalent_length({}, 0.01) == 0.0


def test_an_unknown_fitting_or_a_negative_count_is_refused() -> None:
    with pytest.raises(KeyError, match="elbow-77"):
        fittings.equivalent_length({"elbow-77": 1}, 0.01)
    with pytest.raises(ValueError, match="must not be negative"):
        fittings.equivalent_length({"elbow-90": -1}, 0.01)


def test_loss_coefficient_and_ratio_of_every_row_tell_the_same() -> None:
    for name, row in fittings.RESISTANCES.items():
        # The table's k is 0.03 L/d, printed to two digits.
        assert row.k == pytest.approx(0.03 * row.ratio, abs=0.02), name


def test_values_from_memory_are_marked() -> None:
    assert {name for name, row in fittings.RESISTANCES.items() if row.confirmed == "memory"} == {"angle-valve"}


def test_elbow_and_tee_are_those_of_a_worked_example() -> None:
    # CSA B149.1 Table A.16 in a worked example of a Canadian training series (2019), bores 1.049 and 0.824 in:
    # a 1 in elbow 2.62 ft, a 1 in tee 5.24 ft, a 3/4 in elbow 2.06 ft, printed to 0.01 ft.
    inch = 0.0254
    for name, bore, feet in (("elbow-90", 1.049, 2.62), ("tee-branch", 1.049, 5.24), ("elbow-90", 0.824, 2.06)):
        assert fittings.equivalent_length({name: 1}, bore * inch) / 0.3048 == pytest.approx(feet, abs=0.006)


@pytest.mark.parametrize(("bends", "feet"), [(0, 0.0), (4, 0.0), (5, 1.3), (9, 6.5)])
def test_corrugated_tubing_gets_length_only_for_bends_its_table_does_not_count(bends: int, feet: float) -> None:
    assert fittings.corrugated_extra_length(bends) == pytest.approx(feet * 0.3048)


def test_no_load_through_corrugated_tubing_costs_nothing() -> None:
    assert fittings.corrugated_drop(0.0, 10.0, 5e4, 0.5, 125.0) == 0.0


def test_connector_drop_is_the_rated_drop_at_the_rated_load_and_a_quarter_at_half() -> None:
    assert fittings.connector_drop(20e3, 20e3, 60.0) == 60.0
    assert fittings.connector_drop(10e3, 20e3, 60.0) == 15.0
