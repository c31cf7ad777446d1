"""What people do on the example site: look at a build, find one, find a part, print."""

from __future__ import annotations

import gzip
import re
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest
from browser import DESKTOP, PHONE, pages_of, resize

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, ViewportSize

BUILDS = ("bakery-trailer", "floating-studio", "larch-hut", "wood-shop-plan")
BUILT = ["Bakery Trailer", "Floating Studio", "Larch Hut"]
PLANNED = ["Wood-shop Trailer", "Wood-shop Trailer, nothing to lift"]
MOST = 150_000
"""Bytes a page may take on its way, compressed, with its styles and scripts but without photos (the requirement)."""


@pytest.fixture
def site(example_sites: dict[str, Path]) -> Path:
    """The example site, with addresses that name files."""
    return example_sites["files"]


@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize(("viewport", "screens"), [(DESKTOP, 1), (PHONE, 2)], ids=["desktop", "phone"])
def test_the_overview_answers_within_the_first_screens(
    page: Page, site: Path, build: str, viewport: ViewportSize, screens: int
) -> None:
    page.set_viewport_size(viewport)
    page.goto((site / build / "index.html").as_uri())
    asked = page.locator(".answers dt").all_inner_texts()
    boxes = "all => all.map(e => [e.className, e.getBoundingClientRect()]).map(([name, box]) => [name, [box.height, box.bottom]])"
    at = dict(page.eval_on_selector_all(".cover, .ways, .answers", boxes))
    assert asked == [
        "What is it?",
        "How far is it?",
        "Does the gas get there?",
        "Will it last a cold night?",
        "What is wrong?",
        "What is next?",
    ]
    assert at["ways"][1] <= viewport["height"]  # after picture, standing, caution and how far
    picture = at["cover"][0] if "cover" in at else 0  # comes first; the words may take what they took without one
    assert at["answers"][1] <= screens * viewport["height"] + picture


def names(page: Page) -> list[str]:
    """The builds that the index shows, in its order."""
    return page.locator("#builds > li:visible h2 a").all_inner_texts()


def test_the_index_is_sorted_and_filtered_by_keyboard_and_says_what_it_shows(page: Page, site: Path) -> None:
    page.goto((site / "index.html").as_uri())
    assert names(page) == BUILT + PLANNED
    status = page.locator(".filter [role=status]")
    page.get_by_label("Find").focus()
    page.keyboard.type("boat")
    assert names(page) == ["Floating Studio"]
    assert status.inner_text() == "1 of 5 builds, by name."
    for _ in "boat":
        page.keyboard.press("Backspace")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # opens what else there is to find by
    page.get_by_label("Order").select_option("largest load first")
    # In W, whatever unit each build shows: 9 kW is less than 32, 57 and 80 kBtu/h.
    assert names(page) == ["Bakery Trailer", "Larch Hut", *PLANNED, "Floating Studio"]
    assert status.inner_text() == "5 of 5 builds, largest load first."
    word = page.locator("#builds > li").last.get_attribute("data-standing")
    page.get_by_label("Standing").select_option(word)
    assert names(page) == ["Floating Studio"]


