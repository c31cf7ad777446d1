"""What was made of a file that ships with gasdoc, kept for the next run."""

from __future__ import annotations

import contextlib
import marshal
import os
import sys
from collections.abc import Callable
from importlib.resources.abc import Traversable
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any


def kept(file: Traversable, form: str, parsed: Callable[[], Any]) -> Any:
    """What comes of a data file, parsed once and kept where Python keeps compiled modules.

    Parsing YAML takes ten times as long as all that a check does with it. The copy is used only for a file of the same
    size and time; it is not written where Python is told not to, or cannot.
    """
    if not isinstance(file, Path):
        return parsed()
    stat = file.stat()
    stamp = (stat.st_mtime_ns, stat.st_size, sys.version_info[:2])
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
