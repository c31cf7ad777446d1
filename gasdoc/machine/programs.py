"""Where a program of the machine is: by its whole path, and never one that lies in the current folder.

Windows looks for a program in the current folder first, and that folder may hold what a stranger sent.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

ENDINGS = (".exe", ".com") if os.name == "nt" else ("",)
"""What the name of a program's file ends with here. Batch files are left out: they take their arguments apart again."""


def find(name: str, endings: Sequence[str] = ENDINGS) -> str | None:
    """The whole path of a program: along PATH for a bare name, there and nowhere else for a path; None if it is not there."""
    if os.path.dirname(name):  # noqa: PTH120  # whether a folder is named at all: Path takes "./x" for "x"
        return _runnable(Path(name).absolute(), endings)
    here = Path.cwd()
    for entry in os.environ.get("PATH", os.defpath).split(os.pathsep):
        folder = Path(entry)
        # An empty entry, "." and any other that is not absolute mean the current folder or one below it.
        if folder.is_absolute() and not _same(folder, here) and (found := _runnable(folder / name, endings)):
            return found
    return None


def _runnable(path: Path, endings: Sequence[str]) -> str | None:
    """The path with the ending it has as a program; None where there is none that may be run."""
    named = path.suffix.lower() in endings and path.suffix != ""
    for file in [path] if named else [path.with_name(path.name + ending) for ending in endings]:
        if file.is_file() and os.access(file, os.X_OK):
            return str(file)
    return None


def _same(folder: Path, other: Path) -> bool:
    try:
        return folder.samefile(other)
    except OSError:
        return False
