"""How long parts are and how wide across their flats, read from `part_sizes.yaml`."""

from functools import lru_cache
from typing import Annotated

from gasdoc.catalog.rows import Length, Sourced, read
from gasdoc.data import Entry, Some
from gasdoc.scalars import Bounds


class PartSize(Sourced, frozen=True):
    """Parts of one size: `length` from end to end, `across_flats` as one figure or as the least and the most; left out where
    not known."""

    parts: Some[str]
    length: Length | None = None
    across_flats: Annotated[tuple[Length, ...], Bounds(max_length=2)] = ()


class _PartSizes(Entry, frozen=True):
    rows: Some[PartSize]


def part_size(part: str) -> PartSize | None:
    """What is known of a part, by its key; None where nothing is."""
    return _by_part().get(part)


@lru_cache(maxsize=1)
def _by_part() -> dict[str, PartSize]:
    return {part: row for row in read("part_sizes.yaml", _PartSizes).rows for part in row.parts}
