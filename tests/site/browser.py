"""Helpers for looking at the built site in a real browser."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page, ViewportSize

PROGRAMS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

PHONE: ViewportSize = {"width": 390, "height": 844}
NARROW: ViewportSize = {"width": 320, "height": 640}
DESKTOP: ViewportSize = {"width": 1280, "height": 900}

POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'"


def find_chromium() -> str | None:
    """The Chromium to use: the one in CHROMIUM, else the first known name on the path, else None."""
    if named := os.environ.get("CHROMIUM"):
        return shutil.which(named)
    return next(filter(None, map(shutil.which, PROGRAMS)), None)


class _Server(ThreadingHTTPServer):
    request_queue_size = 64  # a browser opens several connections at once; the usual 5 turns some away


class _Handler(SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def end_headers(self) -> None:
        self.send_header("Content-Security-Policy", POLICY)
        super().end_headers()

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """The site's own page for a missing address, as a host would serve it."""
        page = Path(self.directory) / "404.html"
        if code != 404 or not page.is_file():
            return super().send_error(code, message, explain)
        body = page.read_bytes()
        self.send_response(404)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)
        return None

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002  # the library's name
        """Keep the test output quiet."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a folder on a free loopback port under a strict content policy; the address without a closing slash."""
    server = _Server(("127.0.0.1", 0), partial(_Handler, directory=str(folder)))
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def pages_of(site: Path) -> list[str]:
    """The addresses of all pages of a built site, relative to its root."""
    return sorted(path.relative_to(site).as_posix() for path in site.rglob("*.html"))


PAINTED = """width => new Promise(done => {
  const frame = then => requestAnimationFrame(() => setTimeout(then));
  const wait = () => width && innerWidth !== width ? frame(wait) : frame(() => frame(done));
  wait();
})"""
"""The screen has that width, if one is given, and two frames have been drawn since: the page's own script has seen its boxes, and
given those that scroll now their tab stops."""


def resize(page: Page, viewport: ViewportSize) -> None:
    """Another size of the screen, and everything that follows from it."""
    page.set_viewport_size(viewport)
    page.evaluate(PAINTED, viewport["width"])


def shoot(page: Page, name: str) -> Path:
    """A picture of the whole page as it looks now, in a temporary folder; for looking, not for comparing."""
    folder = Path(os.environ.get("GASDOC_SHOTS") or Path(tempfile.gettempdir()) / "gasdoc-shots")
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.png"
    page.screenshot(path=str(path), full_page=True)
    return path
