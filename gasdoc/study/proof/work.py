"""The order of work of a build: the steps of `regions/work.yaml` filled in with its mount, lines, openings, pieces and joints.

Nothing is decided here that the data file does not say; every number comes from where the study has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Regulator, Valve
from gasdoc.catalog import tubing
from gasdoc.engineering.materials.cutting import CuttingPlan
from gasdoc.engineering.materials.joints import Chain
from gasdoc.regions.sequence import holds
from gasdoc.regions.work import WorkLine, WorkRow, work_rows
from gasdoc.study.air.rooms import Room, fitted
from gasdoc.study.container.clearances import Clearance
from gasdoc.study.container.mounting import Mount, Tie
from gasdoc.study.facts import Installation, setting, system
from gasdoc.study.materials.assembly import Fittings, Joined, sealed
from gasdoc.study.materials.cutting import Lengths, piece_words
from gasdoc.study.materials.joints import CONTAINER_SIDE, NumberedJoint
from gasdoc.study.materials.passages import Passages
from gasdoc.study.materials.take_off import lining_words, size_text, taper_joints
from gasdoc.study.proof.sequence import Said, Step
from gasdoc.study.supply.lines import SizedZone, lines_of

Items = Iterator[Mapping[str, str]]


class WorkJob(Struct, frozen=True):
    """What the order of work is worked out from; `code` is the tightness code."""

    build: Installation
    zones: tuple[SizedZone, ...]
    rooms: tuple[Room, ...]
    mount: Mount | None
    tie: Tie | None
    clearances: tuple[Clearance, ...]
    fittings: Fittings
    lengths: tuple[Lengths, ...]
    passages: Passages
    joints: tuple[NumberedJoint, ...]
    code: str


class WorkOrder(Struct, frozen=True):
    """The work from the mount to the test day, all steps in order."""

    steps: tuple[Step, ...]


def work_order(job: WorkJob) -> WorkOrder:
    """The order of work of a build."""
    true = frozenset(word for word, holding in _conditions(job).items() if holding)
    plain = _facts(job)
    rows = work_rows()
    return WorkOrder(tuple(_step(row, rows[:place], job, true, plain) for place, row in enumerate(rows)))


def _step(
    row: WorkRow, before: tuple[WorkRow, ...], job: WorkJob, true: frozenset[str], plain: Mapping[str, str]
) -> Step:
    lines = tuple(said for line in row.lines for said in _said(line, job, true, plain))
    left = _left_open(job)
    parts = tuple(joint.id for joint in job.joints if (joint.id in left) is (row.id == "leave"))
    return Step(
        row.id,
        row.title,
        lines,
        tuple(other.id for other in before[-1:]),
        parts if row.id in ("join", "leave") else (),
        True,
        row.passes,
        row.stops,
        bool(lines),
        None,
        row.citation,
    )


def _said(line: WorkLine, job: WorkJob, true: frozenset[str], plain: Mapping[str, str]) -> Iterator[Said]:
    if not all(holds(condition, true) for condition in line.when):
        return
    for own in EACH_LINE[line.each](job) if line.each is not None else ({},):
        text = line.text.format_map({**plain, **own}).strip()
        yield Said(f"{text[0].upper()}{text[1:]}", None, line.caution, line.citation)


def _conditions(job: WorkJob) -> dict[str, bool]:
    seals = {j.seal for joined, chain in job.fittings.chains() if not joined.container_side for j in chain.joints}
    ends = {tubing.material(run.material).ends for run in lines_of(job.zones).values()}
    return {
        "bolted": job.mount is not None,
        "boat": setting(job.build) == "boat",
        "buried": any(True for _ in _buried(job)),
        "corrugated": "csst" in ends,
        "flared": "flare" in seals,
        "openings": bool(job.passages.openings),
        "sealant": bool(taper_joints(job.fittings)),
        "screwed": "pipe" in ends,
        "through-unknown": any("through" not in run.part.model_fields_set for run in lines_of(job.zones).values()),
        "tank": job.build.container_kind.stays == "permanent",
        "tied": job.tie is not None,
        "vents": any(True for _ in _spaces(job)),
    }


def _facts(job: WorkJob) -> dict[str, str]:
    number = job.build.spec.container.number
    return {
        "appliances": ", ".join(s.appliance.name for s in job.build.served),
        "code": job.code,
        "containers": {1: "the container", 2: "both containers"}.get(number, f"all {number} containers"),
        "last": str(job.joints[-1].number),
        "taper": str(taper_joints(job.fittings)),
    }


def _made_now(job: WorkJob) -> Iterator[Joined]:
    """The connections that are made before the test day: none of the container's, a regulator's or an appliance's."""
    later = {joint.id for joint in job.joints if joint.needs is not None or joint.zone == CONTAINER_SIDE}
    return (joined for joined in job.fittings.joined if later.isdisjoint(joined.joints))


def _left_open(job: WorkJob) -> set[str]:
    """The ids of the joints that are made on the test day: all that no connection of now belongs to."""
    return {joint.id for joint in job.joints} - {joint for joined in _made_now(job) for joint in joined.joints}


# --- what a line is said once for -------------------------------------------------------------------------------------


def _alarms(job: WorkJob) -> Items:
    for room in job.rooms:
        for one in fitted(room) or ():
            place = one.alarm.place or "place not stated"
            yield {"kind": one.kind.senses, "place": f"{room.name}, {place}" if room.several else place}


def _appliances(job: WorkJob) -> Items:
    for s in job.build.served:
        yield {"name": s.appliance.name, "place": s.outlet.place or "place not stated"}


