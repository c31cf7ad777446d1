"""The page of what can be chosen: only where something is open, designs first, and never a verdict."""

from __future__ import annotations

import posixpath
import re
import shutil

import pytest
from places import ROOT, SPECS

from gasdoc.report.site.site import Order, make_site

PLAN = ROOT / "tests/unit/choices/plan.md"
PARTS = ("designs", "containers", "regulator", "tubing", "connectors")


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The pages of a plan and of a build that stands, by their places."""
    folder = tmp_path_factory.mktemp("plans") / "specs"
    folder.mkdir()
    shutil.copy(PLAN, folder / "plan.md")
    shutil.copy(SPECS / "larch-hut.md", folder)
    far = PLAN.read_text(encoding="utf-8").replace("must_last: 10 days", "must_last: 400 days")
    (folder / "far.md").write_text(far, encoding="utf-8")
    made = make_site(
        Order(
            folder,
            project_templates=None,
            link=lambda page, to: posixpath.relpath(to, posixpath.dirname(page) or "."),
        )
    )
    assert not made.failures
    return {page.uri: page.html for page in made.pages}


@pytest.fixture(scope="module")
def page(pages: dict[str, str]) -> str:
    """The page, as text."""
    return " ".join(re.sub(r"<[^>]+>", " ", pages["plan/choices.md"]).replace("&#160;", " ").split())


def test_only_a_build_with_something_open_has_the_page(pages: dict[str, str]) -> None:
    assert "plan/choices.md" in pages
    assert "larch-hut/choices.md" not in pages
    assert "What to choose" in pages["plan/whole.md"]


def test_designs_come_first_and_then_what_they_are_made_of(pages: dict[str, str]) -> None:
    places = [pages["plan/choices.md"].index(f'<h2 id="{name}"') for name in PARTS]
    assert places == sorted(places)


def test_each_design_says_what_takes_it(page: str) -> None:
    assert "gasdoc choose specs/plan.md --take design=usual" in page


def test_what_is_asked_of_the_regulator_is_what_the_plates_add_up_to(page: str) -> None:
    # 20 + 28 kBtu/h; 14,067 W over 50.1 MJ/kg of gross heat is 1.01 kg/h.
    assert "48 kBtu/h of gross heat, or 1.01 kg/h of gas" in re.sub(r"\([^)]*\) ", "", page)


def test_a_figure_from_memory_is_named(pages: dict[str, str]) -> None:
    rows = re.findall(r"<tr role=\"row\".*?</tr>", pages["plan/choices.md"], re.DOTALL)
    copper = next(row for row in rows if "copper-l-one-size" in row)
    assert "weight of the metal" in copper


def test_why_a_container_is_left_out_is_told(page: str) -> None:
    assert "4 × 20-lb cylinder, together It lasts about 6.8 days of such cold, and is to last 10 days." in page


def test_it_gives_no_verdict_and_never_advises_more_pressure(page: str) -> None:
    body = page[page.index("Still to be chosen") :].lower()
    assert not {"safe", "compliant", "approved"} & set(re.findall(r"[a-z]+", body))
    assert "never turn a regulator up" in body
    assert body.count("turn ") == body.count("never turn ")


def test_a_design_that_does_not_fit_is_not_offered_to_be_taken(pages: dict[str, str]) -> None:
    assert "nothing fits. This comes nearest" in pages["far/choices.md"]
    assert "--take design=" not in pages["far/choices.md"]
