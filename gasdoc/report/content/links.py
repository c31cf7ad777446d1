"""Links between the places of a site."""

from __future__ import annotations

import posixpath
from collections.abc import Callable
from functools import lru_cache
from urllib.parse import quote

from msgspec import Struct

MARKDOWN = (".md", ".markdown", ".mdown", ".mkd", ".mkdn")
"""Endings of pages."""

Link = Callable[[str, str], str]
"""The relative URL of a place as seen from a page, both among the site's sources: `Links`, or what stands for it."""


Address = Callable[[str], str]
"""The whole URL of a place among the site's sources, such as "larch-hut/log.md#2026-06-13-slab"."""


class Links(Struct, frozen=True):
    """link(page, target): the relative URL of `target` as seen from `page`, both places among the site's sources such as
    "larch-hut/supply.md"; `target` may end in #anchor, or be one alone.

    It always names the file (`index.html`), so that a site opens from a folder too. `directory_urls` says that each page
    lies in a folder of its own, as MkDocs' `use_directory_urls` asks.
    """

    directory_urls: bool

    def __call__(self, page: str, target: str) -> str:
        """The relative URL."""
        uri, mark, anchor = target.partition("#")
        if not uri:
            return target
        return _relative(self._place(uri), posixpath.dirname(self._place(page))) + mark + anchor

    def below(self, base: str, target: str) -> str:
        """The URL of `target` below an address of the whole site."""
        return posixpath.join(base, self("index.md", target))

    def _place(self, uri: str) -> str:
        """Where a source's page or file is in the site: what MkDocs calls its `dest_uri`."""
        stem, ending = posixpath.splitext(uri)
        if ending not in MARKDOWN:
            return uri
        folder, name = posixpath.split(stem)
        if name in ("index", "README"):
            return posixpath.join(folder, "index.html")
        return f"{stem}/index.html" if self.directory_urls else f"{stem}.html"


@lru_cache(maxsize=65536)  # the pages of a build link to each other on every page
def _relative(place: str, folder: str) -> str:
    return quote(posixpath.relpath(place, folder or "."))
