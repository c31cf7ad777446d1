"""git as a reader of one repository, which may have come from a stranger.

A repository's own configuration can name programs (`core.fsmonitor`, filters, `gpg.program`, a remote `ext::command`), and
a folder among the specs can be made to look like one. So the repository is found here, once, above the specs, and git is
told which it is. Only commands are used that read objects and references: none reads the index, runs a filter or a hook,
shows a signature or asks a remote, and what could still start a program is switched off in `_SETTINGS` and `_ENVIRONMENT`.
The settings of the machine and of its user stay: there they say whose repositories git may read.
"""

from __future__ import annotations

import os
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from msgspec import Struct

from gasdoc.machine import programs

SECONDS = 30
"""How long one call may take, the walk through history included: on a disk at hand it takes far less than one (our choice)."""

MOST = 50_000_000
"""Most bytes taken of what one call prints, but for the walk through history: many times any spec or list of them."""

_SETTINGS = {
    "safe.bareRepository": "explicit",  # a folder with HEAD, objects and refs is not taken for a repository
    "core.fsmonitor": "false",
    "core.hooksPath": os.devnull,
    "fetch.bundleURI": "",
}
_ENVIRONMENT = {
    "LC_ALL": "C",
    "GIT_ALLOW_PROTOCOL": "none",  # over `protocol.ext.allow` of a repository, which is over `protocol.allow`
    "GIT_ATTR_NOSYSTEM": "1",
    "GIT_GRAFT_FILE": os.devnull,
    "GIT_LITERAL_PATHSPECS": "1",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
}


class NoRepository(Exception):
    """There is no git, or no repository; the message says which."""


class NotTaken(Exception):
    """There is a repository, and nothing is taken from it; the message says why."""


class Repository(Struct, frozen=True):
    """A repository: git's whole path, the folder of the files, git's folder, and the one with objects and references
    (another one only in a second work tree)."""

    program: str
    top: Path
    git_dir: Path
    shared: Path

    def read(self, *arguments: str) -> bytes | None:
        """What git prints; None when it fails. Raises NotTaken when it takes too long or prints too much."""
        with _running(self, arguments, subprocess.DEVNULL) as process:
            assert process.stdout is not None
            out: bytes = process.stdout.read(MOST + 1)
            if len(out) > MOST:
                raise NotTaken(f"git printed more than {MOST // 1_000_000} MB for 'git {arguments[0]}'")
            failed = process.wait() != 0
        return None if failed else out

    @contextmanager
    def piped(self, first: tuple[str, ...], second: tuple[str, ...]) -> Iterator[IO[bytes]]:
        """What `second` prints about what `first` prints; the reader may stop at any time. Raises NotTaken."""
        with _running(self, first, subprocess.DEVNULL) as before:
            assert before.stdout is not None
            with _running(self, second, before.stdout) as process:
                before.stdout.close()  # so that the first ends when the second does
                assert process.stdout is not None
                yield process.stdout


def find(folder: Path) -> Repository:
    """The repository of a folder or of one above it. Raises NoRepository, NotTaken."""
    program = programs.find("git")
    if program is None:
        raise NoRepository("git was not found")
    here = folder.resolve()
    for top in (here, *here.parents):
        entry = top / ".git"
        if entry.is_file() or os.path.lexists(entry / "HEAD"):
            return _checked(program, top)
    raise NoRepository(f"{folder} is not in a git repository")


