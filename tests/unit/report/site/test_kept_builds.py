"""What is kept of builds on disk is taken again as long as everything that it was made from is the same, and never else."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from gasdoc.folder.provenance import History
from gasdoc.machine.user_cache import user_cache
from gasdoc.report.content.links import Links
from gasdoc.report.site import kept_builds
from gasdoc.report.site.build_output import Made, Maker, Surroundings
from gasdoc.report.site.kept_builds import KeptOnDisk

WITH = ("parts", "prices", None)
"""What all builds are made with, as far as these tests go."""


@pytest.fixture
def docs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a spec that cannot be taken, which is made at once: its page says why."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    folder = tmp_path / "specs"
    folder.mkdir()
    (folder / "hut.md").write_text("---\nformat: 1\ntitle: Hut\n---\n", encoding="utf-8")
    return folder


def around(docs: Path) -> Surroundings:
    return Surroundings(docs, None, Links(directory_urls=False), History(), None)


def kept_of(docs: Path, surroundings: object = WITH) -> dict[Path, Made]:
    """What a later run takes as it is."""
    return KeptOnDisk().still_good([docs / "hut.md"], around(docs), surroundings)


def run(docs: Path) -> dict[Path, Made]:
    """A first run, and what it made."""
    kept, file = KeptOnDisk(), docs / "hut.md"
    assert kept.still_good([file], around(docs), WITH) == {}
    (made,) = Maker(around(docs)).make([file])
    kept.keep({file: made})
    return {file: made}


def test_the_next_run_takes_what_this_one_made(docs: Path) -> None:
    made = run(docs)
    assert kept_of(docs) == made and made[docs / "hut.md"].pages[0].html


def test_a_spec_that_reads_differently_is_made_again(docs: Path) -> None:
    run(docs)
    (docs / "hut.md").write_text("---\nformat: 1\ntitle: But\n---\n", encoding="utf-8")
    assert kept_of(docs) == {}


def test_with_other_parts_prices_or_settings_all_are_made_again(docs: Path) -> None:
    run(docs)
    assert kept_of(docs, ("parts", "other prices", None)) == {}


def test_another_gasdoc_makes_all_again(docs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run(docs)
    monkeypatch.setattr(kept_builds, "mark", lambda folder: "of another version")
    assert kept_of(docs) == {}


def test_a_version_whose_files_have_the_same_times_and_sizes_makes_all_again(
    docs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run(docs)
    monkeypatch.setattr(kept_builds, "__version__", "0.1.1")
    assert kept_of(docs) == {}


def test_the_same_folder_under_another_name_has_messages_of_its_own(docs: Path, tmp_path: Path) -> None:
    run(docs)
    (tmp_path / "builds").symlink_to(docs, target_is_directory=True)
    assert kept_of(tmp_path / "builds") == {}


def test_another_library_makes_all_again(docs: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    run(docs)
    (tmp_path / "new" / "library_of_this_test").mkdir(parents=True)
    (tmp_path / "new" / "library_of_this_test" / "__init__.py").touch()
    monkeypatch.syspath_prepend(tmp_path / "new")
    monkeypatch.setattr(kept_builds, "_LIBRARIES", (*kept_builds._LIBRARIES, "library_of_this_test"))
    assert kept_of(docs) == {}


def test_a_drawing_program_of_ones_own_may_be_another_each_time(docs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run(docs)
    monkeypatch.setenv("GASDOC_DOT", "/opt/dot")
    assert kept_of(docs) == {}


@pytest.mark.parametrize("damage", [lambda kept: kept[:-1], lambda kept: kept[:-1] + b"\0\0", lambda kept: b""])
def test_a_file_that_is_not_whole_is_not_taken(docs: Path, damage: Callable[[bytes], bytes]) -> None:
    run(docs)
    (file,) = user_cache("builds").glob("*/*")
    file.write_bytes(damage(file.read_bytes()))
    assert kept_of(docs) == {}


@pytest.mark.skipif(sys.platform == "win32", reason="there a folder says in another way who may write to it")
def test_a_folder_that_others_may_write_to_is_not_trusted(docs: Path) -> None:
    run(docs)
    user_cache("builds").chmod(0o777)
    assert kept_of(docs) == {}


def test_nothing_is_written_where_python_writes_nothing(docs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    run(docs)
    assert list(user_cache("builds").iterdir()) == []


def test_what_gasdoc_failed_on_is_not_kept(docs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*rest: object, **more: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("gasdoc.report.site.build_output.study_of", fail)
    assert next(iter(run(docs).values())).failure is not None
    assert kept_of(docs) == {}


def test_only_so_many_folders_of_specs_are_kept_those_built_last(docs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept_builds, "PROJECTS", 2)
    for name in ("one", "two"):
        (user_cache("builds") / name).mkdir(mode=0o700, parents=True)
    made = run(docs)
    assert len(list(user_cache("builds").iterdir())) == 2 and kept_of(docs) == made
