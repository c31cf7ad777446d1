"""Lockers out of which gas cannot run, and distances that are small where no figure is known."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of

from gasdoc.source import Severity
from gasdoc.study import Study

LOCKER = {
    "length": "0.9 m",
    "width": "0.5 m",
    "height": "0.7 m",
    "vent_high": "50 cm2",
    "vent_low": "50 cm2",
    "drain": "22 mm",
    "drain_above_water": "100 mm",
    "to_opening": "1 m",
}


def boat(locker: Values, container: Values | None = None, **more: Any) -> Study:
    return study_of(on_board(locker, container, **more))


def on_board(locker: Values, container: Values | None = None, **more: Any) -> Values:
    return build(
        run("3 ft", "1/2 in OD", material="copper", type="k", through=["bulkhead"]),
        outlet("Heater", "4 kW"),
        region="boat-eu",
        container={"place": "locker", "locker": locker} | (container or {}),
        **more,
    )


@pytest.mark.parametrize("key", ["drain", "drain_above_water", "to_opening"])
def test_what_a_rule_asks_of_a_locker_and_nobody_stated_is_told(key: str) -> None:
    told = one(boat({k: v for k, v in LOCKER.items() if k != key}), "locker-unknown")
    assert told.severity == Severity.WARNING and f"'{key}:'" in told.message
    assert not found(boat(LOCKER), "locker-unknown")


def test_gas_runs_out_of_a_locker_at_its_floor_by_an_opening_or_a_drain() -> None:
    shut = LOCKER | {"vent_low": "0 cm2", "drain": "0 mm"}
    assert one(boat(shut), "locker-closed").severity == Severity.ERROR
    assert not found(boat(LOCKER | {"vent_low": "0 cm2"}), "locker-closed")
    assert one(boat(LOCKER | {"vent_high": "0 cm2"}), "locker-closed").severity == Severity.WARNING


def test_a_distance_without_a_figure_is_held_against_the_least_that_is_asked_elsewhere() -> None:
    """18 in from the relief valve to a flame is the least of the rows of mounting.yaml."""

    def around(far: str) -> Study:
        return boat(LOCKER, {"clearances": {"relief_to_ignition": far, "relief_to_exhaust": "2 m"}})

    assert "18 in" in one(around("17 in"), "clearance-doubtful").message
    assert not found(around("18 in"), "clearance-doubtful")
    assert found(boat(LOCKER, {"clearances": {"relief_to_exhaust": "17 in"}}), "clearance-doubtful")


def test_the_vent_of_a_regulator_beside_a_motor_is_told_on_a_boat_too() -> None:
    spec = on_board(LOCKER, openings=[{"kind": "ignition", "name": "Windlass", "at": ["1 m", "0 m", "0 m"]}])
    spec["regulator"]["vent_at"] = ["1 m", "0.2 m", "0 m"]
    assert "Regulator's vent" in one(study_of(spec), "clearance-doubtful").message


def test_a_chain_holds_only_what_stands_still() -> None:
    mount = {"way": "chain", "number": "1", "rated": "1000 kg", "fixed_to": "An eye bolt"}
    assert one(boat(LOCKER, {"mount": mount}), "mount-stands-still").severity == Severity.WARNING
    assert not found(boat(LOCKER, {"mount": mount | {"way": "rack"}}), "mount-stands-still")
    assert not found(
        study_of(
            build(
                run("3 ft", "1/2 in OD", material="copper", type="k"),
                outlet("Heater", "4 kW"),
                container={"mount": mount},
            )
        ),
        "mount-stands-still",
    )
