"""Parts drawn side by side: every end has a drawing, and a row has what the chain has."""

from __future__ import annotations

from itertools import pairwise
from typing import get_args

import pytest
from made_up_builds import build, outlet, run, study_of

from gasdoc.catalog.parts import catalogue
from gasdoc.engineering.materials.ends import Kind, seal
from gasdoc.engineering.materials.joints import Chain
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.report.drawings.part_signs import ENDS, SIGNS, pieces
from gasdoc.report.views.materials.page import joints_made, signs_of


def test_every_kind_of_end_of_every_listed_part_is_drawn() -> None:
    assert set(ENDS) == set(get_args(Kind))
    ends = {end for part in catalogue().parts for end in part.ends}
    assert {f"{ENDS[end.kind]}-{end.gender}" for end in ends} <= set(SIGNS)


@pytest.mark.parametrize(
    ("male", "female"),
    [("1/2 male flare", "1/2 female flare"), ("male POL", "female POL"), ("male G.12", "female G.12")],
)
def test_both_sides_of_a_joint_show_where_it_seals(male: str, female: str) -> None:
    assert seal(parse_end(male, "male"), parse_end(female, "female")) in {"flare", "cylinder"}
    for end in (parse_end(male, "male"), parse_end(female, "female")):
        assert "seal" in dict(SIGNS[f"{ENDS[end.kind]}-{end.gender}"])


def test_sealant_is_shown_on_the_male_thread_only() -> None:
    assert "seal" in dict(SIGNS["taper-male"])
    assert "seal" not in dict(SIGNS["taper-female"])


def test_a_drawing_is_small() -> None:
    assert all(sum(map(len, (path for _, path in paths))) < 200 for paths in SIGNS.values())


def test_rows_hold_every_closed_joint_with_its_number() -> None:
    made = study_of(build(run("5 ft", material="copper", type="k"), outlet("Oven", "20 kBtu/h")))
    numbers = {joint.id: joint.number for joint in made.leak_test.joints}
    rows = joints_made(made.fittings.joined, numbers)
    closed = [joined for joined in made.fittings.joined if isinstance(joined.found, Chain)]
    assert {number for row in rows for number in row.numbers} == {numbers[i] for one in closed for i in one.joints}
    assert len({row.pieces for row in rows}) == len(rows)
    for one in closed:
        assert isinstance(one.found, Chain) and one.a is not None and one.b is not None
        drawn = list(pieces(one.a, one.b, one.found))
        assert [p.words for p in drawn] == [str(one.a), *(part.name for part in one.found.parts), str(one.b)]
        assert (drawn[0].left, drawn[-1].right) == ("", "")
        for left, right in pairwise(drawn):  # a male end always faces a female one
            assert {left.right.rpartition("-")[2], right.left.rpartition("-")[2]} == {"male", "female"}
    assert {name for name, _ in signs_of(rows)} <= set(SIGNS)
