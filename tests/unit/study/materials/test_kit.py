"""What a build takes besides its gas line: what of it is told for which build, how many, and what decides it."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of

from gasdoc.catalog import stock
from gasdoc.engineering.materials.take_off import Item
from gasdoc.regions.region import region, region_ids

COPPER = {"material": "copper", "type": "l"}
SECOND_STAGE: tuple[Values, ...] = (
    run("9 ft", "5/8 in OD", **COPPER),
    {"regulator": {"id": "second", "outlet": "11 inH2O", "inlet_thread": "1/2 FNPT", "outlet_thread": "1/2 FNPT"}},
    run("9 ft", "5/8 in OD", **COPPER),
    outlet("Heater", "20 kBtu/h"),
)


def hut(*supply: Values, **more: Any) -> Values:
    line = supply or (run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h"))
    return build(*line, container={"connection": "POL"} | more.pop("container", {}), **more)


def items(spec: Values) -> dict[str, Item]:
    return {item.key: item for item in study_of(spec).materials}


def test_bolts_have_their_nuts_two_washers_and_a_spacer_each() -> None:
    mount = {
        "thread": "1/2-13",
        "grade": "grade 5",
        "along": ["0 in", "10 in"],
        "across": ["0 in", "8 in"],
        "spacer": "1/4 in",
        "height": "10 in",
    }
    made = items(hut(container={"mount": mount | {"bolt_length": "2 in"}, "number": "2", "manifold": "parallel"}))
    # 2 x 2 places, two containers.
    assert made["mount-bolt 1/2-13 grade 5 2 in"].quantity == 8
    assert made["mount-spacer 1/2-13 1/4 in"].quantity == 8
    without = items(hut(container={"mount": mount}))
    assert "long enough for" in without["mount-bolt 1/2-13 grade 5"].name


def test_a_chain_is_bought_by_the_rating_that_the_spec_states() -> None:
    made = items(
        hut(container={"mount": {"way": "chain", "number": "2", "rated": "500 lb", "fixed_to": "An eye bolt"}})
    )
    chain = next(item for key, item in made.items() if key.startswith("container-chain"))
    assert chain.quantity == 2 and "rated 500 lb" in chain.name
    assert not any(key.startswith(("container-strap", "container-restraint")) for key in made)


def test_a_chain_or_straps_without_rating_or_number_are_bought_all_the_same() -> None:
    two = {"number": "2", "manifold": "parallel"}
    for way, each in (("chain", 1), ("straps", 2)):
        made = items(hut(container={"mount": {"way": way, "fixed_to": "An eye bolt"}} | two))
        (held,) = (item for key, item in made.items() if key.startswith(f"container-{way.rstrip('s')}"))
        assert held.quantity == 2 * each and "rated" not in held.name


def test_a_container_that_nothing_holds_yet_is_given_straps_for_what_the_region_asks() -> None:
    spec = hut() | {"region": "us-vehicle"}
    made = study_of(spec)
    strap = next(item for item in made.materials if item.key.startswith("container-strap"))
    # 4 times the filled weight, shared by two straps.
    mass = made.container.shape.heavy + made.container.heaviest_fuel
    assert strap.quantity == 2 and f"{4 * mass / 2 / 0.45359237:,.1f}".rstrip("0").rstrip(".") in strap.name


def test_corrugated_tubing_of_a_hut_is_bonded_and_copper_and_vehicles_are_not() -> None:
    csst = (run("9 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h"))
    assert {"bonding-clamp", "bonding-wire"} <= set(items(hut(*csst)))
    assert "6 AWG" in items(hut(*csst))["bonding-wire"].name
    assert "bonding-clamp" not in items(hut())
    assert "bonding-clamp" not in items(hut(*csst) | {"region": "us-vehicle"})


def test_a_food_trailer_needs_wheel_chocks_and_a_hut_none() -> None:
    """Virginia fire code 319.1.1."""
    assert items(hut() | {"region": "us-trailer"})["wheel-chocks"].quantity == 1
    assert "wheel-chocks" not in items(hut())


def test_alarms_are_bought_by_their_standard_and_the_missing_ones_by_the_region() -> None:
    stated = items(hut())
    assert stated["alarm-gas UL 1484 its own battery"].quantity == 1 and "alarm-gas" not in stated
    none = hut(spaces=[{"volume": "3000 ft3", "alarms": []}])
    assert {"alarm-gas", "alarm-co"} <= set(items(none)) and "UL 1484" in items(none)["alarm-gas"].name
    assert "CSA 6.19" in items(none | {"region": "canada"})["alarm-co"].name
    no_mark = hut(spaces=[{"volume": "3000 ft3", "alarms": [{"kind": "smoke"}, {"kind": "gas"}, {"kind": "co"}]}])
    assert "UL 217" in items(no_mark)["alarm-smoke"].name


def test_louvres_are_sold_by_free_area_and_one_of_none_is_not_bought() -> None:
    spaces = [{"volume": "3000 ft3", "vent_high": "60 in2", "vent_low": "0 in2", "alarms": []}]
    made = items(hut(spaces=spaces))
    assert "60 in2 free area" in made["louvre-high 60 in2"].name
    assert not any(key.startswith("louvre-low") for key in made)


def test_what_fries_in_a_trailer_has_its_extinguisher_the_hoods_shut_off_and_a_cable() -> None:
    line = (run("9 ft", "5/8 in OD", **COPPER), outlet("Fryer", "60 kBtu/h", kind="fryer", flue="flueless"))
    made = items(hut(*line) | {"region": "us-trailer"})
    assert {"extinguisher", "extinguisher-k"} <= set(made)
    shut_off = next(item for key, item in made.items() if key.startswith("hood-shut-off"))
    assert "5/8 in OD" in shut_off.name and not shut_off.if_needed
    assert made["hood Fryer"].name.endswith("over Fryer")
    assert made["moving-restraint Fryer"].if_needed
    assert not any(key.startswith(("hood-shut-off", "moving-")) for key in items(hut(*line)))


def test_an_appliance_that_no_trap_of_pipe_fits_is_given_a_listed_one() -> None:
    flare = (run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h", inlet_thread="3/8 flare"))
    assert "sediment-trap Heater" in items(hut(*flare))
    assert "sediment-trap Heater" not in items(hut())  # its tee, nipple and cap are in the list already
    cooker = (
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Cooker", "20 kBtu/h", inlet_thread="3/8 flare", kind="cooker"),
    )
    assert "sediment-trap Cooker" not in items(hut(*cooker))


@pytest.mark.parametrize(("kind", "asked"), [("room-heater", False), ("water-heater", True)])
def test_in_canada_a_room_heater_takes_no_trap(kind: str, asked: bool) -> None:
    # CSA B149.1 6.13.1 h) excepts room heaters, and no water heaters.
    line = (run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h", inlet_thread="3/8 flare", kind=kind))
    assert ("sediment-trap Heater" in items(hut(*line) | {"region": "canada", "setting": "cabin"})) == asked


def test_a_regulator_and_a_connector_say_what_they_have_to_carry() -> None:
    made = items(hut(regulator={"capacity": None}))
    assert "rated for at least 20 kBtu/h" in made["regulator:regulator"].name
    assert any("rated for at least 20 kBtu/h" in item.note for key, item in made.items() if "connector" in key)
    # 20 kBtu/h is 5861 W; propane has 50.0 MJ/kg gross: 0.42 kg/h.
    # A shop of the United States sells by Btu/h, whatever the pages show; a European one by kg/h.
    metric = items(hut(regulator={"capacity": None}, units="si"))
    assert "rated for at least 20 kBtu/h (5.87 kW)" in metric["regulator:regulator"].name
    european = items(hut(regulator={"capacity": None}, units="si") | {"region": "uk", "setting": "cabin"})
    # Its plate counts net heat: 5.861 x 1.086 = 6.37 kW, and 0.458 kg/h.
    assert "rated for at least 0.458 kg/h (6.37 kW gross)" in european["regulator:regulator"].name
    assert any("rated for at least 0.458 kg/h (6.37 kW gross)" in item.note for item in european.values())
    assert "rated 400 kBtu/h" in items(hut())["regulator:regulator"].name


@pytest.mark.parametrize("region", region_ids())
def test_every_region_has_something_against_fire_and_for_the_door_sheet(region: str) -> None:
    made = items(hut() | {"region": region})
    assert {"extinguisher", "door-frame"} <= set(made)
    assert all("{" not in item.name for item in made.values())


def test_where_a_loop_or_a_connector_is_asked_the_hose_has_both_its_ends_and_its_load() -> None:
    made = items(hut() | {"region": "us-vehicle"})
    hose = next(item for key, item in made.items() if key.startswith("regulator-hose"))
    assert hose.if_needed and "from 1/2 NPT to" in hose.name and "for 20 kBtu/h or more" in hose.name
    assert not any(key.startswith("regulator-hose") for key in items(hut()))
    stated = hut(regulator={"hose": {"length": "24 in", "bore": "3/8 in"}}) | {"region": "us-vehicle"}
    assert not any(key.startswith("regulator-hose") for key in items(stated))


def test_a_tank_is_bought_by_its_size() -> None:
    tank = {"type": "asme-horizontal", "water_capacity": "29 gal", "orientation": "horizontal", "place": "chassis"}
    made = items(hut(container=tank) | {"region": "us-vehicle"})
    assert (
        made["container:asme-horizontal"].name
        == "ASME horizontal container, 29 gal of water capacity, propane, outlet POL"
    )
    assert items(hut())["container:dot-100lb"].name == "100-lb cylinder, propane, outlet POL"
    assert items(hut())["container:dot-100lb"].note == "filled by a dealer or filled by a truck where it stands"


@pytest.mark.parametrize(
    ("region", "setting", "mark"),
    [
        ("eu", "cabin", "marked EN 16129,"),
        ("eu", "vehicle", "marked EN 16129 with annex D,"),
        ("au-nz", "trailer", "marked AS 4621,"),
        ("us-vehicle", None, "marked UL 144,"),
    ],
)
def test_a_regulator_has_the_mark_of_the_region_and_the_cold_it_is_made_for(
    region: str, setting: str | None, mark: str
) -> None:
    spec = hut() | {"region": region, "coldest": "-25 degC", "units": "si"}
    made = items(spec | ({"setting": setting} if setting is not None else {}))["regulator:regulator"]
    assert made.note.startswith(mark) and "made for -25 degC or colder" in made.note


def test_the_regulator_at_the_container_is_called_by_what_it_feeds() -> None:
    single = items(hut(regulator={"stages": "1"}))["regulator:regulator"].name
    assert single.startswith("single-stage regulator")
    made = items(hut(*SECOND_STAGE, regulator={"stages": "1", "outlet": "10 psi"}))
    assert made["regulator:regulator"].name.startswith("first-stage regulator")
    assert made["regulator:second"].name.startswith("second-stage regulator")


def test_a_rack_is_bought_for_all_its_containers_and_a_tray_for_each() -> None:
    two = {"number": "2", "manifold": "parallel"}
    made = items(hut(container=two | {"mount": {"way": "rack", "fixed_to": "Frame"}}))
    rack = next(item for key, item in made.items() if key.startswith("cylinder-rack"))
    assert rack.quantity == 1 and "for 2 x 100-lb cylinder" in rack.name
    made = items(hut(container=two | {"mount": {"way": "tray", "fixed_to": "Frame"}}))
    assert next(item for key, item in made.items() if key.startswith("cylinder-tray")).quantity == 2


def test_a_locker_without_stated_openings_is_given_those_that_the_region_asks() -> None:
    """100 cm2 at least, or 2 % of the floor: of 1 m x 0.6 m 120 cm2. A boat's drain is 19 mm at least."""
    land = hut(container={"place": "locker", "locker": {"length": "1 m", "width": "0.6 m"}})
    made = items(land | {"region": "eu", "setting": "trailer", "units": "si"})
    assert "120 cm2 free area or more" in made["locker-vents 120 cm2"].name
    boat = items(hut(container={"place": "locker"}) | {"region": "boat-eu", "units": "si"})
    assert "at least 19 mm bore" in boat["locker-drain 19 mm"].name
    stated = {"place": "locker", "locker": {"vent_high": "60 cm2", "vent_low": "60 cm2", "drain": "25 mm"}}
    made = items(hut(container=stated) | {"region": "eu", "setting": "trailer", "units": "si"})
    assert not any(key.startswith("locker-vents") for key in made) and "locker-drain 25 mm" in made


