"""What init lays out, and the files of this repository that are made of the same."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest
import yaml
from places import ROOT

from gasdoc.build.schema import FILE
from gasdoc.folder.check import finding_problems, study_file
from gasdoc.folder.project import FILES, LOCK, lay_out, renew_lock
from gasdoc.wrong import Refused

SHIPPED = ROOT / "gasdoc/project_files/requirements.txt"
WORKFLOWS = [ROOT / ".github/workflows/pages.yml", ROOT / "gasdoc/project_files/pages.yml"]


def test_it_writes_every_file_and_says_which(tmp_path: Path) -> None:
    written = lay_out(tmp_path / "new")
    assert {path.relative_to(tmp_path / "new").as_posix() for path in written} == {*FILES, f"specs/{FILE}"}
    assert all(path.is_file() for path in written)
    assert (tmp_path / "new" / LOCK).read_bytes() == SHIPPED.read_bytes()


@pytest.mark.parametrize("name", ["README.md", ".github/workflows/pages.yml", f"specs/{FILE}"])
def test_one_file_in_the_way_keeps_all_from_being_written(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(Refused, match="there already"):
        lay_out(tmp_path)
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == [tmp_path / name]


def test_a_folder_that_is_a_file_is_a_message(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(Refused, match="cannot write"):
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
    assert all(0 < int(job["timeout-minutes"]) <= 30 for job in flow["jobs"].values())
    assert build["steps"][0]["with"]["fetch-depth"] == "0"
    runs = [step["run"] for step in build["steps"] if "run" in step]
    assert runs[2:] == ["gasdoc check --format github", 'gasdoc build --site-dir "${{ runner.temp }}/site"']
    (upload,) = [step for step in build["steps"] if "upload-pages-artifact" in step.get("uses", "")]
    assert upload["with"]["path"] == "${{ runner.temp }}/site"  # no folder that came with the files


@pytest.mark.parametrize("path", WORKFLOWS, ids=["here", "new"])
def test_a_spec_with_errors_is_published_and_the_run_is_red(path: Path) -> None:
    flow = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    build, publish, verdict = (flow["jobs"][name] for name in ("build", "publish", "verdict"))
    ours = [step for step in build["steps"] if step.get("run", "").startswith("gasdoc ")]
    assert [step["continue-on-error"] for step in ours] == ["true", "true"]
    told = {step["id"]: f"${{{{ steps.{step['id']}.outcome }}}}" for step in ours}
    assert build["outputs"] == told and publish["needs"] == verdict["needs"] == "build"
    (last,) = verdict["steps"]
    for outcomes, code in ((("success", "success"), 0), (("failure", "success"), 1), (("success", "failure"), 1)):
        line = last["run"]
        for name, outcome in zip(told, outcomes, strict=True):
            line = line.replace(f"${{{{ needs.build.outputs.{name} }}}}", outcome)
        assert subprocess.run(["sh", "-ec", line], check=False).returncode == code


def test_both_workflows_differ_in_the_installation_only() -> None:
    here, new = (path.read_text(encoding="utf-8").splitlines() for path in WORKFLOWS)
    assert len(here) == len(new)
    assert [number for number, pair in enumerate(zip(here, new, strict=True)) if pair[0] != pair[1]] == [0, 1, 27, 30]


@pytest.mark.parametrize(
    ("path", "locks", "package"),
    [
        (WORKFLOWS[0], ["gasdoc/project_files/requirements.txt", ".ci/build.txt"], "--no-deps --no-build-isolation ."),
        (WORKFLOWS[1], ["requirements.txt"], "--no-deps --no-index wheel/gasdoc-*.whl"),
    ],
    ids=["here", "new"],
)
def test_the_workflow_installs_what_is_locked_and_nothing_else(path: Path, locks: list[str], package: str) -> None:
    flow = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    first, second = [step for job in flow["jobs"].values() for step in job["steps"] if "pip" in step.get("run", "")]
    wanted = " ".join(f"-r {lock}" for lock in locks)
    assert first["run"] == f"python -m pip install --require-hashes {wanted}"
    assert first["env"] == {"PIP_ONLY_BINARY": ":all:"}
    assert second["run"] == f"python -m pip install {package}"


# --- the lock ---------------------------------------------------------------------------------------------------------

Locked = dict[str, list[tuple[str, frozenset[str], frozenset[str]]]]


def locked(path: Path) -> Locked:
    """What a lock has by name: version, hashes, and what needs it."""
    found: Locked = {}
    for block in re.split(r"\n(?=[a-z0-9])", re.sub(r"\A(#.*\n)*", "", path.read_text(encoding="utf-8"))):
        name, version = re.match(r"([a-z0-9._-]+)==(\S+)", block).groups()
        needed = re.sub(r"#\s+(via\b)?", " ", block[block.find("# via") :]) if "# via" in block else ""
        by = frozenset(re.findall(r"(?m)^\s*(\S.*?)\s*$", needed))
        found.setdefault(name, []).append((version, frozenset(re.findall(r"--hash=(sha256:[0-9a-f]{64})", block)), by))
    return found


def needed_to_run(everything: Locked) -> set[str]:
    """The names in a lock of all that CI installs which gasdoc needs to run."""
    ranges = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    found = {re.match(r"[A-Za-z0-9._-]+", text)[0].lower() for text in ranges}  # type: ignore[index]
    while more := {name for name, rows in everything.items() if any(by & found for *_, by in rows)} - found:
        found |= more
    return found


def test_the_lock_that_is_laid_out_is_what_ci_tests_with_as_far_as_it_runs() -> None:
    everything, shipped = locked(ROOT / ".ci/requirements.txt"), locked(SHIPPED)
    assert set(shipped) == needed_to_run(everything) and len(shipped) > 20
    for name, rows in shipped.items():
        assert [row[:2] for row in rows] == [row[:2] for row in everything[name]], name
        assert all(hashes for _, hashes, _ in rows)


def test_what_builds_the_package_is_locked_too() -> None:
    everything, builds = locked(ROOT / ".ci/requirements.txt"), locked(ROOT / ".ci/build.txt")
    assert "hatchling" in builds
    for name, rows in builds.items():
        assert [row[:2] for row in rows] == [row[:2] for row in everything[name]], name


def test_no_lock_names_where_packages_come_from() -> None:
    for path in (SHIPPED, ROOT / ".ci/build.txt", ROOT / ".ci/requirements.txt"):
        assert not re.search(r"index-url|find-links|https?:", path.read_text(encoding="utf-8")), path


def test_the_lock_is_renewed_and_nothing_else(tmp_path: Path) -> None:
    lay_out(tmp_path)
    (tmp_path / "README.md").write_text("mine", encoding="utf-8")
    lock = tmp_path / LOCK
    lock.write_text(SHIPPED.read_text(encoding="utf-8").replace("==", "==0.", 3), encoding="utf-8")
    assert renew_lock(tmp_path) == lock and lock.read_bytes() == SHIPPED.read_bytes()
    assert (tmp_path / "README.md").read_text(encoding="utf-8") == "mine"
    lock.unlink()
    renew_lock(tmp_path)
    assert lock.read_bytes() == SHIPPED.read_bytes()
    assert not list(tmp_path.glob(".*.part"))


def test_a_list_of_packages_that_gasdoc_did_not_write_stays(tmp_path: Path) -> None:
    (tmp_path / LOCK).write_text("mine==1\n", encoding="utf-8")
    with pytest.raises(Refused, match="was not written by gasdoc"):
        renew_lock(tmp_path)
    assert (tmp_path / LOCK).read_text(encoding="utf-8") == "mine==1\n"


def test_a_link_in_the_place_of_the_lock_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").write_bytes(SHIPPED.read_bytes() + b"# more\n")
    (tmp_path / LOCK).symlink_to("elsewhere")
    with pytest.raises(Refused):
        renew_lock(tmp_path)
    assert (tmp_path / "elsewhere").read_bytes().endswith(b"# more\n")


def test_the_hook_checks_specs_and_changes_nothing() -> None:
    (hook,) = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    assert hook["entry"] == "gasdoc check" and hook["language"] == "python"
    assert re.search(hook["files"], "specs/my-hut.md")
    assert not re.search(hook["files"], "specs/my-hut/plan.md") and not re.search(hook["files"], "README.md")
