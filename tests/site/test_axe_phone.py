"""axe finds nothing on any kind of page, at the width of a phone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from accessibility import complaints
from browser import NARROW

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def test_axe_finds_nothing(browser: Browser, site: Path, address: str, axe: str) -> None:
    assert complaints(browser, site, address, axe, NARROW) == []
