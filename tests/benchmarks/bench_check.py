"""A cold `gasdoc check` and the study of a build: what each part of them costs; prints medians, asserts nothing.

Run: python tests/benchmarks/bench_check.py [BUILDS] [RUNS]   (left out: 100 11)

Every run of a check is a process of its own, its bytecode and data files kept from the run before. Another load on the
machine lengthens the wall time a lot and the processor time somewhat, so figures are for comparing within one run: each is
also given as so many times an empty start of Python. The builds are the three examples with other lengths and inputs.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from bench_site import EXAMPLES, varied  # noqa: E402  # from the path just set

ENVIRONMENT = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
ENVIRONMENT |= {"PYTHONPATH": str(ROOT), "PYDANTIC_DISABLE_PLUGINS": "__all__"}  # as a check sets it
LAYERS = {
    "an empty start": "pass",
    "yaml, argparse": "import argparse, dataclasses, yaml",
    "pydantic": "from pydantic import BaseModel, BeforeValidator, TypeAdapter; from pydantic_core import core_schema",
    "the model of a spec": "import gasdoc.build.reader",
    "all a check imports": "import gasdoc.cli.command, gasdoc.folder.check",
}


def cost(arguments: Sequence[str]) -> tuple[float, float]:
    """Wall and processor time of one process, ms."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run([sys.executable, *arguments], cwd=ROOT, env=ENVIRONMENT, capture_output=True, check=False)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall * 1e3, (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) * 1e3


def cold(runs: int) -> None:
    """Fresh processes, by turns, so that a busy moment falls on all of them."""
    asked = {name: ["-c", code] for name, code in LAYERS.items()}
    asked |= {f"gasdoc check {name}": ["-m", "gasdoc", "check", f"specs/{name}.md"] for name in EXAMPLES}
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in asked}
    for round_ in range(runs + 1):
        for name, arguments in asked.items():
            taken = cost(arguments)
            if round_:  # the first round writes bytecode
                times[name].append(taken)
    empty = statistics.median(cpu for _, cpu in times["an empty start"])
    for name, taken_by in times.items():
        wall, cpu = statistics.median(wall for wall, _ in taken_by), statistics.median(cpu for _, cpu in taken_by)
        print(f"{name:30} wall {wall:6.0f} ms, processor {cpu:6.0f} ms, {cpu / empty:5.1f} starts")


def warm(builds: int) -> None:
    """One process, build after build: reading, studying, and the page that computes most."""
    from gasdoc.build.reader import read_spec
    from gasdoc.folder.check import study_of
    from gasdoc.report.views.container import page as container
    from gasdoc.study.materials.own_files import read_own

    own, problems = read_own(ROOT / "specs")
    texts = {name: (ROOT / "specs" / f"{name}.md").read_text(encoding="utf-8") for name in EXAMPLES}
    taken: dict[str, list[float]] = {"read": [], "study": [], "container page": []}
    for number in range(builds):
        name = EXAMPLES[number % len(EXAMPLES)]
        raw = varied(texts[name], number).encode()
        marks = [time.process_time()]
        read = read_spec(raw, f"specs/{name}.md", name)
        marks.append(time.process_time())
        made = study_of(read, None, own, problems).study
        marks.append(time.process_time())
        if made is not None:
            container.view(made)
        marks.append(time.process_time())
        for kept, begin, end in zip(taken.values(), marks, marks[1:], strict=False):
            kept.append((end - begin) * 1e3)
    for what, times in taken.items():
        print(
            f"{what:14} mean {statistics.mean(times):6.1f} ms a build, median {statistics.median(times):6.1f}, "
            f"the first {times[0]:6.1f}"
        )


if __name__ == "__main__":
    counts = [int(argument) for argument in sys.argv[1:]]
    cold(counts[1] if len(counts) > 1 else 11)
    warm(counts[0] if counts else 100)
