"""The model of a spec: what a builder can state about a build. Nothing here is computed.

Every field has a description and, through its type, an example; the JSON Schema and the reference of keys come from
here. Quantities are SI floats that remember how they were written (`gasdoc.units.Given`).
"""

import re
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from gasdoc.build.model.air import Alarm, Space
from gasdoc.build.model.container import Clearances, Composition, Container, Locker, Mount, composition
from gasdoc.build.model.photos import Cover, Photo, Photos
from gasdoc.build.model.records import Disturbance, Done, Gauge, Reading, SignOff, Test
from gasdoc.build.model.route import Leg, Opening, Way
from gasdoc.build.model.supply import (
    ENDS,
    Appliance,
    Branch,
    Connector,
    Element,
    Hose,
    Jetting,
    Junction,
    Outlet,
    Regulator,
    Run,
    Tap,
    Valve,
)
from gasdoc.build.model.values import (
    BUILD,
    NO_CODE,
    TIGHTNESS,
    Altitude,
    Block,
    OutdoorTemperature,
    Tolerance,
    no_items,
    no_names,
)
from gasdoc.build.model.wishes import FuelPrice, Measured, Prices, Room, Scenario, Season, Wishes
from gasdoc.build.prices import OnShelf, ShelfText
from gasdoc.scalars import Day, Id, Name, Text, YesNo, choice, count

__all__ = (
    "ENDS",
    "FORMAT",
    "Alarm",
    "Appliance",
    "Block",
    "Clearances",
    "Composition",
    "Connector",
    "Container",
    "Disturbance",
    "Done",
    "Element",
    "FuelPrice",
    "Gauge",
    "Hose",
    "Jetting",
    "Junction",
    "Leg",
    "Locker",
    "Mount",
    "Opening",
    "Outlet",
    "Photo",
    "Prices",
    "Reading",
    "Regulator",
    "Room",
    "Run",
    "Scenario",
    "Season",
    "SignOff",
    "Space",
    "Spec",
    "Tap",
    "Test",
    "Valve",
    "Way",
    "Wishes",
)

FORMAT = 1


class Origin(Block, about="The build this one was started from."):
    build: Id = Field(json_schema_extra=NO_CODE, description="The spec it was copied from, without folder and ending.")
    revision: Name | None = Field(None, json_schema_extra=NO_CODE, description="The revision it was copied at.")


def _as_id(value: Any) -> Any:
    """A country as people write it ("New Zealand") in the form of an id: what it is here is looked up later."""
    return re.sub(r"\s+", "-", value.strip().lower()) if isinstance(value, str) else value


