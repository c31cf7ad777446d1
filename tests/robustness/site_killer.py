"""Kills `gasdoc build` with -9 at random points and looks at what is left.

Run: python tests/robustness/site_killer.py 200 builds a project that many times over (some minutes). A few kills of it
are a test. No clock decides: a kill comes after a random number of the files that the build writes.
"""

from __future__ import annotations

import hashlib
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Self

ROOT = Path(__file__).parents[2]

BUILDER = """
import os, signal, sys, tempfile
sys.path.insert(0, {root!r})
from gasdoc.cli.command import main
with tempfile.TemporaryDirectory() as other:
    main(["build", "--quiet", "--site-dir", other + "/site"])

def build(after, arguments):
    left = after
    def watch(event, given):
        nonlocal left
        writes = event == "open" and isinstance(given[1], str) and set(given[1]) & set("wxa+")
        if writes or event in ("os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.link", "ctypes.dlsym"):
            left -= 1
            if left < 0:
                os.kill(os.getpid(), signal.SIGKILL)
    sys.addaudithook(watch)
    code = main(["build", "--quiet", *arguments])
    print(after - left, end=" ", flush=True)
    os._exit(code)

for line in sys.stdin:
    after, *arguments = line.split()
    if (child := os.fork()) == 0:
        build(int(after), arguments)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""
"""Builds in copies of a process that has imported and read all there is, each of which ends itself, as by a kill from outside, at a given
one of the steps it takes on the disk."""


class Builder:
    """Builds one project, again and again."""

    def __init__(self, project: Path) -> None:
        self.project = project
        self.process = subprocess.Popen(
            [sys.executable, "-c", BUILDER.format(root=str(ROOT))],
            cwd=project,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.communicate()

    def build(self, after: int = 10**9, *arguments: str) -> tuple[int, int]:
        """Exit code of a build that is killed `after` so many steps, and the steps it took if it ended."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        print(after, *arguments, file=self.process.stdin, flush=True)
        *steps, code = map(int, self.process.stdout.readline().split())
        return code, sum(steps)

    def elsewhere(self) -> dict[str, str]:
        """The site this project has now, from a build into another folder."""
        with tempfile.TemporaryDirectory() as other:
            self.build(10**9, "--site-dir", f"{other}/site")
            return fingerprint(Path(other, "site"))


def fingerprint(site: Path) -> dict[str, str]:
    """Every file of a site, by name."""
    return {
        path.relative_to(site).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


def kills(project: Path, points: int, seed: int) -> list[str]:
    """What went wrong in so many kills: nothing, for a site that is whole each time. The project is changed in between."""
    with Builder(project) as builder:
        wrong = list(_kills(builder, points, random.Random(seed)))
        builder.build()
    left = [path.name for path in project.iterdir() if ".building" in path.name]
    return [*wrong, *([f"left behind: {left}"] if left else [])]


def _kills(builder: Builder, points: int, draw: random.Random) -> Iterator[str]:
    project = builder.project
    spec = next((project / "specs").glob("*.md"))
    text = spec.read_text(encoding="utf-8")
    code, steps = builder.build()
    if code > 1:
        yield f"the build before ends with {code}"
        return
    before = fingerprint(project / "site")
    killed = 0
    for number in range(points):
        # The points at the very end, where folders change places, are few and matter most: every fourth kill is there.
        after = draw.randrange(steps - 40, steps) if number % 4 == 0 else draw.randrange(steps)
        spec.write_text(text.replace("Test Hut", f"Test Hut {number}"), encoding="utf-8")
        code, _ = builder.build(after)
        killed += code == -9
        now = fingerprint(project / "site")
        # Killed after the two changed places: then it is the new one, and that whole.
        if code == -9 and now not in (before, builder.elsewhere() if now != before else {}):
            yield f"kill {number} after {after} of {steps} steps: neither the site before nor the new one"
        if code != -9 and code > 1:
            yield f"kill {number}: exit code {code}"
        before = now
    if not killed:
        yield "no build was killed"


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "tests" / "cli"))
    from small_project import HUT

    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "specs").mkdir()
        (Path(folder) / "mkdocs.yml").write_text(
            "site_name: Builds\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8"
        )
        (Path(folder) / "specs" / "test-hut.md").write_text(HUT, encoding="utf-8")
        found = kills(Path(folder), int(sys.argv[1]), seed=1)
        print("\n".join(found) or f"{sys.argv[1]} kills: the site was whole after each")
        sys.exit(bool(found))
