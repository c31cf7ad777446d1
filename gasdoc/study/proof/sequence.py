"""The test day of a build: the steps of `regions/sequence.yaml` filled in with its parts, pressures, joints and times.

Nothing is decided here that the data file does not say; what a line hangs on is worked out from the study, and every
number comes from where the study has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gasdoc import units
from gasdoc.build.model import Regulator, Tap, Valve
from gasdoc.engineering.constants import INCH_OF_WATER
from gasdoc.engineering.materials.ends import End
from gasdoc.engineering.materials.joints import Part
from gasdoc.regions.sequence import Line, StepRow, holds, sequence_rows
from gasdoc.source import Citation
from gasdoc.study.air.alarms import fitted
from gasdoc.study.facts import setting, system
from gasdoc.study.materials.joints import CONTAINER_SIDE
from gasdoc.study.proof.closures import Closure, rated
from gasdoc.study.proof.holds import Plan, advice, air_hold, best
from gasdoc.study.supply.pressures import tolerance_of

if TYPE_CHECKING:
    from gasdoc.study.proof.leak_test import Asked
    from gasdoc.study.study import Study

LOW_PRESSURE = 14 * INCH_OF_WATER
"""Pa gauge: 14 inH2O, the 1/2 psi that most low-pressure regulators and controls stand (from memory)."""


@dataclass(frozen=True, slots=True)
class Said:
    """One thing to do, filled in. `short` is for the sheet, None where it is not there; `citation` is its own, None where
    it is the step's."""

    text: str
    short: str | None
    caution: bool
    citation: Citation | None


@dataclass(frozen=True, slots=True)
class Step:
    """A step filled in. `parts` are ids of elements and joints of the study. Where `applies` is false, `reason` says why."""

    id: str
    title: str
    lines: tuple[Said, ...]
    needs: tuple[str, ...]
    parts: tuple[str, ...]
    gate: bool
    passes: str | None
    stops: tuple[str, ...]
    applies: bool
    reason: str | None
    citation: Citation

    @property
    def text(self) -> str:
        """All lines one after another."""
        return " ".join(line.text for line in self.lines)


@dataclass(frozen=True, slots=True)
class LeakSequence:
    """The test day, all steps in order, those that do not apply included."""

    steps: tuple[Step, ...]

    def step(self, identity: str) -> Step:
        """A step by its id."""
        return next(step for step in self.steps if step.id == identity)


def leak_sequence(study: Study) -> LeakSequence:
    """The sequence of a build."""
    facts = _Facts(study)
    return LeakSequence(tuple(_step(row, facts) for row in sequence_rows()))


def _step(row: StepRow, facts: _Facts) -> Step:
    applies = row.applies is None or holds(row.applies, facts.true)
    lines = tuple(said for line in row.lines if applies for said in _said(line, facts))
    parts = tuple(dict.fromkeys(identity for name in row.parts for identity in _PARTS[name](facts)))
    return Step(
        row.id,
        row.title,
        lines,
        row.needs,
        parts if applies else (),
        row.gate,
        row.passes,
        tuple(stop.format_map(facts.plain) for stop in row.stops),
        applies,
        None if applies else row.reason,
        row.citation,
    )


def _said(line: Line, facts: _Facts) -> Iterator[Said]:
    if not all(holds(condition, facts.true) for condition in line.when):
        return
    for own in _EACH[line.each](facts) if line.each is not None else ({},):
        names = {**facts.plain, **own}
        short = line.short.format_map(names) if line.short is not None else None
        yield Said(line.text.format_map(names), short, line.caution, line.citation)


