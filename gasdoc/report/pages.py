"""The pages of one build, from its study; and the page of a spec that cannot be read."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import jinja2
from markupsafe import Markup
from msgspec import Struct

from gasdoc.build.reader import Read
from gasdoc.choices.choices import Choices
from gasdoc.folder.changed import ChangedKey
from gasdoc.folder.linked import Judge
from gasdoc.folder.provenance import Provenance
from gasdoc.report import calendar, measuring, photos, qr, search
from gasdoc.report import whole_build as whole
from gasdoc.report.feed import feed_uri
from gasdoc.report.glossary import PAGE as WORDS
from gasdoc.report.glossary import with_every_word, with_words
from gasdoc.report.links import Address, Link
from gasdoc.report.output import Asset, NavItem, Page
from gasdoc.report.schematic import Outline
from gasdoc.report.typography import american, typeset_page
from gasdoc.report.views import (
    air,
    booklet,
    cautions,
    changes,
    choices,
    log,
    overview,
    referral,
    side_by_side,
    upkeep,
    worklist,
)
from gasdoc.report.views import door_sheet as doorsheet
from gasdoc.report.views import photos as gallery
from gasdoc.report.views.changes import Template
from gasdoc.report.views.container import page as container
from gasdoc.report.views.materials import page as materials
from gasdoc.report.views.materials import shopping
from gasdoc.report.views.proof import page as leaktest
from gasdoc.report.views.proof import test_sheet as testsheet
from gasdoc.report.views.supply import line
from gasdoc.report.views.supply import page as supply
from gasdoc.report.words import Quantities, first_upper
from gasdoc.source import Problem, Severity
from gasdoc.study import Study
from gasdoc.study.facts import setting, system
from gasdoc.study.proof.progress import Milestone
from gasdoc.study.proof.standing import Word, summary

"""link(page, target): the relative URL of `target` as seen from `page`; both are places among the site's sources."""

SECTIONS = (
    ("index", "Overview"),
    ("open", "What is open"),
    ("supply", "Supply tree"),
    ("line", "The line drawn"),
    ("container", "Container"),
    ("materials", "Materials"),
    ("work", "Order of work"),
    ("air", "Air and alarms"),
    ("cautions", "Cautions"),
    ("leak-test", "Leak test"),
    ("upkeep", "Upkeep"),
    ("referral", "Who decides"),
    ("log", "Build log"),
)

DOOR = ("door-sheet", "Gas: what to do")
"""What to do in an emergency; every page leads to it."""

SHEETS = (
    ("test-sheet", "Test day"),
    DOOR,
    ("shopping-list", "Shopping list"),
    ("labels", "Labels for the valves"),
)
"""Pages of one sheet to print and fill in; the pages they belong to lead to them, the menu does not."""

BOOKLET = ("booklet", "Booklet for the inspector")
"""The record in few sheets: what the whole record begins with; the overview leads to it."""

WHOLE = ("whole", "Whole record")
"""The pages of a build one after another, to print; the overview leads to it."""

APPENDIX = (("least-cost", "Least cost"),)
"""Pages for review only, which nothing is built from; the menu does not lead to them."""

CHANGES = ("changes", "Changes from template")
"""The section of a build that was started from another one."""

CHOICES = ("choices", "What to choose")
"""The section of a build that leaves something open."""

BESIDE = ("beside", "Side by side")
"""The section of a build that names others to stand beside it."""


DESCRIPTIONS = {
    "open": "What is not decided, read, measured or asked yet of {}, by what to do about it.",
    "choices": "Containers, regulators and tubing that would do for {}, with what each costs and weighs.",
    "beside": "{} beside other builds: container, tubing, weight, cost, days and findings.",
    "changes": "What is different in {} from the build it was started from.",
    "supply": "Size, length, load and pressure of every run of {}, with the working.",
    "line": "The gas line of {} drawn to its legs: isometric, plan and side view.",
    "container": "Whether the container of {} is enough on a cold night, how long it lasts, and what holds it on.",
    "materials": "Every part and joint of {}, with the cutting plan and passages.",
    "work": "The work on {} in order, step by step, up to the test day.",
    "air": "Rooms, openings, flues and alarms of {}.",
    "cautions": "Every caution for {}, with its reason and its source.",
    "leak-test": "How {} is tested for leaks, every joint, and what the recorded tests show.",
    "upkeep": "What has to be looked after on {}, and when.",
    "referral": "Which rules apply to {}, what they ask, and who decides.",
    "log": "How {} was built, day by day.",
    "photos": "Photos of {} by place and date.",
    "test-sheet": "The sheet for the test day of {}, to print and fill in.",
    "door-sheet": "What to do about a smell of gas or a carbon monoxide alarm at {}, and which valves to shut.",
    "shopping-list": "What to buy for {}, with prices where they are known.",
    "least-cost": "The least cost of the tubing of {}, for review only.",
    "booklet": "What an inspector asks about {}, on few pages.",
    "labels": "Labels for the valves of {}, to print.",
    "whole": "Everything about {} on one page.",
}
"""What each page of a build has, for search engines and previews of links; the overview says what the build is."""

