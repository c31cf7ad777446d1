"""The six steps of a build with their dates: planned, bought, fitted, tested, signed, in use."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from gasdoc.build.reader import Build
from gasdoc.study.findings import Finding, warning
from gasdoc.study.proof.standing import Standing
from gasdoc.study.proof.verdicts import ended

State = Literal["done", "next", "later"]


class Milestone(Struct, frozen=True):
    """A step and its date, None where it has none. A build has one next step at most: the first that is not done."""

    name: str
    state: State
    date: dt.date | None


def progress(build: Build, standing: Standing, day: dt.date | None) -> tuple[Milestone, ...]:
    """The steps in order. What the standing says is what counts; a record that does not count does no step."""
    spec = build.spec
    fitted = standing.word != "planned"
    tested = standing.word not in ("planned", "fitted")
    tests = [ended(p.judged.test).date() for p in standing.proofs if p.judged is not None]
    bought, used = _past(spec.bought, day), _past(spec.in_use, day)
    signed = spec.signed_off.date if spec.signed_off is not None and standing.signed else None
    steps = (
        ("planned", True, spec.started),
        ("bought", bought is not None or fitted, bought),
        ("fitted", fitted, spec.fitted if fitted else None),
        ("tested", tested, max(tests) if tested and tests else None),
        ("signed", signed is not None, signed),
        ("in use", used is not None, used),
    )
    first = next((name for name, done, _ in steps if not done), None)
    return tuple(
        Milestone(name, "done" if done else "next" if name == first else "later", date) for name, done, date in steps
    )


def _past(date: dt.date | None, day: dt.date | None) -> dt.date | None:
    """A date that has come by `day` (None: any has)."""
    return date if date is not None and (day is None or date <= day) else None


def use_findings(build: Build, standing: Standing, day: dt.date | None) -> Iterator[Finding]:
    """Gas in use before a sign-off counts."""
    if _past(build.spec.in_use, day) is not None and not standing.signed:
        yield warning(
            "in-use-unsigned",
            "build",
            ("in_use",),
            f"The gas has been in use since {build.spec.in_use}. No sign-off counts for the build as it is now.",
            "A leak or a wrong flame shows first to those who live with it.",
            "Shut the container. Have the tests seen and the work signed before the gas is used again.",
        )
