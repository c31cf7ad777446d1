"""The model of a spec: what a builder can state about a build. Nothing here is computed.

Every field has a description and, through its type, an example; the JSON Schema and the reference of keys come from
here. Quantities are SI floats that remember how they were written (`gasdoc.units.Given`).
"""

from __future__ import annotations

import typing
from functools import cache
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from gasdoc.build.prices import OnShelf, Price, PriceText, ShelfText
from gasdoc.catalog import tubing
from gasdoc.scalars import Clock, Day, Id, Money, Name, Quantity, Text, UseOfADay, YesNo, choice, count, problem
from gasdoc.units import Given, parse

FORMAT = 1

Length = Annotated[Given, Quantity(("length",))]
PositiveLength = Annotated[Given, Quantity(("length",), above=True)]
Height = Annotated[Given, Quantity(("length",), least=None)]
SmallLength = Annotated[Given, Quantity(("length",), usual=1.0)]
BoltLength = Annotated[Given, Quantity(("length",), above=True, usual=1.0)]
BoltPlace = Annotated[Given, Quantity(("length",), least=None, usual=4.0)]
Area = Annotated[Given, Quantity(("area",))]
Volume = Annotated[Given, Quantity(("volume",), above=True)]
WaterCapacity = Annotated[Given, Quantity(("volume", "mass"), above=True, usual=4.0)]
Mass = Annotated[Given, Quantity(("mass",), above=True)]
Pressure = Annotated[Given, Quantity(("pressure",), above=True)]
GasPressure = Annotated[
    Given,
    Quantity(
        ("pressure",),
        above=True,
        most=7e5,
        bounds="more than zero, and at most 7 bar (101 psi), where propane is liquid at 15 degC",
    ),
]
PressureFromZero = Annotated[Given, Quantity(("pressure",))]
Tolerance = Annotated[Given, Quantity(("pressure", "share"))]
Temperature = Annotated[Given, Quantity(("temperature",))]
# The bounds below are those of the properties of gas and air the engineering rests on.
Altitude = Annotated[
    Given,
    Quantity(
        ("length",), least=-500.0, most=9000.0, usual=9000.0, bounds="from -500 m (-1640 ft) to 9000 m (29,500 ft)"
    ),
]
OutdoorTemperature = Annotated[
    Given, Quantity(("temperature",), least=218.1, most=323.2, bounds="from -55 degC (-67 degF) to 50 degC (122 degF)")
]
TemperatureStep = Annotated[Given, Quantity(("temperature difference",), above=True)]
InputRate = Annotated[Given, Quantity(("power", "mass flow"), above=True)]
Power = Annotated[Given, Quantity(("power",), above=True)]
DailyUse = Annotated[Given, UseOfADay(("time", "mass flow", "power"))]
ClosingRate = Annotated[Given, Quantity(("volume flow", "power"), above=True)]
Share = Annotated[Given, Quantity(("share",))]
FillShare = Annotated[Given, Quantity(("share",), most=1.0, bounds="from 0 % to 100 %")]
Duration = Annotated[Given, Quantity(("time",), above=True)]
PricedAmount = Annotated[Given, Quantity(("mass", "volume"), above=True)]


# Which of the two codes of a build a key belongs to (`gasdoc.study.codes`). It stands on the key itself, in the schema too.
# What a test of tightness was made on: all that bears on a joint or on what the tubing holds.
TIGHTNESS: dict[str, Any] = {"x-code": "tightness"}
# What a signer looked at besides: it changes the build code only.
BUILD: dict[str, Any] = {"x-code": "build"}
# Names, places, records, wishes and prices: a change of these leaves both codes.
NO_CODE: dict[str, Any] = {"x-code": "none"}


class Block(BaseModel):
    """A block of a spec: unknown keys are errors, values do not change.

    `about` says what it is, in the schema and the reference: a docstring would not be there when Python runs with -OO.
    """

    about: ClassVar[str]

    def __init_subclass__(cls, *, about: str, **more: Any) -> None:
        super().__init_subclass__(**more)
        cls.about = about

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _not_stated(cls, data: Any) -> Any:
        """A key that may be left out and stands empty, or says that it is unknown, is one left out; so is a block of empty
        keys."""
        if not isinstance(data, dict):
            return data
        keys, blocks = _may_be_left_out(cls)
        return {k: v for k, v in data.items() if not ((_open(v) and k in keys) or (k in blocks and _blank(v)))}


