"""What appliances usually use, and when, by their kind."""

from typing import Annotated

from msgspec import field

from gasdoc.catalog.rows import Power, Pressure, Sourced, Time, read
from gasdoc.data import Each, Entry
from gasdoc.scalars import ReadBy, problem


class Usual(Entry, frozen=True):
    """The input rates in W, gross heat, that a kind of appliance usually has; `note` says of which make to which."""

    least: Power
    most: Power
    note: str


class _Appliances(Sourced, frozen=True):
    kinds: Each[Usual]


def _seconds(value: object) -> float:
    """A time of day such as "06:30" in s from midnight."""
    text = str(value)
    hours, _, minutes = text.partition(":")
    if not (hours.isdecimal() and minutes.isdecimal() and int(hours) < 24 and int(minutes) < 60):
        raise problem("data-clock", f"'{text}' is no time of day", "write it as in '06:30'")
    return int(hours) * 3600.0 + int(minutes) * 60.0


Clock = Annotated[float, ReadBy(_seconds)]


class Pattern(Entry, frozen=True):
    """When a kind of appliance is taken to burn, in s from midnight: in equal shares from the times `at`, in one stretch
    `until` a time, or `all_day`; and in words. `hours` are those of the coldest day where a plan does not say, in s, and
    `meaning` says what they are."""

    words: str
    hours: Time
    meaning: str
    at: tuple[Clock, ...] = ()
    until: Clock | None = None
    all_day: bool = field(default=False, name="all-day")


class Assumption(Sourced, frozen=True):
    """A pressure in Pa that is assumed where a spec says nothing, and in words."""

    value: Pressure
    text: str


class Lasting(Sourced, frozen=True):
    """How long a full supply is to last where a plan does not say, in s, and another time to show beside it."""

    value: Time
    other: Time
    text: str


class _Day(Sourced, frozen=True):
    kinds: Each[Pattern]
    words: Each[Time]
    must_last: Lasting
    assumed_inlet: Assumption
    pigtail_loss: Assumption


def usual_input(kind: str) -> Usual | None:
    """The usual input of a kind of appliance; None for a kind that is not listed."""
    return read("appliances.yaml", _Appliances).kinds.get(kind)


def day() -> _Day:
    """How use is spread over a cold day, and what is assumed of the container side."""
    return read("day.yaml", _Day)
