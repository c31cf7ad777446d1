"""gasdoc choose: what it prints, the change that a choice makes, and what it refuses."""

from __future__ import annotations

import json
import os
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
    assert "Never turn one up" in out
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
    assert "+container: {type: " in out  # the kind first, as a reader looks for it
    assert plan.read_text(encoding="utf-8") == PLAN


def test_writing_keeps_comments_and_leaves_nothing_open(run: Run, plan: Path) -> None:
    assert run("choose", plan, "--take", "design=usual", "--write")[0] == 0
    written = plan.read_text(encoding="utf-8")
    assert "# the coldest night" in written
    assert "# by string" in written
    _, out, _ = run("check", plan, "--format", "json")
    assert not [p["code"] for p in json.loads(out)["problems"] if p["code"].startswith("open-")]


def test_a_spec_that_changed_meanwhile_is_not_written(run: Run, plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from gasdoc.cli import choose

    def meanwhile(*given: object) -> str:
        plan.write_text(PLAN + "\n", encoding="utf-8")
        return real(*given)  # type: ignore[arg-type]

    real = choose.taken
    monkeypatch.setattr(choose, "taken", meanwhile)
    code, _, err = run("choose", plan, "--take", "design=usual", "--write")
    assert code == 2
    assert "changed meanwhile" in err
    assert plan.read_text(encoding="utf-8") == PLAN + "\n"


@pytest.mark.parametrize(
    ("take", "said"),
    [
        ("usual", "write one of design=ID"),
        ("design=best", "there is no design 'best', there are: usual"),
        ("design=cheapest", "design 'cheapest' is not known yet: The least cost needs 3 prices: container:dot-"),
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


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_writing_keeps_the_mode_of_the_file(run: Run, plan: Path, mode: int) -> None:
    plan.chmod(mode)
    assert run("choose", plan, "--take", "design=usual", "--write")[0] == 0
    assert plan.read_text(encoding="utf-8") != PLAN
    assert plan.stat().st_mode & 0o777 == mode


@pytest.mark.parametrize("kind", ["read-only", "link", "hard link"])
def test_a_file_that_is_not_to_be_written_stays_as_it_is(run: Run, plan: Path, kind: str) -> None:
    named = plan
    if kind == "read-only":
        plan.chmod(0o444)
    else:
        named = plan.with_name("other.md")
        named.symlink_to(plan.name) if kind == "link" else os.link(plan, named)
    code, _, err = run("choose", named, "--take", "design=usual", "--write")
    assert code == 2
    assert f"{named}:1:1: error: it " in err
    assert plan.read_text(encoding="utf-8") == PLAN
    assert named.is_symlink() == (kind == "link")


@pytest.mark.parametrize("kind", ["pipe", "device", "folder", "nothing"])
def test_what_is_no_plain_file_is_told_with_its_place(command: Run, project: Path, kind: str) -> None:
    path = project / "specs/odd.md"
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        path = Path("/dev/zero")
    elif kind == "folder":
        path.mkdir()
    code, out, err = command("choose", path)
    assert (code, out) == (2, "")
    assert f"{path}:1:1: error: " in err


@pytest.mark.parametrize("name", ["parts.yaml", "prices.yaml"])
def test_a_slip_in_a_file_beside_the_specs_is_told_as_check_tells_it(run: Run, plan: Path, name: str) -> None:
    (plan.parent / name).write_text("formt: 1\n", encoding="utf-8")
    _, checked, _ = run("check", plan)
    told = [line for line in checked.splitlines() if f"{name}:" in line]
    code, out, err = run("choose", plan)
    assert told
    assert (code, out) == (2, "")
    assert set(told) <= set(err.splitlines())


def test_a_choice_that_does_not_fit_is_refused_with_its_reason(run: Run, plan: Path) -> None:
    plan.write_text(PLAN.replace("15 degF         ", "-60 degF        "), encoding="utf-8")
    _, out, _ = run("choose", plan, "--format", "json")
    choices = json.loads(out)["choices"]
    bad = {
        f"{part}={each['id']}": next(why["text"] for why in each["why_not"] if not why["open"])
        for part, found in (("design", choices["designs"]), ("container", choices["containers"]))
        for each in found
        if each["fits"] is False
    }
    assert "design=nearest" in bad
    for take in ("design=nearest", next(take for take in bad if take.startswith("container="))):
        code, out, err = run("choose", plan, "--take", take)
        assert (code, out) == (2, "")
        assert bad[take].rstrip(".") in err


def test_each_line_keeps_its_own_end(run: Run, plan: Path) -> None:
    raw = PLAN.replace("title: Plan\n", "title: Plan\r\n").encode()
    plan.write_bytes(raw)
    assert run("choose", plan, "--take", "design=usual", "--write")[0] == 0
    written = plan.read_bytes()
    assert written.count(b"\r\n") == 1
    assert b"title: Plan\r\n" in written
    plan.write_bytes(PLAN.replace("\n", "\r\n").encode())
    assert run("choose", plan, "--take", "design=usual", "--write")[0] == 0
    assert plan.read_bytes().replace(b"\r\n", b"").count(b"\n") == 0


def first_instead_of(held: str, run: Run, plan: Path) -> str:
    """The container that comes first in a plan that has `held` already, once that is written."""
    plan.write_text(PLAN.replace("container: {must_last: 4 days}\n", held), encoding="utf-8")
    _, out, _ = run("choose", plan, "--format", "json")
    return str(next(each["id"] for each in json.loads(out)["choices"]["containers"] if each["fits"]))


def test_what_holds_a_container_stays_when_another_is_taken(run: Run, plan: Path) -> None:
    """A mount is fixed to the build, not to the container: it is judged again with the new one."""
    held = "container:\n  type: dot-20lb\n  orientation: upright\n  mount: {way: chain, number: 1}\n"
    first = first_instead_of(held, run, plan)
    assert run("choose", plan, "--take", f"container={first}", "--write")[0] == 0
    written = plan.read_text(encoding="utf-8")
    assert "  mount: {way: chain, number: 1}\n" in written
    assert "type: dot-20lb" not in written


def test_what_cannot_be_written_names_the_key_in_its_way(run: Run, plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing that is known is in the way of a choice; should anything ever be, its place is told and nothing is written."""
    from gasdoc.choices import taking

    held = "container:\n  type: dot-20lb\n  orientation: upright\n  serial: A1\n"
    first = first_instead_of(held, run, plan)
    before = plan.read_text(encoding="utf-8")
    monkeypatch.setattr(taking, "_emptied", lambda text, start, end: taking._Edit(start, start, ""))
    code, out, err = run("choose", plan, "--take", f"container={first}", "--write")
    assert (code, out) == (2, "")
    assert "plan.md:9:3: error: with 'serial:' as it stands" in err
    assert plan.read_text(encoding="utf-8") == before


def test_taking_is_not_shown_as_json(run: Run, plan: Path) -> None:
    code, out, err = run("choose", plan, "--take", "design=usual", "--format", "json")
    assert (code, out) == (2, "")
    assert "Leave --format json out" in err


def test_an_emptied_key_leaves_no_spaces_behind(run: Run, plan: Path) -> None:
    held = "container:\n  type: dot-20lb\n  orientation: upright\n  tare: 18 lb\n  connection: POL  # as it came\n"
    first = first_instead_of(held, run, plan)
    assert run("choose", plan, "--take", f"container={first}", "--write")[0] == 0
    lines = plan.read_text(encoding="utf-8").splitlines()
    assert "  tare:" in lines
    assert all(line == line.rstrip() for line in lines)


def test_no_code_is_offered_for_records_of_a_proposal(run: Run, plan: Path) -> None:
    code, out, err = run("check", plan)
    assert code == 0 and "still to be chosen: container, regulator, tubing" in err
    assert "gt1-" not in out + err and "gb1-" not in out + err
    assert "tightness code gt1-" in run("check", "specs/test-hut.md")[2]


def test_a_set_that_is_not_among_the_choices_is_told_how_it_is_looked_at(run: Run, plan: Path) -> None:
    code, _, err = run("choose", plan, "--take", "container=4x-dot-100lb-parallel")
    assert code == 2 and "there is no container '4x-dot-100lb-parallel'" in err
    assert "gasdoc check says then whether it keeps up" in err


def test_what_the_spec_states_is_told_apart_from_what_a_design_names(run: Run, plan: Path) -> None:
    assert "Stated in the spec" not in run("choose", plan)[1]
    stated = "container: {type: dot-20lb, number: 2, manifold: parallel, must_last: 4 days}"
    plan.write_text(PLAN.replace("container: {must_last: 4 days}", stated), encoding="utf-8")
    assert "Stated in the spec: container. A design that is taken leaves that as it is" in run("choose", plan)[1]
    assert run("choose", plan, "--take", "design=usual", "--write")[0] == 0
    assert stated in plan.read_text(encoding="utf-8")
