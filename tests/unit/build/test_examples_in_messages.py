"""The examples in what is said of a spec are in the units of the spec, else of its region."""

from __future__ import annotations

import pytest
from made_up_builds import Values, build, outlet, read, run

from gasdoc.build.reader import Read


def hints(spec: Values) -> str:
    taken: Read = read(spec)
    assert taken.build is None
    return " ".join(problem.hint for problem in taken.problems)


@pytest.mark.parametrize(
    ("region", "units", "example"),
    [
        ("us-cabin", None, "30 kBtu/h"),
        ("eu", None, "8 kW"),
        ("au-nz", None, "30 MJ/h"),
        ("us-cabin", "si", "8 kW"),
        ("eu", "us", "30 kBtu/h"),
        ("nowhere", None, "30 kBtu/h"),
    ],
)
def test_the_example_is_in_the_specs_units_else_in_its_regions(region: str, units: str | None, example: str) -> None:
    spec = build(run("9 ft", material="copper", type="l"), outlet("Heater", "20 ft"), units=units) | {"region": region}
    assert f"'{example}'" in hints(spec)
