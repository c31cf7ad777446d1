"""Plates that count net heat: what they mean in gas and in gross heat, from the spec to the page.

By hand, for propane: gross 21,548 Btu/lb x 2326 J/kg = 50.1206 MJ/kg (NFPA 58 Annex B). Net is that less the heat of the
water made, 4 x 44.004 kJ/mol / 44.0956 g/mol = 3.9917 MJ/kg: 46.1290 MJ/kg. Gross over net: 1.08653.
3.5 kW of net heat are 3500 / 46.1290e6 = 7.5874e-5 kg/s = 0.27315 kg/h, or 3802.9 W of gross heat.
"""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, runs, study_of, try_study

from gasdoc.engineering.supply import lpg
from gasdoc.regions.region import region, region_ids
from gasdoc.report.content.words import Quantities
from gasdoc.report.views.supply import page as supply
from gasdoc.study import Study

NET_TO_GROSS = 1.08653


def heater(place: str = "boat-eu", load: str = "3.5 kW", basis: str | None = None, **more: Any) -> Values:
    of_appliance = {"daily_use": "6 h"} | ({"input_basis": basis} if basis else {}) | more
    return build(
        run("5 m", "10 x 1 mm", material="copper-metric"),
        outlet("Heater", load, **of_appliance),
        region=place,
        units="si",
        regulator={"outlet": "30 mbar", "capacity": "1.5 kg/h"},
    )


def test_the_ratio_of_gross_to_net_heat_is_the_published_one() -> None:
    """1.09 for propane and 1.08 for butane: scope of BS 5440-2 (a public project page of the standard's publisher), two
    decimals as printed."""
    for gas, published in ((lpg.PROPANE, 1.09), (lpg.BUTANE, 1.08)):
        ratio = lpg.gross_heating_value(gas) / lpg.net_heating_value(gas)
        assert round(ratio, 2) == published


def test_a_net_plate_means_more_gas_by_the_gross_over_the_net_heating_value() -> None:
    net = study_of(heater(basis="net"))
    (s,) = net.served
    assert s.load == pytest.approx(3802.9, rel=1e-4)
    assert s.mass * 3600 == pytest.approx(0.27315, rel=1e-4)
    assert s.per_day == pytest.approx(3802.9 * 6 * 3600, rel=1e-4)
    assert net.endurance.daily[0].mass == pytest.approx(0.27315 * 6, rel=1e-4)
    (sized,) = runs(net).values()
    assert sized.load == s.load == net.load == net.zones[0].load
    assert net.releases.leaks[-1].kind == "open-burner"
    assert net.releases.leaks[-1].mass == pytest.approx(7.5874e-5, rel=1e-4)


def test_a_gross_plate_counts_as_it_stands() -> None:
    (s,) = study_of(heater(basis="gross")).served
    assert s.load == 3500.0
    assert s.mass * 3600 == pytest.approx(3500 / 50.1206e6 * 3600, rel=1e-5)  # 0.2514 kg/h


@pytest.mark.parametrize("basis", ["gross", "net", None])
def test_gas_per_hour_on_a_plate_has_no_basis(basis: str | None) -> None:
    study = study_of(heater(load="270 g/h", basis=basis))
    (s,) = study.served
    assert s.basis is None and s.mass * 3600 == pytest.approx(0.27)
    assert found(study, "input-basis-assumed") == []


@pytest.mark.parametrize("name", region_ids())
def test_a_region_says_what_its_plates_usually_count(name: str) -> None:
    usual = region(name).supply.plates.basis
    assert usual == ("net" if name in ("uk", "eu", "boat-eu") else "gross")
    (s,) = study_of(heater(name)).served
    assert s.load == pytest.approx(3500.0 * (NET_TO_GROSS if usual == "net" else 1.0), rel=1e-5)


def test_what_is_taken_for_granted_is_said() -> None:
    said = one(study_of(heater()), "input-basis-assumed")
    assert "Heater" in said.message and "8 % less gas" in said.reason and "input_basis:" in said.remedy
    assert said.at[-3:] == ("outlet", "appliance", "input")
    assert found(study_of(heater(basis="net")), "input-basis-assumed") == []
    assert found(study_of(heater("us-cabin")), "input-basis-assumed") == []


def test_butane_has_a_ratio_of_its_own() -> None:
    """Butane: 21,221 Btu/lb = 49.3600 MJ/kg; water 5 x 44.004 / 58.1222 = 3.7855; net 45.5746; ratio 1.08306."""
    spec = heater(basis="net") | {"gas": "butane"}
    (s,) = study_of(spec).served
    assert s.load == pytest.approx(3500 * 1.08306, rel=1e-5)


