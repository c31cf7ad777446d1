"""What was made of a file that ships with gasdoc, kept for the next run."""

from __future__ import annotations

import contextlib
import marshal
import os
import pickle
import sys
import zlib
from collections.abc import Callable
from functools import cache, wraps
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")

_PACKAGE = Path(__file__).parent


def kept(file: Path, form: str, parsed: Callable[[], Any], *, of: str = "") -> Any:
    """What comes of a data file, parsed once and kept where Python keeps compiled modules.

    Parsing YAML takes ten times as long as all that a check does with it. The copy is used only for a file of the same
    size and time, and for the same `of`: what the result depends on besides. It is not written where Python is told not
    to, or cannot.
    """
    stat = file.stat()
    stamp = (stat.st_mtime_ns, stat.st_size, sys.version_info[:2], of)
    copy = Path(cache_from_source(str(file))).parent / f"{file.name}.{form}"
    with contextlib.suppress(OSError, ValueError, EOFError, TypeError):
        kept = marshal.loads(copy.read_bytes())  # noqa: S302  # trusted as far as the compiled modules beside it
        if kept[0] == stamp:
            return kept[1]
    content = parsed()
    if not sys.dont_write_bytecode:
        with contextlib.suppress(OSError, ValueError):  # a value marshal does not know is read from its file each time
            copy.parent.mkdir(parents=True, exist_ok=True)
            beside = copy.with_suffix(f".{os.getpid()}")
            beside.write_bytes(marshal.dumps((stamp, content)))
            beside.replace(copy)
    return content


@cache
def mark(folder: Path) -> str:
    """What changes with every file of Python and of YAML in a folder and below it: made of names, sizes and times."""
    stats: list[tuple[str, int, int]] = []
    folders = [str(folder)]
    for at in folders:
        with os.scandir(at) as entries:
            for entry in entries:
                if entry.name.endswith((".py", ".yaml")):
                    stat = entry.stat()
                    stats.append((entry.path, stat.st_mtime_ns, stat.st_size))
                elif "." not in entry.name and entry.name != "__pycache__" and entry.is_dir():
                    folders.append(entry.path)
    return f"{zlib.crc32(repr(sorted(stats)).encode()):08x}"


def kept_result(made: Callable[[], T]) -> Callable[[], T]:
    """A function without arguments, whose result is kept for the next run until a file of gasdoc changes, or pydantic, which
    words the schema.

    It is for what follows from gasdoc's own code and data alone and takes long to work out.
    """

    def result() -> T:
        from pydantic_core import __version__  # noqa: PLC0415  # of it only here: units and words are read without it

        file = Path(made.__code__.co_filename)
        of = f"{mark(_PACKAGE)} {__version__}"
        text = kept(file, made.__name__, lambda: pickle.dumps(made(), pickle.HIGHEST_PROTOCOL), of=of)
        found: T = pickle.loads(text)  # noqa: S301  # trusted as far as the compiled modules beside it
        return found

    return cache(wraps(made)(result))
