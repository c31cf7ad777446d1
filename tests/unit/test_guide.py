"""The guide for developers names what is there."""

from __future__ import annotations

import re

from places import ROOT

from gasdoc.regions.region import region_ids

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


def test_every_data_file_and_all_that_lies_flat_has_a_line_in_it() -> None:
    """A newcomer finds no file that the guide leaves out; regions are one file each, and said so."""
    regions = set(region_ids())
    report = [ROOT / "gasdoc" / "report" / name for name in ("content", "drawings", "formats", "pages", "site")]
    flat = [
        path.stem
        for folder in (*(ROOT / "gasdoc" / name for name in ("", "report", "catalog", "regions")), *report)
        for path in sorted(folder.iterdir())
        if not path.name.startswith("__") and path.stem not in regions
    ]
    assert len(flat) > 100
    assert [name for name in flat if not re.search(rf"\b{name}\b", GUIDE)] == []
    listed = GUIDE[GUIDE.index("What `gasdoc/report/` makes") : GUIDE.index("Imports run downwards only")]
    assert set(re.findall(r"`([a-z_]+)`", listed)) <= set(flat)
