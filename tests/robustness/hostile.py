"""What the tests and the fuzzer of this folder share: specs to start from, and what every answer of the reader holds to."""

from __future__ import annotations

import time

from gasdoc.build.reader import Read, read_spec

HEAD = """\
format: 1
title: Larch Hut   # its name
region: us-cabin
container: {type: cylinder, serial: "A 1", manufactured: 2020-01-01}
regulator: {outlet: 11 inH2O}
supply:
  - run: {material: copper, length: 5 ft 6 in, bends: 3, through: [floor]}
  - junction:
      branches:
        - - valve:
          - outlet: {appliance: {name: Oven, kind: oven, input: 30 kBtu/h}}
        - - run: {length: 12 ft}
          - outlet:
              appliance: {name: Heater, kind: room-heater, input: 5 kW}
tests:
  - date: 2026-05-16
    kind: piping
    readings:
      - {time: 10:02, pressure: 3 psi}
"""
LOG = "Words.\n\n## 2026-04-18: tank hung\n\n![The tank](tank.svg)\n"
VALID = f"---\n{HEAD}---\n{LOG}"
SECONDS = 2.0
"""Of this processor's time: what others run beside the tests does not count."""


def spec(more: str = "", log: str = LOG) -> bytes:
    """The small spec above with more lines in its front matter, or another log."""
    return f"---\n{HEAD}{more}---\n{log}".encode()


def answer(raw: bytes) -> Read:
    """What the reader says, having checked that the answer is well formed and was not long in coming."""
    began = time.process_time()
    result = read_spec(raw, "s.md", "s")
    took = time.process_time() - began
    assert took < SECONDS, f"{took:.1f} s"
    lines = raw.count(b"\n") + raw.count(b"\r") + 1
    for problem in result.problems:
        assert 1 <= problem.line <= lines, problem
        assert problem.column >= 1 and problem.message and problem.code
        assert str(problem).isprintable(), problem
        assert len(str(problem)) < 2000
    assert result.build is not None or any(p.severity == 3 for p in result.problems)
    assert result.title.strip()
    return result
