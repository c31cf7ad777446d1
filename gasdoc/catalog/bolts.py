"""Bolts: strength by grade and thread, read from `bolts.yaml`."""

from __future__ import annotations

import difflib
import math
import re
from typing import Any

from msgspec import Struct

from gasdoc.catalog import files
from gasdoc.quantities import Newton, Pascal, Shown, SquareMetre
from gasdoc.source import Citation
from gasdoc.units import parse
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


def grade_ids() -> tuple[str, ...]:
    """The grades, in the order of the list."""
    return tuple(_data()["grades"])


def thread_ids() -> tuple[str, ...]:
    """The threads, inch before metric, each from small to large."""
    return tuple(thread for series in ("inch", "metric") for thread in _data()["stress_area"][series]["threads"])


def bolt(thread: str, grade: str, length: float | None = None) -> Bolt:
    """The bolt of a thread ('3/8-16', 'M10x1.5', also 'M10') and a grade ('sae-5', 'grade 5', '8.8').

    `length` in m matters for grades that are weaker when long. Raises BoltError: unknown, of the other series, or a
    size the grade is not listed for.
    """
    series, thread_id = _thread(thread)
    grade_id = _grade(grade)
    row = _data()["grades"][grade_id]
    if length is not None and "longest" in row and length > parse(row["longest"], "length") * (1 + 1e-9):
        grade_id = row["longer_is"]
        row = _data()["grades"][grade_id]
    if row["series"] != series:
        other = ", ".join(g for g, r in _data()["grades"].items() if r["series"] == series)
        raise BoltError(f"grade {grade_id} is not for {series} threads such as {thread_id}", f"use one of {other}")
    areas = _data()["stress_area"][series]
    size = areas["threads"][thread_id]
    diameter = parse(size["diameter"], "length")
    if not parse(row["smallest"], "length") <= diameter * (1 + 1e-9) <= parse(row["largest"], "length") * (1 + 2e-9):
        raise BoltError(
            f"the strength of grade {grade_id} is not listed for {thread_id}",
            f"it runs from {row['smallest']} to {row['largest']}",
        )
    published = "area" in size
    return Bolt(
        thread=thread_id,
        grade=grade_id,
        area=float(parse(size["area"], "area")) if published else formula_area(thread_id),
        proof=float(parse(row["proof"], "pressure")),
        yield_strength=float(parse(row["yield"], "pressure")),
        tensile=float(parse(row["tensile"], "pressure")),
        strength_source=Citation(row["source"], row["confirmed"]),
        area_source=Citation(areas["source"], size.get("confirmed", areas["confirmed"]))
        if published
        else Citation(areas["formula"], "computed"),
    )


def formula_area(thread: str) -> float:
    """The tensile stress area of a listed thread by its series' formula, m2. Raises BoltError for another thread."""
    series, thread_id = _thread(thread)
    size = _data()["stress_area"][series]["threads"][thread_id]
    diameter = float(parse(size["diameter"], "length"))
    if series == "inch":
        return math.pi / 4 * (diameter - 0.9743 * float(parse("1 in", "length")) / int(size["per_inch"])) ** 2
    return math.pi / 4 * (diameter - 0.9382 * float(parse(size["pitch"], "length"))) ** 2


def _data() -> dict[str, Any]:
    raw: dict[str, Any] = files.load("bolts.yaml")
    return raw


def _thread(text: str) -> tuple[str, str]:
    """(series, id) of a thread as people write it."""
    plain = re.sub(r"\s*(unc|unf)$", "", " ".join(text.lower().split())).replace("×", "x").replace(" ", "")
    for series in ("inch", "metric"):
        for thread in _data()["stress_area"][series]["threads"]:
            if plain in (thread.lower(), thread.lower().split("x")[0]):
                return series, thread
    near = difflib.get_close_matches(plain.replace("m", "M"), thread_ids(), n=1, cutoff=0.4)
    raise BoltError(
        f"thread '{text}' is not listed",
        f"did you mean '{near[0]}'?" if near else "write it as in '3/8-16' or 'M10x1.5'",
    )


def _grade(text: str) -> str:
    plain = " ".join(text.lower().split())
    for grade_id, row in _data()["grades"].items():
        if plain in (grade_id, *row["names"]):
            return str(grade_id)
    known = [name for grade_id, row in _data()["grades"].items() for name in (grade_id, *row["names"])]
    near = difflib.get_close_matches(plain, known, n=1, cutoff=0.5)
    raise BoltError(
        f"bolt grade '{text}' is not listed",
        f"did you mean '{near[0]}'?" if near else f"use one of {', '.join(grade_ids())}",
    )
