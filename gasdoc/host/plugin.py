"""The MkDocs plugin: hands finished pages to MkDocs. The only file that knows MkDocs.

Nothing is written under docs_dir: pages and assets are virtual files. Each build starts afresh in `on_config`; while the
site is served one plugin object sees many builds, and keeps what each spec gave (`kept`) and what has been written
(`shown`), so that only what has changed is made and written again.
"""

from __future__ import annotations

import datetime as dt
import errno
import hashlib
import logging
import os
import re
import socket
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Literal, cast
from urllib.parse import urljoin, urlsplit

import jinja2
from markupsafe import escape
from mkdocs.commands import build as commands_build
from mkdocs.commands import serve as commands_serve
from mkdocs.config import config_options, load_config
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError, PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel, get_files, set_exclusions
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.structure.toc import get_toc
from mkdocs.theme import Theme
from mkdocs.utils.templates import TemplateContext

from gasdoc import __version__, data, published
from gasdoc.build import schema
from gasdoc.cli import command as cli
from gasdoc.folder import check as specs
from gasdoc.folder.contents import Contents, contents
from gasdoc.folder.linked import NO_LINKS
from gasdoc.folder.provenance import History, history, source_date_epoch, utc_date
from gasdoc.host import publish, serving
from gasdoc.machine import inside, limited
from gasdoc.report import reference, schematic, search, site, templates
from gasdoc.report.links import Links
from gasdoc.report.markdown import Handwritten
from gasdoc.report.output import Page
from gasdoc.report.own_files import PACKAGE, in_checkout, theme_files
from gasdoc.report.templates import search_path
from gasdoc.source import MAX_BYTES, Problem, Severity, printable, printable_lines
from gasdoc.study.materials.own_files import PARTS, PRICES

log = get_plugin_logger(__name__)

Progress = Callable[[str, int, int], None]
"""progress(what, done, of): told how far long work has got."""

Shown = dict[str, tuple[object, ...]]
"""What the site has, by place: the frame (None for a file without one) and what is in it."""


class GasdocConfig(Config):  # type: ignore[no-untyped-call]  # MkDocs' class has an untyped hook
    """The plugin's options in mkdocs.yml."""

    templates = config_options.Optional(config_options.Dir(exists=True))
    """The project's own templates; left out, `site_templates` beside mkdocs.yml when there is one."""
    overrides = config_options.Type(bool, default=False)
    """Whether files among the specs may take the place of gasdoc's own style, scripts and icons."""
    publish = config_options.ListOfItems(config_options.Type(str), default=[])
    """Files among the specs that are published as they are, whatever they are, as in [CNAME, robots.txt]."""
    raw_html = config_options.Type(bool, default=False)
    """Whether HTML in the project's own pages is taken as HTML; else it is shown as text."""


