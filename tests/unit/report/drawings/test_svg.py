"""Figures and paths of drawings, as SVG has them."""

from __future__ import annotations

import pytest

from gasdoc.report.drawings.svg import stroke, tenth


@pytest.mark.parametrize(
    ("value", "text"), [(2.04, "2"), (-0.01, "0"), (12.26, "12.3"), (-3.5, "-3.5"), (1200.0, "1200")]
)
def test_a_figure_has_one_place_and_no_zero_for_nothing(value: float, text: str) -> None:
    assert tenth(value) == text


def test_a_path_goes_through_every_place_and_back_where_it_is_closed() -> None:
    places = [(0.0, 1.0), (10.04, 1.0), (10.0, -2.5)]
    assert stroke(places) == "M0,1L10,1L10,-2.5"
    assert stroke(places, closed=True) == "M0,1L10,1L10,-2.5Z"
