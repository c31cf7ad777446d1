"""Openings, what guards tubing in them, supports; and the tools that follow from the parts."""

from __future__ import annotations

import math
from itertools import accumulate, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.catalog.openings import csst_outside, hole_saws, passage_rule, tools
from gasdoc.catalog.parts import catalogue
from gasdoc.catalog.stock import allowance
from gasdoc.data import DataError
from gasdoc.engineering.materials.joints import Chain, Shelf, make_joint
from gasdoc.engineering.materials.openings import Opening, PassageRule, opening, support_count, support_places
from gasdoc.engineering.materials.tools import features, tools_for
from gasdoc.engineering.materials.written_ends import parse_end

IN = 0.0254
SAWS = hole_saws("us")
PLACES = ("floor", "deck", "frame", "wall", "partition", "ceiling", "roof")


def test_half_inch_tubing_through_a_floor_takes_a_three_quarter_inch_saw() -> None:
    rule, source = passage_rule("floor")
    found = opening(rule, 0.5 * IN, SAWS)
    # 1/2 in tube + 1/16 in to slip on is the bore of a snug grommet; its wall of 3/32 in twice is the hole.
    assert found.lining_bore == pytest.approx(0.5625 * IN)
    assert found.hole == pytest.approx(0.75 * IN)
    assert found.saw == pytest.approx(0.75 * IN)
    assert (found.lining, found.plate) == ("grommet", False)
    assert "grommet" in source.text


def test_a_sleeve_through_a_wall_is_half_an_inch_larger_than_the_tubing() -> None:
    rule, _ = passage_rule("wall")
    found = opening(rule, 1.05 * IN, SAWS, hard=True)
    assert found.lining_bore == pytest.approx(1.55 * IN)
    assert found.saw == pytest.approx(1.75 * IN)
    assert "inner face" in found.seal


def test_steel_needs_no_plate_and_softer_tubing_does_in_a_stud() -> None:
    rule, _ = passage_rule("partition")
    assert opening(rule, 0.8 * IN, SAWS).plate
    assert not opening(rule, 0.8 * IN, SAWS, hard=True).plate


def test_a_hole_without_a_lining_is_wider_by_the_clearance_alone() -> None:
    rule = PassageRule("shelf", "none", 0.002, 0.003, False, "")
    made = opening(rule, 0.010, [0.011, 0.012, 0.014])
    assert made == Opening("shelf", pytest.approx(0.012), 0.012, "none", None, False, "")  # type: ignore[arg-type]  # within rounding


def test_where_no_listed_saw_is_large_enough_none_is_named() -> None:
    rule, _ = passage_rule("wall")
    assert opening(rule, 3.0 * IN, SAWS).saw is None


@pytest.mark.parametrize("place", PLACES)
def test_every_passage_a_spec_may_name_has_a_rule(place: str) -> None:
    rule, source = passage_rule(place)
    assert rule.clearance >= (0.0015 if rule.lining == "grommet" else 0.003) and source.text


@given(st.floats(0.005, 0.06), st.sampled_from(PLACES))
def test_the_hole_is_larger_than_what_passes_and_the_saw_at_least_the_hole(od: float, place: str) -> None:
    found = opening(passage_rule(place)[0], od, SAWS)
    assert found.hole > od
    assert found.saw is None or found.saw >= found.hole - 1e-6


def test_corrugated_tubing_is_measured_over_its_jacket() -> None:
    found = csst_outside("EHD 18")
    assert found is not None and found[0] > 0.018
    assert csst_outside("EHD 99") is None


@pytest.mark.parametrize(
    ("feet", "spacing", "bends", "count"), [(4, 2, 0, 3), (4.1, 2, 0, 4), (1, 6, 0, 2), (9, 4, 2, 6), (12, 6, 4, 7)]
)
def test_supports_stand_at_both_ends_within_the_spacing_and_at_bends(
    feet: float, spacing: float, bends: int, count: int
) -> None:
    assert support_count(feet * 0.3048, spacing * 0.3048, bends) == count