class GasdocPlugin(BasePlugin[GasdocConfig]):  # type: ignore[no-untyped-call]  # MkDocs' class has an untyped hook
    """Turns the specs in docs_dir into pages."""

    progress: Progress | None = None
    kept: site.Kept | None = None
    frame: object = None
    epoch_before: tuple[str | None] | None = None

    def __init__(self) -> None:
        super().__init__()
        self.shown: Shown = {}
        self.copied: Shown = {}
        self.known_surroundings: object = None

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """While the site is served, keep what need not be made again."""
        self.kept = site.Kept() if command == "serve" else None
        self.shown = {}
        self.frame = None

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Set our theme, strict link checks and the folders to watch; forget the build before."""
        self.made: dict[str, Page] = {}
        self.places: set[str] = set()
        self.plain: dict[str, str] = {}
        self.written = 0
        self.link = Links(config.use_directory_urls)
        self.history = known(config)
        if self.history.refused is not None:
            log.warning("%s, so the pages say nothing of commits", self.history.refused)
        self.epoch_before = None
        self.day = record_day()
        refuse_code_among_specs(config, self.project_templates(config))
        try:
            templates.check_own(self.project_templates(config))
        except templates.TemplateError as error:
            raise PluginError(str(error)) from None
        self.folders = search_path(self.project_templates(config))
        self.sources = data_sources()
        self.surroundings = self.digest(config) if self.kept is not None else None
        self.set_epoch()
        if self.kept is None or self.surroundings != self.known_surroundings:
            data.forget()  # a data file may be what changed
            self.known_surroundings = self.surroundings
        folders = self.folders
        if config.theme.name not in (None, "mkdocs"):  # "mkdocs" is what MkDocs fills in when no theme is named
            log.warning(
                "gasdoc brings its own theme, so 'theme' in the configuration has no effect; take it out and "
                "put templates that differ into a folder site_templates beside the configuration"
            )
        config.theme = Theme(name=None, custom_dir=str(folders[0]), static_templates=["404.html"])
        config.theme.dirs[1:1] = [str(folder) for folder in folders[1:]]
        # A link that leads nowhere is a defect of the record: what MkDocs would only mention becomes a warning, which
        # --strict stops on ("ignore" in the configuration still means ignore).
        for checks in (config.validation.nav, config.validation.links):
            for kind in checks:
                if checks[kind] == logging.INFO:
                    checks[kind] = logging.WARNING
        self.handwritten = Handwritten(raw_html=self.config.raw_html)
        config.markdown_extensions.append(
            cast(str, self.handwritten)
        )  # Markdown takes extensions as well as their names
        # Markdown aligns table cells with style attributes, which a strict content policy refuses.
        config.mdx_configs["tables"] = {"use_align_attribute": True, **config.mdx_configs.get("tables", {})}
        watched = [*map(str, folders), *map(str, self.sources)]
        config.watch += [path for path in watched if path not in config.watch]
        commands_build.get_files = files_below  # type: ignore[attr-defined]  # until `on_files`, which comes next
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Take the specs out, put the pages and assets made from them in, and log what is wrong with the specs.

        Raises PluginError when no spec can be read: then there is nothing to publish.
        """
        commands_build.get_files = get_files  # type: ignore[attr-defined]
        docs = Path(config.docs_dir)
        found = contents(docs, Path(docs.name))
        if not found.specs:
            tell(found.problems)
            raise PluginError(f"no spec in {docs}: a spec is a .md file that begins with '---' and 'format: 1'")
        self.take_out(files, found, config)
        address = address_maker(config)
        if address is None:
            log.info("no site_url in the configuration, so the build logs have no feeds")
        try:
            made = site.make_site(
                docs,
                found=found,
                project_templates=self.project_templates(config),
                link=self.link,
                history=self.history,
                day=self.day,
                address=address,
                site_name=config.site_name,
                commands=reference.commands(cli.parser()),
                progress=self.progress,
                kept=self.kept,
                seconds=limited.SECONDS,
                surroundings=self.surroundings,
            )
        except (schematic.RendererMissing, site.Stopped) as error:
            raise PluginError(str(error)) from None
        for failure in made.failures:
            log.info("%s", failure)
        own = self.publish_linked(files, made.linked, found, config)
        self.site = made = replace(made, problems=(*made.problems, *own))
        tell(made.problems)
        if not made.builds and self.kept is None:  # one who serves the site is about to put that right
            raise PluginError(f"no spec in {docs} can be read, so there is nothing to publish; mend what is told above")
        self.made = {page.uri: page for page in made.pages}
        if kept := files.get_file_from_path(schema.FILE):  # the copy editors use; the site gets this version's
            files.remove(kept)
        owners = {file.dest_uri: file.src_uri for file in files}
        for page in made.pages:
            file = self.add(files, config, owners, page.uri, "", page.source, page)
            RecordPage(page, file, config)
        for asset in made.assets:
            self.add(files, config, owners, asset.uri, asset.content, None, asset.content)
        self.places = set(owners)
        if self.kept is not None:
            self.unshow_changed(files, config)
        return files

    def take_out(self, files: Files, found: Contents, config: MkDocsConfig) -> None:
        """Take out what pages are made of and what cannot be taken, and see to it that pictures are cleaned and hand-written
        pages always read."""
        for file in [file for file in files if file.src_dir == config.docs_dir]:
            made_of = file.src_uri in (PARTS, PRICES) or file.src_uri in found.refused
            if made_of or (file.is_documentation_page() and file.src_uri not in found.pages):
                files.remove(file)
        keep_inside(files, Path(config.docs_dir))
        if self.kept is not None:
            for file in [file for file in files if file.is_documentation_page() and file.src_dir == config.docs_dir]:
                files.remove(file)
                files.append(HandwrittenFile(file.src_uri, config.docs_dir, config.site_dir, config.use_directory_urls))

    def publish_linked(
        self, files: Files, linked: Collection[str], found: Contents, config: MkDocsConfig
    ) -> list[Problem]:
        """Leave of the project's own files those that a page links or the configuration names, and tell what is wrong with
        the links of its own pages, and which files would take the place of gasdoc's own."""
        docs_dir = Path(config.docs_dir)
        self.page_links = specs.page_links(docs_dir, found.pages)
        named = {str(getattr(script, "path", script)) for script in (*config.extra_css, *config.extra_javascript)}
        named.update(self.config.publish)
        ours = theme_files(*self.folders)
        replaced = set(specs.replaced_files(docs_dir, ours)) - named
        if self.config.overrides:
            named, replaced = named | replaced, set()
        publish = {*linked, *(path for page in self.page_links.values() for path in page.files)} - named - replaced
        for file in [file for file in files if file.src_dir == config.docs_dir and not file.is_documentation_page()]:
            if file.src_uri in named:
                continue
            files.remove(file)
            if file.src_uri not in publish | replaced:
                log.info("%s is linked by no page, so it is not published", file.src_uri)
        if replaced:  # the theme's own have been left out for them
            files.add_files_from_theme(config.theme.get_env(), config)
        for path in sorted(publish):
            files.append(Published(path, config.docs_dir, config.site_dir, config.use_directory_urls))
        return specs.folder_problems(docs_dir, ours, self.page_links, lambda path: path not in replaced)

    def unshow_changed(self, files: Files, config: MkDocsConfig) -> None:
        """Take out of the site that is served what is copied and has changed: MkDocs copies what is not there, and would else
        ask which of the two is newer."""
        self.copied = {file.dest_uri: signature(file) for file in files if file.abs_src_path is not None}
        for place, found in self.copied.items():
            if self.shown.get(place) != found:
                Path(config.site_dir, place).unlink(missing_ok=True)

    def on_serve(
        self, server: LiveReloadServer, *, config: MkDocsConfig, builder: Callable[..., None]
    ) -> LiveReloadServer:
        """Answer what is meant for this server only, and tell of a build that fails in one line."""

        def build() -> None:
            try:
                builder()
            except Abort:
                raise
            except Exception as error:  # noqa: BLE001  # MkDocs would print a traceback, and go on alike
                where = templates.place(error)
                raise Abort(printable(f"{f'{where}: ' if where else ''}{type(error).__name__}: {error}")) from None

        server.builder = build
        app = server.get_app()
        assert app is not None
        server.set_app(serving.guarded(cast(serving.Answer, app), config.dev_addr.host))
        return server

    def on_nav(self, nav: Navigation, *, config: MkDocsConfig, files: Files) -> Navigation:
        """Remember the navigation: it stands in every page's frame."""
        self.nav = nav
        return nav

    def on_env(self, env: jinja2.Environment, *, config: MkDocsConfig, files: Files) -> jinja2.Environment:
        """Escape in our theme's templates, which MkDocs' own environment does not, and have a project's run in a sandbox."""
        env.autoescape = True
        if len(self.folders) > 1:
            env = templates.sandboxed(env)
        env.globals["gasdoc_version"] = __version__
        env.globals["serving"] = self.kept is not None  # MkDocs then puts a script of its own into every page
        # From here on pages are written: those that are shown already need not be if their frame is the same, too.
        names = tuple((item.title, getattr(item, "url", None)) for item in self.nav)
        self.frame = (self.surroundings, config_bytes(config), names, self.search_page())
        return env

    def on_page_markdown(self, markdown: str, *, page: MkDocsPage, config: MkDocsConfig, files: Files) -> str:
        """Nothing to convert for a page that gasdoc made; only its title is set."""
        if made := self.made.get(page.file.src_uri):
            page.meta["title"] = escape(made.title)  # MkDocs takes titles for HTML
            return ""
        page.meta.pop("template", None)  # which template a page is put into is not for a file among the specs to say
        links = self.page_links.get(page.file.src_uri, NO_LINKS)
        self.handwritten.dead = links.dead
        if links.plain:
            self.plain[page.file.src_uri] = markdown
            return ""
        return markdown

    def on_page_content(self, html: str, *, page: MkDocsPage, config: MkDocsConfig, files: Files) -> str:
        """The finished HTML, and its anchors, so that MkDocs can check links to them from hand-written pages."""
        if made := self.made.get(page.file.src_uri):
            self.written += 1
            if self.progress is not None:
                self.progress("writing pages:", self.written, len(self.made))
            page.present_anchor_ids = cast(set[str], Anchors(made))
            return ""  # until it is written, so that not all pages are in memory at once
        if (plain := self.plain.pop(page.file.src_uri, None)) is not None:
            return f'<pre tabindex="0">{escape(plain)}</pre>'
        return html.replace("<pre>", '<pre tabindex="0">')  # what may scroll sideways has to be reached by keyboard

    def on_page_context(
        self, context: TemplateContext, *, page: MkDocsPage, config: MkDocsConfig, nav: Navigation
    ) -> TemplateContext:
        """Give the frame `record` (our Page, None for a hand-written one) and `href(uri)`."""
        uri = page.file.src_uri
        made = self.made.get(uri)
        if made is not None:
            page.content = made.html
        return extended(context, record=made, href=partial(self.link, uri), search=self.search_page())

    def on_template_context(
        self, context: TemplateContext, *, template_name: str, config: MkDocsConfig
    ) -> TemplateContext:
        """The same for pages without a source: 404.html is served from any address, so its links start at the root."""
        href = partial(self.link.below, context["base_url"])
        return extended(context, record=None, search=self.search_page(), href=href)

    def on_post_page(self, output: str, *, page: MkDocsPage, config: MkDocsConfig) -> str:
        """Remember what is shown now, and let go of the text."""
        if made := self.made.get(page.file.src_uri):
            page.content = ""
            self.shown[page.file.dest_uri] = (self.frame, made)
        return output

    def search_page(self) -> str | None:
        """The source of the page to search on, if this site has one."""
        return search.PAGE if search.PAGE in self.made else None

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Leave the environment as it was found, and take out of a site that is served what is not in it any more."""
        self.unset_epoch()
        if self.kept is None:
            publish.mark(Path(config.site_dir))
        else:
            self.shown |= self.copied
            for gone in self.shown.keys() - self.places:
                Path(config.site_dir, gone).unlink(missing_ok=True)
                del self.shown[gone]

    def on_build_error(self, *, error: Exception) -> None:
        """The same after a build that failed: it is not known what it has written."""
        self.unset_epoch()
        self.shown.clear()

    def add(
        self,
        files: Files,
        config: MkDocsConfig,
        owners: dict[str, str],
        uri: str,
        content: str | bytes,
        source: str | None,
        shows: object,
    ) -> File:
        """Add a virtual file. `owners` maps each place in the site to the source that claims it; `shows` is what the file
        is made of, which tells whether the one that is there already is the same."""
        file = RecordFile.generated(config, uri, content=content, inclusion=InclusionLevel.NOT_IN_NAV)
        assert isinstance(file, RecordFile)
        file.plugin, file.shows = self, shows
        file.edit_uri = source
        if (other := owners.get(file.dest_uri)) and (there := files.get_file_from_path(other)):
            log.error("%s: gasdoc makes '%s' itself, so this one is left out; give it another name", other, uri)
            files.remove(there)
        owners[file.dest_uri] = uri
        files.append(file)
        return file

    def digest(self, config: MkDocsConfig) -> object:
        """One value that is another one when anything all builds are made with has changed."""
        found = hashlib.blake2b()
        docs = Path(config.docs_dir)
        for path in (docs / PARTS, docs / PRICES):
            with suppress(OSError):
                found.update(inside.read(path, docs, MAX_BYTES + 1))
            found.update(b"-")
        for folder in (*self.folders, *self.sources):
            for path in sorted(folder.rglob("*")) if folder.is_dir() else [folder]:
                if path.is_file():
                    about = path.stat()
                    found.update(f"{path}\0{about.st_mtime_ns}\0{about.st_size}\0".encode())
        return found.digest(), self.link

    def set_epoch(self) -> None:
        """Set SOURCE_DATE_EPOCH to the commit's time for the length of a build if it says nothing itself. MkDocs dates the
        site map and its archive by it, and cannot read an empty one."""
        if os.environ.get("SOURCE_DATE_EPOCH"):
            return
        self.epoch_before = (os.environ.pop("SOURCE_DATE_EPOCH", None),)
        if self.history.head is not None:
            os.environ["SOURCE_DATE_EPOCH"] = str(self.history.head)

    def unset_epoch(self) -> None:
        """Leave SOURCE_DATE_EPOCH as it was found: the next build may be of another commit."""
        if self.epoch_before is None:
            return
        (before,) = self.epoch_before
        os.environ.pop("SOURCE_DATE_EPOCH", None)
        if before is not None:
            os.environ["SOURCE_DATE_EPOCH"] = before
        self.epoch_before = None

    def project_templates(self, config: MkDocsConfig) -> Path | None:
        """The project's own template folder, if it has one."""
        if self.config.templates:
            return Path(self.config.templates)
        beside = Path(config.config_file_path).parent / "site_templates"
        return beside if beside.is_dir() else None


