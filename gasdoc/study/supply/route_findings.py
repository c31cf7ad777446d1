"""What the way of the line says against itself: two things in one place, a line in another, an end that is elsewhere, a dip."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from gasdoc import units
from gasdoc.build.model import Hose, Outlet
from gasdoc.engineering.supply.geometry import low_points, nearest, shared
from gasdoc.source import Path
from gasdoc.study.facts import Installation, regulators, system, trap_rule
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.route import Point, Route, Stretch, point

ONE_PLACE = 0.05
"""m: the inlets of two appliances are not nearer than that (our choice)."""

IN_ONE_ANOTHER, CROSSING = 0.025, 0.005
"""m: so much of two legs in one line, or two legs so near, is told (our choice)."""

ELSEWHERE = 0.15
"""m: the end of the line and the stated place of an appliance may be so far apart (our choice)."""

SHORTER = 0.015
"""m: a connector or hose may be given so much shorter than straight across its gap (our choice)."""


def route_findings(build: Installation, line: Route) -> Iterator[Finding]:
    """The findings about the way of the line; only about what is stated all the way from the container."""
    for finds in (_not_followed, _one_place, _in_one_another, _elsewhere, _gaps, _dips):
        yield from finds(build, line)


def _not_followed(build: Installation, line: Route) -> Iterator[Finding]:
    """Hoses without legs before a line that has some: nothing is compared behind them."""
    for name, at, regulator in regulators(build):
        if regulator.hose is None or regulator.hose.legs or not _legs_behind(build, line, name):
            continue
        example = "1 ft aft and 8 in down" if system(build) == "us" else "300 mm aft and 200 mm down"
        yield note(
            "hose-way-unknown",
            name,
            (*at, "hose"),
            f"The hose of the {build.labels[name]} has no legs. Where the line behind it lies is not known.",
            "Low points, pipes in one another and appliances in one place are not looked for behind it.",
            "Measure straight across from the regulator's outlet to the first joint of the line. Add that as 'legs:' under "
            f"'hose:', as in '[{example}]'.",
            of=(f"the hose of the {build.labels[name]}",),
        )


def _legs_behind(build: Installation, line: Route, regulator: str) -> bool:
    """Whether any leg is stated behind a regulator."""
    first = regulator == build.first
    return any(
        stretch.text and (first or any(node.id == regulator for node in build.before(stretch.part)))
        for stretch in line.stretches
    )


def _places(build: Installation, line: Route) -> dict[str, Point]:
    """Where each appliance's inlet is: its stated place, else the end of the line where all of it is measured."""
    found = {spot.id: spot.at for spot in line.spots if spot.kind == "appliance" and spot.known}
    return found | {served.id: stated for served in build.served if (stated := _stated(served.outlet)) is not None}


def _stated(outlet: Outlet) -> Point | None:
    at = outlet.appliance.at
    return None if at is None else point(at)


def _one_place(build: Installation, line: Route) -> Iterator[Finding]:
    places = _places(build, line)
    placed = [served for served in build.served if served.id in places]
    for i, other in enumerate(placed):
        near = (one for one in placed[:i] if math.dist(places[one.id], places[other.id]) < ONE_PLACE)
        if (one := next(near, None)) is not None:
            yield error(
                "appliances-in-one-place",
                other.id,
                other.at,
                f"{one.name} and {other.name} have their inlets in one place, by their legs or places.",
                "Two appliances cannot stand there, so a leg or a place is wrong.",
                "Measure both ways again, from the tee where they part.",
            )


def _at(build: Installation, stretch: Stretch) -> Path:
    if (hosed := _hosed(build, stretch.part)) is not None:
        return (*hosed[0], "hose", "legs")
    node = build.by_id[stretch.part]
    return (*node.at, "connector", "legs") if stretch.connector else (*node.at, "legs")


def _hosed(build: Installation, part: str) -> tuple[Path, Hose] | None:
    """The place of a regulator and the hose behind it, where a part is one that has a hose."""
    found = ((at, regulator.hose) for name, at, regulator in regulators(build) if name == part)
    return next(((at, hose) for at, hose in found if hose is not None), None)


def _in_one_another(build: Installation, line: Route) -> Iterator[Finding]:
    shown, told = system(build), set[str]()
    known = [stretch for stretch in line.stretches if stretch.known]
    for one, other in combinations(known, 2):
        if other.part in told or _far(one, other):
            continue
        common = shared(one.tail, one.head, other.tail, other.head)
        ends = {one.tail, one.head} & {other.tail, other.head}
        near = nearest(one.tail, one.head, other.tail, other.head)
        if common <= IN_ONE_ANOTHER and (ends or near > CROSSING):
            continue
        told.add(other.part)  # one finding for a part, however many others it meets
        names = tuple(dict.fromkeys((_called(build, one), _called(build, other))))
        length = units.show(common, "distance", shown)
        small = "2 in down" if shown == "us" else "50 mm down"
        if len(names) == 1:
            what = f"lies in itself for {length}" if common > IN_ONE_ANOTHER else "crosses itself"
        else:
            what = f"lie in one another for {length}" if common > IN_ONE_ANOTHER else "pass through one point"
        yield warning(
            "line-meets-itself",
            other.part,
            _at(build, other),
            f"By {'their' if len(names) > 1 else 'its'} legs, {' and '.join(names)} {what}.",
            "Two pipes cannot lie there, so a leg is missing or goes the wrong way.",
            f"Walk along both with the tape, and add the leg by which one passes the other, as in '{small}'.",
        )


