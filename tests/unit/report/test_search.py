"""The search index: what can be found, and that it stays small."""

from __future__ import annotations

import json
from typing import Any

import pytest
from places import SPECS as EXAMPLES

from gasdoc.folder.check import study_file
from gasdoc.report import pages, search
from gasdoc.study import Study

SPECS = sorted(p for p in EXAMPLES.glob("*.md") if p.name != "guide.md")


@pytest.fixture(scope="module")
def studies() -> list[Study]:
    """The example builds."""
    found = [study_file(path).study for path in SPECS]
    return [one for one in found if one is not None]


def index(studies: list[Study]) -> tuple[bytes, dict[str, list[Any]]]:
    """The script, and what it holds."""
    raw = search.index(
        [search.entries(study, lambda page, target: target, pages.SECTIONS) for study in studies]
    ).content
    text = raw.decode("utf-8")
    assert text.startswith("var gasdocIndex=") and text.endswith(";\n")
    return raw, json.loads(text.removeprefix("var gasdocIndex=").removesuffix(";\n"))


def test_parts_findings_appliances_and_runs_are_in_it_with_where_they_stand(studies: list[Study]) -> None:
    _, found = index(studies)
    for study, (title, links, entries) in zip(studies, found["builds"], strict=True):
        assert title == study.build.spec.title
        texts = {(search.KINDS[entry[0]], entry[1]) for entry in entries}
        assert {("part", item.name) for item in study.materials} <= texts
        assert {("finding", finding.message) for finding in study.findings} <= texts
        assert all(0 <= entry[2] < len(links) for entry in entries if len(entry) > 2)


def test_it_takes_a_few_kilobytes_a_build(studies: list[Study]) -> None:
    raw, _ = index(studies)
    assert len(raw) / len(studies) < 8_000  # a few kB; these builds have about fifty parts each


def test_no_text_can_end_the_script(studies: list[Study]) -> None:
    raw, _ = index(studies)
    assert raw.count(b"\n") == 1 and "\u2028".encode() not in raw
