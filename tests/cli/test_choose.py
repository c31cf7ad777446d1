"""gasdoc choose: what it prints, the change that a choice makes, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_project import Run

PLAN = """---
format: 1
title: Plan
region: us-cabin
coldest: 15 degF         # the coldest night
container: {must_last: 4 days}
supply:
  - run: {length: 8 ft}  # by string
  - outlet: {appliance: {name: Heater, kind: room-heater, input: 20 kBtu/h, daily_use: 6 h}}
---
"""


@pytest.fixture
def plan(project: Path) -> Path:
    """A plan among the specs."""
    path = project / "specs/plan.md"
    path.write_text(PLAN, encoding="utf-8")
    return path


def test_it_prints_designs_first_and_no_verdict(run: Run, plan: Path) -> None:
    code, out, err = run("choose", plan)
    assert (code, err) == (0, "")
    assert out.index("DESIGNS") < out.index("CONTAINERS") < out.index("REGULATOR") < out.index("TUBING")
    assert "never turn one up" in out
    assert not {"safe", "compliant", "approved"} & set(out.lower().split())


def test_json_has_the_same_choices_as_the_study(run: Run, plan: Path) -> None:
    _, out, _ = run("choose", plan, "--format", "json")
    choices = json.loads(out)["choices"]
    assert set(choices) >= {"designs", "containers", "regulator", "tubing", "connectors"}
    for entry in (*choices["designs"], *choices["containers"], choices["regulator"], *choices["tubing"]):
        assert set(entry) >= {"id", "fits", "why_not", "figures", "sources"}
        assert all(set(figure) == {"value", "unit", "confirmed"} for figure in entry["figures"].values())
    _, out, _ = run("study", plan)
    assert json.loads(out)["choices"] == choices


def test_taking_shows_the_change_and_writes_nothing(run: Run, plan: Path) -> None:
    code, out, _ = run("choose", plan, "--take", "design=usual")
    assert code == 0
    assert "+  - run: {material: copper, type: L, size: " in out
    assert "+regulator:" in out
    assert plan.read_text(encoding="utf-8") == PLAN


def test_writing_keeps_comments_and_leaves_nothing_open(run: Run, plan: Path) -> None:
    assert run("choose", plan, "--take", "design=usual", "--write")[0] == 0
    written = plan.read_text(encoding="utf-8")
    assert "# the coldest night" in written
    assert "# by string" in written
    _, out, _ = run("check", plan, "--format", "json")
    assert not [p["code"] for p in json.loads(out)["problems"] if p["code"].startswith("open-")]


def test_a_spec_that_changed_meanwhile_is_not_written(run: Run, plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from gasdoc.choices import taking

    def meanwhile(*given: object) -> str:
        plan.write_text(PLAN + "\n", encoding="utf-8")
        return real(*given)  # type: ignore[arg-type]

    real = taking.taken
    monkeypatch.setattr(taking, "taken", meanwhile)
    code, _, err = run("choose", plan, "--take", "design=usual", "--write")
    assert code == 2
    assert "changed meanwhile" in err
    assert plan.read_text(encoding="utf-8") == PLAN + "\n"


@pytest.mark.parametrize(
    ("take", "said"),
    [
        ("usual", "write one of design=ID"),
        ("design=cheapest", "there is no design 'cheapest'; there are: usual"),
        ("roof=red", "write one of design=ID"),
    ],
)
def test_what_cannot_be_taken_is_refused(run: Run, plan: Path, take: str, said: str) -> None:
    code, _, err = run("choose", plan, "--take", take)
    assert code == 2
    assert said in err


def test_a_region_that_is_not_known_is_told_with_its_place(run: Run, plan: Path) -> None:
    plan.write_text(PLAN.replace("us-cabin", "us-cabim"), encoding="utf-8")
    for words in (("choose", plan), ("check", plan), ("study", plan)):
        code, out, err = run(*words)
        assert code == 2
        assert "plan.md:4:1" in out + err
