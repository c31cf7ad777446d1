"""What every kind of file shares: why one is not published, and how large a picture is."""

from __future__ import annotations

from msgspec import Struct


class Unfit(ValueError):
    """A file that is not published: `why`, as a sentence goes on after its name, and what to do."""

    def __init__(self, why: str, remedy: str) -> None:
        super().__init__(f"{why}; {remedy}")
        self.why = why
        self.remedy = remedy


class Size(Struct, frozen=True):
    """Width and height as shown, in pixels of the picture (for a drawing, in its own units)."""

    width: int
    height: int
