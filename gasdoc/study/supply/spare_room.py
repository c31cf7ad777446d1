"""Room for one more appliance: the smallest of what pipe, regulator, hose, container, valve and ventilation leave."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from gasdoc.engineering.supply import tree
from gasdoc.quantities import Watt
from gasdoc.study.facts import Installation, heating_value, rated_capacity
from gasdoc.study.supply.capacity import Answer
from gasdoc.study.supply.lines import SizedZone


class PartRoom(Struct, frozen=True):
    """What one part of the system leaves, in W: None where it is not known. `why` says in words what it rests on."""

    name: str
    room: Watt | None
    why: str


class SpareRoom(Struct, frozen=True):
    """The parts. Something unknown is not room."""

    parts: tuple[PartRoom, ...]


def room(build: Installation, zones: tuple[SizedZone, ...], container: float | None) -> SpareRoom:
    """The room in the zones that deliver to appliances; `container` in W is what the container could still give on the
    coldest day at one fifth full, None where that is not known."""
    heat = heating_value(build)
    rated = [rated_capacity(zone.regulator, heat) for zone in zones]
    regulators = [r - zone.load if r is not None else None for r, zone in zip(rated, zones, strict=True)]
    regulator = None if None in regulators else max(0.0, min(r for r in regulators if r is not None))
    place, pipe = _pipe(zones)
    bare = [zone for zone in zones if zone.delivers and not zone.hose_known]
    return SpareRoom(
        (
            PartRoom(
                "pipe",
                pipe,
                f"at the end of the {build.labels[place]}, by the sizing tables{_rating(zones, place)} and the plates' minimum "
                "pressures"
                if place
                else f"what {_called(build, bare[0])} takes is not known"
                if bare
                else "no run leads to an appliance"
                if not any(zone.delivers and zone.runs for zone in zones)
                else "a run has no size, a capacity is not known, or a regulator cannot hold its pressure",
            ),
            PartRoom(
                "regulator",
                regulator,
                "rated capacity less the whole load"
                if regulator is not None
                else "a regulator's capacity is not stated",
            ),
            *_hoses(build, zones),
            PartRoom(
                "container",
                container,
                "what it can boil off on the coldest day is not known"
                if container is None
                else "without a break, on the coldest day, one fifth full"
                if container
                else "one fifth full it gives no more on the coldest day",
            ),
            PartRoom("valve and connector", None, "those of the new appliance are not chosen"),
            PartRoom("ventilation", None, "depends on the appliance: room-sealed, flued or flueless"),
        )
    )


def _rating(zones: tuple[SizedZone, ...], place: str) -> str:
    """That the rating of the hose before a run counts with it, where there is one."""
    hose = next(zone.regulator.hose for zone in zones if place in zone.run_ids)
    return ", the rating of the hose" if hose is not None and hose.capacity is not None else ""


def _called(build: Installation, zone: SizedZone) -> str:
    return f"the hose of the {build.labels[zone.id]}"


def _hoses(build: Installation, zones: tuple[SizedZone, ...]) -> Iterator[PartRoom]:
    """What each hose behind a regulator leaves."""
    for zone in zones:
        if (hose := zone.regulator.hose) is None:
            continue
        rated = rated_capacity(hose, heating_value(build))
        yield PartRoom(
            _called(build, zone).removeprefix("the "),
            max(0.0, rated - zone.load) if rated is not None else None,
            "rated capacity less the load behind it"
            if rated is not None
            else "its rated capacity is not stated. What its bore takes is in the figure of the pipe"
            if hose.bore is not None
            else "neither its rated capacity nor its bore is stated",
        )


def _pipe(zones: tuple[SizedZone, ...]) -> tuple[str | None, float | None]:
    """The place where most can be added, and how much."""
    best: tuple[str | None, float | None] = (None, None)
    for zone in zones:
        if not zone.delivers:
            continue
        if zone.pressure is None or not zone.pressure.whole or not zone.hose_known:
            return None, None
        spare = []
        for run in zone.runs:
            answer = run.longest.capacity
            if not isinstance(answer, Answer):
                return None, None
            spare.append(max(0.0, answer.value - run.load))
        for i, run in enumerate(zone.runs):
            more = run.pressure.more_load if run.pressure is not None else None
            left = min(spare[s] for s in tree.path(zone.tree, i))
            left = min(left, more if more is not None else 0.0)
            if best[1] is None or left > best[1]:
                best = (run.id, left)
    return best