def test_energy_a_day_counts_as_the_plate_does() -> None:
    (net,), (gross,) = (study_of(heater(basis=b, daily_use="20 kWh/day")).served for b in ("net", "gross"))
    assert gross.per_day == pytest.approx(20 * 3.6e6)
    assert net.per_day == pytest.approx(20 * 3.6e6 * NET_TO_GROSS, rel=1e-5)
    (by_mass,) = study_of(heater(basis="net", daily_use="1 kg/day")).served
    assert by_mass.per_day == pytest.approx(50.1206e6, rel=1e-5)


def test_energy_beside_a_plate_in_gas_per_hour_counts_as_the_spec_says() -> None:
    """10 kWh of net heat a day are 36 MJ / 46.1290 MJ/kg = 0.7804 kg of gas; of gross heat 36 / 50.1206 = 0.7183 kg."""
    net, gross, usual, american = (
        study_of(heater(place, load="270 g/h", basis=basis, daily_use="10 kWh/day"))
        for place, basis in (("boat-eu", "net"), ("boat-eu", "gross"), ("boat-eu", None), ("us-cabin", None))
    )
    masses = [made.endurance.daily[0].mass for made in (net, gross, usual, american)]
    assert masses == pytest.approx([0.7804, 0.7183, 0.7804, 0.7183], rel=1e-4)
    assert [bool(found(made, "input-basis-assumed")) for made in (net, gross, usual, american)] == [
        False,
        False,
        True,
        False,
    ]
    assert [made.served[0].mass * 3600 for made in (net, gross)] == pytest.approx([0.27, 0.27])


def test_energy_in_a_season_alone_is_taken_for_granted_aloud_too() -> None:
    spec = heater(load="270 g/h") | {"seasons": [{"name": "Spring", "daily_use": {"heater": "20 kWh/day"}}]}
    assert found(study_of(spec), "input-basis-assumed") != []


def test_a_season_counts_its_energy_alike() -> None:
    spec = heater(basis="net") | {"seasons": [{"name": "Spring", "daily_use": {"heater": "20 kWh/day"}}]}
    spring = study_of(spec).endurance.seasons[-1]
    assert spring.per_day == pytest.approx(20 * 3.6e6 / 46.1290e6, rel=1e-5)  # net energy over the net heating value


def test_a_regulator_in_gas_per_hour_stays_what_it_is() -> None:
    """0.27 kg/h feeds 3.5 kW of gross heat (0.2514 kg/h) and not the same counted net (0.27315 kg/h)."""
    for basis, small in (("gross", False), ("net", True)):
        spec = heater(basis=basis)
        spec["regulator"]["capacity"] = "0.27 kg/h"
        assert bool(found(study_of(spec), "regulator-too-small")) == small


@pytest.mark.parametrize(
    ("place", "capacity", "code"),
    [
        ("boat-eu", "3.4 kW", "regulator-too-small"),  # 3.4 x 1.08653 = 3.694 kW: too small either way
        ("boat-eu", "3.6 kW", "regulator-maybe-too-small"),  # 3.911 kW gross if it is net; the load is 3.803
        ("boat-eu", "3.9 kW", None),
        ("boat-eu", "0.27 kg/h", "regulator-too-small"),  # no doubt what is meant
        ("us-cabin", "3.6 kW", "regulator-too-small"),
    ],
)
def test_a_regulator_rated_in_power_may_count_net_heat_where_plates_do(
    place: str, capacity: str, code: str | None
) -> None:
    spec = heater(place, basis="net")
    spec["regulator"]["capacity"] = capacity
    made = study_of(spec)
    said = [f for f in made.findings if f.code in ("regulator-too-small", "regulator-maybe-too-small")]
    assert [f.code for f in said] == ([code] if code else [])
    for f in said:
        assert "gross heat" in f.message and "kg/h" in f.remedy
        assert (str(f.severity) == "warning") == (code == "regulator-maybe-too-small")
        assert ("counts net heat" in f.message) == (place == "boat-eu" and "kW" in capacity)


def test_a_basis_that_is_neither_is_a_problem() -> None:
    made, problems = try_study(heater(basis="nett"))
    assert made is None
    assert any("net" in p.hint for p in problems)


def working(study: Study) -> str:
    zone = study.zones[0]
    return str(supply._working(study, zone.runs[0])["steps"][0])


def test_the_page_says_what_the_plate_says_and_what_that_means() -> None:
    stated, assumed, american = (working(study_of(s)) for s in (heater(basis="net"), heater(), heater("us-cabin")))
    assert "3.5 kW, net heat. That is" in stated and "3.8" in stated and "0.273" in stated
    assert "taken as net heat (The scope of BS 5440-2" in assumed
    assert "taken as gross heat" in american
    by_mass = study_of(heater(load="270 g/h"))
    assert "270 g/h, times the gross heating value" in supply.plate(by_mass.served[0], by_mass, Quantities("si"))
