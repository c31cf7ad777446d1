"""The log's Markdown as HTML: no raw HTML passes, links and pictures are looked up from the spec's own folder."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from html import unescape
from urllib.parse import urlsplit
from xml.etree.ElementTree import Element, SubElement

import markdown
from markdown.extensions import Extension
from markdown.extensions.tables import TableExtension
from markdown.preprocessors import Preprocessor
from markdown.treeprocessors import Treeprocessor
from markupsafe import escape
from msgspec import Struct

from gasdoc.build import logtext
from gasdoc.build.links import ELSEWHERE, path_of
from gasdoc.published import PictureSize

Resolve = Callable[[str], str | None]
"""Turns a link written in the log (relative to the folder of specs) into one for the page; None if it leads nowhere."""


class Shown(Struct, frozen=True):
    """How large a picture is, and its copies by width: the link of each, the smallest first; none for a drawing."""

    size: PictureSize
    copies: tuple[tuple[str, int], ...] = ()


Measure = Callable[[str], Shown | None]
"""How the picture at a path among the specs is shown; None where that cannot be told."""

_PAGE_WIDTH = 640
"""Pixels of a page that a browser without choice of copies gets at least."""

_ON_PAGE = "(min-width: 44rem) 40rem, 31vw"
"""How wide a picture stands on a page, as the style sheet has it. A phone with three dots to a pixel is told a third, so
that a log of forty photos costs it 1.5 MB; a tap opens the large one."""


def to_html(text: str, resolve: Resolve, measure: Measure = lambda path: None, *, plain: bool = False) -> str:
    """The Markdown as HTML. Headings come out from level three down. A picture that stands by itself becomes a figure, its
    caption the title it was given, or else its description. `plain` text, and text that is too much work, is shown as it
    stands."""
    if plain or logtext.work(text) > logtext.MOST_WORK:
        return f'<pre tabindex="0">{escape(text)}</pre>'
    converter = markdown.Markdown(
        extensions=[TableExtension(use_align_attribute=True), "sane_lists", _Ours(resolve, measure)],
        output_format="html",
    )
    return str(converter.convert(text))


class Handwritten(Extension):
    """For the project's own pages: HTML in them is shown as text, unless `raw_html`; links that lead nowhere (`dead`), that are
    scripts, and attributes that run one are taken out. Fenced blocks are those of a log, so that `written` knows them."""

    def __init__(self, *, raw_html: bool) -> None:
        super().__init__()
        self.raw_html = raw_html
        self.dead: Collection[str] = ()

    def extendMarkdown(self, md: markdown.Markdown) -> None:  # noqa: N802  # the library's name
        """Take raw HTML out, and put the fences and the link work in."""
        if not self.raw_html:
            md.preprocessors.deregister("html_block", strict=False)
            md.inlinePatterns.deregister("html", strict=False)
        if "fenced_code_block" in md.preprocessors:  # that of the library takes minutes for fences that nothing closes
            md.preprocessors.register(_Fences(md), "fenced_code_block", 25)
        md.treeprocessors.register(_PageLinks(md, self), "gasdoc", 5)


class _PageLinks(Treeprocessor):
    def __init__(self, md: markdown.Markdown, page: Handwritten) -> None:
        super().__init__(md)
        self.page = page

    def run(self, root: Element) -> None:
        """Take out what leads nowhere or runs."""
        for element in list(root.iter()):
            for name in [name for name in element.attrib if name.lower().startswith("on")]:
                del element.attrib[name]
            key = {"a": "href", "img": "src"}.get(element.tag)
            link = _plain(element.get(key, "")) if key else ""
            if not link or (link not in self.page.dead and _scheme(link) in ("", *ELSEWHERE)):
                continue
            if element.tag == "img":
                _not_found(element)
            else:
                element.tag = "span"
                element.attrib.clear()


def _scheme(link: str) -> str:
    """What a browser takes for the scheme: it skips blanks and control characters."""
    found = re.match(r"([a-zA-Z][a-zA-Z0-9+.-]*):", re.sub(r"[\x00-\x20]", "", unescape(link)))
    return found[1].lower() if found else ""


_STASHED = re.compile("\x02([0-9]{1,7})\x03")


def _plain(link: str) -> str:
    """A link as it was written: the library keeps characters behind a backslash as numbers until the end."""
    return _STASHED.sub(lambda mark: chr(int(mark[1])), link)


def _not_found(element: Element) -> None:
    alt = element.get("alt", "")
    element.tag = "em"
    element.attrib.clear()
    element.text = f"[picture not found: {alt or 'no description'}]"


class _Ours(Extension):
    def __init__(self, resolve: Resolve, measure: Measure) -> None:
        super().__init__()
        self.resolve = resolve
        self.measure = measure

    def extendMarkdown(self, md: markdown.Markdown) -> None:  # noqa: N802  # the library's name
        """Take raw HTML out, and put the link and heading work in."""
        md.preprocessors.deregister("html_block")
        md.inlinePatterns.deregister("html")
        md.preprocessors.register(_Fences(md), "fences", 25)
        md.treeprocessors.register(_Links(md, self.resolve, self.measure), "gasdoc", 5)


class _Fences(Preprocessor):
    """Fenced blocks, found line by line as `read_log` finds them; one that nothing closes goes to the end of the text."""

    def run(self, lines: list[str]) -> list[str]:
        """Put a placeholder for each block."""
        left: list[str] = []
        opened = language = ""
        code: list[str] = []
        for line in lines:
            if opened and not logtext.closes(line, opened):
                code.append(line)
            elif opened:
                left += ["", self._stored(code, language), ""]
                opened = ""
            elif mark := logtext.fence(line):
                opened, language, code = mark[0], mark[1], []
            else:
                left.append(line)
        while code and not code[-1]:  # the empty lines that stand behind every text
            code.pop()
        return [*left, "", self._stored(code, language), "", ""] if opened else left

    def _stored(self, code: list[str], said: str) -> str:
        language = _LANGUAGE.match(said)
        name = f' class="language-{escape(language[1])}"' if language else ""
        text = "".join(f"{escape(line)}\n" for line in code)
        return self.md.htmlStash.store(f"<pre><code{name}>{text}</code></pre>")


_LANGUAGE = re.compile(r"[ \t]*\{?\.?([\w#+-][\w#.+-]*)")


class _Links(Treeprocessor):
    def __init__(self, md: markdown.Markdown, resolve: Resolve, measure: Measure) -> None:
        super().__init__(md)
        self.resolve = resolve
        self.measure = measure

    def run(self, root: Element) -> None:
        """Rewrite every link and picture, and push headings down below the entry's own."""
        for element in list(root.iter()):
            if element.tag in ("h1", "h2", "h3", "h4", "h5"):
                element.tag = {"h1": "h3", "h2": "h3", "h3": "h4", "h4": "h5", "h5": "h6"}[element.tag]
            elif element.tag == "img":
                self._picture(element)
            elif element.tag == "a":
                self._link(element)
        for parent in list(root.iter()):
            for place, element in reversed(list(enumerate(parent))):
                if element.tag == "p" and (figures := list(_figures(element))):
                    figures[-1].tail = element.tail
                    parent[place : place + 1] = figures

    def _picture(self, element: Element) -> None:
        element.set("src", _plain(element.get("src", "")))
        target = _target(element.get("src", ""), self.resolve)
        if target is None:
            _not_found(element)
            return
        if (
            _path(element.get("src", "")) is None
        ):  # a page loads nothing from elsewhere, and tells nobody that it is read
            alt = element.get("alt", "")
            element.tag = "a"
            element.attrib.clear()
            element.set("href", target)
            element.set("rel", "noopener")
            element.text = alt or target
            return
        shown = self.measure(_path(element.get("src", "")) or "")
        element.set("src", target)
        if shown is not None:  # so that nothing on the page moves when the picture comes
            element.set("width", str(shown.size.width))
            element.set("height", str(shown.size.height))
            if shown.copies:
                element.set("src", next((link for link, width in shown.copies if width >= _PAGE_WIDTH), target))
                element.set("srcset", ", ".join(f"{link} {width}w" for link, width in shown.copies))
                element.set("sizes", _ON_PAGE)
        element.set("loading", "lazy")

    def _link(self, element: Element) -> None:
        target = _target(_plain(element.get("href", "")), self.resolve)
        if target is None:
            element.tag = "span"
            element.attrib.clear()
        else:
            element.set("href", target)
            if urlsplit(target).scheme:
                element.set("rel", "noopener")


