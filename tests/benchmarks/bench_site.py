"""The whole site against a plain MkDocs build of the same text: processor time and memory; prints, asserts nothing.

Run: python tests/benchmarks/bench_site.py [BUILDS ...]   (left out: 10 100; 500 takes minutes)

The builds are the three examples with other lengths, inputs and titles, so that no two are alike. Their twin is
hand-written Markdown with the same headings, paragraphs, lists and tables, page for page, taken from our pages by a
converter below; no drawing is in it. MkDocs builds it with its own theme and without plugins, once with one entry of
the navigation a build and once with every page in it. Figures are the processor time (user and system) of a process of its
own with what it starts, so that another load on the machine hardly changes a ratio; a ratio of the time on the clock
stands beside it, for ours works in several processes; and the memory, at most.
"""

from __future__ import annotations

import multiprocessing
import os
import re
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from html.parser import HTMLParser
from multiprocessing.connection import Connection
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

EXAMPLES = ("larch-hut", "bakery-trailer", "floating-studio")


# --- builds ---------------------------------------------------------------------------------------------------------


def varied(text: str, number: int) -> str:
    """A spec like this one, whose lengths, inputs and title are its own."""
    stretch = 1 + (number % 97) / 400

    def larger(found: re.Match[str]) -> str:
        return f"{found[1]}{float(found[2]) * stretch:.4g}{found[3]}"

    text = re.sub(r"^(title: .*?)(['\"]?)$", rf"\g<1> {number}\g<2>", text, count=1, flags=re.MULTILINE)
    return re.sub(r"(\b(?:length|input): )(\d+(?:\.\d+)?)( (?:ft|in|m|mm|cm|kW|kBtu/h|Btu/h)\b)", larger, text)


def project(folder: Path, builds: int) -> None:
    """A project of so many builds."""
    specs = folder / "specs"
    specs.mkdir(parents=True)
    (folder / "mkdocs.yml").write_text(
        "site_name: Builds\ndocs_dir: specs\nuse_directory_urls: false\nplugins: [gasdoc]\n", encoding="utf-8"
    )
    for extra in ("prices.yaml", "parts.yaml"):
        if (ROOT / "specs" / extra).exists():
            shutil.copy(ROOT / "specs" / extra, specs)
    for name in EXAMPLES:
        if (ROOT / "specs" / name).exists():  # its photos
            shutil.copytree(ROOT / "specs" / name, specs / name)
    texts = {name: (ROOT / "specs" / f"{name}.md").read_text(encoding="utf-8") for name in EXAMPLES}
    for number in range(builds):
        name = EXAMPLES[number % len(EXAMPLES)]
        text = varied(texts[name], number)
        (specs / f"{name}-{number:03}.md").write_text(text, encoding="utf-8")


# --- the twin -------------------------------------------------------------------------------------------------------


class Markdown(HTMLParser):
    """The text of a page's main part as Markdown: headings, paragraphs, lists and tables."""

    SKIPPED = ("svg", "script", "style", "nav")
    BLOCKS = (
        "p",
        "li",
        "h1",
        "h2",
        "h3",
        "h4",
        "dt",
        "dd",
        "caption",
        "summary",
        "figcaption",
        "legend",
        "label",
        "div",
    )

    def __init__(self) -> None:
        super().__init__()
        self.out: list[str] = []
        self.text: list[str] = []
        self.rows: list[list[str]] | None = None
        self.skipping = 0
        self.inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "main":
            self.inside = True
        elif tag in self.SKIPPED:
            self.skipping += 1
        elif tag == "table":
            self.flush("")
            self.rows = []
        elif tag == "tr" and self.rows is not None:
            self.rows.append([])
        elif tag in self.BLOCKS and self.rows is None:
            self.flush("")

    def handle_endtag(self, tag: str) -> None:
        if tag == "main":
            self.flush("")
            self.inside = False
        elif tag in self.SKIPPED:
            self.skipping -= 1
        elif tag in ("td", "th") and self.rows:
            self.rows[-1].append(self.taken().replace("|", "\\|"))
        elif tag == "table" and self.rows is not None:
            self.table(self.rows)
            self.rows = None
        elif tag in self.BLOCKS and self.rows is None:
            mark = {"li": "- ", "h1": "# ", "h2": "## ", "h3": "### ", "h4": "#### "}.get(tag, "")
            self.flush(mark)

    def handle_data(self, data: str) -> None:
        if self.inside and not self.skipping:
            self.text.append(data)

    def taken(self) -> str:
        text = re.sub(r"\s+", " ", "".join(self.text)).strip()
        self.text.clear()
        return re.sub(r"([*_`<\[])", r"\\\1", text)

    def flush(self, mark: str) -> None:
        if text := self.taken():
            self.out.append(mark + text)
            self.out.append("")

    def table(self, rows: list[list[str]]) -> None:
        width = max(map(len, rows), default=0)
        lines = ["| " + " | ".join([*row, *[""] * (width - len(row))]) + " |" for row in rows if row]
        if lines:
            self.out += ["", lines[0], "|" + " --- |" * width, *lines[1:], ""]