def record_day() -> dt.date:
    """The day on which records are read: that of SOURCE_DATE_EPOCH if the user has set it, else today."""
    return utc_date(source_date_epoch()) or dt.date.today()  # noqa: DTZ011  # the day where the builder is


class RecordFile(File):
    """A page or a file made by gasdoc. While the site is served it is written again only if it has changed."""

    plugin: GasdocPlugin
    shows: object

    def is_modified(self) -> bool:
        """Whether what is shown is not this."""
        frame = self.plugin.frame if isinstance(self.shows, Page) else None
        return not isinstance(self.page, RecordPage | None) or self.plugin.shown.get(self.dest_uri) != (
            frame,
            self.shows,
        )

    def copy_file(self, dirty: bool = False) -> None:
        """Write the file, and remember what is shown now."""
        super().copy_file(dirty)
        self.plugin.shown[self.dest_uri] = (None, self.shows)


class HandwrittenFile(File):
    """A page of the project's own. It is read at every build, because its title may stand in the navigation."""

    def is_modified(self) -> bool:
        """Always: they are few."""
        return True


class RecordPage(MkDocsPage):
    """A page made by gasdoc: there is no Markdown to convert, and MkDocs would set up a converter for each page."""

    def __init__(self, made: Page, file: File, config: MkDocsConfig) -> None:
        super().__init__(escape(made.title), file, config)  # MkDocs takes titles for HTML

    def render(self, config: MkDocsConfig, files: Files) -> None:
        """Nothing to convert."""
        self.content = ""
        self.toc = get_toc([])


