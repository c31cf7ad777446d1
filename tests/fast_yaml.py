"""YAML by libyaml where it is there: what is written in Python alone takes ten times as long."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)


def read(path: Path) -> Any:
    """What a file holds."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=_LOADER)


def written(content: Any) -> str:
    """The text of what a file is to hold, its keys in their order."""
    text: str = yaml.dump(content, Dumper=_DUMPER, sort_keys=False, allow_unicode=True)
    return text
