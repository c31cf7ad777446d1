"""A folder of specs -> all pages and files of a site. Knows nothing of what publishes them."""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.commandline import Command
from gasdoc.folder.check import folder_records
from gasdoc.folder.contents import Contents, contents
from gasdoc.folder.provenance import History
from gasdoc.machine import limited
from gasdoc.report.content.links import Address, Link
from gasdoc.report.content.output import Asset, Page
from gasdoc.report.formats import calendar, feed
from gasdoc.report.pages import sections
from gasdoc.report.site import builds, measuring, reference, search
from gasdoc.report.site.build_output import Made, Maker, Surroundings
from gasdoc.report.site.kept_builds import Kept
from gasdoc.report.site.surroundings import Folder
from gasdoc.source import Problem, Severity
from gasdoc.wrong import Refused

FEW = 12
"""Up to so many specs are made in this process: to start others takes as long (our choice)."""

HANDFUL = 20
"""Most specs that one process makes at a time: enough for one call of the renderer to be cheap, few enough for processes
to end together (our choice)."""

Progress = Callable[[str, int, int], None]


class Summary(Struct, frozen=True):
    """A build on a site: its name in addresses, and the units its spec shows first."""

    slug: str
    units: str


class Site(Struct, frozen=True):
    """The pages and files of a site, every problem of its input, whether a build has findings at error level; its builds;
    the tracebacks of what gasdoc failed on. `unreadable`, `drafts` and `left_out` are names of files: specs that have no
    page but one of problems, drafts, and what has no page at all."""

    pages: tuple[Page, ...]
    assets: tuple[Asset, ...]
    problems: tuple[Problem, ...]
    errors_found: bool
    builds: tuple[Summary, ...] = ()
    failures: tuple[str, ...] = ()
    unreadable: tuple[str, ...] = ()
    drafts: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    linked: frozenset[str] = frozenset()
    """The files that build logs link and that are published, by their paths among the specs."""


class Order(Struct, frozen=True):
    """A site as it is ordered: of the specs directly in `docs_dir`, and `found` is what lies there, if that is known already.

    `link(page, target)` gives the relative URL of one source as seen from another, `address(target)` the whole one; None
    where the site's address is not known, and then there are no feeds. `history` is what git knows of the specs, `day` the
    day on which records are read, `commands` what the reference says of the command line; without them there is no reference.
    `progress` is told how far it has got. What is `kept` from a run before with the same `surroundings` is not made again.
    `processes` is how many work side by side, all processors for None; the result is the same. `seconds` is the last stop
    for one spec (None: none): one that takes longer, or takes the process with it, gets a page that says so.
    """

    docs_dir: Path
    project_templates: Path | None
    link: Link
    found: Contents | None = None
    history: History = History()
    day: dt.date | None = None
    address: Address | None = None
    site_name: str = "Builds"
    commands: Sequence[Command] = ()
    progress: Progress | None = None
    kept: Kept | None = None
    surroundings: object = None
    processes: int | None = None
    seconds: float | None = None

    def surroundings_now(self) -> Surroundings:
        """What all of its builds are made with, with the records of the folder as they are now."""
        records = folder_records(self.docs_dir)
        return Surroundings(
            self.docs_dir, self.project_templates, self.link, self.history, self.address, records, self.day
        )


def make_site(order: Order) -> Site:
    """Every page and file of a site.

    A spec that cannot be taken gets a page that says why; it does not keep the others from being published. Raises
    schematic.RendererMissing, jinja2.TemplateError, and Refused when a process has ended, from lack of memory most likely.
    """
    maker = Maker(order.surroundings_now())
    around, kept = maker.around, order.kept
    found = order.found or contents(order.docs_dir, Path(order.docs_dir.name))
    files = found.specs
    surroundings = (order.surroundings, order.link, order.address, order.day)
    made = kept.still_good(files, around, surroundings) if kept is not None else {}
    new = [file for file in files if file not in made]
    for file, one in zip(new, _make(maker, new, order), strict=True):
        made[file] = one
        if order.progress is not None:
            order.progress("making builds:", len(made), len(files))
    if kept is not None:
        kept.keep(made)
    everything = [made[file] for file in files]
    good = [one for one in everything if one.row is not None]
    broken = [one for one in everything if one.row is None]
    whole = _site(maker, good, broken, order)
    return replace(
        whole,
        problems=(*found.problems, *whole.problems),
        unreadable=tuple(file.name for file in files if made[file].row is None),
        drafts=tuple(file.name for file in files if made[file].draft),
        left_out=tuple(sorted(found.refused)),
    )


