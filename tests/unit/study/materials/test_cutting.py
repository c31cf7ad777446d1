"""Cutting plans of whole builds: lengths are kept, pieces are whole, what is too long is said."""

from __future__ import annotations

from collections import Counter

import pytest
from made_up_builds import FOOT, INCH, build, found, one, outlet, run, study_of, tee
from places import EXAMPLES, SPECS

from gasdoc.engineering.materials.cutting import CuttingPlan, NoPlan
from gasdoc.folder.check import study_file
from gasdoc.study import Study
from gasdoc.study.materials.cutting import piece_words

COPPER = {"material": "copper", "type": "l"}


@pytest.fixture(scope="module", params=EXAMPLES)
def example(request: pytest.FixtureRequest) -> Study:
    made = study_file(SPECS / f"{request.param}.md").study
    assert made is not None
    return made


def test_every_run_is_in_one_plan_once_and_no_length_is_exceeded(example: Study) -> None:
    runs = {run.id for zone in example.zones for run in zone.runs}
    cut: Counter[str] = Counter()
    for tubing in example.lengths:
        assert isinstance(tubing.plan, CuttingPlan)
        lengths = {piece.id: piece.length for piece in tubing.pieces}
        for one_cut in tubing.plan.cuts:
            cut.update(one_cut.pieces)
            used = sum(lengths[name] for name in one_cut.pieces)
            assert used <= tubing.length(one_cut.stock) + 1e-6
            assert used + one_cut.left == pytest.approx(
                tubing.length(one_cut.stock), abs=0.002 * (1 + len(one_cut.pieces))
            )
    assert {name: n for name, n in cut.items() if ":" not in name} == dict.fromkeys(runs, 1)
    assert all(n == 1 for n in cut.values())


def test_what_is_cut_is_the_runs_with_their_allowances(example: Study) -> None:
    for tubing in example.lengths:
        share, each = (1.10, 6 * INCH) if tubing.coil else (1.05, 0.0)
        assert tubing.gross == pytest.approx(tubing.net * share + each * len(tubing.pieces))


def test_a_run_longer_than_any_coil_is_an_error_and_longer_than_any_pipe_a_warning() -> None:
    made = study_of(build(run("120 ft", "5/8 in OD", **COPPER, id="r"), outlet("Heater", "5 kBtu/h")))
    finding = one(made, "run-longer-than-stock", "r")
    assert str(finding.severity) == "error" and "132.5 ft" in finding.message and "100 ft" in finding.message
    assert isinstance(made.lengths[0].plan, NoPlan)
    pipe = study_of(build(run("30 ft", "1/2 in", material="steel", id="r"), outlet("Heater", "5 kBtu/h")))
    assert str(one(pipe, "run-longer-than-stock", "r").severity) == "warning"


def test_a_run_of_many_coils_is_told_how_many_joints_that_makes_and_that_they_stay_accessible() -> None:
    # A 100 ft coil gives (100 - 0.5) / 1.1 = 90.4 ft of run: 400 ft are five runs with four joints.
    made = study_of(build(run("400 ft", "5/8 in OD", **COPPER, id="r"), outlet("Heater", "5 kBtu/h")))
    remedy = one(made, "run-longer-than-stock", "r").remedy
    assert "5 runs" in remedy and "4 joints" in remedy and "reached" in remedy


def test_threaded_pipe_is_cut_between_its_elbows_and_waste_does_not_make_it_too_long() -> None:
    def pipe(length: str, bends: int) -> Study:
        return study_of(
            build(run(length, "1/2 in", material="steel", bends=bends, id="r"), outlet("Heater", "5 kBtu/h"))
        )

    bent = pipe("30 ft", 2)
    assert found(bent, "run-longer-than-stock") == []
    assert str(one(bent, "run-in-pieces", "r").severity) == "note"
    straight = one(pipe("60 ft", 1), "run-longer-than-stock", "r")
    assert "3 pieces" in straight.message and "2 joints" in straight.reason
    for length in ("20.5 ft", "21 ft"):  # the longest sold is 21 ft
        whole = pipe(length, 0)
        assert found(whole, "run-longer-than-stock") == [] and isinstance(whole.lengths[0].plan, CuttingPlan)


