"""The model of a spec: whatever a builder may state is read by something that a user sees."""

from __future__ import annotations

import html
import posixpath
import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jinja2
import pytest
from made_up_builds import THREE, european, study_of, text, two_stage
from places import ROOT

import gasdoc
from gasdoc.build import model
from gasdoc.report.formats.jsonout import study_json
from gasdoc.report.site.site import Order, make_site

HOME = Path(gasdoc.__file__).parent
READERS = tuple(path for path in (HOME / "build").iterdir() if path.name != "photos.py")
UNSEEN = (*READERS, HOME / "folder", HOME / "study" / "proof" / "dates_ahead.py")
"""What reads a key and shows nothing of it: the readers of specs, what compares two, what goes through all dates. What
finds the photos of a spec shows them."""
SEEN = (HOME, Path(jinja2.__file__).parent)
FORM = {
    "Element",
    "Spec.format",
    "Spec.supply",
    "Run.material",
    "Run.type",
    "Space.name",
    "Origin.build",
    "Origin.revision",
}
"""What the readers hand on themselves: the supply as a tree, a run's material with what it takes from the run before, what a
room is called, and the build that one is compared with."""


def blocks(of: type[model.Block] = model.Block) -> Iterator[type[model.Block]]:
    for block in of.__subclasses__():
        yield block
        yield from blocks(block)


def link(page: str, target: str) -> str:
    return posixpath.relpath(target, posixpath.dirname(page) or ".")


RECORDED = THREE | {
    "cover": {"file": "hut.svg", "alt": "The hut", "date": "2026-06-01", "place": "East side", "plate": "no"},
    "disturbances": [{"date": "2026-08-02", "time": "10:15", "kind": "moved", "note": "Craned to the other shore."}],
    "done": [{"task": "leak-check", "date": "2026-08-03", "note": "All dry."}],
    "seasons": [{"name": "Winter", "air": "-10 degF", "days": "20"}],
    "signed_off": {"by": "A fitter", "date": "2026-07-02", "note": "Certificate 12."},
    "regulator": THREE["regulator"]
    | {
        "hose": {
            "length": "2 ft",
            "bore": "3/8 in",
            "capacity": "90 kBtu/h",
            "legs": ["1 ft aft"],
            "manufactured": "2026-02-01",
        }
    },
}

PLANNED = {key: value for key, value in THREE.items() if key not in ("container", "fitted")} | {
    "coldest": "0 degC",
    "wishes": {
        "have": ["dot-20lb"],
        "room": {"length": "1 m", "width": "1 m", "height": "1 m"},
        "carry": "25 kg",
        "fill": "filled",
        "swap_at": "30 %",
        "budget": "500",
    },
}


@cache
def counts(file: str) -> bool:
    """Whether a key that is read in this file comes to pages, JSON or findings."""
    path = Path(file)
    return any(map(path.is_relative_to, SEEN)) and not any(map(path.is_relative_to, UNSEEN))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[set[str], dict[str, str]]:
    """The keys that were read while a site and JSON were made of the examples and some builds; the pages of that site."""
    read: set[str] = set()

    def reading(block: model.Block, name: str) -> Any:
        if name in type(block).model_fields and (key := f"{type(block).__name__}.{name}") not in read:
            if counts(sys._getframe(1).f_code.co_filename):
                read.add(key)
        return object.__getattribute__(block, name)

    folder = tmp_path_factory.mktemp("specs")
    (folder / "hut.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" width="3" height="2"/>', encoding="utf-8")
    for spec in (ROOT / "specs").glob("*.md"):
        (folder / spec.name).write_bytes(spec.read_bytes())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(model.Block, "__getattribute__", reading)
        for name, build in {
            "recorded": RECORDED,
            "two-stage": two_stage(),
            "european": european(),
        }.items():
            (folder / f"{name}.md").write_text(text(build), encoding="utf-8")
            study_json(study_of(build))
        (folder / "planned.md").write_text(text(PLANNED), encoding="utf-8")
        site = make_site(Order(folder, project_templates=None, link=link))
    return read, {page.uri: page.html for page in site.pages}


def test_every_key_is_read_by_what_makes_pages_json_or_findings(made: tuple[set[str], dict[str, str]]) -> None:
    read, _ = made
    keys = {f"{block.__name__}.{key}" for block in blocks() for key in block.model_fields if block.__name__ not in FORM}
    assert "Appliance.input" in read and len(keys) > 150
    unread = sorted(key for key in keys - read - FORM if not key.endswith(".id"))
    assert not unread, " ".join(unread)


@pytest.mark.parametrize(
    ("page", "shown"),
    [
        ("recorded/leak-test.md", ("2026-08-02 10:15", "It was moved", "Craned to the other shore.")),
        ("recorded/upkeep.md", ("2026-08-03", "All dry.")),
        ("recorded/referral.md", ("Certificate 12.",)),
        ("recorded/container.md", ("Winter, coldest air -10",)),
        ("bakery-trailer/index.md", ("listed for indoors; made 2022-10-01",)),
    ],
)
def test_what_a_record_says_stands_where_it_belongs(
    made: tuple[set[str], dict[str, str]], page: str, shown: tuple[str, ...]
) -> None:
    _, pages = made
    said = html.unescape(re.sub("<[^>]*>", "", pages[page])).replace("\N{MINUS SIGN}", "-")
    assert [words for words in shown if words not in said] == []
