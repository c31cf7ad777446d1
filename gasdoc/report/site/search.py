"""The search of a site: what can be found, as a script that the search page reads.

A script and not a JSON file, because a page that was opened from a folder may not fetch one. What is found is a place that
can be linked to: a heading with what stands under it, an entry of the log, a caution, a part, a key. Text that several
places have, as cautions of all builds do, is written once. MkDocs' own search is not used: it needs its theme's scripts.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

import jinja2
from markupsafe import Markup
from msgspec import Struct

from gasdoc import data
from gasdoc.build.model import Valve
from gasdoc.data import Entry
from gasdoc.report.content.links import Link
from gasdoc.report.content.output import Asset, Page
from gasdoc.report.content.pieces import KEPT
from gasdoc.report.content.words import first_upper
from gasdoc.report.pages.sections import Section, uri
from gasdoc.report.site.reference import key_anchor, key_blocks
from gasdoc.report.views.materials.page import part_id
from gasdoc.study import Study
from gasdoc.study.air.rooms import fitted
from gasdoc.study.facts import setting
from gasdoc.words import other_words

PAGE, INDEX, SCRIPT = "search.md", "search-index.js", "js/search.js"

KINDS = ("build", "page", "section", "log", "place", "appliance", "run", "part", "finding", "caution", "task", "key")
"""What kinds of entries there are, in the order in which those that fit as well are listed."""

LISTS = {"cautions": "caution", "upkeep": "task"}
"""The pages whose items can be linked to one by one, and what kind of entry they are."""

MOST_TEXT = {"log": 1500, "section": 400}
"""Letters kept of what stands under one heading (our choice): a page of a log entry, and how a section begins."""


class Found(Struct, frozen=True):
    """A place that can be found: what kind it is, what it is called, on which of the pages and where, what stands there."""

    kind: str
    text: str
    page: int = 0
    anchor: str = ""
    body: tuple[str, ...] = ()


class Entries(Struct, frozen=True):
    """What can be found in one build: its title, the links of its pages, the places."""

    title: str
    links: tuple[str, ...]
    found: tuple[Found, ...]


_SET_APART = re.compile(r'<(table|svg|nav|script)\b.*?</\1>|<span class="citation">.*?</span>', re.DOTALL)
_PICTURE = re.compile(r'<img\b[^>]*? alt="([^"]*)"[^>]*>')
_PLACE = re.compile(r'<(h2|h3|li)(?: [^>]*?)? ?id="([^"]+)"[^>]*>(.*?)</\1>', re.DOTALL)
_BLOCK = re.compile(r"</?(?:p|li|dd|dt|div|h[1-6]|summary|ul|ol|section)\b[^>]*>")


class _Alike(Entry, frozen=True):
    source: str
    alike: tuple[tuple[str, ...], ...]


def alike() -> tuple[tuple[str, ...], ...]:
    """The words of which each finds all of its row: those of the trade, and what people write for the words of a spec."""
    return (*data.read("gasdoc.report.site", "search_words.yaml", _Alike).alike, *other_words())


def page(builds: Sequence[tuple[str, str]], env: jinja2.Environment, link: Link) -> Page:
    """The page to search on, from each build's title and place; without scripts it says how to find things all the same."""
    builds = [(title, link(PAGE, place)) for title, place in builds]
    html = env.get_template("pages/search.html").render(builds=builds, home=link(PAGE, "index.md"))
    return Page(
        PAGE,
        "Search",
        html,
        None,
        (),
        "Find a build, a page, an entry of a log, a caution or a finding. Find an appliance, a part, a place or a key.",
        scripts=(INDEX, SCRIPT),
    )


def index(builds: Sequence[Entries]) -> Asset:
    """The index of what can be found in some builds. A text that stands in it twice is a number: its place in `texts`."""
    times = Counter(text for build in builds for one in build.found for text in (one.text, *one.body))
    texts = [text for text, number in times.items() if number > 1 and len(text) > 8]
    at: dict[str, int] = {text: place for place, text in enumerate(texts)}

    def row(one: Found) -> list[object]:
        cells: list[object] = [one.page, one.anchor, [at.get(text, text) for text in one.body]]
        while cells and not cells[-1]:
            cells.pop()
        return [KINDS.index(one.kind), at.get(one.text, one.text), *cells]

    said = {
        "kinds": KINDS,
        "alike": alike(),
        "texts": texts,
        "builds": [[build.title, build.links, [row(one) for one in build.found]] for build in builds],
    }
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    # U+2028 and U+2029 end a line in older JavaScript.
    text = text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return Asset(INDEX, f"var gasdocIndex={text};\n".encode())


