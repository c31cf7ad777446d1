"""Fuzzes what reads git's answers. Not run by the tests, but for a few inputs. How to run it stands in `fuzzing.py`.

In the place of git stands a program of ours that prints what the input says. Either the input is a history, printed as git
prints one: then every spec has its own last commit with that one's date. Or it is what git prints, damaged: then each
answer is none, or one of those that stand in it, and nothing is read outside the folder.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import re
import struct
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from fuzzing import Target, run, watched

with watched(__name__):
    from gasdoc.folder import provenance
    from gasdoc.machine import git
    from gasdoc.wrong import Refused

TOP = Path("/nowhere/builds")
NAMES = ("hut.md", "shed.md", "a\nb.md", "näve.md")
FOLDERS = ("specs/", "")
"""Where the specs are: in a folder, or beside everything else."""
BREAK = b"\n%%\n"


@dataclass
class Process:
    """What a call of git gives."""

    stdout: io.BufferedReader

    def wait(self) -> int:
        return 0


class Program:
    """Stands for git: what it prints for each command."""

    def __init__(self, printed: dict[str, bytes]) -> None:
        self.printed = printed

    @contextmanager
    def running(
        self, repository: git.Repository, arguments: tuple[str, ...], stdin: int | IO[bytes], **more: bool
    ) -> Iterator[Process]:
        command = "names" if arguments[0] == "rev-list" and "--timestamp" not in arguments else arguments[0]
        if arguments[0] == "cat-file":
            command = arguments[1]
        yield Process(io.BufferedReader(io.BytesIO(self.printed.get(command, b"")), 16))


def asked(printed: dict[str, bytes], prefix: str) -> provenance.History:
    """What gasdoc makes of what git prints, with nothing read but that."""
    folder = TOP / prefix
    real = git._running, provenance._repository, provenance._is_text_of
    git._running = Program(printed).running  # type: ignore[assignment]
    provenance._repository = lambda folder: git.Repository("git", TOP, TOP / ".git", TOP / ".git")
    provenance._is_text_of = lambda file, wanted: _inside(file, folder, wanted)
    try:
        found = provenance.history(folder, NAMES)
        for text in provenance.past_texts(folder / "hut.md"):
            assert text in printed["--batch"] and len(text) <= provenance.MAX_BYTES
        with suppress(Refused):
            assert provenance.text_at(folder / "hut.md", "HEAD~1") == printed["blob"]
        with suppress(Refused):
            assert re.fullmatch(r"HEAD|[0-9a-f]{12}", provenance.lasting(folder, "HEAD"))
    finally:
        git._running, provenance._repository, provenance._is_text_of = real
    return found


def _inside(file: Path, folder: Path, wanted: str | None) -> bool:
    assert file.parent == folder and file.name in NAMES
    assert wanted is None or re.fullmatch(r"[0-9a-f]+", wanted)
    return wanted is not None


def check(raw: bytes) -> int:
    """The first byte says whether the rest is a history or what git prints, and where the specs are."""
    kind, rest = (raw[:1] or b"\0")[0], raw[1:]
    prefix = FOLDERS[kind // 2 % 2]
    found = _of_history(rest, prefix) if kind % 2 else _of_printed(rest, prefix)
    assert found.specs.keys() == set(NAMES)
    for name, spec in found.specs.items():
        assert spec.path == (
            f"{prefix}{name}" if found.head is not None or found.repository else f"{TOP.joinpath(prefix).name}/{name}"
        )
        if spec.commit is not None:
            assert re.fullmatch(r"[0-9a-f]{40}|[0-9a-f]{64}", spec.commit.hash), spec.commit
    return len(repr(found.specs))


# --- a history, printed as git prints it ---------------------------------------------------------------------------------


def _of_history(raw: bytes, prefix: str) -> provenance.History:
    """Commits with a time and names of files, each drawn from the bytes; the specs have their last commits."""
    commits = []
    for number, piece in enumerate(raw.split(BREAK)[:50]):
        (seconds,) = struct.unpack(">I", piece[:4].rjust(4, b"\0"))
        listed = {name for name in piece[4:].replace(b"\0", b"").split(b"\n%") if name.strip(b"/")}
        commits.append((hashlib.sha1(b"%d" % number).hexdigest(), seconds, sorted(listed)))
    head = commits[0][0]
    walk = bytearray()
    expected: dict[bytes, tuple[str, int]] = {}
    for commit, seconds, names in commits:
        if names:
            walk += b"\x01%s %d\0\n" % (commit.encode(), seconds)
        for name in names:
            walk += b":100644 100644 0000 1111 M\0" + prefix.encode() + name + b"\0"
            expected.setdefault(name, (commit, seconds))
    printed = {
        "rev-list": b"%d %s\n" % (commits[0][1], head.encode()),
        "ls-tree": b"".join(b"100644 blob %s\t%s\0" % (b"0" * 40, name) for name in expected),
        "diff-tree": bytes(walk),
        "rev-parse": head.encode() + b"\n",
        "blob": raw,
        "--batch": b"".join(b"%s blob %d\n%s\n" % (b"0" * 40, len(text), text) for text in raw.split(BREAK)),
    }
    found = asked(printed, prefix)
    assert found.head == commits[0][1]
    for path, spec in found.specs.items():
        known = expected.get(path.encode())
        date = None if known is None else dt.datetime.fromtimestamp(known[1], dt.UTC).date()
        assert (spec.commit and (spec.commit.hash, spec.commit.date)) == (known and (known[0], date)), (spec, known)
    return found


# --- what git prints, damaged -----------------------------------------------------------------------------------------------


def _of_printed(raw: bytes, prefix: str) -> provenance.History:
    """One answer after the other. A date is that of a time that stands beside the hash."""
    pieces = raw.split(BREAK)
    commands = ("rev-list", "ls-tree", "diff-tree", "rev-parse", "blob", "--batch")
    printed = dict.fromkeys(commands, b"") | dict(zip(commands, pieces, strict=False))
    found = asked(printed, prefix)
    assert found.head is None or re.match(rb"\s*0*%d\b" % found.head, printed["rev-list"])
    times = dict.fromkeys(re.findall(rb"\x01([0-9a-f]+) (\d{1,10})(?!\d)", printed["diff-tree"]))
    for spec in found.specs.values():
        if spec.commit is not None:
            dates = {
                provenance.utc_date(int(seconds))
                for commit, seconds in times
                if commit.decode() == spec.commit.hash and int(seconds) <= provenance.LATEST
            }
            assert spec.commit.date in dates, spec
    return found


ONE, TWO = "1" * 40, "2" * 40
META = ":100644 100644 0000 1111 M\0"
SEEDS = (
    b"\x01" + BREAK.join((b"\x69\0\0\0notes.md", b"\x68\0\0\0hut.md\n%shed.md", b"\x67\0\0\0hut.md\n%a\nb.md")),
    b"\x03" + BREAK.join((b"\x69\0\0\0hut.md", b"\x68\0\0\0shed.md\n%x/hut.md", b"\x67\0\0\0n\xc3\xa4ve.md")),
    b"\0"
    + BREAK.join(
        (
            f"1767225600 {ONE}\n".encode(),
            f"100644 blob {ONE}\thut.md\0120000 blob {TWO}\tshed.md\0040000 tree {TWO}\tx\0".encode(),
            f"\x01{ONE} 1767225600\0\n{META}specs/shed.md\0\x01{TWO} 1735689600\0\n{META}specs/hut.md\0{META}specs/x/y.md\0".encode(),
            f"{ONE}\n".encode(),
            b"---\ntitle: x\n",
            f"commit {ONE} missing\n{TWO} blob 4\nabcd\n{ONE}:specs/hut.md missing\n".encode(),
        )
    ),
    b"\2"
    + BREAK.join(
        (
            f"0 {ONE}\n".encode(),
            f"100644 blob {ONE}\thut.md\0".encode(),
            f"\x01{ONE} 0\0\n{META}hut.md\0".encode(),
            f"{ONE}\n".encode(),
        )
    ),
)
WORDS = (
    BREAK, b"\n%", b"\0", META.encode(), b"\n", b"\x01", b" ", b"\t", b"hut.md", b"shed.md", b"a\nb.md", b"specs/", b"../", b"/", b"-1", b"99999999999",
    ONE.encode(), TWO.encode(), f"\x01{ONE} 5".encode(), f"\n\x01{TWO} 7".encode(), b"100644 blob ", b" blob 4\n", b" missing\n", b"\xff",
    "\u0661".encode(), b"1" * 5000, b"0x", b"+1", b"1_0",
)  # fmt: skip
TARGET = Target(check, SEEDS, WORDS, seconds=1.0, longest=40_000)

if __name__ == "__main__":
    run(TARGET, "Fuzz what reads git's answers.")