def _checked(program: str, top: Path) -> Repository:
    """The repository whose `.git` is in a folder, if that is its own and stands by itself. Raises NotTaken."""
    entry = top / ".git"
    git_dir = _pointed_to(entry) if entry.is_file() else entry.resolve()
    common = git_dir / "commondir"
    shared = (git_dir / _line(common)).resolve() if common.is_file() else git_dir
    if shared != git_dir:  # a second work tree: each of the two names the other
        back = git_dir / "gitdir"
        tied = git_dir.parent == shared / "worktrees" and (git_dir / _line(back)).resolve() == entry.resolve()
    else:  # its own folder, or that of a submodule inside the repository above
        tied = any(git_dir.is_relative_to((above / ".git" / "modules").resolve()) for above in top.parents)
        tied |= not entry.is_symlink() and git_dir == entry.resolve()
    if not tied:
        raise NotTaken(f"{entry} leads to a repository that is not its own ({git_dir})")
    for name in ("HEAD", "objects", "refs", "packed-refs", "reftable", "shallow"):
        if not (shared / name).resolve().is_relative_to(shared):
            raise NotTaken(f"{shared / name} is a link that leads out of the repository")
    for file in (git_dir / "HEAD", shared / "config", shared / "packed-refs"):
        if os.path.lexists(file) and not file.is_file():  # git would wait for a pipe
            raise NotTaken(f"{file} is no file of git's")
    if os.path.lexists(shared / "objects" / "info" / "alternates"):
        raise NotTaken(f"{shared} takes objects from another repository (objects/info/alternates)")
    found = Repository(program, top, git_dir, shared)
    with _running(found, ("rev-parse", "--absolute-git-dir"), subprocess.DEVNULL, found_by_git=True) as process:
        assert process.stdout is not None
        said = process.stdout.read(MOST).decode("utf-8", "surrogateescape").removesuffix("\n").removesuffix("\r")
    # git itself refuses a repository of another user's as long as it looks for it and is not told.
    if not said or "\0" in said or Path(said).resolve() != git_dir:
        raise NotTaken(f"git refuses the repository at {top}: it is damaged, or another user owns it")
    return found


def _pointed_to(file: Path) -> Path:
    """The folder that a file `.git` names. Raises NotTaken."""
    line = _line(file)
    if not line.startswith("gitdir:"):
        raise NotTaken(f"{file} is no file of git's")
    return (file.parent / line.removeprefix("gitdir:").strip()).resolve()


def _line(file: Path) -> str:
    """The one line of a small file of git's. Raises NotTaken."""
    if not file.is_file():  # a pipe would never end
        raise NotTaken(f"{file} is no file of git's")
    try:
        with file.open("rb") as opened:
            text = opened.read(5000).decode("utf-8", "surrogateescape")
    except OSError as error:
        raise NotTaken(f"{file} cannot be read: {(error.strerror or 'unknown reason').lower()}") from None
    if "\0" in text:
        raise NotTaken(f"{file} is no file of git's")
    return text.rstrip("\r\n")


@contextmanager
def _running(
    repository: Repository, arguments: tuple[str, ...], stdin: int | IO[bytes], *, found_by_git: bool = False
) -> Iterator[subprocess.Popen[bytes]]:
    """A call of git, ended when the time is over or nobody reads on. Raises NotTaken.

    `found_by_git` lets it look for the repository, no higher than in its own folder.
    """
    settings = [part for name, value in _SETTINGS.items() for part in ("-c", f"{name}={value}")]
    try:
        process = subprocess.Popen(
            [repository.program, *settings, "--no-pager", *arguments],
            cwd=repository.top,
            env=_environment(None if found_by_git else repository),
            stdin=stdin,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
    except OSError as error:
        raise NotTaken(f"{repository.program} cannot be run: {error.strerror}") from None
    late = threading.Event()

    def end() -> None:
        late.set()
        process.kill()

    timer = threading.Timer(SECONDS, end)
    timer.start()
    with process:
        try:
            yield process
        finally:
            timer.cancel()
            timer.join()
            process.kill()
    if late.is_set():
        raise NotTaken(f"git did not answer within {SECONDS} s")


def _environment(repository: Repository | None) -> dict[str, str]:
    """The user's environment without what directs git, but for whose repositories it may read; then ours."""
    kept = {name: value for name, value in os.environ.items() if not name.upper().startswith("GIT_")}
    kept |= {name: value for name, value in os.environ.items() if name.upper().startswith("GIT_CONFIG_")}
    if repository is None:
        return kept | _ENVIRONMENT
    told = {"GIT_DIR": str(repository.git_dir), "GIT_WORK_TREE": str(repository.top)}
    return kept | _ENVIRONMENT | told
