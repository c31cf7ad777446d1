"""Reading the data files that ship with gasdoc, and a project's own files of the same kinds."""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import Any

import yaml

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@cache
def load(package: str, name: str) -> Any:
    """The YAML file `name` of `package`, such as load("gasdoc.regions", "us-cabin.yaml"). Treat it as read-only."""
    text = resources.files(package).joinpath(name).read_text(encoding="utf-8")
    return yaml.load(text, Loader=_LOADER)


def names(package: str, folder: str = ".", ending: str = ".yaml") -> tuple[str, ...]:
    """The data files of a package's folder, sorted, without their ending."""
    root = resources.files(package) if folder == "." else resources.files(package).joinpath(folder)
    return tuple(sorted(p.name.removesuffix(ending) for p in root.iterdir() if p.name.endswith(ending)))