class _Facts:
    """What the places of the lines are filled with. `true` are the conditions that hold, `plain` the facts of the build."""

    def __init__(self, study: Study) -> None:
        self.study, self.build = study, study.build
        self.spec, self.tests, self.kept = study.build.spec, study.leak_test, study.in_test
        self.system = system(study.build)
        self.first = self.tests.by_zone[0].zone
        self.several = len(self.tests.by_zone) > 1
        self.piping = tuple(a for a in self.tests.asked if a.test.kind == "piping")
        self.own = tuple(
            a for a in self.tests.asked if a.test.kind == "appliances" or (a.test.kind == "piping" and a.connected)
        )
        self.leak = tuple(a for a in self.tests.asked if a.test.kind == "leak-check")
        flow = [a for a in (*self.tests.asked, *self.tests.beside) if a.test.kind == "flow"]
        self.flow = tuple(a for a in flow if a.test.id == flow[0].test.id)
        self.taps = tuple(node for node in self.build.nodes if isinstance(node.part, Tap))
        self.main = tuple(self.shut_offs())
        self.valves = tuple(node.id for node in self.build.nodes if isinstance(node.part, Valve))
        self.alarms = {one.alarm.kind for room in study.rooms for one in fitted(room) or () if one.counts is not False}
        self.names = {s.id: s.appliance.name for s in study.served}
        self.zone_of = {node.id: self.zone_before(i) for i, node in enumerate(self.build.nodes)}
        self.unions = {spot.id for _, spot, _ in study.fittings.unions()}
        self.delivering = tuple(zone for zone in study.zones if zone.delivers)
        self.true = frozenset(self.conditions())
        self.plain = self.facts()

    # --- what holds

    def conditions(self) -> Iterator[str]:
        region = self.study.build.region
        for condition, true in {
            "alarms": {"gas", "co"} <= self.alarms,
            "boat": setting(self.build) == "boat",
            "changeover": self.spec.container.manifold == "changeover",
            "low-pressure-us": region.units == "us"
            and all(float(zone.regulator.outlet) <= LOW_PRESSURE * 1.001 for zone in self.delivering),
            "line-valves": bool(self.valves),
            "main-shut-off": bool(self.main),
            "own-test-above": any(self.above(a) for a in self.own),
            "piping-test": bool(self.piping),
            "relief-stated": self.spec.regulator.relief is not None,
            "several-containers": self.spec.container.number > 1,
            "several-zones": self.several,
            "start-union": f"{self.first}:union" in self.unions,
            "weak-parts": bool(self.kept.weak),
            **dict.fromkeys(region.practice.rows, True),
        }.items():
            if true:
                yield condition

    def above(self, asked: Asked) -> bool:
        """Whether a test is made at more than the appliances and the regulator stand in use."""
        return asked.pressure is not None and asked.pressure > self.most(asked.zone)[0] * 1.001

    def shut_offs(self) -> list[str]:
        """The ids of the first valve in the line on the way to each appliance; none where an appliance has no such valve."""
        found: dict[str, None] = {}
        for i, node in enumerate(self.build.nodes):
            if node.kind != "outlet":
                continue
            way = [i]
            while self.build.nodes[way[-1]].parent >= 0:
                way.append(self.build.nodes[way[-1]].parent)
            valves = [self.build.nodes[k].id for k in reversed(way) if isinstance(self.build.nodes[k].part, Valve)]
            if not valves:
                return []
            found[valves[0]] = None
        return list(found)

    # --- the plain facts

    def facts(self) -> dict[str, str]:
        number = self.spec.container.number
        containers = {1: "the container valve", 2: "both container valves"}.get(
            number, f"all {number} container valves"
        )
        weak = dict.fromkeys(f"{w.part.name} ({rated(w.rating, self.system)})" for w in self.kept.weak)
        closed: dict[str, int] = {}
        for closure in self.kept.closures:
            for part in closure.parts if closure.role != "test point" else ():
                closed[part.name] = closed.get(part.name, 0) + 1
        lit, total = self.half()
        return {
            "airhold": self.air_hold(),
            "appliances": _listed(list(self.names.values())),
            "code": self.study.standing.codes.tightness,
            "closed": "; ".join(f"{count} x {name}" for name, count in closed.items()) or "each that was used",
            "containers": containers,
            "Containers": containers[:1].upper() + containers[1:],
            "containerside": "; ".join(j.text for j in self.tests.joints if j.zone == CONTAINER_SIDE),
            "delivered": _listed(
                list(dict.fromkeys(self.pressure(float(z.regulator.outlet)) for z in self.delivering))
            ),
            "gauge": _listed([self.gauge(zone.id) for zone in self.study.zones]),
            "gauge_id": _listed([self.gauge_id(zone.id) for zone in self.study.zones]),
            "half": f"{_listed(lit)}, {self.show(total, 'load')} of {self.show(self.study.load, 'load')}",
            "low": "; ".join(place for element, place in self.low_places() if element is None),
            "main": _listed(list(self.main)),
            "main_at": _listed([identity + self.place(identity) for identity in self.main]),
            "new": str(len(list(self.new_joints()))),
            "noalarm": " and no ".join(
                f"{words} alarm"
                for kind, words in (("gas", "gas"), ("co", "carbon monoxide"))
                if kind not in self.alarms
            ),
            "number": str(number),
            "settle": self.settle(),
            "tested": str(len(list(self.tested_joints()))),
            "testclose": self.test_close(),
            "valves": _listed(list(self.valves)),
            "valves_at": _listed([identity + self.place(identity) for identity in self.valves]),
            "weak": "; ".join(weak),
        }

    # --- zones

    def zone_before(self, at: int) -> str:
        """The zone that an element stands in: that of the nearest regulator before it."""
        above = self.build.nodes[at].parent
        while above >= 0 and not isinstance(self.build.nodes[above].part, Regulator):
            above = self.build.nodes[above].parent
        return self.build.nodes[above].id if above >= 0 else self.first

    def taps_of(self, zone: str) -> list[str]:
        """The ids of the test points in a zone."""
        return [node.id for node in self.taps if self.zone_of[node.id] == zone]

    def next_regulators(self, zone: str) -> list[str]:
        """The ids of the regulators that a zone feeds."""
        return [n.id for n in self.build.nodes if isinstance(n.part, Regulator) and self.zone_of[n.id] == zone]

    def gauge(self, zone: str) -> str:
        """Where a gauge goes on a zone with everything joined."""
        if taps := self.taps_of(zone):
            return _listed([f"the test point {tap}{self.place(tap)}" for tap in taps])
        if any(delivering.id == zone for delivering in self.delivering):
            return "the test port of an appliance's shut-off, or an adapter at the last connector"
        return f"an adapter before {_listed(self.next_regulators(zone))}"

    def gauge_id(self, zone: str) -> str:
        """The same for the sheet."""
        return _listed(self.taps_of(zone)) if self.taps_of(zone) else "the point chosen"

    def show(self, value: float, kind: str) -> str:
        return units.show(value, kind, self.system)

    def pressure(self, value: float) -> str:
        return self.show(value, units.pressure_kind(value, self.system))

    def between(self, least: float, most: float | None) -> str:
        """Between which pressures, never the lower one alone."""
        if most is None:
            return f"{self.pressure(least)} or more"
        if most <= least * (1 + 1e-9):
            return self.pressure(most)
        low, high = self.pressure(least), self.pressure(most)
        same = low.rpartition(" ")[2] == high.rpartition(" ")[2]
        return f"{low.rpartition(' ')[0] if same else low} to {high}"

    def place(self, identity: str) -> str:
        part = self.build.by_id[identity].part
        place = getattr(part, "place", None)
        return f" ({place})" if place else ""

    def behind(self, zone: str) -> str:
        return f"Behind {zone}: " if self.several else ""

    def half(self) -> tuple[list[str], float]:
        """The appliances whose loads together come nearest to half the load: of equals the fewest, then the first ones."""
        sums: dict[float, tuple[str, ...]] = {0.0: ()}
        for s in self.study.served:
            for total, lit in list(sums.items()):
                more = round(total + s.load)  # W: finer is no other load
                if more not in sums or len(sums[more]) > len(lit) + 1:
                    sums[more] = (*lit, s.appliance.name)
        half = self.study.load / 2
        total, lit = min(((t, names) for t, names in sums.items() if names), key=lambda one: abs(one[0] - half))
        return list(lit), total

    def settle(self) -> str:
        longest = max((float(a.test.settle) for a in self.piping if a.test.settle), default=0.0)
        if longest:
            return f"at least {self.show(longest, 'hold')}"
        return "10 to 15 min are usual (common practice, no source)"

    def hold(self, rows: tuple[Asked, ...]) -> str:
        """How long to hold, with the instruments that the advice names."""
        asked = max((float(a.test.hold) for a in rows if a.test.hold), default=None)
        if asked is None:
            return "as long as the authority asks; the text read gives no time"
        found = [best(plan, fine=True) for plan in self.plans(rows)]
        longest = max([asked, *(h.hold for h in found if h is not None and h.hold is not None)])
        if longest < 60:
            return f"at least {longest:.0f} s"
        return f"at least {self.show(-(-longest // 60) * 60, 'hold')}"

    def plans(self, rows: tuple[Asked, ...]) -> list[Plan]:
        return [plan for plan in self.study.plans if plan.asked in rows]

    def air_hold(self) -> str:
        longest = 600.0
        for volume in self.tests.by_zone:
            if (needed := air_hold(self.build, volume, self.working(volume.zone))) is not None:
                longest = max(longest, needed)
        return f"at least {self.show(-(-longest // 60) * 60, 'hold')}"

    def working(self, zone: str) -> float:
        return next(float(z.regulator.outlet) for z in self.study.zones if z.id == zone)

    def most(self, zone: str) -> tuple[float, str]:
        """The highest pressure, Pa gauge, of the air test in a zone, and what sets it: plates, the relief, or the setting."""
        found: list[tuple[float, str]] = []
        for s in self.study.served:
            if self.zone_of[s.id] == zone and s.appliance.max_inlet is not None:
                found.append((float(s.appliance.max_inlet), f"the most that the plate of {s.appliance.name} allows"))
        regulator = next(z.regulator for z in self.study.zones if z.id == zone)
        if regulator.relief is not None:
            found.append((float(regulator.relief), "where the regulator's relief opens"))
        if not found:
            return float(regulator.outlet), "what the regulator is set to, because no plate states a limit"
        return min(found)

    def test_close(self) -> str:
        if not self.taps:
            return "put back what was opened for the gauge"
        parts = [p.name for node in self.taps for c in self.kept.at(node.id, "test point") for p in c.parts]
        ids = _listed([node.id for node in self.taps])
        return f"screw {ids} shut" + (
            f", or put in {_listed(list(dict.fromkeys(parts)))} where the tap comes out" if parts else ""
        )

    # --- joints

    def tested_joints(self) -> Iterator[str]:
        return (
            j.id
            for j in self.tests.joints
            if j.zone != CONTAINER_SIDE and j.needs is None and j.id not in self.kept.off
        )

    def new_joints(self) -> Iterator[str]:
        """The joints that are made after the pressure test: all of them where there was none, else those of whatever came
        off, and the ends of the line that it came off."""
        opened = set[str]()
        for closure in self.kept.closures:
            if closure.removed or closure.role in ("start", "regulator"):
                opened |= self.around(closure.element)
        for j in self.tests.joints:
            if j.zone != CONTAINER_SIDE and (not self.piping or j.needs is not None or j.id in opened):
                yield j.id

    def around(self, identity: str) -> set[str]:
        """The ids of an element's own joints and of those beside it that open when it comes off: a union where there is
        one, else the ends of the runs that meet it. Not all of them exist."""
        nodes, known = self.build.nodes, {j.id for j in self.tests.joints}
        at = next((i for i, node in enumerate(nodes) if node.id == identity), -1)
        found = {f"{identity}-{joint}" for joint in ("valve", "ends", "union")}
        if at >= 0 and nodes[at].parent >= 0:
            before = nodes[nodes[at].parent].id
            found.add(f"{before}-union" if f"{before}-union" in known else f"{before}-downstream")
        if f"{identity}-union" not in known:
            found |= {f"{node.id}-upstream" for node in nodes if node.parent == at}
        return found

    def container_joints(self) -> Iterator[str]:
        """The joints before the first regulator, its own, and those up to the shut-offs behind it."""
        inside = {self.first, *self.main}
        for identity in self.main:
            at = self.build.by_id[identity].parent
            while at >= 0:
                inside.add(self.build.nodes[at].id)
                at = self.build.nodes[at].parent
        return (j.id for j in self.tests.joints if j.zone == CONTAINER_SIDE or j.element in inside)

    def low_places(self) -> list[tuple[str | None, str]]:
        """Where to hold a detector, low down, with the element there."""
        found: list[tuple[str | None, str]] = []
        if "boat" in self.true:
            found.append((None, "in the bilge, above any water"))
        if any(space.lowest_void is not None for space in self.spec.spaces):
            found.append((None, "in the lowest closed void, before it is opened wide"))
        floor = (
            "sole, its corners and each step down"
            if "boat" in self.true
            else "floor, at the walls and at the door sill"
        )
        found.append((None, f"along the {floor}"))
        for node in self.build.nodes:
            place = getattr(node.part, "place", None)
            if node.kind in ("junction", "valve") and place:
                found.append((node.id, f"at {node.id}: {place}"))
            elif node.kind == "regulator":
                found.append((node.id, f"at the regulator {node.id} and below its vent"))
        for s in self.study.served:
            found.append((s.id, f"below {s.appliance.name}{f': {s.outlet.place}' if s.outlet.place else ''}"))
        if self.spec.container.place == "locker":
            found.append(("container", "in the container's locker, at its floor and drain"))
        else:
            found.append(("container", "around and below the container, downwind of it"))
        return found


