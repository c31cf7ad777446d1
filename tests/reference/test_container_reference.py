"""The container of a study against published figures: fill, need, supply and the bolts of a mount."""

from __future__ import annotations

import json
from typing import Any

import pytest

from gasdoc.build.reader import read_spec
from gasdoc.engineering.container.cold_day import simulate
from gasdoc.study import make_study
from gasdoc.study.container.cold_day import Rig

BTU_PER_HOUR = 0.2930710701722222
POUND = 0.45359237


def degf(value: float) -> float:
    return (value + 459.67) / 1.8


def rig(**more: Any) -> Rig:
    """What a hut with one heater has: 20 kBtu/h for two hours a day behind a regulator that works from 10 psi, at sea
    level."""
    heater = {"name": "Heater", "kind": "room-heater", "input": "20 kBtu/h", "daily_use": "2 h"}
    spec = {
        "format": "1",
        "title": "Hut",
        "region": "us-cabin",
        "altitude": "0 ft",
        "coldest": "20 degF",
        "container": {"type": "dot-100lb", "water_capacity": "238 lb", "orientation": "upright"},
        "regulator": {"inlet": "10 psi", "outlet": "11 inH2O"},
        "supply": [{"run": {"material": "copper", "type": "k", "length": "5 ft"}}, {"outlet": {"appliance": heater}}],
    } | more
    lines = "".join(f"{key}: {json.dumps(value)}\n" for key, value in spec.items())
    build = read_spec(f"---\n{lines}---\n".encode(), "hut.md", "hut").build
    assert build is not None
    made, _ = make_study(build)
    assert made is not None and made.cold is not None
    return made.cold.rig


@pytest.mark.parametrize(("gas", "fluid"), [("propane", "Propane"), ("butane", "n-Butane")])
def test_the_coldest_liquid_that_has_the_pressure_needed(coolprop: Any, gas: str, fluid: str) -> None:
    """The equation of state at 11 psig and sea level (CoolProp); 0.05 K is what the frozen fits of the vapour pressure
    allow (0.006 %, about 0.002 K) with room for two builds of the library."""
    need = rig(gas=gas).need
    assert need.floor == pytest.approx(coolprop.PropsSI("T", "P", need.absolute, "Q", 0, fluid), abs=0.05)


@pytest.mark.parametrize(
    ("pounds", "air", "cell"),
    # LP-gas service handbook, continuous draw of a 100-lb cylinder, Btu/h.
    [(50, 0, 64_000), (20, 0, 36_000), (50, 40, 125_000), (50, 70, 167_000), (100, 70, 300_000)],
)
def test_the_cylinder_table_is_a_ceiling_over_a_100_lb_cylinder(pounds: float, air: float, cell: float) -> None:
    hundred = rig(container={"type": "dot-100lb", "water_capacity": "238 lb", "diameter": "14.5 in"})
    supply = hundred.supply(degf(air), pounds * POUND / hundred.full_mass)
    by_method = {e.method: e.rate / BTU_PER_HOUR for e in supply.estimates}
    # A full cylinder holds 99.7 lb here, so its cell lies a little beyond the end of the table's last row.
    assert by_method["cylinder-table"] == pytest.approx(cell, rel=0.003 if pounds == 100 else 1e-6)
    assert supply.rate / BTU_PER_HOUR == pytest.approx(min(by_method.values()))


def test_neither_method_is_the_lower_everywhere_in_a_study() -> None:
    hundred = rig()
    assert hundred.supply(degf(0), 0.5).limiting == "heat-balance"
    assert hundred.supply(degf(60), 0.5).limiting == "cylinder-table"


def test_the_length_rule_at_its_published_point(coolprop: Any) -> None:
    """D x L x K: 24 in x 66 in at 40 % full is 24 x 66 x 80 = 126,720 Btu/h at 0 degF; fill by volume of liquid at -20 degF,
    whose density by the equation of state turns 40 % into a mass."""
    lying = rig(
        container={
            "type": "asme-horizontal",
            "water_capacity": "120 gal",
            "orientation": "horizontal",
            "diameter": "24 in",
            "length": "66 in",
            "stays": "yes",
        }
    )
    mass = 0.4 * lying.shape.vessel.volume * coolprop.PropsSI("D", "T", degf(-20), "Q", 0, "Propane")
    rates = {e.method: e.rate for e in lying.supply(degf(0), mass / lying.full_mass).estimates}
    assert rates["length-rule"] / BTU_PER_HOUR == pytest.approx(126_720, rel=0.002)


def test_a_whole_cold_day_closes_its_energy() -> None:
    """Heat from the air is what boiled the gas, what is stored and what left: to 1e-9, over the build's own day."""
    hundred = rig(coldest="-10 degF")
    outcome = simulate(hundred.setup(degf(-10), 0.5, "moving"), hundred.periods)
    assert outcome.energy.residual < 1e-9
    assert outcome.delivered + outcome.unmet == pytest.approx(hundred.energy, rel=1e-9)
