"""Processor time of this checkout against another: `check`, builds of 3, 10 and 100, one PDF of fifty; prints, asserts nothing.

Run: python tests/benchmarks/bench_against.py CHECKOUT [WHAT=PAIRS ...]   (left out: check=15 build3=3 build10=3 build100=1 pdf=1)

CHECKOUT has an environment of its own in `.venv`, as this one. Each works on its own examples, in a neutral folder, by
turns; the first run of each is not counted, so that all is compiled. A time is user and system of a command with all that it
waits for; a ratio is the median over the pairs. Against a plain MkDocs build of the same text see `bench_site.py`.
"""

from __future__ import annotations

import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

EXAMPLES = ("larch-hut", "bakery-trailer", "floating-studio")
WORK = {
    "check": (3, ("check", "specs/larch-hut.md")),
    "build3": (3, ("build", "--quiet")),
    "build10": (10, ("build", "--quiet")),
    "build100": (100, ("build", "--quiet")),
    "pdf": (50, ("pdf", "larch-hut", "--quiet")),
}
"""What is measured: how many builds the project has, and the command."""

PAIRS = {"check": 15, "build3": 3, "build10": 3, "build100": 1, "pdf": 1}


def project(checkout: Path, folder: Path, builds: int) -> Path:
    """A project of copies of the checkout's examples, under names and titles of their own."""
    specs = folder / "specs"
    specs.mkdir(parents=True)
    settings = "site_name: Builds\ndocs_dir: specs\nuse_directory_urls: false\nplugins: [gasdoc]\n"
    (folder / "mkdocs.yml").write_text(settings, encoding="utf-8")
    for beside in ("prices.yaml", "parts.yaml"):
        if (checkout / "specs" / beside).exists():
            shutil.copy(checkout / "specs" / beside, specs)
    for number in range(builds):
        example = EXAMPLES[number % len(EXAMPLES)]
        name = example if number < len(EXAMPLES) else f"{example}-{number}"
        head, title, rest = (checkout / "specs" / f"{example}.md").read_text(encoding="utf-8").partition("\ntitle: ")
        text = head + title + rest.replace("\n", f" {number}\n", 1).replace(f"({example}/", f"({name}/")
        (specs / f"{name}.md").write_text(text, encoding="utf-8")
        if (checkout / "specs" / example).is_dir():
            shutil.copytree(checkout / "specs" / example, specs / name)
    return folder


def seconds(checkout: Path, folder: Path, *words: str) -> float:
    """User and system time of a command in a project, with its children. Stops where it fails."""
    shutil.rmtree(folder / "site", ignore_errors=True)
    environment = {key: os.environ[key] for key in ("PATH", "HOME", "LANG") if key in os.environ}
    environment |= {"SOURCE_DATE_EPOCH": "1795737600", "PYTHONPYCACHEPREFIX": str(folder.parent / "compiled")}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [str(checkout / ".venv/bin/python"), "-m", "gasdoc", *words]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        sys.exit(f"{checkout}: {' '.join(words)}: {done.stderr[-2000:]}")
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main(other: Path, pairs: dict[str, int]) -> None:
    """Print a line for each kind of work."""
    checkouts = (Path(__file__).resolve().parents[2], other.resolve())
    with tempfile.TemporaryDirectory() as temporary:
        for what, number in pairs.items():
            builds, words = WORK[what]
            folders = [project(c, Path(temporary, str(i), what), builds) for i, c in enumerate(checkouts)]
            sides = list(zip(checkouts, folders, strict=True))
            for checkout, folder in sides:
                seconds(checkout, folder, "check")
                seconds(checkout, folder, *words) if what in ("check", "build3") else None
            times = []
            for turn in range(number):
                taken = [seconds(*side, *words) for side in (sides if turn % 2 else sides[::-1])]
                times.append(taken if turn % 2 else taken[::-1])
            ours, theirs = (statistics.median(column) for column in zip(*times, strict=True))
            ratio = statistics.median(a / b for a, b in times)
            print(
                f"{what:9} here {ours:7.2f} s, there {theirs:7.2f} s, ratio {ratio:.3f} of {number} pairs", flush=True
            )


if __name__ == "__main__":
    asked = dict(word.split("=") for word in sys.argv[2:])
    main(Path(sys.argv[1]), {what: int(number) for what, number in asked.items()} or PAIRS)
