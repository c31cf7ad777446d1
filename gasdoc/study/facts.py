"""Plain facts of a build that several parts of a study ask for: its setting, its appliances, its conditions."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Annotated, Literal, cast

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Appliance, Connector, Hose, Outlet, Regulator, Run
from gasdoc.build.reader import Build
from gasdoc.catalog import appliances, containers, stock, tubing
from gasdoc.engineering.constants import DAY, FREEZING, STANDARD_ATMOSPHERE
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.engineering.supply import lpg
from gasdoc.quantities import By, Joule, KilogramPerSecond, Known, Metre, Pascal, Ratio, Shown, Watt
from gasdoc.regions.region import Basis, Delivered, Region, region
from gasdoc.regions.rules import Rule
from gasdoc.source import Citation, Path

COLD = FREEZING
"""K: a container that works below this is asked the questions of a cold place (the freezing point, our choice)."""

HIGH: Annotated[
    Metre,
    Known(
        "altitude from which the air of a build is asked about: about 2000 ft",
        "Rounded from the altitude up to which NFPA 54 lets the plate hold, see engineering/supply/altitude ASKED_FROM",
        "practice",
    ),
] = 600.0


READABLE = 10.0
"""Pa: what no plate states and no gauge on site shows, 0.04 inH2O or 0.1 mbar. A limit missed by less is not missed."""


class Installation(Build, frozen=True, kw_only=True):
    """A build with its names looked up: region, container kind and, for every run by id, the size given and those on offer."""

    region: Annotated[Region, By("id", "title")]
    container_kind: Annotated[containers.ContainerKind, By("id", "title")]
    given_sizes: dict[str, tubing.Size]
    offered_sizes: dict[str, tuple[tubing.Size, ...]]

    @cached_property
    def served(self) -> tuple[Served, ...]:
        """The appliances in the order of the tree."""
        heat = heating_value(self)
        found = []
        for node, outlet in self.each(Outlet):
            appliance = outlet.appliance
            power, counted = load(self, appliance), basis(self, appliance)
            share = gross_share(self, energy_basis(self, appliance))
            used = None if appliance.daily_use is None else energy_of(appliance.daily_use, power, heat, share)
            found.append(Served(node.id, node.at, outlet, power, used, counted, share, power / heat))
        return tuple(found)


def is_first_stage(build: Build) -> bool:
    """Whether each appliance has another regulator before it than the one at the container."""
    return all(build.zone_of[node.id] != build.first for node, _ in build.each(Outlet))


def rated_capacity(part: Regulator | Hose | Connector, heat: float) -> float | None:
    """The rated capacity of a regulator, its hose or an appliance's connector in W, None where it is not stated; one in gas per
    hour is converted with the heating value `heat` (J/kg)."""
    rated = part.capacity
    if rated is None:
        return None
    return rated * heat if rated.dimension == "mass flow" else float(rated)


class Served(Struct, frozen=True):
    """An appliance with its outlet: `load` in W and `per_day` in J a day, both gross heat (`per_day` None where the spec
    does not say).

    `basis` is the heat its plate counts, None where the plate gives gas per hour; `gross_share` what its energy is times to
    give gross heat, also beside such a plate; `mass` in kg/s the gas it burns.
    """

    id: str
    at: Path
    outlet: Annotated[Outlet, By("distance", "connector")]
    load: Watt
    per_day: Joule | None
    basis: Basis | None
    gross_share: Ratio
    mass: KilogramPerSecond

    @property
    def appliance(self) -> Shown[Annotated[Appliance, By("name", "kind", "input", "flue")]]:
        """The appliance."""
        return self.outlet.appliance

    @property
    def name(self) -> str:
        """What the spec calls the appliance."""
        return self.outlet.appliance.name

    @property
    def kind(self) -> appliances.Kind:
        """What is known of its kind."""
        return appliances.kinds()[self.outlet.appliance.kind]

    @property
    def connector_rated(self) -> float | None:
        """What its connector is rated for, W of gross heat; None where that is not stated."""
        connector = self.outlet.connector
        return rated_capacity(connector, self.load / self.mass) if connector is not None else None


class OutletPressure(Struct, frozen=True):
    """The pressures at one appliance's inlet, Pa gauge.

    `full`: all appliances on, regulator as set. `alone`: only this one. `lowest`: all on, regulator at the low end of
    its tolerance. `highest`: nothing on, regulator locked up. `minimum` and `maximum` are the plate's, None if not
    known. `connector_drop` is included in all but `highest`, None where the connector's rating is not known. `name` is the
    appliance's.
    """

    id: str
    name: str
    full: Pascal
    alone: Pascal
    lowest: Pascal
    highest: Pascal
    minimum: Pascal | None
    maximum: Pascal | None
    connector_drop: Pascal | None
    starved: bool

    @property
    def short(self) -> bool:
        """Whether less than the plate's least reaches it with everything on."""
        return self.starved or (self.minimum is not None and self.full < self.minimum - READABLE)

    @property
    def weak(self) -> bool:
        """Whether less than the plate's least reaches it with the regulator at the low end of its tolerance."""
        return self.minimum is not None and self.lowest < self.minimum - READABLE

    @property
    def over(self) -> bool:
        """Whether it sees more than the plate's most when nothing burns."""
        return self.maximum is not None and self.highest > self.maximum + READABLE


