"""What a builder can state about the gas and the container: the container itself, its locker, its mount, the distances around it."""

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from gasdoc.build.model.photos import Photos, photos
from gasdoc.build.model.route import Place
from gasdoc.build.model.values import (
    BUILD,
    NO_CODE,
    TIGHTNESS,
    Area,
    Block,
    BoltLength,
    BoltPlace,
    ClosingRate,
    Duration,
    FillShare,
    Height,
    Length,
    Mass,
    PositiveLength,
    Share,
    SmallLength,
    WaterCapacity,
    no_items,
    not_chosen,
)
from gasdoc.catalog import containers
from gasdoc.scalars import Day, Id, Name, Text, YesNo, choice, count, problem
from gasdoc.units import Given, parse


def _all_of_it() -> Given:
    return parse("100 %", "share")


def _none_of_it() -> Given:
    return parse("0 %", "share")


class Composition(Block, about="What is in the container, by mass."):
    propane: Share = Field(default_factory=_all_of_it, json_schema_extra=BUILD, description="Share of propane by mass.")
    butane: Share = Field(default_factory=_none_of_it, json_schema_extra=BUILD, description="Share of butane by mass.")


def composition(value: Any) -> Any:
    """What a gas named by one word is made of; shares as they are written."""
    if not isinstance(value, str):
        return value
    if value.strip().lower() == "propane":
        return {"propane": "100 %", "butane": "0 %"}
    if value.strip().lower() == "butane":
        return {"propane": "0 %", "butane": "100 %"}
    raise problem(
        "spec-choice",
        f"'{value[:60]}' is not known here",
        "in North America LPG is propane. Elsewhere ask the supplier, then write propane, butane, or the shares by mass: "
        "{propane: 70 %, butane: 30 %}"
        if value.strip().lower() in ("lpg", "lp", "lp-gas", "lp gas", "autogas")
        else "write propane, butane, or the shares by mass: {propane: 70 %, butane: 30 %}",
    )


class Clearances(Block, about="Distances measured around the container, however it is held."):
    relief_to_opening: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the relief valve's outlet to the nearest door, window, hatch or vent that is lower than it.",
    )
    relief_to_ignition: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the relief valve's outlet to the nearest flame, flue, switch or motor.",
    )
    relief_to_intake: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the relief valve's outlet to the nearest air intake of a room-sealed appliance or of a fan.",
    )
    relief_to_exhaust: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the relief valve's outlet to an engine's exhaust."
    )
    fill_to_opening: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the fill point to the nearest opening."
    )
    fill_to_ignition: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the fill point to the nearest source of ignition."
    )
    fill_to_intake: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the fill point to the nearest air intake of a room-sealed appliance or of a fan.",
    )
    fill_to_exhaust: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the fill point to an engine's exhaust."
    )
    vent_to_opening: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the regulator's vent to the nearest opening that is lower than it.",
    )
    vent_to_ignition: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the regulator's vent to the nearest source of ignition."
    )
    ground: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the ground to the lowest point of container, fitting or support, fully laden.",
    )


class Locker(
    Block,
    about="The locker or cabinet the container stands in, inside: sealed from the rooms, vented and drained outward.",
):
    length: PositiveLength | None = Field(None, json_schema_extra=BUILD, description="Inside length.")
    width: PositiveLength | None = Field(None, json_schema_extra=BUILD, description="Inside width.")
    height: PositiveLength | None = Field(None, json_schema_extra=BUILD, description="Inside height.")
    vent_high: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of its openings near the top, 0 if there are none."
    )
    vent_low: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of its openings at the floor, drain included, 0 if none."
    )
    drain: Length | None = Field(
        None, json_schema_extra=BUILD, description="Bore of its drain, inside, 0 if there is none."
    )
    drain_above_water: Height | None = Field(
        None, json_schema_extra=BUILD, description="On a boat: from the waterline at rest up to the drain's end."
    )
    to_opening: Length | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From its vent or its drain, whichever is nearer, to the nearest opening into the rooms.",
    )


class Mount(
    Block,
    about="What holds one container on: bolts through one flat surface, or straps, a chain, a tray or a rack.",
):
    way: Annotated[str, choice("bolts", "straps", "chain", "tray", "rack")] = Field(
        "bolts",
        json_schema_extra=BUILD,
        description="How it is held. The bolts of a tray or rack may be given too.",
    )
    fixed_to: Text | None = Field(
        None, json_schema_extra=BUILD, description="What straps, chain, tray or rack are fixed to, and how."
    )
    number: Annotated[int, count(1, 12)] | None = Field(
        None, json_schema_extra=BUILD, description="How many straps or chains hold one container."
    )
    rated: Mass | None = Field(
        None, json_schema_extra=BUILD, description="Load that each strap or chain is rated for, as marked on it."
    )
    surface: Annotated[str, choice("floor", "overhead", "front-wall", "rear-wall", "left-wall", "right-wall")] = Field(
        "floor",
        json_schema_extra=BUILD,
        description="The surface the bolts go through, seen from the container: floor is below it.",
    )
    thread: Name | None = Field(
        None, json_schema_extra=BUILD, description="Thread of the bolts, such as '1/2-13' or 'M10x1.5'."
    )
    grade: Name | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Grade of the bolts, such as 'grade 5', '8.8' or 'A4-70', from their heads.",
    )
    bolt_length: BoltLength | None = Field(
        None, json_schema_extra=BUILD, description="Length of the bolts. Long ones of some grades are weaker."
    )
    along: list[BoltPlace] = Field(
        default_factory=no_items,
        max_length=12,
        json_schema_extra=BUILD,
        description="Places of the bolts along the build (along the wall, on a wall), from any one point.",
    )
    across: list[BoltPlace] = Field(
        default_factory=no_items,
        max_length=12,
        json_schema_extra=BUILD,
        description="Places of the bolts across the build (up the wall, on a wall). A bolt stands at every crossing.",
    )
    spacer: SmallLength | None = Field(
        None, json_schema_extra=BUILD, description="Thickness of plates between the surface and the container's feet."
    )
    height: PositiveLength | None = Field(
        None,
        json_schema_extra=BUILD,
        description="From the container's feet to its middle (its axis, if it lies), square to the surface.",
    )
    fittings: Mass | None = Field(
        None, json_schema_extra=BUILD, description="Weight of what is fixed to the container: valves, guard, cradle."
    )


