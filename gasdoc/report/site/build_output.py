"""One spec -> everything it gives to a site: its pages and files, and what the pages of the whole site say of it."""

from __future__ import annotations

import datetime as dt
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import TypeVar

import jinja2
from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.reader import Read, read_file, read_spec
from gasdoc.data import DataError
from gasdoc.folder.changed import changed
from gasdoc.folder.check import Studied, failure_problem, finding_problems, limit_problem, study_of
from gasdoc.folder.compare import compare
from gasdoc.folder.provenance import History
from gasdoc.folder.shared_records import NO_RECORDS, Records
from gasdoc.machine import limited
from gasdoc.report.content import photos
from gasdoc.report.content.links import Address, Link
from gasdoc.report.content.output import Asset, Page
from gasdoc.report.drawings import schematic
from gasdoc.report.drawings.supply_tree import drawing
from gasdoc.report.formats import calendar, feed
from gasdoc.report.pages import pages, sections
from gasdoc.report.pages.templates import environment, place
from gasdoc.report.site import builds, search
from gasdoc.report.site.builds import BuildRow
from gasdoc.report.site.surroundings import Folder, Question
from gasdoc.report.views.changes import Template
from gasdoc.source import Problem, Severity
from gasdoc.study import Study, facts
from gasdoc.study.materials.own_files import read_own

T = TypeVar("T")


class Surroundings(Struct, frozen=True):
    """What all builds of a site are made with. It can be handed to another process if its `link` and `address` can.

    `link(page, target)` gives the relative URL of one source as seen from another. `history` is what git knows of the
    specs. `address` gives whole URLs, None where the site's own is not known, and then there are no feeds. `records` are
    those that specs share; none dated after `day` counts.
    """

    docs_dir: Path
    project_templates: Path | None
    link: Link
    history: History
    address: Address | None
    records: Records = NO_RECORDS
    day: dt.date | None = None


class Made(Struct, frozen=True):
    """What one spec gives. `units`, `row`, `found` are None where the spec cannot be taken: then there is one page, which
    says why. `asked` is all that was read for it, for `Folder.answers_alike`; `failure` is the traceback if gasdoc failed."""

    slug: str
    title: str
    problems: tuple[Problem, ...]
    pages: tuple[Page, ...]
    assets: tuple[Asset, ...]
    units: str | None
    row: BuildRow | None
    found: search.Entries | None
    upkeep: tuple[calendar.Dated, ...]
    log: tuple[feed.FeedItem, ...]
    errors_found: bool
    asked: Mapping[Question, object]
    failure: str | None
    draft: bool
    linked: tuple[str, ...] = ()
    """The files that its log links and that are published, by their paths among the specs."""
    stopped: bool = False
    """Whether the last stop ended the work on it: then nobody knows what was read for it."""


class Maker:
    """Makes what specs give, a handful at a time. A spec that gasdoc itself fails on does not keep the others from being
    made: it gets a page that says so."""

    def __init__(self, around: Surroundings) -> None:
        self.around = around
        self.env = environment(around.project_templates)
        self.own, self.own_problems = read_own(around.docs_dir, Path(around.docs_dir.name))
        self.at_work: dict[Path, _Draft] = {}

    def make(self, files: Sequence[Path], begun: Callable[[int], None] = lambda place: None) -> list[Made]:
        """What each spec gives, in order. All drawings are made in one call of the renderer. `begun` is told which of the
        specs is at work; behind the last one, all of them."""
        drafts = [_Draft(self, file) for file in files]
        self.at_work = {draft.file: draft for draft in drafts}
        dots: dict[_Draft, tuple[str, str]] = {}
        for number, draft in enumerate(drafts):
            begun(number)
            if (both := draft.tried(lambda draft: draft.dots)) is not None:
                dots[draft] = both
        begun(len(files))
        try:
            svgs = schematic.render([dot for both in dots.values() for dot in both])
        except schematic.RenderFailed:
            schematic.works()
            svgs = []  # so it is one of them: each draws its own, and only that one fails
        for draft, narrow, wide in zip(dots, svgs[::2], svgs[1::2], strict=False):
            draft.svgs = (narrow, wide)
        made = []
        for number, draft in enumerate(drafts):
            begun(number)
            made.append(draft.tried(_Draft.made) or draft.failed())
        return made

    def lost(self, file: Path, reason: limited.Reason) -> Made:
        """What a spec gives that was not done in its time, or on which the process has ended."""
        return _Draft(self, file).lost(reason)