@cache
def _may_be_left_out(model: type[BaseModel]) -> tuple[frozenset[str], frozenset[str]]:
    """The keys of a block that may be left out, and those of them that are blocks themselves."""
    keys = {name: field for name, field in model.model_fields.items() if not field.is_required()}
    blocks = {
        name
        for name, field in keys.items()
        if any(isinstance(a, type) and issubclass(a, BaseModel) for a in typing.get_args(field.annotation))
    }
    return frozenset(keys), frozenset(blocks)


def _open(value: Any) -> bool:
    return value is None or (isinstance(value, str) and value.strip().lower() == "unknown")


def _blank(value: Any) -> bool:
    return _open(value) or (isinstance(value, dict) and bool(value) and all(map(_blank, value.values())))


# Functions, not list and dict: pydantic looks at a factory's signature, which takes it far longer for those.
def _no_items() -> list[Any]:
    return []


def _no_names() -> dict[str, Any]:
    return {}


def _not_chosen() -> Any:
    """What an open key has until a choice is taken for it. Nothing is worked out of a build before that."""
    return None


class Composition(Block, about="What is in the container, by mass."):
    propane: Share = Field(
        default_factory=lambda: _share("100 %"), json_schema_extra=BUILD, description="Share of propane by mass."
    )
    butane: Share = Field(
        default_factory=lambda: _share("0 %"), json_schema_extra=BUILD, description="Share of butane by mass."
    )


def _share(text: str) -> Given:
    return parse(text, "share")


def _composition(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    if value.strip().lower() == "propane":
        return {"propane": "100 %", "butane": "0 %"}
    if value.strip().lower() == "butane":
        return {"propane": "0 %", "butane": "100 %"}
    raise problem(
        "spec-choice",
        f"'{value[:60]}' is not known here",
        "in North America LPG is propane; elsewhere ask the supplier, then write propane, butane, or the shares by mass: "
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
        None, json_schema_extra=BUILD, description="Free area of its openings near the top; 0 if there are none."
    )
    vent_low: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of its openings at the floor, drain included; 0 if none."
    )
    drain: Length | None = Field(
        None, json_schema_extra=BUILD, description="Bore of its drain, inside; 0 if there is none."
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
        None, json_schema_extra=BUILD, description="Grade of the bolts, such as 'grade 5' or '8.8', from their heads."
    )
    bolt_length: BoltLength | None = Field(
        None, json_schema_extra=BUILD, description="Length of the bolts; long ones of some grades are weaker."
    )
    along: list[BoltPlace] = Field(
        default_factory=_no_items,
        max_length=12,
        json_schema_extra=BUILD,
        description="Places of the bolts along the build (along the wall, on a wall), from any one point.",
    )
    across: list[BoltPlace] = Field(
        default_factory=_no_items,
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


class Container(Block, about="The container or set of equal containers the gas comes from."):
    type: Id = Field(
        default_factory=_not_chosen,
        json_schema_extra=BUILD,
        description="The kind, from the list `gasdoc catalog containers` prints; left out, it is still to be chosen.",
    )
    number: Annotated[int, count(1, 12)] = Field(
        1, json_schema_extra=TIGHTNESS, description="How many equal containers are connected."
    )
    manifold: Annotated[str, choice("single", "changeover", "parallel")] | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="How several are joined: changeover (one at a time) or parallel (together).",
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
        description="What leaves it: vapour for appliances; liquid is for engines and dispensers only.",
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
    requalified: Day | None = Field(
        None, json_schema_extra=NO_CODE, description="Date of the last requalification, from the stamp."
    )
    serial: Name | None = Field(None, json_schema_extra=BUILD, description="Serial number; masked on the site.")
    fill: FillShare | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="How much of its volume is liquid now, as its gauge shows: 80 % is full.",
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


class Regulator(Block, about="A regulator: at the container, or further down where a pressure zone begins."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    stages: Annotated[int, count(1, 2)] = Field(
        1, json_schema_extra=TIGHTNESS, description="1, or 2 for two stages in one body."
    )
    capacity: InputRate | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Rated capacity at its lowest inlet pressure: mass of gas per hour, or power, which is taken as gross "
        "heat. Gas per hour leaves no doubt.",
    )
    inlet: Pressure | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Lowest inlet pressure at which the capacity is rated."
    )
    outlet: GasPressure = Field(
        default_factory=_not_chosen,
        json_schema_extra=TIGHTNESS,
        description="Outlet pressure it is set to, gauge; of the first regulator left out, it is still to be chosen.",
    )
    tolerance: Tolerance | None = Field(
        None, json_schema_extra=TIGHTNESS, description="How far the outlet may be off its setting, either way."
    )
    lock_up: GasPressure | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Highest outlet pressure at no flow, from its data sheet."
    )
    relief: GasPressure | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Pressure at which its own relief valve opens, from its data sheet.",
    )
    adjustable: YesNo | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Whether a user can change the setting by hand."
    )
    over_pressure_protection: YesNo | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Whether it has a relief or shut-off of its own."
    )
    lowest_temperature: OutdoorTemperature | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Coldest place it is made for, from its mark or data sheet, as in '-30 degC'.",
    )
    inlet_thread: Name | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Inlet connection, such as '1/4 NPT'."
    )
    outlet_thread: Name | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Outlet connection, such as '3/8 NPT'."
    )
    manufactured: Day | None = Field(None, json_schema_extra=TIGHTNESS, description="Date code.")


