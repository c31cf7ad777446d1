"""The measuring sheet says what the starter spec asks."""

from __future__ import annotations

import pytest

from gasdoc.report.measuring import entries
from gasdoc.spec.starter import starter

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


@pytest.mark.parametrize("key", ["coldest", "container.tare", "regulator.lock_up", "supply.run.bends", "space.volume",
                                 "supply.junction.branches.outlet.appliance.min_inlet", "space.alarms.replace_by"])  # fmt: skip
def test_the_starters_own_keys_are_found_with_words(key: str) -> None:
    assert len(hints(starter("x", "", "us-cabin", "both"))[key]) > 5


def test_examples_stand_in_both_unit_systems() -> None:
    assert "12 in or 300 mm" in hints(starter("x", "", "us-cabin", "both"))["container.diameter"]
