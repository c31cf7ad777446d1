"""From a spec to the page: figures that a builder reads there, worked out here by hand or with libraries, for four countries.

The examples of the other regions are in the tests of their subjects. Nothing here calls gasdoc's own functions for a figure.
"""

from __future__ import annotations

import html
import math
import posixpath
import re
from pathlib import Path
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, text

from gasdoc.report.site.site import Order, make_site

MBAR = 100.0
GROSS = 21_548 * 2326.0
"""Heat of commercial propane, J/kg: 21,548 Btu/lb after vaporising (the LP-gas property table of NFPA 58)."""
NET = GROSS - 4 * 44_004 / 0.0440956
"""Less what the four moles of water of a mole take with them, 44,004 J each."""
GAS = {30: (1.95655, 7.8759e-6), 50: (1.99479, 7.8757e-6)}
"""Density in kg/m3 and viscosity in Pa s of propane at 15 degC, by mbar over 101,325 Pa: CoolProp 8.0.0, equation of state of
Lemmon and others (2009) and viscosity of Vogel and others (1998)."""
LIQUID = 522.52
"""Propane boiling at 40 degF, kg/m3, from the same library; 29 CFR 1910.110(b)(19) prints 4.37 lb/gal, 523.6."""

ALARMS = [
    {"kind": "gas", "height": "low", "power": "battery"},
    {"kind": "co", "height": "breathing", "power": "battery"},
]


def european(plate: str, **more: Any) -> Values:
    """An appliance, its plate without limits of pressure."""
    return outlet("Stove", plate, min_inlet=None, max_inlet=None, jetted_for=None, **more)


def regulator(outlet_pressure: str, inlet: str, thread: str) -> Values:
    """A regulator of which the plate says no more than its pressure."""
    unsaid = dict.fromkeys(("inlet", "lock_up", "tolerance"))
    return {"outlet": outlet_pressure, "inlet_thread": inlet, "outlet_thread": thread} | unsaid


CANADIAN_HUT = build(
    run("30 ft", "1/2 in OD", material="copper", type="k"),
    outlet("Heater", "20 kBtu/h"),
    region="canada",
    container={"clearances": {"relief_to_ignition": "9 ft", "relief_to_opening": "3 ft", "relief_to_intake": "10 ft"}},
)
AUSTRALIAN_TRAILER = build(
    run("12 m", "1/2 in OD", material="copper-as1432", type="B"),
    european("29 MJ/h", kind="cooker", flue="flueless", inlet_thread="1/2 BSPT male"),
    region="au-nz",
    units="si",
    setting="trailer",
    container={"type": "anz-9kg", "connection": "LCC27", "water_capacity": "22 L"},
    regulator=regulator("2.75 kPa", "1/4 inverted flare", "1/2 BSPP"),
    spaces=[{"volume": "15 m3", "vent_high": "95 cm2", "vent_low": "94 cm2", "sleeping_places": "2", "alarms": ALARMS}],
)
BRITISH_BOAT = build(
    run("4 m", "10 x 1 mm", material="copper-metric"),
    european("4 kW", kind="cooker", flue="flueless", inlet_thread="8 mm compression"),
    region="boat-eu",
    units="si",
    container={
        "type": "eu-13kg",
        "water_capacity": None,
        "clearances": {"relief_to_opening": "0.9 m", "relief_to_ignition": "1 m"},
    },
    regulator=regulator("30 mbar", "M20 x 1.5", "10 mm compression"),
    spaces=[{"volume": "20 m3", "vent_high": "55 cm2", "vent_low": "50 cm2", "people": "2", "alarms": ALARMS}],
)
GERMAN_HUT = build(
    run("20 m", "10 x 1 mm", material="steel-metric"),
    european("10 kW", inlet_thread="8 mm cutting ring"),
    region="eu",
    units="si",
    setting="cabin",
    container={"type": "eu-33kg", "connection": "GF", "water_capacity": None},
    regulator=regulator("50 mbar", "GF", "10 mm cutting ring"),
    tests=[
        {
            "date": "2026-05-09",
            "kind": "piping",
            "medium": "air",
            "gauge": {"range": "200 mbar", "resolution": "0.1 mbar"},
            "thermometer": "0.1 degC",
            "readings": [
                {"time": time, "pressure": pressure, "temperature": degrees, "barometer": "1013.2 mbar"}
                for time, pressure, degrees in (("10:00", "150 mbar", "20 degC"), ("10:10", "135 mbar", "17 degC"))
            ],
        }
    ],
)
BUILDS = {"canada": CANADIAN_HUT, "australia": AUSTRALIAN_TRAILER, "boat": BRITISH_BOAT, "germany": GERMAN_HUT}


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Every page of the four builds as its words."""
    folder: Path = tmp_path_factory.mktemp("countries")
    for name, spec in BUILDS.items():
        (folder / f"{name}.md").write_text(text(spec), encoding="utf-8")

    def link(page: str, target: str) -> str:
        return posixpath.relpath(target, posixpath.dirname(page) or ".")

    made = make_site(Order(folder, project_templates=None, link=link))
    return {
        page.uri.removesuffix(".md"): " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.html)).split())
        for page in made.pages
    }


def printed(page: str, before: str, after: str = "") -> float:
    """The number that a page prints between two pieces of text."""
    found = re.search(rf"{before}\s*([\d.,]+)\s*{after}", page)
    assert found is not None, f"'{before} ... {after}' is not on the page"
    return float(found[1].replace(",", ""))


def drops(page: str) -> tuple[float, float]:
    """The drop of the only run by the code's equation and by Darcy-Weisbach, as the page prints them."""
    found = re.search(r"line to \w+ [\d.]+ [\d.]+ ([\d.]+) ([\d.]+) [\d.]+ (laminar|turbulent|transition)", page)
    assert found is not None
    return float(found[1]), float(found[2])


