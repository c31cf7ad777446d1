"""A small project for the tests of the command: one good spec, and what the tests share about it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

DAY = ("--as-of", "2026-06-01")
"""For `check`: a month after the hut was fitted, so that no test depends on the day it is run."""

HUT = """---
format: 1
title: Test Hut
region: us-cabin
units: us
altitude: 0 ft
coldest: 20 degF
fitted: 2026-05-01
container:
  type: dot-100lb
  connection: POL
  water_capacity: 238 lb
  orientation: upright
  place: outdoors
  stays: no
regulator:
  stages: 2
  capacity: 100 kBtu/h
  inlet: 10 psi
  outlet: 11 inH2O
  inlet_thread: 1/4 NPT
  outlet_thread: 1/2 NPT
  tolerance: 0 inH2O
  lock_up: 13 inH2O
  adjustable: no
  over_pressure_protection: yes
supply:
  - run: {material: copper, type: K, size: 1/2 in nominal, length: 20 ft, bends: 0}
  - outlet:
      shut_off: yes
      shut_off_distance: 2 ft
      distance: 2 ft
      connector: {kind: flexible, length: 36 in}
      appliance:
        name: Heater
        kind: room-heater
        input: 30 kBtu/h
        jetted_for: {gas: propane, pressure: 11 inH2O}
        min_inlet: 10 inH2O
        max_inlet: 14 inH2O
        inlet_thread: 1/2 NPT
        flue: room-sealed
        flame_failure: yes
        daily_use: 2 h
spaces:
  - volume: 3000 ft3
    vent_high: 60 in2
    vent_low: 60 in2
    sleeping_places: 0
    alarms:
      - {kind: gas, standard: UL 1484, height: low}
      - {kind: co, standard: UL 2034, height: high}
      - {kind: smoke, standard: UL 217, height: high}
---

The hut.

## 2026-05-01: fitted

All of it.
"""

Ran = tuple[int, str, str]
Run = Callable[..., Ran]


def write(folder: Path, name: str, text: str | bytes) -> Path:
    """A spec in the folder specs."""
    path = folder / "specs" / f"{name}.md"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
