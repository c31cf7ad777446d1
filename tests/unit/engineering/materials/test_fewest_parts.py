"""Trees of the listed parts take no more joints and parts than the best of all ways to put them together."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence

import pytest

from gasdoc.catalog.parts import catalogue
from gasdoc.engineering.materials.assembly import Spot, assemble
from gasdoc.engineering.materials.ends import End, bore, measure
from gasdoc.engineering.materials.joints import Chain, Part, Shelf
from gasdoc.engineering.materials.written_ends import parse_end

SHELF = Shelf(catalogue().of_use("fitting"))
SIZES = {"mm": ("8 mm tube", "10 mm tube", "12 mm tube", "15 mm tube"), "npt": ("3/8 MNPT", "1/2 MNPT", "3/4 MNPT")}
SHAPES = (("valve",), ("tee",), ("tee", "valve"), ("valve", "tee"), ("valve", "valve"))
"""What stands in a row between two runs; a tee has a run in its branch, and on its own another valve behind it."""

Ends = tuple[End | None, ...]
Total = tuple[int, int, int, int]


def of_family(family: str, use: str, number: int) -> tuple[Part, ...]:
    """The valves or tees of pipe thread or of metric tube alone, so that all ways can be gone through."""
    listed = (part for part in catalogue().of_use(use) if len(part.ends) == number and part.shape != "manifold")
    return tuple(
        part
        for part in listed
        if part.shape in ("valve", "tee")
        and all(end.kind == "npt" if family == "npt" else end.size.endswith("mm") for end in part.ends)
    )


def made_up(draw: random.Random) -> tuple[Spot, ...]:
    """A regulator, a run, one or two parts that have to be chosen, and runs behind them."""
    family = draw.choice(tuple(SIZES))
    valves, tees = of_family(family, "valve", 2), of_family(family, "branch", 3)

    def end() -> End:
        return parse_end(draw.choice(SIZES[family]), "female")

    spots = [Spot("regulator", "regulator", -1, ends=(None, end()))]

    def add(role: str, up: int, port: int = 0) -> int:
        ends = (size := end(), size) if role == "run" else ()
        options = {"run": (), "valve": valves, "junction": tees}[role]
        spots.append(Spot(f"{role}-{len(spots)}", role, up, port, ends, options, 2 if role == "junction" else 1))
        return len(spots) - 1

    up = add("run", 0)
    for word in draw.choice(SHAPES):
        if word == "valve":
            up = add("valve", up)
        else:
            tee = add("junction", up)
            add("run", tee, 1)
            up = add(draw.choice(("run", "valve")), tee, 0)
    add("run", up)
    return tuple(spots)


def narrower(own: Sequence[End], around: Sequence[End | None]) -> bool:
    """Whether a way is narrower than what stands around it: by size where that is counted alike, as here it is."""
    beside = [end for end in around if end is not None]
    assert len({measure(end) for end in (*own, *beside)}) == 1
    return min(bore(end) or 0.0 for end in own) < min(bore(end) or 0.0 for end in beside)


def total(spots: Sequence[Spot], ends: Sequence[Ends]) -> Total:
    """What cannot be joined, ways that are narrowed, joints, parts."""
    open_, narrow, joints, parts = 0, 0, 0, 0
    for spot, own in zip(spots[1:], ends[1:], strict=True):
        a, b = ends[spot.up][1 + spot.port], own[0]
        assert a is not None and b is not None
        found = SHELF.join(a, b, spot.constraints)
        if isinstance(found, Chain):
            joints, parts = joints + len(found.joints), parts + len(found.parts)
        else:
            open_ += 1
    for k, behind in enumerate(spots):
        between = spots[behind.up] if behind.up >= 0 else None
        if between is not None and between.options:
            inlet, way = ends[behind.up][0], ends[behind.up][1 + behind.port]
            assert inlet is not None and way is not None
            narrow += narrower((inlet, way), (ends[between.up][1 + between.port], ends[k][0]))
    for k, spot in enumerate(spots):
        up = spot.up
        while up >= 0 and spots[up].role == "valve":
            up = spots[up].up
        inlet = ends[k][0]
        if spot.role == "junction" and spots[up].role == "run" and inlet is not None:
            narrow += narrower((inlet,), (spots[up].ends[-1],))  # the trunk brings it all its gas
    return open_, narrow, joints, parts


def all_ways(spots: Sequence[Spot]) -> Iterator[tuple[Ends, ...]]:
    """Every choice of parts, each turned every way."""
    return itertools.product(
        *(
            [spot.ends]
            if spot.ends
            else {turned for part in spot.options for turned in itertools.permutations(part.ends)}
            for spot in spots
        )
    )


@pytest.mark.parametrize("seed", range(12))
def test_no_other_choice_of_listed_parts_has_fewer_joints_and_parts(seed: int) -> None:
    draw = random.Random(seed)
    for spots in (made_up(draw), made_up(draw)):
        made = total(spots, [placed.ends for placed in assemble(spots, SHELF).placed])
        assert made == min(total(spots, ends) for ends in all_ways(spots)), [str(spot.ends[-1:]) for spot in spots]
