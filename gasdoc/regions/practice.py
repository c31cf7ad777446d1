"""What is usual where a region's rules hold, and which rows of the files that regions share are for it."""

from typing import Annotated, Literal, TypeAlias

from gasdoc.data import Entry, Some
from gasdoc.scalars import Quantity, choice
from gasdoc.source import CONFIRMED
from gasdoc.units import Given

Setting = Literal["cabin", "trailer", "vehicle", "boat"]

Where: TypeAlias = Literal["moves", "building"]
"""What a row is for, where it is not for all that its region is for: "building" is a cabin, "moves" anything else."""

ROWS = {
    "north-american": "the United States and Canada",
    "us": "the United States",
    "us-land": "the United States, on land",
    "us-road": "the United States, what travels on the road",
    "us-trade": "the United States, mobile units used for trade",
    "us-building": "the United States, buildings",
    "us-boat": "the United States, boats",
    "canadian": "Canada",
    "european": "Europe and the United Kingdom",
    "european-land": "Europe and the United Kingdom, on land",
    "european-boat": "Europe and the United Kingdom, boats",
    "eu-land": "the European Union, on land",
    "british": "the United Kingdom and boats in Europe, which take its rules",
    "british-land": "the United Kingdom, on land",
    "australasian": "Australia and New Zealand",
}
"""What a row of cautions.yaml, upkeep.yaml, sequence.yaml or the catalogue's mounting.yaml and kit.yaml may be limited to."""

Row: TypeAlias = Annotated[str, choice(*ROWS)]


Air: TypeAlias = Annotated[Given, Quantity(("temperature",))]


class ColdestAir(Entry, frozen=True):
    """The coldest air, K, that a plan is worked out with where it does not say, and another one to show beside it."""

    value: Air
    other: Air
    source: str
    confirmed: Annotated[str, choice(*CONFIRMED)]


class Practice(Entry, frozen=True, kw_only=True):
    """What is usual in a region.

    `rows` are the limits of shared rows that hold here. `setting` is what a build is in where its spec does not say; None
    where the region is for several. `two_stage`: whether codes here ask two stages on fixed piping, or none was read that
    does. `containers` are the families of the catalogue's containers that the trade here has; `coldest` what a plan that does
    not say is worked out with.
    """

    rows: Some[Row]
    setting: Setting | None = None
    two_stage: Literal["asked", "not-read"]
    containers: Some[str]
    coldest: ColdestAir

    def takes(self, rows: tuple[str, ...]) -> bool:
        """Whether a shared row limited to `rows`, or to none, is for this region."""
        return not rows or not set(rows).isdisjoint(self.rows)
