"""The way of the line: what legs are read as, what follows from them, and where they contradict what is stated besides."""

from __future__ import annotations

import math
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, read, run, tee, text

from gasdoc.build.codes import codes
from gasdoc.build.model import Run
from gasdoc.build.model.route import way
from gasdoc.build.reader import read_spec
from gasdoc.build.schema import json_schema
from gasdoc.source import Problem

FOOT, INCH = 0.3048, 0.0254
COPPER = {"material": "copper", "type": "L"}
OVEN = outlet("Oven", "9 kBtu/h")


def legged(*legs: Any, **more: Any) -> Values:
    return {"run": COPPER | {"legs": list(legs)} | more}


def first(*supply: Values, **more: Any) -> Run:
    return runs(*supply, **more)[0]


def runs(*supply: Values, **more: Any) -> list[Run]:
    taken = read(build(*supply, **more))
    assert taken.build is not None, taken.problems
    return [part for _, part in taken.build.each(Run)]


def told(*supply: Values, **more: Any) -> list[Problem]:
    return list(read(build(*supply, **more)).problems)


# --- what a leg is read as ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "vector"),
    [
        ("4 ft aft", (4 * FOOT, 0, 0)),
        ("1 ft 6 in up", (0, 0, 18 * INCH)),
        ("2 m fore", (-2, 0, 0)),
        ("300 mm left", (0, -0.3, 0)),
        ("2 m North", (-2, 0, 0)),
        ("2 m east", (0, 2, 0)),
        # 45 degrees: each way is the length over the square root of two
        ("10 cm aft-up", (0.0707106781, 0, 0.0707106781)),
        ("10 cm right-down", (0, 0.0707106781, -0.0707106781)),
        # 3, 4, 5
        ("3 in aft and 4 in up", (3 * INCH, 0, 4 * INCH)),
        ("1 m south-east and 1 m up", (0.7071067812, 0.7071067812, 1)),
    ],
)
def test_a_leg_is_a_length_and_a_way(text: str, vector: tuple[float, float, float]) -> None:
    assert way(text).vector == pytest.approx(vector, abs=1e-9)


def test_a_leg_straight_across_two_ways_is_as_long_as_the_hypotenuse() -> None:
    assert way("3 in aft and 4 in up").length == pytest.approx(5 * INCH)
    assert way("14 in aft-up").length == pytest.approx(14 * INCH)


@pytest.mark.parametrize(
    ("leg", "message", "hint"),
    [
        ("4 ft forward", "'forward' in '4 ft forward' is no direction", "did you mean 'fore'?"),
        ("4 ft starboard", "'starboard' in '4 ft starboard' is no direction", "did you mean 'right'?"),
        ("1.2 m", "'1.2 m' is no leg: it lacks a length or a direction", "as in '1.2 m aft'"),
        ("4 ft", "'4 ft' is no leg: it lacks a length or a direction", "as in '4 ft aft'"),
        ("4 ft sideways", "'sideways' in '4 ft sideways' is no direction", "write one of: fore, aft"),
        ("aft", "'aft' is no leg: it lacks a length or a direction", "write it as in '4 ft aft'"),
        ("4 aft", "'4' has no unit", "add the unit"),
        ("4 ft up-down", "'4 ft up-down' goes along one line twice", ""),
        ("4 ft aft and 2 ft fore", "'4 ft aft and 2 ft fore' goes along one line twice", ""),
        ("4 ft aft-east", "'4 ft aft-east' mixes the compass with fore and aft", ""),
        ({"leg": "1 ft aft", "loop": "6 in"}, "the loop of '1 ft aft' is 6 in long, shorter than straight across", ""),
        ({"leg": "1 ft aft", "loop": "2 ft", "sweep": "2 ft"}, "the leg '1 ft aft' has a loop and a sweep", ""),
        ({"leg": "1 ft aft", "at": "6 in"}, "the leg '1 ft aft' passes through nothing, and 'at' says 6 in", ""),
        ({"leg": "1 ft aft", "at": "2 ft", "through": "wall"}, "the leg '1 ft aft' is shorter than that", ""),
        ({"leg": "1 ft aft", "through": "ground"}, "'ground' is not known here", ""),
    ],
)
def test_a_leg_that_cannot_be_read_is_told_once_at_its_place(leg: Any, message: str, hint: str) -> None:
    (problem,) = told(legged("1 ft up", leg), OVEN)
    assert message in problem.message and hint in problem.hint
    assert problem.line == 11 and problem.column > 20


