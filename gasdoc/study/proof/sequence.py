"""The test day of a build: the steps of `regions/sequence.yaml` filled in with its parts, pressures, joints and times.

Nothing is decided here that the data file does not say; what a line hangs on is worked out from the study, and every
number comes from where the study has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Regulator, Valve
from gasdoc.engineering.materials.ends import End
from gasdoc.regions.sequence import LineText, StepRow, holds, sequence_rows
from gasdoc.source import Citation
from gasdoc.study.proof.closures import Closure, rated
from gasdoc.study.proof.day_facts import DayFacts, TestDay, part_words
from gasdoc.study.proof.leak_test import AskedTest, advice
from gasdoc.study.supply.pressures import tolerance_of
from gasdoc.words import in_sentence


class Said(Struct, frozen=True):
    """One thing to do, filled in. `short` is for the sheet, None where it is not there; `citation` is its own, None where
    it is the step's."""

    text: str
    short: str | None
    caution: bool
    citation: Citation | None


class Step(Struct, frozen=True):
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


class LeakSequence(Struct, frozen=True):
    """The test day, all steps in order, those that do not apply included."""

    steps: tuple[Step, ...]

    def step(self, identity: str) -> Step:
        """A step by its id."""
        return next(step for step in self.steps if step.id == identity)


def leak_sequence(day: TestDay) -> LeakSequence:
    """The sequence of a build."""
    facts = DayFacts(day)
    return LeakSequence(tuple(_step(row, facts) for row in sequence_rows()))


def _step(row: StepRow, facts: DayFacts) -> Step:
    applies = row.applies is None or holds(row.applies, facts.true)
    lines = tuple(said for line in row.lines if applies for said in _said(line, facts))
    parts = tuple(dict.fromkeys(identity for name in row.parts for identity in STEP_PARTS[name](facts)))
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


def _said(line: LineText, facts: DayFacts) -> Iterator[Said]:
    if not all(holds(condition, facts.true) for condition in line.when):
        return
    for own in EACH_LINE[line.each](facts) if line.each is not None else ({},):
        names = {**facts.plain, **own}
        short = line.short.format_map(names) if line.short is not None else None
        yield Said(line.text.format_map(names), short, line.caution, line.citation)


Items = Iterator[Mapping[str, str]]


# --- what a line of a step is said once for ---------------------------------------------------------------------------


def _rating(f: DayFacts, closure: Closure) -> str:
    if closure.rating is None:
        return "What the valve is rated for is not known here."
    said = f"The valve is rated for {rated(closure.rating, f.system)}"
    if not closure.removed:
        return f"{said}."
    if any(a.pressure is not None for a in f.piping):
        return f"{said}, less than the test."
    return f"{said}, and the pressure of the test is not known here."


def _stays(f: DayFacts, rating: float | None, *, built_in: bool) -> str:
    """What is known of the rating of a valve in the line that stays in the test."""
    if rating is not None:
        return f"It is rated for {rated(rating, f.system)}. Above that it comes out."
    if built_in:
        return "It is part of its manifold."
    return "What it is rated for is not known here. Take it out if its maker does not allow the pressure."


def _sealant(end: End | None) -> str:
    return (
        "with fresh sealant on the taper thread"
        if end is not None and end.kind in ("npt", "bspt")
        else "without sealant"
    )


def _start(f: DayFacts, *, closed: bool) -> Items:
    for closure in f.in_test.at(f.first, "start"):
        if closed == bool(f.taps):
            yield {"part": part_words(closure.parts, closure.end), "end": str(closure.end or "not known")}


def _inner(f: DayFacts) -> Items:
    for node in f.build.nodes:
        if isinstance(node.part, Regulator):
            ends = f.in_test.at(node.id, "regulator")
            union, hose = f"{node.id}:union" in f.unions, node.part.hose is not None
            yield {
                "name": f.called[node.id],
                "parts": " and ".join(part_words(c.parts, c.end) for c in ends),
                "union": " Part the union behind it first."
                if union
                else " Its hose comes off with it."
                if hose
                else "",
                "again": " Make its union up again, dry." if union else " Join its hose at both ends." if hose else "",
            }