class Anchors(Collection[str]):
    """The anchors of a page, looked up when a hand-written page links to one."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def _found(self) -> list[str]:
        return re.findall(r'\sid="([^"]+)"', self.page.html)

    def __contains__(self, anchor: object) -> bool:
        return anchor in self._found()

    def __iter__(self) -> Iterator[str]:
        return iter(self._found())

    def __len__(self) -> int:
        return len(self._found())


class Published(File):
    """A file of a project, published without what it says beside what it shows."""

    def copy_file(self, dirty: bool = False) -> None:
        """Write what is published of it; one that has changed since it was judged is left out, with a warning."""
        assert self.abs_src_path is not None
        assert self.src_dir is not None
        if dirty and not self.is_modified():
            return
        try:
            raw = inside.read(Path(self.abs_src_path), Path(self.src_dir), published.MOST_BYTES + 1)
            content = published.judged(raw, self.src_uri).content
        except published.Unfit as unfit:
            log.warning("%s %s, so it is not published; %s", self.src_uri, unfit.why, unfit.remedy)
            return
        target = Path(self.abs_dest_path)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


def known(config: MkDocsConfig) -> History:
    """What git knows of the specs. Raises PluginError when SOURCE_DATE_EPOCH cannot be used."""
    folder = Path(config.docs_dir)
    found = history(folder, [path.name for path in folder.glob("*.md")])
    try:
        _ = found.as_of
    except ValueError as wrong:
        raise PluginError(str(wrong)) from None
    return found


def refuse_code_among_specs(config: MkDocsConfig, own: Path | None) -> None:
    """Raise PluginError where a configuration takes a file among the specs for code: specs come from anybody."""
    docs = Path(config.docs_dir).resolve()
    if config.extra_templates:
        raise PluginError(
            "'extra_templates' would run files among the specs as templates; take it out, and put templates into "
            "site_templates beside the configuration"
        )
    named = [
        *(Path(config.config_file_path).parent / hook for hook in config.hooks),
        *([own] if own is not None else ()),
    ]
    for path in named:
        if path.resolve().is_relative_to(docs):
            raise PluginError(f"{path} is code and lies among the specs, which are data; put it elsewhere")


def address_maker(config: MkDocsConfig) -> Callable[[str], str] | None:
    """address(target): the whole URL of a source; None where the site's own is not known."""
    site_url = config.site_url
    if not site_url:
        return None

    def address(target: str) -> str:
        uri, mark, anchor = target.partition("#")
        return urljoin(site_url, File(uri, None, config.site_dir, config.use_directory_urls).url) + mark + anchor

    return address


