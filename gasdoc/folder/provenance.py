"""Where a spec comes from: its last commit, what is not committed yet, and its text at another revision.

git is asked through its command, a handful of calls for a whole folder of specs. Everything works without git, outside
a repository and in a shallow clone: what is not known is left out, never guessed.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from io import BufferedReader
from pathlib import Path

from msgspec import Struct

from gasdoc.machine import git
from gasdoc.machine.git import NoRepository, NotTaken, Repository
from gasdoc.wrong import Refused

SHORT = 12
"""Digits of a commit's hash that are printed: enough for any repository this tool will meet (our choice)."""

LATEST = 2**32 - 1
"""The last second that a commit or SOURCE_DATE_EPOCH may name, in 2106: archives hold no later one."""

MOST_IN_A_LINE = 10_000
"""Most bytes of a line that git prints about one object: a path and a hash."""

MAX_BYTES = 1_000_000
"""Most bytes of an earlier text: a spec may have no more."""

_HASH = re.compile(r"[0-9a-f]{40}|[0-9a-f]{64}")
_REVISION = re.compile(
    r"(?!.*\{/)[^\s:\x00-\x1f\x7f-][^\s:\x00-\x1f\x7f]{0,199}"
)  # none that searches: `HEAD^{/words}`


class Commit(Struct, frozen=True):
    """One commit: its full hash and its date (the committer's, in UTC)."""

    hash: str
    date: dt.date

    @property
    def short(self) -> str:
        """The hash as printed."""
        return self.hash[:SHORT]


class Provenance(Struct, frozen=True):
    """Where one spec comes from. `commit` is the last one that touched it, None where there is none or it is not known
    (no git, a shallow clone); `uncommitted` says that the text differs from what is committed."""

    path: str
    commit: Commit | None
    uncommitted: bool


@dataclass(frozen=True, slots=True)
class History:
    """What git knows of a folder of specs.

    `specs` has an entry for each spec asked for, by file name. `head` is the time of the commit checked out, in
    seconds since 1970, None where that is not known. `refused` says why nothing is taken from a repository that is there.
    """

    folder: Path | None = None
    head: int | None = None
    specs: Mapping[str, Provenance] = field(default_factory=dict)
    repository: Repository | None = None
    refused: str | None = None
    _texts: dict[tuple[str, str], bytes | None] = field(default_factory=dict, compare=False, repr=False)

    @property
    def as_of(self) -> dt.date | None:
        """The date a site is made as of: SOURCE_DATE_EPOCH, else the date of the commit checked out.

        Raises ValueError when SOURCE_DATE_EPOCH is not a whole number of seconds.
        """
        seconds = source_date_epoch()
        return utc_date(self.head if seconds is None else seconds)

    def text_at(self, name: str, revision: str) -> bytes | None:
        """A spec of this folder at a revision; None where it cannot be had. git is asked once, however many builds come from
        that text."""
        if (name, revision) not in self._texts:
            self._texts[name, revision] = self._text_at(name, revision)
        return self._texts[name, revision]

    def past_texts(self, name: str) -> tuple[bytes, ...]:
        """The texts of a spec of this folder at its last commits, the latest first; none where they are not known."""
        return tuple(past_texts(self.folder / name)) if self.folder is not None else ()

    def _text_at(self, name: str, revision: str) -> bytes | None:
        if self.folder is None or self.repository is None:
            return None
        try:
            return _text_at(self.repository, self.folder / name, revision)
        except Refused:
            return None


def source_date_epoch() -> int | None:
    """The environment variable SOURCE_DATE_EPOCH in seconds since 1970; None when it is not set.

    Raises ValueError when it is not a whole number that a date can be made of.
    """
    text = os.environ.get("SOURCE_DATE_EPOCH")
    if not text:
        return None
    if not re.fullmatch(r"\d{1,11}", text.strip()) or int(text) > LATEST:
        raise ValueError("SOURCE_DATE_EPOCH must be whole seconds since 1970, as 'git log -1 --format=%ct' prints them")
    return int(text)


def utc_date(seconds: int | None) -> dt.date | None:
    """The date of a time in seconds since 1970, in UTC; None stays None."""
    return None if seconds is None else dt.datetime.fromtimestamp(seconds, dt.UTC).date()


