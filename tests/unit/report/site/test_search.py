"""The search index: what can be found, and that it stays small."""

from __future__ import annotations

import json
from typing import Any

import pytest
from places import SPECS as EXAMPLES

from gasdoc.folder.check import study_file
from gasdoc.report.site import search
from gasdoc.report.site.site import Order, make_site
from gasdoc.study import Study

SPECS = sorted(p for p in EXAMPLES.glob("*.md") if p.name != "guide.md")


Made = tuple[list[Study], bytes, dict[str, Any]]


@pytest.fixture(scope="module")
def made() -> Made:
    """The example builds, the script and what it holds."""
    studies = [one for one in (study_file(path).study for path in SPECS) if one is not None]
    site = make_site(Order(EXAMPLES, project_templates=None, link=lambda page, target: target))
    raw = next(asset.content for asset in site.assets if asset.uri == search.INDEX)
    text = raw.decode("utf-8")
    assert text.startswith("var gasdocIndex=") and text.endswith(";\n")
    return studies, raw, json.loads(text.removeprefix("var gasdocIndex=").removesuffix(";\n"))


def entries(found: dict[str, Any], kind: str) -> list[tuple[str, str, str]]:
    """The place, the name and the text of every entry of a kind."""

    def text(value: str | int) -> str:
        return found["texts"][value] if isinstance(value, int) else value

    return [
        (
            links[entry[2] if len(entry) > 2 else 0] + (f"#{entry[3]}" if len(entry) > 3 and entry[3] else ""),
            text(entry[1]),
            " ".join(map(text, entry[4] if len(entry) > 4 else [])),
        )
        for _, links, rows in found["builds"]
        for entry in rows
        if search.KINDS[entry[0]] == kind
    ]


def test_parts_findings_appliances_and_runs_are_in_it_with_where_they_stand(made: Made) -> None:
    studies, _, found = made
    for study, build in zip(studies, found["builds"], strict=True):
        title, links, rows = build
        assert title == study.build.spec.title
        assert all(0 <= entry[2] < len(links) for entry in rows if len(entry) > 2)
        own = found | {"builds": [build]}
        assert {item.name for item in study.materials} == {name for _, name, _ in entries(own, "part")}
        assert {finding.message for finding in study.findings} <= {name for _, name, _ in entries(own, "finding")}
        runs = {name for _, name, _ in entries(own, "run")}
        assert runs == {f"{study.build.labels[run.id]} ({run.id})" for zone in study.zones for run in zone.runs}
        appliances = [name.partition(",")[0] for _, name, _ in entries(own, "appliance")]
        assert appliances == [served.appliance.name for served in study.served]


def test_headings_log_cautions_tasks_and_places_are_in_it_each_with_its_own_address(made: Made) -> None:
    _, _, found = made
    for kind, place, words in (
        ("log", "floating-studio/log.md#2026-03-21-", "kiln on the quay"),  # what a picture shows
        ("caution", "larch-hut/cautions.md#caution-heavier-than-air", ""),
        ("section", "bakery-trailer/materials.md#cost", "Prices as given"),
        ("task", "larch-hut/upkeep.md#task-", ""),
        ("place", "larch-hut/door-sheet.md", ""),
        ("part", "larch-hut/materials.md#part-", ""),
    ):
        assert any(at.startswith(place) and words in text for at, _, text in entries(found, kind)), (kind, place)


def test_every_address_of_a_part_is_there_once(made: Made) -> None:
    places = [place for place, _, _ in entries(made[2], "part")]
    assert len(places) == len(set(places))


def test_keys_are_found_with_what_they_say() -> None:
    found = {one.text.partition(":")[0]: one for one in search.keys(lambda page, target: target).found}
    assert found["min_inlet"].anchor == "key-appliance-min_inlet" and "Lowest inlet pressure" in found["min_inlet"].text


def test_words_that_mean_the_same_stand_in_one_row() -> None:
    rows = [set(row) for row in search.alike()]
    for one, other in (("carbon monoxide", "co"), ("odour", "odor"), ("alarm", "detector"), ("cooker", "hob")):
        assert any({one, other} <= row for row in rows), one


def test_it_takes_some_tens_of_kilobytes_a_build(made: Made) -> None:
    studies, raw, _ = made
    assert len(raw) / len(studies) < 65_000  # log, photos, parts, and how each section begins; a third of it compressed


def test_no_text_can_end_the_script(made: Made) -> None:
    _, raw, _ = made
    assert raw.count(b"\n") == 1 and "\u2028".encode() not in raw
