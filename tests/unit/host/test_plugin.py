"""The plugin between gasdoc's pages and MkDocs. The pages themselves are stood in for by three short ones."""

from __future__ import annotations

import datetime as dt
import logging
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.exceptions import Abort
from mkdocs.structure.files import File

from gasdoc.folder.provenance import History
from gasdoc.host import plugin
from gasdoc.host.settings import record_day
from gasdoc.report.content.links import Links
from gasdoc.report.content.output import Asset, NavItem, Page
from gasdoc.report.pages.shipped_files import PACKAGE
from gasdoc.report.pages.templates import templates_dir
from gasdoc.report.site.site import Order, Site, Summary
from gasdoc.source import Problem, Severity

Link = Callable[[str, str], str]
PAGE = "---\npage: yes\n---\n"
SPEC = "---\nformat: 1\ntitle: Hut\ntemplate: nowhere.html\n---\n\nLog.\n"


class Project:
    """A project in a folder, and what the stand-in for make_site gives."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.problems: list[Problem] = []
        self.builds = ["hut"]
        self.write("specs/hut.md", SPEC)
        self.settings = ""

    def write(self, name: str, text: str) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def make_site(self, order: Order) -> Any:
        link = order.link
        pages = [Page("index.md", "Builds", "<h1>Builds</h1>", None, (), "All builds.")]
        for build_id in self.builds:
            uri = f"{build_id}/index.md"
            menu = (NavItem(uri, "Overview", True), NavItem(f"{build_id}/log.md", "Log", False))
            html = f'<h1 id="top">Hut</h1><p id="run-1"><a href="{link(uri, "index.md#x")}">all</a></p>'
            pages.append(
                Page(
                    uri, f"Overview - {build_id} & <co>", html, f"{build_id}.md", menu, "A hut.", picture="photos/a.jpg"
                )
            )
            pages.append(
                Page(f"{build_id}/log.md", f"Log - {build_id}", "<h1>Log</h1>", f"{build_id}.md", menu, "The log.")
            )
        assets = (Asset("hut/materials.csv", b"a,b\r\n1,2\r\n"),)
        builds = tuple(Summary(build_id, "us") for build_id in self.builds)
        return Site(tuple(pages), assets, tuple(self.problems), errors_found=False, builds=builds)

    def config(self, strict: bool = True) -> Any:
        self.write("mkdocs.yml", f"site_name: Records\ndocs_dir: specs\nplugins: [gasdoc]\n{self.settings}")
        return load_config(str(self.folder / "mkdocs.yml"), strict=strict)

    def build(self, strict: bool = True) -> Path:
        build(self.config(strict))
        return self.folder / "site"

    def read(self, name: str) -> str:
        return (self.folder / "site" / name).read_text(encoding="utf-8")


@pytest.fixture
def project(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Project:
    made = Project(tmp_path)
    monkeypatch.setattr(plugin.site, "make_site", made.make_site)
    return made


def problem(severity: Severity) -> Problem:
    return Problem("specs/hut.md", 3, 5, severity, "no such key", "did you mean 'title'", "spec-unknown-key")


def test_three_settings_make_a_site(project: Project) -> None:
    site = project.build()
    assert "<title>Overview - hut &amp; &lt;co&gt; - Records</title>" in project.read("hut/index.html")
    assert '<meta name="description" content="A hut.">' in project.read("hut/index.html")
    assert (
        (site / "hut/log/index.html").is_file()
        and (site / "css/gasdoc.css").is_file()
        and (site / "404.html").is_file()
    )


def test_a_spec_is_not_a_page_and_its_front_matter_never_reaches_mkdocs(project: Project) -> None:
    project.builds = ["other"]  # so that nothing made takes the place a page for hut.md would have
    site = project.build()
    assert not (site / "hut").joinpath("index.html").exists()


def test_a_hand_written_page_passes_through_markdown_and_is_linked_from_every_page(project: Project) -> None:
    project.write("specs/guide.md", f"{PAGE}# Guide & more\n\n[its run](hut/index.md#run-1)\n\n| a |\n| -: |\n| 1 |\n")
    project.build()
    guide = project.read("guide/index.html")
    assert "<title>Guide &amp; more - Records</title>" in guide
    assert 'href="../hut/#run-1"' in guide and "style=" not in guide and guide.count("<h1") == 1
    assert '<a href="../../guide/index.html">Guide &amp; more</a>' in project.read("hut/log/index.html")


def test_a_page_without_a_heading_gets_its_title_as_one(project: Project) -> None:
    project.write("specs/note.md", f"{PAGE}Only a line.\n")
    project.build()
    assert "<h1>Note</h1>" in project.read("note/index.html")


def test_a_link_to_an_anchor_that_no_page_has_stops_a_strict_build(project: Project) -> None:
    project.write("specs/guide.md", f"{PAGE}# Guide\n\n[its run](hut/index.md#run-9)\n")
    with pytest.raises(Abort):
        project.build()


def test_looser_link_checks_can_be_asked_for(project: Project) -> None:
    project.write("specs/guide.md", f"{PAGE}# Guide\n\n[its run](hut/index.md#run-9)\n")
    project.settings = "validation: {links: {anchors: ignore}}\n"
    project.build()


@pytest.mark.parametrize(
    ("directory_urls", "page", "expected"),
    [
        ("true", "hut/index.html", "../index.html#x"),
        ("false", "hut/index.html", "../index.html#x"),
    ],
)
def test_links_name_the_file(project: Project, directory_urls: str, page: str, expected: str) -> None:
    project.settings = f"use_directory_urls: {directory_urls}\n"
    project.build()
    assert f'href="{expected}"' in project.read(page)
    log = "log/index.html" if directory_urls == "true" else "log.html"
    assert f'<a href="{log}">Log</a>' in project.read(page)


def test_links_escape_what_an_address_cannot_hold() -> None:
    link = Links(directory_urls=True)
    assert link("a b/log.md", "a b/c d?.md#run-1") == "../c%20d%3F/index.html#run-1"
    assert link("index.md", "#run-1") == "#run-1"


@pytest.mark.parametrize("directory_urls", [True, False])
@pytest.mark.parametrize(
    "uri",
    [
        "index.md",
        "hut/index.md",
        "hut/log.md",
        "README.md",
        "notes/README.md",
        "hut/upkeep.ics",
        "plan.svg",
        "a.b/c.d.md",
        "notes.markdown",
        "old.mkd",
        "page.html",
    ],
)
def test_links_lead_where_the_publisher_puts_things(uri: str, directory_urls: bool) -> None:
    placed = File(uri, None, "site", directory_urls).dest_uri
    assert Links(directory_urls)("x.html", uri) == placed


def test_links_of_the_page_for_missing_addresses_start_at_the_root(project: Project) -> None:
    project.settings = "site_url: https://example.org/builds/\n"
    project.build()
    assert 'href="/builds/css/gasdoc.css"' in project.read("404.html")
    assert 'href="/builds/index.html"' in project.read("404.html")
    assert "cut the address" not in project.read("404.html")


def test_a_message_with_a_link_gets_title_words_and_the_whole_address_of_the_cover(project: Project) -> None:
    project.settings = "site_url: https://example.org/builds/\n"
    project.build()
    head = project.read("hut/index.html").partition("</head>")[0]
    said = dict(re.findall(r'<meta property="og:(\w+)" content="([^"]*)">', head))
    assert said == {
        "type": "website",
        "site_name": "Records",
        "title": "Overview - hut &amp; &lt;co&gt;",
        "description": "A hut.",
        "url": "https://example.org/builds/hut/",
        "image": "https://example.org/builds/photos/a.jpg",
    }
    assert "og:image" not in project.read("hut/log/index.html")  # this page names none


def test_without_an_address_a_link_tells_no_picture_and_the_page_for_missing_addresses_says_what_to_do(
    project: Project,
) -> None:
    project.build()
    head = project.read("hut/index.html").partition("</head>")[0]
    assert "og:title" in head and "og:image" not in head and "og:url" not in head
    assert "cut the address" in project.read("404.html")


def test_the_site_map_has_every_page_and_no_date(project: Project) -> None:
    project.settings = "site_url: https://example.org/builds/\n"
    project.build()
    assert "<loc>https://example.org/builds/hut/log/</loc>" in project.read("sitemap.xml")
    assert "lastmod" not in project.read("sitemap.xml")


def test_the_edit_link_leads_to_the_spec(project: Project) -> None:
    project.settings = "repo_url: https://example.org/r\nedit_uri: edit/main/specs/\n"
    project.build()
    assert 'href="https://example.org/r/edit/main/specs/hut.md"' in project.read("hut/log/index.html")
    assert "/edit/" not in project.read("index.html")


def test_an_asset_keeps_its_bytes_and_nothing_is_written_beside_the_specs(project: Project) -> None:
    before = sorted(project.folder.joinpath("specs").rglob("*"))
    site = project.build()
    assert (site / "hut/materials.csv").read_bytes() == b"a,b\r\n1,2\r\n"
    assert sorted(project.folder.joinpath("specs").rglob("*")) == before


@pytest.mark.parametrize("severity", [Severity.ERROR, Severity.WARNING])
def test_an_input_problem_is_logged_with_its_place_and_stops_a_strict_build(
    project: Project, caplog: pytest.LogCaptureFixture, severity: Severity
) -> None:
    project.problems = [problem(severity)]
    project.build(strict=False)
    warnings = [record.getMessage() for record in caplog.records if record.levelno >= logging.WARNING]
    assert warnings == [f"gasdoc: specs/hut.md:3:5: {severity}: no such key; did you mean 'title' [spec-unknown-key]"]
    with pytest.raises(Abort):
        project.build(strict=True)


def test_a_note_does_not_stop_a_strict_build(project: Project) -> None:
    project.problems = [problem(Severity.NOTE)]
    project.build(strict=True)


@pytest.mark.parametrize("own", ["hut/log.md", "hut/materials.csv"])
def test_what_stands_where_a_page_of_ours_does_is_left_out_and_the_rest_is_built(project: Project, own: str) -> None:
    project.write(f"specs/{own}", f"{PAGE}# Own\n")
    project.build(strict=False)
    assert "<h1>Log</h1>" in project.read("hut/log/index.html") and project.read("hut/materials.csv") == "a,b\n1,2\n"


def test_a_folder_without_specs_is_an_error_that_says_what_a_spec_is(
    project: Project, caplog: pytest.LogCaptureFixture
) -> None:
    project.write("specs/hut.md", f"{PAGE}# Only a page\n")
    with pytest.raises(Abort):
        project.build()
    assert "no spec in" in caplog.text and "format: 1" in caplog.text


def test_another_theme_is_refused_with_a_warning(project: Project, caplog: pytest.LogCaptureFixture) -> None:
    project.settings = "theme: readthedocs\n"
    project.build(strict=False)
    assert "gasdoc brings its own theme" in caplog.text
    assert 'class="record"' in project.read("hut/index.html")


@pytest.mark.parametrize("folder", ["site_templates", "elsewhere"])
def test_a_projects_template_replaces_ours_and_is_watched(project: Project, folder: str) -> None:
    project.write(f"{folder}/main.html", "own frame {{ page.title }}: {{ page.content | safe }}")
    if folder == "elsewhere":
        project.settings = "plugins:\n  - gasdoc: {templates: elsewhere}\n"
    config = project.config()
    build(config)
    assert project.read("hut/index.html").startswith("own frame Overview - hut &amp; &lt;co&gt;: <h1")
    assert "Page not found" not in project.read("404.html")  # 404.html extends the project's main.html
    assert [str(project.folder / folder), str(templates_dir())] == config.watch[:2]


def test_data_files_of_a_checkout_are_watched_and_read_again_while_a_site_is_served(project: Project) -> None:
    config = project.config()
    config.plugins.on_startup(command="serve", dirty=False)
    build(config)
    plugin.data.words("gasdoc", "units.yaml")
    build(config)
    assert plugin.data.words.cache_info().currsize > 0
    project.write("specs/prices.yaml", "currency: USD\ndate: 2026-01-01\nitems: {}\n")
    build(config)
    assert plugin.data.words.cache_info().currsize == 0
    assert str(PACKAGE / "units.yaml") in config.watch
    assert str(PACKAGE) not in config.watch  # it holds the compiled modules too, which change by themselves


def test_a_second_build_forgets_the_first(project: Project) -> None:
    config = project.config()
    project.builds = ["cabin"]
    build(config)
    project.builds = ["hut"]
    project.write("specs/cabin/index.md", f"{PAGE}# Now written by hand\n")
    build(config)
    assert "Now written by hand" in project.read("cabin/index.html")


def test_a_pages_frame_does_not_grow_with_the_number_of_builds(project: Project) -> None:
    project.build()
    few = project.read("hut/log/index.html")
    project.builds = ["hut", *(f"hut-{number}" for number in range(30))]
    project.build()
    assert project.read("hut/log/index.html") == few


def test_the_same_sources_give_the_same_bytes_on_another_day(project: Project, monkeypatch: pytest.MonkeyPatch) -> None:
    def bytes_after(epoch: str) -> dict[str, bytes]:
        monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
        site = project.build()
        return {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()}

    assert bytes_after("1700000000") == bytes_after("1800000000")


@pytest.mark.parametrize("epoch", ["1800000000", " 1800000000\n"])
def test_the_day_of_records_is_read_as_the_date_of_the_site_is(epoch: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    assert record_day() == History().as_of == dt.date(2027, 1, 15)  # 1,800,000,000 s / 86,400 s = 20,833 days
