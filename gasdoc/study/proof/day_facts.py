"""What a test day hangs on, worked out once: the conditions that hold, and the facts that fill the places of its lines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Outlet, Regulator, Tap, Valve
from gasdoc.catalog.alarms import BESIDE_APPLIANCES, alarm_kinds
from gasdoc.engineering.constants import INCH_OF_WATER
from gasdoc.engineering.materials.ends import End
from gasdoc.engineering.materials.joints import Part
from gasdoc.quantities import Known, Pascal
from gasdoc.regions.practice import ROWS
from gasdoc.study.air.rooms import Room, fitted
from gasdoc.study.facts import Installation, setting, system
from gasdoc.study.materials.assembly import Fittings
from gasdoc.study.materials.joints import CONTAINER_SIDE
from gasdoc.study.materials.spots import inlets
from gasdoc.study.proof.closures import InTest, rated
from gasdoc.study.proof.leak_test import AskedTest, LeakTest, Plan, air_hold, best
from gasdoc.study.supply.lines import SizedZone
from gasdoc.words import in_sentence

LOW_PRESSURE: Annotated[
    Pascal,
    Known(
        "what most low-pressure regulators and controls stand: 14 inH2O, called 1/2 psi",
        "Manuals of a water heater, shut off from a test of at most 1/2 psi, and of a dryer, taken off above it",
        "twice",
    ),
] = 14 * INCH_OF_WATER


class TestDay(Struct, frozen=True):
    """What the test day is worked out from; `code` is the tightness code."""

    build: Installation
    zones: tuple[SizedZone, ...]
    fittings: Fittings
    rooms: tuple[Room, ...]
    leak_test: LeakTest
    in_test: InTest
    plans: tuple[Plan, ...]
    code: str


class DayFacts:
    """What the places of the lines are filled with. `true` are the conditions that hold, `plain` the facts of the build."""

    def __init__(self, day: TestDay) -> None:
        self.day, self.build, self.zones = day, day.build, day.zones
        self.spec, self.tests, self.in_test = day.build.spec, day.leak_test, day.in_test
        self.system = system(day.build)
        self.load = sum(s.load for s in day.build.served)
        self.first = self.tests.by_zone[0].zone
        self.several = len(self.tests.by_zone) > 1
        self.piping = tuple(a for a in self.tests.asked if a.test.kind == "piping")
        self.own = tuple(
            a for a in self.tests.asked if a.test.kind == "appliances" or (a.test.kind == "piping" and a.connected)
        )
        self.leak = tuple(a for a in self.tests.asked if a.test.kind == "leak-check")
        flow = [a for a in (*self.tests.asked, *self.tests.beside) if a.test.kind == "flow"]
        self.flow = tuple(a for a in flow if a.test.id == flow[0].test.id)
        self.taps = tuple(node for node, _ in self.build.each(Tap))
        self.main = tuple(self.shut_offs())
        self.valves = tuple(node.id for node, _ in self.build.each(Valve))
        self.alarms = {one.alarm.kind for room in day.rooms for one in fitted(room) or () if one.counts is not False}
        self.called = day.build.labels
        self.names = {s.id: s.appliance.name for s in day.build.served}
        self.zone_of = self.build.zone_of
        self.unions = {spot.id for _, spot, _ in day.fittings.unions()}
        self.delivering = tuple(zone for zone in day.zones if zone.delivers)
        self.true = frozenset(word for word, holding in self.conditions().items() if holding)
        self.plain = self.facts()

    # --- what holds

    def conditions(self) -> dict[str, bool]:
        """Whether each condition holds for this build."""
        region = self.build.region
        return {
            "alarms": set(BESIDE_APPLIANCES) <= self.alarms,
            "boat": setting(self.build) == "boat",
            "changeover": inlets(self.build) > 1,
            "low-pressure-us": region.units == "us"
            and all(float(zone.regulator.outlet) <= LOW_PRESSURE * 1.001 for zone in self.delivering),
            "line-valves": bool(self.valves),
            "main-shut-off": bool(self.main),
            "own-test-above": any(self.above(a) for a in self.own),
            "piping-test": bool(self.piping),
            "relief-stated": self.spec.regulator.relief is not None,
            "several-containers": self.spec.container.number > 1,
            "several-zones": self.several,
            "start-hose": self.spec.regulator.hose is not None and f"{self.first}:union" not in self.unions,
            "start-union": f"{self.first}:union" in self.unions,
            "weak-parts": bool(self.in_test.weak),
            **{row: row in region.practice.rows for row in ROWS},
        }

    def above(self, asked: AskedTest) -> bool:
        """Whether a test is made at more than the appliances and the regulator stand in use."""
        return asked.pressure is not None and asked.pressure > self.most(asked.zone)[0] * 1.001

    def shut_offs(self) -> list[str]:
        """The ids of the first valve in the line on the way to each appliance; none where an appliance has no such valve."""
        found: dict[str, None] = {}
        for outlet, _ in self.build.each(Outlet):
            valves = [node.id for node in self.build.before(outlet.id) if isinstance(node.part, Valve)]
            if not valves:
                return []
            found[valves[-1]] = None
        return list(found)

    # --- the plain facts

    def facts(self) -> dict[str, str]:
        """What fills the places of every line."""
        number = self.spec.container.number
        containers = {1: "the container valve", 2: "both container valves"}.get(
            number, f"all {number} container valves"
        )
        weak = dict.fromkeys(f"{w.part.name} ({rated(w.rating, self.system)})" for w in self.in_test.weak)
        closed: dict[str, int] = {}
        for closure in self.in_test.closures:
            for part in closure.parts if closure.role != "test point" else ():
                closed[part.name] = closed.get(part.name, 0) + 1
        lit, total = self.half()
        return {
            "airhold": self.air_hold(),
            "appliances": listed(list(self.names.values())),
            "code": self.day.code,
            "closed": "; ".join(f"{count} x {name}" for name, count in closed.items()) or "each that was used",
            "containers": containers,
            "Containers": containers[:1].upper() + containers[1:],
            "containerside": "; ".join(j.text for j in self.tests.joints if j.zone == CONTAINER_SIDE),
            "delivered": listed(list(dict.fromkeys(self.pressure(float(z.regulator.outlet)) for z in self.delivering))),
            "gauge": listed([self.gauge(zone.id) for zone in self.zones]),
            "gauge_id": listed([self.gauge_id(zone.id) for zone in self.zones]),
            "half": f"{listed(lit)}, {self.show(total, 'load')} of {self.show(self.load, 'load')}",
            "low": "; ".join(place for element, place in self.low_places() if element is None),
            "main": listed([f"the {self.called[identity]}" for identity in self.main]),
            "main_at": listed([self.at(identity) for identity in self.main]),
            "new": str(len(list(self.new_joints()))),
            "noalarm": " and no ".join(
                f"{alarm_kinds()[kind].senses} alarm" for kind in BESIDE_APPLIANCES if kind not in self.alarms
            ),
            "number": str(number),
            "settle": self.settle(),
            "tested": str(len(list(self.tested_joints()))),
            "testclose": self.test_close(),
            "valves": listed([f"the {self.called[identity]}" for identity in self.valves]),
            "valves_at": listed([self.at(identity) for identity in self.valves]),
            "weak": "; ".join(weak),
        }

    # --- zones

    def taps_of(self, zone: str) -> list[str]:
        """The ids of the test points in a zone."""
        return [node.id for node in self.taps if self.zone_of[node.id] == zone]

    def next_regulators(self, zone: str) -> list[str]:
        """The ids of the regulators that a zone feeds."""
        return [node.id for node, _ in self.build.each(Regulator) if self.zone_of[node.id] == zone]

    def gauge(self, zone: str) -> str:
        """Where a gauge goes on a zone with everything joined."""
        if taps := self.taps_of(zone):
            return listed([self.at(tap) for tap in taps])
        if any(delivering.id == zone for delivering in self.delivering):
            return "a shut-off's test port, or an adapter at the last connector"
        return f"an adapter before {listed([f'the {self.called[after]}' for after in self.next_regulators(zone)])}"

    def gauge_id(self, zone: str) -> str:
        """The same for the sheet."""
        taps = [f"the {self.called[tap]}" for tap in self.taps_of(zone)]
        return listed(taps) if taps else "the point chosen"

    def show(self, value: float, kind: str) -> str:
        """A quantity in the build's units."""
        return units.show(value, kind, self.system)

    def pressure(self, value: float) -> str:
        """A gauge pressure in the build's units."""
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

    def at(self, identity: str) -> str:
        """What people call an element, and where it is if the spec says so."""
        place = getattr(self.build.by_id[identity].part, "place", None)
        return f"the {self.called[identity]}{f' ({place})' if place else ''}"

    def behind(self, zone: str) -> str:
        """The head of a sentence about one zone, where there are several."""
        return f"Behind the {self.called[zone]}: " if self.several else ""

    def half(self) -> tuple[list[str], float]:
        """The appliances whose loads together come nearest to half the load: of equals the fewest, then the first ones."""
        sums: dict[float, tuple[str, ...]] = {0.0: ()}
        for s in self.build.served:
            for total, lit in list(sums.items()):
                more = round(total + s.load)  # W: finer is no other load
                if more not in sums or len(sums[more]) > len(lit) + 1:
                    sums[more] = (*lit, s.appliance.name)
        half = self.load / 2
        found = [(t, names) for t, names in sums.items() if names]
        if not found:  # all of them together take less than half a watt
            return list(self.names.values()), self.load
        total, lit = min(found, key=lambda one: abs(one[0] - half))
        return list(lit), total

    def settle(self) -> str:
        """How long to wait before the first reading."""
        longest = max((float(a.test.settle) for a in self.piping if a.test.settle), default=0.0)
        if longest:
            return f"at least {self.show(longest, 'hold')}"
        return "10 to 15 min are usual (common practice, no source)"

    def hold(self, rows: tuple[AskedTest, ...]) -> str:
        """How long to hold, with the instruments that the advice names."""
        asked = max((float(a.test.hold) for a in rows if a.test.hold), default=None)
        if asked is None:
            return "as long as the authority asks. The text read gives no time"
        found = [best(plan, fine=True) for plan in self.plans(rows)]
        longest = max([asked, *(h.hold for h in found if h is not None and h.hold is not None)])
        if longest < 60:
            return f"at least {longest:.0f} s"
        return f"at least {self.show(-(-longest // 60) * 60, 'hold')}"

    def plans(self, rows: tuple[AskedTest, ...]) -> list[Plan]:
        """The holds of some rows of the tests."""
        return [plan for plan in self.day.plans if plan.asked in rows]

    def air_hold(self) -> str:
        """How long to hold the test with air."""
        longest = 600.0
        for volume in self.tests.by_zone:
            if (needed := air_hold(self.build, volume, self.working(volume.zone))) is not None:
                longest = max(longest, needed)
        return f"at least {self.show(-(-longest // 60) * 60, 'hold')}"

    def working(self, zone: str) -> float:
        """The working pressure of a zone, Pa gauge."""
        return next(float(z.regulator.outlet) for z in self.zones if z.id == zone)

    def most(self, zone: str) -> tuple[float, str]:
        """The highest pressure, Pa gauge, of the air test in a zone, and what sets it: plates, the relief, or the setting."""
        found: list[tuple[float, str]] = []
        for s in self.build.served:
            if self.zone_of[s.id] == zone and s.appliance.max_inlet is not None:
                found.append((float(s.appliance.max_inlet), f"the most that the plate of {s.appliance.name} allows"))
        regulator = next(z.regulator for z in self.zones if z.id == zone)
        if regulator.relief is not None:
            found.append((float(regulator.relief), "where the regulator's relief opens"))
        if not found:
            return float(regulator.outlet), "what the regulator is set to, because no plate states a limit"
        return min(found)

    def test_close(self) -> str:
        """What is done at the test point when the test is over."""
        if not self.taps:
            return "put back what was opened for the gauge"
        parts = [p.name for node in self.taps for c in self.in_test.at(node.id, "test point") for p in c.parts]
        taps = listed([f"the {self.called[node.id]}" for node in self.taps])
        return f"screw {taps} shut" + (
            f", or put in {listed(list(dict.fromkeys(parts)))} where the tap comes out" if parts else ""
        )

    # --- joints

    def tested_joints(self) -> Iterator[str]:
        """The joints that a test of the piping has under it."""
        return (
            j.id
            for j in self.tests.joints
            if j.zone != CONTAINER_SIDE and j.needs is None and j.id not in self.in_test.off
        )

    def new_joints(self) -> Iterator[str]:
        """The joints that are made after the pressure test: all of them where there was none, else those of whatever came
        off, and the ends of the line that it came off."""
        opened = set[str]()
        for closure in self.in_test.closures:
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
            inside.update(node.id for node in self.build.before(identity))
        return (j.id for j in self.tests.joints if j.zone == CONTAINER_SIDE or j.element in inside)

    def low_places(self) -> Iterator[tuple[str | None, str]]:
        """Where to hold a detector, low down, with the element there."""
        if "boat" in self.true:
            yield (None, "in the bilge, above any water")
        if any(space.lowest_void is not None for space in self.spec.spaces):
            yield (None, "in the lowest closed void, before it is opened wide")
        floor = (
            "sole, its corners and each step down"
            if "boat" in self.true
            else "floor, at the walls and at the door sill"
        )
        yield (None, f"along the {floor}")
        for node in self.build.nodes:
            place = getattr(node.part, "place", None)
            if node.kind in ("junction", "valve") and place:
                yield (node.id, f"at the {self.called[node.id]}: {place}")
            elif node.kind == "regulator":
                yield (node.id, f"at the {self.called[node.id]} and below its vent")
        for s in self.build.served:
            yield (s.id, f"below {s.appliance.name}{f': {s.outlet.place}' if s.outlet.place else ''}")
        if self.spec.container.place == "locker":
            yield ("container", "in the container's locker, at its floor and drain")
        else:
            yield ("container", "around and below the container, downwind of it")


def listed(names: list[str]) -> str:
    """Names in a sentence, "nothing" where there are none."""
    return in_sentence(names or ["nothing"])


def part_words(parts: tuple[Part, ...], end: End | None) -> str:
    """The parts that close an end, in a sentence."""
    if parts:
        return " and ".join(part.name for part in parts)
    return (
        f"a fitting that suits {end} (nothing on the list does)" if end is not None else "a fitting that suits its end"
    )
