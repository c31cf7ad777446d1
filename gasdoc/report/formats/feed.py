"""Atom feeds of build logs (RFC 4287): one for each build, and one for all of them together.

The same log gives the same bytes: an entry's time is its own date at noon UTC, not the time of the build. An entry's id
is a tag URI (RFC 4151) of the site's host, the build and the entry, which stays when pages move within the site.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from urllib.parse import quote, urlsplit
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from msgspec import Struct

from gasdoc import __version__
from gasdoc.build.log import LogEntry
from gasdoc.build.reader import Build
from gasdoc.report.content import markdown
from gasdoc.report.content.links import Address
from gasdoc.report.content.output import Asset

ATOM = "http://www.w3.org/2005/Atom"

MOST_ENTRIES = 50
"""The newest entries of a feed; older ones are on the pages (our choice)."""

TAG_DATE = "2026"
"""The date in tag URIs: one at which the host belonged to the site (RFC 4151); fixed, since ids must not change."""


class FeedItem(Struct, frozen=True):
    """One entry of a log, dated, with the build it belongs to: its place and its title."""

    slug: str
    build: str
    entry: LogEntry
    date: dt.date


def items(build: Build) -> list[FeedItem]:
    """The dated entries of a build's log, newest first; a feed has no place for the others."""
    dated = [
        FeedItem(build.slug, build.spec.title, entry, entry.date)
        for entry in build.log.entries
        if entry.date is not None
    ]
    return sorted(dated, key=lambda item: item.date, reverse=True)


def feed_uri(slug: str | None) -> str:
    """Where a build's feed is; the site's own for None."""
    return f"{slug}/feed.xml" if slug else "feed.xml"


def feeds(
    logs: Sequence[Sequence[FeedItem]], site_name: str, address: Address, leads: Callable[[str], str | None]
) -> Iterable[Asset]:
    """The feeds of a site whose address is known, from each build's items. A log without a dated entry has none: it could not say when it changed."""
    everything = sorted((item for log in logs for item in log), key=lambda item: (item.date, item.slug), reverse=True)
    if everything:
        yield Asset(feed_uri(None), _feed(everything, site_name, site_name, None, "index.md", address, leads))
    for own in filter(None, logs):
        slug, title = own[0].slug, f"{own[0].build}: build log"
        yield Asset(feed_uri(slug), _feed(own, title, site_name, slug, f"{slug}/log.md", address, leads))


def _feed(
    found: Sequence[FeedItem],
    title: str,
    site_name: str,
    slug: str | None,
    page: str,
    address: Address,
    leads: Callable[[str], str | None],
) -> bytes:
    """One feed; `page` is the page it belongs to, `leads` gives the place that a path among the specs leads to."""

    def resolve(target: str) -> str | None:
        path, mark, anchor = target.partition("#")
        place = leads(path)
        return address(place + mark + anchor) if place is not None else None

    found = found[:MOST_ENTRIES]
    feed = Element("feed", {"xmlns": ATOM})
    _text(feed, "title", title)
    _text(feed, "id", _tag(address, slug or "all-builds"))
    _text(feed, "updated", _time(found[0].date))
    SubElement(feed, "link", {"rel": "self", "type": "application/atom+xml", "href": address(feed_uri(slug))})
    SubElement(feed, "link", {"rel": "alternate", "type": "text/html", "href": address(page)})
    _text(SubElement(feed, "author"), "name", site_name)
    SubElement(feed, "generator", {"version": __version__}).text = "gasdoc"
    for item in found:
        here = f"{item.slug}/log.md"
        entry = SubElement(feed, "entry")
        name = item.entry.title or item.date.isoformat()
        _text(entry, "title", name if slug else f"{item.build}: {name}")
        _text(entry, "id", _tag(address, f"{item.slug}/{item.entry.anchor}"))
        _text(entry, "updated", _time(item.date))
        _text(entry, "published", _time(item.date))
        SubElement(
            entry, "link", {"rel": "alternate", "type": "text/html", "href": address(f"{here}#{item.entry.anchor}")}
        )
        content = markdown.to_html(item.entry.text, resolve, plain=item.entry.plain)
        _text(entry, "content", content, **{"type": "html", "xml:base": address(here)})
    ElementTree.indent(feed)
    text: bytes = ElementTree.tostring(feed, encoding="utf-8", xml_declaration=True)
    return text + b"\n"


def _text(parent: Element, name: str, text: str, **attributes: str) -> None:
    SubElement(parent, name, attributes).text = "".join(c for c in text if c >= " " or c in "\n\t")


def _time(date: dt.date) -> str:
    return f"{date.isoformat()}T12:00:00Z"


def _tag(address: Address, name: str) -> str:
    host = urlsplit(address("index.md")).hostname or "localhost"
    return f"tag:{host},{TAG_DATE}:gasdoc/{quote(name)}"
