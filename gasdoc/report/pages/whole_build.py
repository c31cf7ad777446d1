"""A whole build as one page: the bodies of its pages, one after another, with ids and links that still lead somewhere."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping

from markupsafe import Markup
from msgspec import Struct

OPENS, CLOSES = "<!-- body -->", "<!-- /body -->"
"""What the pages' base template puts around the part that is theirs alone."""

_NAMES = re.compile(r' (id|href|src|srcset|for|aria-labelledby|aria-describedby)="([^"<>]*)"(?=[^<>]*>)')
"""Attributes of a tag. Text has no < of its own, and neither text nor an attribute's value a >: so what comes to a > first is
within a tag."""

_HEADING = re.compile(r"<(/?)h([1-5])\b")
_SECTION = re.compile(r'<h2 id="([^"]+)">(.*?)</h2>', re.DOTALL)


def sections(html: str) -> list[tuple[str, str]]:
    """The id and the words, as plain text, of each second-level heading of a page that can be linked to, in order."""
    return [(anchor, Markup(words).striptags()) for anchor, words in _SECTION.findall(html)]


class PageOfWhole(Struct, frozen=True):
    """One page of the build as a part of the whole."""

    id: str
    title: str
    body: Markup


def part(section: str, title: str, html: str, folder: str, sections: Mapping[str, str]) -> PageOfWhole:
    """A page's body as part `section`: its ids begin with the section's name, its headings stand one level lower.

    `folder` leads from the whole page to the folder the page's own links start from; `sections` are the links by which the
    page names the build's pages, each with the section it leads to: in the whole they are places further up or down.
    """

    def renamed(found: re.Match[str]) -> str:
        name, value = found.groups()
        if name in ("href", "src"):
            value = _moved(value, section, folder, sections)
        elif name == "srcset":
            value = ", ".join(_moved(one, section, folder, sections) for one in value.split(", "))
        else:
            value = " ".join(f"{section}--{word}" for word in value.split())
        return f' {name}="{value}"'

    body = html.partition(OPENS)[2].partition(CLOSES)[0] or html
    body = _HEADING.sub(lambda found: f"<{found[1]}h{int(found[2]) + 1}", _NAMES.sub(renamed, body))
    return PageOfWhole(section, title, Markup(body))


def _moved(link: str, section: str, folder: str, sections: Mapping[str, str]) -> str:
    """A link of a page as the whole page has to write it."""
    path, mark, anchor = link.partition("#")
    leads_to = sections.get(path) if path else section
    if leads_to is not None:
        return f"#{leads_to}--{anchor}" if anchor else f"#{leads_to}"
    if ":" in path or path.startswith(("/", "data:")):
        return link
    return posixpath.normpath(posixpath.join(folder, path)) + mark + anchor
