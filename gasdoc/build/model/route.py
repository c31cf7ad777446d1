"""What a builder can state about the way of the line and about where things are: legs, places, outlines."""

import math
import re
from collections.abc import Sequence
from functools import partial
from typing import Annotated, Any

from msgspec import Struct
from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema, model_validator

from gasdoc import units
from gasdoc.build.model.values import BUILD, NO_CODE, Block, Height, Length, PositiveLength
from gasdoc.quantities import Aside, Metre
from gasdoc.scalars import Name, choice, nearest, problem

Vector = tuple[Metre, Metre, Metre]
"""Metres aft, to the right and up; on land south, east and up."""

DIRECTIONS: dict[str, Vector] = {
    "fore": (-1.0, 0.0, 0.0),
    "aft": (1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
    "north": (-1.0, 0.0, 0.0),
    "south": (1.0, 0.0, 0.0),
    "west": (0.0, -1.0, 0.0),
    "east": (0.0, 1.0, 0.0),
}
"""As seen facing forward, or on land facing north, so that one drawing serves both."""

COMPASS = frozenset(("north", "south", "west", "east"))
_MEANT = {
    "forward": "fore",
    "forwards": "fore",
    "front": "fore",
    "ahead": "fore",
    "back": "aft",
    "backward": "aft",
    "backwards": "aft",
    "rear": "aft",
    "astern": "aft",
    "port": "left",
    "starboard": "right",
    "upward": "up",
    "upwards": "up",
    "downward": "down",
    "downwards": "down",
}
"""Words people write for a direction."""

PASSAGES = ("floor", "wall", "partition", "ceiling", "roof", "deck", "frame", "bulkhead")
"""What a run may pass through."""

_LEG = re.compile(r"(?P<amount>.*\S)\s+(?P<words>[a-z]+(?:-[a-z]+)*)", re.IGNORECASE)
_EXAMPLE = "write it as in '4 ft aft', '14 in aft-up' (at 45 degrees) or '12 in aft and 6 in up' (straight across both)"
_METRIC_EXAMPLE = (
    "write it as in '1.2 m aft', '350 mm aft-up' (at 45 degrees) or '300 mm aft and 150 mm up' (straight across both)"
)
_METRIC = re.compile(r"\d ?(?:m|cm|mm)\b", re.IGNORECASE)


def _metric(value: Any) -> bool:
    """Whether a value is written in metric units, so that its example is in them, too."""
    return _METRIC.search(str(value)) is not None


class Way(Struct, frozen=True):
    """One straight way: metres aft, right and up, with the text it was read from, the unit used there, and whether it goes
    by the compass (None of a way straight up or down)."""

    text: str
    unit: Annotated[str, Aside("stands in the text")]
    vector: Vector
    compass: Annotated[bool | None, Aside("stands in the text")]

    @property
    def length(self) -> float:
        """From end to end, m."""
        return math.hypot(*self.vector)

    def __str__(self) -> str:
        return self.text


def way(value: Any) -> Way:
    """The way a text such as '4 ft aft' states. Raises the problem with what was written."""
    if isinstance(value, Way):
        return value
    if not isinstance(value, str) or not value.strip():
        raise problem("spec-leg", "a leg is a length and a direction", _METRIC_EXAMPLE if _metric(value) else _EXAMPLE)
    text = " ".join(value.split())
    parts = [_part(part, text) for part in re.split(r"\s+and\s+", text, flags=re.IGNORECASE)]
    words = [word for _, named in parts for word in named]
    axes = [max(range(3), key=lambda axis: abs(DIRECTIONS[word][axis])) for word in words]
    if len(set(axes)) < len(axes):
        raise problem("spec-leg", f"'{text}' goes along one line twice", _METRIC_EXAMPLE if _metric(text) else _EXAMPLE)
    level = {word in COMPASS for word in words if word not in ("up", "down")}
    if len(level) > 1:
        raise problem("spec-leg", f"'{text}' mixes the compass with fore and aft", "keep to one of the two")
    vector = [0.0, 0.0, 0.0]
    for given, named in parts:
        for word in named:
            for axis in range(3):
                vector[axis] += DIRECTIONS[word][axis] * given / math.sqrt(len(named))
    unit = max((given for given, _ in parts), key=float).unit
    return Way(text, unit, (vector[0], vector[1], vector[2]), next(iter(level), None))


def _part(text: str, whole: str) -> tuple[units.Given, list[str]]:
    """The length and the directions of one part of a leg."""
    match = _LEG.fullmatch(text)
    named = match["words"].lower().split("-") if match else []
    if named and named[0] in units.units()["length"]:  # '4 m' alone
        match = None
    for word in named if match is not None else ():
        if word not in DIRECTIONS:
            near = _MEANT.get(word) or nearest(word, list(DIRECTIONS))
            known = "fore, aft, left, right, up, down, or north, east, south, west, up, down"
            hint = f"did you mean '{near}'?" if near else f"write one of: {known}"
            raise problem("spec-leg", f"'{word[:20]}' in '{whole[:60]}' is no direction", hint)
    if match is None:
        raise problem(
            "spec-leg",
            f"'{whole[:60]}' is no leg: it lacks a length or a direction",
            _METRIC_EXAMPLE if _metric(whole) else _EXAMPLE,
        )
    return _LENGTH.read(match["amount"]), named


_LENGTH = PositiveLength.__metadata__[0]  # type: ignore[attr-defined]  # the Quantity that reads a length above zero


class Leg(Block, about="One straight piece of the way of a run. '4 ft aft' alone is short for 'leg: 4 ft aft'."):
    leg: Annotated[
        Way, PlainValidator(way), WithJsonSchema({"type": "string", "examples": ["4 ft aft", "14 in aft-up"]})
    ] = Field(
        json_schema_extra=NO_CODE,
        description="How far and which way, centre to centre: fore, aft, left or right as seen facing forward, up or down. North,"
        " east, south or west are as good. 'aft-left' lies at 45 degrees. '12 in aft and 6 in up' goes straight across both.",
    )
    through: Annotated[str, choice(*PASSAGES)] | None = Field(
        None, json_schema_extra=NO_CODE, description="What this leg passes through."
    )
    at: Length | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Where it passes through, from the leg's start. If left out, it is drawn in the middle.",
    )
    loop: PositiveLength | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Length of tubing in a full loop that is made on this leg, for movement. It turns four times.",
    )
    sweep: PositiveLength | None = Field(
        None,
        json_schema_extra=NO_CODE,
        description="Length of tubing on this leg where it hangs or sweeps in a wide curve, longer than straight across.",
    )

    @model_validator(mode="after")
    def _longer(self) -> "Leg":
        straight = self.leg.length
        for key in ("loop", "sweep"):
            given = getattr(self, key)
            if given is not None and given < straight * (1 - 1e-9):
                raise problem(
                    "spec-leg",
                    f"the {key} of '{self.leg}' is {given.text} long, shorter than straight across",
                    "write the length of the tubing in it, measured along the tubing",
                    (key,),
                )
        if self.loop is not None and self.sweep is not None:
            raise problem("spec-leg", f"the leg '{self.leg}' has a loop and a sweep", "make two legs of it", ("sweep",))
        if self.at is not None and (self.through is None or self.at > straight * (1 + 1e-9)):
            why = "passes through nothing" if self.through is None else "is shorter than that"
            raise problem(
                "spec-leg",
                f"the leg '{self.leg}' {why}, and 'at' says {self.at.text}",
                "write 'through:' and, from the start of the leg, 'at:'",
                ("at",),
            )
        return self

    @property
    def length(self) -> float:
        """The tubing in it, m."""
        return float(self.loop or self.sweep or self.leg.length)


