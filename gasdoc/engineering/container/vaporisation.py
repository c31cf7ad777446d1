"""How much vapour a container gives at a moment, over air temperature and contents: its liquid is as cold as may be, and the
skin takes in what boils off. How long it goes on is another question (`coldday`): at such a rate it is empty within hours.

Three methods, and the answer is the lowest that applies:

- a rule for horizontal containers, diameter x length x a factor for the fill (`LengthRule`);
- a table of continuous draw of the 100-lb cylinder (`CylinderTable`), which is a **ceiling**: its cells fit a liquid
  boiled down to about -44 degF, where propane has no pressure left. For other upright cylinders the same heat flow per
  area of wetted skin is used (`ceiling_rate`), which is derived, not published;
- a heat balance (`heat_balance_rate`): wetted skin x U x (air - liquid), the liquid as cold as the regulator's lowest
  inlet pressure, line loss added, lets it get.

Neither published method is the lower everywhere: at 0 degF the rule's physics give less, from 40 degF on the table
does.

The sun and the frost that freezes on the skin are not counted as heat.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Annotated, Literal, Protocol

from msgspec import Struct

from gasdoc.engineering.container.vessel import Vessel, wetted_area
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import Fuel
from gasdoc.quantities import Kelvin, Known, Ratio, Watt, WattPerSquareMetreKelvin

COEFFICIENT: Annotated[
    WattPerSquareMetreKelvin,
    Known(
        "heat that moving air gives a container: 3.24 Btu/h ft2 degF",
        "The one value that best gives the six factors of the length rule, with a liquid at -20 degF",
        "computed",
    ),
] = 18.4
"""With elliptical heads and a length of 2.75 diameters: worst 4.3 %, median 2.5 %. Over lengths of 2.25 to 3.5 diameters
the best value moves by 1 % and the worst error is 6 %."""

CEILING_COEFFICIENT: Annotated[
    WattPerSquareMetreKelvin,
    Known(
        "heat that the table of the 100-lb cylinder contains: 2.35 Btu/h ft2 degF",
        "The best fit to that table, with a liquid at -44 degF",
        "computed",
    ),
] = 13.34
"""Worst 25 % (too low, in the 10-lb row, where foot ring and bottom carry heat of their own), median 4.8 %."""

CEILING_FLOOR: Annotated[
    Kelvin,
    Known(
        "liquid temperature at which the rates of the cylinder table go to nothing: -44 degF",
        "The same fit",
        "computed",
    ),
] = 230.93

UNCERTAINTY: Annotated[
    Ratio,
    Known(
        "how far off a computed rate may be",
        "Our judgment: the two published methods contain coefficients 16 % either side of their mean, and neither knows "
        "wind, frost, paint and rain",
        "practice",
    ),
] = 0.30
"""In still air it may be off by more: see `still_air`."""

_FILL_TEMPERATURE: Annotated[
    Kelvin,
    Known(
        "temperature at which a mass of fuel is turned into a fill: -20 degF",
        "The length rule is based on it; careful, since cold liquid takes less room",
        "computed",
    ),
] = 244.26

Manifold = Literal["single", "changeover", "parallel", "banks"]
"""How containers are joined: one alone; one at a time; all together; two banks, of which one feeds at a time."""

BANKS = 2


def feeding(number: int, manifold: Manifold) -> int:
    """How many of `number` containers feed at a time.

    >>> feeding(4, "banks")
    2
    """
    return {"parallel": number, "banks": number // BANKS}.get(manifold, 1)


def sides(number: int, manifold: Manifold) -> int:
    """How many feed one after another, each a container or a bank.

    >>> sides(4, "banks")
    2
    """
    return {"changeover": number, "banks": BANKS}.get(manifold, 1)


class PublishedMethod(Protocol):
    """A published method that serves one container."""

    @property
    def method(self) -> str:
        """Its name in results."""

    def rate(self, fuel_mass: float, fill: float, air_temperature: float) -> tuple[float, bool]:
        """Continuous rate, W, and whether the point lies in the published range."""


class CylinderTable(Struct, frozen=True):
    """Continuous draw of one kind of cylinder: `rates[i][j]` in W at `contents[i]` kg of fuel and
    `air_temperatures[j]` K, both rising."""

    contents: tuple[float, ...]
    air_temperatures: tuple[float, ...]
    rates: tuple[tuple[float, ...], ...]

    @property
    def method(self) -> str:
        """The code of the method."""
        return "cylinder-table"

    def rate(self, fuel_mass: float, fill: float, air_temperature: float) -> tuple[float, bool]:
        """The rate, W, and whether the point lies within the table.

        Outside it, on the careful side: less content than the lowest row in proportion to the content, colder than
        the first column in proportion to the distance from CEILING_FLOOR, more and warmer as the last row and column.

        The LP-gas handbook's cylinder of 100 lb at 20 degF: 94 kBtu/h with 50 lb in it, 109 with 60 lb.
        >>> pound, kbtu_per_hour = 0.45359237, 293.0711
        >>> rates = tuple(tuple(each * kbtu_per_hour for each in row) for row in ((64, 94), (75, 109)))
        >>> table = CylinderTable((50 * pound, 60 * pound), (255.372, 266.483), rates)
        >>> round(table.rate(55 * pound, 0.5, 266.483)[0] / kbtu_per_hour, 1)
        101.5
        """
        mass = min(max(fuel_mass, self.contents[0]), self.contents[-1])
        air = min(max(air_temperature, self.air_temperatures[0]), self.air_temperatures[-1])
        i, s = _place(self.contents, mass)
        j, t = _place(self.air_temperatures, air)
        low = self.rates[i][j] * (1 - t) + self.rates[i][j + 1] * t
        high = self.rates[i + 1][j] * (1 - t) + self.rates[i + 1][j + 1] * t
        rate = low * (1 - s) + high * s
        if fuel_mass < mass:
            rate *= max(fuel_mass, 0.0) / mass
        if air_temperature < air:
            rate *= max(air_temperature - CEILING_FLOOR, 0.0) / (air - CEILING_FLOOR)
        return rate, mass == fuel_mass and air == air_temperature


class LengthRule(Struct, frozen=True):
    """The rule for a horizontal container: Q = D x L x K, times (T_air - floor) / (base_air - floor).

    `diameter` (outside) and `length` (overall) in m; `factors[i]` in W/m2 at the share of the volume filled `fills[i]`,
    rising, for air at `base_air` K and liquid let down to `floor` K.
    """

    diameter: float
    length: float
    fills: tuple[float, ...]
    factors: tuple[float, ...]
    base_air: float
    floor: float

    @property
    def method(self) -> str:
        """The code of the method."""
        return "length-rule"

    def rate(self, fuel_mass: float, fill: float, air_temperature: float) -> tuple[float, bool]:
        """The rate, W, and whether the fill lies in the published range.

        Between published fills in a straight line; below them in proportion to the fill, above them as the highest:
        both on the careful side.

        The handbook's rule at 0 degF, a fifth full: 24 in x 60 in x 60 are 86.4 kBtu/h.
        >>> kbtu_per_hour, square_inch = 293.0711, 0.0254**2
        >>> factors = tuple(factor / 1000 * kbtu_per_hour / square_inch for factor in (45, 60))
        >>> rule = LengthRule(24 * 0.0254, 60 * 0.0254, (0.1, 0.2), factors, 255.372, 244.261)
        >>> round(rule.rate(50.0, 0.2, 255.372)[0] / kbtu_per_hour, 1)
        86.4
        """
        held = min(max(fill, self.fills[0]), self.fills[-1])
        i, s = _place(self.fills, held)
        factor = self.factors[i] * (1 - s) + self.factors[i + 1] * s
        if fill < held:
            factor *= max(fill, 0.0) / held
        driving = max(air_temperature - self.floor, 0.0) / (self.base_air - self.floor)
        return self.diameter * self.length * factor * driving, self.fills[0] <= fill <= self.fills[-1]


class SupplyVessel(Struct, frozen=True):
    """A container for these methods: its shape, and the published method printed for its kind if there is one."""

    vessel: Vessel
    published: PublishedMethod | None = None


class Estimate(Struct, frozen=True):
    """One method's rate, W of fuel (gross). `basis`: published, extrapolated (outside the published
    range, on the careful side) or derived."""

    method: str
    rate: Watt
    basis: Literal["published", "extrapolated", "derived"]


class GasRate(Struct, frozen=True):
    """What a container, or a set of equal ones, supplies at a moment.

    `rate` W: the lowest estimate of one container, times their number where they are in parallel. `estimates` are of
    one. `floor_temperature` K is the coldest liquid the regulator can work with. `codes`: "fuel-too-cold" (the air is
    no warmer than that: nothing is supplied), "parallel-unequal" (containers in parallel at unequal temperature drive
    liquid over from the warm into the cold one, which may overfill it).
    """

    estimates: tuple[Estimate, ...]
    rate: Watt
    limiting: str
    floor_temperature: Kelvin
    codes: tuple[str, ...]


@lru_cache(maxsize=256)  # a build asks for one pressure a hundred times
def boiling_temperature(fuel: Fuel, absolute: float) -> float:
    """The temperature, K, at which the liquid `fuel` has the pressure `absolute` (Pa).

    Raises ValueError where that is outside `lpg.SATURATION_TEMPERATURES`.

    Propane boils at -42.1 degC under one atmosphere (Lemmon and others 2009).
    >>> round(boiling_temperature(lpg.PROPANE, 101_325.0) - 273.15, 1)
    -42.1
    """
    low, high = lpg.SATURATION_TEMPERATURES
    # ln p is nearly straight over 1/T, so the line through both ends of a bracket hits within a few rounds; halving the
    # weight of an end that stays (the Illinois rule) keeps both ends moving.
    below, above = (math.log(lpg.saturation_absolute(fuel, t) / absolute) for t in (low, high))
    if not below <= 0 <= above:
        raise ValueError(f"{absolute:g} Pa is outside the pressures the property fits cover")
    x_low, x_high, last = 1 / low, 1 / high, 0
    for _ in range(60):
        x = (x_low * above - x_high * below) / (above - below)
        off = math.log(lpg.saturation_absolute(fuel, min(max(1 / x, low), high)) / absolute)
        if abs(off) < 1e-13:
            break
        if off < 0:
            x_low, below = x, off
            above = above / 2 if last < 0 else above
            last = -1
        else:
            x_high, above = x, off
            below = below / 2 if last > 0 else below
            last = 1
    return 1 / x


def heat_balance_rate(
    vessel: Vessel,
    fuel_mass: float,
    fuel: Fuel,
    air_temperature: float,
    floor_temperature: float,
    coefficient: float = COEFFICIENT,
) -> float:
    """Continuous rate in W of fuel: U x wetted skin x (air - floor) x heating value / latent heat.

    With the liquid at `floor_temperature` K, `fuel_mass` kg of it; 0 where the air is no warmer.

    Nothing boils where the air is no warmer than the liquid.
    >>> vessel = Vessel(0.76, 2.1, "horizontal")
    >>> heat_balance_rate(vessel, 200.0, lpg.PROPANE, 244.0, 244.0)
    0.0
    >>> warm, cool = (heat_balance_rate(vessel, 200.0, lpg.PROPANE, air, 244.0) for air in (264.0, 254.0))
    >>> round(warm / cool, 6)
    2.0
    """
    driving = air_temperature - floor_temperature
    if driving <= 0 or fuel_mass <= 0:
        return 0.0
    area = wetted_area(vessel, fuel_mass / lpg.liquid_density(fuel, floor_temperature))
    fuel_per_heat = lpg.gross_heating_value(fuel) / lpg.latent_heat(fuel, floor_temperature)
    return coefficient * area * driving * fuel_per_heat


def ceiling_rate(vessel: Vessel, fuel_mass: float, air_temperature: float) -> float:
    """The most an upright cylinder can boil off with no pressure left, W: the cylinder table per area of wetted skin.

    Derived: CEILING_COEFFICIENT with propane at CEILING_FLOOR. Skin is what carries the heat, so area is what the
    table may be scaled by; not rated content (a small cylinder has more skin for each kilogram).

    >>> ceiling_rate(Vessel(0.3, 0.45, "upright"), 9.0, CEILING_FLOOR)
    0.0
    """
    return heat_balance_rate(vessel, fuel_mass, lpg.PROPANE, air_temperature, CEILING_FLOOR, CEILING_COEFFICIENT)


def supply(
    container: SupplyVessel,
    fuel_mass: float,
    fuel: Fuel,
    air_temperature: float,
    needed_absolute: float,
    number: int = 1,
    manifold: Manifold = "single",
    coefficient: float = COEFFICIENT,
) -> GasRate:
    """What `number` equal containers with `fuel_mass` kg each supply at this moment, their liquid at the floor.

    The heat balance is for skin of `coefficient` W/(m2 K).

    `needed_absolute` Pa is the regulator's lowest inlet pressure plus line loss, plus the local air pressure. With a
    changeover one container feeds at a time, so the rate is that of one; of two banks it is that of one bank. The published methods are for propane; for
    a mixture, which is less volatile, they stay as ceilings. Raises ValueError for pressures or temperatures outside
    the property fits.

    >>> container = SupplyVessel(Vessel(0.3, 0.45, "upright"))
    >>> supply(container, 9.0, lpg.PROPANE, 230.0, 200e3).codes
    ('fuel-too-cold',)
    >>> supply(container, 9.0, lpg.PROPANE, 273.15, 200e3).limiting
    'heat-balance'
    """
    floor = boiling_temperature(fuel, needed_absolute)
    estimates = _estimates(container, fuel_mass, fuel, air_temperature, floor, coefficient)
    lowest = min(estimates, key=lambda estimate: estimate.rate)
    codes: list[str] = []
    if air_temperature <= floor:
        codes.append("fuel-too-cold")
    together = feeding(number, manifold)
    if together > 1:
        codes.append("parallel-unequal")
    return GasRate(estimates, lowest.rate * together, lowest.method, floor, tuple(codes))


def limited_coefficient(
    container: SupplyVessel,
    full_mass: float,
    fuel: Fuel,
    air_temperature: float,
    needed_absolute: float,
    coefficient: float = COEFFICIENT,
) -> float:
    """The U, W/(m2 K), for a simulation whose steady rates do not exceed the lowest method at any fill.

    `coefficient`, brought down where a published method or the ceiling gives less than the heat balance, by the worst
    of ten fills up to `full_mass` kg.

    >>> container = SupplyVessel(Vessel(0.3, 0.45, "upright"))
    >>> limited_coefficient(container, 9.0, lpg.PROPANE, 273.15, 200e3) <= COEFFICIENT
    True
    """
    floor = boiling_temperature(fuel, needed_absolute)
    share = 1.0
    for i in range(1, 11):
        estimates = _estimates(container, full_mass * i / 10, fuel, air_temperature, floor, coefficient)
        balance = estimates[0].rate
        if balance > 0:
            share = min(share, min(e.rate for e in estimates) / balance)
    return coefficient * share


def _estimates(
    container: SupplyVessel, fuel_mass: float, fuel: Fuel, air_temperature: float, floor: float, coefficient: float
) -> tuple[Estimate, ...]:
    """The heat balance first, then what else applies."""
    vessel = container.vessel
    balance = heat_balance_rate(vessel, fuel_mass, fuel, air_temperature, floor, coefficient)
    found = [Estimate("heat-balance", balance, "derived")]
    if container.published is not None:
        fill = fuel_mass / lpg.liquid_density(fuel, _FILL_TEMPERATURE) / vessel.volume
        rate, within = container.published.rate(fuel_mass, fill, air_temperature)
        found.append(Estimate(container.published.method, rate, "published" if within else "extrapolated"))
    elif vessel.orientation == "upright":
        found.append(Estimate("cylinder-table-by-area", ceiling_rate(vessel, fuel_mass, air_temperature), "derived"))
    return tuple(found)


def _place(knots: Sequence[float], value: float) -> tuple[int, float]:
    """The interval of rising `knots` that holds `value`, and how far along it lies (0 to 1)."""
    i = 0
    while i < len(knots) - 2 and value >= knots[i + 1]:
        i += 1
    return i, (value - knots[i]) / (knots[i + 1] - knots[i])