def files_below(config: MkDocsConfig) -> Files:
    """The files of docs_dir, as MkDocs finds them, but for what is behind a link to a folder: that may be the folder itself,
    or half of the machine. `contents` tells of each such link."""
    found: list[File] = []
    for folder, folders, names in os.walk(config.docs_dir):
        beneath = os.path.relpath(folder, config.docs_dir)
        folders[:] = sorted(name for name in folders if not Path(folder, name).is_symlink())
        here: dict[str, File] = {}
        for name in sorted(names, key=lambda name: (Path(name).stem != "index", name)):
            file = File(os.path.join(beneath, name), config.docs_dir, config.site_dir, config.use_directory_urls)  # noqa: PTH118  # MkDocs takes text
            first = here.setdefault(file.dest_uri, file)
            if first is file:
                found.append(file)
            else:
                log.warning("%s is not published, because %s takes its place", file.src_uri, first.src_uri)
    set_exclusions(found, config)
    return Files(found)


def keep_inside(files: Files, docs_dir: Path) -> None:
    """Take out what is a link to a file outside the project, and what is no plain file: a pipe would be waited for."""
    for file in [file for file in files if file.src_dir == str(docs_dir)]:
        path = docs_dir / file.src_uri
        if inside.leaves(path, docs_dir) or not path.is_file():
            files.remove(file)