@pytest.mark.parametrize("legs", ["4 ft aft", "4 ft", {"leg": "4 ft aft"}])
def test_legs_without_brackets_are_told_once_and_no_length_is_asked_for(legs: Any) -> None:
    (problem,) = told({"run": COPPER | {"legs": legs}}, OVEN)
    assert "'legs' must be a list" in problem.message
    assert not isinstance(legs, str) or problem.hint == f"write it in brackets: legs: [{legs}]"


def test_legs_without_brackets_in_braces_are_told_once_at_the_comma() -> None:
    spec = text(build(legged("1 ft up"), OVEN)).replace('"legs": ["1 ft up"]', "legs: 4 ft aft, 1 ft up")
    (problem,) = read_spec(spec.encode(), "specs/test-hut.md", "test-hut").problems
    assert problem.message == "the comma before '1 ft up' ends the value of 'legs'"
    assert problem.hint == "write a list in brackets: legs: [4 ft aft, 1 ft up]"


@pytest.mark.parametrize("outline", ["8 ft x 5 ft", ["8 ft", "5 ft"]])
def test_an_outline_without_corners_is_told_once(outline: Any) -> None:
    made = read(build(run("4 ft", **COPPER), OVEN, spaces=[{"name": "Hut", "outline": outline}]))
    assert [p.message for p in made.problems] == ["an outline is a list of corners, each in brackets"]


# --- what follows ---------------------------------------------------------------------------------------------------


def test_length_bends_and_rise_follow_from_the_legs() -> None:
    made = first(legged("4 ft aft", "1 ft up", "2 ft left", {"leg": "6 in down", "through": "floor"}), OVEN)
    assert made.length == pytest.approx(7.5 * FOOT) and made.length.text == "7.5 ft"
    assert made.bends == 3
    assert made.rise == pytest.approx(0.5 * FOOT)
    assert made.through == ["floor"]


def test_two_legs_in_one_line_make_no_bend_and_each_turn_of_45_degrees_makes_one() -> None:
    assert first(legged("4 ft aft", {"leg": "2 ft aft", "through": "wall"}), OVEN).bends == 0
    assert first(legged("4 ft aft", "14 in aft-up", "2 ft aft"), OVEN).bends == 2


def test_a_level_run_has_no_rise() -> None:
    assert first(legged("4 ft aft", "2 ft left"), OVEN).rise is None
    assert first(legged("4 ft up", "2 ft left", "4 ft down"), OVEN).rise is None


def test_a_loop_has_its_own_length_and_turns_four_times_and_a_sweep_only_its_length() -> None:
    loop = first(legged("1 ft aft", {"leg": "1 ft aft", "loop": "30 in"}), OVEN)
    assert (loop.length, loop.bends) == (pytest.approx(42 * INCH), 4)
    sweep = first(legged("1 ft aft", {"leg": "1 ft aft", "sweep": "14 in"}), OVEN)
    assert (sweep.length, sweep.bends) == (pytest.approx(26 * INCH), 0)


def test_a_bend_where_two_runs_meet_counts_to_the_second_of_them_and_the_turn_at_a_tee_to_none() -> None:
    made = runs(
        legged("4 ft aft"),
        {"valve": {"id": "main"}},
        legged("1 ft up"),
        tee([legged("1 ft right"), OVEN], [legged("2 ft up", "1 ft left"), outlet("Lamp", "2 kBtu/h")]),
    )
    assert [part.bends for part in made] == [0, 1, 0, 1]


