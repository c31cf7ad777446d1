"""Time of one drawing of a line, by number of appliances: median, 95 % and most of random trees, in ms of processor time.

python tests/benchmarks/bench_line.py [trees]
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from random_lines import RandomLine

from gasdoc.report.drawings.line import draw


def main() -> None:
    trees = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for appliances in (3, 6, 9):
        for drawing in (draw.isometric, draw.plan, draw.side):
            times, lost = [], 0
            for seed in range(trees):
                sheet = RandomLine(seed, appliances).sheet()
                before = time.process_time()
                lost += len(drawing(sheet).lost)
                times.append((time.process_time() - before) * 1e3)
            times.sort()
            most = f"{times[int(0.95 * trees)]:6.1f} {times[-1]:6.1f}"
            print(f"{appliances} {drawing.__name__:10} {statistics.median(times):6.1f} {most} ms, without room: {lost}")


if __name__ == "__main__":
    main()