def twin(site: Path, folder: Path, *, all_in_nav: bool) -> tuple[int, int]:
    """A project of hand-written pages with the same text; returns how many pages and characters it has."""
    docs = folder / "docs"
    pages = characters = 0
    nav: list[str] = []
    for html in sorted(site.rglob("*.html")):
        if html.name == "404.html":
            continue
        parser = Markdown()
        parser.feed(html.read_text(encoding="utf-8"))
        place = html.relative_to(site).with_suffix(".md")
        (docs / place).parent.mkdir(parents=True, exist_ok=True)
        text = "\n".join(parser.out)
        (docs / place).write_text(text, encoding="utf-8")
        pages, characters = pages + 1, characters + len(text)
        if all_in_nav or place.name == "index.md":
            nav.append(f"  - '{place.with_suffix('')}': {place.as_posix()}\n")
    (folder / "mkdocs.yml").write_text(
        "site_name: Builds\ndocs_dir: docs\nuse_directory_urls: false\nplugins: []\ntheme: mkdocs\n"
        "validation: {nav: {omitted_files: ignore}}\n"
        + ("" if all_in_nav else "not_in_nav: |\n  *\n")
        + "nav:\n"
        + "".join(nav),
        encoding="utf-8",
    )
    return pages, characters


# --- measuring ------------------------------------------------------------------------------------------------------


def _ours(folder: str) -> None:
    from gasdoc.host.building import build_site

    os.chdir(folder)
    build_site("mkdocs.yml", None, strict=False)


def _plain(folder: str) -> None:
    from mkdocs.commands.build import build
    from mkdocs.config import load_config

    os.chdir(folder)
    build(load_config("mkdocs.yml"))


def measured(target: Callable[[str], None], folder: Path) -> tuple[float, float, float]:
    """Processor time in s, memory in MB and time on the clock in s of a run in a process of its own, with what it starts."""
    context = multiprocessing.get_context("spawn")
    receive, send = context.Pipe(duplex=False)
    process = context.Process(target=_run, args=(target, str(folder), send))
    process.start()
    seconds, megabytes, clock = receive.recv()
    process.join()
    return seconds, megabytes, clock


def _run(target: Callable[[str], None], folder: str, send: Connection) -> None:
    start = time.perf_counter()
    target(folder)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    seconds = sum(usage.ru_utime + usage.ru_stime for usage in used)
    # Ours has a process for each processor: this one and as many of the largest other, what they share counted twice.
    megabytes = (used[0].ru_maxrss + (os.cpu_count() or 1) * used[1].ru_maxrss) / 1024
    send.send((seconds, megabytes, time.perf_counter() - start))


def main(sizes: list[int]) -> None:
    print(
        f"{'builds':>6} {'pages':>6} {'text MB':>8} {'ours s':>8} {'MB':>6} {'s/build':>8} {'twin s':>8} {'ratio':>6} {'clock':>6} "
        f"{'all in nav s':>12} {'ratio':>6} {'clock':>6}"
    )
    for builds in sizes:
        with tempfile.TemporaryDirectory() as temporary:
            base = Path(temporary)
            project(base / "ours", builds)
            ours, memory, clock = measured(_ours, base / "ours")
            site = base / "ours" / "site"
            pages, characters = twin(site, base / "one", all_in_nav=False)
            one, _, one_clock = measured(_plain, base / "one")
            twin(site, base / "all", all_in_nav=True)
            every, _, every_clock = measured(_plain, base / "all")
            print(
                f"{builds:>6} {pages:>6} {characters / 1e6:>8.1f} {ours:>8.1f} {memory:>6.0f} {ours / builds:>8.3f} {one:>8.1f} "
                f"{ours / one:>6.2f} {clock / one_clock:>6.2f} {every:>12.1f} {ours / every:>6.2f} {clock / every_clock:>6.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [10, 100])