def test_index_and_search_work_without_scripts(browser: Browser, site: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((site / "index.html").as_uri())
    assert names(page) == BUILT + PLANNED
    assert not page.locator("form").is_visible()
    page.goto((site / "search.html").as_uri())
    assert not page.locator("form").is_visible()
    assert page.locator("main li a").all_inner_texts() == BUILT + PLANNED
    context.close()


ASKED = [
    "cold",
    "propane",
    "carbon monoxide",
    "smell",
    "vent",
    "drain",
    "cost",
    "price",
    "altitude",
    "manometer",
    "excess flow",
    "CSST",
    "BTU",
    "tubing size",
    "shutoff",
    "detector",
    "inspector",
    "fitter",
    "days",
    "chain",
    "kiln",
    "generator",
    "fatigue",
    "who may sign",
]


def test_search_finds_what_people_ask_for_whole_words_first(page: Page, site: Path) -> None:
    page.goto((site / "search.html").as_uri())
    for words in ASKED:
        page.get_by_role("searchbox").fill(words)
        assert page.locator("#search-results mark").count(), words
    page.get_by_role("searchbox").fill("tee")
    for item in page.locator("#search-results li").all_inner_texts()[:5]:
        assert re.search(r"\btee\b", item), item  # and not "steel"
    for words in ("price", "chain", "inspector"):  # what builds have comes before the keys of a spec
        page.get_by_role("searchbox").fill(words)
        assert page.locator("#search-results .label").first.inner_text().strip() != "key", words


def test_search_finds_a_build_a_finding_and_a_part_from_a_folder(page: Page, site: Path) -> None:
    page.goto((site / "search.html").as_uri())
    field = page.get_by_role("searchbox")
    assert not page.locator("#search-without").is_visible()
    for words, kind, text in (
        ("bakery", "build", "Bakery Trailer"),
        ("thread sealant larch", "part", "thread sealant"),
        ("exhaust", "finding", "engine's exhaust"),
        ("deck oven", "appliance", "Deck oven"),
    ):
        field.fill(words)
        found = page.locator(".found li").filter(has=page.locator(f".label:text-is('{kind}')")).first
        assert text in found.inner_text(), words
        assert re.fullmatch(r"\d+ found(\.|; the first 60 are shown\.)", page.locator("#search-status").inner_text())
        place, _, anchor = (found.locator("a").get_attribute("href") or "").partition("#")
        assert (site / place).is_file(), words
        assert not anchor or f'id="{anchor}"' in (site / place).read_text(encoding="utf-8"), words
    field.fill("no such thing anywhere")
    assert page.locator("#search-status").inner_text() == "Nothing found."
    page.goto((site / "search.html").as_uri() + "?q=larch")
    assert page.locator(".found li").count() > 5


def test_no_page_is_heavy(site: Path) -> None:
    def weight(path: Path) -> int:
        return len(gzip.compress(path.read_bytes(), mtime=0))

    heavy = {}
    for name in pages_of(site):
        path = site / name
        html = path.read_text(encoding="utf-8")
        used = re.findall(r'<(?:link rel="stylesheet" href|script src)="([^"]+)"', html)
        total = weight(path) + sum(
            weight(site / link[1:] if link.startswith("/") else path.parent / link) for link in used
        )
        assert used
        if total > MOST:
            heavy[name] = total
    assert heavy == {}


@pytest.mark.parametrize("build", BUILDS)
def test_an_overview_without_its_cover_weighs_at_most_120_kilobytes(site: Path, build: str) -> None:
    files = (f"{build}/index.html", "css/gasdoc.css", "js/page.js")
    assert sum((site / name).stat().st_size for name in files) <= 120_000  # as they are, not compressed


def test_every_picture_has_a_title_a_description_and_its_numbers_as_text(site: Path) -> None:
    seen = 0
    for name in pages_of(site):
        html = (site / name).read_text(encoding="utf-8")
        for figure in re.findall(r'<figure class="(?:chart|drawing)">.*?</figure>', html, re.DOTALL):
            svg = figure[figure.index("<svg") :]
            linked = (
                "<a " in svg[: svg.index("</svg>")]
            )  # what has links inside is a group: no reader looks into an image
            assert f'role="{"group" if linked else "img"}"' in svg, name
            ids = re.search(r'aria-labelledby="([^"]+)"', svg)
            assert ids and all(f'id="{one}"' in svg for one in ids[1].split()), name
            assert re.search(r"<title[^>]*>[^<]{5,}</title>", svg) and re.search(r"<desc[^>]*>[^<]{5,}</desc>", svg), (
                name
            )
            seen += 1
        if '<figure class="chart">' in html:
            assert "<table" in html, name
    assert seen > 10


def test_the_contents_of_the_whole_lead_to_its_parts(page: Page, site: Path) -> None:
    page.goto((site / "larch-hut" / "whole.html").as_uri())
    links = page.locator(".contents a")
    assert links.count() >= 10
    for link in links.all():
        target = (link.get_attribute("href") or "").removeprefix("#")
        assert page.locator(f"section[id='{target}'] > h2").inner_text() == link.inner_text()
    # Links between pages of the build have become links within the page.
    inner = page.eval_on_selector_all(".part a", "all => all.map(a => a.getAttribute('href'))")
    assert not [href for href in inner if re.match(r"(supply|container|referral|cautions|upkeep)\.html", href)]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_picture_can_be_read_on_a_phone(page: Page, site: Path, scheme: Literal["light", "dark"]) -> None:
    page.set_viewport_size({"width": 358, "height": 800})
    page.emulate_media(color_scheme=scheme)
    for name in ("supply", "container", "upkeep"):
        page.goto((site / "larch-hut" / f"{name}.html").as_uri())
        sizes = page.eval_on_selector_all(
            "figure svg text", "all => all.map(t => t.getBoundingClientRect().height).filter(h => h > 0)"
        )
        assert sizes and min(sizes) >= 8.5, name
        wide = page.eval_on_selector_all(
            "figure svg", "all => Math.max(...all.map(s => s.getBoundingClientRect().right))"
        )
        assert wide <= 358, name


OVER = """all => all.flatMap(svg => {
  const words = [...svg.querySelectorAll("text")].map(t => [t.textContent, t.getBoundingClientRect()]);
  return words.flatMap(([a, one], i) => words.slice(i + 1).filter(([b, other]) =>
    Math.min(one.right, other.right) - Math.max(one.left, other.left) > 0.5 &&
    Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top) > 2.5).map(([b]) => `${a} | ${b}`));
})"""
"""Words of a picture that lie on one another, by the boxes of the browser's own font."""


@pytest.mark.parametrize("build", ["larch-hut", "bakery-trailer", "floating-studio"])
def test_no_words_of_a_drawn_line_lie_on_one_another(page: Page, site: Path, build: str) -> None:
    """By the boxes of the browser's own font, where the drawing was laid out by a table of letters."""
    page.set_viewport_size(PHONE)
    page.goto((site / build / "line.html").as_uri())
    over = page.eval_on_selector_all(
        ".scroll svg.route",
        OVER,
    )
    drawn = page.eval_on_selector_all(".scroll svg.route", "all => all.map(svg => svg.querySelectorAll('text').length)")
    # A phone pans within the box: the page itself stays as wide as its screen, and the letters keep their size.
    wide = page.evaluate("document.documentElement.scrollWidth")
    size = page.eval_on_selector_all(
        ".scroll svg.route text", "all => Math.min(...all.map(t => t.getBoundingClientRect().height))"
    )
    # On paper, 180 mm of A4 between its margins: what is wider makes the browser print the whole sheet smaller.
    page.emulate_media(media="print")
    resize(page, {"width": 681, "height": 1000})
    on_paper = page.evaluate("document.documentElement.scrollWidth")
    assert len(drawn) == 3 and min(drawn) > 10
    assert over == []
    assert wide <= 390 and size >= 11
    assert on_paper <= 681


@pytest.mark.parametrize("width", [390, 1280])
def test_no_words_of_a_drawn_mount_lie_on_one_another(page: Page, site: Path, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 844})
    for build in ("larch-hut", "bakery-trailer", "floating-studio"):
        page.goto((site / build / "container.html").as_uri())
        mounts = "figure:has(.shell, .asked) svg"
        assert page.locator(mounts).count() >= 2, build
        assert page.eval_on_selector_all(mounts, OVER) == [], build
        assert page.evaluate("document.documentElement.scrollWidth") <= width, build
