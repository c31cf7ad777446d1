"""Required openings: what is missing, which minimum holds, and that every method of the rule data has its function."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from gasdoc.engineering.air import ventilation
from gasdoc.engineering.air.ventilation import AirDemand, Required
from gasdoc.regions.rules import METHODS

FULL = AirDemand(
    flueless=6000.0,
    open_flued=3000.0,
    room_sealed=2000.0,
    sleeping_places=2,
    people=2,
    floor_area=8.0,
    roof_outlets=True,
)
IFGC = [key for key in ventilation.METHODS if key.startswith("ifgc")]


def figures(found: Required) -> tuple[float | None, ...]:
    return (found.high, found.low, found.total, found.volume)


def test_every_method_of_the_rule_data_has_its_function() -> None:
    assert set(ventilation.METHODS) == set(METHODS)


@pytest.mark.parametrize("method", list(ventilation.METHODS))
def test_nothing_known_gives_no_figure_but_a_reason(method: str) -> None:
    found = ventilation.METHODS[method](AirDemand(), 0.0)
    assert figures(found) == (None, None, None, None)
    assert found.reasons


@pytest.mark.parametrize("method", list(ventilation.METHODS))
def test_a_full_room_gives_a_figure(method: str) -> None:
    found = ventilation.METHODS[method](FULL, 0.0)
    assert any(figure is not None and figure > 0 for figure in figures(found))


@pytest.mark.parametrize(
    ("method", "unknown", "reasons"),
    [
        ("as-nzs-5601-2", "flueless", ("no-input",)),
        ("as-nzs-5601-2", "open_flued", ("no-input",)),
        ("as-nzs-5601-2", "sleeping_places", ("no-sleeping-places",)),
        ("bss-2002", "flueless", ("no-input",)),
        ("bss-2002", "open_flued", ("no-input",)),
        ("bss-2002", "room_sealed", ("no-input",)),
        ("bss-2002", "people", ("no-people",)),
        ("en-721-appliances", "floor_area", ("no-floor-area",)),
        ("en-721-no-appliances", "floor_area", ("no-floor-area",)),
        *[(method, what, ("no-input",)) for method in IFGC for what in ("flueless", "open_flued")],
    ],
)
def test_each_missing_fact_is_named(method: str, unknown: str, reasons: tuple[str, ...]) -> None:
    found = ventilation.METHODS[method](structs.replace(FULL, **{unknown: None}), 0.0)
    assert found == Required(reasons=reasons)


def test_side_openings_are_taken_where_the_place_is_not_known() -> None:
    roof, side, unknown = (
        ventilation.en_721_appliances(structs.replace(FULL, roof_outlets=where)) for where in (True, False, None)
    )
    assert roof.high is not None and side.high == unknown.high == 2 * roof.high
    assert roof.low == side.low
    assert unknown.reasons == ("side-openings-assumed",) and side.reasons == ()
    assert (roof.from_memory, side.from_memory, unknown.from_memory) == (False, True, True)


@pytest.mark.parametrize(
    ("floor", "high", "low", "memory"),
    [
        (5.0, 75, 10, False),
        (5.1, 100, 15, False),
        (10.0, 100, 15, False),
        (10.1, 125, 20, True),
        (15.0, 125, 20, True),
        (15.1, 150, 30, True),
        (20.0, 150, 30, True),
        (20.1, 200, 50, True),
        (80.0, 200, 50, True),
    ],
)
def test_each_floor_area_reads_its_own_row(floor: float, high: float, low: float, memory: bool) -> None:
    found = ventilation.en_721_appliances(structs.replace(FULL, floor_area=floor))
    assert (found.high, found.low) == (pytest.approx(high * 1e-4), pytest.approx(low * 1e-4))
    assert found.from_memory == memory


def test_nothing_that_burns_and_nobody_that_sleeps_ask_for_nothing() -> None:
    nothing = AirDemand(flueless=0.0, open_flued=0.0, room_sealed=0.0, sleeping_places=0, people=0)
    assert ventilation.as_nzs_5601_2(nothing) == Required(total=0.0)
    assert ventilation.bss_2002(nothing) == Required(high=0.0, low=0.0, total=0.0)


def test_without_a_minimum_of_its_own_the_rule_gives_what_the_appliances_ask() -> None:
    # 9 kW is 30.709 thousand Btu/h: that many in2 indoors, a quarter, a half and a third of it outdoors (1 in2: 6.4516 cm2).
    area = 9000.0 / 293.07107 * 6.4516e-4
    assert ventilation.ifgc_two_indoors(FULL).high == pytest.approx(area)
    assert ventilation.ifgc_two_outdoors(FULL).low == pytest.approx(area / 4)
    assert ventilation.ifgc_two_horizontal_ducts(FULL).total == pytest.approx(area)
    assert ventilation.ifgc_one_outdoors(FULL).high == pytest.approx(area / 3)


@pytest.mark.parametrize(("floor", "known"), [(10.0, True), (10.1, False)])
def test_without_appliances_the_figures_go_to_ten_square_metres(floor: float, known: bool) -> None:
    roof, side, unknown = (
        ventilation.en_721_no_appliances(structs.replace(FULL, floor_area=floor, roof_outlets=where))
        for where in (True, False, None)
    )
    if not known:
        assert roof == side == unknown == Required(reasons=("floor-too-large",))
        return
    assert roof.reasons == side.reasons == ()
    assert (roof.high, roof.low) == pytest.approx((15e-4, 5e-4))
    assert (side.high, side.low) == pytest.approx((30e-4, 5e-4))
    assert unknown == Required(high=side.high, low=side.low, reasons=("side-openings-assumed",))


def test_sealed_appliances_ask_for_no_openings_under_the_fuel_gas_code() -> None:
    sealed = AirDemand(flueless=0.0, open_flued=0.0, room_sealed=9000.0)
    assert ventilation.ifgc_two_indoors(sealed, 0.0645) == Required(high=0.0, low=0.0, total=0.0)
    assert ventilation.ifgc_room_volume(sealed).volume == 0.0


def test_one_opening_warns_of_vent_connectors_only_where_there_are_any() -> None:
    assert ventilation.ifgc_one_outdoors(FULL).reasons == ("vent-connectors-not-counted",)
    assert ventilation.ifgc_one_outdoors(structs.replace(FULL, open_flued=0.0)).reasons == ()


@given(
    st.sampled_from(list(ventilation.METHODS)),
    st.sampled_from(["flueless", "open_flued", "room_sealed", "sleeping_places", "people", "floor_area"]),
    st.integers(1, 40),
)
def test_more_of_anything_never_asks_for_less(method: str, what: str, more: int) -> None:
    larger = structs.replace(FULL, **{what: getattr(FULL, what) + more})
    before, after = (figures(ventilation.METHODS[method](room, 0.0)) for room in (FULL, larger))
    if "en-721-no" in method and what == "floor_area" and larger.floor_area is not None and larger.floor_area > 10:
        assert after == (None, None, None, None)
        return
    for old, new in zip(before, after, strict=True):
        assert (old is None) == (new is None)
        assert old is None or new is None or new >= old


@given(st.sampled_from(["as-nzs-5601-2", "bss-2002", "ifgc-room-volume", *IFGC]), st.floats(0, 2), st.floats(1, 30000))
def test_never_under_the_rules_own_minimum(method: str, least: float, power: float) -> None:
    room = structs.replace(FULL, flueless=power)
    found = ventilation.METHODS[method](room, least)
    limited = found.volume if method == "ifgc-room-volume" else found.high if method.startswith("ifgc") else found.total
    bare = ventilation.METHODS[method](room, 0.0)
    free = bare.volume if method == "ifgc-room-volume" else bare.high if method.startswith("ifgc") else bare.total
    assert limited is not None and free is not None and limited == pytest.approx(max(free, least))
