"""PDFs of a built site's pages, printed by a browser without a window.

A browser and not a library: only a browser lays the page out as it is read (grid, `:has`, details that are open on paper),
numbers the sheets and repeats the heads of tables and the cautions; and most people have one.
"""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from html import escape, unescape
from pathlib import Path
from urllib.parse import urljoin

from gasdoc.machine import programs
from gasdoc.machine.writing import write_over
from gasdoc.wrong import Refused

PROGRAMS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)
PAPERS = {"letter": "letter", "a4": "A4"}
SHEETS = {
    "whole": "",
    "booklet": "-booklet",
    "test-sheet": "-test-day",
    "door-sheet": "-door-sheet",
    "labels": "-labels",
}
"""The pages of a build that are printed, and what their files' names end with."""

_LINK = re.compile(r'(<a\b[^>]*?) href="([^"#][^"]*)"')
_WHOLE_ADDRESS = re.compile(r'<link rel="canonical" href="([^"]+)">')
_PAGE_OF = re.compile(r'(<span class="at" data-of="([^"]+)">)')

_SECONDS = 120  # guards against a browser that hangs; a build of thirty sheets takes about two seconds


def find_browser() -> str:
    """The browser to print with: GASDOC_CHROMIUM, or the first of the known names. Raises Refused."""
    named = os.environ.get("GASDOC_CHROMIUM")
    found = programs.find(named) if named else next(filter(None, map(programs.find, (*PROGRAMS, *PLACES))), None)
    if found is None:
        what = f"'{named}', which GASDOC_CHROMIUM names, was not found" if named else "no browser that prints was found"
        raise Refused(
            f"{what}. Install Chromium ('apt install chromium', 'brew install --cask chromium') or name one in "
            "GASDOC_CHROMIUM. Or print the page 'Whole record' from any browser"
        )
    return found


def page_of(site: Path, slug: str, section: str) -> Path:
    """The file of a build's page in a built site, whichever kind of addresses it has. Raises Refused."""
    for path in (site / slug / f"{section}.html", site / slug / section / "index.html"):
        if path.is_file():
            return path
    raise Refused(f"the site has no page '{section}' of {slug}")


def print_page(browser: str, profile: Path, page: Path, paper: str, target: Path) -> None:
    """Print a page of a site made for this, on paper (a key of PAPERS), to a file. Raises Refused.

    `profile` is a folder for the browser's own use; with the same one again it starts faster.

    The page is given a style sheet that names the paper, since a browser's command line has no option for it. Contents that
    are to say page numbers are printed twice: only the first PDF tells them.
    """
    sheet = page.parent / f"paper-{paper}.css"
    sheet.write_text(f"@page {{ size: {PAPERS[paper]}; }}\n", encoding="utf-8")
    html = _with_whole_links(page.read_text(encoding="utf-8"))
    html = html.replace("</head>", f'<link rel="stylesheet" href="{sheet.name}">\n</head>', 1)
    printed = page.with_name(f"print-{page.name}")
    made = _print(browser, profile, printed, html)
    if _PAGE_OF.search(html):
        made = _print(browser, profile, printed, _with_page_numbers(html, made))
    target.parent.mkdir(parents=True, exist_ok=True)
    write_over(target, made)


def _with_whole_links(html: str) -> str:
    """A page whose links lead somewhere from paper too: to the site, where it says its address; else to nothing, since the
    folder that it was printed from is gone."""
    own = _WHOLE_ADDRESS.search(html)

    def led(found: re.Match[str]) -> str:
        start, target = found.groups()
        if target.startswith(("https:", "http:", "mailto:", "tel:")):
            return found[0]
        return (
            f'{start} data-within href="{escape(urljoin(unescape(own[1]), unescape(target)))}"'
            if own is not None
            else start
        )

    return _LINK.sub(led, html)


def _with_page_numbers(html: str, pdf: bytes) -> str:
    """A page with the numbers that its contents ask for, from what was printed of it."""
    from pypdf import PdfReader  # noqa: PLC0415  # it loads the library for pictures, which nothing else here needs

    reader = PdfReader(io.BytesIO(pdf))
    found = {name.removeprefix("/"): place for name, place in reader.named_destinations.items()}

    def number(wanted: re.Match[str]) -> str:
        place = found.get(wanted[2])
        page = reader.get_destination_page_number(place) if place is not None else None
        return f"{wanted[1]}{page + 1}" if page is not None else wanted[1]

    return _PAGE_OF.sub(number, html)


def _print(browser: str, profile: Path, page: Path, html: str) -> bytes:
    """The PDF of a page that is written to `page` first."""
    page.write_text(html, encoding="utf-8")
    made = profile / "page.pdf"
    made.unlink(missing_ok=True)
    command = [
        browser,
        "--headless",
        "--disable-gpu",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--disable-extensions",
        f"--user-data-dir={profile}",
        "--no-pdf-header-footer",
        "--generate-pdf-document-outline",
        f"--print-to-pdf={made}",
        page.resolve().as_uri(),
    ]
    if sys.platform == "linux" and os.geteuid() == 0:
        command.insert(1, "--no-sandbox")  # Chromium does not start for the superuser otherwise; the page is our own
    try:
        done = subprocess.run(command, capture_output=True, timeout=_SECONDS, check=False)
    except subprocess.TimeoutExpired:
        raise Refused(f"{browser} did not finish within {_SECONDS} s") from None
    except OSError as error:
        raise Refused(f"{browser} cannot be run: {error.strerror}") from None
    if done.returncode != 0 or not made.is_file():
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise Refused(f"{browser} printed nothing: {said[-1] if said else f'exit code {done.returncode}'}")
    return made.read_bytes()
