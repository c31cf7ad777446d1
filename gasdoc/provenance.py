"""Where a spec comes from: its last commit, what is not committed yet, and its text at another revision.

git is asked through its command, a handful of calls for a whole folder of specs. Everything works without git, outside
a repository and in a shallow clone: what is not known is left out, never guessed.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
import subprocess
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from io import BufferedReader
from pathlib import Path

SHORT = 12
"""Digits of a commit's hash that are printed: enough for any repository this tool will meet (our choice)."""

_REVISION = re.compile(r"[^\s:\x00-\x1f\x7f-][^\s:\x00-\x1f\x7f]*")
_ENVIRONMENT = {"LC_ALL": "C", "GIT_OPTIONAL_LOCKS": "0", "GIT_TERMINAL_PROMPT": "0"}


class RevisionError(ValueError):
    """A spec cannot be had at a revision; the message says why."""


@dataclass(frozen=True, slots=True)
class Commit:
    """One commit: its full hash and its date (the committer's, in UTC)."""

    hash: str
    date: dt.date

    @property
    def short(self) -> str:
        """The hash as printed."""
        return self.hash[:SHORT]


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where one spec comes from. `commit` is the last one that touched it, None where there is none or it is not known
    (no git, a shallow clone); `uncommitted` says that the text differs from what is committed."""

    path: str
    commit: Commit | None
    uncommitted: bool


@dataclass(frozen=True, slots=True)
class History:
    """What git knows of a folder of specs.

    `specs` has an entry for each spec asked for, by file name. `head` is the time of the commit checked out, in
    seconds since 1970, None where that is not known.
    """

    folder: Path | None = None
    head: int | None = None
    specs: Mapping[str, Provenance] = field(default_factory=dict)

    @property
    def as_of(self) -> dt.date | None:
        """The date a site is made as of: SOURCE_DATE_EPOCH, else the date of the commit checked out.

        Raises ValueError when SOURCE_DATE_EPOCH is not a whole number of seconds.
        """
        seconds = source_date_epoch()
        return utc_date(self.head if seconds is None else seconds)

    def text_at(self, name: str, revision: str) -> bytes | None:
        """A spec of this folder at a revision; None where it cannot be had."""
        if self.folder is None or self.head is None:
            return None
        try:
            return text_at(self.folder / name, revision)
        except RevisionError:
            return None


def source_date_epoch() -> int | None:
    """The environment variable SOURCE_DATE_EPOCH in seconds since 1970; None when it is not set.

    Raises ValueError when it is not a whole number that a date can be made of.
    """
    text = os.environ.get("SOURCE_DATE_EPOCH")
    if not text:
        return None
    if not re.fullmatch(r"\d{1,11}", text.strip()):
        raise ValueError("SOURCE_DATE_EPOCH must be whole seconds since 1970, as 'git log -1 --format=%ct' prints them")
    return int(text)


def utc_date(seconds: int | None) -> dt.date | None:
    """The date of a time in seconds since 1970, in UTC; None stays None."""
    return None if seconds is None else dt.datetime.fromtimestamp(seconds, dt.UTC).date()


def history(folder: Path, names: Collection[str]) -> History:
    """What git knows of the specs `names` in a folder. Without git, or outside a repository, nothing but their paths."""
    unknown = {name: Provenance(f"{folder.name}/{name}", None, False) for name in names}
    about = _git(folder, "rev-parse", "--show-prefix", "--git-path", "shallow")
    commit = _git(folder, "log", "-1", "--format=%ct")
    if about is None or commit is None:
        return History(folder, None, unknown)
    prefix, shallow_file = about.decode("utf-8", "surrogateescape").splitlines()[:2]
    boundary = _boundary(folder / shallow_file)
    changed = _changed(folder, prefix)
    last = _last_commits(folder, set(names) - _untracked(changed))
    specs = {}
    for name in names:
        found = last.get(name)
        # Where history is cut off every file looks as if that commit had made it.
        known = found if found is not None and found.hash not in boundary else None
        specs[name] = Provenance(prefix + name, known, name in changed)
    return History(folder, int(commit), specs)


def last_commit(path: Path) -> Commit | None:
    """The last commit of one file; None when it is not known, or the file has changes that are not committed."""
    found = history(path.parent, [path.name]).specs[path.name]
    return None if found.uncommitted else found.commit


def text_at(path: Path, revision: str) -> bytes:
    """The bytes of a file at a revision, also where it is gone from the folder since. Raises RevisionError."""
    text = _git(path.parent, "cat-file", "blob", f"{_commit_of(path.parent, revision)}:./{path.name}")
    if text is None:
        raise RevisionError(f"there is no {path} at revision '{revision}'")
    return text


MOST_PAST = 60
"""How many earlier texts of a spec are looked through at most (our choice)."""


def past_texts(path: Path) -> Iterator[bytes]:
    """The texts of a file at its last commits, the latest first; nothing where they are not known."""
    out = _git(path.parent, "log", "-z", "--format=%H", f"-{MOST_PAST}", "--", f"./{path.name}") or b""
    for commit in out.decode("ascii", "replace").split("\0"):
        text = _git(path.parent, "cat-file", "blob", f"{commit.strip()}:./{path.name}") if commit.strip() else None
        if text is not None:
            yield text


def lasting(folder: Path, revision: str) -> str:
    """A name of the revision that will mean the same tomorrow: the tag it is, or its commit. Raises RevisionError."""
    commit = _commit_of(folder, revision)
    if _git(folder, "show-ref", "--verify", "--quiet", f"refs/tags/{revision}") is not None:
        return revision
    return commit[:SHORT]


def _commit_of(folder: Path, revision: str) -> str:
    """The hash of the commit a revision is. Raises RevisionError."""
    if not _REVISION.fullmatch(revision):
        raise RevisionError(f"'{revision}' is not a revision")
    if shutil.which("git") is None:
        raise RevisionError(f"git was not found, and it alone knows the revision '{revision}'")
    if _git(folder, "rev-parse", "--git-dir") is None:
        raise RevisionError(f"{folder} is not in a git repository, so there is no revision '{revision}'")
    commit = _git(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    if commit is None:
        raise RevisionError(f"there is no revision '{revision}' here")
    return commit.decode().strip()


# --- git ------------------------------------------------------------------------------------------------------------


def _command(folder: Path, *arguments: str) -> list[str]:
    return ["git", "-C", str(folder), "-c", "log.showSignature=false", "--no-pager", *arguments]


def _git(folder: Path, *arguments: str) -> bytes | None:
    """What git prints; None when it fails or is not there."""
    try:
        done = subprocess.run(
            _command(folder, *arguments),
            env=os.environ | _ENVIRONMENT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            check=False,
        )
    except OSError:
        return None
    return done.stdout if done.returncode == 0 else None


def _boundary(shallow: Path) -> frozenset[str]:
    """The commits at which a shallow clone ends; none in a full one."""
    try:
        return frozenset(shallow.read_text(encoding="ascii").split())
    except (OSError, UnicodeDecodeError):
        return frozenset()


def _changed(folder: Path, prefix: str) -> dict[str, str]:
    """The files directly in the folder that differ from what is committed, with git's two letters for how."""
    out = _git(folder, "status", "--porcelain", "-z", "--untracked-files=all", "--no-renames", "--", ".") or b""
    found = {}
    for entry in out.decode("utf-8", "surrogateescape").split("\0"):
        letters, name = entry[:2], entry[3:].removeprefix(prefix)
        if name:
            found[name] = letters
    return found


