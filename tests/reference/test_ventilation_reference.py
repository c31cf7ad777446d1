"""Openings asked for by published methods, against published examples and the codes' metric figures."""

from __future__ import annotations

import pytest

from gasdoc.engineering.air import ventilation
from gasdoc.engineering.air.ventilation import AirDemand

MJ_PER_HOUR = 1e6 / 3600
KBTU_PER_HOUR = 293.07107
MM2, CM2, INCH2, FOOT3 = 1e-6, 1e-4, 645.16e-6, 0.028316847


def test_published_example_of_as_nzs_5601_2() -> None:
    # AS/NZS 5601.2:2020 section 7, a published worked example: cooker 29 MJ/h, rest room-sealed, 2 berths: 18 990 mm2.
    room = AirDemand(flueless=29 * MJ_PER_HOUR, open_flued=0.0, sleeping_places=2)
    assert ventilation.as_nzs_5601_2(room, 4000 * MM2).total == pytest.approx(18990 * MM2, rel=1e-9)


def test_room_sealed_only_gives_the_minimum_of_as_nzs_5601_2() -> None:
    # The same public text: a vehicle with room-sealed appliances only needs 4000 mm2 (2 berths would ask for 1300).
    room = AirDemand(flueless=0.0, open_flued=0.0, room_sealed=6000.0, sleeping_places=2)
    assert ventilation.as_nzs_5601_2(room, 4000 * MM2).total == pytest.approx(4000 * MM2)


def test_british_and_australian_formulas_agree_on_flueless_appliances() -> None:
    # 2200 mm2/kW / 3.6 = 611 mm2 per MJ/h against 610: two texts, one rule, rounded apart by 0.2 %.
    room = AirDemand(flueless=9000.0, open_flued=0.0, room_sealed=0.0, sleeping_places=3, people=3)
    bss, as_nzs = ventilation.bss_2002(room), ventilation.as_nzs_5601_2(room)
    assert bss.total is not None and as_nzs.total is not None
    per_mj = (bss.total - 3 * 650 * MM2) / (9000 / MJ_PER_HOUR) / MM2
    assert per_mj == pytest.approx(611, abs=0.5)
    assert (as_nzs.total - 3 * 650 * MM2) / (9000 / MJ_PER_HOUR) / MM2 == pytest.approx(610, rel=1e-9)


def test_boat_formula_by_hand() -> None:
    # V = 2200 U + 650 P + 440 F: 4 kW cooker, 2 kW open-flued, 3 kW closed-flued, 2 people: 8800 + 1300 + 2200 = 12300.
    found = ventilation.bss_2002(AirDemand(flueless=4000.0, open_flued=2000.0, room_sealed=3000.0, people=2))
    assert found.total == pytest.approx(12300 * MM2)
    assert found.high == found.low == pytest.approx(6150 * MM2)


@pytest.mark.parametrize(
    ("floor", "high", "low", "from_memory"),
    [
        (3, 75, 10, False),
        (5, 75, 10, False),
        (5.1, 100, 15, False),
        (10, 100, 15, False),
        (12, 125, 20, True),
        (20, 150, 30, True),
        (21, 200, 50, True),
    ],
)
def test_en_721_by_floor_area(floor: float, high: float, low: float, from_memory: bool) -> None:
    # EN 721 as quoted in a technical inspectorate's leaflet (to 10 m2); larger floors from memory, and marked so.
    found = ventilation.en_721_appliances(AirDemand(floor_area=floor, roof_outlets=True))
    assert found.high == pytest.approx(high * CM2)
    assert found.low == pytest.approx(low * CM2)
    assert found.from_memory is from_memory


def test_en_721_with_room_sealed_appliances_only() -> None:
    # The same leaflet: to 10 m2, 15 cm2 in the roof or 30 cm2 otherwise high, 5 cm2 low.
    roof = ventilation.en_721_no_appliances(AirDemand(floor_area=9.0, roof_outlets=True))
    side = ventilation.en_721_no_appliances(AirDemand(floor_area=9.0, roof_outlets=False))
    for area, printed in ((roof.high, 15), (roof.low, 5), (side.high, 30), (side.low, 5)):
        assert area == pytest.approx(printed * CM2)
    assert ventilation.en_721_no_appliances(AirDemand(floor_area=10.5, roof_outlets=True)).reasons == (
        "floor-too-large",
    )


# IFGC 304: the figure in inches and Btu, and the metric one printed beside it (mm2 or m3 per kW).
@pytest.mark.parametrize(
    ("method", "per_kbtu", "metric"),
    [
        ("ifgc-two-indoors", 1.0, 2200),
        ("ifgc-two-outdoors", 1 / 4, 550),
        ("ifgc-two-horizontal-ducts", 1 / 2, 1100),
        ("ifgc-one-outdoors", 1 / 3, 700),
    ],
)
def test_ifgc_opening_of_60_thousand_btu(method: str, per_kbtu: float, metric: float) -> None:
    room = AirDemand(flueless=20 * KBTU_PER_HOUR, open_flued=40 * KBTU_PER_HOUR)
    found = ventilation.METHODS[method](room, 0.0)
    assert found.high == pytest.approx(60 * per_kbtu * INCH2, rel=1e-6)
    # The printed metric figures are rounded down, by up to 5 %.
    kilowatts = 60 * KBTU_PER_HOUR / 1000
    assert found.high is not None and metric * MM2 * kilowatts <= found.high <= 1.05 * metric * MM2 * kilowatts


def test_ifgc_room_volume() -> None:
    # 50 ft3 per 1000 Btu/h, printed beside as 4.8 m3 per kW (rounded: 4.83).
    found = ventilation.ifgc_room_volume(AirDemand(flueless=10 * KBTU_PER_HOUR, open_flued=0.0, room_sealed=9e3))
    assert found.volume == pytest.approx(500 * FOOT3, rel=1e-6)
    assert found.volume is not None
    assert found.volume / (10 * KBTU_PER_HOUR / 1000) == pytest.approx(4.8, abs=0.05)


def test_ifgc_openings_to_rooms_have_a_least_size_each() -> None:
    found = ventilation.ifgc_two_indoors(AirDemand(flueless=18 * KBTU_PER_HOUR, open_flued=0.0), 100 * INCH2)
    assert found.high == found.low == pytest.approx(100 * INCH2)
    assert found.total == pytest.approx(200 * INCH2)
