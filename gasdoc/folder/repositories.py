"""Folders among the specs that git could take for a repository: nobody needs one there, and one can be a trap.

gasdoc asks no such repository anything. Other programs that the project's people use may.
"""

from __future__ import annotations

import os
from pathlib import Path

from gasdoc.source import Problem, Severity


def repository_problems(folder: Path, shown: Path | None = None) -> tuple[Problem, ...]:
    """An error for each such folder in the folder of specs, itself included; `shown` is how messages name it."""
    found = []
    for place, folders, files in os.walk(folder):
        names = {name.casefold() for name in (*folders, *files)}
        if ".git" in names or ("head" in names and ({"objects", "refs"} <= names or "commondir" in names)):
            folders.clear()  # one message is enough
            path = (shown or folder) / Path(place).relative_to(folder)
            found.append(
                Problem(
                    str(path),
                    1,
                    1,
                    Severity.ERROR,
                    "this folder is a git repository among the specs, and its configuration can name programs",
                    "take out .git, or HEAD, objects and refs",
                    "folder-repository",
                )
            )
    return tuple(sorted(found, key=lambda problem: problem.order))
