"""Kinds of container as data: complete, consistent, found by name."""

from __future__ import annotations

import pytest

from gasdoc.catalog.containers import (
    UnknownContainer,
    asme_estimate,
    container_kind,
    cylinder_table,
    fill_share,
    filling_density,
    kind_ids,
    length_rule,
    objections,
    planning_rule,
    storage_size,
    supply_sources,
    water_density,
    water_volume,
)
from gasdoc.source import CONFIRMED

GALLON = 0.003785411784
INCH = 0.0254
POUND = 0.45359237


@pytest.mark.parametrize("kind_id", kind_ids())
def test_every_kind_is_complete_and_says_how_well_it_is_known(kind_id: str) -> None:
    kind = container_kind(kind_id)
    assert kind.names and kind.title and kind.filling and kind.filled_by and kind.load_rule and kind.size_source
    assert set(kind.withdrawal) <= {"vapour", "liquid"} and kind.withdrawal
    assert set(kind.orientation) <= {"upright", "horizontal"} and kind.orientation
    assert kind.stays in ("permanent", "removable", "exchanged", "either")
    assert kind.filling_source.confirmed in CONFIRMED
    assert kind.requalification.source.confirmed in CONFIRMED
    figures = (kind.fuel_mass, kind.water_capacity, kind.tare, kind.diameter, kind.height)
    assert all(f is None for f in figures) if kind_id == "asme-horizontal" else all(f is not None for f in figures)
    for figure in figures:
        if figure is not None:
            assert 0 < figure.low <= figure.high
            assert figure.confirmed in CONFIRMED


def test_the_kinds_the_trade_sells_are_there() -> None:
    dot = [f"dot-{n}lb" for n in (10, 11, 20, 30, 40, 60, 100)]
    european = [f"eu-{n}kg" for n in (5, 6, 11, 13, 27, 33, 47)]
    assert {*dot, *european, "dot-20lb-horizontal", "asme-horizontal"} <= set(kind_ids())


def test_a_kind_is_found_by_a_name_of_the_trade() -> None:
    assert container_kind("Grill  Cylinder").id == "dot-20lb"


def test_a_misspelt_kind_gets_the_nearest_one() -> None:
    with pytest.raises(UnknownContainer, match="did you mean 'dot-100lb'") as caught:
        container_kind("dot-100-lb")
    assert "dot-100-lb" in caught.value.message
    with pytest.raises(UnknownContainer, match="use one of dot-10lb"):
        container_kind("???")


@pytest.mark.parametrize(
    ("kind", "how", "codes"),
    [
        ("dot-20lb", {}, ()),
        ("dot-20lb", {"service": "liquid"}, ("liquid-to-appliances",)),
        ("dot-20lb", {"orientation": "horizontal"}, ("wrong-orientation",)),
        ("dot-20lb", {"stays": True}, ("comes-off-to-fill",)),
        ("dot-20lb-horizontal", {"orientation": "horizontal", "stays": True}, ()),
        ("eu-11kg", {"stays": True}, ("comes-off-to-fill",)),
        ("eu-11kg", {"stays": False}, ()),
        ("asme-horizontal", {"stays": True, "orientation": "horizontal"}, ()),
        ("asme-horizontal", {"stays": False}, ("does-not-come-off",)),
        (
            "asme-horizontal",
            {"service": "liquid", "orientation": "upright"},
            ("liquid-to-appliances", "wrong-orientation"),
        ),
        ("dot-33lb-motor-fuel", {}, ("no-vapour-outlet",)),
    ],
)
def test_what_does_not_suit_a_kind_is_told(kind: str, how: dict[str, object], codes: tuple[str, ...]) -> None:
    assert tuple(objections(container_kind(kind), **how)) == codes  # type: ignore[arg-type]  # a row of the table


