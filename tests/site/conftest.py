"""The built sites, served on a loopback port, and a browser to look at them with."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import pytest
import sample
from browser import ARGUMENTS, DESKTOP, find_chromium, served
from mkdocs.commands.build import build
from mkdocs.config import load_config

from gasdoc.host import plugin

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

MODES = ("folders", "files")


def missing(what: str) -> NoReturn:
    """Skip a test whose tool is not installed; where GASDOC_REQUIRE_BROWSER=1 says it must be, fail instead."""
    if os.environ.get("GASDOC_REQUIRE_BROWSER") == "1":
        pytest.fail(f"{what}, and GASDOC_REQUIRE_BROWSER=1 asks for it")
    pytest.skip(what)


@pytest.fixture(scope="session")
def sample_sites(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The site of every piece of the theme (sample.py), in both kinds of addresses."""
    sites = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plugin.site, "make_site", sample.make_site)
        for mode in MODES:
            folder = tmp_path_factory.mktemp("sample")
            config = sample.write_project(folder, f"use_directory_urls: {str(mode == 'folders').lower()}\n")
            build(load_config(str(config), strict=True))
            sites[mode] = folder / "site"
    return sites


@pytest.fixture(params=["sample", "example"])
def sites(request: pytest.FixtureRequest) -> dict[str, Path]:
    """Each of the two sites in turn, by kind of address."""
    found: dict[str, Path] = request.getfixturevalue(f"{request.param}_sites")
    return found


@pytest.fixture
def site(sites: dict[str, Path]) -> Path:
    """The folder of one built site, with addresses that name files."""
    return sites["files"]


@pytest.fixture
def address(site: Path) -> Iterator[str]:
    """Where that site is served, under a strict content policy."""
    with served(site) as base:
        yield base


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A Chromium without a window."""
    program = find_chromium()
    if program is None:
        missing("no Chromium here (none on the path, none named in CHROMIUM)")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("the Python package playwright is not installed")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def window(browser: Browser) -> Page:
    """A window for all tests that do not listen to it, keep nothing in it and need no other kind: to open one takes longer than
    most tests do in it."""
    return browser.new_context().new_page()


@pytest.fixture
def page(window: Page) -> Page:
    """That window on a desktop, in light, empty."""
    window.goto("about:blank")
    window.set_viewport_size(DESKTOP)
    window.emulate_media(media="null", color_scheme="light")
    return window


@pytest.fixture(scope="session")
def pdftotext() -> str:
    """The program that reads the text of a PDF."""
    return shutil.which("pdftotext") or missing("no pdftotext here (package poppler-utils)")


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core."""
    from importlib import resources

    try:
        return resources.files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    except ModuleNotFoundError:
        missing("the Python package axe-playwright-python, which carries axe-core, is not installed")