def _gauge_zones(f: DayFacts) -> Items:
    """Where pump and gauge go on each zone while the regulators are off: a zone without a test point has an open end."""
    for zone in f.zones:
        identity = zone.id
        if f.taps_of(identity):
            where, short = f.gauge(identity), f.gauge_id(identity)
        elif identity == f.first and not f.taps:
            continue  # the line is open there, and another sentence says so
        else:
            where = short = f"the end behind the {f.called[identity]}, in place of what closes it"
        yield {"behind": f.behind(identity), "gauge": where, "gauge_id": short}


def _joined_zones(f: DayFacts) -> Items:
    for zone in f.zones:
        yield {"behind": f.behind(zone.id), "gauge": f.gauge(zone.id)}


def _holds(f: DayFacts) -> Items:
    """How long each zone is held in the test of the piping."""
    for zone in dict.fromkeys(a.zone for a in f.piping):
        yield {"behind": f.behind(zone), "hold": f.hold(tuple(a for a in f.piping if a.zone == zone))}


def _inner_lock_up(f: DayFacts) -> Items:
    """Regulators that have a pressure before them for the first time in the air test, and the most that is right behind."""
    for zone in f.zones:
        regulator = zone.regulator
        if zone.id != f.first:
            most = min(f.most(zone.id)[0], float(regulator.lock_up or f.most(zone.id)[0]))
            yield {"name": f.called[zone.id], "before": f.called[f.zone_of[zone.id]], "lockup": f.pressure(most)}


def _outlets(f: DayFacts, *, removed: bool | None) -> Items:
    """Appliances whose own valve comes off, whose valve stays, or (None) that have none."""
    for s in f.build.served:
        for closure in f.in_test.at(s.id, "outlet"):
            kind = None if s.outlet.shut_off is False else closure.removed
            if kind is removed:
                yield {
                    "name": s.appliance.name,
                    "part": part_words(closure.parts, closure.end),
                    "rating": _rating(f, closure),
                    "sealant": _sealant(closure.end),
                }


def _valve_on(f: DayFacts) -> Items:
    """Appliances whose own valve was not taken off."""
    off = {item["name"] for item in _outlets(f, removed=True)}
    yield from (item for item in _appliances(f) if item["name"] not in off)


def _valves(f: DayFacts, *, removed: bool) -> Items:
    for node in f.build.nodes:
        if not isinstance(node.part, Valve):
            continue
        gap = next(iter(f.in_test.at(node.id, "valve")), None)
        name, short = f.at(node.id), f.called[node.id]
        if removed and gap is not None:
            yield {
                "name": name,
                "id": short,
                "part": part_words(gap.parts, gap.end),
                "rating": _rating(f, gap),
                "sealant": _sealant(gap.end),
            }
        elif not removed and gap is None:
            spots = {spot.id: placed for _, spot, placed in f.day.fittings.placed()}
            placed = spots.get(node.id)
            rating = placed.part.rating if placed is not None and placed.part is not None else None
            built_in = placed is not None and placed.built_in
            yield {"name": name, "id": short, "rating": _stays(f, rating, built_in=built_in)}