def _untracked(changed: Mapping[str, str]) -> set[str]:
    return {name for name, letters in changed.items() if letters == "??"}


def _last_commits(folder: Path, names: set[str]) -> dict[str, Commit]:
    """The last commit of each file, from one walk through the history that ends as soon as all are found."""
    found: dict[str, Commit] = {}
    missing = set(names)
    if not missing:
        return found
    command = _command(
        folder, "log", "-z", "--format=%x01%H %ct", "--name-only", "--relative", "--no-renames", "--", "."
    )
    with subprocess.Popen(
        command,
        env=os.environ | _ENVIRONMENT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    ) as log:
        out = log.stdout
        assert isinstance(out, BufferedReader)
        commit = None
        for entry in _fields(iter(lambda: out.read1(65536), b"")):
            text = entry.decode("utf-8", "surrogateescape").strip("\n")
            if text.startswith("\x01"):
                commit_hash, _, seconds = text[1:].partition(" ")
                date = utc_date(int(seconds))
                assert date is not None
                commit = Commit(commit_hash, date)
            elif text in missing and commit is not None:
                found[text] = commit
                missing.remove(text)
                if not missing:
                    log.kill()
                    break
    return found


def _fields(chunks: Iterator[bytes]) -> Iterator[bytes]:
    """What stands between NUL bytes."""
    rest = b""
    for chunk in chunks:
        *whole, rest = (rest + chunk).split(b"\0")
        yield from whole
    yield rest