_WATER_TUBING = ("pex", "pe-x", "pe-rt", "cpvc", "pvc", "pb", "polybutylene", "ppr", "pp-r", "polypropylene")


def _gas_tubing(value: Any) -> Any:
    """Water tubing is told as what it is; by spelling the nearest material would be polyethylene."""
    word = value.strip().lower() if isinstance(value, str) else ""
    if word.startswith(_WATER_TUBING):
        raise problem(
            "spec-water-tubing",
            f"'{word[:60]}' is water tubing, and never carries gas",
            "use copper, steel or listed corrugated tubing (csst); have any of it in the ground planned by a gas fitter",
        )
    return value


class Run(Block, about="A length of one tubing material and size between two joints."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    material: Annotated[str, choice(*tubing.materials()), BeforeValidator(_gas_tubing)] | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Tubing material; left out, that of the run before it, and of the first run still to be chosen.",
    )
    type: Annotated[str, choice(*tubing.kinds())] | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Type of inch copper: K or L."
    )
    size: Name | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Size, such as '1/2 in OD', 'EHD 18', '15 x 1 mm'; left out, it is computed.",
    )
    maker_capacity: Power | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Of corrugated tubing: what its maker's own table gives for this size, at the pressure, the drop and the "
        "whole path from the regulator; used instead of the code's table.",
    )
    length: PositiveLength = Field(json_schema_extra=TIGHTNESS, description="Length along the run, bends included.")
    bends: Annotated[int, count(0, 60)] = Field(0, json_schema_extra=TIGHTNESS, description="How many 90-degree bends.")
    rise: Height | None = Field(
        None, json_schema_extra=TIGHTNESS, description="How much higher its downstream end is; negative if lower."
    )
    through: list[
        Annotated[str, choice("floor", "wall", "partition", "ceiling", "roof", "deck", "frame", "bulkhead")]
    ] = Field(
        default_factory=_no_items,
        max_length=20,
        json_schema_extra=TIGHTNESS,
        description="What it passes through, in order; bulkhead is a vapour-tight wall, as that of a gas locker.",
    )
    outside: YesNo = Field(
        False, json_schema_extra=BUILD, description="Whether it lies outside, open to weather and stones."
    )
    buried: YesNo = Field(
        False,
        json_schema_extra=BUILD,
        description="Whether it lies in the ground, all of it; polyethylene pipe may lie nowhere else.",
    )
    supports_every: PositiveLength | None = Field(
        None,
        json_schema_extra=BUILD,
        description="How far apart its supports are at most; left out, the clamps are counted for the farthest usual.",
    )


