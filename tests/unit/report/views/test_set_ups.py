"""The set-ups of the test day: for steps that there are, with what those steps ask."""

from __future__ import annotations

import pytest

from gasdoc.regions.sequence import sequence_rows
from gasdoc.report.views.proof.page import SET_UPS, SIGNS


def test_set_ups_are_of_steps_and_of_signs_that_there_are() -> None:
    assert set(SET_UPS) <= {step.id for step in sequence_rows()}
    assert {sign for row in SET_UPS.values() for sign, _ in row} == set(SIGNS)


@pytest.mark.parametrize("step", sorted(SET_UPS))
def test_the_container_is_shut_while_air_is_in_and_a_gauge_is_on(step: str) -> None:
    row = dict(SET_UPS[step])
    assert "gauge" in row
    if "pump" in row:
        assert row["container"] == "container shut"
    assert ("flame" in row) == (row["container"] == "container open")


def test_the_piping_is_tested_without_regulator_and_appliances() -> None:
    assert not {"regulator", "appliance", "flame"} & set(dict(SET_UPS["pressure-test"]))