def signature(file: File) -> tuple[str, int, int]:
    """What tells a file that is copied from another one that stood there before, older or newer."""
    assert file.abs_src_path is not None
    about = Path(file.abs_src_path).stat()
    return file.abs_src_path, about.st_mtime_ns, about.st_size


def tell(problems: Iterable[Problem]) -> None:
    """Log what is wrong with the input. Findings about a build are content and never come here."""
    for problem in sorted(problems, key=lambda problem: problem.order):
        # --strict stops on warnings and errors; what is wrong with a draft is said as well, and stops nothing.
        level = logging.INFO
        if problem.counts(Severity.WARNING):
            level = logging.ERROR if problem.severity is Severity.ERROR else logging.WARNING
        log.log(level, "%s", problem, extra={"draft": problem.draft})


def config_bytes(config: MkDocsConfig) -> bytes:
    """The configuration file as it is."""
    return Path(config.config_file_path).read_bytes() if config.config_file_path else b""


def data_sources() -> list[Path]:
    """What to watch of gasdoc's own data: in a checkout, the folders with data files (and files beside the code)."""
    if not in_checkout():
        return []
    found = sorted(PACKAGE.rglob("*.yaml"))
    return sorted({path if path.parent == PACKAGE else path.parent for path in found})


def extended(context: TemplateContext, **more: Any) -> TemplateContext:
    """The template context with more names in it (its type lists only MkDocs' own)."""
    cast(dict[str, Any], context).update(more)
    return context