class Valve(Block, about="A shut-off valve in a branch."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    place: Text | None = Field(
        None, json_schema_extra=NO_CODE, description="Where it is, for the person who has to find it."
    )
    concealed: YesNo = Field(
        False,
        json_schema_extra=BUILD,
        description="Whether it lies where nobody can see or reach it once all is closed.",
    )


class Tap(Block, about="A point where a test gauge can be connected, plugged otherwise."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    place: Text | None = Field(None, json_schema_extra=NO_CODE, description="Where it is.")
    concealed: YesNo = Field(
        False,
        json_schema_extra=BUILD,
        description="Whether it lies where nobody can see or reach it once all is closed.",
    )


class Jetting(Block, about="What an appliance is jetted for, from its plate."):
    gas: Annotated[str, choice("propane", "butane", "propane-butane", "natural-gas", "other")] = Field(
        json_schema_extra=BUILD, description="The gas on the plate."
    )
    pressure: Pressure = Field(json_schema_extra=BUILD, description="The supply pressure on the plate, gauge.")
    altitude: Altitude | None = Field(
        None, json_schema_extra=BUILD, description="Height above sea level that its jets are made or adjusted for."
    )


class Appliance(Block, about="An appliance, as its plate and instructions describe it."):
    name: Name = Field(json_schema_extra=NO_CODE, description="What it is called on this build.")
    kind: Annotated[
        str,
        choice(
            "cooker",
            "oven",
            "room-heater",
            "water-heater",
            "combined-heater",
            "refrigerator",
            "light",
            "generator",
            "fryer",
            "griddle",
            "other",
        ),
    ] = Field(json_schema_extra=BUILD, description="What kind of appliance it is.")
    input: InputRate = Field(
        json_schema_extra=BUILD, description="Input rate from the plate: power, or mass of gas per hour."
    )
    input_basis: Annotated[str, choice("gross", "net")] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="What heat the plate counts, where it gives a power: gross (Hs, higher heating value) or net (Hi, "
        "lower). Left out, what is usual in the region. The same power counted net is about 9 % more propane; a mass of "
        "gas per hour needs no basis, but energy under 'daily_use:' beside it does.",
    )
    jetted_for: Jetting | None = Field(
        None, json_schema_extra=BUILD, description="Gas and supply pressure on the plate."
    )
    min_inlet: Pressure | None = Field(
        None, json_schema_extra=BUILD, description="Lowest inlet pressure on the plate, gauge."
    )
    max_inlet: Pressure | None = Field(
        None, json_schema_extra=BUILD, description="Highest inlet pressure on the plate, gauge."
    )
    inlet_thread: Name | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Inlet connection, such as '3/8 flare' or '1/2 NPT'."
    )
    flue: Annotated[str, choice("room-sealed", "open-flued", "flueless")] | None = Field(
        None, json_schema_extra=BUILD, description="Where its flue gases go; a cooker is flueless."
    )
    flame_failure: YesNo | None = Field(
        None, json_schema_extra=BUILD, description="Whether every burner shuts off when its flame goes out."
    )
    listed_for: list[Annotated[str, choice("vehicle", "boat", "indoors", "outdoors")]] = Field(
        default_factory=_no_items,
        max_length=4,
        json_schema_extra=BUILD,
        description="What its listing or instructions say it is for.",
    )
    daily_use: DailyUse | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Use on a cold day: hours at full input, gas per day, or energy per day, which is net or gross as "
        "'input_basis:' says.",
    )
    manufactured: Day | None = Field(None, json_schema_extra=TIGHTNESS, description="Date of manufacture.")
    serial: Name | None = Field(None, json_schema_extra=TIGHTNESS, description="Serial number; masked on the site.")


class Connector(Block, about="What joins an outlet's valve to its appliance."):
    kind: Annotated[str, choice("flexible", "rigid", "hose")] = Field(
        "flexible", json_schema_extra=TIGHTNESS, description="Kind of connector."
    )
    length: PositiveLength | None = Field(None, json_schema_extra=TIGHTNESS, description="Its length, end to end.")
    capacity: Power | None = Field(None, json_schema_extra=TIGHTNESS, description="Rated capacity, gross heat.")
    manufactured: Day | None = Field(None, json_schema_extra=TIGHTNESS, description="Date on the hose.")


class Outlet(Block, about="Where an appliance's connector attaches: shut-off valve, connector, appliance."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    place: Text | None = Field(None, json_schema_extra=NO_CODE, description="Where it is.")
    shut_off: YesNo | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Whether the appliance has a shut-off valve of its own here."
    )
    shut_off_distance: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the shut-off valve to the appliance."
    )
    distance: Length | None = Field(
        None, json_schema_extra=BUILD, description="From the outlet to the appliance's inlet, along the connector."
    )
    space: Id | None = Field(
        None,
        json_schema_extra=BUILD,
        description="The room its appliance stands in, an id of 'spaces:', or 'outdoors'; where there is one room it is that.",
    )
    connector: Connector | None = Field(None, json_schema_extra=TIGHTNESS, description="The connector, if chosen.")
    appliance: Appliance = Field(json_schema_extra=TIGHTNESS, description="The appliance.")


