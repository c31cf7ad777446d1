"""The files and pages of a site as MkDocs knows them: those that gasdoc makes, and the project's own as they may be published."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Collection, Iterator
from pathlib import Path

from markupsafe import escape
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.plugins import get_plugin_logger
from mkdocs.structure.files import File, Files, set_exclusions
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.structure.toc import get_toc

from gasdoc import published
from gasdoc.machine import inside
from gasdoc.report.content.output import Page

log = get_plugin_logger(__name__)


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
        """Write what is published of it."""
        _write(self, Path(self.abs_src_path or ""), self.src_uri, lambda fit: None if fit.copies_only else fit.content)


class Shrunk(File):
    """A photo in one of the sizes that pages show."""

    def __init__(self, copy: published.Copy, path: str, config: MkDocsConfig) -> None:
        super().__init__(copy.place, config.docs_dir, config.site_dir, config.use_directory_urls)
        self.copy, self.photo = copy, Path(config.docs_dir) / path

    def copy_file(self, dirty: bool = False) -> None:
        """Write it."""
        _write(self, self.photo, self.photo.name, lambda fit: published.made(self.copy, fit.content))


def _write(file: File, own: Path, name: str, made: Callable[[published.Publishable], bytes | None]) -> None:
    """Write what is `made` of the project's own file; one that has changed since it was judged is left out, with a warning."""
    try:
        content = made(published.judged(inside.read(own, Path(file.src_dir or ""), published.MOST_BYTES + 1), name))
    except published.Unfit as unfit:
        log.warning("%s %s, so it is not published: %s", name, unfit.message, unfit.hint)
        return
    if content is not None:
        target = Path(file.abs_dest_path)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


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