class Spec(Block, about="The front matter of a spec."):
    format: Annotated[int, count(1, 999)] = Field(json_schema_extra=NO_CODE, description="The format of this file: 1.")
    draft: YesNo = Field(
        False,
        json_schema_extra=NO_CODE,
        description="Whether it is a draft: then its problems are told and count for nothing, and its pages say so.",
    )
    title: Name = Field(json_schema_extra=NO_CODE, description="What the build is called.")
    summary: Text | None = Field(None, json_schema_extra=NO_CODE, description="The build in one sentence.")
    cover: Cover | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The picture that its first page and its card on the front page show.",
    )
    region: Annotated[Id, BeforeValidator(_as_id)] = Field(
        json_schema_extra=BUILD, description="Whose rules apply, from the list `gasdoc catalog regions` prints."
    )
    setting: Annotated[str, choice("cabin", "trailer", "vehicle", "boat")] | None = Field(
        None, json_schema_extra=BUILD, description="What the gas is fitted in, where the region alone does not say it."
    )
    units: Annotated[str, choice("us", "si", "anz")] | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The units of pages and messages: us, si, or anz (kPa and MJ/h). If left out, the region's.",
    )
    units_beside: Annotated[str, choice("us", "si", "none")] = Field(
        "none", json_schema_extra=NO_CODE, description="Units that pages show beside those: us, si or none."
    )
    altitude: Altitude | None = Field(
        None, json_schema_extra=BUILD, description="Highest place it will be used at, above sea level."
    )
    coldest: OutdoorTemperature | None = Field(
        None, json_schema_extra=BUILD, description="Coldest air the container will work in."
    )
    gas: Annotated[Composition, BeforeValidator(composition)] = Field(
        default_factory=Composition.model_construct, json_schema_extra=BUILD, description="What is in the container."
    )
    started: Day | None = Field(None, json_schema_extra=NO_CODE, description="When the work began.")
    bought: Day | None = Field(None, json_schema_extra=NO_CODE, description="When the last part was bought.")
    fitted: Day | None = Field(None, json_schema_extra=NO_CODE, description="When the system was complete.")
    in_use: Day | None = Field(None, json_schema_extra=NO_CODE, description="Since when gas has been burnt in it.")
    emergency: Name | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Whom to call first in an emergency, with the number. The sheet for the door prints it before the region's.",
    )
    template: Origin | None = Field(None, json_schema_extra=NO_CODE, description="The build this one was started from.")
    beside: list[Id] = Field(
        default_factory=no_items,
        max_length=8,
        json_schema_extra=NO_CODE,
        description="Other specs of the folder to put beside this one in a table, each without folder and ending.",
    )
    container: Container = Field(
        default_factory=Container.model_construct,
        json_schema_extra=TIGHTNESS,
        description="The container. If left out, it is to be chosen.",
    )
    regulator: Regulator = Field(
        default_factory=Regulator.model_construct,
        json_schema_extra=TIGHTNESS,
        description="The first regulator, at the container. If left out, it is to be chosen.",
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
        default_factory=no_items,
        max_length=20,
        json_schema_extra=BUILD,
        description="The rooms the appliances are in and people sleep in. One item where there is one room.",
    )
    corner: Text | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The corner that every 'at:' is measured from, in words, as in 'front left corner, on the floor'.",
    )
    openings: list[Opening] = Field(
        default_factory=no_items,
        max_length=60,
        json_schema_extra=BUILD,
        description="Doors, windows, hatches, vents, air intakes, flues, exhausts and sources of ignition, each with its place.",
    )
    scenarios: list[Scenario] = Field(
        default_factory=no_items, max_length=20, json_schema_extra=NO_CODE, description="Loads to look at."
    )
    seasons: list[Season] = Field(
        default_factory=no_items,
        max_length=12,
        json_schema_extra=NO_CODE,
        description="Parts of the year, to see how long gas lasts.",
    )
    fuel_price: FuelPrice | None = Field(
        None, json_schema_extra=NO_CODE, description="What gas costs, for the cost of a day."
    )
    joint_photos: dict[str, Photos] = Field(
        default_factory=no_names,
        max_length=400,
        json_schema_extra=NO_CODE,
        description="Photos of joints by the joint's id, from the leak test page, as in 'heater-tee-ports: my-hut/tee.jpg'.",
    )
    tests: list[Test] = Field(
        default_factory=no_items, max_length=200, json_schema_extra=NO_CODE, description="Tests that were made."
    )
    disturbances: list[Disturbance] = Field(
        default_factory=no_items, max_length=200, json_schema_extra=NO_CODE, description="What happened since."
    )
    signed_off: SignOff | None = Field(
        None, json_schema_extra=NO_CODE, description="The sign-off, as recorded by the owner."
    )
    done: list[Done] = Field(
        default_factory=no_items, max_length=500, json_schema_extra=NO_CODE, description="Upkeep that was done."
    )
    prices: Prices | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The builder's own prices. Those of all builds may stand in a file prices.yaml beside the specs.",
    )
    on_shelf: dict[str, Annotated[OnShelf, ShelfText()]] = Field(
        default_factory=no_names,
        max_length=500,
        json_schema_extra=NO_CODE,
        description="What is there already, by part key: a number of pieces, or lengths of tubing, as in [12 ft, 3 ft].",
    )
    measured: dict[str, Measured] = Field(
        default_factory=no_names,
        max_length=200,
        json_schema_extra=NO_CODE,
        description="Fittings and threads as measured, for the lengths of screwed pipe: by part key, as in "
        "'npt-elbow:1/2: {to_face: 1.1 in}', and by thread, as in 'npt:1/2: {make_up: 0.5 in}'.",
    )
    show_numbers: YesNo = Field(
        False,
        json_schema_extra=NO_CODE,
        description="Whether serial and licence numbers are published in full, not masked.",
    )
