"""The kinds of appliance: what each is for, what it usually uses, and when it burns."""

from typing import Annotated, Literal

from msgspec import field

from gasdoc.catalog.rows import Confirmed, Power, Pressure, Sourced, Time, read
from gasdoc.data import Each, Entry
from gasdoc.scalars import ReadBy, problem


class Usual(Entry, frozen=True):
    """The input rates in W, gross heat, that a kind of appliance usually has; `note` says of which make to which."""

    least: Power
    most: Power
    note: str


class Kind(Entry, frozen=True):
    """A kind of appliance: what it `serves`, whether it `fries`, stands `fixed`, has a sediment `trap` before it where the
    region asks for traps, but for regions of `no_trap`, is always `flued` but for small ones, and is an `engine`."""

    serves: Literal["cooking", "heating", "other"]
    fries: bool
    fixed: bool
    trap: bool
    no_trap: tuple[str, ...] = ()
    flued: bool = False
    engine: bool = False

    @property
    def cooks(self) -> bool:
        """Whether it is for cooking."""
        return self.serves == "cooking"

    @property
    def heats(self) -> bool:
        """Whether it is for the heat of rooms or water."""
        return self.serves == "heating"


class _Appliances(Entry, frozen=True):
    kinds: Each[Kind]
    kinds_source: str
    kinds_confirmed: Confirmed
    usual: Each[Usual]
    usual_source: str
    usual_confirmed: Confirmed

    def _checked(self) -> None:
        for kind in sorted({*self.usual} - {*self.kinds}):
            raise problem(
                "data-appliances", f"'{kind}' is no kind of appliance", "give it a row under kinds", at=("usual", kind)
            )


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

    @property
    def at_night(self) -> bool:
        """Whether it burns through the night, so that the cold tells of an empty container."""
        return self.all_day or self.until is not None


class Assumption(Sourced, frozen=True):
    """A pressure in Pa that is assumed where a spec says nothing, and in words."""

    value: Pressure
    text: str


class MustLast(Sourced, frozen=True):
    """How long a full supply is to last where a plan does not say, in s, and another time to show beside it."""

    value: Time
    other: Time
    text: str


class _Day(Sourced, frozen=True):
    kinds: Each[Pattern]
    words: Each[Time]
    must_last: MustLast
    assumed_inlet: Assumption
    pigtail_loss: Assumption

    def _checked(self) -> None:
        for kind in sorted({*kinds()} ^ {*self.kinds}):
            message = f"the kind of appliance '{kind}' has a row in one of appliances.yaml and day.yaml only"
            raise problem("data-appliances", message, "give it a row in both", at=("kinds",))


def kinds() -> dict[str, Kind]:
    """The kinds of appliance by the words of a spec, in the order in which they are offered."""
    return read("appliances.yaml", _Appliances).kinds


def usual_input(kind: str) -> Usual | None:
    """The usual input of a kind of appliance; None where none is usual."""
    return read("appliances.yaml", _Appliances).usual.get(kind)


def day() -> _Day:
    """How use is spread over a cold day, and what is assumed of the container side."""
    return read("day.yaml", _Day)