def _rows(f: DayFacts, rows: tuple[AskedTest, ...], *, known: bool | None = None) -> Items:
    for a in rows:
        if known is not None and known != (a.pressure is not None or a.highest is not None):
            continue
        scale = f" A dial gauge reads at most {f.pressure(a.full_scale)} at full scale." if a.full_scale else ""
        most = f", and not above {f.pressure(float(a.test.pressure.maximum))}" if a.test.pressure.maximum else ""
        shown = f.between(a.pressure, a.highest) if a.pressure is not None else ""
        below = ", below lock-up" if a.test.pressure.below is not None else ""
        yield {
            "behind": f.behind(a.zone),
            "medium": in_sentence(a.test.medium, "or"),
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


def _own(f: DayFacts) -> Items:
    for a in f.own:
        most = a.highest
        if not f.above(a):
            most = min(f.most(a.zone)[0], a.highest if a.highest is not None else f.most(a.zone)[0])
        if a.pressure is None:
            shown = a.test.pressure.text
        else:  # with appliances joined nothing is said of more than the rule asks
            shown = f.between(a.pressure, most) if most is not None else f.pressure(a.pressure)
        yield {
            "name": a.test.name + (f", behind the {f.called[a.zone]}" if f.several else ""),
            "pressure": shown,
            "hold": f.show(float(a.test.hold), "hold") if a.test.hold else "as long as it asks",
        }


def _plates(f: DayFacts, a: AskedTest) -> str:
    least = f"at least {f.pressure(a.pressure)}" if a.pressure is not None else "the least is not stated on every plate"
    most = f"at most {f.pressure(a.highest)}" if a.highest is not None else "the most is not stated on every plate"
    return f"{least}, {most}"


def _advice(f: DayFacts) -> Items:
    for plan in f.day.plans:
        where = f", behind the {f.called[plan.asked.zone]}" if f.several else ""
        yield {"advice": f"{plan.asked.test.name}{where}: {advice(plan, f.system)}"}


def _air(f: DayFacts) -> Items:
    """The last zone first: a regulator with pressure before it makes up for what leaks behind it."""
    for zone in reversed(f.zones):
        most, why = f.most(zone.id)
        pressure = min(float(zone.regulator.outlet), most)
        yield {
            "behind": f.behind(zone.id),
            "pressure": f.pressure(pressure),
            "most": f.pressure(most),
            "why": why,
        }


def _containers(f: DayFacts) -> Items:
    number = f.spec.container.number
    for k in range(1, number + 1):
        yield {"name": f"container {k}" if number > 1 else "the container"}


def _appliances(f: DayFacts, *, flue: str | None = None, flame_failure: bool | None = None) -> Items:
    for s in f.build.served:
        if flue is not None and s.appliance.flue != flue:
            continue
        if flame_failure is not None and bool(s.appliance.flame_failure) is not flame_failure:
            continue
        yield {"name": s.appliance.name}


def _low(f: DayFacts) -> Items:
    for _, place in f.low_places():
        yield {"place": place}


def _lock_up(f: DayFacts, *, known: bool) -> Items:
    for zone in f.delivering:
        limits = [
            float(s.appliance.max_inlet)
            for s in f.build.served
            if f.zone_of[s.id] == zone.id and s.appliance.max_inlet is not None
        ]
        if bool(limits) is known:
            lockup = f.pressure(min(limits)) if limits else ""
            yield {"behind": f.behind(zone.id), "lockup": lockup}


def _lock_up_between(f: DayFacts) -> Items:
    """Zones that only feed further regulators: no plate speaks for them, the data sheet of their regulator does."""
    for zone in f.zones:
        regulator = zone.regulator
        if not zone.delivers:
            stated = f.pressure(float(regulator.lock_up)) if regulator.lock_up is not None else "what its sheet says"
            yield {"behind": f.behind(zone.id), "lockup": stated}


def _delivered(f: DayFacts) -> Items:
    for zone in f.zones:
        regulator, solved = zone.regulator, zone.pressure
        if solved is None:
            continue
        outlet, off = float(regulator.outlet), tolerance_of(regulator)
        yield {
            "behind": f.behind(zone.id),
            "zone": f.called[zone.id],
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


EACH_LINE: dict[str, Callable[[DayFacts], Items]] = {
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


STEP_PARTS: dict[str, Callable[[DayFacts], Iterator[str]]] = {
    "container-joints": DayFacts.container_joints,
    "containers": lambda _: iter(("container",)),
    "gauge-point": lambda f: iter(
        [node.id for node in f.taps] or [j.id for j in f.tests.joints if j.id.endswith("-connector")][-1:]
    ),
    "new-joints": DayFacts.new_joints,
    "outlets": lambda f: (s.id for s in f.build.served),
    "regulators": lambda f: iter((f.first, *(node.id for node, _ in f.build.each(Regulator)))),
    "taps": lambda f: (node.id for node in f.taps),
    "tested-joints": DayFacts.tested_joints,
    "valves": lambda f: (node.id for node, _ in f.build.each(Valve)),
}
"""Which parts a step may be about (`PARTS` of the data), as ids of elements and joints."""
