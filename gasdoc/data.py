"""Reading the data files that ship with gasdoc, and a project's own files of the same kinds."""

from __future__ import annotations

import contextlib
import marshal
import os
import sys
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import yaml

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@cache
def load(package: str, name: str) -> Any:
    """The YAML file `name` of `package`, such as load("gasdoc.regions", "us-cabin.yaml"). Treat it as read-only."""
    file = resources.files(package).joinpath(name)
    return _kept(file) if isinstance(file, Path) else yaml.load(file.read_text(encoding="utf-8"), Loader=_LOADER)  # noqa: S506  # a safe loader


def _kept(file: Path) -> Any:
    """The content of a data file, parsed once and kept beside it as Python keeps compiled modules.

    Parsing YAML takes ten times as long as all that a check does with it. The copy is used only for a file of the same
    size and time; it is not written where Python is told not to, or cannot.
    """
    stat = file.stat()
    stamp = (stat.st_mtime_ns, stat.st_size, sys.version_info[:2])
    copy = file.parent / "__pycache__" / f"{file.name}.data"
    with contextlib.suppress(OSError, ValueError, EOFError, TypeError):
        kept = marshal.loads(copy.read_bytes())  # noqa: S302  # trusted as far as the compiled modules beside it
        if kept[0] == stamp:
            return kept[1]
    content = yaml.load(file.read_text(encoding="utf-8"), Loader=_LOADER)  # noqa: S506  # a safe loader
    if not sys.dont_write_bytecode:
        with contextlib.suppress(OSError, ValueError):  # a value marshal does not know is read from its file each time
            copy.parent.mkdir(exist_ok=True)
            beside = copy.with_suffix(f".{os.getpid()}")
            beside.write_bytes(marshal.dumps((stamp, content)))
            beside.replace(copy)
    return content


def names(package: str, folder: str = ".", ending: str = ".yaml") -> tuple[str, ...]:
    """The data files of a package's folder, sorted, without their ending."""
    root = resources.files(package) if folder == "." else resources.files(package).joinpath(folder)
    return tuple(sorted(p.name.removesuffix(ending) for p in root.iterdir() if p.name.endswith(ending)))
