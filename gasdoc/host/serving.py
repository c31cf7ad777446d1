"""What a site that is served at home answers to: requests that were meant for it, and no others. Knows nothing of MkDocs."""

from __future__ import annotations

import ipaddress
import socket
from collections.abc import Callable, Iterable
from typing import Any

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