def _site(maker: Maker, good: Sequence[Made], broken: Sequence[Made], order: Order) -> Site:
    """The site of what each spec gave, with the pages and files of all of them together."""
    around, env, link, commands = maker.around, maker.env, order.link, order.commands
    made_pages = [*(page for one in (*good, *broken) for page in one.pages)]
    assets = [asset for one in good for asset in one.assets]
    events = [event for one in good for event in one.upkeep]
    if events:
        assets.append(Asset(calendar.uri(None), calendar.calendar(events, "Upkeep of all builds")))
    site_feed = None
    if order.address is not None:
        folder = Folder(around.docs_dir, around.history)
        assets += feed.feeds(
            [one.log for one in good], order.site_name, order.address, lambda path: folder.judge(path).leads
        )
        site_feed = feed.feed_uri(None) if any(one.log for one in good) else None
    made_pages.insert(
        0,
        builds.index_page(
            [one.row for one in good if one.row is not None],
            [(one.title, one.pages[0].uri, len(one.problems), one.draft) for one in broken],
            env,
            link,
            calendar_uri=calendar.uri(None) if events else None,
            feed=site_feed,
            reference=bool(commands),
            picture=next((one.pages[0].picture for one in good if one.pages[0].picture is not None), None),
        ),
    )
    made_pages += [
        search.page([(one.title, sections.uri(one.slug, "index")) for one in good], env, link),
        measuring.page(env, link),
    ]
    found = [one.found for one in good if one.found is not None]
    assets.append(search.index([*found, search.keys(link)] if commands else found))
    made_pages += reference.pages(env, link, commands, around.day)
    if commands:
        assets.append(reference.schema_asset())
    every = dict.fromkeys(
        problem for one in (*good, *broken) for problem in one.problems
    )  # of the project's own files once
    return Site(
        pages=tuple(made_pages),
        assets=tuple(assets),
        problems=tuple(problem for problem in every if problem.severity > Severity.NOTE),
        errors_found=any(one.errors_found for one in good),
        builds=tuple(Summary(one.slug, one.units) for one in good if one.units is not None),
        failures=tuple(one.failure for one in broken if one.failure is not None),
        linked=frozenset(path for one in good for path in one.linked),
    )


# --- several processes ----------------------------------------------------------------------------------------------


def _processors() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1


def _make(maker: Maker, files: Sequence[Path], order: Order) -> Iterator[Made]:
    """What each spec gives, in order; with many specs and processors in several processes."""
    if not files:
        return
    processes, seconds = order.processes or _processors(), order.seconds
    size = max(1, min(HANDFUL, -(-len(files) // max(processes, 1))))
    handfuls = [files[start : start + size] for start in range(0, len(files), size)]
    several = len(files) > FEW and processes > 1
    if seconds is not None and limited.can_copy():
        yield from limited.each(
            lambda handful, begun: iter(maker.make(handful, begun)),
            handfuls if several else [files],
            maker.lost,
            processes=processes if several else 1,
            seconds=seconds,
        )
        return
    if not several:
        yield from (made for handful in handfuls for made in _made(maker, handful, seconds))
        return
    # To copy this process, with its maker, is fastest and safe as long as it has one thread; elsewhere each starts afresh.
    copied = sys.platform == "linux" and threading.active_count() == 1
    context = multiprocessing.get_context("fork" if copied else "spawn")
    given: Maker | Surroundings = maker if copied else maker.around
    try:
        with ProcessPoolExecutor(min(processes, len(handfuls)), context, _begin, (given,)) as pool:
            yield from _flat(pool.map(partial(_make_handful, seconds=seconds), handfuls))
    except BrokenProcessPool:
        raise Refused(
            "a process that was making builds has ended unexpectedly. With little memory, close other programs and "
            "try again"
        ) from None


def _flat(handfuls: Iterable[list[Made]]) -> Iterator[Made]:
    for handful in handfuls:
        yield from handful


_maker: Maker | None = None
"""This process's maker, where it is one of several."""


def _begin(given: Maker | Surroundings) -> None:
    """Begin with the maker of the process that this one is a copy of, or with a new one."""
    global _maker  # what a worker process begins with has no other place
    _maker = given if isinstance(given, Maker) else Maker(given)


def _make_handful(files: Sequence[Path], seconds: float | None) -> list[Made]:
    assert _maker is not None
    return _made(_maker, files, seconds)


def _made(maker: Maker, files: Sequence[Path], seconds: float | None) -> list[Made]:
    """What each spec gives, made in this process; where one takes too long, each of them alone."""
    if seconds is None:
        return maker.make(files)
    try:
        with limited.interrupted(seconds) as begun:
            return maker.make(files, begun)
    except limited.OutOfTime:
        if len(files) == 1:
            return [maker.lost(files[0], "time")]
        return [made for file in files for made in _made(maker, [file], seconds)]
