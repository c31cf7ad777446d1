"""Figures that stand in the code, and figures of the catalogue, against what is published of them or follows from that."""

from __future__ import annotations

import math
from typing import Any

import pytest

from gasdoc.catalog import containers
from gasdoc.catalog.parts import AT_CONTAINER
from gasdoc.engineering.constants import POUND, PSI, STANDARD_ATMOSPHERE
from gasdoc.engineering.container import still_air
from gasdoc.engineering.supply import excess_flow, flow, lpg


def test_the_constant_of_radiation_follows_from_the_exact_constants_of_the_si() -> None:
    """2 pi^5 k^4 / (15 h^3 c^2), with k, h and c as the SI of 2019 fixes them."""
    k, h, c = 1.380649e-23, 6.62607015e-34, 299_792_458.0
    assert pytest.approx(2 * math.pi**5 * k**4 / (15 * h**3 * c**2), rel=1e-7) == still_air.STEFAN_BOLTZMANN


def test_water_weighs_what_the_rule_says_by_the_pound_and_by_the_gallon() -> None:
    """WAC 296-307-40029: one pound of water is 27.737 cubic inches at 60 degF, and a gallon has 231."""
    cubic_inch = 0.0254**3
    assert containers.water_density() == pytest.approx(POUND / (27.737 * cubic_inch), rel=1e-5)


def test_parts_at_a_container_are_rated_for_propane_at_125_degf_and_hardly_at_130() -> None:
    """A training series has 250 psi; by the saturation curve propane has 243 psi at 125 degF and 259 at 130."""
    at_125, at_130 = (
        lpg.saturation_absolute(lpg.PROPANE, (degf + 459.67) / 1.8) - STANDARD_ATMOSPHERE for degf in (125, 130)
    )
    assert at_125 < AT_CONTAINER < at_130 and pytest.approx(250 * PSI) == AT_CONTAINER


@pytest.mark.parametrize(
    ("family", "psi"),
    [("dot-upright", [375]), ("dot-horizontal", [375]), ("dot-liquid", [375]), ("asme-horizontal", [250, 312])],
)
def test_relief_valves_open_where_a_training_series_has_it(family: str, psi: list[int]) -> None:
    """Cylinders at 375 psig, tanks at 312 or 250 psig (a Canadian training series for gas technicians, unit 11)."""
    kind = next(kind for kind in map(containers.container_kind, containers.kind_ids()) if kind.family == family)
    assert kind.relief is not None
    assert [float(opens) / PSI for opens in kind.relief.opens] == pytest.approx(psi)


SERIES = {  # figure 4-3 of a Canadian training series for gas technicians: pounds of propane, pounds of water
    "dot-5lb": (5, 12),
    "dot-10lb": (10, 23.8),
    "dot-20lb": (20, 48),
    "dot-30lb": (30, 72),
    "dot-40lb": (40, 95),
    "dot-60lb": (60, 144),
    "dot-100lb": (100, 239),
    "dot-200lb": (200, 477),
    "dot-420lb": (420, 1000),
    "dot-33lb-motor-fuel": (33.5, 80),
}
DGUV = {  # DGUV Information 210-002, figure 4-3: litres of water, mm across, mm high
    "eu-3kg": (7.1, 204, 420),
    "eu-5kg": (11.75, 229, 500),
    "eu-11kg": (27.2, 300, 600),
    "eu-33kg": (79, 318, 1300),
}


@pytest.mark.parametrize("kind_id", SERIES)
def test_a_cylinder_holds_what_a_training_series_has_for_its_size(kind_id: str) -> None:
    """The catalogue has the rated fuel over 42 %, the series rounds to whole pounds."""
    kind, (fuel, water) = containers.container_kind(kind_id), SERIES[kind_id]
    assert kind.fuel_mass is not None and kind.water_capacity is not None
    assert kind.fuel_mass.low == pytest.approx(fuel * POUND, rel=0.02)
    assert kind.water_capacity.low == pytest.approx(containers.water_volume(water * POUND), rel=0.01)


@pytest.mark.parametrize("kind_id", DGUV)
def test_a_european_cylinder_is_as_large_as_an_accident_insurer_draws_it(kind_id: str) -> None:
    kind, (litres, across, high) = containers.container_kind(kind_id), DGUV[kind_id]
    assert kind.water_capacity is not None and kind.diameter is not None and kind.height is not None
    assert kind.water_capacity.low == pytest.approx(litres / 1000)
    assert (kind.diameter.low, kind.height.low) == pytest.approx((across / 1000, high / 1000))


def test_a_cut_line_and_the_end_of_laminar_flow_are_as_an_open_library_has_them(fluids: Any) -> None:
    """One velocity head sets the gas in motion; a sharp entry loses half a head by Crane. Re 2,040 is of Avila and others."""
    assert 1.0 + fluids.fittings.entrance_sharp(method="Crane") == excess_flow.ENTRY_HEADS
    assert fluids.friction.LAMINAR_TRANSITION_PIPE == flow.LAMINAR_LIMIT


def test_water_vapour_gives_up_what_its_equation_of_state_has(coolprop: Any) -> None:
    vapour, liquid = (coolprop.PropsSI("HMOLAR", "T", 298.15, "Q", q, "Water") for q in (1, 0))
    four_moles_a_mole = (lpg.gross_heating_value(lpg.PROPANE) - lpg.net_heating_value(lpg.PROPANE)) * 0.04409562
    assert four_moles_a_mole / 4 == pytest.approx(vapour - liquid, rel=5e-4)