DRAFT = "This is a draft: its owner says that the record is not finished."
"""What every page of a draft says."""


class Around(Struct, frozen=True):
    """What a build's pages say beside its study: the drawing of its supply with the same in words, what is wrong with its
    text, where that comes from, what it was started from, what has changed since a record that is stale, the builds it names
    to stand beside it, whether it has a feed, its photos. `address` gives whole URLs, None where the site's own is not known. `choices` is what can be chosen for it, None where nothing is open; `judge`
    tells what a path among the specs leads to."""

    svg: str
    outline: Outline
    problems: Sequence[Problem]
    choices: Choices | None
    judge: Judge
    provenance: Provenance | None
    template: Template | None
    changed: tuple[ChangedKey, ...]
    beside: tuple[Study, ...]
    feed: bool
    address: Address | None
    album: photos.Album


class BuildRow(Struct, frozen=True):
    """A build in the list of all builds, as it is shown; `watts` is for sorting. `progress` has its steps, `reached` says in
    words how far it is and what comes next; `cover` is its picture."""

    title: str
    href: str
    summary: str
    setting: str
    region: str
    standing: Word
    load: str
    watts: float
    container: str
    reaches: str
    cold_night: str
    errors: int
    warnings: int
    draft: bool
    progress: tuple[Milestone, ...]
    reached: str
    cover: photos.Picture | None


def uri(slug: str, section: str) -> str:
    """Where a build's section is among the site's sources."""
    return f"{slug}/{section}.md"


