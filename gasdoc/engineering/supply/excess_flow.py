"""Whether an excess-flow valve would close if a line were cut: the flow out of the cut against the closing rate.

A valve that never sees its closing rate never closes. What the cut can pass is limited by the friction of the line up
to it, by the speed of sound at the cut, and by a regulator upstream. The flows here are estimates, perhaps 10 to 20 %
out (a judgement, no source: friction of fittings, temperature of the gas, the shape of the cut). So a flow close to the
closing rate counts as uncertain; and a leak smaller than a full cut may not be caught at all. The valve's own
instructions decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.supply import flow
from gasdoc.engineering.supply.lpg import Gas
from gasdoc.quantities import KilogramPerSecond, Known, Ratio

PROPANE_HEAT_RATIO: Annotated[
    Ratio,
    Known(
        "ratio of specific heats of propane vapour near 15 degC and 1 bar",
        "An equation of state, which gives 1.13 at 37 degC and 1.17 at -23 degC",
        "computed",
    ),
] = 1.14

ENTRY_HEADS: Annotated[
    Ratio,
    Known(
        "velocity heads lost where a cut line begins: one to set the gas in motion, a half for a square entry",
        "Four of the six handbooks that an open library of flow has for a sharp entry: 0.5; the others 0.51 and 0.57",
        "once",
    ),
] = 1.5

NORMAL_FLOW_SHARE: Annotated[
    Ratio,
    Known(
        "how many times the normal flow an excess-flow valve's closing rate is at least",
        "A Canadian trade association's page on excess-flow valves, as good practice; that NFPA 58 asks it is from memory",
        "once",
    ),
] = 1.5

_HALVINGS = 60


class LineBefore(Struct, frozen=True):
    """A stretch of line on the way to the cut, in m; `length` counts the equivalent lengths of fittings."""

    bore: float
    length: float
    roughness: float


class CutFlow(Struct, frozen=True):
    """The mass flow out of a full cut in kg/s, and what sets it.

    `limit`: "friction" (the gas leaves at the pressure of the air), "sonic" (it leaves at the speed of sound) or
    "regulator" (the regulator passes no more).
    """

    mass: KilogramPerSecond
    limit: Literal["friction", "sonic", "regulator"]


def orifice_flow(
    area: float, discharge: float, gas: Gas, outside_absolute: float, heat_ratio: float = PROPANE_HEAT_RATIO
) -> CutFlow:
    """The flow in kg/s out of a hole of `area` (m2) right at a vessel or valve that holds `gas`.

    Ideal-gas nozzle flow (textbook, from memory; the sonic form is that of relief-valve sizing): with r = p_out / p,
    critical r* = (2/(k+1))^(k/(k-1)); below it m = C A sqrt(k p rho (2/(k+1))^((k+1)/(k-1))), above it
    m = C A sqrt(2 k/(k-1) p rho (r^(2/k) - r^((k+1)/k))). `discharge` C is about 0.6 for a sharp hole, 0.8 to 1 for
    a rounded one. Raises ValueError for a negative area or an outside pressure that is not positive.

    10 mm2 at C = 0.8, 8 bar over 1 bar of air, k = 1.14: choked, 0.0188 kg/s by the formula worked out by hand.
    >>> flow_out = orifice_flow(1e-5, 0.8, Gas(293.15, 8e5, 17.0, 8e-6), 1e5)
    >>> round(flow_out.mass, 4), flow_out.limit
    (0.0188, 'sonic')
    """
    if area < 0.0 or outside_absolute <= 0.0:
        raise ValueError("the area must not be negative and the outside pressure must be positive")
    k = heat_ratio
    squared_flux = gas.absolute * gas.density
    ratio = outside_absolute / gas.absolute
    if ratio >= 1.0:
        return CutFlow(0.0, "friction")
    critical = math.pow(2.0 / (k + 1.0), k / (k - 1.0))
    if ratio <= critical:
        flux = math.sqrt(k * squared_flux * math.pow(2.0 / (k + 1.0), (k + 1.0) / (k - 1.0)))
        return CutFlow(discharge * area * flux, "sonic")
    # At a pressure hardly above that outside, rounding can make this difference negative.
    spread = max(0.0, math.pow(ratio, 2.0 / k) - math.pow(ratio, (k + 1.0) / k))
    return CutFlow(discharge * area * math.sqrt(2.0 * k / (k - 1.0) * squared_flux * spread), "friction")


def cut_flow(
    lines: Sequence[LineBefore], gas: Gas, outside_absolute: float, *, regulator_capacity: float | None = None
) -> CutFlow:
    """The flow in kg/s from a source holding `gas` through `lines`, in flow order, out of a full cut at their end.

    Isothermal pipe flow with its kinetic term: p1^2 - p2^2 = G^2 (Z R T/M)(f L/D + heads + 2 ln(p1/p2)); gas cannot
    leave a line at less than G sqrt(Z R T/M), where the isothermal flow is sonic (textbook, from memory). In a line of
    several bores the logarithm is taken to the lowest pressure each could end at: a little low, the careful side, since
    the question is whether the flow is enough. `regulator_capacity` (kg/s) caps the flow where a regulator stands
    between the source and the cut: give it when the source is the regulator's outlet. What a regulator passes into a
    cut line may exceed its rating, which is stated at a pressure still regulated; the rating is the careful side again.

    Z is that at the source. Raises ValueError without lines.

    >>> gas = Gas(288.15, 170e3, 3.15, 8e-6)
    >>> line = LineBefore(0.0109, 10.0, 1.5e-6)
    >>> cut_flow((line,), gas, 101_325.0, regulator_capacity=1e-3)
    CutFlow(mass=0.001, limit='regulator')
    >>> cut_flow((line,), gas, 101_325.0).limit
    'friction'
    """
    if not lines:
        raise ValueError("a cut line needs a line. For a hole right at the source use orifice_flow")

    # More than sonic flow with no loss at all cannot pass the narrowest line.
    narrowest = min(line.bore for line in lines)
    sonic = math.sqrt(gas.pressure_per_density)
    low, high = 0.0, gas.absolute / sonic * 0.25 * math.pi * narrowest**2
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if _passes(lines, gas, outside_absolute, middle):
            low = middle
        else:
            high = middle
    if regulator_capacity is not None and regulator_capacity < low:
        return CutFlow(regulator_capacity, "regulator")
    exit_flux = low / (0.25 * math.pi * lines[-1].bore ** 2)
    return CutFlow(low, "sonic" if exit_flux * sonic > outside_absolute else "friction")


def _passes(lines: Sequence[LineBefore], gas: Gas, outside_absolute: float, mass: float) -> bool:
    """Whether this mass flow can get through to the outside."""
    square = gas.absolute**2
    specific = gas.pressure_per_density
    heads = ENTRY_HEADS
    for line in lines:
        flux = mass / (0.25 * math.pi * line.bore**2)
        least = max(outside_absolute, flux * math.sqrt(specific))
        if square <= least * least:
            return False
        friction = flow.squared_drop(mass, line.bore, line.length, line.roughness, gas)
        square -= friction + flux * flux * specific * (heads + math.log(square / (least * least)))
        if square < least * least:
            return False
        heads = 0.0
    return True


Closing = Literal["closes", "uncertain", "regulator-limits", "line-limits"]


def closing(cut: CutFlow, closing_flow: float, *, sure_share: float) -> Closing:
    """Whether a valve that closes at `closing_flow` (kg/s) would see a cut with this flow.

    A rate given as volume becomes mass with the density at the state its data sheet names (`lpg.mass_from_volume`).

    "closes": the flow is at least `sure_share` times the closing rate (1.5, say: the flow is an estimate, and rates
    have a tolerance). "uncertain": above the rate, but not by that share. Below the rate it stays open:
    "regulator-limits" or "line-limits" says what holds the flow back. Raises ValueError when the closing flow is not
    positive or the share is under 1.

    >>> [closing(CutFlow(mass, "friction"), 1.0, sure_share=1.5) for mass in (1.5, 1.2, 0.8)]
    ['closes', 'uncertain', 'line-limits']
    """
    if closing_flow <= 0.0 or sure_share < 1.0:
        raise ValueError("the closing flow must be positive and the share at least 1")
    if cut.mass >= sure_share * closing_flow:
        return "closes"
    if cut.mass >= closing_flow:
        return "uncertain"
    return "regulator-limits" if cut.limit == "regulator" else "line-limits"


def holds_open(normal_flow: float, closing_flow: float) -> bool:
    """Whether the closing rate stands far enough above the normal flow (both kg/s) not to shut in normal use.

    At least half as much again: see NORMAL_FLOW_SHARE.

    >>> holds_open(1.0, 1.6), holds_open(1.0, 1.4)
    (True, False)
    """
    return closing_flow >= NORMAL_FLOW_SHARE * normal_flow
