"""A site is put in place whole or not at all."""

from __future__ import annotations

import errno
import os
import resource
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from site_killer import ROOT, fingerprint, kills

from gasdoc.cli.command import main
from gasdoc.host import publish
from gasdoc.wrong import Refused

sys.path.insert(0, str(ROOT / "tests" / "cli"))
from small_project import HUT

NAME = "css/own.css"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project with one spec."""
    (tmp_path / "specs").mkdir()
    (tmp_path / "mkdocs.yml").write_text("site_name: Builds\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    (tmp_path / "specs" / "test-hut.md").write_text(HUT, encoding="utf-8")
    return tmp_path


@pytest.fixture
def built(project: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same with its site, and we are in its folder."""
    monkeypatch.chdir(project)
    assert main(["build", "--quiet"]) == 0
    return project


def publish_one(site: Path, text: str) -> None:
    """Put a site of one file in place."""
    with publish.in_one_step(site) as folder:
        (folder / NAME).parent.mkdir()
        (folder / NAME).write_text(text, encoding="utf-8")
        publish.mark(folder)


def left(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_new_site_takes_the_place_of_the_one_before_and_nothing_else_is_left(tmp_path: Path) -> None:
    publish_one(tmp_path / "site", "one")
    publish_one(tmp_path / "site", "two")
    assert (tmp_path / "site" / NAME).read_text(encoding="utf-8") == "two"
    assert left(tmp_path) == ["site"]


def test_two_folders_that_cannot_be_exchanged_go_in_two_steps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(publish, "_exchanged", lambda one, other: False)
    publish_one(tmp_path / "site", "one")
    publish_one(tmp_path / "site", "two")
    assert (tmp_path / "site" / NAME).read_text(encoding="utf-8") == "two"
    assert left(tmp_path) == ["site"]


def test_a_site_that_was_aside_when_the_run_ended_is_put_back_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish_one(tmp_path / "site", "one")
    beside = tmp_path / ".site.building"
    publish._make_beside(beside)  # as a run does that is killed
    (tmp_path / "site").rename(beside / publish.BEFORE)
    with pytest.raises(ZeroDivisionError), publish.in_one_step(tmp_path / "site"):
        raise ZeroDivisionError
    assert (tmp_path / "site" / NAME).read_text(encoding="utf-8") == "one"
    assert left(tmp_path) == ["site"]


def test_a_failed_second_step_puts_the_site_before_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    publish_one(tmp_path / "site", "one")
    monkeypatch.setattr(publish, "_exchanged", lambda one, other: False)
    rename = Path.rename

    def refuse(self: Path, target: Path) -> Path:
        if self.parent.name == ".site.building" and self.name == "site":
            raise OSError(errno.EBUSY, "busy")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(Refused, match=r"cannot take its place: busy"):
        publish_one(tmp_path / "site", "two")
    assert (tmp_path / "site" / NAME).read_text(encoding="utf-8") == "one"
    assert left(tmp_path) == ["site"]


def test_a_failure_leaves_the_site_before(tmp_path: Path) -> None:
    publish_one(tmp_path / "site", "one")
    with pytest.raises(ZeroDivisionError), publish.in_one_step(tmp_path / "site") as folder:
        (folder / "half").write_text("half", encoding="utf-8")
        raise ZeroDivisionError
    assert (tmp_path / "site" / NAME).read_text(encoding="utf-8") == "one"
    assert left(tmp_path) == ["site"]


def test_hidden_files_of_the_site_before_are_taken_along(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish_one(site, "one")
    (site / ".git" / "refs").mkdir(parents=True)
    (site / ".git" / "HEAD").write_text("ref", encoding="utf-8")
    (site / ".nojekyll").touch()
    publish_one(site, "two")
    assert (site / ".git" / "HEAD").read_text(encoding="utf-8") == "ref"
    assert (site / ".git" / "refs").is_dir() and (site / ".nojekyll").exists()


def test_a_folder_with_anything_else_in_it_is_refused_and_kept(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "gran.jpg").write_bytes(b"x")
    with pytest.raises(Refused, match="would be lost"), publish.in_one_step(tmp_path / "photos"):
        raise AssertionError("not reached")
    assert (tmp_path / "photos" / "gran.jpg").read_bytes() == b"x"
    with pytest.raises(Refused, match="is a file"), publish.in_one_step(tmp_path / "photos" / "gran.jpg"):
        raise AssertionError("not reached")


def test_two_runs_do_not_build_one_site_at_the_same_time(tmp_path: Path) -> None:
    with publish.in_one_step(tmp_path / "site") as folder:
        (folder / "css").mkdir()
        (folder / NAME).write_text("one", encoding="utf-8")
        publish.mark(folder)
        with pytest.raises(Refused, match="another run"), publish.in_one_step(tmp_path / "site"):
            raise AssertionError("not reached")
    assert (tmp_path / "site" / NAME).read_text(encoding="utf-8") == "one"


def test_a_site_behind_a_link_is_replaced_where_it_lies(tmp_path: Path) -> None:
    publish_one(tmp_path / "real", "one")
    (tmp_path / "site").symlink_to("real")
    publish_one(tmp_path / "site", "two")
    assert (tmp_path / "site").is_symlink() and (tmp_path / "real" / NAME).read_text(encoding="utf-8") == "two"


def test_a_hidden_link_stays_a_link(tmp_path: Path) -> None:
    site = tmp_path / "site"
    publish_one(site, "one")
    (tmp_path / "elsewhere").mkdir()
    (site / ".well-known").symlink_to(tmp_path / "elsewhere")
    publish_one(site, "two")
    assert (site / ".well-known").is_symlink()


def test_the_new_site_may_be_read_by_whom_the_one_before_could(tmp_path: Path) -> None:
    publish_one(tmp_path / "site", "one")
    (tmp_path / "site").chmod(0o2775)
    publish_one(tmp_path / "site", "two")
    assert (tmp_path / "site").stat().st_mode & 0o7777 == 0o2775


def test_the_folder_one_stands_in_is_not_taken_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    publish_one(tmp_path / "site", "one")
    monkeypatch.chdir(tmp_path / "site" / "css")
    with pytest.raises(Refused, match="Run it from outside"), publish.in_one_step(tmp_path / "site"):
        raise AssertionError("not reached")


def test_a_mount_is_refused_before_anything_is_made(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="is a mount"), publish.in_one_step(Path("/proc")):
        raise AssertionError("not reached")


def test_a_killed_build_leaves_a_whole_site_and_the_next_clears_up(project: Path) -> None:
    assert kills(project, 4, seed=7) == []  # 200 by hand: site_killer.py


def test_strict_leaves_the_site_before_when_it_stops(built: Path) -> None:
    before = fingerprint(built / "site")
    spec = built / "specs" / "test-hut.md"
    spec.write_text(HUT.replace("region: us-cabin", "regoin: us-cabin"), encoding="utf-8")
    assert main(["build", "--strict"]) == 2
    assert fingerprint(built / "site") == before and ".site.building" not in left(built)


def test_a_disk_that_takes_no_more_is_a_clear_error_and_leaves_the_site_before(built: Path) -> None:
    """In a process of its own, which may write no file of more than some bytes, as on a disk that is full."""

    def restrict() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    before = fingerprint(built / "site")
    done = subprocess.run(
        [sys.executable, "-B", "-c", "import sys; from gasdoc.cli.command import main; sys.exit(main())", "build"],
        text=True,
        capture_output=True,
        check=False,
        preexec_fn=restrict,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert (
        done.returncode == 2
        and "file too large" in done.stderr
        and str(built / "site") in done.stderr
        and "Traceback" not in done.stderr
    )
    assert fingerprint(built / "site") == before and ".site.building" not in left(built)


def test_a_place_where_nothing_can_be_written_is_a_clear_error(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(project)
    assert main(["build", "--site-dir", "/proc/nowhere/site"]) == 2
    said = capsys.readouterr().err
    assert "nothing can be written beside it" in said and "Traceback" not in said
