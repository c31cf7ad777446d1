"""The container of a build: its shape, how much it holds, how long that lasts, and whether its kind suits its use."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Container as StatedContainer
from gasdoc.catalog import containers as catalog
from gasdoc.catalog.containers import ContainerKind, Orientation, Service, objections
from gasdoc.engineering.constants import DAY, SIXTY_FAHRENHEIT
from gasdoc.engineering.container.endurance import largest_fill
from gasdoc.engineering.container.vaporisation import CylinderTable, LengthRule, PublishedMethod, SupplyVessel
from gasdoc.engineering.container.vessel import Vessel, of_capacity
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import Fuel
from gasdoc.quantities import Aside, CubicMetre, Day, Joule, Kelvin, Kilogram, Known, Metre, Pascal, Ratio, Watt
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, atmosphere, fuel, heating_value, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.words import with_article

FILL_TEMPERATURE: Annotated[
    Kelvin,
    Known(
        "temperature at which 80 % of the volume and the filling densities are the same rule: 40 degF",
        "The two rules",
        "computed",
    ),
] = 277.6

GRAVITY_TEMPERATURE = SIXTY_FAHRENHEIT
"""K: that at which the specific gravity of a liquid is stated."""

UNUSUAL: Annotated[
    Ratio, Known("factor by which a stated water capacity may differ from its kind's", "Our choice", "practice")
] = 1.25
"""More is told: makers differ by a few percent."""

ESTIMATE_HIGH: Annotated[
    Ratio,
    Known(
        "by how much the estimated weight of an ASME container may be too high",
        "See catalog/containers asme_estimates",
        "memory",
    ),
] = 1.7
"""Divided out where light is the careful side."""


class Shape(Struct, frozen=True):
    """One container as the supply methods and the mount see it.

    `diameter` and `length` in m are those outside, overall: of a cylinder that stands with its collar and foot ring. `light` and `heavy` are what it may weigh empty, kg: the same where
    its tare is stated. `sizes` says in words where the sizes come from. `contradiction` says why the stated sizes cannot
    all be right, None if they can.
    """

    supplying: Annotated[SupplyVessel, Aside("the same sizes as the methods take them")]
    diameter: Metre
    length: Metre
    light: Kilogram
    heavy: Kilogram
    sizes: str
    contradiction: str | None

    @property
    def vessel(self) -> Vessel:
        """Its shell."""
        return self.supplying.vessel


class Container(Struct, frozen=True):
    """The containers together: `water_capacity` in m3 of one, `fuel_mass` in kg of one at its fill limit.

    `heaviest_fuel` in kg is the most that may be in one, for what carries it: its kind's largest fill where none is stamped.
    `energy` in J is that of all of them full; `per_day` in W is the mean load of a stated day, None where no
    appliance's daily use is known; `days` is what a full set holds then, whether or not the last of it comes in the cold.
    `unstated` names appliances without a use.
    """

    name: str
    number: int
    water_capacity: CubicMetre
    water_source: str
    fuel_mass: Kilogram
    heaviest_fuel: Kilogram
    fill: Ratio
    fill_source: Citation
    energy: Joule
    per_day: Watt | None
    days: Day | None
    unstated: tuple[str, ...]
    shape: Shape


WARM: Annotated[
    Kelvin,
    Known(
        "temperature of a warm day in the sun: 100 degF, for which pressures of LP gas are usually given",
        "Common practice, no source",
        "practice",
    ),
] = 311.0


class GasPressure(Struct, frozen=True):
    """The pressure in the container at a temperature of its liquid, Pa gauge."""

    temperature: Kelvin
    gauge: Pascal


def gas_pressures(build: Installation) -> tuple[GasPressure, ...]:
    """The pressure in the container at the coldest air that the spec states, and on a warm day; none where the gas has none
    there, or its properties are not known."""
    least, most = lpg.SATURATION_TEMPERATURES
    asked = [float(build.spec.coldest)] if build.spec.coldest is not None else []
    found = (
        GasPressure(kelvin, lpg.saturation_absolute(fuel(build), kelvin) - atmosphere(build))
        for kelvin in (*asked, WARM)
        if least <= kelvin <= most
    )
    return tuple(one for one in found if one.gauge > 0)


def container(build: Installation) -> Container:
    """What the containers hold and how long it lasts at the stated use."""
    c = build.spec.container
    stamped, kind = c.water_capacity, build.container_kind
    if stamped is not None:
        water = catalog.water_volume(float(stamped)) if stamped.dimension == "mass" else float(stamped)
        source = f"stated in the spec, {stamped.text}"
    else:
        assert kind.water_capacity is not None, "checked when the kind was looked up"
        water = kind.water_capacity.low
        source = f"usual for {with_article(kind.names[0])} ({kind.water_capacity.confirmed}). The stamp rules"
    fill, fill_source = catalog.fill_share()
    mass = full_mass(kind, water, fuel(build), stamped is not None)
    heat = heating_value(build)
    known = [s.per_day for s in build.served if s.per_day is not None]
    per_day = sum(known) / DAY if known else None
    energy = mass * c.number * heat
    return Container(
        name=kind.names[0],
        number=c.number,
        water_capacity=water,
        water_source=source,
        fuel_mass=mass,
        heaviest_fuel=mass if stamped is not None or kind.fuel_mass is None else kind.fuel_mass.high,
        fill=fill,
        fill_source=fill_source,
        energy=energy,
        per_day=per_day,
        days=energy / (per_day * DAY) if per_day else None,
        unstated=tuple(s.appliance.name for s in build.served if s.per_day is None),
        shape=shape_of(kind, water, _position(c), c.diameter, c.length, c.tare),
    )


def full_mass(kind: ContainerKind, water: float, gas: Fuel, stamped: bool = False) -> float:
    """The most of `gas` one container of `water` m3 may hold, kg.

    The lower of 80 % of its volume at 40 degF and its filling density; of a kind filled to a rated mass no more than
    that. A kind whose capacity is not `stamped` holds its rated mass.
    """
    rated = kind.fuel_mass.low if kind.fuel_mass is not None else None
    if rated is not None and not stamped:
        return rated
    density = catalog.water_density()
    gravity = lpg.liquid_density(gas, GRAVITY_TEMPERATURE) / density
    by_weight, _ = catalog.filling_density(gravity, water)
    share, _ = catalog.fill_share()
    most = largest_fill(water, lpg.liquid_density(gas, FILL_TEMPERATURE), share, by_weight, density)
    return min(most, rated) if rated is not None and kind.stays == "exchanged" else most


def shape_of(
    kind: ContainerKind,
    water: float,
    mounted: Orientation | None = None,
    diameter: float | None = None,
    length: float | None = None,
    tare: float | None = None,
) -> Shape:
    """The shape of one container that holds `water` m3; what is not given is usual for its kind, or estimated.

    Where a kind's size is a range the larger is taken: at one capacity the wider container has less wetted skin, and what
    is built around it has to take the longer.
    """
    orientation = mounted or kind.orientation[0]
    usual = kind.diameter.high if kind.diameter is not None else None
    estimate = catalog.asme_estimate(water, diameter) if usual is None or kind.tare is None else None
    across = diameter or usual or (estimate.diameter if estimate else 0.0)
    contradiction = None
    if diameter is not None and length is not None and water > math.pi / 4 * diameter**2 * length:
        contradiction = "a plain cylinder of the stated diameter and length holds less than the stated water capacity"
    widest = (12 * water / math.pi) ** (1 / 3)  # two 2:1 heads and nothing between them: pi/12 d^3
    if across > widest:
        across = widest
        contradiction = (
            contradiction or "two heads of the stated diameter alone hold more than the stated water capacity"
        )
    vessel = of_capacity(water * (1 + 1e-9), across, orientation)
    overall = length or (kind.height.high if kind.height is not None else vessel.length)
    if tare is not None:
        light = heavy = tare
    elif kind.tare is not None:
        light, heavy = kind.tare.low, kind.tare.high
    else:
        assert estimate is not None, "a kind without a tare of its own is estimated"
        light, heavy = estimate.tare / ESTIMATE_HIGH, estimate.tare
    given = [word for word, value in (("diameter", diameter), ("length", length), ("tare", tare)) if value is not None]
    guess = "estimated from its capacity" if estimate is not None and usual is None else "usual for its kind"
    words = f"{', '.join(given)} from the spec" if given else ""
    if len(given) < 3:
        words = f"{words}. The rest {guess}, and its plate rules" if words else f"sizes {guess}. Its plate rules"
    # The length rule counts a container over its heads; a collar or foot ring takes in no heat that matters.
    published = _published(kind, orientation, across, overall if kind.height is None else vessel.length)
    return Shape(SupplyVessel(vessel, published), across, overall, float(light), float(heavy), words, contradiction)


def _published(kind: ContainerKind, orientation: Orientation, diameter: float, length: float) -> PublishedMethod | None:
    """The published method for a container: the cylinder table is for the 100-lb one, the length rule for what lies."""
    if orientation == "horizontal":
        return LengthRule(diameter, length, *catalog.length_rule())
    return _cylinder_table() if kind.id == "dot-100lb" else None


@cache
def _cylinder_table() -> CylinderTable:
    return CylinderTable(*catalog.cylinder_table())


_OBJECTIONS = {
    "liquid-to-appliances": (
        "service",
        "The container is set to give liquid.",
        "Liquid through a regulator means a flame many times too large.",
        "Use a container, and a position, that gives vapour.",
        "24 CFR 3280.704(b)(2); 46 CFR 58.16-1(b)",
    ),
    "no-vapour-outlet": (
        "type",
        "This kind of container gives liquid only.",
        "Liquid through a regulator means a flame many times too large.",
        "Use a kind made for vapour withdrawal.",
        "24 CFR 3280.704(b)(2); 46 CFR 58.16-1(b)",
    ),
    "wrong-orientation": (
        "orientation",
        "This kind of container is not made to be mounted that way.",
        (
            "Its vapour outlet and its relief valve are in the vapour space only in the marked position. On its side it "
            "gives liquid."
        ),
        "Mount it as its label shows, or use a kind made for this position.",
        "24 CFR 3280.704(b)(2)(ii)",
    ),
    "comes-off-to-fill": (
        "stays",
        "The spec says the container stays on the build, but this kind has to come off to be filled.",
        "It is filled at a scale or exchanged.",
        "Plan for taking it off, or use a kind that is filled in place.",
        None,
    ),
    "does-not-come-off": (
        "stays",
        "The spec says the container comes off, but this kind is filled where it is mounted.",
        "It is bolted down and not made to be carried.",
        "Write 'stays: yes', or use a cylinder.",
        None,
    ),
}


def _position(stated: StatedContainer) -> Orientation | None:
    if stated.orientation is None:
        return None
    return "upright" if stated.orientation == "upright" else "horizontal"


def container_findings(build: Installation, container: Container) -> Iterator[Finding]:
    """What the kind and the place of the container give cause to say."""
    c = build.spec.container
    service: Service = "liquid" if c.service == "liquid" else "vapour"
    for reason in objections(build.container_kind, service, _position(c), c.stays):
        key, message, why, remedy, source = _OBJECTIONS[reason]
        cited = f"{source} (read in two or more public texts)" if source else None
        yield error(f"container-{reason}", "container", ("container", key), message, why, remedy, cited)
    kind, sold_as = build.container_kind, build.container_kind.gas
    if sold_as == "butane" and c.water_capacity is None and build.spec.gas.propane > catalog.HALF:
        yield error(
            "container-of-another-gas",
            "container",
            ("container", "type"),
            f"{with_article(kind.names[0], 'A')} is sold full of butane, and the spec's gas is mostly propane.",
            "Butane gives no gas below freezing, so what is said here of the cold would be too good.",
            "Write 'gas: butane', or a cylinder that is sold with propane.",
        )
    if kind.material == "composite":
        yield warning(
            "container-composite",
            "container",
            ("container", "type"),
            f"What {with_article(kind.names[0])} gives in the cold is worked out as for steel.",
            "Composite lets less heat through, so the gas cools faster and less of it comes.",
            "Ask its supplier what it gives, and plan for less than is shown here.",
        )
    if container.shape.contradiction is not None:
        yield warning(
            "container-sizes",
            "container",
            ("container", "water_capacity"),
            f"The stated sizes do not go together: {container.shape.contradiction}.",
            "Weight, boil-off and mount are worked out from them.",
            "Read capacity, diameter and length off the plate again.",
        )
    usual = build.container_kind.water_capacity
    if c.water_capacity is not None and usual is not None:
        if not 1 / UNUSUAL <= container.water_capacity / usual.low <= UNUSUAL:
            shown = units.show(usual.low, "liquid volume", system(build))
            mass = units.show(usual.low / catalog.water_volume(1.0), "weight", system(build))
            yield warning(
                "container-capacity-unusual",
                "container",
                ("container", "water_capacity"),
                f"{with_article(build.container_kind.names[0], 'A')} usually holds {shown} of water, {mass}. This one is said to hold {c.water_capacity.text}.",
                "How much gas goes in is worked out from it. A container that is filled too far can burst.",
                "Read the water capacity off the stamp again, and the kind by 'gasdoc catalog containers'.",
            )
    if c.fill is not None and c.fill > container.fill + 1e-9:
        yield error(
            "container-overfilled",
            "container",
            ("container", "fill"),
            f"It is {c.fill.text} full. The limit is {container.fill * 100:.0f} %.",
            "Liquid swells as it warms. A container full of liquid opens its relief valve, or bursts.",
            "Keep away from fire, keep it cool and call the supplier. Do not bleed it off yourself near anything that burns.",
            str(container.fill_source),
        )
    if c.place == "inside":
        yield error(
            "container-inside",
            "container",
            ("container", "place"),
            "The container stands inside.",
            "A leak at its valve fills the room, and its relief valve discharges there.",
            "Put it outdoors, or in a compartment that is closed to the inside and vented to outdoors.",
            "24 CFR 3280.704(b), 675 IAC 15-2-74 (read in two or more public texts)",
        )
    if c.orientation is None:
        yield warning(
            "container-orientation-unknown",
            "container",
            ("container",),
            "How the container is mounted is not stated.",
            "In the wrong position it gives liquid instead of vapour.",
            "Add 'orientation: upright' or 'horizontal'.",
        )
    if c.place is None:
        yield warning(
            "container-place-unknown",
            "container",
            ("container",),
            "Where the container is, is not stated.",
            "Whether a leak or its relief valve can reach the inside depends on it.",
            "Add 'place: outdoors', 'locker', 'chassis' or 'drawbar'.",
        )
