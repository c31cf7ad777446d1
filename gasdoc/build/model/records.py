"""What a builder records: tests with their readings, what happened since, the sign-off, upkeep that was done."""

from typing import Annotated, get_args

from pydantic import Field

from gasdoc.build.model.photos import Photos, photos
from gasdoc.build.model.values import NO_CODE, Block, Pressure, PressureFromZero, Temperature, TemperatureStep, no_items
from gasdoc.regions.proof import TestKind
from gasdoc.scalars import Clock, Day, Id, Name, Text, choice


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
    kind: Annotated[str, choice(*get_args(TestKind))] = Field(
        json_schema_extra=NO_CODE, description="Which of the region's tests it was."
    )
    zone: Id | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="The regulator upstream of what was tested, where there are several. If left out, all of it.",
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
        None, json_schema_extra=NO_CODE, description="Smallest step of the barometer. If left out, 1 mbar."
    )
    time: Clock | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Time of day of a container-side test that has no readings. Readings have times of their own.",
    )
    readings: list[Reading] = Field(
        default_factory=no_items,
        max_length=500,
        json_schema_extra=NO_CODE,
        description="The readings, in order of time. A container-side test, made with leak fluid, may have none.",
    )
    bubbles: Annotated[str, choice("none", "found", "not-looked")] | None = Field(
        None, json_schema_extra=NO_CODE, description="What leak fluid showed at the joints."
    )
    covers: Name | None = Field(
        None, json_schema_extra=NO_CODE, description="Tightness code of what was tested (gt1-...), from `gasdoc check`."
    )
    note: Text | None = Field(None, json_schema_extra=NO_CODE, description="Anything else.")
    photo: Photos = photos("the test, as of the gauge at the last reading")


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
    licence: Name | None = Field(None, json_schema_extra=NO_CODE, description="Licence number. Masked on the site.")
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
