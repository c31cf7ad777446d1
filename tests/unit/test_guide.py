"""The guide for developers names what is there."""

from __future__ import annotations

import re

from places import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
NAMED = sorted(set(re.findall(r"`([A-Za-z_.]+(?:/[A-Za-z_.]+)+/?)`", GUIDE)))
MADE = {"specs/parts.yaml", "site/", "benchmarks/"}
"""What a project or a run has, not the repository."""


def test_every_path_that_the_guide_names_is_there() -> None:
    assert len(NAMED) > 50
    gone = [
        name
        for name in NAMED
        if name not in MADE
        and not any(
            (base / name).exists() or list(base.glob(f"{name}.*")) for base in (ROOT, ROOT / "gasdoc", ROOT / "tests")
        )
    ]
    assert gone == []
