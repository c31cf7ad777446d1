"""The data files that come with gasdoc, each with one value that is not as it should be: the command says which file, or works.

`python tests/robustness/mutated_data.py 20 [PART OF A NAME]` tries 20 changes of every file and prints those that fail.
"""

from __future__ import annotations

import contextlib
import copy
import functools
import io
import os
import random
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from gasdoc.cli.command import DEFECT, main

sys.path.insert(0, str(Path(__file__).parents[1]))
from changed_data import changed_files, read_as_shipped

ROOT = Path(__file__).parents[2]
FILES = sorted(
    path.relative_to(ROOT / "gasdoc").as_posix()
    for path in (ROOT / "gasdoc").rglob("*.yaml")
    if path.name not in ("units.yaml", "words.yaml") and path.parent.name != "project_files"
)
"""All of them but the lists of units and words, which are read by themselves, below what reads the others, and what is laid
out in a new project."""

GONE = object()
VALUES: tuple[Any, ...] = (None, [], {}, "x", -1, 0, 1e308, True, ["x"], {"a": "b"}, "", "nan", "-3 ft", GONE)
COMMANDS = (
    ["check", "specs/larch-hut.md", "--as-of", "2026-12-01"],
    ["study", "specs/bakery-trailer.md"],
    ["catalog", "regions"],
    ["catalog", "tubing"],
    ["catalog", "containers"],
    ["catalog", "parts"],
)

Path_ = tuple[Any, ...]


def paths(node: Any, at: Path_ = ()) -> Iterator[Path_]:
    """Where the values of a file stand, from the top down."""
    yield at
    children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, child in children:
        yield from paths(child, (*at, key))


@functools.cache
def content(name: str) -> Any:
    """The file as it is."""
    return yaml.safe_load((ROOT / "gasdoc" / name).read_text(encoding="utf-8"))


def mutant(name: str, rng: random.Random) -> tuple[Any, str]:
    """The file with one value changed, and which."""
    changed = copy.deepcopy(content(name))
    *way, last = rng.choice([path for path in paths(changed) if path])
    value = rng.choice(VALUES)
    node = changed
    for key in way:
        node = node[key]
    if value is GONE:
        del node[last]
    else:
        node[last] = value
    return changed, f"{'/'.join(map(str, (*way, last)))} = {'gone' if value is GONE else repr(value)}"


def outcome(name: str, changed: Any) -> str:
    """What comes of the commands: "works", "told", or what is wrong with how they ended. In a process of its own."""
    _ready()
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        os.write(write, _tried(name, changed).encode()[:4000])
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    return said or "the process died"


@functools.cache
def _ready() -> None:
    """Every command has run once, so that a process has only to do again what the data decide."""
    read_as_shipped()
    with contextlib.chdir(ROOT), contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        for command in COMMANDS:
            main(command)


def _tried(name: str, changed: Any) -> str:
    os.chdir(ROOT)
    told = io.StringIO()
    folder, _, file = name.partition("/")
    text = yaml.safe_dump(changed, sort_keys=False, allow_unicode=True)
    try:
        with (
            tempfile.TemporaryDirectory() as place,
            changed_files(f"gasdoc.{folder}", {file: text}, Path(place)),
            contextlib.redirect_stdout(io.StringIO()),
            contextlib.redirect_stderr(told),
        ):
            codes = [main(command) for command in COMMANDS]
    except BaseException:  # noqa: BLE001  # that is what is looked for
        return traceback.format_exc()
    if DEFECT in codes:
        return f"Traceback or the like: {told.getvalue()}"
    damaged = [line for line in told.getvalue().splitlines() if "is damaged" in line]
    if any(Path(name).name not in line for line in damaged) or (damaged and 2 not in codes):
        return f"codes {codes}: {damaged}"
    return "told" if damaged else "works"


if __name__ == "__main__":
    rng = random.Random(int(os.environ.get("SEED", "1")))
    count: Counter[str] = Counter()
    for file in FILES:
        if len(sys.argv) < 3 or sys.argv[2] in file:
            for _ in range(int(sys.argv[1])):
                changed, what = mutant(file, rng)
                came = outcome(file, changed)
                count[came if came in ("works", "told") else "fails"] += 1
                if came not in ("works", "told"):
                    print(f"{file}: {what}\n{came}", flush=True)
    print(dict(count))
