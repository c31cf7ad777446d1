"""Thin air: what the same jets let through, worked by hand, and what is asked of a build high up."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import INCH_OF_WATER, Values, build, found, one, outlet, run, study_of

from gasdoc.engineering.supply.altitude import asked_share, through_same_jet


def test_at_3000_m_and_50_mbar_the_same_jet_lets_a_sixth_less_through() -> None:
    # ICAO: 701.1 mbar at 3000 m. sqrt((701.1 + 50) / (1013.25 + 50)) = sqrt(0.70641) = 0.8405: 16 % less.
    assert through_same_jet(5000, 70110, 101325) == pytest.approx(0.8405, abs=1e-4)
    assert through_same_jet(5000, 101325, 101325) == 1.0


def test_four_per_cent_for_each_thousand_feet_once_above_two_thousand() -> None:
    feet = 0.3048
    assert asked_share(2000 * feet) is None
    assert asked_share(2001 * feet) == pytest.approx(1 - 0.04 * 2.001)
    assert asked_share(6000 * feet) == pytest.approx(0.76)


def hut(height: str, **jets: Any) -> Values:
    return build(
        run("3 ft", "1/2 in OD", material="copper", type="k"),
        outlet("Heater", "20 kBtu/h", jetted_for={"gas": "propane", "pressure": "11 inH2O"} | jets),
        altitude=height,
    )


def test_above_2000_feet_jets_of_unknown_altitude_are_a_warning_with_the_figures() -> None:
    made = study_of(hut("9,000 ft"))
    said = one(made, "jets-for-altitude")
    # 9,000 ft: 724.3 mbar. sqrt((724.3 + 27.4) / (1013.25 + 27.4)) = 0.8499; 4 % x 9 = 36 %; 1 - 724.3 / 1013.25 = 29 %.
    assert "15 % less gas" in said.reason and "29 % less oxygen" in said.reason and "36 % less input" in said.reason
    assert "NFPA 54" in (said.source or "") and "Heater" in said.message
    (high,) = made.high_up
    assert high.jet == pytest.approx(((72430 + 11 * INCH_OF_WATER) / (101325 + 11 * INCH_OF_WATER)) ** 0.5, abs=1e-4)


@pytest.mark.parametrize(("altitude", "jets"), [("1,900 ft", {}), ("9,000 ft", {"altitude": "2750 m"})])
def test_below_it_or_with_jets_for_it_nothing_is_said(altitude: str, jets: Values) -> None:
    assert not found(study_of(hut(altitude, **jets)), "jets-for-altitude")


def test_jets_for_another_height_are_told() -> None:
    assert found(study_of(hut("9,000 ft", altitude="0 ft")), "jets-for-altitude")


def test_a_region_with_a_row_of_its_own_is_told_that_and_no_other_code() -> None:
    # CSA B149.1 4.22.2: above what the maker has an option for, 4 % for each additional 1000 ft, not from the sea on.
    said = one(study_of(hut("5,500 ft") | {"region": "canada", "setting": "cabin"}), "jets-for-altitude")
    assert "4 % more comes off for each further 1000 ft" in said.reason
    assert "NFPA" not in said.reason
    assert "CSA B149.1 4.22.1" in str(said.source)


def test_outside_the_united_states_its_code_is_named_as_foreign() -> None:
    said = one(study_of(hut("4,593 ft") | {"region": "eu", "setting": "cabin"}), "jets-for-altitude").reason
    # 4 % for each 1000 ft of 4,593: 18 %.
    assert said.endswith("NFPA 54, a code of the United States, asks 18 % less input. Ask what is asked here.")


def test_an_altitude_that_is_left_out_is_told_on_land_and_not_on_a_boat() -> None:
    silent = {key: value for key, value in hut("0 ft").items() if key != "altitude"}
    assert "Sea level is taken." in one(study_of(silent), "altitude-unknown").message
    assert not found(study_of(silent | {"region": "boat-us"}), "altitude-unknown")