def test_joined_cylinders_of_a_boat_have_non_return_valves_and_its_line_a_bubble_indicator() -> None:
    two = {"number": "2", "manifold": "changeover", "connection": "POL"}
    made = items(hut(container=two) | {"region": "boat-eu", "units": "si"})
    assert made["non-return-valve"].quantity == 2 and made["non-return-valve"].if_needed
    assert any(key.startswith("bubble-indicator") for key in made)
    assert "non-return-valve" not in items(hut(container=two | {"non_return": "no"}) | {"region": "boat-eu"})
    assert "non-return-valve" not in items(hut() | {"region": "boat-eu"})


def test_a_hose_at_a_container_says_in_which_lengths_it_is_sold_and_how_long_it_may_be() -> None:
    there = {"connection": "POL"}, {"inlet_thread": "M20 x 1.5"}
    made = items(hut(container=there[0], regulator=there[1]) | {"region": "boat-eu", "units": "si"})
    assert "at most 1 m here" in made["pol-pigtail-m20"].note
    made = items(hut(container=there[0], regulator=there[1]) | {"region": "uk", "setting": "trailer", "units": "si"})
    assert "at most 0.45 m here; 0.75 m to a drawer" in made["pol-pigtail-m20"].note


@pytest.mark.parametrize("name", region_ids())
@pytest.mark.parametrize("moves", [True, False])
def test_every_region_has_a_hose_for_its_cylinders(name: str, moves: bool) -> None:
    assert stock.cylinder_hose(region(name).practice.rows, moves=moves).practice


