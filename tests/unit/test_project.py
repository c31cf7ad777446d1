"""What init lays out, and the files of this repository that are made of the same."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from gasdoc import __version__
from gasdoc.project import FILES, InTheWay, lay_out
from gasdoc.spec.schema import FILE
from gasdoc.study.check import finding_problems, study_file

ROOT = Path(__file__).parent.parent.parent
WORKFLOWS = [ROOT / ".github/workflows/pages.yml", ROOT / "gasdoc/project_files/pages.yml"]


def test_it_writes_every_file_and_says_which(tmp_path: Path) -> None:
    written = lay_out(tmp_path / "new")
    assert {path.relative_to(tmp_path / "new").as_posix() for path in written} == {*FILES, f"specs/{FILE}"}
    assert all(path.is_file() for path in written)
    assert f"gasdoc=={__version__}\n" in (tmp_path / "new" / "requirements.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["README.md", ".github/workflows/pages.yml", f"specs/{FILE}"])
def test_one_file_in_the_way_keeps_all_from_being_written(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(InTheWay, match="there already"):
        lay_out(tmp_path)
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == [tmp_path / name]


def test_a_folder_that_is_a_file_is_a_message(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(InTheWay, match="cannot write"):
        lay_out(tmp_path / "file")


def test_the_example_has_nothing_to_find(tmp_path: Path) -> None:
    done = study_file(ROOT / "gasdoc/project_files/example-hut.md")
    assert done.read.problems == () and done.study is not None
    assert [str(p) for p in finding_problems(done.study) if p.severity > 1] == []
    assert done.study.standing.word == "planned"


@pytest.mark.parametrize("path", WORKFLOWS, ids=["here", "new"])
def test_the_workflow_publishes_the_main_branch_only_and_with_the_least_rights(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    flow = yaml.load(text, Loader=yaml.BaseLoader)
    assert flow["permissions"] == {"contents": "read"}
    build, publish = flow["jobs"]["build"], flow["jobs"]["publish"]
    assert "permissions" not in build and publish["permissions"] == {"pages": "write", "id-token": "write"}
    assert "refs/heads/main" in publish["if"] and publish["needs"] == "build"
    steps = [*build["steps"], *publish["steps"]]
    assert all(re.fullmatch(r"[\w-]+/[\w-]+@[0-9a-f]{40}", step["uses"]) for step in steps if "uses" in step)
    assert build["steps"][0]["with"]["fetch-depth"] == "0"
    runs = [step["run"] for step in build["steps"] if "run" in step]
    assert runs[1:] == ["gasdoc check --format github", "gasdoc build --strict"]


def test_both_workflows_differ_in_the_installation_only() -> None:
    here, new = (path.read_text(encoding="utf-8").splitlines() for path in WORKFLOWS)
    assert len(here) == len(new)
    assert [number for number, pair in enumerate(zip(here, new, strict=True)) if pair[0] != pair[1]] == [0, 22]


def test_the_hook_checks_specs_and_changes_nothing() -> None:
    (hook,) = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    assert hook["entry"] == "gasdoc check" and hook["language"] == "python"
    assert re.search(hook["files"], "specs/my-hut.md")
    assert not re.search(hook["files"], "specs/my-hut/plan.md") and not re.search(hook["files"], "README.md")
