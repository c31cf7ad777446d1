"""What a builder can state about the supply: regulators, tubing, valves, test points, splits, outlets with their appliances."""

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from gasdoc.build.model.photos import Photos, photos
from gasdoc.build.model.route import PASSAGES, Legs, Place, summed
from gasdoc.build.model.values import (
    BUILD,
    NO_CODE,
    TIGHTNESS,
    Altitude,
    Block,
    Bore,
    DailyUse,
    GasPressure,
    Height,
    InputRate,
    Length,
    OutdoorTemperature,
    PositiveLength,
    Power,
    Pressure,
    SupportSpacing,
    Tolerance,
    no_items,
    not_chosen,
)
from gasdoc.catalog import appliances, tubing
from gasdoc.scalars import Day, Id, Name, Text, YesNo, choice, count, problem
from gasdoc.validation import validator


class Hose(Block, about="The low-pressure hose that joins a regulator to the line behind it."):
    length: PositiveLength = Field(json_schema_extra=TIGHTNESS, description="Its length, from end to end.")
    bore: Bore | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Its clear width inside, from the mark on it. What the hose takes of the pressure is worked out with it.",
    )
    capacity: InputRate | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Rated capacity from its tag: power, taken as gross heat, or mass of gas per hour. Beside a bore, what takes more of the pressure counts.",
    )
    rating: Pressure | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Highest working pressure that is marked on it, gauge."
    )
    legs: Legs = Field(
        default_factory=no_items,
        json_schema_extra=NO_CODE,
        description="The gap it spans, leg after leg, from the regulator's outlet to the line's first joint, as in '[300 mm aft"
        " and 200 mm down]'. Straight across will do.",
    )
    manufactured: Day | None = Field(None, json_schema_extra=TIGHTNESS, description="Date on the hose.")


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
        default_factory=not_chosen,
        json_schema_extra=TIGHTNESS,
        description="Outlet pressure it is set to, gauge. If that of the first regulator is left out, it is still to be chosen.",
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
    vent_at: Place | None = Field(
        None, json_schema_extra=BUILD, description="Where its vent is: aft, right and up from the corner."
    )
    inlet_thread: Name | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Inlet connection, such as '1/4 NPT'."
    )
    outlet_thread: Name | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Outlet connection, such as '3/8 NPT'."
    )
    hose: Hose | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="The low-pressure hose from its outlet to the line, where the two are joined by one.",
    )
    manufactured: Day | None = Field(None, json_schema_extra=TIGHTNESS, description="Date code.")
    photo: Photos = photos("the regulator and its plate")


_WATER_TUBING = ("pex", "pe-x", "pe-rt", "cpvc", "pvc", "pb", "polybutylene", "ppr", "pp-r", "polypropylene")


def _gas_tubing(value: Any) -> Any:
    """Water tubing is told as what it is; by spelling the nearest material would be polyethylene."""
    word = value.strip().lower() if isinstance(value, str) else ""
    if word.startswith(_WATER_TUBING):
        raise problem(
            "spec-water-tubing",
            f"'{word[:60]}' is water tubing, and never carries gas",
            "use copper, steel or listed corrugated tubing (csst). Have any of it in the ground planned by a gas fitter",
        )
    return value


class Run(Block, about="A length of one tubing material and size between two joints."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    material: Annotated[str, choice(*tubing.materials()), BeforeValidator(_gas_tubing)] | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Tubing material. If left out, that of the run before it, and of the first run still to be chosen.",
    )
    type: Annotated[str, choice(*tubing.kinds())] | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Type of inch copper: K or L."
    )
    size: Name | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Size, such as '1/2 in OD', 'EHD 18', '15 x 1 mm'. If left out, it is computed.",
    )
    maker_capacity: Power | None = Field(
        None,
        json_schema_extra=BUILD,
        description="Of corrugated tubing: what its maker's own table gives for this size. Take it at the pressure, the drop and"
        " the whole path from the regulator. It is used instead of the code's table.",
    )
    legs: Legs = Field(
        default_factory=no_items,
        json_schema_extra=NO_CODE,
        description="Its way, leg after leg, as in [4 ft aft, 1 ft up, 2 ft left]. Length, bends and rise follow from it.",
    )
    length: PositiveLength = Field(
        json_schema_extra=TIGHTNESS,
        description="Length along the run, bends included. 'legs:' may say it instead.",
    )
    bends: Annotated[int, count(0, 60)] = Field(0, json_schema_extra=TIGHTNESS, description="How many 90-degree bends.")
    rise: Height | None = Field(
        None, json_schema_extra=TIGHTNESS, description="How much higher its downstream end is. Negative if lower."
    )
    through: list[Annotated[str, choice(*PASSAGES)]] = Field(
        default_factory=no_items,
        max_length=20,
        json_schema_extra=TIGHTNESS,
        description="What it passes through, in order. Bulkhead is a vapour-tight wall, as that of a gas locker.",
    )
    outside: YesNo = Field(
        False, json_schema_extra=BUILD, description="Whether it lies outside, open to weather and stones."
    )
    buried: YesNo = Field(
        False,
        json_schema_extra=BUILD,
        description="Whether it lies in the ground, all of it. Polyethylene pipe may lie nowhere else.",
    )
    supports_every: SupportSpacing | None = Field(
        None,
        json_schema_extra=BUILD,
        description="How far apart its supports are at most. If left out, the clamps are counted for the farthest usual.",
    )
    photo: Photos = photos("the run")

    @model_validator(mode="before")
    @classmethod
    def _length_of_legs(cls, data: Any) -> Any:
        """The length that the legs give, where none is stated. Legs that cannot be read are told by themselves."""
        if not isinstance(data, dict) or data.get("legs") is None or data.get("length") is not None:
            return data
        try:
            legs = validator("legs", Legs).validate_python(data["legs"])
        except ValidationError:
            return data | {"length": "1 m"}
        return data | {"legs": legs, "length": summed(legs)} if legs else data


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
    photo: Photos = photos("the valve")


