"""Connectors: whether they reach, what is chosen where none is, what is not known."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import INCH, Values, build, found, one, outlet, run, study_of

from gasdoc.study import Study

COPPER = {"material": "copper", "type": "l"}


def of(**more: Any) -> Study:
    region = more.pop("region", "us-cabin")
    return study_of(
        build(run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h", **more)) | {"region": region}
    )


def flexible(length: str | None, **more: str) -> Values:
    return {"kind": "flexible"} | ({"length": length} if length else {}) | more


def test_slack_and_a_bend_are_added_to_the_way() -> None:
    (c,) = of(distance="16 in", connector=flexible("24 in")).connected
    assert c.needed == pytest.approx(21 * INCH) and c.reach is not None and c.reach.reason == "fits"


@pytest.mark.parametrize(("length", "short"), [("18 in", True), ("21 in", False), ("20.9 in", True), ("24 in", False)])
def test_a_connector_shorter_than_that_is_an_error(length: str, short: bool) -> None:
    made = of(distance="16 in", connector=flexible(length))
    assert bool(found(made, "connector-too-short", "heater")) is short
    if short:
        assert "21 in" in one(made, "connector-too-short").message


@pytest.mark.parametrize(("way", "chosen"), [("4 in", 12), ("10 in", 18), ("19 in", 24), ("25 in", 30), ("60 in", 72)])
def test_where_none_is_chosen_the_shortest_standard_length_that_reaches_is(way: str, chosen: int) -> None:
    (c,) = of(distance=way, connector=None).connected
    assert c.chosen and c.length == pytest.approx(chosen * INCH) and c.key.endswith(f"{chosen} in")
    assert c.capacity == "unknown" and c.practice is not None


def test_beyond_six_feet_none_reaches() -> None:
    assert "6 ft 0 in" in one(of(distance="68 in", connector=None), "connector-none-reaches").message


def test_a_way_that_is_not_stated_cannot_be_judged() -> None:
    assert one(of(distance=None), "connector-distance-unknown", "heater")


def test_a_connector_rated_for_less_than_the_load_is_an_error() -> None:
    assert one(of(connector=flexible("36 in", capacity="18 kBtu/h")), "connector-too-small")
    assert not found(of(connector=flexible("36 in", capacity="20 kBtu/h")), "connector-too-small")


def test_a_connector_may_be_rated_in_gas_per_hour() -> None:
    """20 kBtu/h of gross heat are 5.86 kW, and of propane of 50.1 MJ/kg (13.9 kWh/kg) 0.421 kg/h."""
    assert one(of(connector=flexible("36 in", capacity="0.41 kg/h")), "connector-too-small")
    enough = of(connector=flexible("36 in", capacity="0.43 kg/h"))
    assert not found(enough, "connector-too-small") and not found(enough, "connector-capacity-unknown")


def test_a_rigid_tail_shorter_than_the_way_is_an_error() -> None:
    assert one(of(distance="2 ft", connector={"kind": "rigid", "length": "20 in"}), "connector-too-short")


def test_where_the_practice_is_rigid_a_hose_to_a_fixed_heater_is_asked_about() -> None:
    spec = build(
        run("3 m", "8 x 1 mm", material="copper-metric"),
        outlet(
            "Heater",
            "3 kW",
            connector={"kind": "hose", "length": "1 m"},
            inlet_thread="8 mm compression",
            jetted_for={"gas": "propane", "pressure": "30 mbar"},
            min_inlet="25 mbar",
            max_inlet="35 mbar",
        ),
        regulator={"outlet": "30 mbar", "lock_up": "35 mbar", "tolerance": "0 mbar"},
    ) | {"region": "eu", "units": "si", "setting": "boat"}
    assert one(study_of(spec), "rigid-tail-usual", "heater")
    spec["supply"][1]["outlet"]["connector"] = {"kind": "rigid", "length": "1 m"}
    assert not found(study_of(spec), "rigid-tail-usual")


def test_a_connector_goes_through_nothing() -> None:
    def told(kind: str) -> bool:
        through = {"legs": [{"leg": "16 in north", "through": "wall"}]}
        return bool(
            found(
                of(
                    distance="16 in",
                    connector={"kind": kind, "length": "16 in" if kind == "rigid" else "24 in"} | through,
                ),
                "connector-through",
            )
        )

    assert told("flexible") and told("hose") and not told("rigid")
