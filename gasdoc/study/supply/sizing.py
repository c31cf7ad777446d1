"""Sizing of every run: the longest-length and branch-length methods, given sizes checked and left-out ones computed.

`settle` makes the zones of a build from this, with the pressures in view; `size_findings` words the results.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Junction, Run
from gasdoc.catalog import tubing
from gasdoc.catalog.tables import tables_for
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.supply import fittings, lpg, sizing, tree
from gasdoc.quantities import Known
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, fuel
from gasdoc.study.supply.capacity import (
    MAKER_EXPONENT,
    PAST,
    Answer,
    Conditions,
    Unserved,
    by_maker,
    capacity_of,
    look_up,
)
from gasdoc.study.supply.lines import Line, Method, SizedZone, Zone

BENDS_COUNTED_FROM: Annotated[
    int, Known("fittings of a section from which their equivalent length is counted", "IFGC appendix A.3", "once")
] = 4


NO_SIZES: Mapping[str, Size] = MappingProxyType({})


class _Sizer(Struct, frozen=True):
    """One method over one zone: per segment the sizing length in m, and the path that the length is measured along."""

    name: str
    build: Installation
    zone: Zone
    conditions: Conditions
    lengths: tuple[float, ...]
    paths: tuple[tuple[int, ...], ...]

    def answer(self, segment: int, size: Size) -> tuple[Answer | Unserved, float]:
        """What a size carries in a segment, and the length in m added there for fittings."""
        node = self.build.by_id[self.zone.run_ids[segment]]
        assert isinstance(node.part, Run)
        own = node.part.maker_capacity
        if own is not None and size == self.build.given_sizes.get(node.id):
            return by_maker(own), 0.0
        extra = sum(_extra(self.build, self.zone, i, size, self.conditions) for i in self.paths[segment])
        return look_up(size, self.lengths[segment] + extra, self.conditions), extra

    def capacity(self, segment: int, size: Size, _length: float) -> float | None:
        """What a size carries in a segment, in W; None where nothing can be said."""
        return capacity_of(self.answer(segment, size)[0])

    def choose(self, loads: Sequence[float]) -> tuple[Size | None, ...]:
        """The smallest size on offer that carries each segment's load (W); None where none does."""
        offered = [self.build.offered_sizes[run] for run in self.zone.run_ids]
        return sizing.choose(loads, self.lengths, offered, self.capacity)

    def judge(self, segment: int, load: float, needed: Size | None, size: Size | None) -> Method:
        """The method's answer for a run of `size`; for one without, about the size needed or the largest on offer."""
        judged = size or needed or self.build.offered_sizes[self.zone.run_ids[segment]][-1]
        found, extra = self.answer(segment, judged)
        enough = size is not None and sizing.carries(capacity_of(found), load)
        return Method(self.name, self.lengths[segment], extra, needed, found, enough)


def size_zone(build: Installation, zone: Zone, enlarged: Mapping[str, Size] = NO_SIZES) -> SizedZone:
    """The sizes of one zone's runs; `enlarged` are those, by run, to take instead of what the method asks."""
    conditions, allowance = _conditions(build, zone)
    farthest = (_farthest_path(zone.tree, None),) * len(zone.run_ids)
    own = tuple(_farthest_path(zone.tree, segment) for segment in range(len(zone.run_ids)))
    longest = _Sizer("longest", build, zone, conditions, sizing.longest_length(zone.tree), farthest)
    branch = _Sizer("branch", build, zone, conditions, sizing.branch_length(zone.tree), own)
    loads = tree.carried(zone.tree)
    needs = zip(loads, longest.choose(loads), branch.choose(loads), strict=True)
    runs = tuple(_size_run(longest, branch, i, *needed, enlarged) for i, needed in enumerate(needs))
    return SizedZone(
        id=zone.id,
        at=zone.at,
        regulator=zone.regulator,
        tree=zone.tree,
        run_ids=zone.run_ids,
        outlets=zone.outlets,
        regulators=zone.regulators,
        load=zone.load,
        conditions=conditions,
        allowance=allowance,
        longest=max(longest.lengths, default=0.0),
        runs=runs,
    )


def _conditions(build: Installation, zone: Zone) -> tuple[Conditions, Citation]:
    """The inlet pressure and the drop a zone is sized for.

    A zone at the region's own table conditions takes those. Where a zone feeds regulators only, the drop is 1 psi from
    2 psi up, as the code's tables for 2 and 10 psi have it, and a tenth of a lower pressure.
    """
    usual = build.region.supply.sizing
    delivered = float(zone.regulator.outlet)
    own = build.spec.drop_allowance
    if own is not None:
        drop = own * delivered if own.dimension == "share" else float(own)
        source = Citation(f"allowance of the spec, {own.text}", "computed")
    elif not zone.delivers:
        one_psi = float(units.parse("1 psi", "pressure"))
        drop = one_psi if delivered >= 1.99 * one_psi else delivered / 10
        source = Citation(
            "the drop of the code's tables for 2 and 10 psi, 1 psi. A tenth of a lower pressure", "practice"
        )
    else:
        drop, source = usual.drop_allowance(delivered), usual.citation
    inlet = delivered
    if usual.method == "tables" and usual.inlet is not None and zone.delivers and delivered >= usual.inlet:
        near = abs(delivered - usual.inlet) <= 0.15 * usual.inlet
        inlet = float(usual.inlet) if near else delivered
    return Conditions(
        inlet_gauge=inlet,
        drop=min(drop, 0.5 * delivered),
        by_tables=usual.method == "tables",
        absolute_air=lpg.atmosphere_absolute(float(build.spec.altitude or 0.0)),
        fuel=fuel(build),
    ), source