def test_nonsense_is_refused() -> None:
    for wrong in ((0.0, 1.0, 0), (1.0, 0.0, 0), (1.0, 1.0, -1)):
        with pytest.raises(ValueError, match="above zero"):
            support_count(*wrong)
    with pytest.raises(ValueError, match="above zero"):
        opening(passage_rule("wall")[0], 0.0, SAWS)


def test_tools_follow_from_parts_joints_and_tubing() -> None:
    chain = Shelf(catalogue().of_use("fitting")).join(
        parse_end("3/8 FNPT", "female"), parse_end("5/8 in OD tube", "female")
    )
    assert isinstance(chain, Chain)
    copper = {tool.id for tool in tools_for(features(chain.parts, chain.joints, ["tube"], 1), tools())}
    assert {"flaring-tool", "sealant", "tube-cutter", "bender", "drill", "test-pump"} <= copper
    assert not {"pipe-threader", "jacket-knife", "cylinder-spanner"} & copper
    taper = make_joint(parse_end("1/2 MNPT", "male"), parse_end("1/2 FNPT", "female"))
    steel = {tool.id for tool in tools_for(features([], [taper], ["pipe"], 0), tools())}
    assert {"pipe-threader", "sealant"} <= steel
    assert not {"flaring-tool", "bender", "drill"} & steel


def test_what_a_job_has_in_it_is_told_in_full() -> None:
    """A tube in its nut and a bought flare ask for nothing; flaring is asked by the nut that goes onto the tube."""
    tube, nut = parse_end("1/2 in OD tube", "male"), parse_end("1/2 flare-nut", "female")
    flare = make_joint(parse_end("1/2 male flare", "male"), parse_end("1/2 flare", "female"))
    flare_nut = next(part for part in catalogue().of_use("fitting") if part.shape == "flare-nut")
    nipple = next(part for part in catalogue().of_use("fitting") if part.shape == "nipple")
    assert features([], [make_joint(tube, nut), flare], [], 0) == {"always"}
    assert features([flare_nut], [], ["tube"], 0) == {"always", "flare", "tube"}
    assert features([nipple], [], ["tube"], 1) == {"always", "tube", "opening"}
    assert features([], [], ["csst"], 0) == {"always", "csst"}
    assert features([], [], ["pipe"], 0) == {"always", "pipe"}


def test_no_sealant_is_called_for_where_no_thread_is_taper() -> None:
    joint = make_joint(parse_end("8 mm tube", "male"), parse_end("8 mm compression", "female"))
    assert "sealant" not in {tool.id for tool in tools_for(features([], [joint], ["tube"], 0), tools())}


def test_a_passage_or_an_allowance_that_is_not_listed_is_refused_by_name() -> None:
    with pytest.raises(DataError, match="'moon' is missing"):
        passage_rule("moon")
    with pytest.raises(KeyError, match="moon"):
        allowance("moon")


@given(st.lists(st.floats(0.05, 20), min_size=1, max_size=6), st.floats(0.3, 3))
def test_supports_stand_at_every_bend_and_never_farther_apart_than_they_may(
    straights: list[float], spacing: float
) -> None:
    places = support_places(straights, spacing)
    along = [start + at for start, row in zip(accumulate([0.0, *straights]), places, strict=False) for at in row]
    assert along[0] == 0.0 and along[-1] == pytest.approx(sum(straights))
    assert all(row[-1] == pytest.approx(length) for row, length in zip(places, straights, strict=True))
    gaps = [b - a for a, b in pairwise(along)]
    assert all(0 < gap <= spacing * (1 + 1e-9) for gap in gaps)
    # No fewer would do: each straight on its own has both ends held.
    assert len(along) == 1 + sum(max(1, math.ceil(length / spacing - 1e-9)) for length in straights)