def history(folder: Path, names: Collection[str]) -> History:
    """What git knows of the specs `names` in a folder. Without git, or outside a repository, nothing but their paths."""
    unknown = {name: Provenance(f"{folder.name}/{name}", None, False) for name in names}
    try:
        repository = _repository(folder)
        head = repository.read("rev-list", "--max-count=1", "--timestamp", "HEAD", "--") or b""
        if not (commits := _hashes(head)):  # nothing is committed yet
            return History(folder, None, unknown)
        commit = commits[0]
        prefix = _prefix(repository, folder)
        committed = _committed(repository, commit, prefix)
        last = _last_commits(repository, commit, prefix, set(names) & committed.keys())
    except NoRepository:
        return History(folder, None, unknown)
    except NotTaken as why:
        return History(folder, None, unknown, refused=str(why))
    specs = {
        name: Provenance(prefix + name, last.get(name), not _is_text_of(folder / name, committed.get(name)))
        for name in names
    }
    return History(folder, _seconds(head.decode("ascii", "replace").partition(" ")[0]), specs, repository)


def last_commit(path: Path) -> Commit | None:
    """The last commit of one file; None when it is not known, or the file has changes that are not committed."""
    found = history(path.parent, [path.name]).specs[path.name]
    return None if found.uncommitted else found.commit


def text_at(path: Path, revision: str) -> bytes:
    """The bytes of a file at a revision, also where it is gone from the folder since. Raises Refused."""
    return _text_at(_repository_with(path.parent, revision), path, revision)


MOST_PAST = 60
"""How many earlier texts of a spec are looked through at most (our choice)."""


def past_texts(path: Path) -> Iterator[bytes]:
    """The texts of a file at its last commits, the latest first; nothing where they are not known."""
    try:
        repository = _repository(path.parent)
        name = _prefix(repository, path.parent) + path.name
        if "\n" in name:  # git is told one text a line
            return
        names = ("rev-list", f"--max-count={MOST_PAST}", f"--format=%H:{name.replace('%', '%%')}", "HEAD", "--", name)
        with repository.piped(names, ("cat-file", "--batch")) as out:
            while header := out.readline(MOST_IN_A_LINE):
                # The line is the name of what git does not have, or of a text with its kind and size.
                if found := re.fullmatch(rb"[0-9a-f]+ blob (\d{1,20})\n", header):
                    text = out.read(min(int(found[1]), MAX_BYTES) + 1)
                    if len(text) != int(found[1]) + 1:
                        return
                    yield text[:-1]
    except (NoRepository, NotTaken):
        return


def lasting(folder: Path, revision: str) -> str:
    """A name of the revision that will mean the same tomorrow: the tag it is, or its commit. Raises Refused."""
    repository = _repository_with(folder, revision)
    commit = _commit_of(repository, revision)
    if _asked(repository, "show-ref", "--verify", "--quiet", f"refs/tags/{revision}") is not None:
        return revision
    return commit[:SHORT]


# --- git ------------------------------------------------------------------------------------------------------------


def _repository(folder: Path) -> Repository:
    """The repository a folder of specs is in: one above it, for what lies in it may be anybody's. Raises NoRepository,
    NotTaken."""
    here = folder.resolve()
    return git.find(here if here == Path.cwd() else here.parent)  # specs beside everything else: that is the project


def _repository_with(folder: Path, revision: str) -> Repository:
    """The same, for what is asked of a revision. Raises Refused."""
    if not _REVISION.fullmatch(revision):
        raise Refused(f"'{_short(revision)}' is not a revision")
    try:
        return _repository(folder)
    except (NoRepository, NotTaken) as why:
        raise Refused(f"{why}, so there is no revision '{_short(revision)}'") from None


def _asked(repository: Repository, *arguments: str) -> bytes | None:
    """What git prints; None when it fails. Raises Refused."""
    try:
        return repository.read(*arguments)
    except NotTaken as why:
        raise Refused(str(why)) from None


def _text_at(repository: Repository, path: Path, revision: str) -> bytes:
    """The bytes of a file at a revision. Raises Refused."""
    if not _REVISION.fullmatch(revision):
        raise Refused(f"'{_short(revision)}' is not a revision")
    name = _prefix(repository, path.parent) + path.name
    text = _asked(repository, "cat-file", "blob", f"{revision}^{{commit}}:{name}")
    if text is None:
        _commit_of(repository, revision)
        raise Refused(f"there is no {path} at revision '{_short(revision)}'")
    return text


