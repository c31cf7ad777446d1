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


def test_a_cut_line_and_the_end_of_laminar_flow_are_as_an_open_library_has_them(fluids: Any) -> None:
    """One velocity head sets the gas in motion; a sharp entry loses half a head by Crane. Re 2,040 is of Avila and others."""
    assert 1.0 + fluids.fittings.entrance_sharp(method="Crane") == excess_flow.ENTRY_HEADS
    assert fluids.friction.LAMINAR_TRANSITION_PIPE == flow.LAMINAR_LIMIT


def test_water_vapour_gives_up_what_its_equation_of_state_has(coolprop: Any) -> None:
    vapour, liquid = (coolprop.PropsSI("HMOLAR", "T", 298.15, "Q", q, "Water") for q in (1, 0))
    four_moles_a_mole = (lpg.gross_heating_value(lpg.PROPANE) - lpg.net_heating_value(lpg.PROPANE)) * 0.04409562
    assert four_moles_a_mole / 4 == pytest.approx(vapour - liquid, rel=5e-4)
