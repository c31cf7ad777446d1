"""Kills `gasdoc build` with -9 at random points and looks at what is left.

Run: python tests/robustness/site_killer.py 200 builds a project that many times over (some minutes). A few kills of it
are a test. No clock decides: a kill comes after a random number of the files that the build writes.
"""

from __future__ import annotations

import hashlib
import os
import random
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]

HOLD_BACK = """
import os, signal, sys
sys.path.insert(0, {root!r})
left = {after}
def watch(event, arguments):
    global left
    writes = event == "open" and isinstance(arguments[1], str) and set(arguments[1]) & set("wxa+")
    if writes or event in ("os.rename", "os.mkdir", "os.remove", "os.rmdir", "os.link", "ctypes.dlsym"):
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
sys.addaudithook(watch)
from gasdoc.cli.command import main
code = main(["build", "--quiet"])
print(sys.argv[0] and {after} - left, flush=True)
sys.exit(code)
"""
"""A build that ends itself, as by a kill from outside, at a given one of the steps it takes on the disk."""


def build(project: Path, after: int) -> tuple[int, str]:
    """Exit code of a build that is killed `after` so many steps, and what it printed: the steps it took if it ended."""
    program = HOLD_BACK.format(root=str(ROOT), after=after)
    done = subprocess.run([sys.executable, "-c", program], cwd=project, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout.strip()


def fingerprint(site: Path) -> dict[str, str]:
    """Every file of a site, by name."""
    return {
        path.relative_to(site).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


def kills(project: Path, points: int, seed: int) -> list[str]:
    """What went wrong in so many kills: nothing, for a site that is whole each time. The project is changed in between."""
    spec = next((project / "specs").glob("*.md"))
    text = spec.read_text(encoding="utf-8")
    wrong: list[str] = []
    code, said = build(project, 10**9)
    if code > 1:
        return [f"the build before ends with {code}"]
    steps = int(said)
    before = fingerprint(project / "site")
    draw = random.Random(seed)
    for number in range(points):
        # The points at the very end, where folders change places, are few and matter most: every fourth kill is there.
        after = draw.randrange(steps - 40, steps) if number % 4 == 0 else draw.randrange(steps)
        spec.write_text(text.replace("Test Hut", f"Test Hut {number}"), encoding="utf-8")
        code, _ = build(project, after)
        now = fingerprint(project / "site")
        if code == -9 and now != before:
            # Killed after the two changed places: then it is the new one, and that whole.
            whole = build_elsewhere(project)
            if now != whole:
                wrong.append(f"kill {number} after {after} of {steps} steps: neither the site before nor the new one")
        if code != -9 and code > 1:
            wrong.append(f"kill {number}: exit code {code}")
        before = now
    build(project, 10**9)
    left = [path.name for path in project.iterdir() if ".building" in path.name]
    if left:
        wrong.append(f"left behind: {left}")
    return wrong


def build_elsewhere(project: Path) -> dict[str, str]:
    """The site this project has now, from a build into another folder."""
    with tempfile.TemporaryDirectory() as other:
        subprocess.run(
            [sys.executable, "-m", "gasdoc", "build", "--quiet", "--site-dir", f"{other}/site"],
            cwd=project,
            check=False,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        return fingerprint(Path(other, "site"))


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
