"""Files that are written whole or not at all. Nothing is written through a link, and nothing that stands there is lost."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


def write_new(target: Path, content: bytes) -> None:
    """Write a file that is not there yet. Raises FileExistsError where something stands, OSError."""
    with _beside(target, content) as part:
        try:
            os.link(part, target, follow_symlinks=False)
        except FileExistsError:
            raise
        except OSError:  # a file system without links, or a system without the call
            _plain(target, content)


def write_over(target: Path, content: bytes) -> None:
    """Write a file in one step in the place of what stands there. Raises OSError."""
    with _beside(target, content) as part:
        part.replace(target)


@contextmanager
def _beside(target: Path, content: bytes) -> Iterator[Path]:
    """The content in a file of its own beside `target`, which is gone afterwards unless it was moved."""
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        _plain(part, content)
        yield part
    finally:
        part.unlink(missing_ok=True)


def _plain(path: Path, content: bytes) -> None:
    """Write a file that is not there yet; half of one is taken away again."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK, 0o666)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
    except BaseException:
        with suppress(OSError):
            path.unlink()
        raise
