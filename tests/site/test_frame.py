"""What holds of every page in a real browser: policy, widths, keyboard, print, accessibility."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from browser import DESKTOP, NARROW, PHONE, pages_of, served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

COLOURS = ["color-contrast", "link-in-text-block"]
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def opened(browser: Browser, **options: Any) -> Page:
    """A page in a context of its own, which remembers what the console and the network complained of."""
    return browser.new_context(**options).new_page()


@pytest.mark.parametrize("mode", ["folders", "files"])
def test_nothing_breaks_the_content_policy(browser: Browser, sites: dict[str, Path], mode: str) -> None:
    page = opened(browser, viewport=PHONE)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(f"{page.url}: {message.text}"))
    page.on(
        "response",
        lambda answer: answer.status < 400 or complaints.append(f"{page.url}: {answer.url}: {answer.status}"),
    )
    page.on("request", lambda request: request.url.startswith((base, "data:")) or complaints.append(request.url))
    with served(sites[mode]) as base:
        for name in pages_of(sites[mode]):
            page.goto(f"{base}/{name}")
    page.context.close()
    assert complaints == []


def test_a_missing_address_gets_the_sites_own_page(browser: Browser, address: str) -> None:
    page = opened(browser)
    page.goto(f"{address}/some/where/else.html")
    assert page.locator("h1").inner_text() == "Page not found"
    assert page.evaluate("getComputedStyle(document.body).marginTop") == "0px"  # the style sheet was found
    page.context.close()


@pytest.mark.parametrize("width", [320, 390])
def test_no_page_scrolls_sideways(browser: Browser, site: Path, address: str, width: int) -> None:
    page = opened(browser, viewport={"width": width, "height": 800})
    wide = []
    for name in pages_of(site):
        page.goto(f"{address}/{name}")
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        if (found := page.evaluate("document.documentElement.scrollWidth")) > width:
            wide.append(f"{name}: {found}")
    page.context.close()
    assert wide == []


def test_opens_from_a_folder(browser: Browser, sites: dict[str, Path]) -> None:
    page = opened(browser)
    for site in sites.values():
        page.goto((site / "index.html").as_uri())
        page.locator("main a").first.click()
        assert page.locator("h1").count() == 1
        assert page.evaluate("getComputedStyle(document.body).marginTop") == "0px"
        page.locator(".site-name a").click()
        assert page.url == (site / "index.html").as_uri()
    page.context.close()


def test_the_first_key_press_offers_to_skip_to_the_content(browser: Browser, site: Path, address: str) -> None:
    page = opened(browser, viewport=PHONE)
    for name in pages_of(site):
        page.goto(f"{address}/{name}")
        page.keyboard.press("Tab")
        box = page.evaluate("(r => [r.top, r.bottom])(document.activeElement.getBoundingClientRect())")
        assert page.evaluate("document.activeElement.className") == "skip", name
        assert box[0] >= 0 and box[1] > box[0], name
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "content", name
    page.context.close()


def test_keyboard_focus_can_be_seen_everywhere(browser: Browser, sample_sites: dict[str, Path]) -> None:
    page = opened(browser, viewport=PHONE)
    page.goto((sample_sites["files"] / "larch-hut" / "supply.html").as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    there = page.locator("a[href], summary, [tabindex='0']").count()
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
    page.context.close()


def test_print_is_light_without_menus_and_with_everything_open(browser: Browser, sample_sites: dict[str, Path]) -> None:
    page = opened(browser, viewport=DESKTOP, color_scheme="dark")
    page.goto((sample_sites["files"] / "larch-hut" / "supply.html").as_uri())
    dark = page.evaluate("getComputedStyle(document.body).color")
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(33, 31, 27)" != dark
    assert not any(nav.is_visible() for nav in page.locator("nav").all())
    assert page.get_by_text("62 = 18 + 44.").is_visible()
    assert page.evaluate("getComputedStyle(document.querySelector('thead')).display") == "table-header-group"
    page.context.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_cautions_and_page_number_stand_on_every_sheet(
    browser: Browser, sample_sites: dict[str, Path], pdftotext: str, tmp_path: Path, paper: str
) -> None:
    page = opened(browser)
    page.goto((sample_sites["files"] / "larch-hut" / "supply.html").as_uri())
    page.pdf(path=str(tmp_path / "page.pdf"), format=paper)
    page.context.close()
    text = subprocess.run(
        [pdftotext, "-layout", str(tmp_path / "page.pdf"), "-"], capture_output=True, text=True, check=True
    )
    sheets = text.stdout.rstrip("\f\n").split("\f")
    assert len(sheets) > 1
    for number, sheet in enumerate(sheets, 1):
        assert "Not signed off." in sheet and "Propane is heavier than air" in sheet, number
        assert "Computed, not certified." in sheet and f"{number}/{len(sheets)}" in sheet.replace(" ", ""), number
    assert "https://example.org/method" in text.stdout


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [NARROW, DESKTOP], ids=["phone", "desktop"])
def test_axe_finds_nothing(
    browser: Browser, site: Path, address: str, axe: str, viewport: dict[str, int], scheme: str
) -> None:  # fmt: skip
    # Every kind of page, from one build on the phone and from another on the desktop.
    names = pages_of(site) if viewport is DESKTOP else pages_of(site)[::-1]
    kinds = {(name.startswith("reference/"), name.rpartition("/")[2]): name for name in names if name != "index.html"}
    if scheme == "dark" or viewport is NARROW:
        kinds.pop((False, "whole.html"), None)  # it is made of the other pages, and checking it takes as long as they do
    page = opened(browser, viewport=viewport, color_scheme=scheme)
    found = []
    # What the scheme changes is colour.
    only = {"type": "tag", "values": TAGS} if scheme == "light" else {"type": "rule", "values": COLOURS}
    options = {
        "runOnly": only,
        "rules": {"target-size": {"enabled": True}, "td-has-header": {"enabled": True}} if scheme == "light" else {},
        "resultTypes": ["violations"],
    }
    for name in ("index.html", *kinds.values()):
        page.goto(f"{address}/{name}")
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        page.evaluate(axe)
        for rule in page.evaluate("options => axe.run(options)", options)["violations"]:
            found.append(f"{name}: {rule['id']}: {[node['html'][:120] for node in rule['nodes'][:3]]}")
    page.context.close()
    assert found == []
