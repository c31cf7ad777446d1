"""What js/page.js does on a page of the theme's own pieces: folds that open, boxes that scroll, ticks that are kept."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Literal

import pytest
from browser import PHONE
from markupsafe import Markup

from gasdoc.report.pages.shipped_files import templates_dir
from gasdoc.report.pages.templates import environment
from gasdoc.source import Citation

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Locator, Page

CONTENT = """<!doctype html><html lang="en"><head><title>Test</title><link rel="stylesheet" href="gasdoc.css">
<script src="page.js" defer></script></head><body><main id="content"><article class="record">
{% import "components.html" as ui %}
{{ ui.places([("first", "First"), ("second", "Second"), ("third", "Third"), ("deep", "Deep")]) }}
{{ ui.kept(code) }}
{{ ui.step(steps[0], 1, [], gate=True) }}
{{ ui.step(steps[1], 2, ["first"], gate=False) }}
{{ ui.step(steps[2], 3, ["first", "second"], gate=True) }}
{% call ui.fold("deep", "Deep", "a table") %}
{{ ui.table("Wide", ["a", "b"], [["x" * 400, "y"]], stacks=False) }}
{{ ui.table("Narrow", ["a", "b"], [["x", "y"]], stacks=False) }}
<p id="inside">Inside.</p>
{% endcall %}
{{ ui.photos(photos, belongs=True) }}
<div class="labels"><ul role="list"><li><strong>Valve</strong></li><li><strong>{{ long }}</strong></li></ul></div>
</article></main></body></html>"""
LONG = "x" * 80
"""A word as long as the longest name."""
SOURCE = Citation("Common practice, no source", "practice")


def step(identity: str, lines: int) -> SimpleNamespace:
    """A step with so many boxes, whose lines have a word that leads to the glossary."""
    word = Markup('<a class="term" href="#deep">{}</a>').format(identity)
    said = [
        SimpleNamespace(caution=i == 0, text=Markup("Do {} {}.").format(word, i), citation=SOURCE) for i in range(lines)
    ]
    return SimpleNamespace(
        id=identity,
        title=identity.capitalize(),
        lines=said,
        passes=Markup("All of {} holds.").format(word),
        stops=["Smell."],
        citation=SOURCE,
    )


def photo(of: str) -> SimpleNamespace:
    """A photo of something, as a page has it."""
    return SimpleNamespace(
        anchor=f"photo-{of}",
        of=of,
        belongs="#deep",
        alt=of,
        src="",
        large="",
        srcset="",
        width=0,
        height=0,
        numbers=[],
        date=None,
    )


def write(folder: Path, code: str) -> str:
    """The page for a state of the build; its address."""
    steps = [step("first", 2), step("second", 1), step("third", 1)]
    html = (
        environment(None)
        .from_string(CONTENT)
        .render(steps=steps, code=code, photos=[photo("Tee"), photo(LONG)], long=LONG)
    )
    (folder / "page.html").write_text(html, encoding="utf-8")
    for name in ("js/page.js", "css/gasdoc.css"):
        (folder / Path(name).name).write_bytes((templates_dir() / name).read_bytes())
    return (folder / "page.html").as_uri()


@pytest.fixture(scope="module")
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A phone that keeps what pages keep."""
    made = browser.new_context(viewport=PHONE)
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext, tmp_path: Path) -> Iterator[Page]:
    """The page, open, with every question answered by yes."""
    made = context.new_page()
    made.on("dialog", lambda dialog: dialog.accept())
    made.goto(write(tmp_path, "gt1-one"))
    yield made
    made.close()


def boxes(page: Page, identity: str) -> Locator:
    """The boxes of a step."""
    return page.locator(f"[data-step={identity}] .checklist input")


def gate(page: Page, identity: str) -> Locator:
    """The box of a step's gate."""
    return page.locator(f"[data-step={identity}] .gate input")


