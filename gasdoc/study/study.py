"""Build -> Study: everything computed from one build, in the order in which one thing needs another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated

from gasdoc import units
from gasdoc.build.codes import codes
from gasdoc.build.model import Junction, Outlet, Regulator, Run, Valve
from gasdoc.build.reader import Build
from gasdoc.catalog import files
from gasdoc.engineering.materials.take_off import Item
from gasdoc.quantities import Aside, By, Watt
from gasdoc.regions import Caution, cautions
from gasdoc.source import Path, Problem, Severity
from gasdoc.study import facts
from gasdoc.study.air.alarms import alarm_findings
from gasdoc.study.air.rooms import Room, rooms
from gasdoc.study.air.ventilation import air_findings
from gasdoc.study.container.clearances import Clearance, clearance_findings, clearances
from gasdoc.study.container.cold_day import Cold, cold_day, cold_findings
from gasdoc.study.container.coldest_days import Usable, lasting_findings, usable
from gasdoc.study.container.holding import Container, container, container_findings
from gasdoc.study.container.mounting import Mount, Tie, mount, mount_findings, tie
from gasdoc.study.facts import Installation, OutletPressure, Served, heating_value
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.materials.assembly import Fittings, fitting_findings, fittings, joining
from gasdoc.study.materials.connectors import Connected, connect, reach_findings
from gasdoc.study.materials.cutting import Lengths, cutting, cutting_findings
from gasdoc.study.materials.own_files import NOTHING, Own
from gasdoc.study.materials.passages import Passages, ground_findings, locker_findings, passages, support_findings
from gasdoc.study.materials.price_list import PriceList, price_list
from gasdoc.study.materials.shopping import Shopping, key_problems, shopping
from gasdoc.study.materials.take_off import Job, materials, tools
from gasdoc.study.names import resolve
from gasdoc.study.proof.closures import InTest, in_test
from gasdoc.study.proof.dates_ahead import to_come
from gasdoc.study.proof.findings import proof_findings
from gasdoc.study.proof.leak_test import LeakTest, leak_test
from gasdoc.study.proof.standing import Basis, Standing, standing, standing_findings
from gasdoc.study.proof.to_buy import for_test
from gasdoc.study.proof.verdicts import Judged, judge, verdict_findings
from gasdoc.study.referral.doubts import doubts
from gasdoc.study.referral.listings import listing_findings
from gasdoc.study.referral.rules import Ruling, rule_findings, rulings
from gasdoc.study.supply.altitude import HighUp, altitude_findings, high_up
from gasdoc.study.supply.excess_flow import ExcessFlow, excess, excess_findings
from gasdoc.study.supply.final_sizes import series_findings, settle
from gasdoc.study.supply.lines import SizedZone
from gasdoc.study.supply.pressure_findings import pressure_findings, regulator_findings
from gasdoc.study.supply.pressures import connector_drop, solve_zone, unfed
from gasdoc.study.supply.size_findings import sizing_findings
from gasdoc.study.supply.zones import Zone, most_carried, regulator_capacity, zones
from gasdoc.study.upkeep import Due, upkeep, upkeep_findings

if TYPE_CHECKING:
    from gasdoc.engineering.materials.tools import Tool
    from gasdoc.study.air.release import Releases
    from gasdoc.study.container.endurance import Endurance
    from gasdoc.study.materials.least_cost import Cheapest
    from gasdoc.study.proof.holds import Plan
    from gasdoc.study.proof.sequence import LeakSequence
    from gasdoc.study.referral.questions import Asked
    from gasdoc.study.supply.spare_room import Room as Spare

MIXED = 0.5
"""From this share of the other gas on, an appliance jetted for one of the two is jetted for another gas. Commercial
grades hold some of the other; the plate and the supplier decide in between (our choice)."""

SOME = 0.05
"""From this share of the other gas on it is a mixture that was stated, not what a commercial grade holds (our choice)."""

FAR_OFF, IMPOSSIBLE = 4.0, 20.0
"""How many times outside the usual range an input rate has to be to be asked about, and to be taken for a slip of its unit
(our choice)."""


@dataclass(frozen=True)
class Study:
    """All results of one build. `as_of` is the date on which something may be overdue, None where nobody asks.

    `load` in W is that of all appliances at once. What no finding comes from is worked out when it is
    first asked for, its modules loaded then: a check asks for none of it.
    """

    build: Annotated[Installation, By("slug", "path", "spec", "region", "container_kind")]
    as_of: Annotated[dt.date | None, Aside("the day that `check` asks about")]
    standing: Standing
    served: tuple[Served, ...]
    load: Watt
    container: Container
    cold: Cold | None
    mount: Mount | None
    tie: Tie | None
    clearances: tuple[Clearance, ...]
    zones: tuple[SizedZone, ...]
    excess_flow: ExcessFlow | None
    rules: tuple[Ruling, ...]
    cautions: tuple[Annotated[Caution, By("id", "group", "text", "text_us", "why", "short", "citation")], ...]
    fittings: Fittings
    connected: tuple[Connected, ...]
    lengths: tuple[Lengths, ...]
    passages: Passages
    materials: tuple[Item, ...]
    job: Annotated[Job, Aside("what the materials are made from; each part of it stands under its own name")]
    prices: Annotated[PriceList, Aside("what the spec states; `shopping` has what it comes to")]
    leak_test: LeakTest
    in_test: InTest
    judged: tuple[Judged, ...]
    rooms: tuple[Room, ...]
    high_up: tuple[HighUp, ...]
    upkeep: tuple[Due, ...]
    findings: tuple[Finding, ...]

    @property
    def outlets(self) -> tuple[OutletPressure, ...]:
        """The pressures at the appliances, of those where they are known."""
        return tuple(o for zone in self.zones if zone.pressure is not None for o in zone.pressure.outlets)

    @cached_property
    def usable(self) -> Usable | None:
        """How long a full supply lasts in the coldest air."""
        return usable(self.build, self.cold)

    @cached_property
    def endurance(self) -> Endurance:
        """How long the gas lasts."""
        from gasdoc.study.container.endurance import endurance

        return endurance(self.build, self.container, self.served)

    @cached_property
    def room(self) -> Spare:
        """What could still be added."""
        from gasdoc.study.supply.spare_room import room

        spare = self.cold.spare(self.container.per_day) if self.cold is not None else None
        return room(self.zones, spare, heating_value(self.build))

    @cached_property
    def tools(self) -> tuple[Tool, ...]:
        """What the work needs besides parts."""
        return tools(self.job)

    @cached_property
    def shopping(self) -> Shopping:
        """What to buy."""
        return shopping(self.materials, self.lengths, self.prices, self.build.spec.on_shelf)

    @cached_property
    def cheapest(self) -> tuple[Cheapest, ...]:
        """Least cost of the tubing, for review only."""
        from gasdoc.study.materials.least_cost import cheapest

        return cheapest(self.build, self.zones, self.prices)

    @cached_property
    def plans(self) -> tuple[Plan, ...]:
        """How long to hold each test."""
        from gasdoc.study.proof.holds import plans

        return plans(self.build, self.leak_test)

    @cached_property
    def sequence(self) -> LeakSequence:
        """The test day, step by step."""
        from gasdoc.study.proof.sequence import leak_sequence

        return leak_sequence(self)

    @cached_property
    def releases(self) -> Releases:
        """What a leak would do."""
        from gasdoc.study.air.release import releases

        return releases(self.build, self.zones, self.served)

    @cached_property
    def questions(self) -> tuple[Asked, ...]:
        """What to ask the authority."""
        from gasdoc.study.referral.questions import ask

        return ask(self.build, self.zones, self.leak_test, self.upkeep)


def study(
    build: Build,
    as_of: dt.date | None = None,
    own: Own = NOTHING,
    day: dt.date | None = None,
    shared: Mapping[Path, tuple[str, ...]] | None = None,
) -> tuple[Study | None, tuple[Problem, ...]]:
    """The study of a build, or None when a name in its spec means nothing; and the input problems found on the way.

    `as_of` is the date on which something may be overdue; `day` the one on which its records are read, later ones counting
    for nothing; `shared` are the places of records that other specs hold too. None of them: nobody asks.
    """
    found, problems = resolve(build)
    if found is None:
        return None, problems
    build = found
    found_zones = zones(build)
    appliances = build.served
    settled = settle(build, found_zones, appliances)
    build, sized = settled.build, settled.zones
    held = container(build, appliances)
    cold = cold_day(build, held, appliances)
    held_on, tied, around = mount(build, held), tie(build, held), clearances(build)
    sized = unfed(build, [solve_zone(build, zone) for zone in sized], gas_suffices=cold is not None)
    drops = [zone.pressure.worst_drop if zone.pressure is not None else None for zone in sized if zone.delivers]
    known_drops = [drop for drop in drops if drop is not None]
    worst_drop = max(known_drops) if known_drops and len(known_drops) == len(drops) else None
    prices = price_list(build.spec.prices, own.prices)
    listed = own.catalogue
    shelf = joining(listed, tuple(prices.each().items()))
    put_together = fittings(build, sized, listed, shelf)
    tests = leak_test(build, sized, put_together)
    kept = in_test(build, put_together, listed, shelf, tests)
    judged = judge(build, tests, day)
    found_rooms = rooms(build, appliances)
    thin_air = high_up(build, found_zones, appliances)
    found_rules = rulings(build, found_zones, sized, held, worst_drop, judged, held_on, tied, found_rooms)
    due = upkeep(build)
    connected = connect(build, appliances, put_together)
    lengths = cutting(build, sized, connected, prices, build.spec.on_shelf)
    passed = passages(build, sized)
    job = Job(build, sized, listed, put_together, connected, lengths, passed, for_test(build, tests, kept))
    items = materials(job)
    problems = (*problems, *key_problems(build, items, listed))
    load = sum(s.load for s in appliances)
    valve = excess(build, sized, load)
    findings = [
        *(finding for zone in sized for finding in sizing_findings(build, zone)),
        *series_findings(settled),
        *(finding for zone in sized for finding in pressure_findings(build, zone)),
        *regulator_findings(build, sized),
        *_jetting_findings(build, found_zones, appliances),
        *container_findings(build, held),
        *cold_findings(build, held, cold),
        *lasting_findings(build, held, cold),
        *mount_findings(build, held_on, tied),
        *clearance_findings(build, around),
        *excess_findings(valve),
        *fitting_findings(build, put_together),
        *support_findings(build, passed),
        *ground_findings(build, sized),
        *locker_findings(build, sized),
        *reach_findings(build, connected, appliances),
        *cutting_findings(build, lengths),
        *doubts(build, appliances),
        *listing_findings(build, appliances),
        *_plausible(build, appliances),
        *rule_findings(found_rules),
        *altitude_findings(build, thin_air),
        *air_findings(build, found_rooms),
        *alarm_findings(found_rooms),
        *proof_findings(build, tests, kept),
        *verdict_findings(judged, facts.system(build)),
        *upkeep_findings(build, due, as_of),
        *to_come(build, as_of),
        *_unknown(build, appliances),
        *_open_keys(build),
    ]
    errors = sum(1 for finding in findings if finding.severity is Severity.ERROR)
    reached = standing(build, tests, judged, Basis(codes(build), day, shared), errors)
    findings += standing_findings(build, reached)
    return Study(
        build=build,
        as_of=as_of,
        standing=reached,
        served=appliances,
        load=load,
        container=held,
        cold=cold,
        mount=held_on,
        tie=tied,
        clearances=around,
        zones=sized,
        excess_flow=valve,
        rules=found_rules,
        cautions=cautions(facts.conditions(build), build.region.id),
        fittings=put_together,
        connected=connected,
        lengths=lengths,
        passages=passed,
        materials=items,
        job=job,
        prices=prices,
        leak_test=tests,
        in_test=kept,
        judged=judged,
        rooms=found_rooms,
        high_up=thin_air,
        upkeep=due,
        findings=tuple(sorted(findings, key=lambda f: f.order)),
    ), problems


def _jetting_findings(
    build: Installation, found_zones: tuple[Zone, ...], appliances: tuple[Served, ...]
) -> Iterator[Finding]:
    """Appliances jetted for another gas or pressure than their zone delivers, and regulators too small for it."""
    system = facts.system(build)
    by_outlet = {outlet: zone for zone in found_zones for outlet, _ in zone.outlets}
    for s in appliances:
        zone = by_outlet[s.id]
        jetted = s.appliance.jetted_for
        delivered = float(zone.regulator.outlet)
        if jetted is None:
            continue
        gas = build.spec.gas
        wrong = {"propane": gas.butane > MIXED, "butane": gas.propane > MIXED, "propane-butane": False}
        if wrong.get(jetted.gas, True):
            yield error(
                "jetted-for-another-gas",
                s.id,
                (*s.at, "appliance", "jetted_for", "gas"),
                f"{s.appliance.name} is jetted for {jetted.gas}.",
                "Jets for another gas give a wrong, sooty or lifting flame, and carbon monoxide.",
                "Have it converted by a licensed person with its maker's kit, or use another appliance.",
            )
        elif {"propane": gas.butane, "butane": gas.propane}.get(jetted.gas, 0.0) > SOME:
            yield warning(
                "jetted-for-one-gas",
                s.id,
                (*s.at, "appliance", "jetted_for", "gas"),
                f"{s.appliance.name} is jetted for {jetted.gas} alone, and the gas here is {gas.propane * 100:.0f} % propane "
                f"and {gas.butane * 100:.0f} % butane.",
                "A mixture burns otherwise than the gas the jets were made for, and changes as the container empties.",
                "Ask the supplier what is in the container, and the plate or the maker whether it may burn that.",
            )
        if abs(jetted.pressure - delivered) > 0.1 * delivered:
            yield error(
                "jetted-for-another-pressure",
                s.id,
                (*s.at, "appliance", "jetted_for", "pressure"),
                f"{s.appliance.name} is made for {units.show(jetted.pressure, 'supply pressure', system)}; its regulator "
                f"gives {units.show(delivered, 'supply pressure', system)}.",
                "An appliance burns as its plate says only at the pressure on its plate.",
                "Choose regulator and appliances for one pressure, with a licensed fitter.",
            )
    for zone in found_zones:
        rated = regulator_capacity(zone.regulator, heating_value(build))
        if rated is not None and zone.load > rated * (1 + 1e-9):
            yield _too_small(build, zone, rated, system)
        if rated is None:
            yield warning(
                "regulator-capacity-unknown",
                zone.id,
                zone.at,
                "The regulator's capacity is not stated.",
                "Whether it can feed all appliances at once is not known.",
                "Read it off the regulator's data sheet, at its lowest inlet pressure, and add 'capacity:'.",
            )


def _too_small(build: Installation, zone: Zone, rated: float, system: units.System) -> Finding:
    """A regulator whose rating, `rated` in W of gross heat, is less than its load. A power does not say which heat it counts:
    where plates count net, a rating that carries the load as net heat may do."""
    given, at = zone.regulator.capacity, (*zone.at, "capacity")
    asked = f"all appliances behind it ask for {units.show(zone.load, 'load', system)} of gross heat"
    by_mass = given is not None and given.dimension == "mass flow"
    says = f"{units.show(rated, 'load', system)}, {'by its gas per hour' if by_mass else 'taken as gross heat'}"
    larger = most_carried(build, zone.regulator) or rated
    doubt = f" If it counts net heat, it is {units.show(larger, 'load', system)} gross." if larger > rated else ""
    if zone.load <= larger * (1 + 1e-9):
        return warning(
            "regulator-maybe-too-small",
            zone.id,
            at,
            f"The regulator is rated for {says}, and {asked}.{doubt} That would be enough.",
            "Past its rating a regulator lets its outlet pressure fall; which heat a rating in power counts is seldom written.",
            "Read the rating in kg/h off its data sheet and give that as 'capacity:': it leaves no doubt.",
        )
    return error(
        "regulator-too-small",
        zone.id,
        at,
        f"The regulator is rated for {says}, and {asked}.{doubt}",
        "Past its rating a regulator lets its outlet pressure fall.",
        "Use a regulator rated for the whole load at its lowest inlet pressure. A rating in gas per hour, such as kg/h, leaves "
        "no doubt which heat is meant.",
    )


def _plausible(build: Installation, appliances: tuple[Served, ...]) -> Iterator[Finding]:
    """Input rates far outside what the kind of appliance usually has: most often a unit or a zero too many."""
    usual = files.load("appliances.yaml")["kinds"]
    system = facts.system(build)
    for s in appliances:
        row = usual.get(s.appliance.kind)
        if row is None:
            continue
        least, most = (float(units.parse(row[key], "power")) for key in ("least", "most"))
        if not least / FAR_OFF <= s.load <= most * FAR_OFF:
            impossible = not least / IMPOSSIBLE <= s.load <= most * IMPOSSIBLE
            yield (error if impossible else warning)(
                "input-far-off",
                s.id,
                (*s.at, "appliance", "input"),
                f"{s.appliance.name} is given '{s.appliance.input.text}'; a {s.appliance.kind.replace('-', ' ')} "
                f"usually has {units.show(least, 'load', system)} to {units.show(most, 'load', system)}.",
                "A figure this far off is most often a slip of a unit or a zero; a point is read as a decimal point, so that "
                "24.000 is 24.",
                "Read the plate again.",
                "usual ranges from memory",
            )


def _unknown(build: Installation, appliances: tuple[Served, ...]) -> Iterator[Finding]:
    """What the spec leaves open and somebody will ask for."""
    assumed = [
        s for s in appliances if s.appliance.input_basis is None and s.gross_share > 1.0 and facts.counts_heat(build, s)
    ]
    if assumed:
        yield note(
            "input-basis-assumed",
            "build",
            (*assumed[0].at, "appliance", "input"),
            "Plates and energy a day are taken to count net heat, because the spec does not say: "
            f"{', '.join(s.appliance.name for s in assumed)}.",
            "That is usual in this region, and on the careful side: if they count gross heat, each burns "
            f"{(1 - 1 / assumed[0].gross_share) * 100:.0f} % less gas than is worked out here.",
            "Read the plates: Hi or net, Hs or gross. Add 'input_basis:', or give 'input:' as the gas per hour on the plate and "
            "'daily_use:' as hours or gas.",
            str(build.region.supply.plates.citation),
        )
    for s in appliances:
        if s.appliance.jetted_for is None:
            yield warning(
                "jetting-unknown",
                s.id,
                s.at,
                f"What gas and pressure {s.appliance.name} is jetted for is not stated.",
                "An appliance jetted for another gas or pressure is dangerous, and looks the same.",
                "Read its plate and add 'jetted_for:'.",
            )
        if s.appliance.flue is None:
            yield warning(
                "flue-unknown",
                s.id,
                s.at,
                f"Where the flue gases of {s.appliance.name} go is not stated.",
                "Ventilation and carbon monoxide depend on it.",
                "Add 'flue: room-sealed', 'open-flued' or 'flueless'.",
            )
        if connector_drop(s) is None:
            rigid = s.outlet.connector is not None and s.outlet.connector.kind == "rigid"
            yield note(
                "connector-capacity-unknown",
                s.id,
                (*s.at, "connector") if s.outlet.connector else s.at,
                f"What the connector of {s.appliance.name} takes of the pressure is not known.",
                "Its pressures here are those before the connector.",
                "A rigid tail has no rating: measure the pressure at the appliance with everything on."
                if rigid
                else "Read the rated capacity off its tag or data sheet and add 'capacity:' under 'connector:'.",
            )
        alone = _valve_alone(build, s.id) if s.outlet.shut_off is False else None
        if alone is not None:
            yield warning(
                "shut-off-in-branch",
                s.id,
                (*s.at, "shut_off"),
                f"The only shut-off valve of {s.appliance.name} is {alone}, in its branch.",
                "An appliance must be able to be shut off by itself, within reach.",
                "Ask whether that valve stands near enough, or fit one upstream of the connector.",
                "IFGC 409.5 (read in two or more public texts)",
            )
        elif s.outlet.shut_off is False:
            yield error(
                "no-shut-off",
                s.id,
                (*s.at, "shut_off"),
                f"{s.appliance.name} has no shut-off valve of its own.",
                "An appliance must be able to be shut off by itself, within reach.",
                "Fit a listed valve upstream of its connector.",
                "IFGC 409.5 (read in two or more public texts)",
            )
    where, meant = facts.setting(build), build.region.settings
    if where is not None and where not in meant:
        yield warning(
            "region-for-another-setting",
            "build",
            ("setting",),
            f"The rules of '{build.region.id}' are for a {' or '.join(meant)}, and this is a {where}.",
            f"What they are for: {build.region.scope}",
            "Take the region that is for it, if there is one; else take every row of the rules as a hint only, and ask which rules hold.",
        )
    if where is None:
        yield note(
            "setting-unknown",
            "build",
            ("region",),
            "What the gas is fitted in is not stated.",
            "The region's rules differ for a vehicle, a trailer, a cabin and a boat; cautions for several are shown.",
            "Add 'setting: cabin', 'trailer', 'vehicle' or 'boat'.",
        )


def _valve_alone(build: Build, outlet: str) -> str | None:
    """The valve in the line that serves this outlet and no other; None where a junction comes first."""
    at = build.by_id[outlet].parent
    while at >= 0 and not isinstance(build.nodes[at].part, Junction | Regulator):
        if isinstance(build.nodes[at].part, Valve):
            return build.nodes[at].id
        at = build.nodes[at].parent
    return None


def _open_keys(build: Build) -> Iterator[Finding]:
    """Sizes, connectors and threads that a build which stands does not state: no code can stand for what is not stated."""
    if build.spec.fitted is None:
        return
    missing = tuple(_missing(build))
    if missing:
        yield warning(
            "fitted-not-stated",
            "build",
            missing[0],
            f"The build is fitted, and its spec does not state {len(missing)} of its sizes, connectors and threads: "
            f"{', '.join(_key(build, at) for at in missing[:MOST_KEYS])}{', ...' if len(missing) > MOST_KEYS else ''}.",
            "A code stands for what the spec states. What is left out is not in it, and can change unseen.",
            "Read each off what was fitted and add it. Both codes then change, so add it before the tests are recorded.",
        )


MOST_KEYS = 12
"""How many keys that are not stated one message names (our choice)."""


def _missing(build: Build) -> Iterator[Path]:
    """The places of sizes, connectors and threads that are not stated."""
    spec = build.spec
    if spec.container.connection is None:
        yield ("container", "connection")
    for name in ("inlet_thread", "outlet_thread"):
        if getattr(spec.regulator, name) is None:
            yield ("regulator", name)
    for node in build.nodes:
        part = node.part
        if isinstance(part, Run) and part.size is None:
            yield (*node.at, "size")
        elif isinstance(part, Regulator):
            yield from ((*node.at, name) for name in ("inlet_thread", "outlet_thread") if getattr(part, name) is None)
        elif isinstance(part, Outlet):
            if part.connector is None:
                yield (*node.at, "connector")
            elif part.connector.length is None:
                yield (*node.at, "connector", "length")
            if part.appliance.inlet_thread is None:
                yield (*node.at, "appliance", "inlet_thread")


def _key(build: Build, at: Path) -> str:
    """A place as people name it, as in 'size of run-heater'."""
    ids = {node.at: node.id for node in build.nodes}
    owner = next((ids[at[:i]] for i in range(len(at), 0, -1) if at[:i] in ids), str(at[0]))
    return f"{'connector length' if at[-2:] == ('connector', 'length') else str(at[-1]).replace('_', ' ')} of {owner}"
