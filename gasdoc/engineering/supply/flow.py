"""Gas in one pipe: friction, the drop it costs, speed, the weight of a riser, and what a bore carries.

A drop is held as a drop of the *squared* absolute pressure: p1^2 - p2^2 = f (L/D) G^2 (Z R T / M), G the mass flow
per area. That is the isothermal pipe equation without its kinetic term (textbook, from memory; against the full
equation with real-gas density it is within 0.03 % of the drop at 11 in. w.c.). It does not depend on the pressure
itself, so it adds along a path.
"""

from __future__ import annotations

from math import log, pi
from typing import Annotated, Literal

from gasdoc.engineering.constants import GRAVITY
from gasdoc.engineering.supply.lpg import Gas, air_density
from gasdoc.quantities import Known, Ratio

Regime = Literal["laminar", "transition", "turbulent"]

LAMINAR_LIMIT: Annotated[
    Ratio,
    Known(
        "Reynolds number up to which flow is taken as laminar: that from which turbulence in a pipe lasts",
        "Avila and others, Science 333 (2011), p. 192, as an open library of flow quotes it",
        "once",
    ),
] = 2040.0
"""Friction jumps up there by 57 %, so more flow never costs less drop."""

_TRANSITION: Annotated[
    tuple[float, float],
    Known(
        "Reynolds numbers between which neither law of friction is sure",
        "A pump association's engineering data book",
        "once",
    ),
] = (2000.0, 4000.0)
_TWO_OVER_LN10 = 2.0 / log(10.0)
_HALVINGS = 100


def reynolds(mass: float, bore: float, viscosity: float) -> float:
    """Reynolds number 4 m / (pi D mu) of a mass flow (kg/s) in a round bore (m); viscosity in Pa s.

    >>> round(reynolds(2e-4, 0.0109, 8e-6))
    2920
    """
    return 4.0 * mass / (pi * bore * viscosity)


def regime(re: float) -> Regime:
    """How the gas flows. In "transition" (Re 2,000 to 4,000) the friction is uncertain, whatever a formula says.

    >>> regime(1500.0), regime(3000.0), regime(5000.0)
    ('laminar', 'transition', 'turbulent')
    """
    if re < _TRANSITION[0]:
        return "laminar"
    return "transition" if re <= _TRANSITION[1] else "turbulent"


def friction_factor(re: float, relative_roughness: float) -> float:
    """Darcy friction factor: 64/Re up to Re 2,040, above it the Colebrook-White equation to machine precision.

    1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f))) (Colebrook 1939), solved by Halley's method for 1/sqrt(f) from
    Haaland's explicit formula (1983), which is within 3 %; each of the two steps cubes the error. `relative_roughness`
    is roughness over bore. Raises ZeroDivisionError for no flow: there is no factor then.

    A smooth pipe at Re 1e5: 0.0180 (Moody chart).
    >>> round(friction_factor(1e5, 0.0), 4), friction_factor(1000.0, 0.0)
    (0.018, 0.064)
    """
    if re <= LAMINAR_LIMIT:
        return 64.0 / re
    rough = relative_roughness / 3.7
    smooth = 2.51 / re
    x = -0.9 * _TWO_OVER_LN10 * log(rough**1.11 + 6.9 / re)
    for _ in (1, 2):
        inside = rough + smooth * x
        bend = smooth / inside
        error = x + _TWO_OVER_LN10 * log(inside)
        slope = 1.0 + _TWO_OVER_LN10 * bend
        x -= error / (slope + 0.5 * error * _TWO_OVER_LN10 * bend * bend / slope)
    return 1.0 / (x * x)


def squared_drop(mass: float, bore: float, length: float, roughness: float, gas: Gas) -> float:
    """p1^2 - p2^2 in Pa2 (absolute pressures) that a mass flow (kg/s) costs by the Darcy-Weisbach equation.

    `length` in m counts the pipe and the equivalent lengths of its fittings; `bore` and `roughness` in m.

    Laminar flow by Hagen and Poiseuille: 128 mu m L / (pi rho D^4) is 18 Pa, times twice the pressure.
    >>> state = Gas(288.15, 104_000.0, 1.9, 8e-6)
    >>> round(squared_drop(1e-4, 0.0109, 15.0, 0.0, state) / (2 * state.absolute), 1)
    18.2
    """
    flux = mass / (0.25 * pi * bore * bore)
    re = flux * bore / gas.viscosity
    specific = gas.absolute / gas.density
    if re <= LAMINAR_LIMIT:  # 64/Re put in: no division by a flow that may be nothing
        return 64.0 * gas.viscosity * flux * length / (bore * bore) * specific
    return friction_factor(re, roughness / bore) * length / bore * flux * flux * specific


def speed(mass: float, bore: float, density: float) -> float:
    """Mean speed of the gas in m/s.

    >>> round(speed(2e-4, 0.0109, 1.9), 2)
    1.13
    """
    return mass / (0.25 * pi * bore * bore * density)


def rise_loss(rise: float, gas: Gas, atmosphere_absolute: float) -> float:
    """The gauge pressure in Pa lost over a `rise` in m (negative: gained on the way down), before any friction.

    (rho_gas - rho_air) g h, the air at the temperature of the gas. Propane is heavier than air, so a rise loses about
    2 Pa (0.008 in. w.c.) per foot at 11 in. w.c.; gas at a higher pressure is denser and loses more.

    About 2 Pa per foot at 11 in. w.c.
    >>> round(rise_loss(0.3048, Gas(288.15, 104_065.0, 1.92, 8e-6), 101_325.0), 1)
    2.1
    """
    return (gas.density - air_density(gas.temperature, atmosphere_absolute)) * GRAVITY * rise


def capacity(bore: float, length: float, roughness: float, inlet_absolute: float, drop: float, gas: Gas) -> float:
    """The mass flow in kg/s that a bore carries over a length at a given drop (Pa): `squared_drop` turned round.

    Bisection, a fixed number of steps; the result is on the low side of the answer by less than one part in 1e12. At
    the jump from laminar to turbulent flow it returns the largest laminar flow. Raises ValueError for a drop that is
    negative or takes all of the pressure, or a bore or length that is not positive.

    >>> state = Gas(288.15, 104_000.0, 1.9, 8e-6)
    >>> carried = capacity(0.0109, 10.0, 1.5e-6, 104_000.0, 125.0, state)
    >>> spent = squared_drop(carried, 0.0109, 10.0, 1.5e-6, state)
    >>> round(104_000.0 - (104_000.0**2 - spent) ** 0.5, 6)
    125.0
    """
    if not (bore > 0.0 and length > 0.0 and 0.0 <= drop < inlet_absolute):
        raise ValueError("bore and length must be positive, and the drop between 0 and the inlet pressure")
    allowed = inlet_absolute**2 - (inlet_absolute - drop) ** 2
    # Laminar flow costs the least drop per flow at a given flow, so its answer is an upper bound for every regime.
    per_mass = 128.0 * gas.viscosity * length * gas.pressure_per_density / (pi * bore**4) * 2.0
    low, high = 0.0, allowed / per_mass
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if squared_drop(middle, bore, length, roughness, gas) <= allowed:
            low = middle
        else:
            high = middle
    return low
