"""How long the gas lasts, and what it weighs."""

from __future__ import annotations

import math

from msgspec import Struct

from gasdoc.quantities import Kilogram


class Weights(Struct, frozen=True):
    """Weight of a set of containers, kg, empty and with the usable contents."""

    empty: Kilogram
    full: Kilogram


def days_between_fills(usable_mass: float, mass_per_day: float) -> float:
    """Days from full to empty; infinite for no use. Raises ValueError for a negative mass.

    >>> days_between_fills(9.0, 1.5)
    6.0
    """
    if usable_mass < 0 or mass_per_day < 0:
        raise ValueError("masses are not negative")
    return math.inf if mass_per_day == 0 else usable_mass / mass_per_day


def number_by_rule(load: float, rate_each: float) -> int:
    """How many containers a flat rate for each asks for: `load` and `rate_each` in W, rounded up.

    >>> number_by_rule(25_000.0, 10_000.0)
    3
    """
    return math.ceil(load / rate_each * (1 - 1e-12))


def cost_per_day(mass_per_day: float, price: float) -> float:
    """Cost of a day in the currency of `price`, which is for a kilogram.

    >>> cost_per_day(1.5, 3.0)
    4.5
    """
    return mass_per_day * price


def weights(tare: float, usable_mass: float, number: int = 1) -> Weights:
    """Weight of `number` equal containers, from one's tare and usable contents (kg).

    >>> weights(9.0, 9.0, 2)
    Weights(empty=18.0, full=36.0)
    """
    return Weights(number * tare, number * (tare + usable_mass))


def largest_fill(
    water_capacity: float, liquid_density: float, volume_share: float, filling_density: float, water_density: float
) -> float:
    """The most that may be filled, kg: the lower of the volume rule and the weight rule.

    `water_capacity` m3; `liquid_density` kg/m3 at the liquid's temperature when filled; `filling_density` as mass of
    fuel for each mass of water, `water_density` kg/m3 at 60 degF. Both rules agree near 40 degF; in warmer liquid the
    volume rule allows less, in colder the weight rule.

    80 % of 0.1 m3 at 500 kg/m3 is 40 kg; 42 % of its 99.8 kg of water is 41.9 kg.
    >>> round(largest_fill(0.1, 500.0, 0.8, 0.42, 998.0), 1)
    40.0
    """
    return water_capacity * min(volume_share * liquid_density, filling_density * water_density)
