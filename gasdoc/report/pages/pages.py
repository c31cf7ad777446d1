"""The pages of one build, from its study; and the page of a spec that cannot be read."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator, Sequence

import jinja2
from markupsafe import Markup

from gasdoc.build.reader import Read
from gasdoc.folder.provenance import Provenance
from gasdoc.report.content import photos
from gasdoc.report.content.links import Address, Link
from gasdoc.report.content.output import Asset, NavItem, Page
from gasdoc.report.content.typography import american, typeset_page
from gasdoc.report.content.words import Quantities, first_upper
from gasdoc.report.drawings import qr
from gasdoc.report.formats import calendar
from gasdoc.report.formats.feed import feed_uri
from gasdoc.report.pages import whole_build
from gasdoc.report.pages.glossary import PAGE as WORDS
from gasdoc.report.pages.glossary import with_every_word, with_words
from gasdoc.report.pages.sections import APPENDIX, BOOKLET, DOOR, SHEETS, WHOLE, Around, Leaf, Section, menu, uri
from gasdoc.report.views import changes
from gasdoc.report.views.materials import page as materials
from gasdoc.report.views.materials import shopping
from gasdoc.report.views.supply import line
from gasdoc.source import Problem
from gasdoc.study import Study
from gasdoc.study.facts import system
from gasdoc.study.proof.standing import summary

DRAFT = "This is a draft: its owner says that the record is not finished."
"""What every page of a draft says."""


def build_pages(study: Study, around: Around, env: jinja2.Environment, link: Link) -> Iterator[Page]:
    """All pages of one build."""
    build = study.build
    isometric = line.first(study)
    sections = tuple(menu(study, around))
    spell = american if build.region.spelling == "american" else str
    feed = feed_uri(build.slug) if around.feed else None
    preview = photos.preview(around.album, around.judge)
    template = around.template
    common = {
        "study": study,
        "spec": build.spec,
        "called": build.labels,
        "code": study.standing.codes.tightness,
        "name": build.spec.title,
        "slug": build.slug,
        "q": Quantities.of(build),
        "short_cautions": [c.short for c in study.cautions if c.short],
        "standing_line": f"{DRAFT} {standing_line(study)}" if build.spec.draft else standing_line(study),
        "running": running_line(study, around.provenance),
        "problems": around.problems,
        "code_of_record": _code_of_record(study, around.address),
        "template": template,
        "template_changes": changes.summary(template) if template is not None else [],
    }

    def leaf(section: Section) -> Leaf:
        return Leaf(study, around, link, uri(build.slug, section.slug), isometric)

    def page(section: Section, html: str) -> Page:
        return Page(
            uri(build.slug, section.slug),
            build.spec.title if section.slug == "index" else f"{section.title} - {build.spec.title}",
            html,
            posixpath.basename(build.path),
            tuple(NavItem(uri(build.slug, s.slug), s.title, s is section) for s in sections),
            description(study, section),
            around.provenance,
            feed,
            emergency=uri(build.slug, DOOR),
            picture=preview,
        )

    whole, parts = leaf(WHOLE), []
    printed = (BOOKLET, *(s for s in sections if s.slug != "photos"))  # each photo stands where it belongs besides
    for section in (BOOKLET, *sections, *SHEETS, *APPENDIX):
        one = leaf(section)
        made = env.get_template(f"pages/{section.slug}.html").render(
            **common,
            title=section.title,
            feed=one.to(feed) if feed is not None else None,
            here=one.here,
            own_caution=own_caution(study, section.slug),
            pictures=one.pictures,
            of_line=photos.of_kinds(one.pictures, "element", "appliance"),
            of_joints=photos.of_kinds(one.pictures, "joint"),
            to=one.to,
            page=one.page,
            **section.view(one),
        )
        in_log = section.slug == "log"  # whose words are the builder's own
        html = typeset_page(made, str if in_log else spell)
        explained = section in sections and not in_log
        yield page(section, with_words(html, one.to(WORDS), spell) if explained else html)
        if section in printed:
            folder = posixpath.dirname(whole.to(one.here))
            named = {one.page(s.slug): s.slug for s in printed}
            parts.append(whole_build.part(section.slug, section.title, html, folder, named))
    made = env.get_template("pages/whole.html").render(
        **common, parts=parts, pictures=whole.pictures, page=whole.page, **WHOLE.view(whole)
    )
    yield page(WHOLE, with_every_word(made, whole.to(WORDS), spell))


def _code_of_record(study: Study, address: Address | None) -> Markup | None:
    """The code that leads from paper to the build's overview; None where nobody knows the site's address."""
    if address is None:
        return None
    whole = address(uri(study.build.slug, "index"))
    return qr.drawn(whole, f"QR code of {whole}")


def description(study: Study, section: Section) -> str:
    """What a page has, in one sentence; of the overview, what the build is where its spec says that."""
    spec = study.build.spec
    return spec.summary if section.slug == "index" and spec.summary else section.description.format(spec.title)


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