def test_a_run_behind_one_without_legs_begins_with_no_bend() -> None:
    assert [part.bends for part in runs(run("4 ft", **COPPER), legged("1 ft up"), OVEN)] == [0, 0]


def test_a_build_without_legs_is_read_as_it_is_written() -> None:
    made = first(run("4 ft", **COPPER), OVEN)
    assert (made.length.text, made.bends, made.rise, made.legs) == ("4 ft", 0, None, [])


# --- both stated ----------------------------------------------------------------------------------------------------


def test_what_is_stated_besides_the_legs_stays_as_it_is_stated() -> None:
    made = first(legged("4 ft aft", "1 ft up", length="5 ft 0.3 in", bends="1", rise="12 in"), OVEN)
    assert (made.length.text, made.rise and made.rise.text) == ("5 ft 0.3 in", "12 in")


@pytest.mark.parametrize(
    ("length", "wrong"),
    [
        # 10 mm of a short run, 1 % of a long one: 5 ft are 1524 mm
        ("1534 mm", False),
        ("1539 mm", False),
        ("1541 mm", True),
        ("1508 mm", True),
    ],
)
def test_a_length_may_be_one_percent_off(length: str, wrong: bool) -> None:
    assert bool(told(legged("4 ft aft", "1 ft up", length=length), OVEN)) == wrong


def test_ten_millimetres_are_allowed_on_a_short_run() -> None:
    assert told(legged("100 mm aft", length="110 mm"), OVEN) == []
    assert [p.code for p in told(legged("100 mm aft", length="111 mm"), OVEN)] == ["spec-legs"]


def test_a_contradiction_says_by_how_much() -> None:
    found = told(legged("4 ft aft", "1 ft up", length="6 ft", bends="4", rise="-1 ft", through=["wall"]), OVEN)
    assert [problem.message for problem in found] == [
        "the legs of this run give a length of 5 ft, and 'length' says 6 ft: 12 in apart",
        "the legs of this run make 1 bend, and 'bends' says 4",
        "the legs of this run give a rise of 1 ft, and 'rise' says -1 ft: 2 ft 0 in apart",
    ]


def test_what_the_legs_pass_through_is_what_the_run_does() -> None:
    leg = {"leg": "4 ft aft", "through": "wall"}
    assert told(legged(leg, through=["wall"]), OVEN) == []
    (problem,) = told(legged(leg, through=["floor"]), OVEN)
    assert problem.message == "the legs of this run pass through wall, and 'through' says floor"


@pytest.mark.parametrize(("bends", "wrong"), [("0", True), ("1", False), ("2", False), ("3", True)])
def test_two_turns_of_45_degrees_may_be_counted_as_one_bend_or_as_two(bends: str, wrong: bool) -> None:
    assert bool(told(legged("4 ft aft", "14 in aft-up", "2 ft aft", bends=bends), OVEN)) == wrong


@pytest.mark.parametrize(("bends", "wrong"), [("0", False), ("1", False), ("2", True)])
def test_the_bend_where_two_runs_meet_may_be_left_out_of_a_stated_count(bends: str, wrong: bool) -> None:
    assert bool(told(legged("4 ft aft"), legged("2 ft up", bends=bends), OVEN)) == wrong


def test_a_rigid_connector_is_as_long_as_its_legs_and_a_flexible_one_may_be_longer() -> None:
    stiff = {"kind": "rigid", "length": "3 ft", "legs": ["2 ft aft"]}
    (problem,) = told(run("4 ft", **COPPER), outlet("Oven", "9 kBtu/h", connector=stiff))
    assert problem.message == (
        "the legs of this rigid connector give a length of 2 ft, and 'length' says 3 ft: 12 in apart"
    )
    assert told(run("4 ft", **COPPER), outlet("Oven", "9 kBtu/h", connector=stiff | {"kind": "flexible"})) == []