def darcy(power: float, bore: float, length: float, gauge: int, roughness: float) -> float:
    """mbar lost: Darcy-Weisbach, its factor by Colebrook and White put into itself until it stands still."""
    density, viscosity = GAS[gauge]
    speed = power / GROSS / density / (math.pi / 4 * bore**2)
    reynolds = speed * bore * density / viscosity
    assert reynolds > 4000
    root = 5.0  # one over the root of the factor
    for _ in range(30):
        root = -2 * math.log10(roughness / bore / 3.7 + 2.51 * root / reynolds)
    return length / bore * density * speed**2 / 2 / root**2 / MBAR


# --- supply ------------------------------------------------------------------------------------------------------------


def test_a_canadian_line_loses_what_the_codes_equation_has(pages: dict[str, str]) -> None:
    """20,000 / 2,488 = 8.04 ft3/h through 0.402 in over 30 ft: 1.2462 x 30 x (8.04 / (2313 x 0.402^2.623))^(1/0.541) in."""
    by_hand = 1.2462 * 30 * (20_000 / 2488 / (2313 * 0.402**2.623)) ** (1 / 0.541)
    page = pages["canada/supply"]
    assert drops(page)[0] == pytest.approx(by_hand, abs=0.006) == pytest.approx(0.088, abs=0.001)
    assert printed(page, r"to 1 appliances: Heater.*?20 kBtu/h,", "in. w.c.") == pytest.approx(11 - by_hand, abs=0.06)


def test_a_german_line_loses_what_colebrook_and_white_have(pages: dict[str, str]) -> None:
    """A plate in Europe counts net heat; precision steel tube is taken at 0.045 mm. The gas gets thinner by 0.5 % on the way."""
    by_hand = darcy(10_000 * GROSS / NET, 0.008, 20.0, 50, 45e-6)
    page = pages["germany/supply"]
    assert drops(page)[1] == pytest.approx(by_hand, rel=0.005)
    assert printed(page, "all appliances at once", "kW") == pytest.approx(10 * GROSS / NET, abs=0.006)


def test_a_boats_slow_line_loses_what_poiseuille_has(pages: dict[str, str]) -> None:
    """128 viscosity x length x flow / (pi bore^4): 4 kW net through 4 m of 8 mm is laminar."""
    density, viscosity = GAS[30]
    flow = 4000 / NET / density
    by_hand = 128 * viscosity * 4 * flow / (math.pi * 0.008**4) / MBAR
    assert drops(pages["boat/supply"])[1] == pytest.approx(by_hand, abs=0.006)


# --- container ---------------------------------------------------------------------------------------------------------


def test_a_container_holds_four_fifths_of_its_volume_at_40_degf(pages: dict[str, str]) -> None:
    """A pound of water is 27.737 cubic inches (WAC 296-307-40029); 80 % is under 42 % by weight for 238 lb and for 22 L."""
    pounds = 0.8 * 238 * 27.737 * 0.0254**3 * LIQUID / 0.45359237
    assert printed(pages["canada/container"], "Gas when full", "lb") == pytest.approx(pounds, abs=0.15)
    assert printed(pages["australia/container"], "Gas when full", "kg") == pytest.approx(0.8 * 0.022 * LIQUID, abs=0.06)