@pytest.mark.parametrize(
    ("region", "sealant", "fluid"),
    [
        ("eu", "EN 751", "EN 14291"),
        ("au-nz", "AS 4623", "non-corrosive"),
        ("us-cabin", "rated for LP gas", "non-corrosive"),
    ],
)
def test_sealant_and_leak_fluid_are_those_of_the_region(region: str, sealant: str, fluid: str) -> None:
    thread = {"us-cabin": "1/2 NPT"}.get(region, "R 1/2")
    tube = run("9 ft", "15 x 1 mm", material="copper-metric") if region == "eu" else run("9 ft", "5/8 in OD", **COPPER)
    made = items(
        hut(tube, outlet("Heater", "20 kBtu/h", inlet_thread=thread))
        | {"region": region, "setting": "trailer" if region == "au-nz" else "cabin"}
    )
    assert sealant in made["thread-sealant"].name and "taper joints" in made["thread-sealant"].note
    assert fluid in made["leak-fluid"].name


def test_no_sealant_is_bought_where_no_joint_is_taper() -> None:
    line = (
        run("9 ft", "10 x 1 mm", material="copper-metric"),
        outlet("Heater", "3 kW", inlet_thread="10 mm compression"),
    )
    made = items(
        hut(*line, regulator={"outlet_thread": "10 mm compression", "inlet_thread": "POL"})
        | {"region": "eu", "setting": "cabin"}
    )
    assert "thread-sealant" not in made and "leak-fluid" in made


