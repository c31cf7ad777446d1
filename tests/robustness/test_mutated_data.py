"""A small dose of `mutated_data.py`: a slip in a data file is told with the file's name, and never ends in a traceback."""

from __future__ import annotations

import copy
import os
import random

import mutated_data
import pytest

from gasdoc import data


@pytest.mark.skipif(not hasattr(os, "fork"), reason="tried in forks of this process")
@pytest.mark.parametrize("name", [name for name in mutated_data.FILES if name not in mutated_data.OF_PAGES])
def test_a_value_that_is_wrong_is_told_with_its_file_or_does_no_harm(name: str) -> None:
    rng = random.Random(name)  # the same change each time; other ones by the command in mutated_data's head
    changed, what = mutated_data.mutant(name, rng)
    assert mutated_data.outcome(name, changed) in ("told", "works"), what


@pytest.mark.skipif(not hasattr(os, "fork"), reason="tried in forks of this process")
def test_what_is_tried_would_notice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a slip is found and is no error that a command tells, the command ends in a traceback; and no file is read by nothing."""
    assert {name for name in mutated_data.FILES if not mutated_data.commands(name)} <= set(mutated_data.OF_PAGES)
    monkeypatch.setattr(data, "_slip", lambda found: RuntimeError(found.message))
    changed = copy.deepcopy(mutated_data.content("catalog/appliances.yaml"))
    changed["usual"]["cooker"]["most"] = -1
    assert "Traceback" in mutated_data.outcome("catalog/appliances.yaml", changed)