def _leg(value: Any) -> Any:
    return {"leg": value} if isinstance(value, str) else value


Legs = Annotated[list[Annotated[Leg, BeforeValidator(_leg)]], Field(max_length=60)]
"""A way, leg after leg, in the direction of flow."""


def length_of(legs: Sequence[Leg]) -> float:
    """The tubing in some legs, m."""
    return sum(leg.length for leg in legs)


def unit_of(legs: Sequence[Leg]) -> str:
    """The unit of the longest leg, in which sums of them are written."""
    return max(legs, key=lambda leg: leg.leg.length).leg.unit


def written(metres: float, unit: str) -> units.Given:
    """A length that was worked out, as a quantity in some unit."""
    return units.Given(metres, f"{round(units.convert(metres, 'length', unit), 3):g} {unit}", unit, "length")


def summed(legs: Sequence[Leg]) -> units.Given:
    """The length of some legs as a quantity."""
    return written(length_of(legs), unit_of(legs))


def _figures(number: int, what: str, examples: tuple[str, str], value: Any) -> Any:
    if isinstance(value, list) and len(value) != number:
        message = f"{what} has {number} figures, and {len(value)} stand here"
        raise problem("spec-place", message, examples[_metric(value)])
    return value


Place = Annotated[
    list[Height],
    BeforeValidator(
        partial(
            _figures,
            3,
            "a place",
            (
                "write [aft, right, up] from the corner, as in [4 ft, 1 ft, 30 in]",
                "write [aft, right, up] from the corner, as in [1.2 m, 300 mm, 750 mm]",
            ),
        )
    ),
    Field(min_length=3, max_length=3),
]
"""Where something is: aft, to the right and up from the corner; on land south, east and up."""

Corner = Annotated[
    list[Height],
    BeforeValidator(
        partial(
            _figures,
            2,
            "a corner",
            (
                "write [aft, right] from the corner, as in [4 ft, 1 ft]",
                "write [aft, right] from the corner, as in [1.2 m, 300 mm]",
            ),
        )
    ),
    Field(min_length=2, max_length=2),
]
"""A corner of a room: aft and to the right from the corner all places are measured from."""


def _corners(value: Any) -> Any:
    if isinstance(value, str) or (
        isinstance(value, list) and value and not any(isinstance(one, list) for one in value)
    ):
        raise problem(
            "spec-place",
            "an outline is a list of corners, each in brackets",
            "write it as [[0 m, 0 m], [2.4 m, 1.5 m]]"
            if _metric(value)
            else "write it as [[0 ft, 0 ft], [8 ft, 5 ft]]",
        )
    return value


Outline = Annotated[list[Corner], BeforeValidator(_corners), Field(max_length=40)]
"""The floor plan of a space: its corners in order, or two opposite ones of a rectangle."""


class Opening(
    Block, about="What the container's valves have to keep away from, or what lets air in or out, with its place."
):
    kind: Annotated[
        str, choice("door", "window", "hatch", "vent", "drain", "intake", "flue", "exhaust", "ignition")
    ] = Field(
        json_schema_extra=BUILD,
        description="What it is: an opening into the rooms, an air intake, a flue, an engine's exhaust, or another source of "
        "ignition.",
    )
    name: Name | None = Field(None, json_schema_extra=NO_CODE, description="What it is called on drawings.")
    at: Place = Field(
        json_schema_extra=BUILD, description="Where its nearest edge is: aft, right and up from the corner."
    )
