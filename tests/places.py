"""Where the repository and its examples are, for tests in any folder."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[1]
SPECS = ROOT / "specs"
FITTED = ("bakery-trailer", "floating-studio", "larch-hut")
"""The examples that state everything; the others are plans."""
