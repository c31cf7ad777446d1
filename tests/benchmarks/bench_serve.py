"""One spec edited while a site of many builds is served: processor time from the edit to the new site; asserts nothing.

Run: python tests/benchmarks/bench_serve.py [BUILDS ...]   (left out: 10 100; 500 takes minutes)

Both sides do in one process what serving does at an edit: read the configuration, build. The twin is the hand-written
site of bench_site, whose page of that build is edited, built by MkDocs alone.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from bench_site import project, twin

EDITS = 3


def _seconds(step: Callable[[], object]) -> float:
    start = time.process_time()
    step()
    return time.process_time() - start


def edits(folder: Path, edited: Path) -> tuple[float, float]:
    """Seconds of the first build and the median of those after an edit."""
    from mkdocs.commands.build import build
    from mkdocs.config import load_config

    os.chdir(folder)
    config = load_config("mkdocs.yml")
    config.plugins.on_startup(command="serve", dirty=False)
    plugins = config.plugins

    def once() -> None:
        again = load_config("mkdocs.yml")
        again.plugins = plugins  # as MkDocs keeps them while it serves
        build(again, serve_url="http://127.0.0.1:8000/")

    first = _seconds(once)
    times = []
    for number in range(EDITS):
        text = edited.read_text(encoding="utf-8")
        edited.write_text(f"{text}\n\nOne more line, {number}.\n", encoding="utf-8")
        times.append(_seconds(once))
    return first, statistics.median(times)


def main(sizes: list[int]) -> None:
    print(f"{'builds':>6} {'first s':>8} {'edit s':>7} {'twin first s':>12} {'twin edit s':>11} {'ratio':>6}")
    for builds in sizes:
        with tempfile.TemporaryDirectory() as temporary:
            base = Path(temporary)
            project(base / "ours", builds)
            first, edit = edits(base / "ours", base / "ours" / "specs" / "larch-hut-000.md")
            twin(base / "ours" / "site", base / "twin", all_in_nav=False)
            plain_first, plain = edits(base / "twin", base / "twin" / "docs" / "larch-hut-000" / "log.md")
            print(
                f"{builds:>6} {first:>8.1f} {edit:>7.2f} {plain_first:>12.1f} {plain:>11.1f} {edit / plain:>6.2f}",
                flush=True,
            )


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [10, 100])
