"""What a builder asks for or reckons with: prices, seasons, loads to look at, what a choice is to keep to."""

from typing import Annotated

from pydantic import Field

from gasdoc.build.model.container import KindOfContainer
from gasdoc.build.model.values import (
    NO_CODE,
    Block,
    DailyUse,
    FillShare,
    Mass,
    OutdoorTemperature,
    PositiveLength,
    PricedAmount,
    no_items,
    no_names,
)
from gasdoc.build.prices import Price, PriceText
from gasdoc.scalars import Day, Id, Money, Name, choice, count


class Prices(Block, about="The builder's own prices."):
    currency: Name = Field(json_schema_extra=NO_CODE, description="Currency, such as USD.")
    date: Day = Field(json_schema_extra=NO_CODE, description="Date of the prices.")
    items: dict[str, Annotated[Price, PriceText()]] = Field(
        max_length=2000,
        json_schema_extra=NO_CODE,
        description="Price of each part by its key, as the materials page prints them: 14.20, or "
        "{low: 58, high: 64, per: 50 ft} for a length, or {price: 9.50, pack: 10}.",
    )


class Measured(Block, about="A fitting or a trial joint as the builder has measured it, for cutting screwed pipe."):
    to_face: PositiveLength | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Of a fitting: from its centre to the face of an opening. Of a union or valve half of its length.",
    )
    make_up: PositiveLength | None = Field(
        None, json_schema_extra=NO_CODE, description="Of a thread: how far the pipe went in when the joint was tight."
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
        default_factory=no_names,
        max_length=200,
        json_schema_extra=NO_CODE,
        description="Use on a day of it by outlet, '0 h' for none. An outlet left out is used as on a cold day.",
    )


class Scenario(Block, about="Appliances that run together, to see the pressures then."):
    name: Name = Field(json_schema_extra=NO_CODE, description="What it is called.")
    outlets: list[Id] = Field(
        min_length=1, max_length=200, json_schema_extra=NO_CODE, description="The ids of the outlets in use."
    )


class Room(Block, about="The room there is for the container, inside: of a locker, a tray or a place on a drawbar."):
    length: PositiveLength | None = Field(None, json_schema_extra=NO_CODE, description="Length.")
    width: PositiveLength | None = Field(None, json_schema_extra=NO_CODE, description="Width.")
    height: PositiveLength | None = Field(None, json_schema_extra=NO_CODE, description="Height.")


class Wishes(Block, about="What a choice is to keep to, while container, regulator or tubing are still to be chosen."):
    have: list[KindOfContainer] = Field(
        default_factory=no_items,
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