class _Draft:
    """One spec on its way to its pages."""

    def __init__(self, maker: Maker, file: Path) -> None:
        self.maker = maker
        self.file = file
        self.folder = Folder(maker.around.docs_dir, maker.around.history, maker.around.records)
        self.svgs: tuple[str, str] | None = None
        self.failure: Exception | None = None

    def tried(self, step: Callable[[_Draft], T]) -> T | None:
        """The result of a step; None if gasdoc itself fails on this spec, now or in a step before."""
        if self.failure is not None:
            return None
        try:
            return step(self)
        except (schematic.RendererMissing, jinja2.TemplateSyntaxError, jinja2.TemplateNotFound, DataError):
            raise  # all specs would fail alike
        except Exception as failure:
            self.failure = failure
            return None

    @cached_property
    def spec(self) -> Read:
        return self.read(self.file.name)

    @cached_property
    def studied(self) -> Studied:
        maker = self.maker
        shared = self.folder.shared(self.file.name)
        return study_of(
            self.spec,
            own=maker.own,
            own_problems=maker.own_problems,
            day=maker.around.day,
            shared=shared,
            judge=self.folder.judge,
        )

    @property
    def study(self) -> Study:
        assert self.studied.study is not None
        return self.studied.study

    @cached_property
    def drawn(self) -> schematic.Drawing:
        return drawing(self.study)

    @cached_property
    def dots(self) -> tuple[str, str] | None:
        """The drawing's two layouts as the renderer takes them; None where there is nothing to draw."""
        if self.studied.study is None:
            return None
        return schematic.dot(self.drawn), schematic.dot(self.drawn, wide=True)

    def read(self, name: str) -> Read:
        """A spec of the folder as it is now."""
        shown = f"{self.maker.around.docs_dir.name}/{name}"
        raw = self.folder.text(name)
        if raw is None:
            return read_file(self.maker.around.docs_dir / name, shown)
        return read_spec(raw, shown, Path(name).stem)

    def made(self) -> Made:
        """What the spec gives."""
        around = self.maker.around
        read = self.studied.read
        provenance = self.folder.provenance(self.file.name)
        if self.studied.study is None:
            return self.broken(read, read.problems)
        study = self.study
        drawn = self.drawn
        narrow, wide = self.svgs or schematic.render(self.dots or ())
        svg = schematic.finish(narrow, drawn, links=True) + schematic.finish(wide, drawn, wide=True, links=True)
        log, upkeep = tuple(feed.items(study.build)), tuple(calendar.dated(study))
        album = photos.album(study, self.folder.judge)
        own = sections.Around(
            svg=svg,
            outline=schematic.text_alternative(drawn)[0],
            problems=read.problems,
            choices=self.studied.choices,
            judge=self.folder.judge,
            provenance=provenance,
            template=self.template(),
            changed=changed(study.build, study.standing, self.past()),
            beside=tuple(self.beside()),
            feed=around.address is not None and bool(log),
            address=around.address,
            album=album,
        )
        made = tuple(pages.build_pages(study, own, self.maker.env, around.link))
        html = {page.uri.removeprefix(f"{study.build.slug}/").removesuffix(".md"): page.html for page in made}
        return Made(
            slug=study.build.slug,
            title=study.build.spec.title,
            problems=read.problems,
            pages=made,
            assets=tuple(pages.build_assets(study, schematic.finish(wide, drawn, wide=True), upkeep)),
            units=facts.system(study.build),
            row=builds.row(study, around.link, album, self.folder.judge),
            found=search.entries(study, around.link, (*sections.menu(study, own), *sections.SHEETS), html),
            upkeep=upkeep,
            log=log,
            errors_found=any(problem.counts(Severity.ERROR) for problem in finding_problems(study)),
            asked=self.folder.asked,
            failure=None,
            draft=read.draft,
            linked=self.studied.linked.files,
        )

    def broken(self, read: Read, problems: tuple[Problem, ...]) -> Made:
        """A spec that cannot be taken: one page that says why."""
        around = self.maker.around
        page = pages.problem_page(read, problems, self.maker.env, around.link, self.folder.provenance(self.file.name))
        asked = self.folder.asked
        return Made(
            read.slug, read.title, problems, (page,), (), None, None, None, (), (), False, asked, None, read.draft
        )

    def lost(self, reason: limited.Reason) -> Made:
        """A spec that took too long, or too much memory: nothing more is asked of it."""
        shown = f"{self.maker.around.docs_dir.name}/{self.file.name}"
        problem = limit_problem(shown, reason)
        made = self.broken(Read(self.file.stem, shown, self.file.stem, None, ()), (problem,))
        return replace(made, stopped=True)

    def failed(self) -> Made:
        """A spec that gasdoc itself fails on: our defect, told with the place in the code, and no reason to stop the others."""
        assert self.failure is not None
        shown = f"{self.maker.around.docs_dir.name}/{self.file.name}"
        templates = self.maker.around.project_templates
        where = place(self.failure)
        problem = failure_problem(self.failure, shown)
        own = False
        if where is not None and templates is not None and Path(where).is_relative_to(templates):
            what = "".join(traceback.format_exception_only(self.failure)).strip()
            message = f"the project's own template fails on this spec, in {where}: {what}"
            remedy = "mend the template, or take it away to use the one that comes with gasdoc"
            problem = replace(problem, message=message, hint=remedy, code="template-fails")
        elif isinstance(self.failure, schematic.RenderFailed):
            message = f"the drawing program fails on this spec: {self.failure}"
            problem = replace(
                problem, message=message, hint="try another one, named in GASDOC_DOT", code="drawing-fails"
            )
        else:
            own = True
        found = self.__dict__.get("spec")  # unless reading it is what failed
        before = (*found.problems, *self.maker.own_problems) if found is not None else ()
        read = Read(self.file.stem, shown, found.title if found is not None else self.file.stem, None, ())
        told = "".join(traceback.format_exception(self.failure)) if own else None
        return replace(self.broken(read, (*before, problem)), failure=told)

    def past(self) -> Iterator[bytes]:
        """Earlier texts of the spec; git is asked for them when the first is wanted."""
        yield from self.folder.past_texts(self.file.name)

    def beside(self) -> Iterator[Study]:
        """The builds that the spec names to stand beside it; none that cannot be taken."""
        for name in dict.fromkeys(self.study.build.spec.beside):
            study = self.other(name)
            if study is not None:
                yield study

    def other(self, name: str) -> Study | None:
        """Another build of the folder as its own pages have it; None where it is not there or cannot be taken."""
        file = self.maker.around.docs_dir / f"{name}.md"
        if file == self.file or self.folder.text(file.name) is None:
            return None
        draft = self.maker.at_work.get(file) or _Draft(self.maker, file)
        done = draft.tried(lambda draft: draft.studied)
        self.folder.asked.update(draft.folder.asked)
        return done.study if done is not None else None

    def template(self) -> Template | None:
        """What the build was started from: the text of the revision it names, else the build of that name as it is now.

        Parts and prices of the project are those of now for both, so that only the builds differ.
        """
        origin = self.study.build.spec.template
        if origin is None:
            return None
        name = f"{origin.build}.md"
        own = self.maker.own
        then = None
        if origin.revision is not None and (raw := self.folder.text_at(name, origin.revision)) is not None:
            then = study_of(read_spec(raw, f"{name} at {origin.revision}", origin.build), own=own).study
        now = self.other(origin.build)
        before = then or now
        return Template(
            build=origin.build,
            revision=origin.revision if then is not None else None,
            recorded=origin.revision,
            comparison=compare(before, self.study) if before is not None else None,
            title=now.build.spec.title if now is not None else None,
            uri=sections.uri(origin.build, "index") if now is not None else None,
        )
