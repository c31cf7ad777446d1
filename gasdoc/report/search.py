"""The search of a site: what can be found, as a small script that the search page reads.

A script and not a JSON file, because a page that was opened from a folder may not fetch one. MkDocs' own search is not
used: it indexes every word of every page, megabytes for a hundred builds, and needs its theme's scripts.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

import jinja2

from gasdoc.report.links import Link
from gasdoc.report.output import Asset, Page
from gasdoc.study import Study
from gasdoc.study.facts import setting

PAGE, INDEX, SCRIPT = "search.md", "search-index.js", "js/search.js"

KINDS = ("build", "page", "finding", "appliance", "part", "run")
"""What kinds of entries there are, in the order in which they are listed."""


Entries = list[object]
"""What can be found in one build, as the index has it: its title, the links of its pages, its entries."""


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
        "Find a build, a page, a finding, an appliance, a part or a run.",
        scripts=(INDEX, SCRIPT),
    )


def index(builds: Sequence[Entries]) -> Asset:
    """The index of what can be found in some builds."""
    text = json.dumps({"kinds": KINDS, "builds": builds}, ensure_ascii=False, separators=(",", ":"))
    # U+2028 and U+2029 end a line in older JavaScript.
    text = text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return Asset(INDEX, f"var gasdocIndex={text};\n".encode())


def entries(study: Study, link: Link, sections: Sequence[tuple[str, str]]) -> Entries:
    """What can be found in a build. An entry is kind, text, which link, anchor; what is empty at the end is left out."""
    build = study.build
    slug = build.slug
    links = [link(PAGE, f"{slug}/{section}.md") for section, _ in sections]
    at = {section: i for i, (section, _) in enumerate(sections)}
    about = ", ".join(filter(None, (study.build.region.title, setting(build), study.standing.word)))
    found: list[list[object]] = [[0, about]]
    found += [[1, title, i] for i, (_, title) in enumerate(sections) if i]
    found += [[2, f.message, 0, f.anchor] for f in study.said]
    work = study.worklist
    things = [thing for errand in (*work.open, *work.later) for thing in errand.things]
    found += [[2, f.message, at["open"], t.id] for t in things for f in t.findings if f not in study.said]
    found += [[3, f"{s.appliance.name}, {s.appliance.kind.replace('-', ' ')}", at["supply"]] for s in study.served]
    found += [[4, item.name, at["materials"]] for item in study.materials]
    found += [
        [5, f"{build.labels[run.id]} ({run.id})", at["supply"], run.id] for zone in study.zones for run in zone.runs
    ]
    return [build.spec.title, links, found]
