"""Small inputs that took minutes or gigabytes: they end soon, with a message or a result, and keep nobody else back."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from small_project import Run

from gasdoc.build.reader import Read, read_spec
from gasdoc.engineering.materials.cutting import STEP_LIMIT, CuttingPlan
from gasdoc.folder.check import finding_problems, study_of
from gasdoc.machine import limited
from gasdoc.report.formats.jsonout import study_json
from gasdoc.source import Severity

HEAD = """---
format: 1
title: Hut
region: us-cabin
container: {type: dot-100lb}
regulator: {outlet: 11 inH2O}
"""


@pytest.fixture
def project(folder: Path, run: Run) -> Path:
    """A new project, and we are in it."""
    assert run("init", ".")[0] == 0
    return folder


def full_shelf(runs: int, ends: int) -> bytes:
    """A build with so many runs of one tubing, and so many ends of it on the shelf."""
    rng = random.Random(1)

    def row(number: int, indent: str) -> str:
        return "".join(
            f"{indent}- run: {{material: copper, type: L, size: 1/2 in OD, length: {rng.uniform(0.5, 6):.2f} m}}\n"
            for _ in range(number)
        )

    each = (runs - 1) // 2
    branches = "".join(
        f"        -\n{row(each, ' ' * 10)}          - outlet: {{appliance: {{name: {name}, kind: oven, input: 1 kW}}}}\n"
        for name in "AB"
    )
    shelf = ", ".join(f"{rng.uniform(1, 12):.2f} m" for _ in range(ends))
    return (
        f"{HEAD}supply:\n{row(runs - 2 * each, '  ')}  - junction:\n      branches:\n{branches}"
        f'on_shelf:\n  "copper-l 3/8": [{shelf}]\n---\n'
    ).encode()


@pytest.mark.parametrize(("runs", "ends"), [(20, 200), (79, 200)])
def test_a_full_shelf_has_a_plan_that_says_what_is_not_proven(runs: int, ends: int) -> None:
    studied = study_of(read_spec(full_shelf(runs, ends), "s.md", "s"))
    assert studied.study is not None, studied.read.problems
    (tubing,) = studied.study.lengths
    assert isinstance(tubing.plan, CuttingPlan)
    assert tubing.plan.result == "limit" and tubing.plan.steps < 1.1 * STEP_LIMIT
    assert sum(len(cut.pieces) for cut in tubing.plan.cuts) == runs
    (told,) = [p for p in finding_problems(studied.study) if p.code == "cutting-plan-not-proven"]
    assert "not proven to be the best" in told.message
    (lengths,) = [tubing for tubing in study_json(studied.study)["study"]["lengths"]]
    assert lengths["plan"]["cuts"] and lengths["plan"]["result"] == "limit"


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right there")
def test_links_to_folders_are_told_and_not_followed(project: Path, run: Run) -> None:
    for name, target in (("a", "."), ("b", "."), ("u", "/usr")):
        (project / "specs" / name).symlink_to(target)
    code, _, err = run("build")
    assert code == 0 and (project / "site" / "index.html").is_file()
    for name in "abu":
        assert f"specs/{name}:1:1: warning: it is a link to a folder" in err
        assert not (project / "site" / name).exists()


HANGING = """
import re, signal, sys
from gasdoc.build import reader
from gasdoc.cli.command import main
from gasdoc.machine import limited
read_log = reader.read_log
def hang(body, path, line):
    if "HANG" in body:
        left, _ = signal.getitimer(signal.ITIMER_REAL)
        assert 0 < left <= limited.SECONDS  # its time runs, and nearly all of it is skipped here
        signal.setitimer(signal.ITIMER_REAL, 0.1)
        re.match(r"(a+)+$", "a" * 40 + "b")
    return read_log(body, path, line)
reader.read_log = hang
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(not limited.can_copy(), reason="only a copy of this process has what is put in its place")
@pytest.mark.parametrize("command", ["check", "build"])
def test_a_spec_that_never_ends_is_a_problem_of_that_spec_only(project: Path, command: str) -> None:
    good = project / "specs" / "example-hut.md"
    (project / "specs" / "hung.md").write_text(good.read_text(encoding="utf-8") + "\nHANG\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", HANGING, command], cwd=project, capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 2, done.stderr
    assert "specs/hung.md:1:1: error: gasdoc stopped working on this spec after 60 seconds" in done.stdout + done.stderr
    if command == "build":
        assert "stopped working" in (project / "site" / "hung" / "index.html").read_text(encoding="utf-8")
        assert (project / "site" / "example-hut" / "supply.html").is_file()


def test_a_number_that_is_too_large_is_a_problem_of_its_spec_only(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from gasdoc.cli import command as cli
    from gasdoc.folder import check

    study_of = check.study_of

    def fail(read: Read, *rest: Any) -> check.Studied:
        if read.slug == "large":
            raise OverflowError("too large")
        return study_of(read, *rest)

    monkeypatch.setattr(check, "study_of", fail)
    (project / "specs" / "large.md").write_bytes((project / "specs" / "example-hut.md").read_bytes())
    assert cli.main(["check"]) == 2
    out, err = capsys.readouterr()
    assert "specs/large.md:1:1: error: gasdoc itself fails on this spec: OverflowError: too large" in out
    assert "specs/example-hut.md: planned" in err


def test_no_example_comes_within_a_tenth_of_the_limit() -> None:
    """Its own time, not that of a busy machine: half a second on a slow one."""
    import time

    for file in (Path(__file__).parents[2] / "specs").glob("[bfl]*.md"):
        began = time.process_time()
        studied = study_of(read_spec(file.read_bytes(), file.name, file.stem))
        assert studied.study is not None
        assert all(p.severity < Severity.ERROR for p in studied.read.problems)
        assert time.process_time() - began < limited.SECONDS / 10


@pytest.mark.skipif(sys.platform == "win32", reason="links need a right there")
def test_pages_are_bounded_as_logs_are_and_choose_no_template(project: Path, run: Run) -> None:
    specs = project / "specs"
    for name, head, body in (
        ("brackets", "", "[" * 60_000),
        ("fences", "", "~~~a\n" * 13_000),
        ("framed", "template: 404.html\n", "# A page of its own"),
        ("nowhere", "template: nowhere.html\n", "# Another page"),
    ):
        (specs / f"{name}.md").write_text(f"---\npage: yes\n{head}---\n\n{body}\n", encoding="utf-8")
    (specs / "more").symlink_to(".")
    code, checked, _ = run("check")
    assert code == 0
    assert "specs/brackets.md:1:1: warning: this page is too much to format" in checked
    assert "specs/more:1:1: warning: it is a link to a folder, and links are not followed" in checked
    code, _, built = run("build")
    assert code == 0
    for line in checked.splitlines():
        assert ": warning: " not in line or line in built
    assert '<pre tabindex="0">' in (project / "site" / "brackets.html").read_text(encoding="utf-8")
    assert "A page of its own" in (project / "site" / "framed.html").read_text(encoding="utf-8")
    assert "Another page" in (project / "site" / "nowhere.html").read_text(encoding="utf-8")
