"""How long the gas lasts by its contents: what each appliance takes a day, days between fills by season, cost, weight."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from msgspec import Struct

from gasdoc.build.model import FuelPrice
from gasdoc.catalog import containers as catalog
from gasdoc.engineering.constants import SIXTY_FAHRENHEIT, STANDARD_ATMOSPHERE
from gasdoc.engineering.container import endurance as model
from gasdoc.engineering.container.endurance import Weights
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import Fuel
from gasdoc.quantities import CubicMetre, Day, Joule, Kelvin, Kilogram, UnitOf
from gasdoc.study.container.holding import Container
from gasdoc.study.facts import Installation, energy_of, fuel, heating_value

PRICED_TEMPERATURE = SIXTY_FAHRENHEIT
"""K: that at which a volume of liquid is sold."""


class Daily(Struct, frozen=True):
    """What one appliance takes on a cold day: `energy` J, `mass` kg, `volume` m3 of liquid at 60 degF; None where its use is
    not stated."""

    outlet: str
    name: str
    energy: Joule | None
    mass: Kilogram | None
    volume: CubicMetre | None


class Season(Struct, frozen=True):
    """A use of its own: `per_day` kg; `days` a full supply lasts, None for no use at all; `cost` of a day in `currency`;
    `total` kg over the season's days, None where those are not stated; `air` its usual coldest air as stated, K."""

    name: str
    per_day: Kilogram
    energy: Joule
    days: Day | None
    cost: Annotated[float, UnitOf("currency")] | None
    currency: str | None
    total: Kilogram | None
    air: Kelvin | None


class Endurance(Struct, frozen=True):
    """The cold day by appliance, and the seasons, the cold day first. `weights` are of all containers, `heavy` by the
    heaviest they may be. `price` is for 1 kg."""

    daily: tuple[Daily, ...]
    seasons: tuple[Season, ...]
    weights: Weights
    price: Annotated[float, UnitOf("currency")] | None
    currency: str | None


def endurance(build: Installation, container: Container) -> Endurance:
    """What a day takes and how long a full supply lasts."""
    spec, heat, gas = build.spec, heating_value(build), fuel(build)
    density = lpg.liquid_density(gas, PRICED_TEMPERATURE)
    daily = []
    for s in build.served:
        mass = None if s.per_day is None else s.per_day / heat
        daily.append(Daily(s.id, s.appliance.name, s.per_day, mass, None if mass is None else mass / density))
    price = price_of_mass(spec.fuel_price, gas) if spec.fuel_price is not None else None
    currency = spec.fuel_price.currency if spec.fuel_price is not None else None
    usable = container.fuel_mass * container.number

    def season(name: str, energies: Mapping[str, float | None], days: int | None, air: float | None = None) -> Season:
        energy = sum(e for e in energies.values() if e is not None)
        mass = energy / heat
        lasts = model.days_between_fills(usable, mass) if mass > 0 else None
        cost = None if price is None else model.cost_per_day(mass, price)
        return Season(name, mass, energy, lasts, cost, currency, None if days is None else mass * days, air)

    cold = {s.id: s.per_day for s in build.served}
    seasons = [season("cold day", cold, None)] if any(e is not None for e in cold.values()) else []
    for part in spec.seasons:
        changed = {
            s.id: energy_of(part.daily_use[s.id], s.load, heat, s.gross_share) if s.id in part.daily_use else s.per_day
            for s in build.served
        }
        seasons.append(season(part.name, changed, part.days, part.air))
    return Endurance(
        tuple(daily),
        tuple(seasons),
        model.weights(container.shape.heavy, container.heaviest_fuel, container.number),
        price,
        currency,
    )


def price_of_mass(given: FuelPrice, gas: Fuel) -> float:
    """The price of 1 kg; a price for a volume is taken as for liquid at 60 degF."""
    mass = float(given.per)
    if given.per.dimension == "volume":
        mass *= lpg.liquid_density(gas, PRICED_TEMPERATURE)
    return float(given.price) / mass


def storage_asked(build: Installation, load: float, coldest: float) -> float | None:
    """The water capacity, m3, the published storage table asks for a draw of `load` W in air at `coldest` K; None beyond
    it."""
    gas = fuel(build)
    vapour = lpg.gas(gas, PRICED_TEMPERATURE, STANDARD_ATMOSPHERE)
    return catalog.storage_size(lpg.volume_flow(lpg.mass_flow(load, heating_value(build)), vapour), coldest)
