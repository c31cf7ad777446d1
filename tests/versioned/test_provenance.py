"""Where a spec comes from, asked of real git repositories."""

from __future__ import annotations

import datetime as dt
import io
import os
import shutil
import subprocess
from contextlib import nullcontext
from pathlib import Path

import pytest
from repository import Repository

from gasdoc.folder import provenance
from gasdoc.folder.provenance import Commit, History, history, last_commit, past_texts, text_at
from gasdoc.machine import git
from gasdoc.wrong import Refused

NAMES = ["hut.md", "shed.md", "new.md"]


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """hut.md changed in the first and third commit, shed.md in the second; a fourth touches neither."""
    made = Repository(tmp_path / "repo")
    made.commit(specs__hut="one")
    made.commit(specs__shed="two")
    made.commit(specs__hut="three")
    made.commit(notes="four")
    return made


def test_each_spec_has_its_own_last_commit_and_date(repository: Repository) -> None:
    found = history(repository.folder / "specs", NAMES)
    assert found.specs["hut.md"].commit == Commit(repository.commits[2], dt.date(2026, 1, 3))
    assert found.specs["shed.md"].commit == Commit(repository.commits[1], dt.date(2026, 1, 2))
    assert found.specs["hut.md"].path == "specs/hut.md"
    assert not found.specs["hut.md"].uncommitted


def test_a_changed_or_new_file_has_uncommitted_changes_and_others_have_not(repository: Repository) -> None:
    repository.write("specs/hut.md", "changed")
    repository.write("specs/new.md", "new")
    found = history(repository.folder / "specs", NAMES).specs
    assert found["hut.md"].uncommitted and found["hut.md"].commit is not None
    assert found["new.md"].uncommitted and found["new.md"].commit is None
    assert not found["shed.md"].uncommitted


def test_a_change_that_is_only_staged_counts_as_uncommitted(repository: Repository) -> None:
    repository.write("specs/hut.md", "changed")
    repository.git("add", "--all")
    assert history(repository.folder / "specs", NAMES).specs["hut.md"].uncommitted


def test_an_ignored_file_has_no_commit(repository: Repository) -> None:
    repository.write(".gitignore", "new.md\n")
    repository.write("specs/new.md", "new")
    assert history(repository.folder / "specs", NAMES).specs["new.md"].commit is None


@pytest.mark.parametrize("name", ["näve hut.md", "a\tb.md", "-x.md", "x y.md"])
def test_names_that_git_would_quote(repository: Repository, name: str) -> None:
    repository.write(f"specs/{name}", "text")
    commit = repository.commit()
    assert history(repository.folder / "specs", [name]).specs[name].commit == Commit(commit, dt.date(2026, 1, 5))
    assert text_at(repository.folder / "specs" / name, "HEAD") == b"text"


def test_a_merge_keeps_the_last_commit_of_either_side(repository: Repository) -> None:
    repository.git("checkout", "--quiet", "-b", "side", repository.commits[1])
    side = repository.commit(specs__shed="on the side")
    repository.git("checkout", "--quiet", "main")
    repository.git("merge", "--quiet", "--no-edit", "side")
    found = history(repository.folder / "specs", NAMES).specs
    assert found["shed.md"].commit is not None and found["shed.md"].commit.hash == side
    assert found["hut.md"].commit is not None and found["hut.md"].commit.hash == repository.commits[2]


def test_specs_at_the_top_of_a_repository_where_that_is_where_we_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = Repository(tmp_path)
    commit = made.commit(hut="text")
    assert history(tmp_path, ["hut.md"]).head is None  # seen from elsewhere it is a folder of specs with a `.git` in it
    monkeypatch.chdir(tmp_path)
    found = history(tmp_path, ["hut.md"]).specs["hut.md"]
    assert found.path == "hut.md" and found.commit is not None and found.commit.hash == commit