def _figures(paragraph: Element) -> Iterator[Element]:
    """The pictures of a paragraph that holds nothing else, each as a figure with its caption; none for other text."""
    pictures = list(paragraph)
    words = [paragraph.text, *(picture.tail for picture in pictures)]
    if any(text and text.strip() for text in words) or any(picture.tag != "img" for picture in pictures):
        return
    for picture in pictures:
        figure = Element("figure")
        picture.tail = None
        large = picture.get("srcset", "").rpartition(", ")[2].partition(" ")[0]
        (SubElement(figure, "a", {"href": large}) if large else figure).append(picture)
        caption = picture.attrib.pop("title", "") or picture.get("alt", "")
        if caption:
            SubElement(figure, "figcaption").text = caption
        yield figure


def _target(link: str, resolve: Resolve) -> str | None:
    try:
        parts = urlsplit(link)
    except ValueError:  # text that is no address
        return None
    if parts.scheme in ELSEWHERE:
        return link
    if not parts.path and not parts.scheme and not parts.netloc:
        return link
    path = _path(link)
    return resolve(path + (f"#{parts.fragment}" if parts.fragment else "")) if path else None


def _path(link: str) -> str | None:
    """The path among the specs that a link names; None for what leads anywhere else."""
    path = path_of(link)
    return None if path is None or path.startswith("..") else path