def build_pages(study: Study, around: Around, env: jinja2.Environment, link: Link) -> Iterator[Page]:
    """All pages of one build."""
    build = study.build
    template, open_choices = around.template, around.choices
    only_here = [CHOICES] * (open_choices is not None) + [BESIDE] * bool(build.spec.beside)
    only_here += [CHANGES] * (template is not None)
    album = around.album
    printed = (*SECTIONS[:1], *only_here, *SECTIONS[1:])  # where every photo stands besides, so the gallery need not
    sections = (*printed, *[photos.PAGE] * bool(album))

    def pictures(here: str) -> dict[str, list[photos.Picture]]:
        """The photos that the spec names, as seen from a page."""
        return photos.pictures(album, here, link, around.judge)

    isometric = line.first(study)
    signs = line.signs([isometric] if isometric is not None else [])

    def drawn(here: str) -> Markup:
        """The drawing with its boxes leading to the build's pages, as seen from one of them."""
        places = {section: uri(build.slug, section) for section, _ in sections}
        leading = re.sub(
            r'(<a href=")([a-z-]+)',
            lambda a: a[1] + (link(here, places[a[2]]) if places[a[2]] != here else ""),
            around.svg,
        )
        return Markup(leading)  # noqa: S704  # ours

    def first(here: str) -> Markup:
        """The isometric where legs are stated, else the supply tree."""
        return Markup(isometric.svg) if isometric is not None else drawn(here)  # noqa: S704  # ours

    views: Mapping[str, Callable[[str], dict[str, Any]]] = {
        "index": lambda here: overview.view(study, first(here)) | {"signs": signs},
        "open": lambda here: worklist.view(study),
        "supply": lambda here: supply.view(study, drawn(here), around.outline),
        "line": lambda here: line.view(study),
        "container": lambda here: container.view(study),
        "materials": lambda here: materials.view(study),
        "work": lambda here: {"steps": study.work.steps},
        "shopping-list": lambda here: shopping.view(study),
        "least-cost": lambda here: shopping.least_cost_view(study),
        "air": lambda here: air.view(study),
        "cautions": lambda here: cautions.view(study),
        "door-sheet": lambda here: doorsheet.view(study, pictures(here)),
        "booklet": lambda here: booklet.view(study, first(here)) | {"signs": signs},
        "labels": lambda here: doorsheet.labels(study),
        "test-sheet": lambda here: testsheet.view(study),
        "leak-test": lambda here: leaktest.view(study, around.changed),
        "upkeep": lambda here: upkeep.view(study, around.address),
        "referral": lambda here: referral.view(study),
        "log": lambda here: log.view(study, here, link, around.judge),
    }
    if photos.PAGE in sections:
        to_photos = {
            "photos": lambda here: gallery.view(pictures(here), tuple(photos.of_log(album, here, link, around.judge)))
        }
        views = {**views, **to_photos}
    short = [c.short for c in study.cautions if c.short]
    if template is not None:
        views = {**views, "changes": lambda here: changes.view(template)}
    if open_choices is not None:
        views = {**views, "choices": lambda here: choices.view(study, open_choices)}
    if build.spec.beside:
        to_build = {
            "beside": lambda here: side_by_side.view(study, around.beside, lambda s: link(here, uri(s, "index")))
        }
        views = {**views, **to_build}
    feed = feed_uri(build.slug) if around.feed else None
    preview = photos.preview(album, around.judge)
    parts: list[whole.PageOfWhole] = []
    common = {
        "study": study,
        "spec": build.spec,
        "called": build.labels,
        "code": study.standing.codes.tightness,
        "name": build.spec.title,
        "slug": build.slug,
        "q": Quantities.of(build),
        "short_cautions": short,
        "standing_line": f"{DRAFT} {standing_line(study)}" if build.spec.draft else standing_line(study),
        "running": running_line(study, around.provenance),
        "problems": around.problems,
        "code_of_record": _code_of_record(study, around.address),
        "template": template,
        "template_changes": changes.summary(template) if template is not None else [],
    }
    for section, title in (BOOKLET, *sections, *SHEETS, *APPENDIX):
        here = uri(build.slug, section)
        shown = pictures(here)
        menu = tuple(NavItem(uri(build.slug, s), t, s == section) for s, t in sections)
        context = {
            **common,
            "title": title,
            "feed": link(here, feed) if feed is not None else None,
            "here": here,
            "own_caution": own_caution(study, section),
            "pictures": shown,
            "of_line": photos.of_kinds(shown, "element", "appliance"),
            "of_joints": photos.of_kinds(shown, "joint"),
            "to": lambda target, here=here: link(here, target),
            "page": lambda section, here=here: link(here, uri(build.slug, section)),
        }
        spell = american if build.region.spelling == "american" and section != "log" else str
        html = typeset_page(env.get_template(f"pages/{section}.html").render(**context, **views[section](here)), spell)
        label = build.spec.title if section == "index" else f"{title} - {build.spec.title}"
        yield Page(
            here,
            label,
            with_words(html, link(here, WORDS), spell) if (section, title) in sections and section != "log" else html,
            posixpath.basename(build.path),
            menu,
            description(study, section),
            around.provenance,
            feed,
            emergency=uri(build.slug, DOOR[0]),
            picture=preview,
        )
        if (section, title) in (BOOKLET, *printed):
            folder = posixpath.dirname(link(uri(build.slug, WHOLE[0]), here))
            named = {link(here, uri(build.slug, s)): s for s, _ in (BOOKLET, *printed)}
            parts.append(whole.part(section, title, html, folder, named))
    here = uri(build.slug, WHOLE[0])
    html = env.get_template("pages/whole.html").render(
        **common,
        parts=parts,
        pictures=pictures(here),
        page=lambda section: link(here, uri(build.slug, section)),
        spec_path=build.path,
    )
    menu = tuple(NavItem(uri(build.slug, s), t, False) for s, t in sections)
    yield Page(
        here,
        f"{WHOLE[1]} - {build.spec.title}",
        with_every_word(html, link(here, WORDS), american if build.region.spelling == "american" else str),
        posixpath.basename(build.path),
        menu,
        description(study, WHOLE[0]),
        around.provenance,
        feed,
        emergency=uri(build.slug, DOOR[0]),
        picture=preview,
    )


def _code_of_record(study: Study, address: Address | None) -> Markup | None:
    """The code that leads from paper to the build's overview; None where nobody knows the site's address."""
    if address is None:
        return None
    whole = address(uri(study.build.slug, "index"))
    return qr.drawn(whole, f"QR code of {whole}")


def description(study: Study, section: str) -> str:
    """What a page has, in one sentence."""
    title = study.build.spec.title
    if section in DESCRIPTIONS:
        return DESCRIPTIONS[section].format(title)
    return study.build.spec.summary or f"How far {title} is, what it is made of, and what is wrong with it."


def own_caution(study: Study, section: str) -> str:
    """The caution that stands on the first screen of a page; where none is its own, the first of the short ones."""
    own = next((c for c in study.cautions if section in c.pages), None)
    own = own or next(c for c in study.cautions if c.short)
    return own.short or own.said(system(study.build))


def running_line(study: Study, provenance: Provenance | None) -> str:
    """What every printed sheet says of the record it belongs to: build, revision, build code."""
    commit = provenance.commit if provenance is not None else None
    changed = provenance is not None and provenance.uncommitted
    revision = f"revision {commit.short} of {commit.date}" if commit is not None else "no revision known"
    with_changes = ", with uncommitted changes" if changed and commit is not None else ""
    return f"{study.build.spec.title} · {revision}{with_changes} · build code {study.standing.codes.build}"


