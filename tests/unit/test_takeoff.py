"""The take-off from a made-up tree, counted by hand."""

from __future__ import annotations

import pytest

from gasdoc.materials.takeoff import GROUPS, Item, JunctionPart, OutletPart, RunPart, Supply, take_off


def a_run(run_id: str = "r", **more: object) -> RunPart:
    given = {
        "id": run_id,
        "key": "copper:k:1/2",
        "name": "1/2 copper",
        "rigid": False,
        "corrugated": False,
        "length": 3.0,
        "bends": 0,
        "through": (),
        "spacing": 1.2,
    }
    return RunPart(**(given | more))  # type: ignore[arg-type]


def an_outlet(name: str = "o", **more: object) -> OutletPart:
    given = {
        "id": name,
        "appliance": name,
        "inlet": "1/2 NPT",
        "connector": "flexible",
        "connector_length": 0.9,
        "distance": 0.6,
        "corrugated": False,
    }
    return OutletPart(**(given | more))  # type: ignore[arg-type]


def a_supply(*runs: RunPart, **more: object) -> Supply:
    given = {
        "container": "cylinder",
        "containers": 1,
        "manifold": None,
        "regulators": (("regulator", "two-stage regulator"),),
        "runs": runs,
        "junctions": (),
        "valves": (),
        "taps": (),
        "outlets": (),
    }
    return Supply(**(given | more))  # type: ignore[arg-type]


def items(supply: Supply) -> dict[str, Item]:
    return {item.key: item for item in take_off(supply)}


def test_coiled_tubing_gets_a_tenth_for_waste_and_pipe_a_twentieth() -> None:
    made = items(a_supply(a_run(), a_run("s", key="steel:3/4", name="3/4 steel", rigid=True, length=4.0)))
    coil, pipe = made["tubing:copper:k:1/2"], made["tubing:steel:3/4"]
    assert (coil.quantity, coil.exact, coil.measured) == (pytest.approx(3.3), pytest.approx(3.0), True)
    assert (pipe.quantity, pipe.exact) == (pytest.approx(4.2), pytest.approx(4.0))


def test_like_parts_are_added_up_and_say_for_what() -> None:
    made = items(a_supply(a_run("a", length=3.0), a_run("b", length=1.0), a_run("c", key="x", length=9.0)))
    tubing = made["tubing:copper:k:1/2"]
    assert tubing.quantity == pytest.approx(4.4) and tubing.where == ("a", "b")
    assert made["end:copper:k:1/2"].quantity == 4 and made["end:x"].quantity == 2


def test_elbows_are_fittings_of_rigid_pipe_only() -> None:
    made = items(a_supply(a_run("a", bends=3), a_run("s", key="steel:3/4", rigid=True, bends=2)))
    assert "elbow:copper:k:1/2" not in made and made["elbow:steel:3/4"].quantity == 2


@pytest.mark.parametrize(
    ("length", "spacing", "bends", "clamps"),
    [(3.0, 1.2, 0, 4), (2.4, 1.2, 0, 3), (0.2, 1.2, 0, 2), (3.0, 1.2, 2, 6), (1.2, 1.2, 0, 2)],
)
def test_clamps_stand_at_both_ends_at_every_spacing_and_at_bends(
    length: float, spacing: float, bends: int, clamps: int
) -> None:
    # 3.0 m at 1.2 m: ends and two between (3 gaps of 1.0 m).
    assert items(a_supply(a_run(length=length, spacing=spacing, bends=bends)))["clamp:copper:k:1/2"].quantity == clamps


def test_each_passage_gets_a_sleeve_or_a_grommet_and_soft_tubing_in_a_wall_a_strike_plate() -> None:
    made = items(a_supply(a_run(through=("wall", "floor", "wall", "frame"))))
    assert made["passage:wall:copper:k:1/2"].quantity == 2 and "sleeve" in made["passage:wall:copper:k:1/2"].name
    assert "grommet" in made["passage:floor:copper:k:1/2"].name and "grommet" in made["passage:frame:copper:k:1/2"].name
    assert made["strike-plate"].quantity == 2
    assert "strike-plate" not in items(a_supply(a_run(rigid=True, through=("wall",))))


def test_every_outlet_has_a_valve_a_connector_and_a_cap_for_the_test() -> None:
    made = items(a_supply(outlets=(an_outlet("a"), an_outlet("b"), an_outlet("c", connector="hose", corrugated=True))))
    assert made["valve:outlet"].quantity == 3 and made["valve:outlet"].where == ("a", "b", "c")
    assert made["cap"].quantity == 3
    connectors = [item for key, item in made.items() if key.startswith("connector:")]
    assert sorted(item.quantity for item in connectors) == [1, 2]
    assert made["termination"].where == ("c",)


def test_connectors_of_unlike_length_are_not_one_line() -> None:
    made = take_off(
        a_supply(outlets=(an_outlet("a"), an_outlet("b", connector_length=1.8), an_outlet("c", connector_length=None)))
    )
    connectors = [item for item in made if item.key.startswith("connector:")]
    assert len(connectors) == 3
    assert [item.note for item in connectors if item.where == ("c",)] == ["length not chosen yet"]


# Defect: the name of a connector leaves out the length that told it from the next, so two lines of the list read alike.
def test_two_lines_of_the_list_never_read_alike() -> None:
    made = take_off(a_supply(outlets=(an_outlet("a"), an_outlet("b", connector_length=1.8))))
    told = [(item.name, item.note) for item in made if item.key.startswith("connector:")]
    assert len(set(told)) == 2, told


def test_tees_are_told_apart_by_their_ports() -> None:
    tees = (
        JunctionPart("t1", "tee", ("1/2", "1/4", "1/2")),
        JunctionPart("t2", "tee", ("1/2", "1/4", "1/2")),
        JunctionPart("t3", "tee", ("1/2", "3/8", "3/8")),
    )
    made = [item for item in take_off(a_supply(junctions=tees)) if item.group == "fittings"]
    assert [(item.quantity, item.where) for item in made] == [(2, ("t1", "t2")), (1, ("t3",))]


def test_several_containers_need_a_manifold_and_a_hose_each() -> None:
    made = items(a_supply(containers=2, manifold="changeover"))
    assert made["container"].quantity == 2 and made["pigtail"].quantity == 2 and made["manifold"].quantity == 1
    assert "changeover" in made["manifold"].name
    assert "manifold" not in items(a_supply())


def test_sealant_leak_fluid_and_a_label_are_always_there() -> None:
    assert {"sealant", "leak-fluid", "label"} <= set(items(a_supply()))


def test_valves_and_taps_are_counted() -> None:
    made = items(a_supply(valves=("a", "b"), taps=("t",)))
    assert made["valve:branch"].quantity == 2 and made["tap"].quantity == 1


def test_lines_stand_in_the_order_of_their_groups() -> None:
    made = take_off(
        a_supply(
            a_run(through=("wall",)),
            outlets=(an_outlet(),),
            valves=("v",),
            taps=("t",),
            junctions=(JunctionPart("t", "tee", ("a", "b", "c")),),
        )
    )
    places = [GROUPS.index(item.group) for item in made]
    assert places == sorted(places) and set(places) == set(range(len(GROUPS)))
