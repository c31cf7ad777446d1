"""What is only for people at a terminal: colour, and how far long work has got. Never in a file, a pipe or a log."""

from __future__ import annotations

import os
from typing import TextIO

_COLOURS = {"error": "31", "warning": "33", "note": "36"}


def colours(stream: TextIO) -> bool:
    """Whether text on this stream may be coloured: it is a terminal, and NO_COLOR (no-color.org) is not set."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def coloured(text: str, word: str, *, on: bool) -> str:
    """The text with its first `: word:` in that word's colour (a severity); unchanged when colour is off."""
    if not on or word not in _COLOURS:
        return text
    return text.replace(f": {word}:", f": \x1b[1;{_COLOURS[word]}m{word}\x1b[0m:", 1)


class Progress:
    """One line that says how far work has got, written over itself; nothing where the stream is no terminal."""

    def __init__(self, stream: TextIO, *, quiet: bool = False) -> None:
        self._stream = stream
        self._on = stream.isatty() and not quiet and os.environ.get("TERM") != "dumb"
        self._last = ""

    def __call__(self, what: str, done: int, of: int) -> None:
        """Say that `done` of `of` are done. Only whole percents are written, so that it costs nothing."""
        text = f"{what} {done} of {of}" if of < 100 else f"{what} {100 * done // of} %"
        if self._on and text != self._last:
            self._stream.write(f"\r\x1b[K{text}")
            self._stream.flush()
            self._last = text

    def clear(self) -> None:
        """Take the line away."""
        if self._last:
            self._stream.write("\r\x1b[K")
            self._stream.flush()
            self._last = ""
