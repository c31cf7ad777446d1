"""Where gasdoc keeps for the next run what took long to make: with the user, not in the project, so that no stranger's project
can bring its own."""

from __future__ import annotations

import os
from pathlib import Path


def user_cache(name: str) -> Path:
    """The folder for things of a name. Raises RuntimeError for a user who has no home."""
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "gasdoc" / name