class Junction(Block, about="Where a run splits: a tee or a manifold."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    kind: Annotated[str, choice("tee", "manifold")] | None = Field(
        None, json_schema_extra=TIGHTNESS, description="A tee (two ways) or a manifold."
    )
    place: Text | None = Field(None, json_schema_extra=NO_CODE, description="Where it is.")
    concealed: YesNo = Field(
        False,
        json_schema_extra=BUILD,
        description="Whether it lies where nobody can see or reach it once all is closed.",
    )
    branches: list[Branch] = Field(
        min_length=2,
        max_length=40,
        json_schema_extra=TIGHTNESS,
        description="The branches that leave it, each a list of elements.",
    )


class Element(Block, about="One element of a branch: exactly one of these keys."):
    run: Run | None = Field(None, json_schema_extra=TIGHTNESS, description="A length of tubing.")
    valve: Valve | None = Field(None, json_schema_extra=TIGHTNESS, description="A shut-off valve.")
    regulator: Regulator | None = Field(
        None, json_schema_extra=TIGHTNESS, description="A regulator, where another pressure zone begins."
    )
    tap: Tap | None = Field(None, json_schema_extra=TIGHTNESS, description="A test point.")
    junction: Junction | None = Field(None, json_schema_extra=TIGHTNESS, description="A split; ends the branch.")
    outlet: Outlet | None = Field(
        None, json_schema_extra=TIGHTNESS, description="An outlet with its appliance; ends the branch."
    )

    @model_validator(mode="before")
    @classmethod
    def _not_stated(cls, data: Any) -> Any:
        """An element is what its key says, whatever of it is left empty."""
        return data

    @property
    def kind(self) -> str:
        """Which element it is."""
        return next(name for name in ELEMENT_KINDS if getattr(self, name) is not None)


ELEMENT_KINDS = ("run", "valve", "regulator", "tap", "junction", "outlet")
ENDS = ("junction", "outlet")


def _empty_blocks(value: Any) -> Any:
    """`- valve:` with nothing behind it is a valve about which nothing more is said; so is one with empty keys only."""
    if isinstance(value, list):
        return [
            {k: {} if v is None and k in ("valve", "tap") else v for k, v in item.items()}
            if isinstance(item, dict)
            else item
            for item in value
        ]
    return value


Branch = Annotated[list[Element], BeforeValidator(_empty_blocks)]
Junction.model_rebuild()
Element.model_rebuild()


class Alarm(Block, about="A gas, carbon monoxide or smoke alarm."):
    kind: Annotated[str, choice("gas", "co", "smoke")] = Field(json_schema_extra=BUILD, description="What it senses.")
    place: Text | None = Field(None, json_schema_extra=NO_CODE, description="Where it is.")
    height: Annotated[str, choice("low", "breathing", "high")] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="How high it hangs: low (near the floor), breathing (at head height) or high (on the ceiling or near it).",
    )
    standard: Name | None = Field(None, json_schema_extra=BUILD, description="The standard marked on it.")
    power: Annotated[str, choice("battery", "low-voltage", "mains")] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="What it runs on: its own battery, the low voltage of a vehicle or boat, or the mains.",
    )
    manufactured: Day | None = Field(None, json_schema_extra=NO_CODE, description="Date of manufacture.")
    replace_by: Day | None = Field(
        None, json_schema_extra=NO_CODE, description="Date by which it must be replaced, from its back."
    )


class Space(Block, about="One room or cabin: its air, its alarms, who sleeps there."):
    id: Id | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="A name for 'space:' of an outlet; left out, it is made of 'name:'.",
    )
    name: Name | None = Field(None, json_schema_extra=NO_CODE, description="What the room is called.")
    volume: Volume | None = Field(None, json_schema_extra=BUILD, description="Air volume of the room.")
    floor_area: Area | None = Field(None, json_schema_extra=BUILD, description="Floor area.")
    lowest_void: Volume | None = Field(
        None, json_schema_extra=BUILD, description="Volume of the lowest closed void: bilge, footwell, floor."
    )
    vent_high: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of fixed openings at high level; 0 if there are none."
    )
    vent_low: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of fixed openings at low level; 0 if there are none."
    )
    sleeping_places: Annotated[int, count(0, 60)] | None = Field(
        None, json_schema_extra=BUILD, description="How many people sleep in it."
    )
    people: Annotated[int, count(0, 500)] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="How many people it is made for: its seats or its berths, whichever are more. Boats in Europe go by it.",
    )
    alarms: list[Alarm] | None = Field(
        None, max_length=30, json_schema_extra=BUILD, description="Alarms fitted; an empty list if none."
    )


