"""gasdoc deletes only what it made, and leaves no half of a file behind."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from small_project import HUT, Run, write

from gasdoc.host import publish

CODE = "import sys; from gasdoc.cli.command import main; sys.exit(main())"


def on_a_full_disk(folder: Path, *arguments: str, most: int) -> subprocess.CompletedProcess[str]:
    """The command where no file may be larger than `most` bytes."""

    def restrict() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    return subprocess.run(
        [sys.executable, "-B", "-c", CODE, *arguments],
        cwd=folder,
        text=True,
        capture_output=True,
        check=False,
        preexec_fn=restrict,
    )


def everything(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


def test_a_link_in_place_of_the_building_folder_is_refused_and_nothing_is_lost_behind_it(
    project: Path, run: Run
) -> None:
    for name in ("site/p.txt", "before/q.txt"):
        path = project / "outside" / name
        path.parent.mkdir(parents=True)
        path.write_text("precious", encoding="utf-8")
    (project / ".site.building").symlink_to("outside")
    code, _, err = run("build", "-q")
    assert code == 2 and ".site.building" in err and "Take it away" in err
    assert everything(project / "outside") == ["before", "before/q.txt", "site", "site/p.txt"]


@pytest.mark.parametrize("marked", [False, True])
def test_a_building_folder_of_somebody_else_is_refused(project: Path, run: Run, marked: bool) -> None:
    beside = project / ".site.building"
    beside.mkdir()
    (project / "outside").mkdir()
    (project / "outside/p.txt").write_text("precious", encoding="utf-8")
    if marked:  # a stranger can copy our mark
        (beside / publish._OURS).touch()  # the mark is nobody else's business
        (beside / publish.BEFORE).symlink_to("../outside")
    else:
        (beside / "site").mkdir()
        (beside / "site/p.txt").write_text("precious", encoding="utf-8")
    before = everything(project)
    code, _, err = run("build")
    assert code == 2 and "Take it away" in err and everything(project) == before


def test_the_lock_is_not_written_through_a_link(project: Path, run: Run) -> None:
    beside = project / ".site.building"
    beside.mkdir()
    (beside / publish._OURS).touch()  # the mark is nobody else's business
    (beside / "lock").symlink_to("../new-file")
    assert run("build")[0] == 2 and not (project / "new-file").exists()


def test_a_folder_that_only_looks_like_a_site_is_not_replaced(project: Path, run: Run) -> None:
    (project / "own/css").mkdir(parents=True)
    (project / "own/css/gasdoc.css").write_text("mine", encoding="utf-8")
    code, _, err = run("build", "--site-dir", "own")
    assert code == 2 and "would be lost" in err and everything(project / "own") == ["css", "css/gasdoc.css"]


def test_what_was_put_into_a_site_by_hand_stays_with_a_word_and_what_was_ours_goes(project: Path, run: Run) -> None:
    write(project, "other-hut", HUT)
    assert run("build")[0] == 0
    site = project / "site"
    (site / "CNAME").write_text("example.org", encoding="utf-8")
    (site / "own").mkdir()
    (site / "own/a\nb.txt").write_text("b", encoding="utf-8")
    (project / "specs/other-hut.md").unlink()
    for _ in range(2):
        code, _, err = run("build")
        assert code == 0 and "CNAME is kept, because gasdoc did not make it" in err
        assert (site / "CNAME").read_text("utf-8") == "example.org" and (site / "own/a\nb.txt").is_file()
    assert not (site / "other-hut").exists() and (site / "test-hut/index.html").is_file()


def test_a_full_disk_leaves_no_half_of_a_new_spec_or_project(folder: Path) -> None:
    done = on_a_full_disk(folder, "new", "b", "--region", "us-cabin", most=1000)
    assert done.returncode == 2 and "cannot write specs/b.md: file too large" in done.stderr
    assert everything(folder) == ["specs"]
    done = on_a_full_disk(folder, "init", "mine", most=1000)
    assert done.returncode == 2 and "file too large. Nothing was written" in done.stderr
    assert everything(folder) == ["specs"]


def test_a_full_disk_is_named_by_the_place_that_is_full(project: Path) -> None:
    done = on_a_full_disk(project, "build", most=20_000)
    assert done.returncode == 2 and f"cannot be written beside {project / 'site'}: file too large" in done.stderr
    assert everything(project) == ["mkdocs.yml", "specs", "specs/test-hut.md"]


def test_a_new_spec_is_written_through_no_link_and_may_be_read_as_any_other(folder: Path, run: Run) -> None:
    (folder / "specs").mkdir()
    (folder / "specs/b.md").symlink_to("../elsewhere")
    assert run("new", "b", "--region", "us-cabin")[0] == 2 and not (folder / "elsewhere").exists()
    before = os.umask(0o022)
    try:
        assert run("new", "c", "--region", "us-cabin")[0] == 0
    finally:
        os.umask(before)
    assert (folder / "specs/c.md").stat().st_mode & 0o777 == 0o644 and (folder / "specs/c.md").stat().st_nlink == 1


def test_a_site_that_a_link_leads_out_of_the_project_is_refused_unless_it_is_named(project: Path, run: Run) -> None:
    assert run("build", "--site-dir", "other")[0] == 0
    away = project.with_name(f"{project.name}-away")
    (project / "other").rename(away)
    (away / "CNAME").write_text("theirs", encoding="utf-8")
    (project / "site").symlink_to(away)
    before = everything(away)
    code, _, err = run("build")
    assert code == 2 and "leads out of the project" in err and everything(away) == before
    assert run("build", "--site-dir", "site")[0] == 0 and (away / "CNAME").read_text("utf-8") == "theirs"
