"""What appliances are listed for, held against where they stand."""

from __future__ import annotations

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of

from gasdoc.source import Severity
from gasdoc.study import Study


def stands(listed: list[str], setting: str, space: str | None = None) -> Study:
    served: Values = outlet("Heater", "20 kBtu/h", listed_for=listed)
    if space is not None:
        served["outlet"]["space"] = space
    region = {"boat": "boat-us"}.get(setting, f"us-{setting}")
    return study_of(build(run("8 ft", material="copper", type="k"), served, region=region, setting=setting))


@pytest.mark.parametrize(
    ("listed", "setting", "space"),
    [
        (["indoors"], "cabin", None),
        (["vehicle"], "vehicle", None),
        (["vehicle"], "trailer", None),
        (["indoors", "boat"], "boat", None),
        (["outdoors"], "cabin", "outdoors"),
        (["vehicle"], "trailer", "outdoors"),
        ([], "vehicle", None),
    ],
)
def test_an_appliance_that_stands_where_its_listing_says_it_may_gives_no_finding(
    listed: list[str], setting: str, space: str | None
) -> None:
    made = stands(listed, setting, space)
    assert found(made, "not-listed-for-place") + found(made, "listed-for-outdoors-only") == []


@pytest.mark.parametrize("setting", ["cabin", "trailer", "vehicle", "boat"])
def test_an_appliance_listed_for_outdoors_only_in_a_room_is_an_error(setting: str) -> None:
    said = one(stands(["outdoors"], setting), "listed-for-outdoors-only", "heater")
    assert said.severity is Severity.ERROR
    assert "outdoors only" in said.message and "carbon monoxide" in said.reason


@pytest.mark.parametrize(
    ("listed", "setting", "space", "wanted"),
    [
        (["indoors"], "trailer", None, "vehicle"),
        (["indoors"], "boat", None, "boat"),
        (["vehicle"], "boat", None, "boat"),
        (["vehicle"], "cabin", None, "indoors"),
        (["indoors"], "cabin", "outdoors", "outdoors"),
    ],
)
def test_an_appliance_listed_for_another_place_is_a_warning_that_names_the_word_to_look_for(
    listed: list[str], setting: str, space: str | None, wanted: str
) -> None:
    said = one(stands(listed, setting, space), "not-listed-for-place", "heater")
    assert said.severity is Severity.WARNING
    assert f"listed for {listed[0]}" in said.message and f"'{wanted}'" in said.remedy
    assert said.at[-1] == "listed_for"
