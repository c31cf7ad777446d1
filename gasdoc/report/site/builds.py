"""The list of all builds."""

from __future__ import annotations

from collections.abc import Sequence

import jinja2
from msgspec import Struct

from gasdoc.folder.linked import Judge
from gasdoc.report.content import photos
from gasdoc.report.content.links import Link
from gasdoc.report.content.output import Page
from gasdoc.report.content.typography import typeset_page
from gasdoc.report.content.words import Quantities, first_upper
from gasdoc.report.pages.sections import DOOR, uri
from gasdoc.report.site import measuring
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.facts import setting
from gasdoc.study.proof.standing import Milestone, Word


class BuildRow(Struct, frozen=True):
    """A build in the list of all builds, as it is shown; `watts` is for sorting. `progress` has its steps, `reached` says in
    words how far it is and what comes next; `cover` is its picture, `door` where its sheet for the door is."""

    title: str
    href: str
    door: str
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


def row(study: Study, link: Link, album: photos.Album, judge: Judge) -> BuildRow:
    """A build as a row of the list of all builds."""
    quantities = Quantities.of(study.build)
    severities = [finding.severity for finding in study.said]
    return BuildRow(
        title=study.build.spec.title,
        href=link("index.md", uri(study.build.slug, "index")),
        door=link("index.md", uri(study.build.slug, DOOR)),
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
    taken. `calendar_uri` and `feed` are the places of those of all builds, if there are any. `picture` is that of a cover.
    `reference` says that there is one."""
    html = typeset_page(
        env.get_template("pages/builds.html").render(
            rows=rows,
            broken=[(title, link("index.md", place), count, draft) for title, place, count, draft in broken],
            calendar=link("index.md", calendar_uri) if calendar_uri is not None else None,
            feed=link("index.md", feed) if feed is not None else None,
            reference=link("index.md", "reference/index.md") if reference else None,
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
