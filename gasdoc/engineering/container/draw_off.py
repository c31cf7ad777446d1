"""How a day's use stands against a trade's table of draw-off: highest loads without interruption, in cycles with as long a
pause, and in short bursts. Such a table knows neither air nor fill; it is a rule of thumb."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.burning import Period, in_a_day
from gasdoc.quantities import Known, Second

Pattern = Literal["uninterrupted", "half-time-off", "bursts"]

BURST: Annotated[
    Second,
    Known("how long a burst is at most: 20 min", "The trade's table of draw-off, see catalog/containers", "once"),
] = 1200.0

CYCLE: Annotated[
    Second,
    Known(
        "how long a cycle is at most, with as long a pause after it",
        "Our choice: the trade's table says how much of the time is off, not for how long",
        "practice",
    ),
] = 3600.0
"""What goes on for longer is uninterrupted: a reading on the careful side."""


def highest_loads(periods: Sequence[Period]) -> dict[Pattern, float]:
    """For each pattern the highest load, W, that a day's `periods` ask in it; every day is alike.

    Each height of the load is looked at by itself, so a small flame that burns all day does not turn the short use on top
    of it into an uninterrupted one.

    3 kW all day and 2 kW more for ten minutes: the burst is 5 kW, what goes on is 3 kW.
    >>> highest_loads((Period(0.0, DAY, 3000.0), Period(3600.0, 4200.0, 2000.0)))
    {'uninterrupted': 3000.0, 'half-time-off': 0.0, 'bursts': 5000.0}
    """
    profile = in_a_day(periods)
    found: dict[Pattern, float] = {"uninterrupted": 0.0, "half-time-off": 0.0, "bursts": 0.0}
    for height in {load for _, _, load in profile if load > 0}:
        for length, pause in _stretches([(b, e) for b, e, load in profile if load >= height]):
            pattern: Pattern = "uninterrupted"
            if pause >= length and length <= CYCLE:
                pattern = "bursts" if length <= BURST else "half-time-off"
            found[pattern] = max(found[pattern], height)
    return found


def _stretches(parts: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Length of each stretch, and of the pause after it, s; `parts` in order, joined where they touch, also over midnight."""
    joined: list[list[float]] = []
    for begin, end in parts:
        if joined and joined[-1][1] == begin:
            joined[-1][1] = end
        else:
            joined.append([begin, end])
    if len(joined) > 1 and joined[0][0] == 0.0 and joined[-1][1] == DAY:
        joined[-1][1] += joined.pop(0)[1]
    following = [*joined[1:], [joined[0][0] + DAY]]
    return [(end - begin, after[0] - end) for (begin, end), after in zip(joined, following, strict=True)]
