"""What is asked around a container, and ways to hold it."""

from typing import Literal

from msgspec import field

from gasdoc.catalog.rows import Length, Positive, Sourced, read
from gasdoc.data import Cited, Each, Entry, Some
from gasdoc.engineering.container.mounting import Direction


class Limit(Cited, frozen=True):
    """The least distance in m that is asked where some practice holds, there perhaps of one kind of container or one place only."""

    limit: Length
    practice: Some[str]
    kind: Literal["cylinder", "tank"] | None = None
    place: str | None = None


class Distance(Entry, frozen=True, kw_only=True):
    """A distance around a container, `where` it is asked (None everywhere), and its limits."""

    measure: str
    asks: str
    where: Literal["moves", "building"] | None = field(default=None, name="for")
    limits: tuple[Limit, ...]


class HoldingWay(Sourced, frozen=True, kw_only=True):
    """A way to hold a container, `where` it is one (None everywhere), and what is looked at where no bolts are worked out."""

    name: str
    where: Literal["building"] | None = field(default=None, name="for")
    asks: str


class Beside(Cited, frozen=True):
    """A multiple of the filled weight that another public text asks; the safety factor is on the `strength`."""

    multiple: Positive
    safety_factor: Positive
    strength: Literal["proof", "tensile"]
    practice: Some[str]
    asks: str


class Mounting(Entry, frozen=True):
    """All of it; `directions` are the ids of rules that are for some directions only, with those."""

    clearances: Some[Distance]
    ways: Each[HoldingWay]
    beside: Some[Beside]
    directions: Each[Some[Direction]]


def mounting() -> Mounting:
    """What is listed."""
    return read("mounting.yaml", Mounting)
