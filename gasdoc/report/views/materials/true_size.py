"""The parts of a build at their true size, to print and hold parts against."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from gasdoc.catalog.joints import Thread, alike, thread
from gasdoc.engineering.materials.ends import CYLINDERS, End, Gender
from gasdoc.engineering.materials.joints import Part
from gasdoc.report.drawings.thread_words import pitch_words, thread_words, tight_words, width_words
from gasdoc.report.drawings.true_size import TrueSize, drawing
from gasdoc.source import Citation
from gasdoc.study import Study
from gasdoc.study.facts import system
from gasdoc.units import System

_BOTH = frozenset({"npt", "bspt", "bspp", "metric", "flare", "flare-37", "inverted-flare", *CYLINDERS})
"""Kinds of ends whose male and whose female one have the thread."""


class Pair(Struct, frozen=True):
    """A thread, male and female: what is known of it, where it gets tight, and which others are as wide."""

    name: str
    drawn: tuple[TrueSize, ...]
    known: tuple[str, ...]
    tight: str
    source: Citation
    alike: tuple[str, ...]


class Held(Struct, frozen=True):
    """A part to hold against the paper, with the numbers of its joints."""

    name: str
    numbers: tuple[int, ...]
    drawn: TrueSize


def view(study: Study) -> dict[str, Any]:
    """Every thread of the line, male and female, and every part that joins or branches it, in the order of the joints."""
    shown = system(study.build)
    parts, ends = _found(study)
    pairs: dict[str, Pair] = {}
    for end in ends:
        its = thread(end)
        if its is not None and end.kind not in ("flare-nut", "bspp-nut"):
            pairs.setdefault(its.name, _pair(end, its, shown))
    held = [Held(part.name, tuple(sorted(numbers)), drawing(part, shown)) for part, numbers in parts.items()]
    return {"pairs": list(pairs.values()), "fittings": held}


def _found(study: Study) -> tuple[dict[Part, set[int]], list[End]]:
    """The parts with the numbers of their joints, and the ends of these and of all that they meet."""
    numbers = {joint.id: joint.number for joint in study.leak_test.joints}
    parts: dict[Part, set[int]] = {}
    ends: dict[End, None] = {}
    for joined, chain in study.fittings.chains():
        ends.update(dict.fromkeys(end for joint in chain.joints for end in (joint.a, joint.b)))
        for part in chain.parts:
            parts.setdefault(part, set()).update(numbers[joint] for joint in joined.joints)
    for _, _, placed in study.fittings.placed():
        if placed.part is not None:
            parts.setdefault(placed.part, set())
    order = sorted(parts.items(), key=lambda item: (min(item[1], default=len(numbers) + 1), item[0].id))
    return dict(order), list(ends)


def _pair(end: End, its: Thread, shown: System) -> Pair:
    genders: tuple[Gender, ...] = ("male", "female") if end.kind in _BOTH else (end.gender,)
    drawn = tuple(drawing(_alone(End(end.kind, end.size, gender, None, end.hand)), shown) for gender in genders)
    others = tuple(_words(one, shown) for one in alike(end))
    return Pair(its.name, drawn, thread_words(end, its, shown), tight_words(end), its.source, others)


def _alone(end: End) -> Part:
    return Part("", str(end), "end", "fitting", (end,), None, False, False)


def _words(one: Thread, shown: System) -> str:
    apart = f", {pitch_words(one)}" if one.pitch is not None else ""
    form = f", flanks at {one.form:g}°" if one.form is not None else ""
    seat = f", cone {one.seat:g}°" if one.seat is not None else ""
    return f"{one.name}: {width_words(one.major, shown)}{apart}{form}{seat}"
