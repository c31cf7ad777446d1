"""Screwed pipe by the piece: cut lengths by hand, what was measured before any table, and what is missing told."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import INCH, Values, build, outlet, run, study_of, tee

from gasdoc.engineering.materials.screwed import cut_length, in_sight, nipple
from gasdoc.study import Study
from gasdoc.study.materials.screwed import CutPipe

STEEL = {"material": "steel"}
TRADE, STANDARD = 0.4375, 0.5343
"""in: what 1/2 in pipe goes in by the trade table and by the standard, L1 + L3."""


def pipes(*legs: str, **more: Any) -> tuple[CutPipe, ...]:
    """A run of 1/2 in steel between two straight tees."""
    branch: list[Values] = [run("4 ft", "1/2 in", **STEEL), outlet("Heater", "9 kBtu/h")]
    line: Values = {"run": {"id": "line", "size": "1/2 in", "legs": list(legs)} | STEEL}
    if not legs:
        line["run"] |= {"length": "24 in", "bends": "0"} | more.pop("line", {})
        del line["run"]["legs"]
    inner = tee([run("3 ft", "1/2 in"), outlet("Hob", "9 kBtu/h")], [run("3 ft", "1/2 in"), outlet("Lamp", "4 kBtu/h")])
    spec = build(run("2 ft", "1/2 in", **STEEL), tee(branch, [line, inner]), **more)
    return tuple(pipe for pipe in study_of(spec).pipes if pipe.run == "line")


def test_published_ways_of_the_trade_give_their_cut_lengths() -> None:
    # Worked by hand from the same figures: 1/2 in by two rules, 3/4 in between an elbow and a tee, R 1/2 between two of 28 mm.
    for centres, faces, goes_in, cut in (
        (24, (1.12, 1.12), STANDARD, 22.829),
        (24, (1.12, 1.12), TRADE, 22.635),
        (36, (1.31, 1.31), 0.5533, 34.487),
    ):
        found = cut_length(centres * INCH, (faces[0] * INCH, faces[1] * INCH), (goes_in * INCH,) * 2)
        assert found / INCH == pytest.approx(cut, abs=0.0006)
    # An offset of 45 degrees, 16.92 in from centre to centre, 1 in left at each end once it is made up: 14.92 in (a trade forum).
    assert cut_length(16.92, (1.625, 1.625), (0.625, 0.625)) == pytest.approx(14.92)
    assert in_sight(1.125 * INCH, (STANDARD * INCH,) * 2) < 0.002  # a close nipple
    assert nipple(0.101, (0.0762, 0.1016), 0.0003) is None


def test_a_straight_run_between_two_tees_is_one_pipe_with_the_spread_of_the_rules() -> None:
    (pipe,) = pipes()
    assert pipe.cut is not None and pipe.shortest is not None and pipe.longest is not None
    assert pipe.cut / INCH == pytest.approx(24 - 2 * 1.12 + 2 * STANDARD, abs=1e-6)
    assert pipe.shortest / INCH == pytest.approx(24 - 2 * 1.12 + 2 * TRADE, abs=1e-6)
    assert pipe.longest == pipe.cut
    assert pipe.before.source is not None and pipe.before.source.confirmed == "memory"


def test_legs_give_a_pipe_each_and_legs_in_one_direction_are_one() -> None:
    made = pipes("2 ft aft", "1 ft up", "1 ft aft", "1 ft aft")
    assert [round((pipe.centres or 0) / INCH) for pipe in made] == [24, 12, 24]
    assert [(pipe.number, pipe.of) for pipe in made] == [(1, 3), (2, 3), (3, 3)]
    assert made[1].cut is not None and made[1].cut / INCH == pytest.approx(12 - 2 * 1.12 + 2 * STANDARD)


def test_without_legs_the_pipes_between_elbows_are_not_guessed() -> None:
    made = pipes(line={"bends": "2"})
    assert len(made) == 3 and all(pipe.cut is None for pipe in made)
    assert all("write the legs" in (pipe.why or "") for pipe in made)


def test_what_was_measured_comes_before_any_table() -> None:
    (pipe,) = pipes(measured={"npt-tee:1/2": {"to_face": "1 in"}, "npt:1/2": {"make_up": "0.5 in"}})
    assert pipe.cut is not None and pipe.cut == pipe.shortest == pipe.longest
    assert pipe.cut / INCH == pytest.approx(24 - 2 * 1 + 2 * 0.5)


def test_a_nipple_of_that_length_is_named_and_no_room_for_a_wrench_is_told() -> None:
    (near,) = pipes(line={"length": "5.17 in"})  # 5.17 - 2.24 + 1.0686 = 3.9986 in: within 3 mm of a 4 in nipple
    assert near.nipple is not None and near.nipple / INCH == pytest.approx(4)
    assert near.wrench
    (long,) = pipes(line={"length": "8.17 in"})  # 6.9986 in: 7 in is sold
    (between,) = pipes(line={"length": "8.67 in"})  # 7.4986 in: above 6 in nipples are sold by the whole inch
    assert long.nipple is not None and long.nipple / INCH == pytest.approx(7) and between.nipple is None
    (close,) = pipes(line={"length": "2.6 in"})  # 0.36 in is seen between the tees
    assert close.wrench is False


def test_a_union_or_valve_that_nobody_measured_leaves_the_length_open() -> None:
    found = study_of(
        build(run("2 ft", "1/2 in", **STEEL), {"valve": {"id": "main"}}, run("2 ft"), outlet("Heater", "9 kBtu/h"))
    ).pipes
    assert found and all(pipe.cut is None and "measure from centre to face" in (pipe.why or "") for pipe in found)


def test_a_slight_bend_is_an_elbow_of_45_degrees_with_its_own_length() -> None:
    made = pipes("2 ft aft", "14 in aft-up", "1 ft aft")
    assert [round((pipe.centres or 0) / INCH) for pipe in made] == [24, 14, 12]
    assert made[0].after.words == made[1].before.words == "elbow 45, 1/2 NPT"
    assert made[1].cut is not None and made[1].cut / INCH == pytest.approx(14 - 2 * 0.88 + 2 * STANDARD)
    keys = {item.key for item in legged("2 ft aft", "14 in aft-up", "1 ft aft").materials}
    assert "npt-elbow-45:1/2" in keys and "npt-elbow:1/2" not in keys


def legged(*legs: str, before: str = "2 ft aft", size: str = "1/2 in") -> Study:
    """A run with legs behind a straight one and a test point, and one more tee."""
    first: Values = {"run": {"id": "first", "size": size, "legs": [before]} | STEEL}
    line: Values = {"run": {"id": "line", "size": "1/2 in", "legs": list(legs)} | STEEL}
    return study_of(build(first, line, outlet("Heater", "9 kBtu/h")))


def test_a_bend_where_two_runs_meet_leaves_only_its_nipple_open() -> None:
    made = [pipe for pipe in legged("3 ft up", "1 ft aft").pipes if pipe.run == "line"]
    assert [pipe.centres and round(pipe.centres / INCH) for pipe in made] == [None, 36, 12]
    assert "nipple" in (made[0].why or "") and made[1].cut is not None


def test_a_loop_of_screwed_pipe_is_asked_for_leg_by_leg() -> None:
    line: Values = {
        "run": {"id": "line", "size": "1/2 in", "legs": [{"leg": "2 ft aft", "loop": "4 ft"}, "1 ft up"]} | STEEL
    }
    made = study_of(build(line, outlet("Heater", "9 kBtu/h"))).pipes
    assert made and all("one by one" in (pipe.why or "") for pipe in made)


def test_legs_that_make_another_number_of_bends_than_is_stated_are_no_loop() -> None:
    """Two slight bends may be counted as one, but then nobody knows which elbows there are."""
    bent = ["2 ft aft", "14 in aft-up", "1 ft aft", "2 ft up"]
    line: Values = {"run": {"id": "line", "size": "1/2 in", "legs": bent, "bends": "2"} | STEEL}
    made = study_of(build(line, outlet("Heater", "9 kBtu/h"))).pipes
    assert len(made) == 3 and all("leave 'bends' out" in (pipe.why or "") for pipe in made)


def test_a_tee_with_a_smaller_branch_takes_one_length_along_and_another_across() -> None:
    # 3/4 in through a tee of 3/4 x 3/4 x 1/2: 1.20 in along, 1.22 in across, each to a straight tee (1.31 and 1.12 in).
    def end(size: str) -> list[Values]:
        names = (f"Hob {size[0]}", f"Lamp {size[0]}")
        last = tee(*([run("3 ft", size), outlet(name, "4 kBtu/h")] for name in names))
        return [{"run": {"id": f"to-{size[0]}", "size": size, "length": "24 in", "bends": "0"} | STEEL}, last]

    found = study_of(build(run("2 ft", "3/4 in", **STEEL), tee(end("3/4 in"), end("1/2 in")))).pipes
    lengths = {pipe.run: pipe.cut / INCH for pipe in found if pipe.run.startswith("to-") and pipe.cut is not None}
    assert lengths == {
        "to-3": pytest.approx(24 - 1.20 - 1.31 + 2 * 0.5533),
        "to-1": pytest.approx(24 - 1.22 - 1.12 + 2 * STANDARD),
    }