def test_a_shallow_clone_leaves_out_what_it_cannot_know(repository: Repository, tmp_path: Path) -> None:
    clone = tmp_path / "clone"
    subprocess.run(["git", "clone", "--quiet", "--depth", "1", repository.folder.as_uri(), str(clone)], check=True)
    found = history(clone / "specs", NAMES)
    assert found.specs["hut.md"].commit is None and not found.specs["hut.md"].uncommitted
    assert found.specs["hut.md"].path == "specs/hut.md"
    assert found.as_of == dt.date(2026, 1, 4)  # the commit checked out is there, with its date


def test_a_shallow_clone_knows_a_spec_that_changed_after_its_boundary(repository: Repository, tmp_path: Path) -> None:
    repository.commit(specs__shed="five")
    clone = tmp_path / "clone"
    subprocess.run(["git", "clone", "--quiet", "--depth", "2", repository.folder.as_uri(), str(clone)], check=True)
    found = history(clone / "specs", NAMES).specs
    assert found["shed.md"].commit == Commit(repository.commits[4], dt.date(2026, 1, 5))
    assert found["hut.md"].commit is None


def test_a_worktree_has_the_history_of_its_own_branch(repository: Repository, tmp_path: Path) -> None:
    repository.git("worktree", "add", "--quiet", str(tmp_path / "tree"), repository.commits[1])
    found = history(tmp_path / "tree" / "specs", NAMES)
    assert found.specs["hut.md"].commit == Commit(repository.commits[0], dt.date(2026, 1, 1))
    assert found.as_of == dt.date(2026, 1, 2)


@pytest.mark.parametrize("empty", [False, True], ids=["no repository", "no commit yet"])
def test_without_a_commit_only_the_paths_are_known(tmp_path: Path, empty: bool) -> None:
    folder = tmp_path / "specs"
    folder.mkdir()
    if empty:
        Repository(tmp_path)
    found = history(folder, ["hut.md"])
    assert found.head is None and found.specs["hut.md"] == provenance.Provenance("specs/hut.md", None, False)
    assert found.text_at("hut.md", "HEAD") is None


