"""The measuring sheet says what the starter spec asks."""

from __future__ import annotations

import re

import pytest

from gasdoc.build.starter import starter
from gasdoc.report.pages.templates import environment
from gasdoc.report.site.measuring import entries, page

TEXT = """format: 1
# whose rules apply
region: us-cabin
container:
  type:                 # the kind
  place:                # outdoors, locker,
                        # or inside
#  mount:
#    thread:            # of the bolts
supply:
  - run:
      length:           # along the run
  - junction:
      branches:
        - - run:
              length:   # again
"""


def hints(text: str) -> dict[str, str]:
    """Each key that is asked, with its hint."""
    return {".".join(entry.path): entry.hint for entry in entries(text)}


def test_every_key_is_asked_with_its_words_and_blocks_are_not() -> None:
    assert hints(TEXT) == {
        "format": "",
        "region": "whose rules apply",
        "container.type": "the kind",
        "container.place": "outdoors, locker, or inside",
        "container.mount.thread": "of the bolts",
        "supply.run.length": "along the run",
        "supply.junction.branches.run.length": "again",
    }


@pytest.mark.parametrize(
    "key",
    [
        "coldest",
        "container.tare",
        "regulator.lock_up",
        "supply.run.bends",
        "spaces.volume",
        "supply.junction.branches.outlet.appliance.min_inlet",
        "spaces.alarms.replace_by",
    ],
)
def test_the_starters_own_keys_are_found_with_words(key: str) -> None:
    assert len(hints(starter("x", "", "us-cabin", "both"))[key]) > 5


def test_examples_stand_in_both_unit_systems() -> None:
    assert "15 in or 380 mm" in hints(starter("x", "", "us-cabin", "both"))["container.diameter"]


def test_an_example_of_an_inlet_pressure_is_one_an_appliance_stands() -> None:
    asked = hints(starter("x", "", "us-cabin", "both"))
    appliance = "supply.junction.branches.outlet.appliance."
    assert asked[appliance + "max_inlet"].startswith("14 inH2O or 35 mbar: ")
    assert asked[appliance + "min_inlet"].startswith("10 inH2O or 25 mbar: ")


def test_nobody_is_asked_to_try_a_burner_before_the_system_is_tested() -> None:
    asked = hints(starter("x", "", "us-cabin", "both"))["supply.junction.branches.outlet.appliance.flame_failure"]
    assert "from its papers, empty if not known" in asked and "try" not in asked


def test_each_kind_of_measure_is_drawn_and_named() -> None:
    html = page(environment(None), lambda _, target: target).html
    drawn = re.findall(
        r'<svg class="measure" role="img" aria-labelledby="(measure-[a-z]+)".*?<title id="\1">([^<]+)</title>', html
    )
    assert len(drawn) == len(set(drawn)) == 8
    assert all(f"<strong>{title}.</strong>" in html for _, title in drawn)
    asked = hints(starter("x", "", "us-cabin", "both"))
    assert all(hint for key, hint in asked.items() if ".clearances." in key)


def test_code_in_a_hint_is_shown_as_code() -> None:
    sheet = page(environment(None), lambda _, target: target).html
    assert "<code>gasdoc catalog regions</code>" in sheet and "`" not in sheet