def system(build: Build) -> units.System:
    """The unit system of the build's pages: the spec's, else what is usual in its region."""
    return cast(units.System, build.spec.units or region(build.spec.region).units)


def the_regulator(id_: str) -> str:
    """A regulator in a sentence: by its id, unless that is the one an element gets that is given none."""
    return "the regulator" if id_ == "regulator" else f"the regulator {id_}"


def counts_heat(build: Build, appliance: Served) -> bool:
    """Whether anything stated of an appliance turns on what heat is meant: its plate, or its use as energy."""
    uses = [appliance.appliance.daily_use, *(season.daily_use.get(appliance.id) for season in build.spec.seasons)]
    return appliance.basis is not None or any(
        use is not None and use.dimension not in ("time", "mass flow") for use in uses
    )


def energy_of(use: units.Given, power: float, heat: float, share: float) -> float:
    """A daily use as J of gross heat a day: hours at the full input `power` (W, gross), gas of gross heating value `heat`
    (J/kg) a day, or energy of which one unit is `share` units of gross heat."""
    if use.dimension == "time":
        return power * min(float(use), DAY)
    if use.dimension == "mass flow":
        return use * DAY * heat
    return use * DAY * share


def setting(build: Build) -> str | None:
    """What the gas is fitted in: the spec's word, or what the region takes a build for; None where neither says."""
    if build.spec.setting is not None:
        return build.spec.setting
    return region(build.spec.region).practice.setting


def moves(build: Build) -> bool:
    """Whether it travels on a road or water; taken as true where the spec does not say."""
    return setting(build) != "cabin"


def usual_pressure(build: Build) -> Delivered:
    """The pressure that appliances are usually made for in a build's region and setting."""
    in_building = not moves(build) and not build.spec.gas.butane
    return region(build.spec.region).supply.delivered(propane_in_building=in_building)


def stands_in(build: Build, where: str | None) -> bool:
    """Whether a row of a region that is for `where` (None for all) is for this build."""
    return where is None or (where == "moves") == moves(build)


def trap_rule(build: Installation) -> Rule | None:
    """The row that asks for a drip leg with a cap at this build's appliances; None where none does."""
    rule = build.region.rule("sediment-trap")
    return rule if rule is not None and stands_in(build, rule.where) else None


def stays(build: Installation) -> bool:
    """Whether the container stays on the build: as stated, else as is usual for its kind."""
    stated = build.spec.container.stays
    return stated if stated is not None else build.container_kind.stays == "permanent"


def takes_trap(build: Installation, kind: appliances.Kind) -> bool:
    """Whether the region asks for a drip leg with a cap at this kind of appliance in this build."""
    excepted = set(kind.no_trap).intersection(build.region.practice.rows)
    return kind.trap and not excepted and trap_rule(build) is not None


