"""The MkDocs plugin: hands finished pages to MkDocs, and knows nothing of how they are made or asked for.

Nothing is written under docs_dir: pages and assets are virtual files. Each build starts afresh in `on_config`; what each spec
gave is kept (`kept`), in the process while the site is served and else on disk, so that only what has changed is made again.
"""

from __future__ import annotations

import logging
import os
from collections.abc import Callable, Collection, Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, cast

import jinja2
from markupsafe import escape
from mkdocs.commands import build as commands_build
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, PluginError
from mkdocs.plugins import BasePlugin, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel, get_files
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.theme import Theme
from mkdocs.utils.templates import TemplateContext
from msgspec.structs import replace

from gasdoc import __version__, data
from gasdoc.build import schema
from gasdoc.build.supply import slug
from gasdoc.commandline import COMMANDS
from gasdoc.folder import check as specs
from gasdoc.folder.contents import Contents, contents
from gasdoc.folder.linked import NO_LINKS, judge
from gasdoc.host import publish, serving, settings
from gasdoc.host.files import Anchors, Published, RecordPage, Shrunk, files_below, keep_inside
from gasdoc.host.settings import Settings
from gasdoc.machine import limited
from gasdoc.report.content.links import Links
from gasdoc.report.content.markdown import Handwritten
from gasdoc.report.content.output import Page
from gasdoc.report.drawings import schematic
from gasdoc.report.pages import templates
from gasdoc.report.pages.shipped_files import theme_files
from gasdoc.report.pages.templates import search_path
from gasdoc.report.site import search, site
from gasdoc.report.site.kept_builds import Kept, KeptOnDisk
from gasdoc.source import Problem, Severity, printable
from gasdoc.study.materials.own_files import PARTS, PRICES
from gasdoc.wrong import Refused

if TYPE_CHECKING:
    from mkdocs.livereload import LiveReloadServer

log = get_plugin_logger(__name__)

Progress = Callable[[str, int, int], None]
"""progress(what, done, of): told how far long work has got."""