def _kind(value: Any) -> Any:
    """The id of a kind that is called by its name. Raises the problem with a size that several kinds have."""
    if not isinstance(value, str) or re.fullmatch(r"[a-z0-9-]+", value.strip()):
        return value
    try:
        return containers.container_kind(value).id
    except containers.UnknownContainer:
        of_size = containers.kinds_of_size(value)
    hint = (
        f"did you mean {' or '.join(map(repr, of_size))}?" if of_size else "'gasdoc catalog containers' lists the kinds"
    )
    raise problem("spec-container", f"'{value.strip()[:60]}' is no kind of container", hint)


KindOfContainer = Annotated[Id, BeforeValidator(_kind)]


class Container(Block, about="The container or set of equal containers the gas comes from."):
    type: KindOfContainer = Field(
        default_factory=not_chosen,
        json_schema_extra=BUILD,
        description="The kind, from the list `gasdoc catalog containers` prints. If left out, it is still to be chosen.",
    )
    number: Annotated[int, count(1, 12)] = Field(
        1, json_schema_extra=TIGHTNESS, description="How many equal containers are connected."
    )
    manifold: Annotated[str, choice("single", "changeover", "parallel", "banks")] | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="How several are joined: changeover (one at a time), parallel (all together) or banks (two banks: "
        "the second goes on when the first is empty).",
    )
    water_capacity: WaterCapacity | None = Field(
        None, json_schema_extra=BUILD, description="Water capacity of one, as stamped: a volume, or a mass of water."
    )
    orientation: Annotated[str, choice("upright", "horizontal")] | None = Field(
        None, json_schema_extra=BUILD, description="How it is mounted."
    )
    service: Annotated[str, choice("vapour", "liquid")] = Field(
        "vapour",
        json_schema_extra=BUILD,
        description="What leaves it: vapour for appliances. Liquid is for engines and dispensers only.",
    )
    place: Annotated[str, choice("outdoors", "locker", "chassis", "drawbar", "inside")] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Where it is: outdoors, in a locker sealed from the inside, on the chassis, on the drawbar.",
    )
    stays: YesNo | None = Field(
        None, json_schema_extra=BUILD, description="Whether it stays on the build to be filled (yes) or is exchanged."
    )
    connection: Name | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Its outlet connection, such as 'POL', 'QCC1', 'G.12'."
    )
    diameter: PositiveLength | None = Field(
        None, json_schema_extra=BUILD, description="Outside diameter, from the nameplate or drawing."
    )
    length: PositiveLength | None = Field(None, json_schema_extra=BUILD, description="Overall length or height.")
    tare: Mass | None = Field(None, json_schema_extra=BUILD, description="Empty weight of one, as stamped.")
    excess_flow: ClosingRate | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Flow at which its excess-flow valve closes: a volume, or a power as gross heat.",
    )
    manufactured: Day | None = Field(
        None, json_schema_extra=BUILD, description="Date of manufacture or first test, from the stamp."
    )
    hose_manufactured: Day | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Date on the hose or pigtail from its valve to the regulator. Of several the oldest.",
    )
    requalified: Day | None = Field(
        None, json_schema_extra=NO_CODE, description="Date of the last requalification, from the stamp."
    )
    serial: Name | None = Field(None, json_schema_extra=BUILD, description="Serial number. Masked on the site.")
    fill: FillShare | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="How much of its volume is liquid now, as its gauge shows: 80 % is full.",
    )
    at: Place | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Where the line leaves it: aft, right and up from the corner. Of several, the first one in use.",
    )
    relief_at: Place | None = Field(
        None, json_schema_extra=BUILD, description="Where its relief valve lets out: aft, right and up from the corner."
    )
    fill_at: Place | None = Field(
        None, json_schema_extra=BUILD, description="Where it is filled: aft, right and up from the corner."
    )
    must_last: Duration | None = Field(
        None, json_schema_extra=NO_CODE, description="How long a full supply should last, as in '10 days'."
    )
    mount: Mount | None = Field(
        None, json_schema_extra=BUILD, description="What holds it on: bolts, straps, a chain, a tray or a rack."
    )
    behind_rear_axle: YesNo | None = Field(
        None, json_schema_extra=BUILD, description="Whether it hangs behind the rear axle."
    )
    locker: Locker | None = Field(
        None, json_schema_extra=BUILD, description="The locker it stands in: its size, vents and drain."
    )
    non_return: YesNo | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Whether each of several connected containers has a non-return valve: in its hose, wall block or changeover.",
    )
    clearances: Clearances | None = Field(
        None, json_schema_extra=BUILD, description="Distances measured around it, however it is held."
    )
    photo: Photos = photos("the container and its plate")
