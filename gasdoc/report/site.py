"""A folder of specs -> all pages and files of a site. Knows nothing of what publishes them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from gasdoc.provenance import History
from gasdoc.report import calendar, feed, measuring, pages, pictures, reference, schematic, search
from gasdoc.report.drawing import drawing
from gasdoc.report.page import Asset, Page
from gasdoc.report.reference import Command
from gasdoc.report.templates import environment
from gasdoc.report.views.changes import Template
from gasdoc.source import Problem, Severity
from gasdoc.spec.reader import Build, read_spec
from gasdoc.study import Study
from gasdoc.study.check import spec_files, study_file, study_of
from gasdoc.study.compare import compare
from gasdoc.study.own import read_own

HEAD_OF_PICTURE = 1_000_000
"""Bytes of a picture that are read for its size; it stands behind what a camera wrote, well before that (our choice)."""


@dataclass(frozen=True, slots=True)
class Site:
    """The pages and files of a site, every problem of its input, whether a build has findings at error level; its builds."""

    pages: tuple[Page, ...]
    assets: tuple[Asset, ...]
    problems: tuple[Problem, ...]
    errors_found: bool
    builds: tuple[Build, ...] = ()


def make_site(
    docs_dir: Path,
    *,
    project_templates: Path | None,
    link: Callable[[str, str], str],
    history: History | None = None,
    address: Callable[[str], str] | None = None,
    site_name: str = "Builds",
    commands: Sequence[Command] = (),
    progress: Callable[[str, int, int], None] | None = None,
) -> Site:
    """Every page and file made from the specs directly in `docs_dir`.

    `link(page, target)` gives the relative URL of one source as seen from another, `address(target)` the whole one; None
    where the site's address is not known, and then there are no feeds. `history` is what git knows of the specs, `commands`
    what the reference says of the command line; without them there is no reference. `progress` is told how far it has got. All drawings are made in one call. A spec that cannot be taken gets a page
    that says why; it does not keep the others from being published.
    """
    env = environment(project_templates)
    known = history or History()
    tell = progress or (lambda what, done, of: None)
    files = tuple(spec_files(docs_dir))
    done = []
    for number, file in enumerate(files, 1):
        tell("studying specs:", number, len(files))
        done.append(study_file(file, f"{docs_dir.name}/{file.name}"))
    studies = [(s.read, s.study) for s in done if s.study is not None]
    drawings = [drawing(made) for _, made in studies]
    svgs = schematic.render([schematic.dot(d) for d in drawings]) if drawings else []

    def exists(path: str) -> bool:
        try:
            return bool(path) and (docs_dir / path).is_file()
        except OSError:  # no file can have such a name
            return False

    @cache
    def measure(path: str) -> pictures.Size | None:
        if not exists(path):
            return None
        with (docs_dir / path).open("rb") as file:
            return pictures.size(file.read(HEAD_OF_PICTURE))

    template = _templates(docs_dir, {made.build.slug: made for _, made in studies}, known)
    made_pages: list[Page] = []
    assets: list[Asset] = []
    for place, ((read, made), drawn, raw) in enumerate(zip(studies, drawings, svgs, strict=True)):
        tell("making pages:", place + 1, len(studies))
        svg = schematic.finish(raw, drawn)
        around = pages.Around(
            pictures=exists,
            measure=measure,
            provenance=known.specs.get(Path(read.path).name),
            template=template(made),
            previous=studies[place - 1][1] if place else None,
            following=studies[place + 1][1] if place + 1 < len(studies) else None,
            feed=address is not None and bool(feed.items(made.build)),
        )
        made_pages += pages.build_pages(
            made, svg, schematic.text_alternative(drawn)[0], env, link, around, read.problems
        )  # fmt: skip
        assets += pages.build_assets(made, svg)
    broken = [s.read for s in done if s.study is None]
    made_pages += [pages.problem_page(read, env, link, known.specs.get(Path(read.path).name)) for read in broken]
    builds = [made.build for _, made in studies]
    if any(due.due is not None for _, made in studies for due in made.upkeep):
        assets.append(Asset(calendar.uri(None), calendar.calendar([made for _, made in studies], "Upkeep of all builds")))
    if address is not None:
        assets += feed.feeds(builds, site_name, address, exists)
    site_feed = feed.feed_uri(None) if address is not None and any(map(feed.items, builds)) else None
    made_pages.insert(0, pages.index_page([made for _, made in studies], broken, env, link, site_feed, bool(commands)))
    found = [made for _, made in studies]
    made_pages += [search.page(found, env, link), measuring.page(env, link)]
    assets.append(search.index(found, link, pages.SECTIONS))
    if commands:
        made_pages += reference.pages(env, link, commands)
        assets.append(reference.schema_asset())
    every = dict.fromkeys(problem for s in done for problem in s.read.problems)  # of the project's own files once
    problems = tuple(problem for problem in every if problem.severity > Severity.NOTE)
    errors = any(f.severity is Severity.ERROR for _, made in studies for f in made.findings)
    return Site(tuple(made_pages), tuple(assets), problems, errors, tuple(builds))


def _templates(docs_dir: Path, studies: dict[str, Study], history: History) -> Callable[[Study], Template | None]:
    """What each build was started from: the text of the revision it names, else the build of that name as it is now.

    Parts and prices of the project are those of now for both, so that only the builds differ.
    """
    own, _ = read_own(docs_dir)

    @cache
    def at(build: str, revision: str) -> Study | None:
        raw = history.text_at(f"{build}.md", revision)
        return study_of(read_spec(raw, f"{build}.md at {revision}", build), own=own).study if raw is not None else None

    def template(made: Study) -> Template | None:
        origin = made.build.spec.template
        if origin is None:
            return None
        then = at(origin.build, origin.revision) if origin.revision is not None else None
        now = studies.get(origin.build)
        before = then or now
        return Template(
            build=origin.build,
            revision=origin.revision if then is not None else None,
            recorded=origin.revision,
            comparison=compare(before, made) if before is not None else None,
            title=now.build.spec.title if now is not None else None,
            uri=pages.uri(origin.build, "index") if now is not None else None,
        )

    return template