class Gauge(Block, about="The instrument a test was read on."):
    range: Pressure | None = Field(None, json_schema_extra=NO_CODE, description="Full scale.")
    resolution: Pressure | None = Field(None, json_schema_extra=NO_CODE, description="Smallest step that can be read.")
    name: Name | None = Field(None, json_schema_extra=NO_CODE, description="What it is.")


class Reading(Block, about="One reading of a test."):
    time: Clock = Field(json_schema_extra=NO_CODE, description="Time of day.")
    date: Day | None = Field(None, json_schema_extra=NO_CODE, description="Date, if not the test's own.")
    pressure: PressureFromZero = Field(json_schema_extra=NO_CODE, description="Gauge pressure read.")
    temperature: Temperature | None = Field(None, json_schema_extra=NO_CODE, description="Temperature of the tubing.")
    barometer: Pressure | None = Field(
        None, json_schema_extra=NO_CODE, description="Local barometer, not reduced to sea level."
    )
    burning: Annotated[str, choice("none", "half", "all")] | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Of a flow test: how much of the load burned while it was read, nothing (lock-up), about half, or all.",
    )


class Test(Block, about="A test that was made, with its readings."):
    date: Day = Field(json_schema_extra=NO_CODE, description="The day it was made.")
    kind: Annotated[str, choice("piping", "appliances", "leak-check", "container-side", "flow")] = Field(
        json_schema_extra=NO_CODE, description="Which of the region's tests it was."
    )
    zone: Id | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The regulator upstream of what was tested, where there are several; left out, all of it.",
    )
    medium: Annotated[str, choice("air", "nitrogen", "co2", "propane")] | None = Field(
        None, json_schema_extra=NO_CODE, description="What the piping was filled with."
    )
    by: Name | None = Field(None, json_schema_extra=NO_CODE, description="Who made it.")
    gauge: Gauge | None = Field(None, json_schema_extra=NO_CODE, description="What it was read on.")
    thermometer: TemperatureStep | None = Field(
        None, json_schema_extra=NO_CODE, description="Smallest step of the thermometer."
    )
    barometer: Pressure | None = Field(
        None, json_schema_extra=NO_CODE, description="Smallest step of the barometer; left out, 1 mbar."
    )
    readings: list[Reading] = Field(
        min_length=1, max_length=500, json_schema_extra=NO_CODE, description="The readings, in order of time."
    )
    bubbles: Annotated[str, choice("none", "found", "not-looked")] | None = Field(
        None, json_schema_extra=NO_CODE, description="What leak fluid showed at the joints."
    )
    covers: Name | None = Field(
        None, json_schema_extra=NO_CODE, description="Tightness code of what was tested (gt1-...), from `gasdoc check`."
    )
    note: Text | None = Field(None, json_schema_extra=NO_CODE, description="Anything else.")


class Disturbance(Block, about="Something that happened to the system after it was tested."):
    date: Day = Field(json_schema_extra=NO_CODE, description="When.")
    time: Clock | None = Field(
        None, json_schema_extra=NO_CODE, description="Time of day, where a test was made on the same day."
    )
    kind: Annotated[
        str,
        choice("part-replaced", "hose-replaced", "supply-interrupted", "collision", "moved", "flood", "fire", "other"),
    ] = Field(json_schema_extra=NO_CODE, description="What happened.")
    note: Text | None = Field(None, json_schema_extra=NO_CODE, description="What exactly.")


class SignOff(Block, about="A sign-off by a person entitled to give it, as the owner records it."):
    by: Name = Field(json_schema_extra=NO_CODE, description="Who signed.")
    role: Name | None = Field(
        None, json_schema_extra=NO_CODE, description="As what: licensed fitter, inspector, surveyor."
    )
    licence: Name | None = Field(None, json_schema_extra=NO_CODE, description="Licence number; masked on the site.")
    date: Day = Field(json_schema_extra=NO_CODE, description="When.")
    covers: Name | None = Field(
        None, json_schema_extra=NO_CODE, description="Build code of what was signed (gb1-...), from `gasdoc check`."
    )
    note: Text | None = Field(
        None, json_schema_extra=NO_CODE, description="Anything else, such as a certificate's number."
    )


