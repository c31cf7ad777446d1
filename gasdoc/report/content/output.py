"""What the report hands to whatever publishes it."""

from __future__ import annotations

from msgspec import Struct

from gasdoc.folder.provenance import Provenance


class NavItem(Struct, frozen=True):
    """One page of a build's own menu."""

    uri: str
    title: str
    current: bool


class Page(Struct, frozen=True):
    """One finished page: `uri` is its place in the site's sources, such as "larch-hut/supply.md".

    `html` is the page's content, complete but for the frame the theme puts around it. `source` is the spec it came
    from, relative to the folder of specs (None for pages without one source). `menu` is the build's own small menu.
    `description` is one line for the page's head. `provenance` is where the spec comes from. `feed` is the place of the feed
    that tells of changes, if there is one. `scripts` are the places of scripts that add to the page, which works without.
    `emergency` is the place of the sheet that says what to do when gas is smelt. `picture` is the place of the photo that
    other sites show beside a link to the page.
    """

    uri: str
    title: str
    html: str
    source: str | None
    menu: tuple[NavItem, ...]
    description: str
    provenance: Provenance | None = None
    feed: str | None = None
    scripts: tuple[str, ...] = ()
    emergency: str | None = None
    picture: str | None = None


class Asset(Struct, frozen=True):
    """One file published as it is, such as a table as CSV: bytes, so that line ends stay as they were made."""

    uri: str
    content: bytes
