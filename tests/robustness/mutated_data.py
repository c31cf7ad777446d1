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
from unittest import mock

import gasdoc.kept
from gasdoc import data
from gasdoc.cli.command import DEFECT, main
from gasdoc.machine import limited

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "cli"))
import fast_yaml
from changed_data import changed_files, read_as_shipped
from small_project import HUT

ROOT = Path(__file__).parents[2]
FILES = sorted(
    path.relative_to(ROOT / "gasdoc").as_posix()
    for path in (ROOT / "gasdoc").rglob("*.yaml")
    if path.name not in ("units.yaml", "words.yaml", "findings.yaml") and path.parent.name != "project_files"
)
"""All of them but the lists of units and words, which are read by themselves, below what reads the others; the findings, which are
written from the code; and what is laid out in a new project."""

GONE = object()
VALUES: tuple[Any, ...] = (None, [], {}, "x", -1, 0, 1e308, True, ["x"], {"a": "b"}, "", "nan", "-3 ft", GONE)
CARRIES = ["capacity", "--region", "us-cabin", "--path-length", "20 ft", "--load", "20 kBtu/h"]
COMMANDS = (
    ["check", "specs/bakery-trailer.md", "--as-of", "2026-12-01"],
    ["study", "specs/larch-hut.md"],
    ["catalog", "regions"],
    ["catalog", "tubing"],
    ["catalog", "containers"],
    ["catalog", "parts"],
    CARRIES,
    *(
        [*CARRIES, "--pressure", inlet, "--drop", drop]
        for inlet, drop in (("2 psi", "1 psi"), ("10 psi", "1 psi"), ("10 psi", "3 psi"))
    ),
)
OTHERS = (
    ["catalog", "coverage"],
    ["catalog", "sources"],
    ["study", "{}/specs/hut.md"],
    ["build", "--config", "{}/mkdocs.yml"],
)
"""Each is tried with the files that no command before it reads: it takes long, or does what those before it do. The hut is one with
a joint that must never be made."""
OF_PAGES = ("report/content/american.yaml", "report/pages/glossary.yaml", "report/site/search_words.yaml")
"""What a whole build reads and nothing else."""

NEVER = HUT.replace("inlet_thread: 1/2 NPT", "inlet_thread: Rp 1/2")

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
    return fast_yaml.read(ROOT / "gasdoc" / name)


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
    """What comes of the commands that read the file: "works", "told", or what is wrong with how they ended. In a process of its own."""
    commands(name)  # before the copy of the process, which then need not
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
def _reads() -> tuple[tuple[list[str], set[str]], ...]:
    """The commands, each with the data files that it reads and that are tried with it. Each has then run once, so that a process has
    only to do again what the data decide."""
    read_as_shipped()
    files: set[str] = set()
    plain = data.kept

    def noted(file: Any, *more: Any, **named: Any) -> Any:
        files.add(Path(file).relative_to(ROOT / "gasdoc").as_posix())
        return plain(file, *more, **named)

    found: list[tuple[list[str], set[str]]] = []
    with (
        mock.patch.object(data, "kept", noted),
        mock.patch.object(gasdoc.kept, "kept", lambda file, form, parsed, of: parsed()),  # as where a file has changed
    ):
        for command in (*COMMANDS, *OTHERS):
            files.clear()
            data.forget()
            _run(command)
            found.append((command, files - set().union(*(of for _, of in found) if command in OTHERS else ())))
    return tuple(found)


def _run(command: list[str]) -> tuple[int, str]:
    """The exit code of a command and what it said on standard error."""
    told = io.StringIO()
    with (
        tempfile.TemporaryDirectory() as project,
        contextlib.chdir(ROOT),
        contextlib.redirect_stdout(io.StringIO()),
        contextlib.redirect_stderr(told),
        mock.patch.object(limited, "can_copy", return_value=False),  # it runs in a copy already
    ):
        if command in OTHERS:
            (Path(project) / "specs").mkdir()
            (Path(project) / "specs" / "hut.md").write_text(NEVER, encoding="utf-8")
            (Path(project) / "mkdocs.yml").write_text(
                "site_name: Huts\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8"
            )
        return main([part.format(project) for part in command]), told.getvalue()


def commands(name: str) -> list[list[str]]:
    """The commands that a file is tried with."""
    return [command for command, files in _reads() if name in files]


def _tried(name: str, changed: Any) -> str:
    folder, _, file = name.partition("/")
    text = fast_yaml.written(changed)
    sys.dont_write_bytecode = True  # nor what is made of a changed file
    try:
        with tempfile.TemporaryDirectory() as place, changed_files(f"gasdoc.{folder}", {file: text}, Path(place)):
            ran = [_run(command) for command in commands(name)]
    except BaseException:  # noqa: BLE001  # that is what is looked for
        return traceback.format_exc()
    codes, told = [code for code, _ in ran], "".join(said for _, said in ran)
    if DEFECT in codes:
        return f"Traceback or the like: {told}"
    damaged = [line for line in told.splitlines() if "is damaged" in line]
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