def test_what_goes_through_a_wall_is_sealed_and_what_goes_through_a_partition_is_not() -> None:
    through = {
        place: items(hut(run("9 ft", "5/8 in OD", through=[place], **COPPER), outlet("Heater", "20 kBtu/h")))
        for place in ("wall", "partition")
    }
    assert "passage-sealant" in through["wall"] and "passage-sealant" not in through["partition"]


def test_a_boat_has_its_extinguishers_by_its_length_and_a_blanket_where_something_cooks() -> None:
    """The scheme for British inland waters: two of 5A/34B at the least, three in a boat over 11 m; a blanket by the cooker."""
    line = (run("9 ft", "5/8 in OD", **COPPER),)
    made = items(hut(*line, outlet("Stove", "20 kBtu/h", kind="cooker"), region="boat-eu"))
    assert made["extinguisher"].quantity == 2 and "5A/34B" in made["extinguisher"].name
    assert "EN 1869" in made["fire-blanket"].name
    assert "fire-blanket" not in items(hut(*line, outlet("Heater", "20 kBtu/h"), region="boat-eu"))


def test_a_fryer_has_its_own_extinguisher_and_its_blanket_outside_north_america() -> None:
    line = (
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Fryer", "60 kBtu/h", kind="fryer", flue="flueless", connector={"kind": "hose"}),
    )
    for name in ("uk", "au-nz"):
        made = items(hut(*line) | {"region": name, "setting": "trailer"})
        assert "class F" in made["extinguisher-f"].name and "Fryer" in made["fire-blanket"].note
        assert made["moving-restraint Fryer"].if_needed and "extinguisher-k" not in made
    assert "fire-blanket" not in items(hut() | {"region": "uk", "setting": "trailer"})


