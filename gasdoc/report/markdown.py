"""The log's Markdown as HTML: no raw HTML passes, links and pictures are looked up from the spec's own folder."""

from __future__ import annotations

import posixpath
from collections.abc import Callable
from urllib.parse import unquote, urlsplit
from xml.etree.ElementTree import Element

import markdown
from markdown.extensions import Extension
from markdown.extensions.tables import TableExtension
from markdown.treeprocessors import Treeprocessor

Resolve = Callable[[str], str | None]
"""Turns a link written in the log (relative to the folder of specs) into one for the page; None if it leads nowhere."""


def to_html(text: str, resolve: Resolve) -> str:
    """The Markdown as HTML. Headings come out from level three down; pictures get captions from their alt text."""
    converter = markdown.Markdown(
        extensions=["fenced_code", TableExtension(use_align_attribute=True), "sane_lists", _Ours(resolve)],
        output_format="html",
    )
    return str(converter.convert(text))


class _Ours(Extension):
    def __init__(self, resolve: Resolve) -> None:
        super().__init__()
        self.resolve = resolve

    def extendMarkdown(self, md: markdown.Markdown) -> None:
        """Take raw HTML out, and put the link and heading work in."""
        md.preprocessors.deregister("html_block")
        md.inlinePatterns.deregister("html")
        md.treeprocessors.register(_Links(md, self.resolve), "gasdoc", 5)


class _Links(Treeprocessor):
    def __init__(self, md: markdown.Markdown, resolve: Resolve) -> None:
        super().__init__(md)
        self.resolve = resolve

    def run(self, root: Element) -> None:
        """Rewrite every link and picture, and push headings down below the entry's own."""
        for element in list(root.iter()):
            if element.tag in ("h1", "h2", "h3", "h4", "h5"):
                element.tag = {"h1": "h3", "h2": "h3", "h3": "h4", "h4": "h5", "h5": "h6"}[element.tag]
            elif element.tag == "img":
                self._picture(element)
            elif element.tag == "a":
                self._link(element)

    def _picture(self, element: Element) -> None:
        target = _target(element.get("src", ""), self.resolve)
        if target is None:
            alt = element.get("alt", "")
            element.tag = "em"
            element.attrib.clear()
            element.text = f"[picture not found: {alt or 'no description'}]"
            return
        element.set("src", target)
        element.set("loading", "lazy")

    def _link(self, element: Element) -> None:
        target = _target(element.get("href", ""), self.resolve)
        if target is None:
            element.tag = "span"
            element.attrib.clear()
        else:
            element.set("href", target)
            if urlsplit(target).scheme:
                element.set("rel", "noopener")


def _target(link: str, resolve: Resolve) -> str | None:
    parts = urlsplit(link)
    if parts.scheme in ("http", "https", "mailto"):
        return link
    if parts.scheme or parts.netloc or link.startswith("/"):
        return None
    if not parts.path:
        return link
    path = posixpath.normpath(unquote(parts.path))
    if path.startswith(".."):
        return None
    return resolve(path + (f"#{parts.fragment}" if parts.fragment else ""))