class Tap(Block, about="A point where a test gauge can be connected, plugged otherwise."):
    id: Id | None = Field(None, json_schema_extra=NO_CODE, description="A name that is unique in the spec.")
    place: Text | None = Field(None, json_schema_extra=NO_CODE, description="Where it is.")
    concealed: YesNo = Field(
        False,
        json_schema_extra=BUILD,
        description="Whether it lies where nobody can see or reach it once all is closed.",
    )
    photo: Photos = photos("the test point")


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
        choice(*appliances.kinds()),
    ] = Field(json_schema_extra=BUILD, description="What kind of appliance it is.")
    input: InputRate = Field(
        json_schema_extra=BUILD, description="Input rate from the plate: power, or mass of gas per hour."
    )
    input_basis: Annotated[str, choice("gross", "net")] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="What heat the plate counts, where it gives a power: gross (Hs, higher heating value) or net (Hi, "
        "lower). If left out, what is usual in the region. The same power counted net is about 9 % more propane. A mass of "
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
        None, json_schema_extra=BUILD, description="Where its flue gases go. A cooker is flueless."
    )
    flame_failure: YesNo | None = Field(
        None, json_schema_extra=BUILD, description="Whether every burner shuts off when its flame goes out."
    )
    listed_for: list[Annotated[str, choice("vehicle", "boat", "indoors", "outdoors")]] = Field(
        default_factory=no_items,
        max_length=4,
        json_schema_extra=BUILD,
        description="What its listing or instructions say it is for.",
    )
    daily_use: DailyUse | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Use on a cold day: hours at full input, gas per day, or energy per day, which is net or gross as "
        "'input_basis:' says. 'evenings', 'through the night' and 'all day' stand for 4, 8 and 16 hours.",
    )
    manufactured: Day | None = Field(None, json_schema_extra=TIGHTNESS, description="Date of manufacture.")
    serial: Name | None = Field(None, json_schema_extra=TIGHTNESS, description="Serial number. Masked on the site.")
    at: Place | None = Field(
        None, json_schema_extra=BUILD, description="Where its inlet is: aft, right and up from the corner."
    )
    photo: Photos = photos("the appliance and its plate")


class Connector(Block, about="What joins an outlet's valve to its appliance."):
    legs: Legs = Field(
        default_factory=no_items,
        json_schema_extra=NO_CODE,
        description="The gap it spans, leg after leg, from the outlet to the appliance's inlet.",
    )
    kind: Annotated[str, choice("flexible", "rigid", "hose")] = Field(
        "flexible", json_schema_extra=TIGHTNESS, description="Kind of connector."
    )
    length: PositiveLength | None = Field(None, json_schema_extra=TIGHTNESS, description="Its length, end to end.")
    capacity: InputRate | None = Field(
        None,
        json_schema_extra=TIGHTNESS,
        description="Rated capacity from its tag: power, taken as gross heat, or mass of gas per hour.",
    )
    rating: Pressure | None = Field(
        None, json_schema_extra=TIGHTNESS, description="Highest working pressure that is marked on it, gauge."
    )
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
        description="The room its appliance stands in, an id of 'spaces:', or 'outdoors'. Where there is one room it is that.",
    )
    connector: Connector | None = Field(None, json_schema_extra=TIGHTNESS, description="The connector, if chosen.")
    appliance: Appliance = Field(json_schema_extra=TIGHTNESS, description="The appliance.")
    photo: Photos = photos("the outlet")


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
    photo: Photos = photos("the tee or manifold")
    branches: list["Branch"] = Field(
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
    junction: Junction | None = Field(None, json_schema_extra=TIGHTNESS, description="A split. Ends the branch.")
    outlet: Outlet | None = Field(
        None, json_schema_extra=TIGHTNESS, description="An outlet with its appliance. Ends the branch."
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