def _called(build: Installation, stretch: Stretch) -> str:
    name = build.labels[stretch.part]
    if _hosed(build, stretch.part) is not None:
        return f"the hose of the {name}"
    return f"the connector of {name}" if stretch.connector else f"the {name}"


def _far(one: Stretch, other: Stretch) -> bool:
    """Whether the boxes round two stretches do not touch."""
    return any(
        max(one.tail[i], one.head[i]) < min(other.tail[i], other.head[i]) - CROSSING
        or max(other.tail[i], other.head[i]) < min(one.tail[i], one.head[i]) - CROSSING
        for i in range(3)
    )


def _elsewhere(build: Installation, line: Route) -> Iterator[Finding]:
    """A place stated for an appliance, and a line that is measured all the way and ends somewhere else."""
    if build.spec.container.at is None:
        return
    ends = {spot.id: spot for spot in line.spots if spot.kind == "appliance"}
    for served in build.served:
        stated, end = _stated(served.outlet), ends[served.id]
        if stated is not None and end.known and (apart := math.dist(stated, end.at)) > ELSEWHERE:
            yield warning(
                "line-ends-elsewhere",
                served.id,
                (*served.at, "appliance", "at"),
                f"The legs to {served.name} end {units.show(apart, 'distance', system(build))} from the place stated for it.",
                "One of the two is wrong, and with the legs the lengths are.",
                "Measure the appliance's place again from the corner, then the legs from the last tee on.",
            )


def _gaps(build: Installation, line: Route) -> Iterator[Finding]:
    """A connector that is shorter than straight across what it has to span: its legs, or from the end of a measured run to
    the appliance's place."""
    spans = {stretch.part: stretch for stretch in reversed(line.stretches) if stretch.connector}
    ends = {spot.id: spot.at for spot in line.spots if spot.kind == "appliance"}
    reached = {stretch.part for stretch in line.stretches if stretch.known}
    yield from _hose_gaps(build, line)
    for served in build.served:
        connector, stated, begin = served.outlet.connector, _stated(served.outlet), spans[served.id].tail
        if connector is None or connector.length is None:
            continue
        if connector.legs:
            gap = math.dist(begin, ends[served.id])
        elif stated is not None and build.spec.container.at is not None and set(_path(build, served.id)) <= reached:
            gap = math.dist(begin, stated)
        else:
            continue
        if connector.length < gap - SHORTER:
            yield error(
                "connector-gap",
                served.id,
                (*served.at, "connector"),
                f"The connector of {served.name} is {connector.length.text} long, and straight across it is "
                f"{units.show(gap, 'distance', system(build))}.",
                "It does not reach, whatever way it takes.",
                "Take a longer one, or end the run nearer to the appliance.",
            )


def _hose_gaps(build: Installation, line: Route) -> Iterator[Finding]:
    """A hose that is shorter than straight across its legs."""
    for name, at, regulator in regulators(build):
        pieces = [stretch for stretch in line.stretches if stretch.part == name and stretch.text]
        if regulator.hose is None or not pieces:
            continue
        gap = math.dist(pieces[0].tail, pieces[-1].head)
        if regulator.hose.length < gap - SHORTER:
            yield error(
                "hose-gap",
                name,
                (*at, "hose", "length"),
                f"The hose of the {build.labels[name]} is {regulator.hose.length.text} long, and straight across it is "
                f"{units.show(gap, 'distance', system(build))}.",
                "It does not reach, whatever way it takes.",
                "Take a longer one where the code lets it be so long, or begin the line nearer to the regulator.",
            )


def _dips(build: Installation, line: Route) -> Iterator[Finding]:
    """Places lower than what lies on both sides, where the region asks for a drip leg."""
    rule = trap_rule(build)
    if rule is None:
        return
    by_part: dict[str, list[Stretch]] = {}
    for stretch in line.stretches:
        if stretch.known and (not stretch.connector or _hosed(build, stretch.part) is not None):
            by_part.setdefault(stretch.part, []).append(stretch)
    low: dict[Point, str] = {}
    for served in build.served:
        way = [stretch for part in _path(build, served.id) for stretch in by_part.get(part, ())]
        heights = [stretch.tail[2] for stretch in way[:1]] + [stretch.head[2] for stretch in way]
        for i in low_points(heights):
            low.setdefault(way[i - 1].head, way[i - 1].part)
    if low:
        names = ", ".join(build.labels[part] for part in dict.fromkeys(low.values()))
        lowest = next(iter(low.values()))
        yield note(
            "line-dips",
            lowest,
            build.by_id[lowest].at if lowest in build.by_id else ("regulator",),
            f"The line is lower than on both sides at the end of a leg: {names}.",
            "Water or oil that gets in stays at a low point. The region asks for drip legs at appliances.",
            "Ask the fitter whether a drip leg with a cap belongs there too.",
            str(rule.citation),
        )


def _path(build: Installation, identity: str) -> list[str]:
    """The runs and the regulators with a hose from the container to an element, in flow order."""
    hosed = [name for name, _, regulator in regulators(build) if regulator.hose is not None]
    way = [node.id for node in build.before(identity) if node.kind == "run" or node.id in hosed]
    return [*([build.first] if build.first in hosed else []), *way[::-1]]
