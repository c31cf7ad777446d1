"""What a builder can state about rooms: their air, who sleeps there, their alarms."""

from typing import Annotated

from pydantic import Field

from gasdoc.build.model.route import Outline, Place
from gasdoc.build.model.values import BUILD, NO_CODE, Area, Block, Volume, no_items
from gasdoc.catalog.alarms import KINDS
from gasdoc.scalars import Day, Id, Name, Text, choice, count


class Alarm(Block, about="A gas, carbon monoxide or smoke alarm."):
    kind: Annotated[str, choice(*KINDS)] = Field(json_schema_extra=BUILD, description="What it senses.")
    place: Text | None = Field(None, json_schema_extra=NO_CODE, description="Where it is.")
    height: Annotated[str, choice("low", "breathing", "high")] | None = Field(
        None,
        json_schema_extra=BUILD,
        description="How high it hangs: low (near the floor), breathing (at head height) or high (on the ceiling or near it).",
    )
    at: Place | None = Field(
        None, json_schema_extra=BUILD, description="Where it hangs: aft, right and up from the corner."
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
        description="A name for 'space:' of an outlet. If left out, it is made of 'name:'.",
    )
    name: Name | None = Field(None, json_schema_extra=NO_CODE, description="What the room is called.")
    volume: Volume | None = Field(None, json_schema_extra=BUILD, description="Air volume of the room.")
    floor_area: Area | None = Field(None, json_schema_extra=BUILD, description="Floor area.")
    outline: Outline = Field(
        default_factory=no_items,
        json_schema_extra=BUILD,
        description="Its floor plan: the corners of the room in order, each aft and right from the corner. Two are enough for a "
        "rectangle.",
    )
    lowest_void: Volume | None = Field(
        None, json_schema_extra=BUILD, description="Volume of the lowest closed void: bilge, footwell, floor."
    )
    vent_high: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of fixed openings at high level, 0 if there are none."
    )
    vent_low: Area | None = Field(
        None, json_schema_extra=BUILD, description="Free area of fixed openings at low level, 0 if there are none."
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
        None, max_length=30, json_schema_extra=BUILD, description="Alarms fitted. An empty list if none."
    )
