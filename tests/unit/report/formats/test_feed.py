"""Feeds of build logs: what RFC 4287 asks of them, and read back by a feed library."""

from __future__ import annotations

import datetime as dt
import re
from urllib.parse import urlsplit
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import feedparser
import pytest
from made_up_builds import build, outlet, run, text

from gasdoc.build.reader import Build, read_spec
from gasdoc.report.formats.feed import ATOM, MOST_ENTRIES, feeds, items

A = f"{{{ATOM}}}"
LOG = """
Before the first entry.

## 2026-05-01: fitted

All of *it*. [Plan](hut/plan.svg), ![Wall & <roof>](hut/plan.svg), [gone](hut/none.svg), [above](#2026-04-01-dug).

## 2026-04-01: dug

Holes.

## A thought

Without a date.

## 2026-05-01: fitted

The same once more.
"""


def made(title: str = "Hut & <Shed>", log: str = LOG, slug: str = "hut") -> Build:
    spec = build(run("8 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h"), title=title)
    found = read_spec(text(spec, log).encode(), f"specs/{slug}.md", slug).build
    assert found is not None
    return found


def address(target: str) -> str:
    uri, mark, anchor = target.partition("#")
    return f"https://example.org/builds/{uri.replace('.md', '.html')}{mark}{anchor}"


def published(*builds: Build) -> dict[str, bytes]:
    return {
        a.uri: a.content
        for a in feeds(
            [items(build) for build in builds],
            "Records",
            address,
            lambda path: path if path == "hut/plan.svg" else None,
        )
    }


def check_person(person: Element) -> None:
    assert len(person.findall(f"{A}name")) == 1 and person.findtext(f"{A}name")


def check_date(text_: str | None) -> None:
    """RFC 3339 with an upper-case T and Z (RFC 4287, 3.3)."""
    assert text_ is not None and re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", text_)
    dt.datetime.fromisoformat(text_)


def check_common(element: Element) -> None:
    """Exactly one id, title and updated; links with an address, at most one alternate of a type (4.1.1, 4.1.2, 4.2)."""
    for name in ("id", "title", "updated"):
        assert len(element.findall(f"{A}{name}")) == 1, name
    check_date(element.findtext(f"{A}updated"))
    assert urlsplit(element.findtext(f"{A}id") or "").scheme  # an IRI, and absolute (4.2.6)
    links = element.findall(f"{A}link")
    assert all(urlsplit(link.get("href", "")).scheme == "https" for link in links)
    kinds = [(link.get("rel"), link.get("type"), link.get("hreflang")) for link in links]
    assert len(kinds) == len(set(kinds))


def check_feed(raw: bytes) -> Element:
    """The rules of RFC 4287 that bear on a feed of this kind."""
    feed = ElementTree.fromstring(raw)
    assert feed.tag == f"{A}feed"
    check_common(feed)
    assert [link.get("rel") for link in feed.findall(f"{A}link")] == ["self", "alternate"]
    for author in feed.findall(f"{A}author"):
        check_person(author)
    assert feed.findall(f"{A}author")  # then no entry needs one (4.1.1)
    entries = feed.findall(f"{A}entry")
    for entry in entries:
        check_common(entry)
        check_date(entry.findtext(f"{A}published"))
        contents = entry.findall(f"{A}content")
        assert len(contents) == 1 and contents[0].get("type") == "html" and not len(contents[0])
    ids = [entry.findtext(f"{A}id") for entry in entries]
    assert len(ids) == len(set(ids))
    assert feed.findtext(f"{A}updated") == max(entry.findtext(f"{A}updated") or "" for entry in entries)
    allowed = {"id", "title", "updated", "link", "author", "generator", "entry", "published", "content", "name"}
    assert {element.tag.removeprefix(A) for element in feed.iter()} <= allowed | {"feed"}
    return feed


def test_the_feeds_keep_to_the_rules() -> None:
    found = published(made(), made("Shed", slug="shed"))
    assert list(found) == ["feed.xml", "hut/feed.xml", "shed/feed.xml"]
    for raw in found.values():
        check_feed(raw)


def test_a_feed_library_reads_back_what_went_in() -> None:
    read = feedparser.parse(published(made())["hut/feed.xml"])
    assert not read.bozo and read.version == "atom10"
    assert [entry.published[:10] for entry in read.entries] == ["2026-05-01", "2026-05-01", "2026-04-01"]
    newest = read.entries[0]
    assert newest.title == "fitted"
    assert newest.link == "https://example.org/builds/hut/log.html#2026-05-01-fitted"
    html = newest.content[0].value
    assert 'href="https://example.org/builds/hut/plan.svg"' in html
    assert 'src="https://example.org/builds/hut/plan.svg"' in html
    assert "none.svg" not in html
    assert 'href="https://example.org/builds/hut/log.html#2026-04-01-dug"' in html  # from the base the content names


def test_an_entry_keeps_its_id_when_text_and_title_of_the_build_change() -> None:
    def ids(raw: bytes) -> list[str | None]:
        return [entry.findtext(f"{A}id") for entry in check_feed(raw).findall(f"{A}entry")]

    before = published(made())["hut/feed.xml"]
    after = published(made("Another name", LOG.replace("Holes.", "Deeper holes.")))["hut/feed.xml"]
    assert ids(before) == ids(after)
    assert ids(before)[-1] == "tag:example.org,2026:gasdoc/hut/2026-04-01-dug"


def test_an_entry_without_a_date_is_left_out_and_a_log_without_any_has_no_feed() -> None:
    assert b"A thought" not in published(made())["hut/feed.xml"]
    assert list(published(made(log="\n## A thought\n\nText.\n"), made(slug="shed"))) == ["feed.xml", "shed/feed.xml"]
    assert published(made(log="")) == {}


def test_the_sites_feed_names_the_build_and_goes_by_date() -> None:
    feed = check_feed(published(made("One", slug="one"), made("Two", slug="two"))["feed.xml"])
    titles = [entry.findtext(f"{A}title") for entry in feed.findall(f"{A}entry")]
    assert titles == ["Two: fitted", "Two: fitted", "One: fitted", "One: fitted", "Two: dug", "One: dug"]


def test_a_feed_holds_the_newest_entries_only() -> None:
    first = dt.date(2025, 1, 1)
    log = "".join(f"## {first + dt.timedelta(days=n)}: day {n}\n\nText.\n\n" for n in range(MOST_ENTRIES + 10))
    entries = check_feed(published(made(log=f"\n{log}"))["hut/feed.xml"]).findall(f"{A}entry")
    assert len(entries) == MOST_ENTRIES and entries[0].findtext(f"{A}title") == f"day {MOST_ENTRIES + 9}"


@pytest.mark.parametrize("title", ["<b>&amp;</b>", "]]>", "ünïcode", "a" * 80])
def test_any_title_makes_a_feed_that_can_be_read(title: str) -> None:
    found = published(made(title, f"\n## 2026-01-01: {title}\n\n{title}\n"))
    for raw in found.values():
        check_feed(raw)
    assert feedparser.parse(found["hut/feed.xml"]).entries[0].title_detail.value == title