def test_a_line_that_leads_straight_back_is_told() -> None:
    (problem,) = told(legged("4 ft aft", "2 ft fore"), OVEN)
    assert (problem.code, problem.message) == ("spec-leg-back", "'2 ft fore' leads straight back along '4 ft aft'")
    (problem,) = told(legged("4 ft aft"), {"tap": {}}, legged("2 ft fore"), OVEN)
    assert problem.message == "'2 ft fore' leads straight back along the end of the run before"


def test_one_spec_keeps_to_one_kind_of_directions() -> None:
    found = told(legged("4 ft aft"), legged("1 ft up", "2 ft north", "3 ft east"), OVEN)
    assert [p.message for p in found] == ["'2 ft north' does not go by the directions of the legs before it"]


# --- codes, schema --------------------------------------------------------------------------------------------------


def test_a_spec_that_states_the_same_by_legs_keeps_its_codes() -> None:
    typed = read(build(run("7 ft", bends="2", rise="1 ft", through=["wall"], **COPPER), OVEN)).build
    legs = read(build(legged("4 ft aft", "1 ft up", {"leg": "2 ft left", "through": "wall"}), OVEN)).build
    longer = read(build(legged("5 ft aft", "1 ft up", {"leg": "2 ft left", "through": "wall"}), OVEN)).build
    assert typed is not None and legs is not None and longer is not None
    assert codes(legs) == codes(typed)
    assert codes(longer).tightness != codes(typed).tightness


def test_a_place_changes_the_build_code_alone_and_its_order_counts() -> None:
    made = [
        read(build(run("7 ft", **COPPER), OVEN, container={"at": at} if at else None)).build
        for at in (None, ["1 ft", "2 ft", "3 ft"], ["3 ft", "2 ft", "1 ft"], ["12 in", "2 ft", "3 ft"])
    ]
    found = [codes(one) for one in made if one is not None]
    assert len({one.tightness for one in found}) == 1
    assert len({one.build for one in found}) == 3 and found[1] == found[3]


@pytest.mark.parametrize(("at", "number"), [(["1 ft"], 1), (["1 ft", "2 ft", "3 ft", "4 ft"], 4)])
def test_a_place_has_three_figures(at: list[str], number: int) -> None:
    (problem,) = told(run("7 ft", **COPPER), OVEN, container={"at": at})
    assert problem.message == f"a place has 3 figures, and {number} stand here"
    assert "[4 ft, 1 ft, 30 in]" in problem.hint


def test_the_example_of_a_place_is_metric_where_the_place_is() -> None:
    (problem,) = told(run("7 ft", **COPPER), OVEN, container={"at": ["1 m"]})
    assert "[1.2 m, 300 mm, 750 mm]" in problem.hint


def test_the_schema_asks_for_a_length_or_for_legs_and_takes_a_leg_as_text() -> None:
    found = json_schema()["definitions"]["Run"]
    assert found["anyOf"] == [{"required": ["length"]}, {"required": ["legs"]}]
    text, block = found["properties"]["legs"]["anyOf"][0]["items"]["anyOf"]
    assert text["examples"] == ["4 ft aft"] and block == {"$ref": "#/definitions/Leg"}


def test_a_diagonal_of_three_ways_is_read() -> None:
    assert way("1 m aft-right-up").length == pytest.approx(1.0)
    assert math.isclose(way("1 m aft-right-up").vector[2], 1 / math.sqrt(3))


def test_a_spec_has_so_many_legs_at_most() -> None:
    ways = [[legged(*["1 ft aft", "1 ft up"] * 30), outlet(f"Lamp {i}", "2 kBtu/h")] for i in range(6)]
    assert [problem.code for problem in told(tee(*ways))] == ["spec-too-large"]
    assert told(tee(*ways[:5])) == []
