"""The sheet to take along on the test day, two pages: the steps with boxes and gates, blanks for what is read, every joint."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from gasdoc.study import Study
from gasdoc.study.proof.sequence import Step

LETTERS = 26
"""Letters of a joint's name that fit one line of a column of the printed sheet."""

JOINT_LINES = 18
"""Lines there is room for, in three columns; joints that take more are ticked by their numbers alone."""

ROOMY = 4
"""So many appliances at most leave room for a line of its own for each box."""

HALF_LINE = 52
"""Letters of a box's text that fit one line of the two columns of the printed sheet."""

ROOM = 61
"""Lines of boxes in two columns, and of appliances, that surely go on two pages; a longer sheet runs its boxes on."""

READ = {"pressure-test": "piping", "air-test": "air", "leak-check": "leak-check"}
"""Steps in which a gauge is read before and after a hold, with the kind of test that is asked."""


def view(study: Study) -> dict[str, Any]:
    """The steps as they go on the sheet, the readings of each, and the joints by the numbers of the leak-test page."""
    joints = study.leak_test.joints
    lines = sum(1 + len(joint.text) // LETTERS for joint in joints)
    roomy = len(study.served) <= ROOMY and _box_lines(study) + len(study.served) <= ROOM
    return {
        "steps": [
            {
                "number": number,
                "step": step,
                "ticks": _ticks(study, [line.short for line in step.lines if line.short is not None], roomy=roomy),
                "rows": _rows(study, step),
            }
            for number, step in enumerate(study.sequence.steps, 1)
        ],
        "appliances": [s.appliance.name for s in study.served],
        "containers": range(1, study.build.spec.container.number + 1),
        "joints": joints,
        "roomy": roomy,
        "named": lines <= JOINT_LINES,
    }


def _ticks(study: Study, lines: list[str], *, roomy: bool) -> list[tuple[str | None, list[str]]]:
    """The boxes of a step, each with what stands before it and its text in pieces, a blank between two.

    Where boxes are not a line each, what is done alike at several appliances in a row is said once, before their boxes.
    """
    names = set() if roomy else {s.appliance.name for s in study.served}

    def alike(line: str) -> str | None:
        name, _, done = line.partition(": ")
        return done if name in names and "___" not in done else None

    found: list[tuple[str | None, list[str]]] = []
    for done, same in groupby(lines, alike):
        group = list(same)
        if done is None or len(group) == 1:
            found.extend((None, line.split("___")) for line in group)
        else:
            shared = [line.removesuffix(f": {done}") for line in group]
            found.extend((f"{done[0].upper()}{done[1:]}:" if i == 0 else None, [name]) for i, name in enumerate(shared))
    return found


def _box_lines(study: Study) -> int:
    """About how many lines the boxes take in two columns; a reading takes two."""
    found = 0
    for step in study.sequence.steps:
        shorts = [line.short for line in step.lines if line.short is not None]
        zones = max(0, len(_rows(study, step)) - 1)  # one reading is reckoned with in the room there is
        found += -(-sum(1 + len(short) // HALF_LINE for short in shorts) // 2) + 2 * zones
    return found


def _rows(study: Study, step: Step) -> list[str]:
    """What is read in a step, a line each: its zones where there are several."""
    if not step.applies or step.id not in READ:
        return []
    zones = [volume.zone for volume in study.leak_test.by_zone]
    kind = READ[step.id]
    if kind != "air":
        asked = [a for a in study.leak_test.asked if a.test.kind == kind]
        zones = list(dict.fromkeys(a.zone for a in asked))
    return (
        [f"behind the {study.build.labels[zone]}" for zone in zones]
        if len(study.leak_test.by_zone) > 1
        else ["reading"]
    )
