"""Connectors between an outlet's valve and its appliance: the shortest standard length that reaches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.constants import FOOT
from gasdoc.quantities import Known, Metre

LONGEST_BY_CODE: Annotated[
    Metre, Known("longest connector, one to an appliance: 6 ft", "IFGC 2018 411.1.3.1", "twice")
] = 6 * FOOT
"""A region's own row overrides it."""

Reason = Literal["fits", "too-short", "over-limit", "none-reaches", "longer-than-needed"]
Capacity = Literal["enough", "too-small", "unknown"]


class Reach(Struct, frozen=True):
    """A connector and whether it does. `length` in m, None where no standard length does; `needed` in m.

    `reason`: "fits"; "too-short"; "over-limit" (longer than the code allows, or only such a length reaches);
    "none-reaches" (no standard length is long enough: move the valve, or use rigid tubing); "longer-than-needed" (the
    next shorter standard length reaches as well). `capacity` compares the rated capacity with the load.
    """

    length: Metre | None
    needed: Metre
    reason: Reason
    capacity: Capacity


def needed_length(distance: float, slack: float, bends: int, bend_allowance: float) -> float:
    """The length, m, that spans `distance` from valve to appliance with `slack` to pull the appliance out or let it
    move, and `bend_allowance` for each bend. Raises ValueError for a negative argument.

    2 ft from valve to appliance, 1 ft to pull it out, two bends of 3 in.
    >>> round(needed_length(2 * FOOT, 1 * FOOT, 2, 0.25 * FOOT) / FOOT, 2)
    3.5
    """
    if min(distance, slack, bends, bend_allowance) < 0:
        raise ValueError("lengths must not be negative")
    return distance + slack + bends * bend_allowance


def choose(
    needed: float,
    standard: Sequence[float],
    load: float,
    capacities: Mapping[float, float] | None = None,
    longest: float = LONGEST_BY_CODE,
) -> Reach:
    """The shortest standard length (m) that reaches `needed` (m) and is no longer than `longest` (m).

    `capacities` are rated W by length; a length without one has an unknown capacity. A connector too small for the
    `load` (W) is still the one that reaches: a longer one carries less.

    >>> choose(0.8, (0.6, 0.9, 1.2), 10_000.0, {0.9: 15_000.0})
    Reach(length=0.9, needed=0.8, reason='fits', capacity='enough')
    """
    reaching = sorted(length for length in standard if length >= needed - 1e-6)
    if not reaching:
        return Reach(None, needed, "none-reaches", "unknown")
    if reaching[0] > longest + 1e-6:
        return Reach(None, needed, "over-limit", "unknown")
    return Reach(reaching[0], needed, "fits", _capacity((capacities or {}).get(reaching[0]), load))


def check(
    length: float,
    needed: float,
    standard: Sequence[float],
    load: float,
    capacity: float | None,
    longest: float = LONGEST_BY_CODE,
) -> Reach:
    """Whether a connector of a given `length` (m) and rated `capacity` (W, None if not known) does.

    >>> check(0.6, 0.8, (0.6, 0.9), 10_000.0, None).reason
    'too-short'
    >>> check(7 * FOOT, 0.8, (0.6, 0.9), 10_000.0, None).reason
    'over-limit'
    """
    reason: Reason = "fits"
    if length > longest + 1e-6:
        reason = "over-limit"
    elif length < needed - 1e-6:
        reason = "too-short"
    elif any(needed - 1e-6 <= other < length - 1e-6 for other in standard):
        reason = "longer-than-needed"
    return Reach(length, needed, reason, _capacity(capacity, load))


def _capacity(capacity: float | None, load: float) -> Capacity:
    if capacity is None:
        return "unknown"
    return "enough" if capacity >= load * (1 - 1e-9) else "too-small"