# --- for the command ------------------------------------------------------------------------------------------------


def build_site(
    config_file: str,
    site_dir: str | None,
    *,
    strict: bool,
    level: int = logging.WARNING,
    progress: Progress | None = None,
    on_made: Callable[[site.Site], None] | None = None,
) -> int:
    """Build the site and return the worst of it: 0 fine, 1 findings at error level, 2 a spec that cannot be taken, 3 a spec
    that gasdoc itself fails on.

    `level` is from which on MkDocs' messages are printed; `progress` is told what is being done; `on_made` gets the site.
    Raises `Unusable` when the configuration cannot be used, or with `strict` when a spec has problems.
    """
    with _mkdocs_errors(level):
        config = _configuration(config_file, strict=strict, site_dir=site_dir)
        site_folder = Path(config.site_dir)
        if site_dir is None:
            _inside(site_folder, Path(config.config_file_path).parent)
        _plugin(config).progress = progress
        config.plugins.on_startup(command="build", dirty=False)
        with _full(site_folder), publish.in_one_step(site_folder, partial(log.warning, "%s")) as folder:
            config.site_dir = str(folder)
            commands_build.build(config)
        config.plugins.on_shutdown()
        made = _plugin(config).site
    if on_made is not None:
        on_made(made)
    if made.failures:
        return 3
    if any(problem.counts(Severity.ERROR) for problem in made.problems):
        return 2
    return 1 if made.errors_found else 0


def _configuration(
    config_file: str, *, strict: bool, site_dir: str | None = None, address: str | None = None
) -> MkDocsConfig:
    """The configuration of a site. Raises Unusable where there is none, with what lays one out."""
    if not os.path.lexists(config_file):
        raise Unusable(f"there is no {config_file} here; 'gasdoc init' lays out a project, or name one with --config")
    given: dict[str, Any] = {"site_dir": site_dir, "dev_addr": address, "strict": strict or None}
    return load_config(config_file, **{key: value for key, value in given.items() if value is not None})


def _inside(site_folder: Path, project: Path) -> None:
    """Nothing, unless a link that came with the files leads the site out of the project. Raises Unusable."""
    if site_folder.is_relative_to(project) and not site_folder.resolve().is_relative_to(project.resolve()):
        raise Unusable(
            f"{site_folder} is a link that leads out of the project; take it away, or name its place with --site-dir"
        )


@contextmanager
def _full(site_folder: Path) -> Iterator[None]:
    """Where nothing more can be written the place that is full is named, not what was to be copied there."""
    try:
        yield
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EFBIG, errno.EDQUOT):
            raise
        reason = (error.strerror or "cannot be written").lower()
        raise Unusable(f"the new site cannot be written beside {site_folder}: {reason}") from None