def test_without_git_only_the_paths_are_known(repository: Repository, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", os.devnull)
    assert shutil.which("git") is None
    found = history(repository.folder / "specs", ["hut.md"])
    assert found.head is None and found.specs["hut.md"].commit is None
    with pytest.raises(Refused, match="git was not found"):
        text_at(repository.folder / "specs" / "hut.md", "HEAD")


def test_any_number_of_specs_takes_the_same_few_calls(repository: Repository, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(40):
        repository.write(f"specs/hut-{number}.md", str(number))
    repository.commit()
    calls = []
    real = git._running
    monkeypatch.setattr(git, "_running", lambda *a, **b: calls.append(a) or real(*a, **b))
    names = [f"hut-{number}.md" for number in range(40)]
    found = history(repository.folder / "specs", names)
    assert all(found.specs[name].commit is not None for name in names)
    assert len(calls) == 5


def test_a_text_at_a_revision_by_every_way_to_name_one(repository: Repository) -> None:
    hut = repository.folder / "specs" / "hut.md"
    repository.git("tag", "v1", repository.commits[0])
    for revision in ("v1", repository.commits[0], repository.commits[0][:12], "HEAD~3", "main~3", "main@{0}~3"):
        assert text_at(hut, revision) == b"one", revision
    assert text_at(hut, "HEAD") == b"three"


def test_a_text_that_many_builds_come_from_is_asked_for_once(
    repository: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = history(repository.folder / "specs", NAMES)
    calls = []
    real = git._running
    monkeypatch.setattr(git, "_running", lambda *a, **b: calls.append(a) or real(*a, **b))
    assert {found.text_at("hut.md", repository.commits[0]) for _ in range(40)} == {b"one"}
    assert len(calls) == 1
    assert {found.text_at("hut.md", "nope") for _ in range(40)} == {None}
    assert len(calls) == 3  # it asks once more for the reason


@pytest.mark.parametrize("name", ["hut.md", "h u%t.md", "%H.md", "näve.md"])
def test_earlier_texts_come_latest_first_from_two_programs_however_many_they_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    made = Repository(tmp_path / "repo")
    for text in ("one", "two\n", "", "three missing\n\0"):
        made.write(f"specs/{name}", text)
        made.commit()
    (made.folder / "specs" / name).unlink()
    made.commit()
    calls = []
    real = git._running
    monkeypatch.setattr(git, "_running", lambda *a, **b: calls.append(a) or real(*a, **b))
    assert list(past_texts(made.folder / "specs" / name)) == [b"three missing\n\0", b"", b"two\n", b"one"]
    assert len(calls) == 3  # and the one that asks git whether it takes the repository
    assert next(past_texts(made.folder / "specs" / name)) == b"three missing\n\0"


def test_a_file_that_is_gone_can_still_be_had(repository: Repository) -> None:
    hut = repository.folder / "specs" / "hut.md"
    hut.unlink()
    repository.commit()
    assert text_at(hut, "HEAD~1") == b"three"
    with pytest.raises(Refused, match=r"no .*hut\.md at revision 'HEAD'"):
        text_at(hut, "HEAD")


@pytest.mark.parametrize(
    "revision",
    ["nope", "--output=x", "-1", "HEAD:specs/hut.md", "", "a b", "HEAD^{tree}", "HEAD^{/commit}", "\n", "x" * 100_000],
)
def test_what_is_no_revision_is_refused(repository: Repository, revision: str) -> None:
    with pytest.raises(Refused, match="revision") as refused:
        text_at(repository.folder / "specs" / "hut.md", revision)
    assert len(str(refused.value)) < 200
    assert not (repository.folder / "specs" / "x").exists()


def test_the_last_commit_of_a_file_with_changes_is_not_what_it_says(repository: Repository) -> None:
    hut = repository.folder / "specs" / "hut.md"
    assert last_commit(hut) == Commit(repository.commits[2], dt.date(2026, 1, 3))
    hut.write_text("changed", encoding="utf-8")
    assert last_commit(hut) is None


def test_the_date_is_that_of_the_environment_then_of_the_commit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    assert History().as_of is None
    assert History(head=86400).as_of == dt.date(1970, 1, 2)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    assert History(head=86400).as_of == dt.date(1970, 1, 1)


@pytest.mark.parametrize("text", ["yesterday", "-1", "1.5", "999999999999", "4294967296", "0x10"])
def test_a_date_that_is_none_is_refused(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", text)
    with pytest.raises(ValueError, match="whole seconds since 1970"):
        _ = History().as_of


@pytest.mark.skipif(os.name == "nt", reason="no file can have such a name there")
@pytest.mark.parametrize("name", ["hut.md\n", "\nhut.md", "\x01" + "1" * 40 + " 5", "\n\x01" + "1" * 40 + " 5"])
def test_the_name_of_another_file_is_taken_for_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """Neither for the spec's own name nor for a commit, wherever the two stand."""
    made = Repository(tmp_path)
    made.write(name, "other")
    first = made.commit(hut="one")
    made.write(name, "changed")
    made.commit()
    second = made.commit(shed="two")
    monkeypatch.chdir(tmp_path)
    found = history(tmp_path, NAMES).specs
    assert found["hut.md"].commit == Commit(first, dt.date(2026, 1, 1))
    assert found["shed.md"].commit == Commit(second, dt.date(2026, 1, 3))


def test_a_size_that_no_text_can_have_ends_the_earlier_texts(
    repository: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = io.BufferedReader(io.BytesIO(b"1" * 40 + b" blob " + b"9" * 5000 + b"\ntext\n"))
    monkeypatch.setattr(git.Repository, "piped", lambda *given: nullcontext(out))
    assert list(past_texts(repository.folder / "specs" / "hut.md")) == []