def test_water_capacity_stamped_in_pounds_becomes_a_volume() -> None:
    """47.6 lb of water at 8.32828 lb/gal is 5.7154 gal."""
    assert water_volume(47.6 * POUND) / GALLON == pytest.approx(47.6 / 8.32828)
    capacity = container_kind("dot-20lb").water_capacity
    assert capacity is not None
    assert capacity.low / GALLON == pytest.approx(47.6 / 8.32828)
    assert water_density() == pytest.approx(998, rel=1e-3)


def test_an_estimate_keeps_the_listed_sizes_and_draws_a_line_between() -> None:
    listed = asme_estimate(30 * GALLON, 16 * INCH)
    assert listed.length == pytest.approx(38.7 * INCH)
    assert listed.tare == pytest.approx(106 * POUND)
    between = asme_estimate(27.5 * GALLON, 16 * INCH)
    assert between.length == pytest.approx((32.7 + 38.7) / 2 * INCH)
    beyond = asme_estimate(50 * GALLON, 16 * INCH)
    assert beyond.length > 54.2 * INCH
    assert asme_estimate(29 * GALLON).diameter == pytest.approx(16 * INCH)  # of 14, 16, 18 in the one nearest 2.75
    assert asme_estimate(29 * GALLON).source.confirmed == "memory"
    with pytest.raises(ValueError, match="above zero"):
        asme_estimate(0.0)


def test_filling_density_goes_by_bands() -> None:
    assert filling_density(0.504, 0.1)[0] == 0.42
    assert filling_density(0.510, 0.1)[0] == 0.42
    assert filling_density(0.511, 0.1)[0] == 0.43
    assert filling_density(0.504, 5.0)[0] == 0.45  # above 1,200 gal
    assert filling_density(0.7, 0.1)[0] == 0.53
    with pytest.raises(ValueError, match="below the table"):
        filling_density(0.45, 0.1)
    assert fill_share()[0] == pytest.approx(0.8)


def test_published_supply_figures_come_in_si() -> None:
    contents, airs, cells = cylinder_table()
    assert contents[0] == pytest.approx(10 * POUND)
    assert list(contents) == sorted(contents)
    assert airs[0] == pytest.approx(255.372, abs=1e-3)
    assert cells[-1][0] == pytest.approx(113_000 * 0.29307107)
    assert [len(row) for row in cells] == [5] * 10
    fills, factors, base, floor = length_rule()
    assert fills == (0.1, 0.2, 0.4, 0.6)
    assert factors[-1] * INCH**2 / 0.29307107 == pytest.approx(100)
    assert base - floor == pytest.approx(20 / 1.8)
    rate, air, source = planning_rule()
    assert (rate, air) == pytest.approx((14_653.55, 255.372), rel=1e-5)
    assert source.confirmed == "once"
    assert set(supply_sources()) == {"cylinder-table", "length-rule", "storage-size"}


def test_storage_size_takes_the_next_larger_draw_and_the_next_colder_column() -> None:
    cubic_feet_an_hour = 0.3048**3 / 3600
    assert storage_size(50 * cubic_feet_an_hour, 255.38) == pytest.approx(250 * GALLON)
    assert storage_size(51 * cubic_feet_an_hour, 260.0) == pytest.approx(400 * GALLON)
    assert storage_size(400 * cubic_feet_an_hour, 260.0) is None
    assert storage_size(50 * cubic_feet_an_hour, 200.0) is None


@pytest.mark.parametrize("kind_id", ["anz-2kg", "anz-4kg", "anz-9kg", "anz-45kg"])
def test_an_australian_cylinder_is_never_filled_past_42_percent_of_its_water(kind_id: str) -> None:
    """0.42 kg of propane for each kg of water, as for any cylinder (NFPA 58): 9 kg in 21.6 L is 0.417."""
    kind = container_kind(kind_id)
    assert kind.fuel_mass is not None and kind.water_capacity is not None
    assert 0.35 < kind.fuel_mass.high / (kind.water_capacity.low * 1000) <= 0.42
    assert kind.requalification.first_years == 10


def test_it_goes_by_the_names_of_its_trade() -> None:
    assert container_kind("9-kg cylinder").id == container_kind("8.5-kg exchange cylinder").id == "anz-9kg"
