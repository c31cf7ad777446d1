"""Tries every setting that git knows as a stranger's repository could have it: as the name of a program that makes a mark.

    python tests/robustness/git_settings.py           all of them, some minutes
    python tests/robustness/git_settings.py remote    those that begin like this

Prints how many were tried, and those that started the program. The repository has a driver for each file, a text that was
promised and is missing, hooks, and a signed commit, so that there is something to start it for.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "versioned"))

from repository import EXAMPLE, WHO, Repository
from test_hostile_repositories import HOOKS, PROMISED, missing, signed

from gasdoc.folder.provenance import history, past_texts, text_at
from gasdoc.wrong import Refused

ALWAYS = (
    "[core]\n\trepositoryFormatVersion = 1\n"
    + PROMISED
    + '\turl = ext::COMMAND\n[protocol "ext"]\n\tallow = always\n'
    + "[log]\n\tshowSignature = true\n"
)
VALUES = ("COMMAND", "!COMMAND")


def settings(beginning: str) -> Iterator[str]:
    """Every setting that this git knows, with a name in the place of what is free in it."""
    known = subprocess.run(["git", "help", "--config"], capture_output=True, text=True, check=True).stdout
    for name in sorted(set(known.split())):
        if re.fullmatch(r"[\w<>*.-]+\.[\w<>*.-]+", name) and name.lower().startswith(beginning.lower()):
            yield re.sub(r"<[^>]*>|\*", "x", name)


def line(name: str, value: str) -> str:
    """A setting as it stands in a file."""
    section, _, key = name.rpartition(".")
    first, dot, rest = section.partition(".")
    head = f'[{first} "{rest}"]' if dot else f"[{first}]"
    return f"{head}\n\t{key} = {value}\n"


def ask() -> None:
    """Ask git for all kinds of things that gasdoc asks it for."""
    history(Path("specs"), ["hut.md"])
    list(past_texts(Path("specs/hut.md")))
    with suppress(Refused):
        text_at(Path("specs/hut.md"), "HEAD~1")


def main(beginning: str) -> int:
    """Try them, and return how many started the program."""
    os.environ.update(WHO)
    started, tried = [], 0
    with tempfile.TemporaryDirectory() as folder:
        mark, script = Path(folder, "MARK"), Path(folder, "command.sh")
        script.write_text(f"#!/bin/sh\necho ran >> '{mark}'\nexit 1\n", encoding="utf-8")
        script.chmod(0o755)
        builds = Repository(Path(folder, "builds"))
        builds.commit(specs__hut=EXAMPLE)
        builds.commit(specs__hut=EXAMPLE.replace("length: 12 ft", "length: 20 ft"))
        signed(builds, script)
        missing(builds, script)
        builds.write(".git/info/attributes", "* filter=x diff=x merge=x\n")
        for hook in HOOKS:
            shutil.copy(script, builds.folder / ".git/hooks" / hook)
        config = builds.folder / ".git/config"
        plain = config.read_text(encoding="utf-8")
        os.chdir(builds.folder)
        for name in settings(beginning):
            for value in VALUES:
                tried += 1
                config.write_text(
                    plain + (ALWAYS + line(name, value)).replace("COMMAND", str(script)), encoding="utf-8"
                )
                ask()
                if mark.exists():
                    started.append(f"{name} = {value}")
                    mark.unlink()
        os.chdir(Path(__file__).parent)
    print(f"{tried} settings tried, {len(started)} started a program", *started, sep="\n")
    return len(started)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2] or [""]) > 0)
