"""Where the repository and its examples are, for tests in any folder."""

from __future__ import annotations

from pathlib import Path

from gasdoc.folder.contents import spec_files

ROOT = Path(__file__).parents[1]
SPECS = ROOT / "specs"
EXAMPLES = tuple(path.stem for path in spec_files(SPECS))
FITTED = ("bakery-trailer", "floating-studio", "larch-hut")
"""The examples that state everything; the others are plans."""
