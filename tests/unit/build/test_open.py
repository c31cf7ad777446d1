"""What a spec may leave to be chosen: container, regulator, tubing."""

from __future__ import annotations

import pytest

from gasdoc.build.codes import codes
from gasdoc.build.reader import Build, Read, read_spec

PLAN = """---
format: 1
title: Plan
region: us-trailer
{more}supply:
  - run: {{{trunk}length: 8 ft}}
  - junction:
      branches:
        - - run: {{{branch}length: 4 ft}}
          - outlet: {{appliance: {{name: Griddle, kind: griddle, input: 60 kBtu/h}}}}
        - - run: {{length: 6 ft}}
          - outlet: {{appliance: {{name: Oven, kind: oven, input: 30 kBtu/h}}}}
---
"""
CONTAINER = "container: {type: dot-20lb}\n"
REGULATOR = "regulator: {outlet: 11 inH2O}\n"


def plan(more: str = "", trunk: str = "", branch: str = "") -> Read:
    return read_spec(PLAN.format(more=more, trunk=trunk, branch=branch).encode(), "specs/plan.md", "plan")


def built(read: Read) -> Build:
    assert read.build is not None, [str(p) for p in read.problems]
    return read.build


@pytest.mark.parametrize(
    ("more", "trunk", "expected"),
    [
        ("", "", ("container", "regulator", "tubing")),
        ("container:\nregulator:\n", "material: , ", ("container", "regulator", "tubing")),
        (
            "container: {type: unknown}\nregulator: {outlet: Unknown}\n",
            "material: unknown, ",
            ("container", "regulator", "tubing"),
        ),
        ("container: unknown\nregulator: unknown\n", "", ("container", "regulator", "tubing")),
        ("container: {place: drawbar, must_last: 3 days}\n", "", ("container", "regulator", "tubing")),
        (CONTAINER, "", ("regulator", "tubing")),
        (CONTAINER + REGULATOR, "", ("tubing",)),
        (CONTAINER + REGULATOR, "material: copper, type: L, ", ()),
    ],
)
def test_what_is_left_out_or_empty_or_unknown_is_open(more: str, trunk: str, expected: tuple[str, ...]) -> None:
    assert built(plan(more, trunk)).open == expected


def test_a_branch_with_a_material_is_not_open() -> None:
    build = built(plan(branch="material: csst, "))
    assert build.open_runs == {"run-split-griddle-oven", "run-oven"}


def test_a_size_needs_a_material() -> None:
    (problem,) = plan(trunk="size: 1/2 in OD, ").problems
    assert (problem.line, problem.code) == (6, "spec-material")


def test_a_regulator_further_down_says_what_it_gives() -> None:
    text = PLAN.format(more=CONTAINER + REGULATOR, trunk="material: steel, ", branch="")
    read = read_spec(
        text.replace("  - junction:", "  - regulator: {inlet: 2 psi}\n  - junction:", 1).encode(), "x.md", "x"
    )
    (problem,) = read.problems
    assert (problem.line, problem.code) == (9, "spec-key")


def test_the_only_regulator_of_a_plan_is_not_taken_for_a_second_one() -> None:
    """Written first in the supply it would stand behind another that nobody has chosen."""
    first = PLAN.replace("supply:\n", "supply:\n  - regulator: {{outlet: 37 mbar}}\n")
    (told,) = read_spec(first.format(more="", trunk="", branch="").encode(), "specs/plan.md", "plan").problems
    assert (told.line, told.code) == (6, "spec-regulator-place") and "regulator: {outlet: 37 mbar}" in told.hint
    two = first.format(more="regulator: {stages: 1}\n", trunk="", branch="")
    assert built(read_spec(two.encode(), "specs/plan.md", "plan")).open == ("container", "regulator", "tubing")


def test_wishes_and_an_empty_block_change_no_code() -> None:
    bare = codes(built(plan(CONTAINER + REGULATOR, "material: steel, ")))
    wished = plan(
        CONTAINER + REGULATOR + "wishes: {carry: 50 lb, fill: exchanged, swap_at: 30 %, have: [dot-20lb]}\n",
        "material: steel, ",
    )
    assert codes(built(wished)) == bare


def test_an_open_build_has_codes_of_what_it_states() -> None:
    assert codes(built(plan())) == codes(built(plan("container:\nregulator:\n")))
    assert codes(built(plan())) != codes(built(plan(CONTAINER)))