def standing_line(study: Study) -> str:
    """What every page says of the build's standing."""
    found = study.standing
    if found.signed:
        said = summary(study.build, found) if found.errors else "signed off"
        return f"{first_upper(said)}: {found.sign_off}."
    asked = len(found.proofs)
    stands = asked - len(found.open)
    tests = (
        f"{stands} of {asked} tests passed, by the numbers recorded"
        if study.build.spec.tests and asked
        else "no test recorded"
    )
    said = summary(study.build, found)
    return f"Not signed off, as far as this record can tell. {first_upper(said)}. {first_upper(tests)}."


def problem_page(
    read: Read, problems: Sequence[Problem], env: jinja2.Environment, link: Link, provenance: Provenance | None
) -> Page:
    """The page of a spec that cannot be taken: what is wrong with it, line by line."""
    here = uri(read.slug, "index")
    html = env.get_template("pages/problems.html").render(
        name=read.title,
        problems=problems,
        path=posixpath.basename(read.path),
        home=link(here, "index.md"),
        draft=DRAFT if read.draft else "",
    )
    return Page(
        here,
        read.title,
        html,
        posixpath.basename(read.path),
        (),
        f"What is wrong with the spec of {read.title}.",
        provenance,
    )


def build_assets(study: Study, svg: str, upkeep: Sequence[calendar.Dated]) -> Iterator[Asset]:
    """A build's files to take away; `upkeep` are its tasks with a date."""
    slug = study.build.slug
    yield Asset(f"{slug}/materials.csv", materials.csv(study))
    yield Asset(f"{slug}/shopping-list.csv", shopping.csv(study))
    yield Asset(f"{slug}/supply-tree.svg", svg.encode("utf-8"))
    yield from line.files(study)
    if upkeep:
        yield Asset(calendar.uri(slug), calendar.calendar(upkeep, f"Upkeep of {study.build.spec.title}"))


def row(study: Study, link: Link, album: photos.Album, judge: Judge) -> BuildRow:
    """A build as a row of the list of all builds."""
    quantities = Quantities.of(study.build)
    severities = [finding.severity for finding in study.said]
    return BuildRow(
        title=study.build.spec.title,
        href=link("index.md", uri(study.build.slug, "index")),
        summary=study.build.spec.summary or "",
        setting=setting(study.build) or "",
        region=study.build.region.title,
        standing=study.standing.word,
        load=quantities(study.load, "load"),
        watts=study.load,
        container=f"{study.container.number} x {study.container.name}",
        reaches=study.answers.gas_gets_there.word,
        cold_night=study.answers.cold_night.word,
        errors=severities.count(Severity.ERROR),
        warnings=severities.count(Severity.WARNING),
        draft=study.build.spec.draft,
        progress=study.progress,
        reached=_reached(study),
        cover=photos.cover(album, "index.md", link, judge),
    )


def _reached(study: Study) -> str:
    """How far the records have got, and what comes next."""
    last = [step for step in study.progress if step.state == "done"][-1]
    ahead = [step.name for step in study.progress if step.state == "next"]
    on = f" on {last.date}" if last.date is not None else ""
    return f"{first_upper(last.name)}{on}, by the owner's record.{f' Next: {ahead[0]}.' if ahead else ''}"


def index_page(
    rows: Sequence[BuildRow],
    broken: Sequence[tuple[str, str, int, bool]],
    env: jinja2.Environment,
    link: Link,
    *,
    calendar_uri: str | None,
    feed: str | None,
    reference: bool,
    picture: str | None,
) -> Page:
    """All builds side by side. `broken` has title, place, number of problems and draft or not of each spec that cannot be
    taken;
    `calendar_uri` and `feed` are the places of those of all builds, if there are any; `picture` is that of a cover; `reference` says that there is one."""
    html = typeset_page(
        env.get_template("pages/builds.html").render(
            rows=rows,
            broken=[(title, link("index.md", place), count, draft) for title, place, count, draft in broken],
            calendar=link("index.md", calendar_uri) if calendar_uri is not None else None,
            feed=link("index.md", feed) if feed is not None else None,
            reference=link("index.md", "reference/index.md") if reference else None,
            search=link("index.md", search.PAGE),
            measuring=link("index.md", measuring.PAGE),
        )
    )
    return Page(
        "index.md",
        "Builds",
        html,
        None,
        (),
        "Propane builds, kept as text and published as records.",
        feed=feed,
        scripts=("js/builds.js",),
        picture=picture,
    )