def conditions(build: Installation) -> frozenset[str]:
    """The conditions of this build that cautions and questions hang on."""
    spec, where, of_tubing = build.spec, setting(build), families(build)
    holds = {
        "vehicle": where in (None, "trailer"),
        "cabin": where is None,
        "sleeping": not spec.spaces or any(space.sleeping_places != 0 for space in spec.spaces),
        "cold": spec.coldest is None or spec.coldest < COLD,
        "altitude": spec.altitude is not None and spec.altitude >= HIGH,
        "permanent-container": stays(build),
        "exchanged-cylinder": not stays(build),
        "inside-locker": spec.container.place in (None, "locker"),
        "flueless": any(s.appliance.flue in (None, "flueless") for s in build.served),
        "butane": spec.gas.butane > 0,
        "two-stage": spec.regulator.stages == 2 or any(node.kind == "regulator" for node in build.nodes),
        "regulator-hose": any(regulator.hose is not None for _, _, regulator in regulators(build)),
        "engine": any(s.kind.engine for s in build.served),
        "csst-moving": "csst" in of_tubing and moves(build),
    }
    found = of_tubing | {handle(build) or "handle-not-known"} | ({where} if where is not None else set())
    return found | {word for word, answer in holds.items() if answer}


def handle(build: Installation) -> Literal["handwheel", "clip-on"] | None:
    """What shuts the container; None where its connection is not stated and the region has cylinders of both kinds."""
    text = build.spec.container.connection
    if text is None:
        return None if build.region.practice.takes(("european",)) else "handwheel"
    return "clip-on" if parse_end(text, "female", on_container=True).kind.startswith("clip-") else "handwheel"


def regulators(build: Build) -> Iterator[tuple[str, Path, Regulator]]:
    """Every regulator with its id and its place in the spec, the first one first."""
    yield build.first, ("regulator",), build.spec.regulator
    yield from ((node.id, node.at, regulator) for node, regulator in build.each(Regulator))


def families(build: Build) -> frozenset[str]:
    """What the tubing used is known as to cautions and the upkeep plan: copper, csst, steel, pe."""
    return frozenset(tubing.material(build.material(node)[0]).family for node, _ in build.each(Run))


def heating_value(build: Build) -> float:
    """Gross heating value of the build's gas, J/kg, table basis."""
    return lpg.gross_heating_value(fuel(build))


def fuel(build: Build) -> lpg.Fuel:
    """The build's gas."""
    return lpg.Fuel(min(1.0, max(0.0, float(build.spec.gas.propane))))


def basis(build: Build, appliance: Appliance) -> Basis | None:
    """What heat an appliance's plate counts: as stated, else as is usual in the region; None where it gives gas per hour."""
    return None if appliance.input.dimension == "mass flow" else energy_basis(build, appliance)


def energy_basis(build: Build, appliance: Appliance) -> Basis:
    """What heat is meant where an appliance's use is given as energy: as stated, else as is usual in the region. A plate in
    gas per hour says nothing of it."""
    if appliance.input_basis is not None:
        return "net" if appliance.input_basis == "net" else "gross"
    return region(build.spec.region).supply.plates.basis


def gross_share(build: Build, counted: Basis | None) -> float:
    """Gross heat of the build's gas for one unit of heat counted that way: 1.087 for propane counted net, else 1."""
    return heating_value(build) / lpg.net_heating_value(fuel(build)) if counted == "net" else 1.0


def load(build: Build, appliance: Appliance) -> float:
    """An appliance's input in W, gross heat."""
    return plate_load(appliance, heating_value(build)) * gross_share(build, basis(build, appliance))


def plate_load(appliance: Appliance, heat: float) -> float:
    """The input in W as the plate counts it; gas per hour is converted with the gross heating value `heat` (J/kg)."""
    rate = appliance.input
    return rate * heat if rate.dimension == "mass flow" else float(rate)


def atmosphere(build: Build) -> float:
    """The air pressure where the build is, Pa absolute; at sea level where its altitude is not stated."""
    altitude = build.spec.altitude
    return lpg.atmosphere_absolute(float(altitude)) if altitude is not None else STANDARD_ATMOSPHERE


def connector_kind(build: Installation, outlet: Outlet) -> tuple[str, Citation | None]:
    """The kind of connector, and, where the spec has chosen none, whose practice it follows."""
    if outlet.connector is not None:
        return outlet.connector.kind, None
    return stock.usual_tail(build.region.units)
