"""The command as its users run it: in a folder of its own, with a small spec to start from."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from gasdoc.cli import main

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
  - run: {material: copper, type: K, size: 1/2 in nominal, length: 20 ft}
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
space:
  volume: 3000 ft3
  vent_high: 60 in2
  vent_low: 60 in2
  sleeping_places: 0
  alarms: [{kind: gas}, {kind: co}, {kind: smoke}]
---

The hut.

## 2026-05-01: fitted

All of it.
"""

Ran = tuple[int, str, str]
Run = Callable[..., Ran]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder, and we are in it."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def project(folder: Path) -> Path:
    """A folder with a configuration and one good spec."""
    (folder / "mkdocs.yml").write_text("site_name: Records\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    write(folder, "test-hut", HUT)
    return folder


@pytest.fixture
def run(folder: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """The command in this process: exit code, standard output, standard error."""

    def call(*arguments: object) -> Ran:
        capsys.readouterr()
        try:
            code = main([str(argument) for argument in arguments])
        except SystemExit as exit_:  # argparse ends this way
            code = int(exit_.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.fixture
def command(folder: Path) -> Run:
    """The command in a process of its own, as a shell starts it."""

    def call(*arguments: object, stdin: bytes = b"") -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "gasdoc", *map(str, arguments)],
            cwd=folder,
            input=stdin,
            capture_output=True,
            check=False,
            env=os.environ | {"PYTHONWARNINGS": "error::ResourceWarning"},
            timeout=120,
        )
        return done.returncode, done.stdout.decode(), done.stderr.decode()

    return call


def write(folder: Path, name: str, text: str | bytes) -> Path:
    """A spec in the folder specs."""
    path = folder / "specs" / f"{name}.md"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path