class Done(Block, about="An upkeep task that was done."):
    task: Id = Field(json_schema_extra=NO_CODE, description="The task's id, from the upkeep page.")
    date: Day = Field(json_schema_extra=NO_CODE, description="When.")
    note: Text | None = Field(None, json_schema_extra=NO_CODE, description="Anything else.")


class Prices(Block, about="The builder's own prices."):
    currency: Name = Field(json_schema_extra=NO_CODE, description="Currency, such as USD.")
    date: Day = Field(json_schema_extra=NO_CODE, description="Date of the prices.")
    items: dict[str, Annotated[Price, PriceText()]] = Field(
        max_length=2000,
        json_schema_extra=NO_CODE,
        description="Price of each part by its key, as the materials page prints them: 14.20, or "
        "{low: 58, high: 64, per: 50 ft} for a length, or {price: 9.50, pack: 10}.",
    )


class FuelPrice(Block, about="What gas costs where it is filled."):
    price: Money = Field(json_schema_extra=NO_CODE, description="Price of the quantity named under `per`.")
    per: PricedAmount = Field(
        json_schema_extra=NO_CODE, description="Quantity of gas the price is for: '1 gal', '1 kg', '11 kg'."
    )
    currency: Name = Field(json_schema_extra=NO_CODE, description="Currency, such as USD.")


class Season(Block, about="A part of the year with a use of its own."):
    name: Name = Field(json_schema_extra=NO_CODE, description="What it is called.")
    air: OutdoorTemperature | None = Field(None, json_schema_extra=NO_CODE, description="Usual coldest air in it.")
    days: Annotated[int, count(1, 366)] | None = Field(
        None, json_schema_extra=NO_CODE, description="How many days of it the build is in use."
    )
    daily_use: dict[str, DailyUse] = Field(
        default_factory=_no_names,
        max_length=200,
        json_schema_extra=NO_CODE,
        description="Use on a day of it by outlet, '0 h' for none; an outlet left out is used as on a cold day.",
    )


class Scenario(Block, about="Appliances that run together, to see the pressures then."):
    name: Name = Field(json_schema_extra=NO_CODE, description="What it is called.")
    outlets: list[Id] = Field(
        min_length=1, max_length=200, json_schema_extra=NO_CODE, description="The ids of the outlets in use."
    )


class Origin(Block, about="The build this one was started from."):
    build: Id = Field(json_schema_extra=NO_CODE, description="The spec it was copied from, without folder and ending.")
    revision: Name | None = Field(None, json_schema_extra=NO_CODE, description="The revision it was copied at.")


class Room(Block, about="The room there is for the container, inside: of a locker, a tray or a place on a drawbar."):
    length: PositiveLength | None = Field(None, json_schema_extra=NO_CODE, description="Length.")
    width: PositiveLength | None = Field(None, json_schema_extra=NO_CODE, description="Width.")
    height: PositiveLength | None = Field(None, json_schema_extra=NO_CODE, description="Height.")


class Wishes(Block, about="What a choice is to keep to, while container, regulator or tubing are still to be chosen."):
    have: list[Id] = Field(
        default_factory=_no_items,
        max_length=20,
        json_schema_extra=NO_CODE,
        description="Kinds of container there are already, from the list `gasdoc catalog containers` prints.",
    )
    room: Room | None = Field(None, json_schema_extra=NO_CODE, description="The room there is for the container.")
    carry: Mass | None = Field(None, json_schema_extra=NO_CODE, description="The greatest weight one lifts.")
    fill: Annotated[str, choice("exchanged", "filled", "truck")] | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="How gas is had: containers exchanged, filled at a filling point, or filled where they stand by a truck.",
    )
    swap_at: FillShare | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Down to what share of a full container it is used before it is changed or filled.",
    )
    budget: Money | None = Field(
        None, json_schema_extra=NO_CODE, description="What all parts may cost, in the currency of the prices."
    )