def _listed(names: list[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else names[0] if names else "nothing"


def _medium(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _parts(parts: tuple[Part, ...], end: End | None) -> str:
    if parts:
        return " and ".join(part.name for part in parts)
    return (
        f"a fitting that suits {end} (nothing on the list does)" if end is not None else "a fitting that suits its end"
    )


_Items = Iterator[Mapping[str, str]]


# --- what a line is said once for -------------------------------------------------------------------------------------


def _rating(f: _Facts, closure: Closure) -> str:
    if closure.rating is None:
        return "What the valve is rated for is not known here."
    said = f"The valve is rated for {rated(closure.rating, f.system)}"
    if not closure.removed:
        return f"{said}."
    if any(a.pressure is not None for a in f.piping):
        return f"{said}, less than the test."
    return f"{said}, and the pressure of the test is not known here."


def _stays(f: _Facts, rating: float | None, *, built_in: bool) -> str:
    """What is known of the rating of a valve in the line that stays in the test."""
    if rating is not None:
        return f"It is rated for {rated(rating, f.system)}; above that it comes out."
    if built_in:
        return "It is part of its manifold."
    return "What it is rated for is not known here. Take it out if its maker does not allow the pressure."


def _sealant(end: End | None) -> str:
    return (
        "with fresh sealant on the taper thread"
        if end is not None and end.kind in ("npt", "bspt")
        else "without sealant"
    )


def _start(f: _Facts, *, closed: bool) -> _Items:
    for closure in f.kept.at(f.first, "start"):
        if closed == bool(f.taps):
            yield {"part": _parts(closure.parts, closure.end), "end": str(closure.end or "not known")}


def _inner(f: _Facts) -> _Items:
    for node in f.build.nodes:
        if isinstance(node.part, Regulator):
            ends = f.kept.at(node.id, "regulator")
            yield {
                "name": node.id,
                "parts": " and ".join(_parts(c.parts, c.end) for c in ends),
                "union": " Part the union behind it first." if f"{node.id}:union" in f.unions else "",
                "again": " Make its union up again, dry." if f"{node.id}:union" in f.unions else "",
            }


def _gauge_zones(f: _Facts) -> _Items:
    """Where pump and gauge go on each zone while the regulators are off: a zone without a test point has an open end."""
    for zone in f.study.zones:
        identity = zone.id
        if f.taps_of(identity):
            where, short = f.gauge(identity), f.gauge_id(identity)
        elif identity == f.first and not f.taps:
            continue  # the line is open there, and another sentence says so
        else:
            off = "the first regulator" if identity == f.first else identity
            where = short = f"the end behind {off}, in place of what closes it"
        yield {"behind": f.behind(identity), "gauge": where, "gauge_id": short}


def _joined_zones(f: _Facts) -> _Items:
    for zone in f.study.zones:
        yield {"behind": f.behind(zone.id), "gauge": f.gauge(zone.id)}


def _holds(f: _Facts) -> _Items:
    """How long each zone is held in the test of the piping."""
    for zone in dict.fromkeys(a.zone for a in f.piping):
        yield {"behind": f.behind(zone), "hold": f.hold(tuple(a for a in f.piping if a.zone == zone))}


def _inner_lock_up(f: _Facts) -> _Items:
    """Regulators that have a pressure before them for the first time in the air test, and the most that is right behind."""
    for zone in f.study.zones:
        regulator = zone.regulator
        if zone.id != f.first:
            most = min(f.most(zone.id)[0], float(regulator.lock_up or f.most(zone.id)[0]))
            yield {"name": zone.id, "before": f.zone_of[zone.id], "lockup": f.pressure(most)}


def _outlets(f: _Facts, *, removed: bool | None) -> _Items:
    """Appliances whose own valve comes off, whose valve stays, or (None) that have none."""
    for s in f.study.served:
        for closure in f.kept.at(s.id, "outlet"):
            kind = None if s.outlet.shut_off is False else closure.removed
            if kind is removed:
                yield {
                    "name": s.appliance.name,
                    "part": _parts(closure.parts, closure.end),
                    "rating": _rating(f, closure),
                    "sealant": _sealant(closure.end),
                }


def _valve_on(f: _Facts) -> _Items:
    """Appliances whose own valve was not taken off."""
    off = {item["name"] for item in _outlets(f, removed=True)}
    yield from (item for item in _appliances(f) if item["name"] not in off)


def _valves(f: _Facts, *, removed: bool) -> _Items:
    for node in f.build.nodes:
        if not isinstance(node.part, Valve):
            continue
        gap = next(iter(f.kept.at(node.id, "valve")), None)
        name = node.id + f.place(node.id)
        if removed and gap is not None:
            yield {
                "name": name,
                "id": node.id,
                "part": _parts(gap.parts, gap.end),
                "rating": _rating(f, gap),
                "sealant": _sealant(gap.end),
            }
        elif not removed and gap is None:
            spots = {spot.id: placed for _, spot, placed in f.study.fittings.placed()}
            placed = spots.get(node.id)
            rating = placed.part.rating if placed is not None and placed.part is not None else None
            built_in = placed is not None and placed.built_in
            yield {"name": name, "id": node.id, "rating": _stays(f, rating, built_in=built_in)}


def _rows(f: _Facts, rows: tuple[Asked, ...], *, known: bool | None = None) -> _Items:
    for a in rows:
        if known is not None and known != (a.pressure is not None or a.highest is not None):
            continue
        scale = f" A dial gauge reads at most {f.pressure(a.full_scale)} at full scale." if a.full_scale else ""
        most = f", and not above {f.pressure(float(a.test.pressure.maximum))}" if a.test.pressure.maximum else ""
        shown = f.between(a.pressure, a.highest) if a.pressure is not None else ""
        below = ", below lock-up" if a.test.pressure.below is not None else ""
        yield {
            "behind": f.behind(a.zone),
            "medium": _medium(a.test.medium),
            "pressure": (f.pressure(a.pressure) if a.pressure is not None else "")
            if a.test.kind == "piping"
            else shown + below,
            "most": most,
            "scale": scale,
            "asked": a.test.pressure.text.rstrip("."),
            "hold": f.hold((a,)),
            "isolate": a.test.isolate[:1].lower() + a.test.isolate[1:].rstrip("."),
            "instrument": a.test.gauge.text[:1].lower() + a.test.gauge.text[1:].rstrip("."),
            "name": a.test.name,
            "plates": _plates(f, a),
        }


def _own(f: _Facts) -> _Items:
    for a in f.own:
        most = a.highest
        if not f.above(a):
            most = min(f.most(a.zone)[0], a.highest if a.highest is not None else f.most(a.zone)[0])
        if a.pressure is None:
            shown = a.test.pressure.text
        else:  # with appliances joined nothing is said of more than the rule asks
            shown = f.between(a.pressure, most) if most is not None else f.pressure(a.pressure)
        yield {
            "name": a.test.name + (f", behind {a.zone}" if f.several else ""),
            "pressure": shown,
            "hold": f.show(float(a.test.hold), "hold") if a.test.hold else "as long as it asks",
        }


def _plates(f: _Facts, a: Asked) -> str:
    least = f"at least {f.pressure(a.pressure)}" if a.pressure is not None else "the least is not stated on every plate"
    most = f"at most {f.pressure(a.highest)}" if a.highest is not None else "the most is not stated on every plate"
    return f"{least}, {most}"


def _advice(f: _Facts) -> _Items:
    for plan in f.study.plans:
        where = f", behind {plan.asked.zone}" if f.several else ""
        yield {"advice": f"{plan.asked.test.name}{where}: {advice(plan, f.system)}"}


def _air(f: _Facts) -> _Items:
    """The last zone first: a regulator with pressure before it makes up for what leaks behind it."""
    for zone in reversed(f.study.zones):
        most, why = f.most(zone.id)
        pressure = min(float(zone.regulator.outlet), most)
        yield {
            "behind": f.behind(zone.id),
            "pressure": f.pressure(pressure),
            "most": f.pressure(most),
            "why": why,
        }


def _containers(f: _Facts) -> _Items:
    number = f.spec.container.number
    for k in range(1, number + 1):
        yield {"name": f"container {k}" if number > 1 else "the container"}


def _appliances(f: _Facts, *, flue: str | None = None, flame_failure: bool | None = None) -> _Items:
    for s in f.study.served:
        if flue is not None and s.appliance.flue != flue:
            continue
        if flame_failure is not None and bool(s.appliance.flame_failure) is not flame_failure:
            continue
        yield {"name": s.appliance.name}


def _low(f: _Facts) -> _Items:
    for _, place in f.low_places():
        yield {"place": place}


def _lock_up(f: _Facts, *, known: bool) -> _Items:
    for zone in f.delivering:
        limits = [
            float(s.appliance.max_inlet)
            for s in f.study.served
            if f.zone_of[s.id] == zone.id and s.appliance.max_inlet is not None
        ]
        if bool(limits) is known:
            lockup = f.pressure(min(limits)) if limits else ""
            yield {"behind": f.behind(zone.id), "lockup": lockup}


def _lock_up_between(f: _Facts) -> _Items:
    """Zones that only feed further regulators: no plate speaks for them, the data sheet of their regulator does."""
    for zone in f.study.zones:
        regulator = zone.regulator
        if not zone.delivers:
            stated = f.pressure(float(regulator.lock_up)) if regulator.lock_up is not None else "what its sheet says"
            yield {"behind": f.behind(zone.id), "lockup": stated}


def _delivered(f: _Facts) -> _Items:
    for zone in f.study.zones:
        regulator, solved = zone.regulator, zone.pressure
        if solved is None:
            continue
        outlet, off = float(regulator.outlet), tolerance_of(regulator)
        yield {
            "behind": f.behind(zone.id),
            "zone": zone.id,
            "setting": f.pressure(outlet),
            "tolerance": f.show(off, units.drop_kind(outlet, f.system))
            if off is not None
            else "what its sheet says (not stated)",
            "lowest": f.pressure(solved.lowest),
            "highest": f.pressure(outlet + (off or 0.0)),
            "locked": f.pressure(solved.highest),
            "stated": ""
            if solved.lock_up_known
            else " if it locks up no higher than its tolerance, which is not stated",
        }


_EACH: dict[str, Callable[[_Facts], _Items]] = {
    "air-zones": _air,
    "appliances": _appliances,
    "appliances-valve-on": _valve_on,
    "containers": _containers,
    "delivered-zones": _delivered,
    "flame-failure": lambda f: _appliances(f, flame_failure=True),
    "flow-rows": lambda f: _rows(f, f.flow),
    "flow-rows-plates": lambda f: _rows(f, tuple(a for a in f.flow if a.test.pressure.by_plates)),
    "flueless": lambda f: _appliances(f, flue="flueless"),
    "gauge-zones": _gauge_zones,
    "hold-advice": _advice,
    "inner-lock-up": _inner_lock_up,
    "inner-regulators": _inner,
    "joined-zones": _joined_zones,
    "leak-rows": lambda f: _rows(f, f.leak),
    "leak-rows-known": lambda f: _rows(f, f.leak, known=True),
    "leak-rows-unknown": lambda f: _rows(f, f.leak, known=False),
    "line-valves-off": lambda f: _valves(f, removed=True),
    "line-valves-stay": lambda f: _valves(f, removed=False),
    "lock-up-between": _lock_up_between,
    "lock-up-unknown": lambda f: _lock_up(f, known=False),
    "lock-up-zones": lambda f: _lock_up(f, known=True),
    "low-places": _low,
    "no-flame-failure": lambda f: _appliances(f, flame_failure=False),
    "open-flued": lambda f: _appliances(f, flue="open-flued"),
    "outlets-no-valve": lambda f: _outlets(f, removed=None),
    "outlets-valve-off": lambda f: _outlets(f, removed=True),
    "outlets-valve-stays": lambda f: _outlets(f, removed=False),
    "own-tests": _own,
    "piping-holds": _holds,
    "piping-rows": lambda f: _rows(f, tuple(a for a in f.piping if a.pressure is not None)),
    "piping-rows-unknown": lambda f: _rows(f, tuple(a for a in f.piping if a.pressure is None)),
    "room-sealed": lambda f: _appliances(f, flue="room-sealed"),
    "start-closed": lambda f: _start(f, closed=True),
    "start-open": lambda f: _start(f, closed=False),
}
"""What a line may be said once for (`EACH` of the data): the facts of each of these."""

_PARTS: dict[str, Callable[[_Facts], Iterator[str]]] = {
    "container-joints": _Facts.container_joints,
    "containers": lambda _: iter(("container",)),
    "gauge-point": lambda f: iter(
        [node.id for node in f.taps] or [j.id for j in f.tests.joints if j.id.endswith("-connector")][-1:]
    ),
    "new-joints": _Facts.new_joints,
    "outlets": lambda f: (s.id for s in f.study.served),
    "regulators": lambda f: iter((f.first, *(n.id for n in f.build.nodes if isinstance(n.part, Regulator)))),
    "taps": lambda f: (node.id for node in f.taps),
    "tested-joints": _Facts.tested_joints,
    "valves": lambda f: (node.id for node in f.build.nodes if isinstance(node.part, Valve)),
}
"""Which parts a step may be about (`PARTS` of the data), as ids of elements and joints."""
