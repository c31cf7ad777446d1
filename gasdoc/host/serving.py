"""While a site is served at home: which requests it answers, and what tells that all builds have to be made again."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from gasdoc.report.shipped_files import PACKAGE, in_checkout

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
    """What is another value when one of these files, or one in these folders, has become another one, older or newer."""
    files = [file for place in places for file in (sorted(place.rglob("*")) if place.is_dir() else [place])]
    return tuple((str(file), *_stamp(file)) for file in files if not file.is_dir())


def _stamp(file: Path) -> tuple[int, ...]:
    try:
        about = file.stat()
    except OSError:
        return ()
    return about.st_mtime_ns, about.st_size, about.st_ino


def data_sources() -> list[Path]:
    """What to watch of gasdoc's own data: in a checkout, the folders with data files (and files beside the code)."""
    if not in_checkout():
        return []
    found = sorted(PACKAGE.rglob("*.yaml"))
    return sorted({path if path.parent == PACKAGE else path.parent for path in found})