def test_a_cylinder_stands_on_a_base_and_a_tank_on_a_pad() -> None:
    assert any(key.startswith("cylinder-base") for key in items(hut() | {"region": "uk", "setting": "cabin"}))
    tank = items(hut(container={"type": "asme-250gal", "orientation": "horizontal"}))
    assert any(key.startswith("tank-pad") for key in tank) and not any(key.startswith("cylinder-base") for key in tank)


def test_pipe_is_held_by_clamps_of_its_nominal_size() -> None:
    """3/4 in pipe is 1.05 in across, and nobody sells a clamp by that."""
    made = items(hut(run("9 ft", "3/4 in", material="steel"), outlet("Heater", "20 kBtu/h")))
    assert next(item for key, item in made.items() if key.startswith("clamp:")).name.startswith(
        "clamp or strap for 3/4 in steel pipe"
    )


def test_tube_of_inches_is_held_by_clamps_of_its_inches_where_the_pages_are_metric() -> None:
    line = run("9 ft", "1/2 in OD", material="copper-as1432", type="b"), outlet("Heater", "20 kBtu/h")
    made = items(hut(*line) | {"region": "au-nz", "setting": "trailer"})
    assert made["clamp:13 mm"].name == "cushion clamp for 1/2 in OD copper B, 13 mm across"


def test_alarms_that_canada_asks_for_are_the_ones_on_the_list() -> None:
    made = study_of(hut(spaces=[{"volume": "3000 ft3", "alarms": []}]) | {"region": "canada", "setting": "cabin"})
    asked = {r.rule.id: r.rule.asks for r in made.rules}
    bought = {item.key: item.name for item in made.materials}
    assert "CSA 6.19" in asked["co-alarm-us"] and "CSA 6.19" in bought["alarm-co"]
    assert "recreational" not in asked["gas-alarm-us"]


@pytest.mark.parametrize(
    ("first", "bought"),
    [
        # 1.5 times 8 psi before the second regulator and 3 psi behind it, where a full scale of 15 psi is the most.
        ("8 psi", [("gauge that reads 12 psi, full scale at most 15 psi", ("regulator", "second"))]),
        # 15 psi would be the end of that scale: a second gauge.
        (
            "10 psi",
            [
                ("gauge that reads 15 psi, full scale at most 75 psi", ("regulator",)),
                ("gauge that reads 3 psi, full scale at most 15 psi", ("second",)),
            ],
        ),
        # 30 psi is more than that full scale.
        (
            "20 psi",
            [
                ("gauge that reads 30 psi, full scale at most 150 psi", ("regulator",)),
                ("gauge that reads 3 psi, full scale at most 15 psi", ("second",)),
            ],
        ),
    ],
)
def test_one_gauge_serves_a_test_in_two_zones_where_it_can_be_read_in_both(
    first: str, bought: list[tuple[str, tuple[str, ...]]]
) -> None:
    made = study_of(hut(*SECOND_STAGE, regulator={"stages": "1", "outlet": first}))
    gauges = [item for item in made.materials if item.key.startswith("gauge:piping")]
    assert [(item.name, item.where) for item in gauges] == bought
    assert all(item.quantity == 1 and "no usual gauge" not in item.note for item in gauges)


def test_a_part_of_the_line_without_a_test_point_has_an_adapter_for_the_pump() -> None:
    second = {
        "regulator": {"id": "second", "outlet": "11 inH2O", "inlet_thread": "1/2 NPT", "outlet_thread": "1/2 NPT"}
    }
    line = run("9 ft", "5/8 in OD", **COPPER), {"tap": {"id": "near"}}, second, {"tap": {"id": "far"}}, run("9 ft")
    for missing, asked in ((1, True), (3, False)):
        spec = hut(
            *(element for i, element in enumerate(line) if i != missing),
            outlet("Heater", "20 kBtu/h"),
            regulator={"outlet": "10 psi", "stages": "1", "outlet_thread": "1/2 NPT"},
        )
        assert any(key.startswith("test-pump-adapter") for key in items(spec)) is asked
