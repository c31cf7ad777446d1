"""The form to record tests on and the sheet for the door print on one sheet, whichever paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

BUILDS = ("larch-hut", "bakery-trailer", "floating-studio")


@pytest.mark.parametrize("paper", ["Letter", "A4"])
@pytest.mark.parametrize("sheet", ["record-form", "door-sheet"])
@pytest.mark.parametrize("build", BUILDS)
def test_a_sheet_is_one_sheet(
    browser: Browser, example_sites: dict[str, Path], build: str, sheet: str, paper: str
) -> None:
    page = browser.new_page()
    page.goto((example_sites["files"] / build / f"{sheet}.html").as_uri())
    printed = page.pdf(format=paper)
    page.close()
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 1


@pytest.mark.parametrize("width", [320, 390])
@pytest.mark.parametrize("sheet", ["record-form", "door-sheet", "leak-test", "air"])
def test_a_narrow_screen_does_not_scroll_sideways(
    browser: Browser, example_sites: dict[str, Path], sheet: str, width: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto((example_sites["files"] / "larch-hut" / f"{sheet}.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()
