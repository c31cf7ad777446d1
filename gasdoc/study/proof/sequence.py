"""The test day of a build: the steps of `regions/sequence.yaml` filled in with its parts, pressures, joints and times.

Nothing is decided here that the data file does not say; what a line hangs on is worked out from the study, and every
number comes from where the study has it.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from gasdoc.regions.sequence import LineText, StepRow, holds, sequence_rows
from gasdoc.source import Citation
from gasdoc.study.proof.day_facts import DayFacts, TestDay
from gasdoc.study.proof.day_lines import EACH_LINE, STEP_PARTS


class Said(Struct, frozen=True):
    """One thing to do, filled in. `short` is for the sheet, None where it is not there; `citation` is its own, None where
    it is the step's."""

    text: str
    short: str | None
    caution: bool
    citation: Citation | None


class Step(Struct, frozen=True):
    """A step filled in. `parts` are ids of elements and joints of the study. Where `applies` is false, `reason` says why."""

    id: str
    title: str
    lines: tuple[Said, ...]
    needs: tuple[str, ...]
    parts: tuple[str, ...]
    gate: bool
    passes: str | None
    stops: tuple[str, ...]
    applies: bool
    reason: str | None
    citation: Citation

    @property
    def text(self) -> str:
        """All lines one after another."""
        return " ".join(line.text for line in self.lines)


class LeakSequence(Struct, frozen=True):
    """The test day, all steps in order, those that do not apply included."""

    steps: tuple[Step, ...]

    def step(self, identity: str) -> Step:
        """A step by its id."""
        return next(step for step in self.steps if step.id == identity)


def leak_sequence(day: TestDay) -> LeakSequence:
    """The sequence of a build."""
    facts = DayFacts(day)
    return LeakSequence(tuple(_step(row, facts) for row in sequence_rows()))


def _step(row: StepRow, facts: DayFacts) -> Step:
    applies = row.applies is None or holds(row.applies, facts.true)
    lines = tuple(said for line in row.lines if applies for said in _said(line, facts))
    parts = tuple(dict.fromkeys(identity for name in row.parts for identity in STEP_PARTS[name](facts)))
    return Step(
        row.id,
        row.title,
        lines,
        row.needs,
        parts if applies else (),
        row.gate,
        row.passes,
        tuple(stop.format_map(facts.plain) for stop in row.stops),
        applies,
        None if applies else row.reason,
        row.citation,
    )


def _said(line: LineText, facts: DayFacts) -> Iterator[Said]:
    if not all(holds(condition, facts.true) for condition in line.when):
        return
    for own in EACH_LINE[line.each](facts) if line.each is not None else ({},):
        names = {**facts.plain, **own}
        short = line.short.format_map(names) if line.short is not None else None
        yield Said(line.text.format_map(names), short, line.caution, line.citation)