def test_a_gate_is_locked_until_its_boxes_and_the_steps_before_it_are_ticked(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert gate(page, "first").is_disabled()
    assert "2 boxes above" in page.locator("[data-step=first] .locked").inner_text()
    boxes(page, "third").check()
    assert gate(page, "third").is_disabled()
    assert "step 1 is not done" in page.locator("[data-step=third] .locked").inner_text()
    for box in boxes(page, "first").all():
        box.check()
    gate(page, "first").check()
    assert gate(page, "third").is_disabled()  # the second step has no gate, but a box
    boxes(page, "second").check()
    gate(page, "third").check()
    boxes(page, "first").first.uncheck()
    assert not gate(page, "first").is_checked() and not gate(page, "third").is_checked()
    assert "1 of 2 ticked" in page.locator("[data-step=first] summary").first.inner_text()


def test_ticks_are_kept_for_the_same_code_and_empty_for_another(page: Page, tmp_path: Path) -> None:
    status = page.locator(".kept [role=status]")
    page.goto(page.url + "#first")
    boxes(page, "first").first.check()
    page.reload()
    assert boxes(page, "first").first.is_checked()
    assert re.search(r"1 of 6 boxes ticked on \d{4}-\d\d-\d\d, for the tightness code gt1-one\.", status.inner_text())
    write(tmp_path, "gt1-two")
    page.reload()
    assert page.locator("input:checked").count() == 0
    assert "belonged to the code gt1-one" in status.inner_text()
    boxes(page, "first").first.check()
    page.get_by_role("button", name="Clear the ticks").click()
    assert page.locator("input:checked").count() == 0
    page.reload()
    assert page.locator("input:checked").count() == 0 and "belonged" not in status.inner_text()


def test_boxes_can_be_hit_with_a_thumb_and_have_names(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    places = page.locator(".tickable, .places summary, .places details a, .fold > summary, button:visible")
    assert min(place.bounding_box()["height"] for place in places.all()) >= 44  # type: ignore[index]  # all are visible
    assert page.get_by_role("checkbox", name="Do second 0.").count() == 1


def test_a_line_with_a_word_of_the_glossary_keeps_the_order_of_its_words(page: Page) -> None:
    page.goto(page.url + "#first")
    lines = page.locator("[data-step=first] .tickable label").all_inner_texts()
    assert [" ".join(line.split()) for line in lines] == [
        "! Do first 0.",
        "Do first 1.",
        "Gate: All of first holds. If not, stop here.",
    ]
    page.locator("[data-step=first] .checklist .term").last.click()
    page.wait_for_url("**#deep")
    assert page.locator("input:checked").count() == 0


@pytest.mark.parametrize("media", ["screen", "print"])
def test_no_word_is_too_long_for_a_column_of_photos_or_labels(page: Page, media: Literal["screen", "print"]) -> None:
    page.emulate_media(media=media)
    page.evaluate("document.querySelectorAll('table').forEach(table => table.remove())")  # one of them is wide on paper
    assert (
        page.locator(".labels strong, .photos figcaption").evaluate_all(
            "(all, width) => all.filter(one => one.scrollWidth > one.clientWidth || one.getBoundingClientRect().right > width).length",
            PHONE["width"],
        )
        == 0
    )


def test_an_address_opens_the_fold_it_leads_to(page: Page) -> None:
    fold = page.locator("details:has(#deep)").last
    opened = page.locator("details[open]:has(#deep)").last
    for anchor in ("deep", "inside"):
        page.goto(page.url.partition("#")[0] + f"#{anchor}")
        opened.wait_for(state="attached")
        fold.evaluate("one => one.open = false")
    page.get_by_text("On this page").click()
    page.locator(".places details").get_by_role("link", name="Deep").click()
    opened.wait_for(state="attached")
    page.locator(".places details:not([open])").wait_for(state="attached")


def test_only_a_box_that_scrolls_is_a_tab_stop(page: Page) -> None:
    page.goto(page.url + "#deep")
    page.locator(".scroll[tabindex]").wait_for()
    assert page.locator(".scroll[tabindex='0'][role=region]").evaluate_all("all => all.map(a => a.ariaLabel)") == [
        "Wide"
    ]


def test_without_scripts_there_is_a_box_for_a_pencil_and_no_word_of_ticks(browser: Browser, tmp_path: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(write(tmp_path, "gt1-one"))
    assert page.locator("input").count() == 0 and not page.locator(".kept").is_visible()
    context.close()
