"""Processor time of all choices of a plan with five outlets, region by region: `python tests/benchmarks/bench_choose.py`.

The aim is at most 1.5 s in every region. Each is timed for the first time in a process of its own, so that nothing is kept.
"""

from __future__ import annotations

import subprocess
import sys
import time

from gasdoc.build.reader import read_spec
from gasdoc.choices.choices import choose
from gasdoc.regions.region import region, region_ids

PLAN = """---
format: 1
title: Five
region: {region}
setting: {setting}
coldest: -5 degC
container: {{must_last: 5 days}}
supply:
  - run: {{length: 2 m}}
  - junction:
      branches:
        - - run: {{length: 1 m}}
          - outlet: {{appliance: {{name: Heater, kind: room-heater, input: 4 kW, daily_use: 8 h}}}}
        - - run: {{length: 2 m}}
          - outlet: {{appliance: {{name: Cooker, kind: cooker, input: 6 kW, daily_use: 1 h}}}}
        - - run: {{length: 1.5 m}}
          - junction:
              branches:
                - - run: {{length: 3 m}}
                  - outlet: {{appliance: {{name: Oven, kind: oven, input: 3 kW, daily_use: 1 h}}}}
                - - run: {{length: 2 m}}
                  - outlet: {{appliance: {{name: Water, kind: water-heater, input: 8 kW, daily_use: 0.5 h}}}}
                - - run: {{length: 4 m}}
                  - outlet: {{appliance: {{name: Fridge, kind: refrigerator, input: 0.2 kW, daily_use: 24 h}}}}
---
"""


def once(name: str) -> None:
    """Print the time of one region."""
    read = read_spec(PLAN.format(region=name, setting=region(name).settings[0]).encode(), "five.md", "five")
    assert read.build is not None, read.problems
    begun = time.process_time()
    found = choose(read.build)
    spent = time.process_time() - begun
    assert found is not None
    count = len(found.containers), len(found.tubing)
    print(f"{name:12} {spent:5.2f} s   {count[0]} containers, {count[1]} tubings, {len(found.designs)} designs")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        once(sys.argv[1])
    else:
        for each in region_ids():
            subprocess.run([sys.executable, __file__, each], check=True)
