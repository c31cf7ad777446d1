"""The way of the line: length, bends and rise of every run that states its legs, worked out once, when a spec is read."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from gasdoc import units
from gasdoc.build.checks import Complaint
from gasdoc.build.model import Connector, Hose, Leg, Outlet, Regulator, Run, Spec
from gasdoc.build.model.route import Vector, length_of, unit_of, written
from gasdoc.build.supply import Node, changed, flatten, run_before
from gasdoc.source import Path
from gasdoc.units import Given

SHARE, LEAST = 0.01, 0.010
"""What is stated and what the legs give may differ by 1 %, or by 10 mm where that is more (our choice)."""

MOST_LEGS = 300
"""In a whole spec, so that no drawing takes long (our choice)."""

STRAIGHT, SLIGHT, BACK = 1.0, 60.0, 179.0
"""Degrees: less is no bend, less than 60 is a slight one (of 45 degrees), and from 179 on the line folds back on itself."""

IN_A_LOOP = 4
"""Bends of 90 degrees in a full turn."""


def routed(spec: Spec, nodes: Sequence[Node]) -> tuple[Spec, tuple[Node, ...], list[Complaint]]:
    """The spec with what its legs give, its elements, and where the two contradict each other.

    What is stated stays as it is stated. A bend where two runs meet belongs to the second of them, and none to a junction.
    """
    stated = list(_stated(spec, nodes))
    if not stated:
        return spec, tuple(nodes), []
    complaints = list(_compass(stated))
    if sum(len(legs) for _, legs in stated) > MOST_LEGS:
        complaints.append(
            Complaint(("supply",), f"the tree has more than {MOST_LEGS} legs", "split the build", "spec-too-large")
        )
    changes: dict[Path, dict[str, Any]] = {}
    for index, node in enumerate(nodes):
        if isinstance(node.part, Run) and node.part.legs:
            before = arriving(nodes, index)
            complaints += _folds(node, before)
            complaints += _contradictions(node, node.part, before)
            changes[node.at] = _derived(node.part, before)
        elif isinstance(node.part, Outlet) and node.part.connector is not None and node.part.connector.legs:
            complaints += _stiff(node, node.part.connector)
    spec = spec.model_copy(update={"supply": changed(spec.supply, ("supply",), changes)})
    return spec, flatten(spec), complaints


def angle(one: Vector, other: Vector) -> float:
    """The angle between two ways, degrees.

    >>> round(angle((1.0, 0.0, 0.0), (0.0, 0.0, 2.0)))
    90
    """
    dot = sum(a * b for a, b in zip(one, other, strict=True))
    share = dot / (math.hypot(*one) * math.hypot(*other))
    return math.degrees(math.acos(max(-1.0, min(1.0, share))))


def arriving(nodes: Sequence[Node], index: int) -> Vector | None:
    """The last leg of the run that ends where this one begins; None behind a junction, a regulator at the container, or a
    run without legs."""
    run = run_before(nodes, index)
    legs = _legs(run) if run is not None else ()
    return legs[-1].leg.vector if legs else None


class Bends(NamedTuple):
    """The bends of a run in flow order, each by its angle in degrees, and the ways between them in m. The first way is None
    where the first bend is the one at which the run before meets it."""

    angles: tuple[float, ...]
    ways: tuple[float | None, ...]


def bends(nodes: Sequence[Node], index: int) -> Bends | None:
    """The bends of a run and what lies between; None where its legs do not say: it has none, or a loop."""
    legs = _legs(nodes[index])
    if not legs or any(leg.loop is not None for leg in legs):
        return None
    before = arriving(nodes, index)
    meeting = _angles([before, legs[0].leg.vector]) if before is not None else []
    angles, ways = list[float](), [legs[0].length]
    for one, other in pairwise(legs):
        turn = angle(one.leg.vector, other.leg.vector)
        if turn > STRAIGHT:
            angles.append(turn)
            ways.append(other.length)
        else:
            ways[-1] += other.length
    return Bends((*meeting, *angles), (*[None] * len(meeting), *ways))


def _legs(node: Node) -> Sequence[Leg]:
    return node.part.legs if isinstance(node.part, Run) else ()


def _stated(spec: Spec, nodes: Sequence[Node]) -> Iterator[tuple[Path, Sequence[Leg]]]:
    """All legs with their places in the spec, in flow order: of runs, of connectors, of the hoses behind regulators."""
    parts: list[tuple[Path, Run | Connector | Hose | None]] = [(("regulator", "hose"), spec.regulator.hose)]
    for node in nodes:
        if isinstance(node.part, Run):
            parts.append((node.at, node.part))
        elif isinstance(node.part, Outlet):
            parts.append(((*node.at, "connector"), node.part.connector))
        elif isinstance(node.part, Regulator):
            parts.append(((*node.at, "hose"), node.part.hose))
    yield from (((*at, "legs"), part.legs) for at, part in parts if part is not None and part.legs)


def legs_of(spec: Spec, nodes: Sequence[Node]) -> Iterator[Leg]:
    """Every leg that the spec states, in flow order."""
    for _, legs in _stated(spec, nodes):
        yield from legs


def _angles(vectors: Sequence[Vector]) -> list[float]:
    return [found for a, b in pairwise(vectors) if (found := angle(a, b)) > STRAIGHT]


def _bends(run: Run, before: Vector | None) -> tuple[int, int]:
    """The fewest and the most bends that a count of these legs can come to: the most has each slight bend, the bend where
    it meets the run before, and the turns of loops."""
    vectors = [leg.leg.vector for leg in run.legs]
    inside = _angles(vectors)
    slight = [found for found in inside if found < SLIGHT]
    fewest = len(inside) - len(slight) + math.ceil(sum(slight) / 90 - 1e-6)
    loops = IN_A_LOOP * sum(leg.loop is not None for leg in run.legs)
    meeting = len(_angles([before, vectors[0]])) if before is not None else 0
    return fewest, len(inside) + loops + meeting


def _rise(legs: Sequence[Leg]) -> float:
    return sum(leg.leg.vector[2] for leg in legs)


def _through(run: Run) -> list[str]:
    return [leg.through for leg in run.legs if leg.through is not None]


def _derived(run: Run, before: Vector | None) -> dict[str, Any]:
    """What the legs give of what the run does not state. A level run has no rise, as one that states none."""
    stated, rise, unit = run.model_fields_set, _rise(run.legs), unit_of(run.legs)
    found: dict[str, Any] = {}
    if "bends" not in stated:
        found["bends"] = _bends(run, before)[1]
    if "rise" not in stated:
        found["rise"] = None if abs(rise) < 1e-6 else written(rise, unit)
    if "through" not in stated:
        found["through"] = _through(run)
    return found


def _contradictions(node: Node, run: Run, before: Vector | None) -> Iterator[Complaint]:
    """What the run states besides its legs, and otherwise than they do."""
    yield from _apart((*node.at, "length"), "length", run.length, length_of(run.legs), unit_of(run.legs))
    if "rise" in run.model_fields_set:
        stated = run.rise if run.rise is not None else written(0.0, unit_of(run.legs))
        yield from _apart((*node.at, "rise"), "rise", stated, _rise(run.legs), unit_of(run.legs))
    fewest, most = _bends(run, before)
    if "bends" in run.model_fields_set and not fewest <= run.bends <= most:
        counted = f"{most}" if fewest == most else f"{fewest} to {most}"
        yield Complaint(
            (*node.at, "bends"),
            f"the legs of this run make {counted} bend{'' if counted == '1' else 's'}, and 'bends' says {run.bends}",
            "correct one of the two, or leave 'bends' out. A bend where two runs meet counts to the second of them, and the "
            "turn at a junction to none",
            "spec-legs",
        )
    passed = _through(run)
    if passed and "through" in run.model_fields_set and passed != run.through:
        yield Complaint(
            (*node.at, "through"),
            f"the legs of this run pass through {', '.join(passed)}, and 'through' says "
            f"{', '.join(run.through) or 'nothing'}",
            "correct one of the two, or leave 'through' out",
            "spec-legs",
        )


def _apart(at: Path, key: str, stated: Given, legs: float, unit: str) -> Iterator[Complaint]:
    apart = abs(stated - legs)
    if apart <= max(SHARE * abs(stated), LEAST) + 1e-9:
        return
    system: units.System = "us" if unit in ("ft", "in", "yd") else "si"
    yield Complaint(
        at,
        f"the legs of this run give a {key} of {written(legs, unit).text}, and '{key}' says {stated.text}: "
        f"{units.show(apart, 'distance', system)} apart",
        f"measure again and correct one of the two, or leave '{key}' out. A loop or a sweep says its own length, as in "
        "'{leg: 1 ft aft, loop: 30 in}'",
        "spec-legs",
    )


def _folds(node: Node, before: Vector | None) -> Iterator[Complaint]:
    """A leg that leads straight back along the one before it."""
    legs = node.part.legs  # type: ignore[union-attr]  # the node of a run
    for i, leg in enumerate(legs):
        last = legs[i - 1].leg.vector if i else before
        if last is not None and angle(last, leg.leg.vector) > BACK:
            what = f"'{legs[i - 1].leg}'" if i else "the end of the run before"
            small = "2 in down" if {"ft", "in"} & {*str(leg.leg).split()} else "50 mm down"
            yield Complaint(
                (*node.at, "legs", i),
                f"'{leg.leg}' leads straight back along {what}",
                f"a line turns with a leg between the two, as in '{small}'. Check the direction",
                "spec-leg-back",
            )


def _compass(stated: Sequence[tuple[Path, Sequence[Leg]]]) -> Iterator[Complaint]:
    """The first leg that goes by the compass where others go fore and aft, or the other way round."""
    first: bool | None = None
    for at, legs in stated:
        for i, leg in enumerate(legs):
            if first is None:
                first = leg.leg.compass
            elif leg.leg.compass not in (None, first):
                yield Complaint(
                    (*at, i),
                    f"'{leg.leg}' does not go by the directions of the legs before it",
                    "keep to fore, aft, left and right, or to north, east, south and west, in the whole spec",
                    "spec-leg",
                )
                return


def _stiff(node: Node, connector: Connector) -> Iterator[Complaint]:
    """A rigid connector whose length is not that of its legs."""
    if connector.kind == "rigid" and connector.length is not None:
        at = (*node.at, "connector", "length")
        for complaint in _apart(at, "length", connector.length, length_of(connector.legs), unit_of(connector.legs)):
            yield complaint._replace(message=complaint.message.replace("this run", "this rigid connector"))