def _commit_of(repository: Repository, revision: str) -> str:
    """The hash of the commit a revision is. Raises Refused."""
    commit = _hashes(_asked(repository, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}"))
    if not commit:
        raise Refused(f"there is no revision '{_short(revision)}' here")
    return commit[0]


def _prefix(repository: Repository, folder: Path) -> str:
    """What stands before a file's name for git: nothing, or the folder with a stroke behind it."""
    place = folder.resolve().relative_to(repository.top).as_posix()
    return "" if place == "." else f"{place}/"


def _hashes(out: bytes | None) -> list[str]:
    """The hashes in what git prints."""
    return [word for word in (out or b"").decode("ascii", "replace").split() if _HASH.fullmatch(word)]


def _short(text: str) -> str:
    """What somebody wrote, as far as a message has room for it."""
    return text if len(text) <= 60 else f"{text[:60]}..."


def _seconds(text: str) -> int | None:
    """The seconds since 1970 that a commit names; None where they are none that a date can be made of."""
    return int(text) if re.fullmatch(r"[0-9]{1,10}", text) and int(text) <= LATEST else None


def _boundary(repository: Repository) -> frozenset[str]:
    """The commits at which a shallow clone ends; none in a full one."""
    file = repository.shared / "shallow"
    try:
        return frozenset(file.read_text(encoding="ascii").split()) if file.is_file() else frozenset()
    except (OSError, UnicodeDecodeError):
        return frozenset()


def _committed(repository: Repository, commit: str, prefix: str) -> dict[str, str]:
    """The files directly in the folder as a commit has them, with the hash of each one's bytes."""
    out = repository.read("ls-tree", "-z", f"{commit}:{prefix.removesuffix('/')}") or b""
    found = {}
    for entry in out.decode("utf-8", "surrogateescape").split("\0"):
        about, _, name = entry.partition("\t")
        if re.fullmatch(r"1[02]0[0-7]{3} blob [0-9a-f]+", about):
            found[name] = about.rpartition(" ")[2]
    return found


def _is_text_of(file: Path, wanted: str | None) -> bool:
    """Whether a file has the text that git knows by a hash, whichever line ends it was checked out with.

    The hash is worked out here: git's own answer would come from what a repository has it run over files.
    """
    if wanted is None or not file.is_file():
        return False
    try:
        raw = os.fsencode(file.readlink()) if file.is_symlink() else file.read_bytes()
    except OSError:
        return False
    method = hashlib.sha256 if len(wanted) == 64 else partial(hashlib.sha1, usedforsecurity=False)
    return any(
        method(b"blob %d\0" % len(text) + text).hexdigest() == wanted for text in (raw, raw.replace(b"\r\n", b"\n"))
    )


def _last_commits(repository: Repository, head: str, prefix: str, names: set[str]) -> dict[str, Commit]:
    """The last commit of each file, from one walk through the history that ends as soon as all are found."""
    found: dict[str, Commit] = {}
    missing = set(names)
    if not missing:
        return found
    where = ("--", prefix) if prefix else ("--",)
    commits = ("rev-list", head, *where)
    changes = (
        "diff-tree",
        "--stdin",
        "--root",
        "-r",
        "-z",
        "--raw",  # before each name stands a field of its own, so no name can be taken for anything else
        "--abbrev=4",
        "--no-renames",
        "--format=%x01%H %ct",
        *where,
    )
    boundary = _boundary(repository)
    with repository.piped(commits, changes) as out:
        assert isinstance(out, BufferedReader)
        commit = None
        fields = _fields(iter(lambda: out.read1(65536), b""))
        for about in fields:
            field = about.removeprefix(b"\n")
            if field.startswith(b"\x01"):
                commit = _commit(field[1:].decode("ascii", "replace"), boundary)
            elif field.startswith(b":"):
                name = next(fields, b"").decode("utf-8", "surrogateescape")
                name = name.removeprefix(prefix) if name.startswith(prefix) else ""
                if name in missing:
                    missing.remove(name)
                    if commit is not None:
                        found[name] = commit
                    if not missing:
                        break
    return found


def _commit(line: str, boundary: Collection[str]) -> Commit | None:
    """A commit from its hash and time; None where history is cut off, because every file looks as if that commit had made
    it, and where the time is none."""
    commit_hash, _, seconds = line.partition(" ")
    date = utc_date(_seconds(seconds))
    if date is None or commit_hash in boundary or not _HASH.fullmatch(commit_hash):
        return None
    return Commit(commit_hash, date)


def _fields(chunks: Iterator[bytes]) -> Iterator[bytes]:
    """What stands between NUL bytes."""
    rest = b""
    for chunk in chunks:
        *whole, rest = (rest + chunk).split(b"\0")
        yield from whole
    yield rest
