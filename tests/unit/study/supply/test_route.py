"""The line in space, and what it says against itself."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee, try_study

from gasdoc.study.findings import Finding
from gasdoc.study.supply.route import Route

COPPER = {"material": "copper", "type": "L"}
FOOT = 0.3048


def legged(*legs: Any, **more: Any) -> Values:
    return {"run": COPPER | {"legs": list(legs)} | more}


def joined(name: str, *legs: str, **more: Any) -> Values:
    return outlet(name, "2 kBtu/h", connector={"kind": "flexible", "length": "4 ft", "legs": list(legs)}, **more)


def line(*supply: Values, **more: Any) -> Route:
    return study_of(build(*supply, **more)).route


def told(code: str, *supply: Values, **more: Any) -> list[Finding]:
    return [finding for finding in study_of(build(*supply, **more)).findings if finding.code == code]


def feet(point: tuple[float, float, float]) -> tuple[float, float, float]:
    return tuple(round(step / FOOT, 3) for step in point)  # type: ignore[return-value]  # three of them


def test_every_leg_ends_where_the_next_begins_and_branches_at_their_tee() -> None:
    made = line(
        legged("4 ft aft", "1 ft up", id="trunk"),
        {"valve": {"id": "main"}},
        tee(
            [legged("2 ft left", id="one"), joined("Lamp", "1 ft up")],
            [legged("3 ft right", id="two"), joined("Oven", "1 ft aft")],
            id="here",
        ),
        container={"at": ["1 ft", "2 ft", "3 ft"]},
    )
    ends = [(stretch.part, feet(stretch.tail), feet(stretch.head)) for stretch in made.stretches]
    assert ends == [
        ("trunk", (1, 2, 3), (5, 2, 3)),
        ("trunk", (5, 2, 3), (5, 2, 4)),
        ("one", (5, 2, 4), (5, 0, 4)),
        ("lamp", (5, 0, 4), (5, 0, 5)),
        ("two", (5, 2, 4), (5, 5, 4)),
        ("oven", (5, 5, 4), (6, 5, 4)),
    ]
    assert {spot.id: feet(spot.at) for spot in made.spots if spot.kind in ("valve", "junction", "appliance")} == {
        "main": (5, 2, 4),
        "here": (5, 2, 4),
        "lamp": (5, 0, 5),
        "oven": (6, 5, 4),
    }
    assert all(spot.known for spot in made.spots)


def test_what_lies_behind_a_run_without_legs_is_not_known_and_drawn_where_there_is_room() -> None:
    made = line(
        legged("4 ft aft"),
        tee([run("5 ft", id="spur"), joined("Lamp", "1 ft up")], [legged("3 ft aft"), joined("Oven", "1 ft up")]),
    )
    spur = next(stretch for stretch in made.stretches if stretch.part == "spur")
    assert not spur.measured and feet(spur.head) != feet(made.stretches[-2].head)
    assert {spot.id: spot.known for spot in made.spots if spot.kind == "appliance"} == {"lamp": False, "oven": True}
    assert made.not_measured == ("spur",)


def test_a_passage_stands_where_the_leg_says_else_on_the_likeliest_leg() -> None:
    made = line(legged({"leg": "4 ft aft", "through": "wall", "at": "1 ft"}), joined("Lamp", "1 ft up"))
    (passage,) = made.stretches[0].passages
    assert (passage.through, passage.share, passage.guessed) == ("wall", 0.25, False)
    made = line(
        legged("1 ft aft", "2 ft up", "4 ft aft", through=["floor", "wall", "frame"]), joined("Lamp", "1 ft up")
    )
    assert [[(p.through, p.guessed) for p in s.passages] for s in made.stretches[:3]] == [
        [],
        [("floor", True)],
        [("wall", True), ("frame", True)],
    ]
    assert [round(p.share, 3) for p in made.stretches[2].passages] == [0.333, 0.667]


# --- findings -------------------------------------------------------------------------------------------------------


def test_two_appliances_in_one_place_are_told() -> None:
    def both(second: str) -> list[Finding]:
        ways = tee(
            [legged("2 ft left", "1 ft up"), joined("Lamp", "1 ft right")],
            [legged("1 ft up", second), joined("Oven", "1 ft right")],
        )
        return told("appliances-in-one-place", legged("4 ft aft"), ways)

    (finding,) = both("2 ft left")
    assert finding.message == "Lamp and Oven have their inlets in one place, by their legs or places."
    assert both("2 ft 3 in left") == []


def test_appliances_by_their_stated_places_are_held_against_one_another() -> None:
    place = {"at": ["1 ft", "2 ft", "3 ft"]}
    ways = tee([run("2 ft"), outlet("Lamp", "2 kBtu/h", **place)], [run("2 ft"), outlet("Oven", "2 kBtu/h", **place)])
    assert len(told("appliances-in-one-place", run("4 ft", **COPPER), ways)) == 1


@pytest.mark.parametrize(
    ("second", "message"),
    [
        # both leave the tee aft, and share the first 2 ft
        (
            ["2 ft aft", "1 ft up"],
            "By their legs, the line to Lamp and the line to Oven lie in one another for 2 ft 0 in.",
        ),
        # down, aft, up through the middle of the other
        (
            ["1 ft down", "1 ft aft", "2 ft up"],
            "By their legs, the line to Lamp and the line to Oven pass through one point.",
        ),
        (["1 ft down", "1 ft aft", "6 in up"], None),
        (["2 in down", "2 ft aft", "1 ft down"], None),
    ],
)
def test_a_line_in_another_is_told(second: list[str], message: str | None) -> None:
    ways = tee(
        [legged("3 ft aft", id="one"), joined("Lamp", "1 ft left")],
        [legged(*second, id="two"), joined("Oven", "1 ft right")],
    )
    found = told("line-meets-itself", legged("4 ft right"), ways)
    assert [finding.message for finding in found] == ([message] if message else [])


def test_a_part_that_meets_many_is_told_once() -> None:
    ways = [[legged("3 ft aft"), joined(name, "1 ft left")] for name in ("Lamp", "Oven", "Stove", "Kiln")]
    supply = (legged("4 ft right"), tee(*ways))
    assert len(told("line-meets-itself", *supply)) == 6  # three runs and three connectors lie in those of the first
    assert len(told("appliances-in-one-place", *supply)) == 3


def test_a_line_that_ends_elsewhere_than_its_appliance_stands_is_told() -> None:
    def placed(at: list[str], **more: Any) -> list[Finding]:
        return told("line-ends-elsewhere", legged("4 ft aft"), joined("Lamp", "1 ft up", at=at), **more)

    corner = {"at": ["1 ft", "0 ft", "0 ft"]}
    assert placed(["5 ft", "0 ft", "1 ft"], container=corner) == []
    (finding,) = placed(["5 ft", "0 ft", "3 ft"], container=corner)
    assert "end 2 ft 0 in from the place stated for it" in finding.message
    assert placed(["5 ft", "0 ft", "3 ft"]) == []  # from where, nobody says


@pytest.mark.parametrize(
    ("connector", "at", "short"),
    [
        # 3, 4, 5: straight across 5 ft
        ({"length": "4 ft", "legs": ["3 ft up", "4 ft left"]}, None, True),
        ({"length": "8 ft", "legs": ["3 ft up", "4 ft left"]}, None, False),
        ({"length": "4 ft"}, ["4 ft", "3 ft", "4 ft"], True),
        ({"length": "6 ft"}, ["4 ft", "3 ft", "4 ft"], False),
    ],
)
def test_a_connector_is_held_against_the_gap_it_spans(connector: Values, at: list[str] | None, short: bool) -> None:
    more = {"at": at} if at else {}
    lamp = outlet("Lamp", "2 kBtu/h", connector=connector, **more)
    found = told("connector-gap", legged("4 ft aft"), lamp, container={"at": ["0 ft", "0 ft", "0 ft"]})
    assert [finding.message for finding in found] == (
        ["The connector of Lamp is 4 ft long, and straight across it is 5 ft 0 in."] if short else []
    )


def test_the_legs_of_a_connector_are_its_way_where_no_distance_is_stated() -> None:
    lamp = outlet("Lamp", "2 kBtu/h", distance=None, connector={"length": "1 ft", "legs": ["1 ft up", "1 ft left"]})
    study = study_of(build(legged("4 ft aft"), lamp))
    assert study.connected[0].distance == pytest.approx(2 * FOOT)
    assert "connector-too-short" in {finding.code for finding in study.findings}


@pytest.mark.parametrize(
    ("region", "legs", "told_at"),
    [
        ("us-cabin", ["2 ft down", "4 ft aft", "1 ft up"], 1),
        ("us-cabin", ["2 ft down", "4 ft aft"], 0),
        ("us-cabin", ["1 ft up", "4 ft aft", "1 ft up"], 0),
        ("uk", ["2 ft down", "4 ft aft", "1 ft up"], 0),  # no rule there asks for a drip leg
    ],
)
def test_a_low_point_is_told_where_the_region_asks_for_drip_legs(region: str, legs: list[str], told_at: int) -> None:
    setting = {} if region == "us-cabin" else {"setting": "cabin"}
    assert len(told("line-dips", legged(*legs), joined("Lamp", "1 ft left"), region=region, **setting)) == told_at


# --- distances by places --------------------------------------------------------------------------------------------

RELIEF = {"relief_at": ["0 ft", "0 ft", "4 ft"]}


def distances(openings: list[Values], **container: Any) -> tuple[dict[str, float | None], list[str]]:
    study = study_of(build(run("4 ft", **COPPER), outlet("Lamp", "2 kBtu/h"), container=container, openings=openings))
    return {c.measure: c.value for c in study.clearances}, [finding.code for finding in study.findings]


def test_a_distance_follows_from_the_places_of_both() -> None:
    # 3, 4, 5: the hatch is 5 ft away; the window is nearer and higher, and does not count
    hatch = {"kind": "hatch", "at": ["3 ft", "4 ft", "4 ft"]}
    window = {"kind": "window", "at": ["1 ft", "0 ft", "5 ft"]}
    switch = {"kind": "ignition", "at": ["0 ft", "2 ft", "4 ft"]}
    found, codes = distances([hatch, window, switch], **RELIEF)
    assert found["relief_to_opening"] == pytest.approx(5 * FOOT)
    assert found["relief_to_ignition"] == pytest.approx(2 * FOOT)
    assert found["relief_to_intake"] is None
    assert "clearance-small" in codes  # 5 ft to a source of ignition are asked of a cylinder


def test_the_vent_of_the_regulator_has_distances_too() -> None:
    supply = (run("4 ft", **COPPER), outlet("Lamp", "2 kBtu/h"))
    switch = [{"kind": "ignition", "at": ["3 ft", "4 ft", "4 ft"]}]
    study = study_of(build(*supply, regulator={"vent_at": ["0 ft", "0 ft", "4 ft"]}, openings=switch))
    assert {c.measure: c.value for c in study.clearances}["vent_to_ignition"] == pytest.approx(5 * FOOT)


def test_a_door_counts_though_its_place_is_higher() -> None:
    found, _ = distances([{"kind": "door", "at": ["1 ft", "0 ft", "4 ft"]}], relief_at=["0 ft", "0 ft", "3 ft"])
    assert found["relief_to_opening"] == pytest.approx(2**0.5 * FOOT)


def test_a_stated_distance_stands_and_is_held_against_the_places() -> None:
    hatch = [{"kind": "hatch", "at": ["3 ft", "4 ft", "4 ft"]}]
    found, codes = distances(hatch, clearances={"relief_to_opening": "61 in"}, **RELIEF)
    assert found["relief_to_opening"] == pytest.approx(61 * FOOT / 12)
    assert "clearance-placed-otherwise" not in codes
    _, codes = distances(hatch, clearances={"relief_to_opening": "70 in"}, **RELIEF)
    assert "clearance-placed-otherwise" in codes


@pytest.mark.parametrize(
    ("legs", "example"), [(["1 m aft", "1 m fore"], "50 mm down"), (["4 ft aft", "4 ft fore"], "2 in down")]
)
def test_an_example_in_a_message_is_in_the_units_that_the_line_is_written_in(legs: list[str], example: str) -> None:
    _, problems = try_study(build(legged(*legs), outlet("A", "2 kBtu/h")))
    assert any(example in problem.hint for problem in problems if problem.code == "spec-leg-back")