class Spec(Block, about="The front matter of a spec."):
    format: Annotated[int, count(1, 999)] = Field(json_schema_extra=NO_CODE, description="The format of this file: 1.")
    draft: YesNo = Field(
        False,
        json_schema_extra=NO_CODE,
        description="Whether it is a draft: then its problems are told and count for nothing, and its pages say so.",
    )
    title: Name = Field(json_schema_extra=NO_CODE, description="What the build is called.")
    summary: Text | None = Field(None, json_schema_extra=NO_CODE, description="The build in one sentence.")
    region: Id = Field(
        json_schema_extra=BUILD, description="Whose rules apply, from the list `gasdoc catalog regions` prints."
    )
    setting: Annotated[str, choice("cabin", "trailer", "vehicle", "boat")] | None = Field(
        None, json_schema_extra=BUILD, description="What the gas is fitted in, where the region alone does not say it."
    )
    units: Annotated[str, choice("us", "si")] | None = Field(
        None, json_schema_extra=NO_CODE, description="Which units pages show first; left out, the region's."
    )
    altitude: Altitude | None = Field(
        None, json_schema_extra=BUILD, description="Highest place it will be used at, above sea level."
    )
    coldest: OutdoorTemperature | None = Field(
        None, json_schema_extra=BUILD, description="Coldest air the container will work in."
    )
    gas: Annotated[Composition, BeforeValidator(_composition)] = Field(
        default_factory=Composition, json_schema_extra=BUILD, description="What is in the container."
    )
    started: Day | None = Field(None, json_schema_extra=NO_CODE, description="When the work began.")
    fitted: Day | None = Field(None, json_schema_extra=NO_CODE, description="When the system was complete.")
    template: Origin | None = Field(None, json_schema_extra=NO_CODE, description="The build this one was started from.")
    container: Container = Field(
        default_factory=Container,
        json_schema_extra=TIGHTNESS,
        description="The container; left out, it is to be chosen.",
    )
    regulator: Regulator = Field(
        default_factory=Regulator,
        json_schema_extra=TIGHTNESS,
        description="The first regulator, at the container; left out, it is to be chosen.",
    )
    wishes: Wishes | None = Field(
        None, json_schema_extra=NO_CODE, description="What a choice of container, regulator and tubing is to keep to."
    )
    drop_allowance: Tolerance | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Pressure drop allowed from the last regulator to an outlet, if not the region's.",
    )
    supply: Branch = Field(
        min_length=1,
        max_length=40,
        json_schema_extra=TIGHTNESS,
        description="The branch that leaves the first regulator.",
    )
    spaces: list[Space] = Field(
        default_factory=_no_items,
        max_length=20,
        json_schema_extra=BUILD,
        description="The rooms the appliances are in and people sleep in; one item where there is one room.",
    )
    scenarios: list[Scenario] = Field(
        default_factory=_no_items, max_length=20, json_schema_extra=NO_CODE, description="Loads to look at."
    )
    seasons: list[Season] = Field(
        default_factory=_no_items,
        max_length=12,
        json_schema_extra=NO_CODE,
        description="Parts of the year, to see how long gas lasts.",
    )
    fuel_price: FuelPrice | None = Field(
        None, json_schema_extra=NO_CODE, description="What gas costs, for the cost of a day."
    )
    tests: list[Test] = Field(
        default_factory=_no_items, max_length=200, json_schema_extra=NO_CODE, description="Tests that were made."
    )
    disturbances: list[Disturbance] = Field(
        default_factory=_no_items, max_length=200, json_schema_extra=NO_CODE, description="What happened since."
    )
    signed_off: SignOff | None = Field(
        None, json_schema_extra=NO_CODE, description="The sign-off, as recorded by the owner."
    )
    done: list[Done] = Field(
        default_factory=_no_items, max_length=500, json_schema_extra=NO_CODE, description="Upkeep that was done."
    )
    prices: Prices | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The builder's own prices; those of all builds may stand in a file prices.yaml beside the specs.",
    )
    on_shelf: dict[str, Annotated[OnShelf, ShelfText()]] = Field(
        default_factory=_no_names,
        max_length=500,
        json_schema_extra=NO_CODE,
        description="What is there already, by part key: a number of pieces, or lengths of tubing, as in [12 ft, 3 ft].",
    )
    show_numbers: YesNo = Field(
        False,
        json_schema_extra=NO_CODE,
        description="Whether serial and licence numbers are published in full, not masked.",
    )
