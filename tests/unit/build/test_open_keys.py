"""What a plan may leave open, and that a record is never of a proposal."""

from __future__ import annotations

import pytest
from made_up_builds import Values, build, outlet, read, run

PLAN = {"container": {"place": "outdoors"}, "regulator": {}, "coldest": "-5 degC"}
RECORDS: dict[str, Values] = {
    "fitted": {"fitted": "2026-05-01"},
    "signed off": {"signed_off": {"by": "R. Example", "date": "2026-05-02", "role": "authority", "covers": "gb1-0000"}},
}


def told(**more: object) -> list[str]:
    spec = build(run("10 ft"), outlet("Heater", "10 kBtu/h"))
    for key in ("fitted", "tests", "signed_off"):
        spec.pop(key, None)
    spec |= PLAN | more
    for key in ("material", "type", "size"):
        spec["supply"][0]["run"].pop(key, None)
    done = read(spec)
    return [problem.hint for problem in done.problems if "Only a plan may leave it out" in problem.hint]


def test_a_plan_leaves_them_open() -> None:
    assert told() == []


@pytest.mark.parametrize("record", RECORDS)
def test_a_build_with_a_record_states_what_stands(record: str) -> None:
    assert len(told(**RECORDS[record])) == 3
