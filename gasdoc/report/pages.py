"""The pages of one build, from its study; and the page of a spec that cannot be read."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import jinja2

from gasdoc.report.page import Asset, NavItem, Page
from gasdoc.report.schematic import Outline
from gasdoc.report.views import cautions, leaktest, log, materials, overview, referral, supply, upkeep
from gasdoc.report.words import Quantities, percent
from gasdoc.source import Problem
from gasdoc.spec.reader import Read
from gasdoc.study import Study
from gasdoc.study.facts import setting, system

Link = Callable[[str, str], str]
"""link(page, target): the relative URL of `target` as seen from `page`; both are places among the site's sources."""

SECTIONS = (
    ("index", "Overview"),
    ("supply", "Supply tree"),
    ("materials", "Materials"),
    ("cautions", "Cautions"),
    ("leak-test", "Leak test"),
    ("upkeep", "Upkeep"),
    ("referral", "Who decides"),
    ("log", "Build log"),
)

def uri(slug: str, section: str) -> str:
    """Where a build's section is among the site's sources."""
    return f"{slug}/{section}.md"


def build_pages(study: Study, svg: str, outline: Outline, env: jinja2.Environment, link: Link,
                pictures: Callable[[str], bool], problems: Sequence[Problem]) -> Iterator[Page]:  # fmt: skip
    """All pages of one build. `pictures` tells whether a path among the specs exists."""
    build = study.build
    views: Mapping[str, Callable[[str], dict[str, Any]]] = {
        "index": lambda here: overview.view(study),
        "supply": lambda here: supply.view(study, svg, outline),
        "materials": lambda here: materials.view(study),
        "cautions": lambda here: cautions.view(study),
        "leak-test": lambda here: leaktest.view(study),
        "upkeep": lambda here: upkeep.view(study),
        "referral": lambda here: referral.view(study),
        "log": lambda here: log.view(study, here, link, pictures),
    }
    short = [c.short for c in study.cautions if c.short]
    for section, title in SECTIONS:
        here = uri(build.slug, section)
        menu = tuple(NavItem(uri(build.slug, s), t, s == section) for s, t in SECTIONS)
        context = {
            "study": study, "spec": build.spec, "title": title, "name": build.spec.title, "slug": build.slug,
            "q": Quantities(system(build)), "percent": percent, "short_cautions": short,
            "here": here, "standing_line": standing_line(study), "problems": problems,
            "to": lambda target, here=here: link(here, target),
            "page": lambda section, here=here: link(here, uri(build.slug, section)),
        }  # fmt: skip
        html = env.get_template(f"pages/{section}.html").render(**context, **views[section](here))
        label = build.spec.title if section == "index" else f"{title} - {build.spec.title}"
        yield Page(here, label, html, posixpath.basename(build.path), menu, f"{title} of {build.spec.title}.")


def standing_line(study: Study) -> str:
    """What every page says of the build's standing."""
    tests = "tests recorded, not judged" if study.standing.tests else "no test recorded"
    return f"Not signed off, as far as this record can tell. {study.standing.word.capitalize()}; {tests}."


def problem_page(read: Read, env: jinja2.Environment, link: Link) -> Page:
    """The page of a spec that cannot be taken: what is wrong with it, line by line."""
    here = uri(read.slug, "index")
    html = env.get_template("pages/problems.html").render(
        name=read.title, problems=read.problems, path=posixpath.basename(read.path), home=link(here, "index.md")
    )
    return Page(here, read.title, html, posixpath.basename(read.path), (), f"What is wrong with the spec of {read.title}.")


def build_assets(study: Study, svg: str) -> Iterator[Asset]:
    """A build's files to take away."""
    slug = study.build.slug
    yield Asset(f"{slug}/materials.csv", materials.csv(study))
    yield Asset(f"{slug}/supply-tree.svg", svg.encode("utf-8"))


def index_page(studies: Sequence[Study], failed: Sequence[Read], env: jinja2.Environment, link: Link) -> Page:
    """All builds side by side."""
    rows = []
    for study in studies:
        quantities = Quantities(system(study.build))
        errors = sum(1 for f in study.findings if str(f.severity) == "error")
        warnings = sum(1 for f in study.findings if str(f.severity) == "warning")
        rows.append({
            "title": study.build.spec.title, "href": link("index.md", uri(study.build.slug, "index")),
            "summary": study.build.spec.summary or "", "setting": setting(study.build) or "",
            "region": study.resolved.region.title, "standing": study.standing, "load": quantities(study.load, "load"),
            "container": study.container, "appliances": len(study.served), "errors": errors, "warnings": warnings,
        })  # fmt: skip
    broken = [{"title": r.title, "href": link("index.md", uri(r.slug, "index")), "problems": r.problems} for r in failed]
    html = env.get_template("pages/builds.html").render(rows=rows, broken=broken)
    return Page("index.md", "Builds", html, None, (), "Propane builds, kept as text and published as records.")
