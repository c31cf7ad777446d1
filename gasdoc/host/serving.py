"""While a site is served at home: which requests it answers, and what tells that all builds have to be made again."""

from __future__ import annotations

import hashlib
import ipaddress
import os
import socket
import stat
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from gasdoc.report.pages.shipped_files import PACKAGE, in_checkout
from gasdoc.source import MAX_BYTES

Answer = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]
"""A WSGI application (PEP 3333)."""


def guarded(answer: Answer, host: str) -> Answer:
    """The application, for requests to `host` or to a plain address.

    A page from elsewhere can have its own name lead to this machine and read what is served here: such a name is refused.
    """

    def guard(request: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        if not _meant(str(request.get("HTTP_HOST") or host), host):
            return _refused(start, "403 Forbidden", "This is not the name of the site that is served here.")
        if "\0" in str(request.get("PATH_INFO")):
            return _refused(start, "404 Not Found", "No file has such a name.")
        return answer(request, start)

    return guard


def is_open(host: str) -> bool:
    """Whether others than this machine can reach a server at `host`."""
    try:
        return not ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host != "localhost"


def _meant(asked: str, host: str) -> bool:
    """Whether the name and port that were asked for mean this server."""
    name = asked.rpartition(":")[0] if asked.rpartition(":")[2].isdecimal() else asked
    name = name.strip("[]").lower()
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name in (host.lower(), "localhost", socket.gethostname().lower())
    return True


def _refused(start: Callable[..., Any], status: str, why: str) -> Iterable[bytes]:
    start(status, [("Content-Type", "text/plain; charset=utf-8")])
    return [f"{why}\n".encode()]


def stamps(places: Iterable[Path]) -> tuple[object, ...]:
    """What is another value when one of these files, or one in these folders, reads otherwise. What lies behind a link counts,
    and what a file says: its time and size stay the same where a clock is coarse or a copy keeps the time."""
    return tuple((str(file), _read(file)) for place in places for file in _files(place))


def _files(place: Path) -> Iterator[Path]:
    if not place.is_dir():
        yield place
        return
    seen: set[str] = set()
    for folder, below, names in os.walk(place, followlinks=True):
        there = os.path.realpath(folder)
        below[:] = sorted(set(below) - {"__pycache__"}) if there not in seen else []
        if there not in seen:
            yield from (Path(folder, name) for name in sorted(names))
        seen.add(there)


def _read(file: Path) -> object:
    """What a file says, of a large one its time and size; None where nothing can be read."""
    try:
        about = file.stat()
        if not stat.S_ISREG(about.st_mode):
            return None
        if about.st_size > MAX_BYTES:
            return about.st_mtime_ns, about.st_size, about.st_ino
        return hashlib.sha256(file.read_bytes()).digest()
    except OSError:
        return None


def data_sources() -> list[Path]:
    """What to watch of gasdoc's own data: in a checkout, the folders with data files (and files beside the code)."""
    if not in_checkout():
        return []
    found = sorted(PACKAGE.rglob("*.yaml"))
    return sorted({path if path.parent == PACKAGE else path.parent for path in found})