def _farthest_path(zone_tree: tree.Tree, through: int | None) -> tuple[int, ...]:
    """The segments of the longest path, or of the longest path through one segment."""
    far = tree.distance(zone_tree)
    best: tuple[int, ...] = ()
    for end in range(len(zone_tree)):
        way = tree.path(zone_tree, end)
        if (through is None or through in way) and (not best or far[end] > far[best[-1]]):
            best = way
    return best


def _size_run(
    longest: _Sizer,
    branch: _Sizer,
    segment: int,
    load: float,
    by_longest: Size | None,
    by_branch: Size | None,
    enlarged: Mapping[str, Size],
) -> Line:
    build, zone = longest.build, longest.zone
    node = build.by_id[zone.run_ids[segment]]
    assert isinstance(node.part, Run)
    material, kind = build.material(node)
    given = build.given_sizes.get(node.id)
    size = given or enlarged.get(node.id) or by_longest
    if size is None and all(
        isinstance(longest.answer(segment, each)[0], Unserved) for each in build.offered_sizes[node.id]
    ):
        size = by_branch  # the table does not reach to the longest path, and the code has this method too
    return Line(
        id=node.id,
        at=node.at,
        zone=zone.id,
        upstream=_upstream(build, zone, segment),
        downstream=_downstream(build, node.id),
        part=node.part,
        material=material,
        kind=kind,
        size=size,
        given=given is not None,
        load=load,
        longest=longest.judge(segment, load, by_longest, size),
        branch=branch.judge(segment, load, by_branch, size),
        enlarged=given is None and node.id in enlarged,
    )


def _extra(build: Installation, zone: Zone, segment: int, candidate: Size, conditions: Conditions) -> float:
    """The length that stands for the fittings of one segment, in m.

    A table allows for ordinary fittings: corrugated tubing adds for bends beyond four, other tubing for the bends of a
    section that has four or more. An equation or calculation counts every bend and every tee. A bend counts as an elbow,
    which costs more than one drawn round a radius: the careful side. Fittings are taken in the segment's own bore if that
    is given, else in the bore of the size being tried.
    """
    node_id = zone.run_ids[segment]
    run = build.by_id[node_id].part
    assert isinstance(run, Run)
    size = build.given_sizes.get(node_id) or candidate
    if tubing.material(build.material(build.by_id[node_id])[0]).corrugated:
        return fittings.corrugated_extra_length(run.bends)
    if size.bore is None:
        return 0.0
    if conditions.by_tables and tables_for(size.material, conditions.inlet_gauge, conditions.drop):
        counted = run.bends if run.bends >= BENDS_COUNTED_FROM else 0
        return fittings.equivalent_length({"elbow-90": counted}, size.bore)
    counts = {"elbow-90": run.bends, "tee-branch": int(behind_a_junction(build, node_id))}
    return fittings.equivalent_length(counts, size.bore)


def behind_a_junction(build: Installation, run_id: str) -> bool:
    """Whether a run begins at a junction."""
    before = next(build.before(run_id), None)
    return before is not None and isinstance(before.part, Junction)


def _upstream(build: Installation, zone: Zone, segment: int) -> str:
    before = next(build.before(zone.run_ids[segment]), None)
    return before.id if before is not None else zone.id


def _downstream(build: Installation, run_id: str) -> str:
    nodes = build.nodes
    index = nodes.index(build.by_id[run_id])
    return next((node.id for node in nodes if node.parent == index), run_id)


def reach(run: Line, conditions: Conditions) -> float | None:
    """The longest sizing length in m at which a run's size still carries its load; None where it does not even now. It ends
    with the rows of a table that are known, unless the run is past them already.

    Bisection over the look-up, a fixed number of steps, up to twenty times the present length.
    """
    now = run.longest.length + run.longest.extra
    if run.size is None or not run.longest.enough:
        return None
    low, high = now, 20.0 * now
    beyond = isinstance(run.longest.capacity, Answer) and run.longest.capacity.basis in PAST
    for _ in range(24):
        middle = 0.5 * (low + high)
        if run.part.maker_capacity is not None:
            carried = run.part.maker_capacity * (now / middle) ** MAKER_EXPONENT
        else:
            found = look_up(run.size, middle, conditions)
            carried = found.value if isinstance(found, Answer) and (beyond or found.basis not in PAST) else 0.0
        if sizing.carries(carried, run.load):
            low = middle
        else:
            high = middle
    return low
