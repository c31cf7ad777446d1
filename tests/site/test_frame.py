"""What holds of every page in a real browser: policy, widths, keyboard, print, accessibility."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from accessibility import pages_to_look_at
from browser import NARROW, PHONE, pages_of, resize, served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


MOVED = """() => new Promise(done => {
  let sum = 0;
  new PerformanceObserver(list => list.getEntries().forEach(e => { sum += e.value; }))
    .observe({type: 'layout-shift', buffered: true});
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(sum))));
})"""
"""How much has moved, once everything is loaded and two pictures of it have been drawn."""
FOCUSED = "(e => [e.className, e.id, e.getBoundingClientRect().top, e.getBoundingClientRect().bottom])(document.activeElement)"
HAS = "[document.querySelectorAll('meta[http-equiv=Content-Security-Policy]').length, getComputedStyle(document.body).margin]"
CLOSED_HEIGHT = (
    "document.querySelectorAll('details').forEach(d => d.open = false), document.documentElement.scrollHeight"
)
STOPS = """() => [...document.querySelectorAll("[tabindex='0'], .scroll")].filter(box => box.checkVisibility()
  && (box.scrollWidth > box.clientWidth) !== (box.tabIndex === 0)).map(box => box.outerHTML.slice(0, 90))"""
TARGETS = """() => [...document.querySelectorAll(".menu summary, .menu details a, .places summary, .places details a, .fold > summary, "
  + ".tickable")].filter(one => one.checkVisibility() && one.getBoundingClientRect().height < 44).map(one => one.outerHTML.slice(0, 90))"""
OPENED_WIDTH = "document.querySelectorAll('details').forEach(d => d.open = true), document.documentElement.scrollWidth"


def opened(browser: Browser, **options: Any) -> Page:
    """A page in a context of its own."""
    return browser.new_context(**options).new_page()


def complaints_of(page: Page, base: str) -> list[str]:
    """A list that grows by what the console and the network complain of, and by requests that leave the site."""
    found: list[str] = []
    page.on("console", lambda message: found.append(f"{page.url}: {message.text}"))
    page.on("pageerror", lambda error: found.append(f"{page.url}: {error}"))
    page.on("dialog", lambda dialog: found.append(f"{page.url}: a dialog"))
    page.on(
        "response", lambda answer: answer.status < 400 or found.append(f"{page.url}: {answer.url}: {answer.status}")
    )  # type: ignore[call-overload]  # what a listener returns is not read
    page.on("request", lambda request: request.url.startswith((base, "data:")) or found.append(request.url))  # type: ignore[call-overload]  # what a listener returns is not read
    return found


@dataclass(frozen=True)
class Walk:
    """What was seen of the pages of a site, each opened once on a phone."""

    pages: int
    complaints: list[str]
    moved: dict[str, float]
    skips: dict[str, list[Any]]
    wide: list[str]
    without: list[str]
    screens: dict[str, float]
    stops: dict[str, list[str]]
    small: dict[str, list[str]]


@pytest.fixture(scope="module", params=["sample", "example"])
def walk(request: pytest.FixtureRequest, browser: Browser) -> Walk:
    """Every page of each site in turn: loaded, left by the first key, opened, at two widths."""
    site: Path = request.getfixturevalue(f"{request.param}_sites")["files"]
    page = opened(browser, viewport=PHONE)
    made = Walk(len(pages_of(site)), [], {}, {}, [], [], {}, {}, {})
    with served(site) as base:
        complaints = complaints_of(page, base)
        for name in pages_of(site):
            page.goto(f"{base}/{name}")
            if page.evaluate(HAS) != [1, "0px"]:
                made.without.append(name)
            made.moved[name] = page.evaluate(MOVED)
            page.keyboard.press("Tab")
            first = page.evaluate(FOCUSED)
            page.keyboard.press("Enter")
            made.skips[name] = [*first, *page.evaluate(FOCUSED)]
            for viewport in (PHONE, NARROW):
                if viewport is not PHONE:
                    resize(page, viewport)
                if (found := page.evaluate(OPENED_WIDTH)) > viewport["width"]:
                    made.wide.append(f"{name}: {found} at {viewport['width']}")
            resize(page, PHONE)
            made.stops[name], made.small[name] = page.evaluate(STOPS), page.evaluate(TARGETS)
            made.screens[name] = page.evaluate(CLOSED_HEIGHT) / PHONE["height"]
    page.context.close()
    made.complaints.extend(complaints)
    return made


def test_nothing_breaks_the_content_policy(walk: Walk) -> None:
    assert walk.pages > 3
    assert walk.complaints == []


def test_nothing_breaks_the_content_policy_where_addresses_name_folders(
    browser: Browser, sites: dict[str, Path]
) -> None:
    """Of the pages that have every piece of all: `walk` has been on all others, and test_markup follows every link."""
    page = opened(browser, viewport=PHONE)
    with served(sites["folders"]) as base:
        complaints = complaints_of(page, base)
        for name in pages_to_look_at(sites["folders"]):
            page.goto(f"{base}/{name}")
    page.context.close()
    assert complaints == []


def test_every_page_has_its_policy_and_the_style(walk: Walk) -> None:
    assert walk.without == []


def test_nothing_moves_while_a_page_loads(walk: Walk) -> None:
    assert {name: moved for name, moved in walk.moved.items() if moved > 0.01} == {}


def test_no_page_scrolls_sideways(walk: Walk) -> None:
    assert walk.wide == []


LONG = ("log.html", "measuring-sheet.html", "keys.html", "whole.html")
"""Pages that may be long: a log, what is read on paper, a reference of keys."""


def test_no_page_is_longer_than_six_screens_of_a_phone_with_its_folds_closed(walk: Walk) -> None:
    long = {name: round(screens, 2) for name, screens in walk.screens.items() if screens > 6}
    assert {name: screens for name, screens in long.items() if not name.endswith(LONG)} == {}


def test_a_box_is_a_tab_stop_where_it_scrolls_and_nowhere_else(walk: Walk) -> None:
    assert {name: boxes for name, boxes in walk.stops.items() if boxes} == {}


def test_menus_folds_and_lists_to_tick_can_be_hit_with_a_thumb(walk: Walk) -> None:
    assert {name: small for name, small in walk.small.items() if small} == {}


def test_the_first_key_press_offers_to_skip_to_the_content(walk: Walk) -> None:
    assert len(walk.skips) == walk.pages
    for name, (offered, _, top, bottom, _, reached, _, _) in walk.skips.items():
        assert offered == "skip" and top >= 0 and bottom > top, name
        assert reached == "content", name


def test_a_missing_address_gets_the_sites_own_page(page: Page, address: str) -> None:
    page.goto(f"{address}/some/where/else.html")
    assert page.locator("h1").inner_text() == "Page not found"
    assert page.evaluate("getComputedStyle(document.body).marginTop") == "0px"  # the style sheet was found


def test_opens_from_a_folder(page: Page, sites: dict[str, Path]) -> None:
    for site in sites.values():
        page.goto((site / "index.html").as_uri())
        page.locator("main a").first.click()
        page.wait_for_load_state()
        assert page.locator("h1").count() == 1
        assert page.evaluate("getComputedStyle(document.body).marginTop") == "0px"
        page.locator(".site-name a").click()
        page.wait_for_url((site / "index.html").as_uri())


def test_keyboard_focus_can_be_seen_everywhere(page: Page, sample_sites: dict[str, Path]) -> None:
    page.set_viewport_size(PHONE)
    page.goto((sample_sites["files"] / "larch-hut" / "supply.html").as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    there = page.locator(":is(a[href], summary, [tabindex='0']):visible").count()
    seen = 0
    while True:
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
        seen += 1
        outline = page.evaluate(
            "(s => [s.outlineStyle, parseFloat(s.outlineWidth)])(getComputedStyle(document.activeElement))"
        )
        inside = page.evaluate(
            "(r => r.bottom > 0 && r.top < innerHeight)(document.activeElement.getBoundingClientRect())"
        )
        assert outline == ["solid", 3.0] and inside, page.evaluate("document.activeElement.outerHTML.slice(0, 120)")
    assert seen == there > 10


def test_print_is_light_without_menus_and_with_everything_open(page: Page, sample_sites: dict[str, Path]) -> None:
    page.emulate_media(color_scheme="dark")
    page.goto((sample_sites["files"] / "larch-hut" / "supply.html").as_uri())
    dark = page.evaluate("getComputedStyle(document.body).color")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(35, 31, 26)" != dark
    assert not any(nav.is_visible() for nav in page.locator("nav").all())
    assert page.get_by_text("62 = 18 + 44.").is_visible()
    assert page.evaluate("getComputedStyle(document.querySelector('thead')).display") == "table-header-group"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_cautions_and_page_number_stand_on_every_sheet(
    page: Page, sample_sites: dict[str, Path], pdftotext: str, tmp_path: Path, paper: str
) -> None:
    page.goto((sample_sites["files"] / "larch-hut" / "supply.html").as_uri())
    page.pdf(path=str(tmp_path / "page.pdf"), format=paper)
    text = subprocess.run(
        [pdftotext, "-layout", str(tmp_path / "page.pdf"), "-"], capture_output=True, text=True, check=True
    )
    sheets = text.stdout.rstrip("\f\n").split("\f")
    assert len(sheets) > 1
    for number, sheet in enumerate(sheets, 1):
        assert "Not signed off." in sheet and "Propane is heavier than air" in sheet, number
        assert "Computed, not certified." in sheet and f"{number}/{len(sheets)}" in sheet.replace(" ", ""), number
    assert "https://example.org/method" in text.stdout
