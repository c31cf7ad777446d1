"""Fuzzes what finds the links of logs and pages. Not run by the tests, but for a few inputs. How to run it stands in `fuzzing.py`.

Of each text: every file that the converter makes a link or a picture of is one that was found, for a log and for a page of
the project; each stands where it was told to stand; and what is published is a plain file inside the project.
"""

from __future__ import annotations

import atexit
import tempfile
from functools import partial
from pathlib import Path
from shutil import rmtree
from xml.etree.ElementTree import Element

import markdown
from fuzzing import Target, lines_of, run, watched
from markdown.extensions import Extension
from markdown.treeprocessors import Treeprocessor

with watched(__name__):
    from gasdoc.build import logtext
    from gasdoc.build.links import path_of, written
    from gasdoc.folder import linked
    from gasdoc.report.content.markdown import Handwritten, to_html

FILES = ("b.txt", "q.jpg", "s.txt", "deep/c d.png", "page.md", ".hidden.txt")
"""What there is. What is left of a bracket that is not closed may be asked for, too, and is the name of no file."""


def check(raw: bytes) -> int:
    """A text of a log, and the same as a page of the project."""
    text = raw.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n").translate(CONTROL)
    found = written(text, 1)
    lines = text.split("\n")
    for link in found:
        assert 1 <= link.line <= len(lines) and 1 <= link.column <= len(lines[link.line - 1]) + 1
        if link.target and "\\" not in text:
            there = lines[link.line - 1][link.column - 1 :]
            assert link.target.split("\n")[0][:1] in (there.lstrip(" ")[:1], there.lstrip(" <")[:1]), (link, there)
    known = {path_of(link.target) for link in found}
    if logtext.work(text) <= logtext.MOST_WORK:
        assert _files(_of_log(text)) <= known, _files(_of_log(text)) - known
        assert _files(_of_page(text)) <= known, _files(_of_page(text)) - known
    return _published(text)


CONTROL = dict.fromkeys([*range(9), 11, 12, *range(14, 32), 0x85, 0x2028, 0x2029], " ")
"""Letters that no spec may have (`reader.py`), and those at which Python, but no editor, ends a line."""


def _files(targets: set[str]) -> set[str]:
    return targets & {*FILES, "out.txt"}


def _of_log(text: str) -> set[str]:
    """The paths that the log's converter asks for."""
    asked: set[str] = set()

    def resolve(target: str) -> str | None:
        asked.add(path_of(target) or "")
        return target

    to_html(text, resolve)
    return asked


class _Seen(Extension, Treeprocessor):
    """The targets of links and pictures that are left on a page."""

    def __init__(self) -> None:
        super().__init__()
        self.targets: set[str] = set()

    def extendMarkdown(self, md: markdown.Markdown) -> None:  # noqa: N802  # the library's name
        md.treeprocessors.register(self, "seen", 1)

    def run(self, root: Element) -> None:
        for element in root.iter():
            for key in ("href", "src"):
                self.targets.add(path_of(element.get(key, "")) or "")


def _of_page(text: str) -> set[str]:
    """The paths of the links on a page, made with the extensions that MkDocs always takes."""
    seen = _Seen()
    markdown.Markdown(extensions=["toc", "tables", "fenced_code", Handwritten(raw_html=False), seen]).convert(text)
    return seen.targets


def _published(text: str) -> int:
    """How many files of a project this page publishes, having looked at each."""
    page = linked.of_page(text, "specs/page.md", "page.md", partial(linked.judge, DOCS), frozenset(("build",)))
    for path in page.files:
        file = DOCS / path
        assert file.is_file() and file.resolve().is_relative_to(DOCS) and not file.name.startswith("."), path
    for problem in page.problems:
        assert problem.line >= 1 and problem.column >= 1 and str(problem).isprintable() and len(str(problem)) < 2_000
    return len(page.files)


def _project() -> Path:
    docs = Path(tempfile.mkdtemp(prefix="fuzz-links-")).resolve() / "specs"
    atexit.register(rmtree, docs.parent, ignore_errors=True)
    for name in FILES:
        (docs / name).parent.mkdir(parents=True, exist_ok=True)
        (docs / name).write_text("plain", encoding="utf-8")
    (docs.parent.parent / "outside.txt").write_text("SECRET", encoding="utf-8")
    (docs / "out.txt").symlink_to(docs.parent.parent / "outside.txt")
    return docs


DOCS = _project()

SEEDS = (
    "![a](b.txt)\n\nand [a](q.jpg 'x') there",
    '[a](b.txt "a title (with)")',
    "[a](<deep/c d.png>) [b](out.txt) [c](.hidden.txt) [d](../../outside.txt)",
    "[![p](q.jpg)][r]\n\n[r]: s.txt",
    "[a][r] ![a][r] [r]\n\n[r]: s.txt\n[two]: <b.txt> 'x'\n",
    "`[a](b.txt)` and ``[a](b.txt) ` `` and [c](q.jpg)",
    "~~~ sh\n[a](b.txt)\n~~~\n\n```\n[a](b.txt)\n```\n\n    [a](b.txt)\n",
    "- text\n\n    ![a](q.jpg)\n\n1. [a](b.txt)\n\n> ![a](q.jpg)\n",
    "| [a](b.txt) | ![c](q.jpg) |\n|--|--|\n| [x](s.txt) | `|` |",
    "\\[a](b.txt) [c\\](d) [e](s.txt)\n\n# [h](page.md#x)\n",
)
WORDS = (
    "[", "]", "(", ")", "![", "](", "[a](b.txt)", "![p](q.jpg)", "[a][r]", "![a][r]", "[r]", "\n\n[r]: s.txt\n", "[r]:", "`", "``", "```",
    "~~~", "\n", "\n\n", "    ", "\t", "- ", "1. ", "> ", "# ", "|", "\\", '"', "'", "<", ">", " ", "x", "*", "_", "!", "&amp;", "http://e.org",
    "../", "#a", "deep/c d.png", "\n```\n", "\n~~~\n", "\n- ", "\n\n    ", "|--|\n", "[a](b.txt 't')", "b.txt", "===\n", "---\n", "%2e%2e/",
    "out.txt", "s.txt", "q.jpg", "!!!", "{", "}", "[^a]", "{#x}",
)  # fmt: skip
TARGET = Target(check, lines_of(SEEDS), lines_of(WORDS), seconds=3.0, longest=16_000)

if __name__ == "__main__":
    run(TARGET, "Fuzz what finds the links of logs and pages.")