def test_threaded_pipe_with_legs_is_cut_by_them_and_a_way_longer_than_any_pipe_is_told() -> None:
    def pipe(*legs: str) -> Study:
        line = {"run": {"id": "r", "material": "steel", "size": "1/2 in", "legs": list(legs)}}
        return study_of(build(line, outlet("Heater", "5 kBtu/h")))

    bent = pipe("10 ft aft", "2 ft up", "18 ft left")
    assert not [f for f in bent.findings if f.code in ("run-in-pieces", "run-longer-than-stock")]
    (lengths,) = bent.lengths
    # 5 % for waste
    assert {piece.id: round(piece.length / FOOT, 2) for piece in lengths.pieces} == {
        "r:1": 10.5,
        "r:2": 2.1,
        "r:3": 18.9,
    }
    assert isinstance(lengths.plan, CuttingPlan)
    assert sorted(name for cut in lengths.plan.cuts for name in cut.pieces) == ["r:1", "r:2", "r:3"]
    assert piece_words("r:2", bent.build.labels) == f"{bent.build.labels['r']}, piece 2"
    far = pipe("45 ft aft", "2 ft up")  # two whole lengths of 21 ft, 3 ft left
    assert (
        "45 ft" in one(far, "run-longer-than-stock", "r").message
        and "2 couplings" in one(far, "run-longer-than-stock").message
    )
    assert [round(piece.length / FOOT, 2) for piece in far.lengths[0].pieces] == [21, 21, 3.15, 2.1]


def test_two_runs_of_one_tubing_share_a_coil_and_the_shelf_comes_first() -> None:
    spec = build(
        tee(
            [run("20 ft", "1/2 in OD", **COPPER, id="a"), outlet("Oven", "5 kBtu/h")],
            [run("30 ft", "1/2 in OD", **COPPER, id="b"), outlet("Light", "5 kBtu/h")],
        )
    )
    (tubing,) = study_of(spec).lengths
    assert isinstance(tubing.plan, CuttingPlan) and tubing.key == "copper-l 3/8"
    assert [(c.stock, c.pieces) for c in tubing.plan.cuts] == [("60 ft", ("a", "b"))]
    # 20 ft + a tenth + 6 in is 22.5 ft; 30 ft likewise 33.5 ft.
    assert {p.id: round(p.length / FOOT, 3) for p in tubing.pieces} == {"a": 22.5, "b": 33.5}
    (shelf,) = study_of(spec | {"on_shelf": {"copper-l 3/8": ["34 ft", "23 ft"]}}).lengths
    assert isinstance(shelf.plan, CuttingPlan) and shelf.plan.bought == 0
    (part,) = study_of(spec | {"on_shelf": {"copper-l 3/8": ["33 ft 6 in", "22 ft"]}}).lengths
    assert isinstance(part.plan, CuttingPlan) and part.plan.bought == 1


def test_prices_decide_which_coils_are_bought() -> None:
    spec = build(run("50 ft", "EHD 18", material="csst"), outlet("Heater", "5 kBtu/h"))
    dear_long: dict[str, object] = {
        "currency": "USD",
        "date": "2026-01-01",
        "items": {
            f"csst EHD 18 {n} ft": price
            for n, price in (
                (25, "30"),
                (50, "60"),
                (75, "95"),
                (100, "90"),
                (150, "200"),
                (180, "230"),
                (250, "300"),
                (500, "600"),
            )
        },
    }
    (without,) = study_of(spec).lengths
    (priced,) = study_of(spec | {"prices": dear_long}).lengths
    assert isinstance(without.plan, CuttingPlan) and [c.stock for c in without.plan.cuts] == ["75 ft"]
    assert (
        isinstance(priced.plan, CuttingPlan)
        and [c.stock for c in priced.plan.cuts] == ["100 ft"]
        and priced.plan.by == "price"
    )


def test_a_rigid_tail_is_a_piece_of_the_same_tubing() -> None:
    spec = build(
        run("9 ft", "1/2 in OD", **COPPER, id="r"),
        outlet("H", "5 kBtu/h", connector={"kind": "rigid", "length": "2 ft"}),
    )
    (tubing,) = study_of(spec).lengths
    assert [p.id for p in tubing.pieces] == ["r", "h:connector"] and tubing.net == pytest.approx(11 * FOOT)


@pytest.mark.parametrize(("name", "label"), [("us-cabin", "21 ft"), ("eu", "6 m")])
def test_pipe_is_cut_from_the_lengths_that_are_sold_in_the_region(name: str, label: str) -> None:
    made = study_of(
        build(
            run("18 ft", "1/2 in", material="steel", id="r"), outlet("Heater", "5 kBtu/h"), region=name, setting="cabin"
        )
    )
    longest = max(made.lengths[0].stock, key=lambda stock: stock.length)
    assert longest.id == label
