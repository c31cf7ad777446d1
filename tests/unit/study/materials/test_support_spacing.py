"""How far apart supports are, as the spec states it: counted, and compared with what the region and the trade have."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import FOOT, INCH, Values, build, found, one, outlet, run, study_of, try_study, words

from gasdoc.source import Severity
from gasdoc.study import Study

COPPER = {"material": "copper", "type": "k"}


def hut(spacing: str | None = None, region: str = "us-cabin", size: str = "1/2 in nominal", **more: Any) -> Values:
    """1/2 in nominal type K is 5/8 in outside: every 6 ft in a building, read once; 24 in on something that moves."""
    line = {"supports_every": spacing} if spacing else {}
    return build(run("12 ft", size, **(COPPER | more), id="r", **line), outlet("Heater", "20 kBtu/h"), region=region)


def spacing_row(made: Study, rule: str) -> tuple[str | None, str]:
    return next((r.has, r.outcome) for r in made.rules if r.rule.id == rule)


def test_clamps_are_counted_from_the_stated_spacing() -> None:
    for stated, clamps in (("4 ft", 4), ("3 ft", 5), ("6 ft", 3), (None, 3)):  # 12 ft: one at each end, evenly between
        held = study_of(hut(stated)).passages.supports[0]
        assert held.count == clamps and held.given == (stated is not None)
        assert held.largest == pytest.approx(6 * FOOT)


def test_farther_apart_than_the_largest_is_a_finding_with_both_numbers_and_the_source() -> None:
    made = study_of(hut("7 ft"))
    said = one(made, "supports-too-far-apart", "r")
    assert (
        "7 ft 0 in" in said.message
        and "6 ft 0 in" in said.message
        and "IFGC Table 415.1" in words(said) + str(said.source)
    )
    assert said.severity is Severity.ERROR  # the figure was read
    assert said.at[-1] == "supports_every"
    assert found(study_of(hut("6 ft")), "supports-too-far-apart") == []
    assert found(study_of(hut()), "supports-too-far-apart") == []


def corrugated(spacing: str | None, size: str, region: str = "us-cabin") -> Study:
    spec = hut(spacing, region, size, material="csst") | {"setting": "cabin"}
    spec["supply"][0]["run"].pop("type")
    return study_of(spec)


def test_a_figure_from_memory_makes_a_warning_of_it() -> None:
    """Corrugated tubing of 3/8 in: no public text was found with a figure."""
    assert one(corrugated("9 ft", "EHD 13"), "supports-too-far-apart").severity is Severity.WARNING


def test_corrugated_tubing_is_held_as_a_makers_guide_has_it_for_each_country() -> None:
    """A guide of 2015: 1/2 in every 6 ft; from 3/4 in on every 8 ft in the United States, every 6 ft in Canada."""
    for size, us, canada in (("EHD 18", 6, 6), ("EHD 25", 8, 6)):
        for region, feet in (("us-cabin", us), ("canada", canada)):
            assert corrugated(None, size, region).passages.supports[0].largest == pytest.approx(feet * FOOT)
    assert one(corrugated("7 ft", "EHD 25", "canada"), "supports-too-far-apart").severity is Severity.ERROR


def test_on_something_that_moves_the_closer_spacing_counts() -> None:
    made = study_of(hut("4 ft", region="us-vehicle"))
    assert made.passages.supports[0].largest == pytest.approx(24 * INCH)
    assert one(made, "supports-too-far-apart").severity is Severity.WARNING  # common practice


def test_the_regions_own_row_counts_where_it_is_closer_than_the_trade_has_it() -> None:
    """EN 1949, read once: 500 mm; the trade's table has 24 in, 610 mm, for tubing of inch sizes on a vehicle."""
    made = study_of(hut(region="eu"))
    assert made.passages.supports[0].largest == pytest.approx(0.5)
    assert found(study_of(hut("550 mm", region="eu")), "supports-too-far-apart") != []


