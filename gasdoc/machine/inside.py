"""Reading a project's files: one place that says what may be read, for every reader.

The project is the folder that holds the folder of specs. A link that stays in it is followed. A link that leaves it is
refused, and so is what is no plain file: a pipe or a device could be waited for without end.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path


class NoFile(OSError):
    """Something that may not be read as a file of the project; `strerror` says why."""


def leaves(file: Path, docs_dir: Path) -> bool:
    """Whether a file among the specs is a link out of the project, the folder that holds the folder of specs."""
    try:
        return not file.resolve().is_relative_to(docs_dir.resolve().parent)
    except (
        OSError,
        RuntimeError,
        ValueError,
    ):  # links in a ring, or no file can have such a name: it leads nowhere in it
        return True


def _without_waiting(name: str, flags: int) -> int:
    return os.open(name, flags | getattr(os, "O_NONBLOCK", 0))


def read(file: Path, docs_dir: Path, most: int | None = None) -> bytes:
    """The bytes of a plain file of the project, at most `most` of them.

    Raises OSError with the reason in `strerror`: NoFile for a link out of the project and for what is no plain file.
    """
    try:
        plain = stat.S_ISREG(file.stat().st_mode)
    except ValueError:  # a zero in the name
        raise NoFile(errno.ENOENT, "there is no such file", str(file)) from None
    if leaves(file, docs_dir):
        raise NoFile(errno.EPERM, "it is a link to a file outside the project", str(file))
    if not plain:
        raise NoFile(errno.EINVAL, "it is no plain file", str(file))
    with open(file, "rb", opener=_without_waiting) as opened:  # Path.open takes no opener
        if not stat.S_ISREG(os.fstat(opened.fileno()).st_mode):  # it was replaced in between
            raise NoFile(errno.EINVAL, "it is no plain file", str(file))
        return opened.read() if most is None else opened.read(most)
