"""What the commands have in common: their exit codes, how they print, and how they say what cannot be done."""

from __future__ import annotations

import gc
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

FINE, FINDINGS, INPUT, DEFECT, INTERRUPTED = 0, 1, 2, 3, 130


def say(message: str) -> None:
    """Say on stderr what cannot be done, or what goes wrong."""
    from gasdoc.source import printable_lines

    print(f"gasdoc: {printable_lines(message)}", file=sys.stderr)


def print_line(text: str, *, aside: bool = False) -> None:
    """Print one line that may have a file's name in it; `aside` says that it is no result and goes to stderr."""
    from gasdoc.source import printable

    print(printable(text), file=sys.stderr if aside else sys.stdout)


def print_file(text: str, end: str = "\n") -> None:
    """Print what a program will read: UTF-8 with LF line ends, whatever those of the console are."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8", errors="backslashreplace", newline="\n")
    print(text, end=end)


@contextmanager
def quick_imports() -> Iterator[None]:
    """For what a command imports before it does anything else. What is imported stays, and to look through it for garbage
    takes a tenth of a check."""
    # No plugin of pydantic's has a part in this, and looking for one reads the metadata of every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()
