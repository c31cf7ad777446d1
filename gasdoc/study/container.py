"""The container of a build: how much it holds, how long that lasts, and whether its kind suits its use."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from gasdoc.catalog.containers import Orientation, Service, fill_share, objections, water_volume
from gasdoc.engineering import fuel as fluid
from gasdoc.source import Citation
from gasdoc.study.facts import Served
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.resolve import Resolved
from gasdoc.study.zones import fuel, heating_value

FILL_TEMPERATURE = 277.6
"""K: 40 degF, at which the 80 percent rule and the filling densities are the same rule."""


@dataclass(frozen=True, slots=True)
class Container:
    """The containers together: `water_capacity` in m3 of one, `fuel_mass` in kg of one at its fill limit.

    `energy` in J is that of all of them full; `per_day` in W is the mean load of a stated day, None where no
    appliance's daily use is known; `days` is what a full set lasts then. `unstated` names appliances without a use.
    """

    name: str
    number: int
    water_capacity: float
    water_source: str
    fuel_mass: float
    fill: float
    fill_source: Citation
    energy: float
    per_day: float | None
    days: float | None
    unstated: tuple[str, ...]


def container(resolved: Resolved, appliances: tuple[Served, ...]) -> Container:
    """What the containers hold and how long it lasts at the stated use."""
    spec = resolved.build.spec
    stamped, kind = spec.container.water_capacity, resolved.kind
    if stamped is not None:
        water = water_volume(float(stamped)) if stamped.dimension == "mass" else float(stamped)
        source = f"stated in the spec, {stamped.text}"
    else:
        assert kind.water_capacity is not None, "checked when the kind was looked up"
        water = kind.water_capacity.low
        source = f"usual for a {kind.names[0]} ({kind.water_capacity.confirmed}); the stamp rules"
    fill, fill_source = fill_share()
    mass = water * fill * fluid.liquid_density(fuel(resolved.build), FILL_TEMPERATURE)
    if stamped is None and kind.fuel_mass is not None:
        mass = kind.fuel_mass.low
    heat = heating_value(resolved.build)
    known = [s.per_day for s in appliances if s.per_day is not None]
    per_day = sum(known) / 86400.0 if known else None
    energy = mass * spec.container.number * heat
    return Container(
        name=kind.names[0],
        number=spec.container.number,
        water_capacity=water,
        water_source=source,
        fuel_mass=mass,
        fill=fill,
        fill_source=fill_source,
        energy=energy,
        per_day=per_day,
        days=energy / (per_day * 86400.0) if per_day else None,
        unstated=tuple(s.appliance.name for s in appliances if s.per_day is None),
    )


_OBJECTIONS = {
    "liquid-to-appliances": (
        "service", "The container is set to give liquid.",
        "Liquid through a regulator means a flame many times too large.",
        "Use a container, and a position, that gives vapour.", "24 CFR 3280.704(b)(2); 46 CFR 58.16-1(b)",
    ),
    "no-vapour-outlet": (
        "type", "This kind of container gives liquid only.",
        "Liquid through a regulator means a flame many times too large.",
        "Use a kind made for vapour withdrawal.", "24 CFR 3280.704(b)(2); 46 CFR 58.16-1(b)",
    ),
    "wrong-orientation": (
        "orientation", "This kind of container is not made to be mounted that way.",
        "Its vapour outlet and its relief valve are in the vapour space only in the marked position; on its side it "
        "gives liquid.", "Mount it as its label shows, or use a kind made for this position.",
        "24 CFR 3280.704(b)(2)(ii)",
    ),
    "comes-off-to-fill": (
        "stays", "The spec says the container stays on the build, but this kind has to come off to be filled.",
        "It is filled at a scale or exchanged.", "Plan for taking it off, or use a kind that is filled in place.", None,
    ),
    "does-not-come-off": (
        "stays", "The spec says the container comes off, but this kind is filled where it is mounted.",
        "It is bolted down and not made to be carried.", "Write 'stays: yes', or use a cylinder.", None,
    ),
}  # fmt: skip


def container_findings(resolved: Resolved, held: Container, load: float) -> Iterator[Finding]:
    """What the kind and the place of the container give cause to say."""
    c = resolved.build.spec.container
    service: Service = "liquid" if c.service == "liquid" else "vapour"
    position: Orientation | None = None
    if c.orientation is not None:
        position = "upright" if c.orientation == "upright" else "horizontal"
    for reason in objections(resolved.kind, service, position, c.stays):
        key, message, why, remedy, source = _OBJECTIONS[reason]
        cited = f"{source} (read in two or more public texts)" if source else None
        yield error(f"container-{reason}", "container", ("container", key), message, why, remedy, cited)
    if c.place == "inside":
        yield error(
            "container-inside", "container", ("container", "place"), "The container stands inside.",
            "A leak at its valve fills the room, and its relief valve discharges there.",
            "Put it outdoors, or in a compartment that is closed to the inside and vented to outdoors.",
            "24 CFR 3280.704(b), 675 IAC 15-2-74 (read in two or more public texts)",
        )  # fmt: skip
    if c.orientation is None:
        yield warning(
            "container-orientation-unknown", "container", ("container",), "How the container is mounted is not stated.",
            "In the wrong position it gives liquid instead of vapour.", "Add 'orientation: upright' or 'horizontal'.",
        )  # fmt: skip
    if c.place is None:
        yield warning(
            "container-place-unknown", "container", ("container",), "Where the container is, is not stated.",
            "Whether a leak or its relief valve can reach the inside depends on it.",
            "Add 'place: outdoors', 'locker', 'chassis' or 'drawbar'.",
        )  # fmt: skip

