"""How long the gas lasts, and what it weighs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gasdoc.quantities import Kilogram

_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Use:
    """An appliance's day: `load` in W (gross), `seconds` of burning a day, `standing` W all day (a pilot)."""

    load: float
    seconds: float
    standing: float = 0.0

    def __post_init__(self) -> None:
        if not 0 <= self.seconds <= _DAY or not self.load >= 0 or not self.standing >= 0:
            raise ValueError("a day's burning lies within 0 and 24 h, loads are not negative")


@dataclass(frozen=True, slots=True)
class DailyUse:
    """What a day takes: `energy` J of fuel (gross) and `mass` kg."""

    energy: float
    mass: float


@dataclass(frozen=True, slots=True)
class FillLimit:
    """The most a container may hold, kg: `by_volume` (share of its volume), `by_weight` (filling density), `mass` the
    lower."""

    by_volume: float
    by_weight: float
    mass: float


@dataclass(frozen=True, slots=True)
class Weights:
    """Weight of a set of containers, kg, empty and with the usable contents."""

    empty: Kilogram
    full: Kilogram


def daily_use(uses: Sequence[Use], heating_value: float) -> DailyUse:
    """What all `uses` take in a day; `heating_value` in J/kg, on the basis of the loads.

    A standing load burns the whole day, beside the load.
    """
    energy = math.fsum(use.load * use.seconds + use.standing * _DAY for use in uses)
    return DailyUse(energy, energy / heating_value)


def days_between_fills(usable_mass: float, mass_per_day: float, reserve: float = 0.0) -> float:
    """Days from full to `reserve` (a share of the usable mass that is left); infinite for no use.

    Raises ValueError for a reserve not within 0 and 1 or a negative mass.
    """
    if not 0 <= reserve < 1 or usable_mass < 0 or mass_per_day < 0:
        raise ValueError("a reserve lies within 0 and 1, masses are not negative")
    return math.inf if mass_per_day == 0 else usable_mass * (1 - reserve) / mass_per_day


def number_by_rule(load: float, rate_each: float) -> int:
    """How many containers a flat rate for each asks for: `load` and `rate_each` in W, rounded up."""
    return math.ceil(load / rate_each * (1 - 1e-12))


def cost_per_day(mass_per_day: float, price: float) -> float:
    """Cost of a day in the currency of `price`, which is for a kilogram."""
    return mass_per_day * price


def weights(tare: float, usable_mass: float, number: int = 1) -> Weights:
    """Weight of `number` equal containers, from one's tare and usable contents (kg)."""
    return Weights(number * tare, number * (tare + usable_mass))


def largest_fill(
    water_capacity: float, liquid_density: float, volume_share: float, filling_density: float, water_density: float
) -> FillLimit:
    """The most that may be filled, kg: the lower of the volume rule and the weight rule.

    `water_capacity` m3; `liquid_density` kg/m3 at the liquid's temperature when filled; `filling_density` as mass of
    fuel for each mass of water, `water_density` kg/m3 at 60 degF. Both rules agree near 40 degF; in warmer liquid the
    volume rule allows less, in colder the weight rule.
    """
    by_volume = volume_share * water_capacity * liquid_density
    by_weight = filling_density * water_capacity * water_density
    return FillLimit(by_volume, by_weight, min(by_volume, by_weight))
