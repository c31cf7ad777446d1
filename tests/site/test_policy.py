"""The content policy in every page: nothing on it breaks it, and what a hostile build says is shown as text."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from accessibility import pages_to_look_at
from browser import pages_of, served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ROOT = Path(__file__).parents[2]
MARKUP = '"><img src=x onerror="window.hit=1"><script>window.hit=1</script>'
TEMPLATE = "{{ 7 * 7 }}{% raw %}"
DRAWING = '"]; a -> b [label="\\N'
HAS = """[document.querySelectorAll("meta[http-equiv=Content-Security-Policy]").length, window.hit,
  getComputedStyle(document.body).margin]"""
TURNED = "\u202egnp.tar"


@pytest.fixture(scope="module")
def hostile_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site of the example hut with names that are markup, a template and a drawing's syntax. Beside it are two specs
    that cannot be read: one has a key that is markup, one has a text turned round."""
    folder = tmp_path_factory.mktemp("hostile")
    specs = folder / "specs"
    specs.mkdir()
    text = (ROOT / "specs" / "larch-hut.md").read_text(encoding="utf-8")
    for was, name in {
        "title: Larch Hut": f"title: '{MARKUP}'",
        "name: Room heater": f"name: '{MARKUP}'",
        "name: Cooker": f"name: '{TEMPLATE}'",
        "name: Water heater": f"name: '{DRAWING}'",
        "place: Behind the wood box, open to view": f"place: '{MARKUP}'",
    }.items():
        assert was in text
        text = text.replace(was, name)
    log = f"\n## 2026-09-01: {MARKUP}\n\n{MARKUP}\n\n{TEMPLATE} [a](javascript:window.hit=1) ![b](https://example.org/b.png)\n"
    (specs / "hut.md").write_text(text + log, encoding="utf-8")
    (specs / "broken.md").write_text(f"---\nformat: 1\ntitle: '{MARKUP}'\n'{MARKUP}': 1\n---\n", encoding="utf-8")
    (specs / "turned.md").write_text(f"---\nformat: 1\ntitle: '{TURNED}'\n---\n", encoding="utf-8")
    shutil.copytree(ROOT / "specs" / "larch-hut", specs / "larch-hut")
    (folder / "mkdocs.yml").write_text(
        f"site_name: '{MARKUP}'\ndocs_dir: specs\nplugins: [gasdoc]\nuse_directory_urls: false\n", encoding="utf-8"
    )
    made = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q"], cwd=folder, capture_output=True, text=True, check=False
    )
    assert made.returncode == 0, made.stderr
    return folder / "site"


@pytest.fixture(params=["http", "file"])
def places(request: pytest.FixtureRequest, example_sites: dict[str, Path], hostile_site: Path) -> Iterator[list[str]]:
    """The addresses of every page of the hostile site, served and from its folder, there with pages of the example site that
    have every piece of all, whose served pages are walked for all that is asked of a page."""
    if request.param == "file":
        # The page for a missing address is only ever served: its links start at the root of the host.
        example = example_sites["files"]
        paths = [example / page for page in pages_to_look_at(example)] + [
            hostile_site / page for page in pages_of(hostile_site)
        ]
        yield [path.as_uri() for path in paths if path.name != "404.html"]
        return
    with served(hostile_site) as base:
        yield [f"{base}/{page}" for page in pages_of(hostile_site)]


def test_no_page_breaks_its_policy_and_no_name_becomes_code(browser: Browser, places: list[str]) -> None:
    context = browser.new_context()
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{page.url}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"{page.url}: {error}"))
    page.on("dialog", lambda dialog: said.append(f"{page.url}: a dialog"))
    for place in places:
        page.goto(place)
        policies, hit, margin = page.evaluate(HAS)
        assert policies == 1, place
        assert hit is None, place
        assert margin == "0px", f"{place}: no style"
    context.close()
    assert said == []


def test_the_policy_stops_what_is_not_ours(browser: Browser, hostile_site: Path, tmp_path: Path) -> None:
    shutil.copytree(hostile_site, tmp_path / "site")
    home = tmp_path / "site" / "index.html"
    home.write_text(
        home.read_text(encoding="utf-8").replace("</body>", "<script>window.hit=1</script></body>"), encoding="utf-8"
    )
    page = browser.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(home.as_uri())
    assert page.evaluate("window.hit") is None
    page.close()
    assert any("Content Security Policy" in text for text in said)


def test_hostile_names_are_shown_as_written(page: Page, hostile_site: Path) -> None:
    shown = {}
    for name in ("index", "supply", "log"):
        page.goto((hostile_site / "hut" / f"{name}.html").as_uri())
        shown[name] = page.evaluate("document.body.textContent")
        assert page.locator("h1").inner_text().strip().find("<script>") >= 0 or MARKUP in page.title()
    for name in ("broken", "turned"):
        page.goto((hostile_site / name / "index.html").as_uri())
        shown[name] = page.locator("main").inner_text()
    page.goto((hostile_site / "search.html").as_uri())
    page.fill("form.search input", "window.hit")
    found = page.locator("#search-results").inner_text()
    assert MARKUP in shown["index"] and MARKUP in shown["supply"]
    assert TEMPLATE in shown["supply"] and DRAWING in shown["supply"]
    assert shown["log"].count(MARKUP) >= 2 and TEMPLATE in shown["log"]
    assert MARKUP in found
    assert f"unknown key '{MARKUP}'" in shown["broken"] and "turned.md:3:9 error: U+202E" in shown["turned"]
    published = [path for path in hostile_site.rglob("*") if path.is_file()]
    assert not [path for path in published if "\u202e".encode() in path.read_bytes()]
