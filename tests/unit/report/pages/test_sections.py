"""A page added as DEVELOPERS.md says: a view, a template, one row."""

from __future__ import annotations

import posixpath
import re
from typing import Any

import pytest
from made_up_builds import THREE, text
from places import ROOT

from gasdoc.report.pages import sections
from gasdoc.report.pages.sections import Leaf, Section
from gasdoc.report.site.site import Order, make_site

TEMPLATE = '{% extends "pages/base.html" %}{% block body %}<h2 id="burners">Burners</h2><p>{{ burners }} of them.</p>{% endblock %}'


def view(leaf: Leaf) -> dict[str, Any]:
    return {"burners": len(leaf.study.served)}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder, templates = tmp_path_factory.mktemp("specs"), tmp_path_factory.mktemp("templates")
    (templates / "pages").mkdir()
    (templates / "pages/burners.html").write_text(TEMPLATE, encoding="utf-8")
    (folder / "hut.md").write_text(text(THREE | {"title": "First Hut"}), encoding="utf-8")
    row = Section("burners", "Burners", "Every burner of {}.", view)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sections, "SECTIONS", (*sections.SECTIONS, row))
        site = make_site(
            Order(
                folder,
                project_templates=templates,
                link=lambda page, to: posixpath.relpath(to, posixpath.dirname(page)),
            )
        )
    assert not site.failures
    told = {page.uri: page.html for page in site.pages}
    told |= {asset.uri: asset.content.decode() for asset in site.assets if asset.uri.endswith(".js")}
    told["menu"] = " ".join(item.title for page in site.pages if page.uri == "hut/supply.md" for item in page.menu)
    told["head"] = next(page.title + page.description for page in site.pages if page.uri == "hut/burners.md")
    return told


def test_it_has_a_place_a_head_and_a_line_in_the_menu(made: dict[str, str]) -> None:
    assert "<p>3 of them.</p>" in made["hut/burners.md"]
    assert made["head"] == "Burners - First HutEvery burner of First Hut."
    assert made["menu"].endswith("Build log Burners")


def test_the_whole_record_and_the_search_have_it(made: dict[str, str]) -> None:
    assert "3 of them." in made["hut/whole.md"] and 'href="#burners"' in made["hut/whole.md"]
    assert "3 of them." in made["search-index.js"]


def test_every_template_of_a_page_is_asked_for() -> None:
    code = "".join(path.read_text(encoding="utf-8") for path in sorted((ROOT / "gasdoc").rglob("*.py")))
    within = "".join(path.read_text(encoding="utf-8") for path in sorted((ROOT / "site_templates").rglob("*.html")))
    every = (*sections.SECTIONS, *sections.SHEETS, *sections.APPENDIX, sections.BOOKLET)
    asked = {section.slug for section in every}
    asked |= set(re.findall(r'"pages/([a-z-]+)\.html"', code + within))
    assert {path.stem for path in (ROOT / "site_templates/pages").iterdir()} == asked


def test_a_build_has_no_page_of_what_it_does_not_have(made: dict[str, str]) -> None:
    assert "hut/choices.md" not in made and "What to choose" not in made["menu"]