class GasdocPlugin(BasePlugin[Settings]):  # type: ignore[no-untyped-call]  # MkDocs' class has an untyped hook
    """Turns the specs in docs_dir into pages."""

    progress: Progress | None = None
    only: Collection[str] = ()
    """The builds that are wanted, by their names in addresses; all where it is empty."""
    kept: Kept | None = None
    serving = False
    known_surroundings: object = None
    epoch_before: tuple[str | None] | None = None

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Keep what need not be made again."""
        self.serving = command == "serve"
        self.kept = Kept() if self.serving else KeptOnDisk()

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Set our theme, strict link checks and the folders to watch; forget the build before."""
        self.made: dict[str, Page] = {}
        self.plain: dict[str, str] = {}
        self.written = 0
        self.link = Links(config.use_directory_urls)
        self.history = settings.known_history(config)
        if self.history.refused is not None:
            log.warning("%s, so the pages say nothing of commits", self.history.refused)
        self.epoch_before = None
        self.day = settings.record_day()
        self.own_templates = settings.own_templates(config, self.config)
        settings.refuse_code_among_specs(config, self.own_templates)
        try:
            templates.check_own(self.own_templates)
        except Refused as error:
            raise PluginError(str(error)) from None
        self.folders = search_path(self.own_templates)
        self.sources = serving.data_sources()
        docs = Path(config.docs_dir)
        self.surroundings = (
            serving.stamps((docs / PARTS, docs / PRICES, *self.folders, *self.sources))
            if self.kept is not None
            else None
        )
        self.set_epoch()
        if self.known_surroundings not in (None, self.surroundings):
            data.forget()  # a data file may be what changed
        self.known_surroundings = self.surroundings
        folders = self.folders
        if config.theme.name not in (None, "mkdocs"):  # "mkdocs" is what MkDocs fills in when no theme is named
            log.warning(
                "gasdoc brings its own theme, so 'theme' in the configuration has no effect. Take it out and "
                "put templates that differ into a folder site_templates beside the configuration"
            )
        config.theme = Theme(name=None, custom_dir=str(folders[0]), static_templates=["404.html"])
        config.theme.dirs[1:1] = [str(folder) for folder in folders[1:]]
        # A link that leads nowhere is a defect of the record: what MkDocs would only mention becomes a warning, which
        # --strict stops on ("ignore" in the configuration still means ignore).
        for checks in (config.validation.nav, config.validation.links):
            for kind in checks:
                if self.only:  # what is not wanted is not there
                    checks[kind] = logging.DEBUG
                elif checks[kind] == logging.INFO:
                    checks[kind] = logging.WARNING
        self.handwritten = Handwritten(raw_html=self.config.raw_html)
        config.markdown_extensions.append(cast(str, self.handwritten))  # Markdown takes extensions as well as names
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
        found = self.wanted(found)
        self.take_out(files, found, config)
        address = settings.address_of(config)
        if address is None:
            log.info("no site_url in the configuration, so the build logs have no feeds")
        try:
            made = site.make_site(
                site.Order(
                    docs,
                    project_templates=self.own_templates,
                    link=self.link,
                    found=found,
                    history=self.history,
                    day=self.day,
                    address=address,
                    site_name=config.site_name,
                    commands=COMMANDS,
                    progress=self.progress,
                    kept=self.kept,
                    seconds=limited.SECONDS,
                    surroundings=self.surroundings,
                )
            )
        except (schematic.RendererMissing, Refused) as error:
            raise PluginError(str(error)) from None
        for failure in made.failures:
            log.info("%s", failure)
        own = self.publish_linked(files, made.linked, found, config)
        self.site = made = replace(made, problems=(*made.problems, *own))
        tell(made.problems)
        if not made.builds and not self.serving:  # one who serves the site is about to put that right
            raise PluginError(f"no spec in {docs} can be read, so there is nothing to publish. Mend what is told above")
        self.made = {page.uri: page for page in made.pages}
        if kept := files.get_file_from_path(schema.FILE):  # the copy editors use; the site gets this version's
            files.remove(kept)
        owners = {file.dest_uri: file.src_uri for file in files}
        for page in made.pages:
            RecordPage(page, self.add(files, config, owners, page.uri, "", page.source), config)
        for asset in made.assets:
            self.add(files, config, owners, asset.uri, asset.content)
        return files

    def wanted(self, found: Contents) -> Contents:
        """What lies there with the specs that are wanted only. Raises PluginError for a build that is not there."""
        names = {slug(path.stem): path for path in found.specs}
        if unknown := [name for name in self.only if name not in names]:
            raise PluginError(f"there is no build '{unknown[0]}' on this site. There are {', '.join(names)}")
        return replace(found, specs=tuple(names[name] for name in sorted(set(self.only)))) if self.only else found

    def take_out(self, files: Files, found: Contents, config: MkDocsConfig) -> None:
        """Take out what pages are made of and what cannot be taken."""
        for file in [file for file in files if file.src_dir == config.docs_dir]:
            made_of = file.src_uri in (PARTS, PRICES) or file.src_uri in found.refused
            if made_of or (file.is_documentation_page() and file.src_uri not in found.pages):
                files.remove(file)
        keep_inside(files, Path(config.docs_dir))

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
        photos = {path: copies for path in linked if (copies := judge(docs_dir, path).copies)}
        linked = {*linked} - photos.keys()  # builds show copies of them
        publish = {*linked, *(path for page in self.page_links.values() for path in page.files)} - named - replaced
        for file in [file for file in files if file.src_dir == config.docs_dir and not file.is_documentation_page()]:
            if file.src_uri in named:
                continue
            files.remove(file)
            if file.src_uri not in publish | replaced | photos.keys():
                log.info("%s is linked by no page, so it is not published", file.src_uri)
        if replaced:  # the theme's own have been left out for them
            files.add_files_from_theme(config.theme.get_env(), config)
        for path in sorted(publish):
            files.append(Published(path, config.docs_dir, config.site_dir, config.use_directory_urls))
        for copy, path in {copy: path for path, copies in sorted(photos.items()) for copy in copies}.items():
            files.append(Shrunk(copy, path, config))
        return specs.folder_problems(docs_dir, ours, self.page_links, lambda path: path not in replaced)

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

    def on_env(self, env: jinja2.Environment, *, config: MkDocsConfig, files: Files) -> jinja2.Environment:
        """Escape in our theme's templates, which MkDocs' own environment does not, and have a project's run in a sandbox."""
        env = templates.for_frames(env, sandboxed=len(self.folders) > 1)
        env.globals["gasdoc_version"] = __version__
        env.globals["serving"] = self.serving  # MkDocs then puts a script of its own into every page
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
            return made.html
        if (plain := self.plain.pop(page.file.src_uri, None)) is not None:
            return f'<pre tabindex="0">{escape(plain)}</pre>'
        return html.replace("<pre>", '<pre tabindex="0">')  # what may scroll sideways has to be reached by keyboard

    def on_page_context(
        self, context: TemplateContext, *, page: MkDocsPage, config: MkDocsConfig, nav: Navigation
    ) -> TemplateContext:
        """Give the frame `record` (our Page, None for a hand-written one) and `href(uri)`."""
        uri = page.file.src_uri
        return extended(context, record=self.made.get(uri), href=partial(self.link, uri), search=self.search_page())

    def on_template_context(
        self, context: TemplateContext, *, template_name: str, config: MkDocsConfig
    ) -> TemplateContext:
        """The same for pages without a source: 404.html is served from any address, so its links start at the root."""
        href = partial(self.link.below, context["base_url"])
        return extended(context, record=None, search=self.search_page(), href=href)

    def search_page(self) -> str | None:
        """The source of the page to search on, if this site has one."""
        return search.PAGE if search.PAGE in self.made else None

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Leave the environment as it was found, and write down what is in the site."""
        self.unset_epoch()
        if not self.serving:
            publish.mark(Path(config.site_dir))

    def on_build_error(self, *, error: Exception) -> None:
        """The same after a build that failed."""
        self.unset_epoch()

    def add(
        self,
        files: Files,
        config: MkDocsConfig,
        owners: dict[str, str],
        uri: str,
        content: str | bytes,
        source: str | None = None,
    ) -> File:
        """Add a virtual file. `owners` maps each place in the site to the source that claims it."""
        file = File.generated(config, uri, content=content, inclusion=InclusionLevel.NOT_IN_NAV)
        file.edit_uri = source
        if (other := owners.get(file.dest_uri)) and (there := files.get_file_from_path(other)):
            log.error("%s: gasdoc makes '%s' itself, so this one is left out. Give it another name", other, uri)
            files.remove(there)
        owners[file.dest_uri] = uri
        files.append(file)
        return file

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


def tell(problems: Iterable[Problem]) -> None:
    """Log what is wrong with the input. Findings about a build are content and never come here."""
    for problem in sorted(problems, key=lambda problem: problem.order):
        # --strict stops on warnings and errors; what is wrong with a draft is said as well, and stops nothing.
        level = logging.INFO
        if problem.counts(Severity.WARNING):
            level = logging.ERROR if problem.severity is Severity.ERROR else logging.WARNING
        log.log(level, "%s", problem, extra={"draft": problem.draft})


def extended(context: TemplateContext, **more: Any) -> TemplateContext:
    """The template context with more names in it (its type lists only MkDocs' own)."""
    cast(dict[str, Any], context).update(more)
    return context