def test_a_german_cylinder_of_33_kg_gives_the_trades_six_hundred_grams_an_hour(pages: dict[str, str]) -> None:
    """The German trade's glossary on draw-off: 0.6 kg/h without a break, 1.8 with half the time off, 3.0 for 20 min."""
    page = pages["germany/container"]
    for said, rate in (("Without interruption", 0.6), ("With half the time off", 1.8), ("In bursts of 20 min", 3.0)):
        kilowatts = printed(page, rf"(?i:{said}) {rate:.1f} kg/h")
        assert kilowatts == pytest.approx(rate * GROSS / 3.6e6, abs=0.006)
    assert "10.87 kW is asked, and the table gives" in page


def test_distances_are_those_of_the_country(pages: dict[str, str]) -> None:
    """Canada asks a cylinder 10 ft from ignition and intakes and 3 ft from an opening; a British boat 1 m from both."""
    canada, boat = pages["canada/container"], pages["boat/container"]
    assert "source of ignition: 9 ft 0 in; 10 ft 0 in is asked" in canada
    assert canada.count("is asked. What to do") == 1
    assert "opening below it: 900 mm; 1,000 mm is asked" in boat
    assert boat.count("is asked. What to do") == 1


# --- tests of the line -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "bore", "length", "unit", "size"),
    [
        ("canada", 0.402 * 0.0254, 30 * 0.3048, "ft³", 0.3048**3),
        ("australia", 0.0127 - 2 * 0.00091, 12.0, "L", 0.001),
        ("boat", 0.008, 4.0, "L", 0.001),
        ("germany", 0.008, 20.0, "L", 0.001),
    ],
)
def test_a_line_holds_its_bore_times_its_length(
    pages: dict[str, str], name: str, bore: float, length: float, unit: str, size: float
) -> None:
    volume = math.pi / 4 * bore**2 * length / size
    page = pages[f"{name}/leak-test"]
    assert printed(page, "Gas volume of the piping", unit) == pytest.approx(volume, abs=0.006)
    assert printed(page, "Upper estimate of it", unit) == pytest.approx(1.1 * volume, abs=0.006)


def test_a_test_asks_what_the_country_asks_of_this_line(pages: dict[str, str]) -> None:
    """Canada: 15 psi, a dial to 15 + 300 % = 60 psi. Australia: 7 kPa is more than twice 2.75. A boat: 3 x 30 mbar."""
    canada, australia, boat = (pages[f"{name}/leak-test"] for name in ("canada", "australia", "boat"))
    assert "Pressure 15 psi or more" in canada and "full scale at most 60 psi" in canada
    assert "Pressure 70 mbar or more" in australia and "Hold 5 min at least Passes when No loss" in australia
    assert "Pressure 90 to 150 mbar" in boat and "The pressure stays within 5 mbar either way" in boat


def test_a_record_that_cooled_is_judged_by_what_cooling_does_not_explain(pages: dict[str, str]) -> None:
    """150 mbar at 20 degC and 1013.2 mbar of air, sealed, at 17 degC: 1163.2 x 290.15 / 293.15 = 1151.3, 11.9 less."""
    page = pages["germany/leak-test"]
    cooling = 1163.2 * 3 / 293.15
    assert printed(page, "Explained by temperature fell by", "mbar") == pytest.approx(cooling, abs=0.06)
    assert printed(page, "Unexplained a loss of", "mbar") == pytest.approx(15 - cooling, abs=0.06)
    asked = page[page.index("Tightness test of new piping in a building, Germany") :]
    assert asked.index("on this build: 150 mbar") < asked.index("Hold 10 min at least Passes when No drop") < 700


# --- rooms -------------------------------------------------------------------------------------------------------------


def test_vents_are_those_of_the_country(pages: dict[str, str]) -> None:
    """Australia: 610 x 29 + 650 x 2 = 18,990 mm2, as a published example has it. A boat: 2200 x 4 + 650 x 2 = 10,100 mm2
    with net heat, and 2200 x 4 x 50.12 / 46.13 + 1300 with gross."""
    australia, boat = pages["australia/air"], pages["boat/air"]
    assert printed(australia, "For this build: at least", "cm²") == pytest.approx((610 * 29 + 650 * 2) / 100, abs=0.6)
    assert "This build has: 189 cm². Not met" in australia
    gross = 2200 * 4 * GROSS / NET + 1300
    assert printed(boat, "For this build: at least", "cm²") == pytest.approx(gross / 100, abs=0.6)
    assert printed(boat, "with inputs as gross heat,", "cm² with net heat") == pytest.approx(101)


def test_a_hut_in_europe_is_told_which_cylinder_may_stand_in_a_room(pages: dict[str, str]) -> None:
    page = pages["germany/referral"]
    assert "a cylinder of up to 16 kg may stand in a dwelling" in page and "A 33-kg cylinder stays outside" in page
    assert "a cylinder of more than 3 kg of propane stands outside" in page
