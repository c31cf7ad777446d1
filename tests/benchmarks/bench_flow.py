"""Times of the tree hydraulics and of the least-cost search; prints medians, asserts nothing.

Run: python tests/benchmarks/bench_flow.py. The network solver it compares with solves a net already built, without
numba. Trees, sizes and prices are made up.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "reference")]

from made_up_trees import made_up_options, made_up_zone, pandapipes_net  # noqa: E402  # from the path just set

from gasdoc.engineering.materials.least_cost import least_cost  # noqa: E402  # from the path just set
from gasdoc.engineering.supply import network  # noqa: E402  # from the path just set


def median_ms(call: Callable[[], Any], runs: int, batch: int = 1) -> tuple[float, float]:
    """Median and largest time of one call in ms."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        for _ in range(batch):
            call()
        times.append((time.perf_counter() - start) / batch * 1e3)
    return statistics.median(times), max(times)


def hydraulics() -> None:
    import pandapipes

    for count in (7, 40):
        zone = made_up_zone(random.Random(count), count)
        ours, _ = median_ms(partial(network.pressures, zone), 50, 20)
        full, _ = median_ms(partial(network.solve, zone), 50, 20)
        net = pandapipes_net(zone)
        theirs, _ = median_ms(partial(pandapipes.pipeflow, net, friction_model="colebrook", use_numba=False), 15)
        print(
            f"{count:3} segments: pressures {ours:.4f} ms, solve {full:.4f} ms, network solver {theirs:.2f} ms, "
            f"ratio {theirs / ours:.0f} (solve {theirs / full:.0f})"
        )


def sizing() -> None:
    for count, sizes in ((7, 6), (15, 6), (40, 6), (40, 12)):
        times = []
        solved = 0
        for seed in range(40 if sizes == 6 else 10):
            zone = made_up_zone(random.Random(1000 + seed), count, (3e3, 12e3))
            options = made_up_options(random.Random(seed), zone, sizes)
            source = zone.source_absolute**2
            need = (zone.source_absolute - 250.0) ** 2
            needs = [need if load > 0 else None for load in zone.tree.load]
            solved += least_cost(zone.tree.parent, options, needs, source).reason is None
            times.append(median_ms(lambda: least_cost(zone.tree.parent, options, needs, source), 3)[0])
        print(
            f"{count:3} segments x {sizes:2} sizes: least cost {statistics.median(times):.2f} ms median, "
            f"{max(times):.2f} ms largest, {solved} of {len(times)} trees have an answer"
        )


if __name__ == "__main__":
    hydraulics()
    sizing()
