"""A page in pieces that can each be worked on alone: a line that begins with a tag begins one.

Nine lines of ten stand on another page, or in another build, letter by letter. So what is done to every line of a page is
done once for each line that there is, and kept by the line itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import lru_cache

KEPT = 16384
"""How many lines something is kept of: some dozens of builds have so many that differ (our choice)."""

_BEGINS = re.compile(r"\n(?=<)")


def pieces(html: str, opened: Callable[[str], str]) -> Iterator[str]:
    """The pieces of a page, which joined by line ends are the page again. `opened` names the element that begins in a text
    and does not end there, if it is one that has to stay whole: its lines are one piece."""
    lines = iter(_BEGINS.split(html))
    for line in lines:
        piece = line
        while name := opened(piece):
            those, ends = [piece], re.compile(rf"</{name}\b")
            for other in lines:
                those.append(other)
                if ends.search(other):
                    break
            else:  # nothing ends it
                yield "\n".join(those)
                return
            piece = "\n".join(those)
        yield piece


def opening(*names: str) -> Callable[[str], str]:
    """What names the element of these `names`, as in a regular expression, that begins in a text and does not end there; an
    empty name where there is none."""
    begun = re.compile(rf"<({'|'.join(names)})\b(?:.*?(</\1\b))?", re.DOTALL)

    @lru_cache(maxsize=KEPT)
    def opened(text: str) -> str:
        return next((found[1] for found in begun.finditer(text) if found[2] is None), "")

    return opened
