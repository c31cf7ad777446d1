"""The commands on the whole site: build, pdf, serve."""

from __future__ import annotations

import argparse
import logging
import signal
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from gasdoc.cli.output import FINE, print_line
from gasdoc.host.building import build_site, serve_site
from gasdoc.host.pdf import SHEETS, find_browser, page_of, print_page
from gasdoc.machine.terminal import Progress
from gasdoc.report.site.site import Site
from gasdoc.wrong import Refused

_NAMED = 5
"""So many names stand in a line; the others are counted."""


def level(options: argparse.Namespace) -> int:
    """From which level on MkDocs' messages are printed."""
    return logging.ERROR if options.quiet else logging.INFO if options.verbose else logging.WARNING


def build(options: argparse.Namespace) -> int:
    """Build the site; the exit code."""
    progress = Progress(sys.stderr, quiet=options.quiet or options.verbose)
    sites: list[Site] = []
    try:
        code = build_site(
            options.config,
            options.site_dir,
            strict=options.strict,
            level=level(options),
            progress=progress,
            on_made=sites.append,
        )
        progress.clear()
        if not options.quiet:
            print_line(_built(sites[0]), aside=True)
        return code
    finally:
        progress.clear()


def _built(site: Site) -> str:
    """What was built and what was left out, in one line."""

    def named(names: Sequence[str]) -> str:
        shown = ", ".join(names[:_NAMED])
        return f"{shown} and {len(names) - _NAMED} more" if len(names) > _NAMED else shown

    number = len(site.builds)
    parts = [f"the site is built: {number} build{'s' if number != 1 else ''}"]
    if site.unreadable:
        parts.append(f"{len(site.unreadable)} with a page of problems only ({named(site.unreadable)})")
    if site.drafts:
        parts.append(f"{len(site.drafts)} draft{'s' if len(site.drafts) != 1 else ''} ({named(site.drafts)})")
    if site.left_out:
        parts.append(f"left out: {named(site.left_out)}")
    if site.errors_found:
        parts.append("there are findings at error level, and 'gasdoc check' says which")
    return "; ".join(parts)


def pdf(options: argparse.Namespace) -> int:
    """Print builds to PDF; the exit code."""
    wanted = [Path(name).stem if name.endswith(".md") else name for name in options.specs]
    if options.all == bool(wanted):
        raise Refused("name the specs to print, or ask for --all")
    progress = Progress(sys.stderr, quiet=options.quiet or options.verbose)
    sites: list[Site] = []
    try:
        browser = find_browser()
        with tempfile.TemporaryDirectory(prefix="gasdoc-") as folder:
            code = build_site(
                options.config,
                str(Path(folder, "site")),
                strict=False,
                level=level(options),
                progress=progress,
                on_made=sites.append,
                only=wanted,
            )
            papers = {build.slug: "letter" if build.units == "us" else "a4" for build in sites[0].builds}
            if broken := [slug for slug in wanted if slug not in papers]:
                raise Refused(f"the spec of '{broken[0]}' cannot be read. 'gasdoc check {broken[0]}' says why")
            slugs = wanted or list(papers)
            written = []
            for number, slug in enumerate(slugs, 1):
                progress("printing builds:", number, len(slugs))
                for section, ending in SHEETS.items():
                    target = Path(options.out) / f"{slug}{ending}.pdf"
                    page = page_of(Path(folder, "site"), slug, section)
                    print_page(browser, Path(folder, "browser"), page, options.paper or papers[slug], target)
                    written.append(target)
    except OSError as error:
        raise Refused(
            f"cannot write {error.filename or options.out}: {(error.strerror or 'unknown reason').lower()}"
        ) from None
    finally:
        progress.clear()
    for target in written:
        print_line(f"wrote {target}")
    return code


def serve(options: argparse.Namespace) -> int:
    """Serve the site until it is interrupted."""

    def end(*_: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, end)  # so that what was made to be served is taken away again

    def announce(address: str) -> None:
        if not options.quiet:
            print(f"serving at {address} once it is built. Ctrl-C ends it", file=sys.stderr, flush=True)

    serve_site(options.config, options.address, strict=options.strict, announce=announce, level=level(options))
    return FINE
