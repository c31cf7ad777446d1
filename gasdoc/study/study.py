"""Build -> Study: everything computed from one build, one subject after another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.codes import codes
from gasdoc.build.reader import Build
from gasdoc.catalog.parts import Catalogue
from gasdoc.engineering.materials.joints import Shelf
from gasdoc.engineering.materials.take_off import Item
from gasdoc.quantities import Aside, By, Shown, Watt
from gasdoc.regions.cautions import Caution, cautions
from gasdoc.source import Path, Problem, Severity
from gasdoc.study import facts
from gasdoc.study.air.rooms import Room, alarm_findings, rooms
from gasdoc.study.air.ventilation import air_findings
from gasdoc.study.answers import Answers, cold_night, full_supply, gas_gets_there, proven
from gasdoc.study.container.clearances import Clearance, clearance_findings, clearances
from gasdoc.study.container.cold_day import Cold, cold_day
from gasdoc.study.container.cold_findings import cold_findings
from gasdoc.study.container.coldest_days import Usable, lasting_findings, usable
from gasdoc.study.container.holding import Container, GasPressure, container, container_findings, gas_pressures
from gasdoc.study.container.mounting import Mount, Tie, mount, mount_findings, tie
from gasdoc.study.facts import Installation, OutletPressure, Served
from gasdoc.study.findings import Finding
from gasdoc.study.materials.assembly import Fittings, fitting_findings, fittings, joining, on_offer
from gasdoc.study.materials.connectors import Connected, connect, reach_findings
from gasdoc.study.materials.cutting import Lengths, cutting, cutting_findings
from gasdoc.study.materials.hose_ratings import hose_rating_findings
from gasdoc.study.materials.kit import Rest, other_parts
from gasdoc.study.materials.own_files import NOTHING, Own
from gasdoc.study.materials.passages import (
    Passages,
    ground_findings,
    locker_findings,
    passage_findings,
    passages,
    support_findings,
)
from gasdoc.study.materials.price_list import PriceList, price_list
from gasdoc.study.materials.shopping import Shopping, key_problems, shopping
from gasdoc.study.materials.take_off import Job, materials, tools
from gasdoc.study.proof.closures import InTest, in_test
from gasdoc.study.proof.findings import open_key_findings, proof_findings, to_come
from gasdoc.study.proof.leak_test import LeakTest, leak_test
from gasdoc.study.proof.standing import Basis, Milestone, Standing, progress, standing, standing_findings, use_findings
from gasdoc.study.proof.to_buy import for_test
from gasdoc.study.proof.verdicts import Judged, judge, verdict_findings
from gasdoc.study.referral.doubts import doubts, edition_findings, listing_findings, setting_findings
from gasdoc.study.referral.rules import Ruling, rule_findings, rulings
from gasdoc.study.referral.worklist import Worklist, is_planned, lack, worklist
from gasdoc.study.supply.altitude import HighUp, altitude_findings, high_up
from gasdoc.study.supply.appliance_findings import appliance_findings
from gasdoc.study.supply.excess_flow import ExcessFlow, excess, excess_findings
from gasdoc.study.supply.final_sizes import Settled, series_findings, settle
from gasdoc.study.supply.hose_findings import hose_findings
from gasdoc.study.supply.lines import Line, SizedZone, lines_of, zones
from gasdoc.study.supply.names import resolve
from gasdoc.study.supply.plan import plan_findings, stated_only
from gasdoc.study.supply.pressure_findings import pressure_findings
from gasdoc.study.supply.pressures import solve_zone, unfed
from gasdoc.study.supply.regulator_findings import regulator_findings
from gasdoc.study.supply.route import Route, route
from gasdoc.study.supply.route_findings import route_findings
from gasdoc.study.supply.size_findings import sizing_findings
from gasdoc.study.upkeep import Due, upkeep, upkeep_findings

if TYPE_CHECKING:
    from gasdoc.engineering.materials.tools import Tool
    from gasdoc.study.air.release import Releases
    from gasdoc.study.container.endurance import Endurance
    from gasdoc.study.container.kinds_that_serve import Servings
    from gasdoc.study.container.other_days import OtherDays
    from gasdoc.study.materials.least_cost import Cheapest
    from gasdoc.study.materials.screwed import CutPipe
    from gasdoc.study.proof.halving import HalvingStep
    from gasdoc.study.proof.leak_test import Plan
    from gasdoc.study.proof.sequence import LeakSequence
    from gasdoc.study.proof.work import WorkOrder
    from gasdoc.study.referral.questions import QuestionText
    from gasdoc.study.supply.spare_room import SpareRoom


class Study(Struct, frozen=True, dict=True):
    """All results of one build, each worked out when it is first asked for.

    `as_of` is the date on which something may be overdue, None where nobody asks. What no finding comes from loads its modules when a page asks: a check asks for none of it.
    """

    build: Annotated[Installation, By("slug", "path", "spec", "region", "container_kind")]
    settled: Annotated[Settled, Aside("the sizes before the pressures. `zones` has both")]
    own: Annotated[Own, Aside("what the project adds. The materials have what is used of it")]
    as_of: Annotated[dt.date | None, Aside("the day that `check` asks about")]
    basis: Annotated[Basis, Aside("what the records are read by. `standing` has what comes of it")]

    # --- supply

    @property
    def served(self) -> Shown[tuple[Served, ...]]:
        """The appliances in the order of the tree."""
        return self.build.served

    @cached_property
    def route(self) -> Route:
        """The line in space, as far as its legs are stated."""
        return route(self.build)

    @cached_property
    def load(self) -> Watt:
        """The load of all appliances at once, gross heat."""
        return sum(s.load for s in self.served)

    @cached_property
    def zones(self) -> tuple[SizedZone, ...]:
        """The pressure zones in flow order, sized and solved."""
        solved = [solve_zone(self.build, zone) for zone in self.settled.zones]
        return tuple(unfed(self.build, solved, gas_suffices=self.cold is not None))

    @cached_property
    def lines(self) -> Annotated[dict[str, Line], Aside("the runs stand in their zones")]:
        """Every run by its id, in flow order."""
        return lines_of(self.zones)

    @property
    def outlets(self) -> tuple[OutletPressure, ...]:
        """The pressures at the appliances, of those where they are known."""
        return tuple(o for zone in self.zones if zone.pressure is not None for o in zone.pressure.outlets)

    @cached_property
    def worst_drop(self) -> Annotated[float | None, Aside("each zone has its own")]:
        """The largest drop from a regulator to an appliance in Pa, None where it is not known of every zone."""
        drops = [
            zone.pressure.worst_drop if zone.pressure is not None else None for zone in self.zones if zone.delivers
        ]
        known = [drop for drop in drops if drop is not None]
        return max(known) if known and len(known) == len(drops) else None

    @cached_property
    def excess_flow(self) -> ExcessFlow | None:
        """The excess-flow valve against breaks of the line."""
        return excess(self.build, self.zones, self.load)

    @cached_property
    def high_up(self) -> tuple[HighUp, ...]:
        """The appliances of a build that stands high."""
        return tuple(high_up(self.build, self.zones))

    @cached_property
    def room(self) -> SpareRoom:
        """What could still be added."""
        from gasdoc.study.supply.spare_room import room

        spare = self.cold.spare(self.container.per_day) if self.cold is not None else None
        return room(self.build, self.zones, spare)

    # --- container

    @cached_property
    def container(self) -> Container:
        """The container and what it holds."""
        return container(self.build)

    @cached_property
    def gas_pressures(self) -> tuple[GasPressure, ...]:
        """The pressure in the container, cold and warm."""
        return gas_pressures(self.build)

    @cached_property
    def cold(self) -> Cold | None:
        """The coldest day; None where the container's gas never has what the regulator needs."""
        return cold_day(self.build, self.container)

    @cached_property
    def usable(self) -> Usable | None:
        """How long a full supply lasts in the coldest air."""
        return usable(self.build, self.cold)

    @cached_property
    def usable_now(self) -> Annotated[Usable | None, Aside("how long it lasts from the fill of today")]:
        """How long what is in it now lasts in the coldest air; None where the spec does not say how much that is."""
        fill = self.build.spec.container.fill
        if fill is None:
            return None
        return usable(self.build, self.cold, fill=min(float(fill) / self.container.fill, 1.0))

    def other_days(self, shown: units.System) -> OtherDays | None:
        """The day at other fills and in other air, in round figures of the units shown; None where there is no cold day."""
        from gasdoc.study.container.other_days import other_days

        return other_days(self.build, self.cold, shown) if self.cold is not None else None

    @cached_property
    def servings(self) -> Annotated[Servings | None, Aside("stands in `would_serve`")]:
        """The sets of containers that would serve."""
        from gasdoc.study.container.kinds_that_serve import serving

        return serving(self.build, self.container, self.cold)

    @cached_property
    def endurance(self) -> Endurance:
        """How long the gas lasts."""
        from gasdoc.study.container.endurance import endurance

        return endurance(self.build, self.container)

    @cached_property
    def mount(self) -> Mount | None:
        """What holds the container on."""
        return mount(self.build, self.container)

    @cached_property
    def tie(self) -> Tie | None:
        """What keeps it from falling over."""
        return tie(self.build, self.container)

    @cached_property
    def clearances(self) -> tuple[Clearance, ...]:
        """The distances around the container."""
        return tuple(clearances(self.build))

    # --- materials

    @cached_property
    def prices(self) -> Annotated[PriceList, Aside("what the spec states. `shopping` has what it comes to")]:
        """What the spec and the project say things cost."""
        return price_list(self.build.spec.prices, self.own.prices)

    @cached_property
    def catalogue(self) -> Annotated[Catalogue, Aside("what is on offer. The materials have what is used of it")]:
        """The parts that are sold where the build is and go with its tubing."""
        return on_offer(self.build, self.zones, self.own.catalogue)

    @cached_property
    def shelf(self) -> Annotated[Shelf, Aside("the catalogue as joints are looked for in it")]:
        """The parts on offer."""
        return joining(self.catalogue, tuple(self.prices.each().items()))

    @cached_property
    def fittings(self) -> Fittings:
        """The parts put together, joint by joint."""
        return fittings(self.build, self.zones, self.catalogue, self.shelf)

    @cached_property
    def connected(self) -> tuple[Connected, ...]:
        """The connector of every outlet, in the order of the tree."""
        return connect(self.build, self.fittings)

    @cached_property
    def lengths(self) -> tuple[Lengths, ...]:
        """Each tubing with its cutting plan."""
        return cutting(self.build, self.zones, self.connected, self.prices, self.build.spec.on_shelf)

    @cached_property
    def pipes(self) -> tuple[CutPipe, ...]:
        """Screwed pipe by the piece."""
        from gasdoc.study.materials.screwed import pipes

        return pipes(self.build, self.zones, self.fittings)

    @cached_property
    def passages(self) -> Passages:
        """Openings, guards and supports."""
        return passages(self.build, self.zones)

    @cached_property
    def job(
        self,
    ) -> Annotated[Job, Aside("what the materials are made from. Each part of it stands under its own name")]:
        """All that materials and tools are made from."""
        rest = tuple(other_parts(Rest(self.build, self.zones, self.rooms, self.container, self.fittings)))
        extra = for_test(self.build, self.leak_test, self.in_test)
        return Job(
            self.build,
            self.zones,
            self.catalogue,
            self.fittings,
            self.connected,
            self.lengths,
            self.passages,
            rest,
            extra,
        )

    @cached_property
    def materials(self) -> tuple[Item, ...]:
        """Every part the build needs."""
        return materials(self.job)

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

    # --- proof

    @cached_property
    def leak_test(self) -> LeakTest:
        """What the region asks to be tested."""
        return leak_test(self.build, self.zones, self.fittings)

    @cached_property
    def in_test(self) -> InTest:
        """What a pressure test closes, and what stays in it."""
        return in_test(self.build, self.fittings, self.catalogue, self.shelf, self.leak_test)

    @cached_property
    def judged(self) -> tuple[Judged, ...]:
        """The recorded tests, judged."""
        return judge(self.build, self.leak_test, self.basis.day)

    @cached_property
    def plans(self) -> tuple[Plan, ...]:
        """How long to hold each test."""
        from gasdoc.study.proof.leak_test import plans

        return tuple(plans(self.build, self.leak_test))

    @cached_property
    def halving(self) -> Annotated[tuple[tuple[str, tuple[HalvingStep, ...]], ...], Aside("stands beside the study")]:
        """Where to cap first after a failed test, by zone."""
        from gasdoc.study.proof.halving import halves_of

        return tuple(
            (zone.id, halves_of(self.build, self.fittings, self.leak_test, self.in_test, zone.id))
            for zone in self.zones
        )

    @cached_property
    def sequence(self) -> LeakSequence:
        """The test day, step by step."""
        from gasdoc.study.proof.day_facts import TestDay
        from gasdoc.study.proof.sequence import leak_sequence

        return leak_sequence(
            TestDay(
                self.build,
                self.zones,
                self.fittings,
                self.rooms,
                self.leak_test,
                self.in_test,
                self.plans,
                self.standing.codes.tightness,
            )
        )

    @cached_property
    def work(self) -> WorkOrder:
        """The work before the test day, step by step."""
        from gasdoc.study.proof.work import WorkJob, work_order

        return work_order(
            WorkJob(
                self.build,
                self.zones,
                self.rooms,
                self.mount,
                self.tie,
                self.clearances,
                self.fittings,
                self.lengths,
                self.passages,
                self.leak_test.joints,
                self.standing.codes.tightness,
            )
        )

    @cached_property
    def standing(self) -> Standing:
        """How far the build has got."""
        errors = sum(1 for finding in self._subject_findings if finding.severity is Severity.ERROR)
        return standing(self.build, self.leak_test, self.judged, self.basis, errors)

    @cached_property
    def progress(self) -> tuple[Milestone, ...]:
        """The six steps of the build with their dates."""
        return progress(self.build, self.standing, self.basis.day)

    # --- air, upkeep, referral

    @cached_property
    def rooms(self) -> tuple[Room, ...]:
        """The rooms with the appliances in them."""
        return rooms(self.build)

    @cached_property
    def releases(self) -> Releases:
        """What a leak would do."""
        from gasdoc.study.air.release import releases

        return releases(self.build, self.zones)

    @cached_property
    def upkeep(self) -> tuple[Due, ...]:
        """What falls due."""
        return upkeep(self.build)

    @cached_property
    def rules(self) -> tuple[Ruling, ...]:
        """Every rule of the region with what the build has."""
        return tuple(
            rulings(
                self.build, self.zones, self.container, self.worst_drop, self.judged, self.mount, self.tie, self.rooms
            )
        )

    @cached_property
    def cautions(
        self,
    ) -> tuple[Annotated[Caution, By("id", "group", "text", "text_us", "why", "short", "citation")], ...]:
        """What to be careful of."""
        return cautions(facts.conditions(self.build), self.build.region.practice)

    @cached_property
    def questions(self) -> tuple[QuestionText, ...]:
        """What to ask the authority."""
        from gasdoc.study.referral.questions import ask

        return ask(self.build, self.zones, self.leak_test, self.upkeep)

    # --- findings

    @cached_property
    def _subject_findings(self) -> Annotated[tuple[Finding, ...], Aside("`findings` has them all")]:
        build = self.build
        found = chain(
            # supply
            chain.from_iterable((*sizing_findings(build, z), *pressure_findings(build, z)) for z in self.zones),
            series_findings(self.settled),
            regulator_findings(build, self.zones),
            hose_findings(build, self.zones),
            appliance_findings(build, self.zones),
            excess_findings(self.excess_flow),
            altitude_findings(build, self.high_up),
            route_findings(build, self.route),
            # container
            container_findings(build, self.container),
            cold_findings(build, self.container, self.cold),
            lasting_findings(build, self.container, self.cold),
            mount_findings(build, self.mount, self.tie),
            clearance_findings(build, self.clearances),
            # proof
            proof_findings(build, self.leak_test, self.in_test),
            verdict_findings(self.judged, facts.system(build)),
            to_come(build, self.as_of),
            open_key_findings(build),
            # materials
            fitting_findings(build, self.fittings),
            support_findings(build, self.passages),
            ground_findings(build, self.zones),
            locker_findings(build, self.zones),
            passage_findings(build, self.zones),
            reach_findings(build, self.connected),
            hose_rating_findings(build, self.zones, self.fittings),
            cutting_findings(build, self.lengths),
            # air
            air_findings(build, self.rooms),
            alarm_findings(self.rooms),
            # upkeep
            upkeep_findings(build, self.upkeep, self.as_of),
            # referral
            doubts(build),
            listing_findings(build),
            setting_findings(build),
            rule_findings(self.rules),
            edition_findings(build, self.as_of),
        )
        return (*stated_only(build, found), *plan_findings(build))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What there is to say, worst first."""
        found = (
            *self._subject_findings,
            *standing_findings(self.build, self.standing),
            *use_findings(self.build, self.standing, self.basis.day),
        )
        return tuple(sorted(found, key=lambda f: f.order))

    @property
    def said(self) -> Annotated[tuple[Finding, ...], Aside("`findings` has them all")]:
        """The findings as people are told them: while a build is planned, what is not known stands in its list of work."""
        if not is_planned(self.build, self.standing):
            return self.findings
        return tuple(f for f in self.findings if f.severity is Severity.ERROR or lack(f.code) is None)

    @cached_property
    def worklist(self) -> Worklist:
        """What is open, by what one does about it."""
        return worklist(self.build, self.findings, self.standing, len(self.questions))

    @cached_property
    def answers(self) -> Answers:
        """The headline answers."""
        system = facts.system(self.build)
        return Answers(
            standing=proven(self.standing, system),
            gas_gets_there=gas_gets_there(self.zones, self.findings, system),
            cold_night=cold_night(self.cold, self.container, system),
            full_supply=full_supply(self.usable, self.cold, self.container, system),
        )


def installation_study(
    known: Installation,
    own: Own,
    as_of: dt.date | None = None,
    day: dt.date | None = None,
    shared: Mapping[Path, tuple[str, ...]] | None = None,
) -> Study:
    """The study of a build whose names are looked up, with its sizes settled and nothing else worked out yet."""
    settled = settle(known, zones(known))
    return Study(settled.build, settled, own, as_of, Basis(codes(known), day, shared))


def make_study(
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
    known, problems = resolve(build)
    if known is None:
        return None, problems
    made = installation_study(known, own, as_of, day, shared)
    return made, (*problems, *key_problems(build, made.materials, own.catalogue))
