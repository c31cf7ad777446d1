"""A thread and its seat in words: its measures as a rule and a gauge show them, and where it gets tight."""

from __future__ import annotations

from collections.abc import Mapping

from gasdoc import units
from gasdoc.catalog.joints import Thread
from gasdoc.engineering.materials.ends import End
from gasdoc.report.drawings.part_signs import ENDS
from gasdoc.units import System

SEALS: Mapping[str, str] = {
    "taper": "tight in the thread, with sealant on the male one",
    "washer": "tight on a washer",
    "face": "tight on the ring or face of the connection",
    "flare": "tight on the cone",
    "inverted": "tight on the cone inside",
    "nut": "holds the flare of the tube",
    "ring": "tight on the ring that the nut presses onto the tube",
    "pol": "tight on the nose",
    "hand-nut": "tight on the connection's own seal",
}
"""Where an end gets tight, by its drawing in `ENDS`."""

_ON_CONE = "tight on the cone in its seat, no washer"


def tight_words(end: End) -> str:
    """Where an end gets tight, in words; empty where its part's maker decides."""
    return _ON_CONE if on_cone(end) else SEALS.get(ENDS[end.kind], "")


def thread_words(end: End, its: Thread, system: System) -> tuple[str, ...]:
    """What is known of the thread and the seat of an end, in words."""
    found = ["left-hand"] if end.hand == "left" else []
    found.append(f"{width_words(its.major, system)} over the male thread")
    if its.pitch is not None:
        found.append(pitch_words(its))
    if its.form is not None:
        found.append(f"flanks at {its.form:g}°")
    if its.hand_tight is not None and end.kind in ("npt", "bspt"):
        found += ["taper 1 in 16", f"{width_words(its.hand_tight, system)} in by hand"]
    if its.seat is not None:
        found.append(f"cone {its.seat:g}° to its axis")
    if its.across_flats is not None:
        found.append(f"nut {width_words(its.across_flats, system)} across flats")
    return tuple(found)


def pitch_words(its: Thread) -> str:
    """How far the turns of a thread stand apart, in words; its pitch is known."""
    assert its.pitch is not None, "asked of a thread whose pitch is known"
    per_inch = 0.0254 / its.pitch
    if abs(per_inch * 2 - round(per_inch * 2)) < 0.01:
        return f"{per_inch:g} threads to the inch"
    return f"{its.pitch * 1000:g} mm from thread to thread"


def width_words(metres: float, system: System) -> str:
    """A measure in both systems, because a thread in inches is measured in mm as often."""
    other: System = "si" if system == "us" else "us"
    return f"{units.show(metres, 'bore', system)} ({units.show(metres, 'bore', other)})"


def on_cone(end: End) -> bool:
    """Whether a parallel thread has a cone at its tip: the nuts of low-pressure hoses."""
    return end.kind == "bspp" and end.hand == "left"
