"""What holds of every page's text, read from disk without a browser."""

from __future__ import annotations

import posixpath
import re
from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest


@dataclass
class Markup(HTMLParser):
    """One page: what it links to, what can be linked to in it, and what it must not hold."""

    links: list[tuple[str, str]] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    inline: list[str] = field(default_factory=list)
    levels: list[int] = field(default_factory=list)
    title: str = ""
    lang: str = ""
    description: str = ""
    inside: str = ""

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.inside = tag
        if "id" in given:
            self.ids.append(given["id"])
        self.links += [
            (tag, given[name]) for name in ("href", "src") if name in given and given.get("rel") != "canonical"
        ]
        self.inline += [f"<{tag} {name}>" for name in given if name == "style" or name.startswith("on")]
        if tag == "style" or (tag == "script" and "src" not in given):
            self.inline.append(f"<{tag}>")
        if len(tag) == 2 and tag[0] == "h" and tag[1].isdigit():
            self.levels.append(int(tag[1]))
        if tag == "html":
            self.lang = given.get("lang", "")
        if given.get("name") == "description":
            self.description = given.get("content", "")

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        if self.inside == "title" and not self.title:
            self.title = data


@cache
def read(site: Path) -> dict[str, Markup]:
    """Every page of a site, by its path. Treat it as read-only."""
    pages = {}
    for path in sorted(site.rglob("*.html")):
        page = Markup()
        page.feed(path.read_text(encoding="utf-8"))
        pages[path.relative_to(site).as_posix()] = page
    return pages


def target(name: str, link: str) -> tuple[str, str]:
    """The path within the site that a link on page `name` leads to, and its anchor."""
    parts = urlsplit(link)
    path = unquote(parts.path)
    if not path:
        return name, parts.fragment
    folder = "" if path.startswith("/") else posixpath.dirname(name)
    joined = posixpath.normpath(posixpath.join(folder, path.lstrip("/")))
    return (posixpath.join(joined, "index.html") if path.endswith("/") else joined), parts.fragment


@pytest.mark.parametrize("mode", ["folders", "files"])
def test_every_link_leads_somewhere(sites: dict[str, Path], mode: str) -> None:
    site = sites[mode]
    pages = read(site)
    broken = []
    for name, page in pages.items():
        for _, link in page.links:
            if urlsplit(link).scheme:
                continue
            path, anchor = target(name, link)
            if not (site / path).is_file() or (anchor and path in pages and anchor not in pages[path].ids):
                broken.append(f"{name}: {link}")
    assert len(pages) > 3
    assert broken == []


@pytest.mark.parametrize("mode", ["folders", "files"])
def test_made_pages_link_to_files_so_that_they_open_from_a_folder(sample_sites: dict[str, Path], mode: str) -> None:
    loose = {
        name
        for name, page in read(sample_sites[mode]).items()
        for _, link in page.links
        if not urlsplit(link).scheme and urlsplit(link).path.endswith("/")
    }
    # MkDocs itself writes the links within a hand-written page's text.
    assert loose == ({"guide/index.html"} if mode == "folders" else set())


def test_nothing_is_fetched_from_elsewhere(site: Path) -> None:
    assert [
        (name, link)
        for name, page in read(site).items()
        for tag, link in page.links
        if tag != "a" and urlsplit(link).scheme not in ("", "data")
    ] == []


def test_no_inline_script_or_style(site: Path) -> None:
    assert {name: page.inline for name, page in read(site).items() if page.inline} == {}


def test_one_h1_and_no_skipped_heading_level(site: Path) -> None:
    for name, page in read(site).items():
        assert page.levels.count(1) == 1, name
        assert page.levels[0] == 1, name
        assert all(after <= before + 1 for before, after in zip(page.levels, page.levels[1:], strict=False)), name


def test_every_id_is_unique_on_its_page(site: Path) -> None:
    for name, page in read(site).items():
        assert sorted(page.ids) == sorted(set(page.ids)), name


def test_every_page_has_a_language_a_description_and_a_title_of_its_own(site: Path) -> None:
    pages = read(site)
    titles = [page.title for page in pages.values()]
    assert sorted(titles) == sorted(set(titles))
    for name, page in pages.items():
        assert page.lang == "en", name
        assert page.title.strip(), name
        if name != "404.html" and not name.startswith("guide"):
            assert page.description, name


