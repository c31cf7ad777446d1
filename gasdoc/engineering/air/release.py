"""What a leak would do here: how much gas comes out, and how soon the lowest space could burn.

A caution, never a reassurance. The space is taken as closed, with no credit for ventilation, and as evenly mixed: gas
that lies in a pool reaches the limit at the floor sooner than any time worked out here. So no time over one hour is
returned: by then it has pooled before it mixed, and a figure would only comfort.
"""

from __future__ import annotations

import math
from typing import Annotated

from msgspec import Struct

from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.excess_flow import orifice_flow
from gasdoc.engineering.supply.lpg import Fuel, Gas
from gasdoc.quantities import Known, Metre, Ratio

LOWER_FLAMMABLE_LIMIT: Annotated[
    Ratio,
    Known(
        "lower flammable limit of propane in air, by volume",
        "Public safety leaflets in the United Kingdom (2 to 11 %), the lowest figure published; others print 2.1, 2.15 and 2.3 %",
        "once",
    ),
] = 0.02

POOL_DEPTH: Annotated[
    Metre, Known("how deep gas is taken to lie on a floor with no closed void below it", "Our choice", "practice")
] = 0.3

LONGEST_TIME = 3600.0
"""s: over this no time is returned."""

DISCHARGE: Annotated[
    Ratio,
    Known("discharge coefficient of a hole", "Textbooks, from memory: 0.6 if sharp, 0.8 to 1 if rounded", "memory"),
] = 0.8
"""A worn or drilled hole is near 0.6; the larger is taken, since more gas is the careful side."""


class Fill(Struct, frozen=True):
    """How soon a space reaches the limit: `time` in s, or None with a reason.

    Reasons: "over-an-hour" (it pools before it mixes), "no-flow", "no-space" (its volume is not known).
    """

    time: float | None
    reason: str | None


def pinhole(diameter: float, gas: Gas, outside_absolute: float) -> float:
    """The flow in kg/s out of a round hole (m) in a line that holds `gas`.

    At low pressure this is C A sqrt(2 dp rho), the plain orifice equation (textbook); `excess_flow.orifice_flow`
    carries it on to higher pressures. Raises ValueError for an outside pressure that is not positive.

    The orifice equation by hand: 0.8 x 7.85e-7 m2 x sqrt(2 x 2740 Pa x 1.9 kg/m3) is 6.4e-5 kg/s, a little less as the gas expands.
    >>> f"{pinhole(0.001, Gas(288.15, 104_065.0, 1.9, 8e-6), 101_325.0):.1e}"
    '6.3e-05'
    """
    return orifice_flow(0.25 * math.pi * diameter**2, DISCHARGE, gas, outside_absolute).mass


def open_burner(load: float, fuel: Fuel) -> float:
    """The gas in kg/s out of a burner of `load` (W) that is open and not lit.

    By the gross heating value of the sizing tables, which is the lower one and so gives more gas.

    10 kW over 50.12 MJ/kg.
    >>> f"{open_burner(10_000.0, Fuel(1.0)):.2e}"
    '2.00e-04'
    """
    return lpg.mass_flow(load, lpg.gross_heating_value(fuel))


def lowest_space(void: float | None, floor_area: float | None) -> float | None:
    """The space in m3 that gas fills first: the smaller of the lowest closed void and `POOL_DEPTH` over the floor.

    None where neither is known.

    >>> lowest_space(None, 10.0), lowest_space(0.5, 10.0), lowest_space(None, None)
    (3.0, 0.5, None)
    """
    known = [] if void is None else [void]
    if floor_area is not None:
        known.append(POOL_DEPTH * floor_area)
    return min(known, default=None)


def time_to_limit(mass: float, gas_density: float, space: float | None) -> Fill:
    """How soon a release of `mass` (kg/s) brings `space` (m3) to the lower flammable limit: t = limit x V / Q.

    `gas_density` in kg/m3 is that of the gas at the pressure and temperature of the space, not of the line. None of
    the gas is taken to leave the space with the air it pushes out: the shortest time for even mixing.

    0.02 x 3 m3 x 1.9 kg/m3 is 0.114 kg: at 0.2 g/s ten minutes, less half a minute.
    >>> round(time_to_limit(2e-4, 1.9, 3.0).time)
    570
    >>> time_to_limit(2e-6, 1.9, 3.0).reason
    'over-an-hour'
    """
    if space is None:
        return Fill(None, "no-space")
    if mass <= 0.0:
        return Fill(None, "no-flow")
    time = LOWER_FLAMMABLE_LIMIT * space * gas_density / mass
    return Fill(time, None) if time <= LONGEST_TIME else Fill(None, "over-an-hour")
