"""Bolts: strength by grade and thread, read from `bolts.yaml`."""

import difflib
import math
import re
from typing import Literal

from msgspec import Struct, field

from gasdoc.catalog.rows import Area, Confirmed, Length, Positive, Sourced, Strength, read
from gasdoc.data import Each, Entry, Some
from gasdoc.quantities import Newton, Pascal, Shown, SquareMetre
from gasdoc.scalars import problem
from gasdoc.source import Citation
from gasdoc.wrong import Wrong


class BoltError(Wrong):
    """A thread or grade that is not listed, or a size the grade is not made in."""


class Bolt(Struct, frozen=True):
    """A bolt: tensile stress `area` in m2; `proof`, `yield_strength` and `tensile` in Pa."""

    thread: str
    grade: str
    area: SquareMetre
    proof: Pascal
    yield_strength: Pascal
    tensile: Pascal
    strength_source: Citation
    area_source: Citation

    @property
    def proof_load(self) -> Shown[Newton]:
        """Tension it takes without lasting stretch, N: proof strength x stress area."""
        return self.proof * self.area

    @property
    def tensile_load(self) -> Shown[Newton]:
        """Tension at which it may break, N: tensile strength x stress area."""
        return self.tensile * self.area


class _Grade(Sourced, frozen=True):
    """Strengths of a grade in Pa, from its smallest to its largest diameter; a bolt longer than `longest` is `longer_is`."""

    names: Some[str]
    series: Literal["inch", "metric"]
    smallest: Length
    largest: Length
    proof: Strength
    yield_strength: Strength = field(name="yield")
    tensile: Strength
    longest: Length | None = None
    longer_is: str | None = None


class _Thread(Entry, frozen=True):
    """A thread with its pitch, or its threads to the inch, and its stress area in m2 where one is published."""

    diameter: Length
    per_inch: Positive | None = None
    pitch: Length | None = None
    area: Area | None = None
    confirmed: Confirmed | None = None


class _Series(Sourced, frozen=True):
    formula: str
    threads: Each[_Thread]


class _Areas(Entry, frozen=True):
    inch: _Series
    metric: _Series

    def _checked(self) -> None:
        for series, row in (("inch", self.inch), ("metric", self.metric)):
            for name, thread in row.threads.items():
                if (thread.per_inch if series == "inch" else thread.pitch) is None:
                    hint = f"add '{'per_inch' if series == 'inch' else 'pitch'}'"
                    raise problem("data-thread", "its pitch is missing", hint, at=(series, "threads", name))


class _Bolts(Entry, frozen=True):
    grades: Each[_Grade]
    stress_area: _Areas

    def _checked(self) -> None:
        for name, grade in self.grades.items():
            if grade.longest is not None and grade.longer_is not in self.grades:
                hint = "name one of the grades under 'longer_is'"
                raise problem("data-grade", "what a longer bolt counts as is missing", hint, at=("grades", name))


def grade_ids() -> tuple[str, ...]:
    """The grades, in the order of the list."""
    return tuple(_bolts().grades)


def thread_ids() -> tuple[str, ...]:
    """The threads, inch before metric, each from small to large."""
    areas = _bolts().stress_area
    return (*areas.inch.threads, *areas.metric.threads)


def bolt(thread: str, grade: str, length: float | None = None) -> Bolt:
    """The bolt of a thread ('3/8-16', 'M10x1.5', also 'M10') and a grade ('sae-5', 'grade 5', '8.8').

    `length` in m matters for grades that are weaker when long. Raises BoltError: unknown, of the other series, or a
    size the grade is not listed for.
    """
    series, thread_id = _thread(thread)
    grades, areas = _bolts().grades, _areas(series)
    grade_id = _grade(grade)
    row = grades[grade_id]
    if length is not None and row.longest is not None and length > row.longest * (1 + 1e-9):
        grade_id = row.longer_is or grade_id
        row = grades[grade_id]
    if row.series != series:
        other = ", ".join(name for name, one in grades.items() if one.series == series)
        raise BoltError(f"grade {grade_id} is not for {series} threads such as {thread_id}", f"use one of {other}")
    size = areas.threads[thread_id]
    if not row.smallest <= size.diameter * (1 + 1e-9) <= row.largest * (1 + 2e-9):
        raise BoltError(
            f"the strength of grade {grade_id} is not listed for {thread_id}",
            f"it runs from {row.smallest.text} to {row.largest.text}",
        )
    return Bolt(
        thread=thread_id,
        grade=grade_id,
        area=formula_area(thread_id) if size.area is None else float(size.area),
        proof=float(row.proof),
        yield_strength=float(row.yield_strength),
        tensile=float(row.tensile),
        strength_source=row.source,
        area_source=Citation(areas.formula, "computed")
        if size.area is None
        else Citation(areas.cited, size.confirmed or areas.confirmed),
    )


def formula_area(thread: str) -> float:
    """The tensile stress area of a listed thread by its series' formula, m2. Raises BoltError for another thread."""
    series, thread_id = _thread(thread)
    size = _areas(series).threads[thread_id]
    if size.per_inch is not None:
        return math.pi / 4 * (size.diameter - 0.9743 * 0.0254 / size.per_inch) ** 2
    return math.pi / 4 * (size.diameter - 0.9382 * (size.pitch or 0.0)) ** 2


def _bolts() -> _Bolts:
    return read("bolts.yaml", _Bolts)


def _areas(series: str) -> _Series:
    areas = _bolts().stress_area
    return areas.inch if series == "inch" else areas.metric


def _thread(text: str) -> tuple[str, str]:
    """(series, id) of a thread as people write it."""
    plain = re.sub(r"\s*(unc|unf)$", "", " ".join(text.lower().split())).replace("×", "x").replace(" ", "")
    for series in ("inch", "metric"):
        for thread in _areas(series).threads:
            if plain in (thread.lower(), thread.lower().split("x")[0]):
                return series, thread
    near = difflib.get_close_matches(plain.replace("m", "M"), thread_ids(), n=1, cutoff=0.4)
    raise BoltError(
        f"thread '{text}' is not listed",
        f"did you mean '{near[0]}'?" if near else "write it as in '3/8-16' or 'M10x1.5'",
    )


def _grade(text: str) -> str:
    plain = " ".join(text.lower().split())
    known = [(name, grade_id) for grade_id, row in _bolts().grades.items() for name in (grade_id, *row.names)]
    for name, grade_id in known:
        if plain == name:
            return grade_id
    near = difflib.get_close_matches(plain, [name for name, _ in known], n=1, cutoff=0.5)
    raise BoltError(
        f"bolt grade '{text}' is not listed",
        f"did you mean '{near[0]}'?" if near else f"use one of {', '.join(grade_ids())}",
    )