def serve_site(
    config_file: str, address: str, *, strict: bool, announce: Callable[[str], None], level: int = logging.WARNING
) -> None:
    """Serve the site, rebuilding it when a spec, a template or a data file changes; `announce` is told its address.

    Raises `Unusable`.
    """
    # MkDocs leaves out what has not changed in a build it calls dirty, and warns that this is inexact. What is left out
    # here is what `RecordFile` and `HandwrittenFile` say, and that is exact.
    with _mkdocs_errors(level), _without(commands_build.log, "A 'dirty' build"):
        config = _configuration(config_file, strict=strict, address=address)
        _free(*config.dev_addr)
        if serving.is_open(config.dev_addr.host):
            log.warning("everybody who reaches this machine can read the site while it is served at %s", address)
        announce(f"http://{address}{urlsplit(config.site_url or '/').path}")
        commands_serve.serve(config_file, livereload=True, build_type="dirty", dev_addr=address, strict=strict or None)


def _free(host: str, port: int) -> None:
    """Nothing, where a server can be put there; else raises Unusable, before the site is built for nobody."""
    reason = "" if port <= 65535 else "ports go from 0 to 65535"  # some systems would take what is left of a larger one
    try:
        for kind, protocol, number, _, place in (
            socket.getaddrinfo(host, port, type=socket.SOCK_STREAM) if not reason else ()
        ):
            with socket.socket(kind, protocol, number) as held:
                held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                held.bind(place)
    except OSError as error:
        reason = (error.strerror or "it cannot be had").lower()
    if reason:
        raise Unusable(f"cannot serve at {host}:{port}: {reason}; name another place, as in --address 127.0.0.1:8080")


@contextmanager
def _without(logger: logging.Logger, beginning: str) -> Iterator[None]:
    """Without the messages of a logger that begin like this."""

    def other(record: logging.LogRecord) -> bool:
        return not record.getMessage().lstrip().startswith(beginning)

    logger.addFilter(other)
    try:
        yield
    finally:
        logger.removeFilter(other)


class _OnLines(logging.Formatter):
    """Messages as they may be printed: a name of a file must not begin a line of its own, nor command a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        """The message, and the traceback if it has one."""
        return printable_lines(super().format(record))


class Unusable(Exception):
    """The site cannot be built as asked; the message says why."""


@contextmanager
def _mkdocs_errors(level: int) -> Iterator[None]:
    """MkDocs' messages from `level` on on stderr, and its errors as `Unusable`."""
    handler = logging.StreamHandler()
    handler.setFormatter(_OnLines())
    handler.addFilter(
        lambda record: record.levelno >= level or (getattr(record, "draft", False) and level <= logging.WARNING)
    )
    root = logging.getLogger("mkdocs")
    before = root.level
    root.setLevel(min(level, logging.INFO))  # what is only counted, as for --strict, still has to come through
    root.addHandler(handler)
    try:
        yield
    except (ConfigurationError, Abort, PluginError, publish.Refused) as error:
        raise Unusable(str(error).strip() or "stopped by --strict") from None
    except jinja2.TemplateNotFound as error:  # an OSError, too
        raise Unusable(f"{templates.place(error)}: there is no template '{error.name}'") from None
    except OSError as error:
        raise Unusable(f"{error.filename or 'the site'}: {(error.strerror or 'cannot be written').lower()}") from None
    except Exception as error:  # a template may raise anything; what comes from elsewhere is our own defect
        where = templates.place(error)
        if where is None:
            raise
        raise Unusable(f"{where}: {type(error).__name__}: {error}") from None
    finally:
        root.setLevel(before)
        root.removeHandler(handler)


def _plugin(config: MkDocsConfig) -> GasdocPlugin:
    """Our plugin in a configuration. Raises Unusable when it is not there."""
    for plugin in config.plugins.values():
        if isinstance(plugin, GasdocPlugin):
            return plugin
    raise Unusable(f"{config.config_file_path} does not use gasdoc: add 'plugins: [gasdoc]'")