_STEP = re.compile(
    r'<details class="fold day-step"[^>]*>\s*<summary>(.*?)</summary>(.*?)<summary>Where this step is from</summary>.*?'
    r"</details>\s*</details>",
    re.DOTALL,
)
_RECORD = re.compile(
    r'<details class="fold"( open)?>\s*<summary><h\d id="[^"]*record-\d+">(.*?)</summary>(.*?)</details>', re.DOTALL
)


def _plain(html: str) -> str:
    """What stands in a fold without its links: words of the trade lead to their meaning there, and not in a heading."""
    return re.sub("<[^>]*>", "", html)


def test_a_folded_step_says_its_gate_its_cautions_and_that_something_stops_it(example_sites: dict[str, Path]) -> None:
    steps = 0
    for name in ("leak-test.html", "work.html", "whole.html"):
        for path in sorted(example_sites["files"].rglob(name)):
            for said, inside in _STEP.findall(path.read_text(encoding="utf-8")):
                steps += 1
                gate = re.search(r'<p class="gate"><strong>Gate:</strong> (.*?) If not, stop here.</p>', inside)
                assert (gate is None) == ("Gate:" not in said)
                assert gate is None or _plain(gate[1]) in said
                cautions = re.findall(
                    r'<li class="caution"><span class="mark" aria-hidden="true">!</span> (.*?)</li>', inside
                )
                assert all(_plain(caution) in said for caution in cautions)
                assert re.search(r"[1-9]\d* reasons? to stop", said)
    assert steps > 100


def test_a_folded_verdict_says_its_outcome_and_one_that_is_no_pass_stands_open(example_sites: dict[str, Path]) -> None:
    records = 0
    for path in sorted(example_sites["files"].rglob("leak-test.html")):
        for stands_open, said, inside in _RECORD.findall(path.read_text(encoding="utf-8")):
            records += 1
            severity, outcome = re.findall(
                r'<div class="finding (\w+)">.*?<span class="severity">(.*?)</span>', inside, re.DOTALL
            )[0]
            assert outcome in said
            assert stands_open or severity == "note"
    assert records > 5


def test_no_caution_verdict_or_finding_is_folded_away_elsewhere(example_sites: dict[str, Path]) -> None:
    seen = 0
    for path in sorted(example_sites["files"].rglob("*.html")):
        html = _RECORD.sub("", _STEP.sub("", path.read_text(encoding="utf-8")))
        for folded in re.findall(r"<details.*?</details>", html, re.DOTALL):
            seen += 1
            name = path.name
            assert not re.search(r'class="(finding (error|warning)|cautions|answers|problems)\b', folded), name
            assert 'class="caution-list' not in folded or re.search(r"\d cautions\. The first: .{20}", folded), name
            assert "not met" not in folded.lower() or name in (
                "referral.html",
                "whole.html",
                "keys.html",
                "json.html",
            ), name
            if folded.startswith('<details class="fold"'):
                assert '<span class="said">' in folded.partition("</summary>")[0], (name, folded[:200])
    assert seen > 100


TO_DO = ("When", "Isolate", "With", "Pressure", "Gauge", "Let it settle", "Hold", "Passes when")
"""What a test's rule tells a reader to do, by the terms of its list."""


def test_what_a_test_asks_stands_whole_in_the_step_that_makes_it(example_sites: dict[str, Path]) -> None:
    tests = 0
    for path in sorted(example_sites["files"].rglob("*.html")):
        html = path.read_text(encoding="utf-8")
        for folded in re.findall(r"<details>.*?</details>", html, re.DOTALL):  # what has no heading of its own
            terms = re.findall(r"<dt>(.*?)</dt>", folded)
            assert not set(TO_DO) & set(terms), (path.name, terms)
            assert "full scale at most" not in folded, path.name
        if path.name == "leak-test.html":
            counts = {term: html.count(f"<dt>{term}</dt>") for term in TO_DO if term != "Let it settle"}
            assert len(set(counts.values())) == 1, (path.parent.name, counts)
            tests += counts["Hold"]
    assert tests > 10


def test_what_is_not_met_or_not_known_stands_before_the_rules_that_are_folded(example_sites: dict[str, Path]) -> None:
    for path in sorted(example_sites["files"].rglob("referral.html")):
        html = path.read_text(encoding="utf-8")
        open_part = re.sub(r"<details.*?</details>", "", html.partition("<!-- body -->")[2], flags=re.DOTALL)
        for outcome in ("Not met", "Not known"):
            assert html.count(f"<strong>{outcome}</strong>") == 2 * open_part.count(f"<strong>{outcome}</strong>"), path
