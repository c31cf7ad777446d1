"""Screwed pipe by the piece: the cut length of every pipe between two fittings, by the rule and the figures that it names.

A length between two centres comes from the legs of a run, or from the run itself where it has no bend. What the builder
has measured comes before any table; what neither has is told, and then no length is given.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated

from msgspec import Struct

from gasdoc.build.route import Bends
from gasdoc.catalog import screwed as catalog
from gasdoc.catalog.screwed import CutThread
from gasdoc.engineering.materials.assembly import Assembly
from gasdoc.engineering.materials.ends import End
from gasdoc.engineering.materials.joints import Chain, Part
from gasdoc.engineering.materials.screwed import WRENCH, cut_length, in_sight, nipple
from gasdoc.quantities import Aside, Known, Metre
from gasdoc.source import Citation
from gasdoc.study.facts import Installation
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.spots import screwed
from gasdoc.study.supply.lines import Line, SizedZone, lines_of

NO_LEGS = "the way between its elbows is not stated: write the legs of the run"
LOOP = "how a loop is bent is not stated: write its legs one by one, as in '6 in up'"
COUNTED = "the legs make another number of bends than 'bends' says: leave 'bends' out"
AT_A_BEND = "only a nipple stands between the fitting and this elbow: take one that leaves room for a pipe wrench"
"""Why the way between two centres is not known."""

NIPPLE_WITHIN: Annotated[
    Metre, Known("how far a nipple as it is sold may differ from the length asked", "Our choice", "practice")
] = 0.003
"""It is less than one turn at each of its two ends, 3.6 mm with 14 threads to the inch: the standard's gauge lets a thread be a
turn off."""


class PipeEnd(Struct, frozen=True):
    """What stands at one end of a pipe: in words, with what it takes from centre to face; None where that is not known."""

    words: str
    to_face: Metre | None
    source: Citation | None


class CutPipe(Struct, frozen=True):
    """One pipe of a run, in flow order. `centres` in m is the way between the centres of what stands at its ends, None where
    the spec does not say. `cut` is its length by the first rule of its thread, `shortest` and `longest` by the others; None
    where `why` says what is missing. `nipple` is the length of one that can be bought instead. `wrench`: whether a wrench
    finds room between the fittings."""

    run: str
    number: int
    of: int
    before: PipeEnd
    after: PipeEnd
    centres: Metre | None
    cut: Metre | None
    shortest: Metre | None
    longest: Metre | None
    nipple: Metre | None
    wrench: bool | None
    why: str | None
    thread: Annotated[CutThread | None, Aside("a row of the catalogue. The page prints it")]


def pipes(build: Installation, sized: Sequence[SizedZone], made: Fittings) -> tuple[CutPipe, ...]:
    """Every pipe of screwed steel behind the first regulator."""
    runs = {run.id: run for run in lines_of(sized).values() if screwed(run) and run.size is not None}
    tree = made.assemblies[-1]
    into = {joined.down: joined.found for joined in made.joined if not joined.container_side}
    behind = {spot.up: i for i, spot in enumerate(tree.spots)}
    places: dict[str, list[int]] = {}
    for i, spot in enumerate(tree.spots):
        identity = spot.id.partition(":")[0]
        if spot.role == "run" and identity in runs:
            places.setdefault(identity, []).append(i)
    found = (
        pipe for identity, spots in places.items() for pipe in _pipes(build, runs[identity], spots, tree, into, behind)
    )
    return tuple(found)


def _pipes(
    build: Installation,
    run: Line,
    spots: list[int],
    tree: Assembly,
    into: Mapping[int, object],
    behind: Mapping[int, int],
) -> Iterator[CutPipe]:
    end = tree.spots[spots[0]].ends[0]
    thread = catalog.thread(end.kind, end.size) if end is not None else None
    bends = build.bends(run.id)
    centres = _centres(run, bends, len(spots))
    for number, place in enumerate(spots, 1):
        before = _end(build, tree, tree.spots[place].up, into.get(place), end)
        after_at = behind.get(place)
        after = _end(build, tree, after_at, into.get(after_at) if after_at is not None else None, end)
        known = centres[number - 1]
        why = _unknown(run, bends) if known is None else None
        yield _pipe(build, run, number, len(spots), before, after, known, why, thread, end)


def _centres(run: Line, bends: Bends | None, pieces: int) -> Sequence[float | None]:
    """The ways between centres, piece by piece: those between its bends; else the run where it is straight."""
    if bends is not None and len(bends.ways) == pieces:
        return bends.ways
    return [float(run.part.length)] if pieces == 1 else [None] * pieces


def _unknown(run: Line, bends: Bends | None) -> str:
    """Why a way between two centres of a run is not known."""
    if bends is not None:
        return AT_A_BEND
    if not run.part.legs:
        return NO_LEGS
    return LOOP if any(leg.loop is not None for leg in run.part.legs) else COUNTED


def _end(build: Installation, tree: Assembly, place: int | None, found: object, end: End | None) -> PipeEnd:
    if place is None or end is None:
        return PipeEnd("an open end", None, None)
    spot, part = tree.spots[place], tree.placed[place].part
    if not isinstance(found, Chain) or found.parts:
        between = (
            ", ".join(p.name for p in found.parts) if isinstance(found, Chain) else "parts that are not worked out"
        )
        return PipeEnd(f"{spot.role}, through {between}", None, None)
    if part is None:
        return PipeEnd(spot.role, None, None)
    return _fitting(build, part, end)


def _fitting(build: Installation, part: Part, end: End) -> PipeEnd:
    """What a fitting takes at an end: as the builder measured it, else as the tables have it."""
    measured = build.spec.measured.get(part.id)
    if measured is not None and measured.to_face is not None:
        return PipeEnd(part.name, float(measured.to_face), Citation("Measured by the builder", "practice"))
    sizes = [other.size for other in part.ends]
    if len(set(sizes)) == 1:
        row = catalog.fitting(part.shape, end.kind, end.size)
        return PipeEnd(part.name, float(row.to_face) if row else None, row.source if row else None)
    if part.shape == "tee" and sizes[0] == sizes[1] and (tee := catalog.reducing_tee(end.kind, sizes[0], sizes[2])):
        return PipeEnd(part.name, float(tee.along if end.size == sizes[0] else tee.across), tee.source)
    return PipeEnd(part.name, None, None)


def _pipe(
    build: Installation,
    run: Line,
    number: int,
    of: int,
    before: PipeEnd,
    after: PipeEnd,
    centres: float | None,
    why: str | None,
    thread: CutThread | None,
    end: End | None,
) -> CutPipe:
    why = "no make-up is listed for this thread" if thread is None else why or _missing(before, after)
    if why is not None or thread is None or centres is None or before.to_face is None or after.to_face is None:
        return CutPipe(run.id, number, of, before, after, centres, None, None, None, None, None, why, thread)
    own = build.spec.measured.get(f"{end.kind}:{end.size}") if end is not None else None
    rules = [float(rule.length) for rule in thread.make_up]
    if own is not None and own.make_up is not None:
        rules = [float(own.make_up)]
    lengths = [cut_length(centres, (before.to_face, after.to_face), (one, one)) for one in rules]
    sold = catalog.nipples(thread.kind, thread.size)
    bought = nipple(lengths[0], sold.lengths, NIPPLE_WITHIN) if sold is not None else None
    return CutPipe(
        run.id,
        number,
        of,
        before,
        after,
        centres,
        lengths[0],
        min(lengths),
        max(lengths),
        bought,
        in_sight(lengths[0], (rules[0], rules[0])) >= WRENCH,
        None if lengths[0] > 2 * max(rules) else "the fittings meet: the way is too short for a pipe between them",
        thread,
    )


def _missing(before: PipeEnd, after: PipeEnd) -> str | None:
    lacking = list(dict.fromkeys(end.words for end in (before, after) if end.to_face is None))
    return f"measure from centre to face: {', '.join(lacking)}" if lacking else None
