"""When appliances burn: loads over the hours of a day, shared among containers, as stretches one after another."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.engineering.constants import DAY
from gasdoc.quantities import Second, Watt


class Period(Struct, frozen=True):
    """A load in W from `start` to `end`, s after midnight, every day. Periods may overlap; their loads add up."""

    start: Second
    end: Second
    load: Watt

    def __post_init__(self) -> None:
        if not 0 <= self.start < self.end <= DAY or not 0 <= self.load < math.inf:
            raise ValueError("a period lies within one day, ends after it starts, and has a load of at least 0")


def in_parallel(periods: Sequence[Period], number: int) -> tuple[Period, ...]:
    """The use that falls on each of `number` equal containers that feed together.

    >>> in_parallel((Period(0.0, 3600.0, 9000.0),), 3)
    (Period(start=0.0, end=3600.0, load=3000.0),)
    """
    return tuple(replace(period, load=period.load / number) for period in periods)


def in_a_day(periods: Sequence[Period]) -> list[tuple[float, float, float]]:
    """Stretches of constant load in one day, one after another without gaps: (begin s, end s, load W).

    >>> in_a_day([Period(0.0, 3600.0, 500.0), Period(1800.0, 3600.0, 200.0)])
    [(0.0, 1800.0, 500.0), (1800.0, 3600.0, 700.0), (3600.0, 86400.0, 0)]
    """
    marks = sorted({0.0, DAY, *(p.start for p in periods), *(p.end for p in periods)})
    return [(b, e, sum(p.load for p in periods if p.start <= b and p.end >= e)) for b, e in pairwise(marks)]


def stretches(periods: Sequence[Period], days: int, start: float) -> Iterator[tuple[float, float, float]]:
    """Stretches of constant load in `days` days from `start` s on, one after another without gaps: (begin s, end s, load W).

    >>> list(stretches([Period(3600.0, 7200.0, 500.0)], 1, 0.0))
    [(0.0, 3600.0, 0), (3600.0, 7200.0, 500.0), (7200.0, 86400.0, 0)]
    """
    day = in_a_day(periods)
    for number in range(days):
        for begin, end, load in day:
            if number * DAY + end > start:
                yield max(number * DAY + begin, start), number * DAY + end, load
