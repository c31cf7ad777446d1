"""Files that are written whole or not at all. Nothing is written through a link, and nothing that stands there is lost."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
_NEW = 0o666  # less what the umask takes away


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
    """Write a file in one step in the place of what stands there, with the mode of that. Raises OSError."""
    try:
        before = target.lstat().st_mode
    except FileNotFoundError:
        before = 0
    mode = stat.S_IMODE(before) if stat.S_ISREG(before) else None
    with _beside(target, content, _NEW if mode is None else mode) as part:
        if mode is not None:
            part.chmod(mode)  # what was made anew lacks what the umask takes away
        part.replace(target)


def kept(target: Path) -> str | None:
    """Why a file that is somebody's own is not to be written over; None where it may be. Raises OSError."""
    if target.is_symlink():
        return "it is a link, and nothing is written through a link"
    found = target.stat()
    if found.st_nlink > 1:
        return "it has a second name, a hard link, which would keep the old text"
    # a superuser may write everything, and a file without any write permission is still meant to stay as it is
    return None if found.st_mode & 0o222 and os.access(target, os.W_OK) else "it may not be written"


@contextmanager
def _beside(target: Path, content: bytes, mode: int = _NEW) -> Iterator[Path]:
    """The content in a file of its own beside `target`, which is gone afterwards unless it was moved."""
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        _plain(part, content, mode)
        yield part
    finally:
        part.unlink(missing_ok=True)


def _plain(path: Path, content: bytes, mode: int = _NEW) -> None:
    """Write a file that is not there yet; half of one is taken away again."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK, mode)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
    except BaseException:
        with suppress(OSError):
            path.unlink()
        raise