def entries(study: Study, link: Link, sections: Sequence[Section], html: Mapping[str, str]) -> Entries:
    """What can be found in a build, from its results and from its pages as they are made, `html` by section."""
    build = study.build
    links = tuple(link(PAGE, uri(build.slug, section.slug)) for section in sections)
    at = {section.slug: i for i, section in enumerate(sections)}
    about = ", ".join(filter(None, (build.region.title, setting(build), study.standing.word)))
    found = [Found("build", about)]
    found += [Found("page", section.title, i) for i, section in enumerate(sections) if i]
    for section, i in at.items():
        found += _places(section, i, html[section])
    found += [Found("finding", f.message, 0, f.anchor) for f in study.said]
    work = study.worklist
    things = [thing for errand in (*work.open, *work.later) for thing in errand.things]
    found += [Found("finding", f.message, at["open"], t.id) for t in things for f in t.findings if f not in study.said]
    found += [
        Found("appliance", f"{s.appliance.name}, {s.appliance.kind.replace('-', ' ')}", at["supply"])
        for s in study.served
    ]
    for node, valve in build.each(Valve):
        found.append(Found("place", f"{build.labels[node.id]}: {valve.place or 'place not stated'}", at["door-sheet"]))
    for served in study.served:
        if served.outlet.place:
            found.append(Found("place", f"{served.appliance.name}: {served.outlet.place}", at["door-sheet"]))
    for room in study.rooms:
        for one in fitted(room) or ():
            if one.alarm.place:
                found.append(
                    Found("place", f"{first_upper(one.kind.senses)} alarm: {one.alarm.place}", at["air"], "alarms")
                )
    found += [Found("run", f"{build.labels[run.id]} ({run.id})", at["supply"], run.id) for run in study.lines.values()]
    found += [Found("part", item.name, at["materials"], part_id(item), (item.key,)) for item in study.materials]
    return Entries(build.spec.title, links, tuple(found))


def keys(link: Link) -> Entries:
    """The keys of a spec, with what each says, in the reference."""
    places = (link(PAGE, "reference/keys.md"),)
    return Entries(
        "Reference",
        places,
        tuple(
            Found("key", f"{key.name}: {key.what.striptags()}", 0, key_anchor(block.name, key.name))
            for block in key_blocks()
            for key in block.keys
        ),
    )


def _places(section: str, page: int, html: str) -> Iterator[Found]:
    """The headings of a page that can be linked to, each with the text under it; on some pages each item of a list."""
    html = html.partition("<!-- body -->")[2].partition("<!-- /body -->")[0]
    marks = [m for m in _PLACE.finditer(html) if m[1] != "li" or section in LISTS]
    for mark, after in zip(marks, [*marks[1:], None], strict=False):
        below = html[mark.end() : after.start() if after else len(html)]
        if mark[1] == "li":
            said = _texts(mark[3], MOST_TEXT["section"])
            yield Found(LISTS[section], said[0] if said else "", page, mark[2], said[1:])
        elif section not in LISTS:
            kind = "log" if section == "log" else "section"
            yield Found(kind, _plain(mark[3]), page, mark[2], _texts(below, MOST_TEXT[kind]))


@lru_cache(maxsize=4096)  # builds of a region have many sections in common
def _texts(html: str, left: int) -> tuple[str, ...]:
    """The text of each paragraph, and what pictures show, without tables, drawings and sources: up to so many letters."""
    found: list[str] = []
    for part in _BLOCK.split(_PICTURE.sub(r" \1 ", _SET_APART.sub(" ", html))):
        if left <= 0:
            break
        if not part.isspace() and (text := _plain(part)):
            found.append(text[:left])
            left -= len(text)
    return tuple(found)


@lru_cache(maxsize=KEPT)
def _plain(html: str) -> str:
    return Markup(html).striptags()  # it is never taken for HTML again
