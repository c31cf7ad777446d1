"""What every kind of file shares: why one is not published, and how large a picture is."""

from __future__ import annotations

from msgspec import Struct

from gasdoc.wrong import Wrong


class Unfit(Wrong):
    """A file that is not published. Its message is how a sentence goes on after the file's name."""


class PictureSize(Struct, frozen=True):
    """Width and height as shown, in pixels of the picture (for a drawing, in its own units)."""

    width: int
    height: int