def line(spacing: str, region: str, setting: str, material: str, size: str) -> Study:
    spec = hut(spacing, region, size) | {"setting": setting}
    spec["supply"][0]["run"]["material"] = material
    if material != "copper":
        spec["supply"][0]["run"].pop("type")
    return study_of(spec)


@pytest.mark.parametrize("region", ["eu", "uk", "boat-eu", "canada", "au-nz"])
def test_a_rule_for_what_moves_is_not_laid_on_a_hut(region: str) -> None:
    """Steel pipe of 1/2 in is held every 6 ft in a building, 1829 mm."""
    for material, size in (("steel", "1/2 in"), ("copper", "1/2 in nominal")):
        made = line("900 mm", region, "cabin", material, size)
        assert made.passages.supports[0].largest == pytest.approx(6 * FOOT)
        assert found(made, "supports-too-far-apart") == []
        assert not {"support-en", "support-en-rigid", "support-vehicle"} & {r.rule.id for r in made.rules}


def test_the_row_for_its_kind_of_tube_stands_in_the_place_of_the_other() -> None:
    """EN 1949, read once: tube of copper every 500 mm, rigid pipe every 1000 mm; the trade's own figure for what moves is
    24 in, 610 mm."""
    tube = line("550 mm", "eu", "vehicle", "copper", "1/2 in nominal")
    pipe = line("550 mm", "eu", "vehicle", "steel", "1/2 in")
    other = line("550 mm", "eu", "vehicle", "csst", "EHD 18")
    shown = [
        {r.rule.id: r.outcome for r in made.rules if r.rule.id.startswith("support-")} for made in (tube, pipe, other)
    ]
    assert shown == [{"support-en": "not met"}, {"support-en-rigid": "met by the numbers"}, {}]
    assert found(tube, "supports-too-far-apart") != []
    assert found(pipe, "supports-too-far-apart") == found(other, "supports-too-far-apart") == []
    assert pipe.passages.supports[0].largest == pytest.approx(24 * INCH)


def test_the_rules_say_what_the_build_has() -> None:
    assert spacing_row(study_of(hut("5 ft")), "support-tubing-three-quarter") == ("5 ft 0 in", "met by the numbers")
    assert spacing_row(study_of(hut("7 ft")), "support-tubing-three-quarter") == ("7 ft 0 in", "not met")
    assert spacing_row(study_of(hut()), "support-tubing-three-quarter") == (None, "not known")
    assert spacing_row(study_of(hut("20 in", region="us-vehicle")), "support-vehicle") == (
        "20 in",
        "met by the numbers",
    )


def test_a_run_that_does_not_say_leaves_its_row_open() -> None:
    spec = hut("20 in", region="us-vehicle")
    spec["supply"].insert(1, run("3 ft", "1/2 in nominal", id="second"))
    has, outcome = spacing_row(study_of(spec), "support-vehicle")
    assert outcome == "not known" and has == "20 in where it is stated, the rest not stated"


def test_supports_stand_by_the_legs_where_those_are_stated() -> None:
    # By hand, 4 ft apart at most: 7 ft and 2 ft one way are 9 ft: 0, 3, 6, 9; then 3 ft up: its end alone.
    legs = ["7 ft aft", "2 ft aft", "3 ft up"]
    made = study_of(build({"run": COPPER | {"legs": legs, "supports_every": "4 ft"}}, outlet("Heater", "20 kBtu/h")))
    (held,) = made.passages.supports
    assert [(one.leg, [round(at / 0.3048, 6) for at in one.along]) for one in held.places] == [
        ("7 ft aft, 2 ft aft", [0, 3, 6, 9]),
        ("3 ft up", [3]),
    ]
    assert held.count == 5


def test_supports_nearer_than_they_are_wide_are_a_slip() -> None:
    _, (problem,) = try_study(hut("1 mm"))
    assert "25 mm or more" in f"{problem.message}; {problem.hint}"