def _bolts(job: WorkJob) -> Items:
    if job.mount is not None:
        given = job.mount.given
        size = f"{given.thread}, {given.grade}"
        yield {"count": str(job.mount.count), "size": size, "fixed_to": f"{given.fixed_to or ''}"}


def _buried(job: WorkJob) -> Items:
    for run in lines_of(job.zones).values():
        if run.part.buried:
            yield {"line": job.build.labels[run.id]}


def _clearances(job: WorkJob) -> Items:
    for one in job.clearances:
        if one.value is not None:
            kind = "run length" if one.value >= 1 else "short length"  # m
            yield {"asks": one.asks, "value": units.show(one.value, kind, system(job.build))}


def _guards(job: WorkJob) -> Items:
    for run, guard in job.passages.guards:
        yield {"line": job.build.labels[run.id], "guard": guard.name + (", if needed" if guard.if_needed else "")}


def _joints(job: WorkJob) -> Items:
    """The connections that are made before the test day, in the direction of flow; those of the same joints once."""
    by_id = {joint.id: joint for joint in job.joints}
    told: set[tuple[str, ...]] = set()
    for joined in _made_now(job):
        ours = [by_id[joint] for joint in joined.joints if joint in by_id]  # a union that no listed part is has none
        if joined.joints in told:
            continue
        told.add(joined.joints)
        inside = joined.before.element == joined.after.element and len(ours) == 1  # such as the elbows of a run
        place = ours[0].text if inside else f"between {joined.before.words} and {joined.after.words}"
        yield {"numbers": _numbers(ours), "joined": place, **_closed(joined)}


def _closed(joined: Joined) -> dict[str, str]:
    """The parts of a connection, and what makes it tight."""
    if not isinstance(joined.found, Chain):
        return {"parts": "Not worked out: see the findings.", "seal": ""}
    names = ", ".join(part.name for part in joined.found.parts)
    seals = sealed(joined.found)
    return {"parts": f"With {names}. " if names else "", "seal": f"{seals[0].upper()}{seals[1:]}." if seals else ""}


def _joints_later(job: WorkJob) -> Items:
    left = _left_open(job)
    for joint in job.joints:
        if joint.id in left:
            yield {"numbers": _numbers([joint]), "joined": joint.text}


def _numbers(joints: list[NumberedJoint]) -> str:
    numbers = sorted(joint.number for joint in joints)
    return f"joint{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def _openings(job: WorkJob) -> Items:
    shown = job.build.region.units
    for made in job.passages.openings:
        hole = made.opening
        yield {
            "line": job.build.labels[made.run],
            "through": made.place,
            "hole": size_text(hole.hole, shown) if hole is not None else "size not known",
            "lining": lining_words(hole, shown) if hole is not None else "lining not known",
        }


def _regulators(job: WorkJob) -> Items:
    called = job.build.labels
    yield {"name": called[job.build.first]}
    yield from ({"name": called[node.id]} for node, _ in job.build.each(Regulator))


def _runs(job: WorkJob) -> Items:
    for zone in job.zones:
        for run in zone.runs:
            bends = run.part.bends
            yield {
                "line": job.build.labels[run.id],
                "size": run.size.drawn if run.size is not None else "no size found",
                "length": units.show(run.part.length, "run length", system(job.build)),
                "bends": f", {bends} bend{'s' if bends > 1 else ''}" if bends else "",
                "through": f", through {', '.join(run.part.through)}" if run.part.through else "",
            }


def _spaces(job: WorkJob) -> Items:
    for space in job.build.spec.spaces:
        vents = [
            f"{vent.text} {where}"
            for vent, where in ((space.vent_high, "high up"), (space.vent_low, "low down"))
            if vent is not None and float(vent) > 0
        ]
        if vents:
            yield {"name": space.name or "The room", "vents": " and ".join(vents)}


def _stock(job: WorkJob) -> Items:
    called = job.build.labels
    for lengths in job.lengths:
        plan = lengths.plan
        for cut in plan.cuts if isinstance(plan, CuttingPlan) else ():
            pieces = {piece.id: piece.length for piece in lengths.pieces}
            yield {
                "stock": f"{'coil' if lengths.coil else 'length'} of {lengths.label(cut.stock)}, {lengths.name}",
                "pieces": ", ".join(
                    f"{piece_words(name, called)} {units.show(pieces[name], 'run length', system(job.build))}"
                    for name in cut.pieces
                ),
            }


def _supports(job: WorkJob) -> Items:
    for held in job.passages.supports:
        yield {
            "line": job.build.labels[held.run],
            "count": str(held.count),
            "spacing": units.show(held.spacing, "run length", system(job.build)),
        }


def _ties(job: WorkJob) -> Items:
    if job.tie is not None:
        given = job.tie.given
        yield {
            "number": str(given.number) if given.number is not None else "as many as it takes",
            "way": job.tie.name,
            "rated": given.rated.text if given.rated is not None else "load not stated",
            "fixed_to": f"{given.fixed_to.rstrip('.')}." if given.fixed_to is not None else "",
        }


def _valves(job: WorkJob) -> Items:
    for node, valve in job.build.each(Valve):
        yield {"name": job.build.labels[node.id], "place": valve.place or "place not stated"}


EACH_LINE: dict[str, Callable[[WorkJob], Items]] = {
    "alarms": _alarms,
    "appliances": _appliances,
    "bolts": _bolts,
    "buried": _buried,
    "clearances": _clearances,
    "guards": _guards,
    "joints": _joints,
    "joints-later": _joints_later,
    "openings": _openings,
    "regulators": _regulators,
    "runs": _runs,
    "spaces": _spaces,
    "stock": _stock,
    "supports": _supports,
    "ties": _ties,
    "valves": _valves,
}
"""What a line may be said once for (`EACH` of the data): the facts of each of these."""
