"""LP-gas as a fuel and as a fluid: propane, n-butane and mixtures of the two; and the air around it.

A composition is given by **mass**, as fillers and cylinder labels give it. Component properties are small fits to the
reference equations of state (Lemmon and others 2009 for propane, Buecker and Wagner 2006 for n-butane; viscosity:
Vogel and others 1998 and 1999), as computed by the open library CoolProp 8.0.0. The fits are frozen here because
importing that library costs about two seconds; the tests recompute them. "Worst error" below is against it, over
the whole stated range.

| property | form | range | worst error, propane / butane |
| --- | --- | --- | --- |
| saturation pressure | ln(p/pc) = (a s + b s^1.5 + c s^2.5 + d s^5) Tc/T, s = 1 - T/Tc | 215..335 K | 0.004/0.006 % |
| latent heat | a s^(1/3) + b s^(2/3) + c s | 215..335 K | 0.08/0.12 % |
| liquid density | critical density + a s^(1/3) + b s^(2/3) + c s | 215..335 K | 0.04/0.03 % |
| compressibility | 1 + r (a x + b x^2 + c x^4) + d r^2 x^7, r = p/pc, x = Tc/T | 230..320 K, to 3 bar | 0.02/0.02 % |
| viscosity of gas | a + b T/300 + c p + d p T/300, p in bar | 230..320 K, to 3 bar | 0.20/0.18 % |

The compressibility fit may be carried on to container pressure: up to 10 bar it is within 1 % for propane.

The heating value is the table value after vaporisation, propane 21,548 Btu/lb (50.12 MJ/kg), wherever a load becomes a
mass of gas: flow, pressure drop, hours of burning. The heat of combustion from heats of formation is 0.4 % higher and
would ask for less gas. The codes' sizing tables count volume instead, 2,488 Btu/ft3 at 60 degF and 30 in. Hg. That
treats the vapour as an ideal gas about 3 % lighter than it is, so it is used with the codes' equations only:
`capacity.PROPANE`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Annotated, NamedTuple

from msgspec import Struct

from gasdoc.engineering.constants import BTU, FIFTEEN_CELSIUS, GAS_CONSTANT, POUND, STANDARD_ATMOSPHERE
from gasdoc.quantities import JoulePerKilogramKelvin, Known, Ratio

AIR_MOLAR_MASS = 0.0289644  # kg/mol, ICAO standard atmosphere (Doc 7488)

GAS_TEMPERATURES = (230.0, 320.0)  # K, where the fits of the gas hold
SATURATION_TEMPERATURES = (215.0, 335.0)  # K, where the fits along the saturation line hold

_BTU_PER_LB = BTU / POUND
_WATER_HEAT: Annotated[
    float,
    "J/mol",
    Known(
        "heat that water vapour gives up when it condenses at 25 degC",
        "Tables of heats of formation, from memory; an equation of state of water gives 43,987",
        "once",
    ),
] = 44.004e3

PROPANE_HEAT_CAPACITY: Annotated[
    JoulePerKilogramKelvin,
    Known(
        "specific heat of liquid propane at -44 degF",
        "The equation of state, which gives 2,374 at 0 degF and 2,623 at 60 degF",
        "computed",
    ),
] = 2250.0
"""The low end, so that the warmth stored in the liquid is not overrated."""

BUTANE_HEAT_CAPACITY: Annotated[
    JoulePerKilogramKelvin,
    Known(
        "specific heat of liquid n-butane at -44 degF",
        "The equation of state, which gives 2,235 at 0 degF and 2,389 at 60 degF",
        "computed",
    ),
] = 2150.0


class _Component(Struct, frozen=True):
    molar_mass: float
    critical_temperature: float
    critical_absolute: float
    critical_density: float
    table_heat: float  # J/kg, gross, after vaporisation
    water: int  # molecules of water made per molecule burnt
    saturation: tuple[float, float, float, float]
    latent: tuple[float, float, float]
    liquid: tuple[float, float, float]
    compressibility: tuple[float, float, float, float]
    viscosity: tuple[float, float, float, float]  # micropascal seconds


_FLUID = (
    "Fits to the reference equations of state (Lemmon and others 2009; Buecker and Wagner 2006; Vogel and others 1998, "
    "1999), as an open library computes them; the heating value of NFPA 58 Annex B"
)

_PROPANE: Annotated[
    _Component, Known("propane; commercial propane gives 21,548 Btu/lb", f"{_FLUID}, read in two places", "twice")
] = _Component(
    molar_mass=0.04409562,
    critical_temperature=369.89,
    critical_absolute=4251165.0,
    critical_density=220.4781,
    table_heat=21548 * _BTU_PER_LB,
    water=4,
    saturation=(-6.745603, 1.487486, -1.460752, -2.371682),
    latent=(373041.2, 587085.1, -396867.7),
    liquid=(390.6547, 76.81043, 102.8993),
    compressibility=(0.16395, -0.382342, -0.11898, -0.105615),
    viscosity=(0.172529, 8.02832, -0.133747, 0.129675),
)
_BUTANE: Annotated[_Component, Known("n-butane; commercial butane gives 21,221 Btu/lb", _FLUID, "once")] = _Component(
    molar_mass=0.0581222,
    critical_temperature=425.125,
    critical_absolute=3796000.0,
    critical_density=228.0,
    table_heat=21221 * _BTU_PER_LB,
    water=5,
    saturation=(-7.053427, 1.6928, -1.856209, -2.508705),
    latent=(436323.5, 248452.9, -138448.4),
    liquid=(461.2862, -56.47502, 206.48),
    compressibility=(0.103983, -0.280729, -0.160267, -0.126154),
    viscosity=(0.0435751, 7.42669, -0.210143, 0.19346),
)


class Fuel(Struct, frozen=True):
    """A mixture of propane and n-butane; `propane` is the mass fraction of propane, n-butane is the rest.

    Raises ValueError when the fraction is not within 0 and 1.
    """

    propane: Ratio = 1.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.propane <= 1.0:
            raise ValueError(f"the mass fraction of propane must be within 0 and 1, not {self.propane}")

    def _mass_mean(self, of_propane: float, of_butane: float) -> float:
        return self.propane * of_propane + (1.0 - self.propane) * of_butane


PROPANE = Fuel(1.0)
BUTANE = Fuel(0.0)


class Gas(Struct, frozen=True):
    """Fuel vapour at one state.

    `temperature` in K, `absolute` pressure in Pa, `density` in kg/m3, `viscosity` in Pa s.
    """

    temperature: float
    absolute: float
    density: float
    viscosity: float

    @property
    def pressure_per_density(self) -> float:
        """p / rho = Z R T / M, in J/kg: what turns a mass flow into a drop of squared pressure."""
        return self.absolute / self.density


# --- heat -----------------------------------------------------------------------------------------------------------


def gross_heating_value(fuel: Fuel) -> float:
    """Gross heating value in J/kg, table basis (after vaporisation); mass mean.

    For flows, drops and hours of burning.

    NFPA 58 Annex B prints 21,548 Btu/lb for commercial propane.
    >>> round(gross_heating_value(PROPANE) / _BTU_PER_LB)
    21548
    """
    return fuel._mass_mean(_PROPANE.table_heat, _BUTANE.table_heat)


def net_heating_value(fuel: Fuel) -> float:
    """Net heating value in J/kg: the gross table value less the heat of the water vapour that leaves with the flue gas.

    For appliances whose plate states a net rating, as European ones often do.

    4.0 MJ/kg less than gross: 4 mol of water, 44.0 kJ each, per 44.1 g.
    >>> round((gross_heating_value(PROPANE) - net_heating_value(PROPANE)) / 1e6, 1)
    4.0
    """
    return gross_heating_value(fuel) - fuel._mass_mean(
        *(c.water * _WATER_HEAT / c.molar_mass for c in (_PROPANE, _BUTANE))
    )


def mass_flow(load: float, heating_value: float) -> float:
    """The gas an appliance of `load` (W) burns, in kg/s; `heating_value` in J/kg on the basis the load is stated on.

    >>> mass_flow(10_000.0, 50e6)
    0.0002
    """
    return load / heating_value


def load_carried(mass: float, heating_value: float) -> float:
    """The load in W that a mass flow (kg/s) carries.

    >>> load_carried(2e-4, 50e6)
    10000.0
    """
    return mass * heating_value


def volume_flow(mass: float, gas: Gas) -> float:
    """A mass flow (kg/s) as real volume at the state of `gas`, in m3/s.

    >>> volume_flow(3.8, Gas(288.15, 101_325.0, 1.9, 8e-6))
    2.0
    """
    return mass / gas.density


def mass_from_volume(volume: float, gas: Gas) -> float:
    """A volume flow (m3/s) at the state of `gas` as mass flow, in kg/s.

    >>> mass_from_volume(2.0, Gas(288.15, 101_325.0, 1.9, 8e-6))
    3.8
    """
    return volume * gas.density


# --- the gas --------------------------------------------------------------------------------------------------------


def _propane_mole_fraction(fuel: Fuel) -> float:
    propane = fuel.propane / _PROPANE.molar_mass
    return propane / (propane + (1.0 - fuel.propane) / _BUTANE.molar_mass)


def molar_mass(fuel: Fuel) -> float:
    """Molar mass in kg/mol.

    >>> round(molar_mass(PROPANE) * 1e3, 2), round(molar_mass(BUTANE) * 1e3, 2)
    (44.1, 58.12)
    """
    return 1.0 / fuel._mass_mean(1.0 / _PROPANE.molar_mass, 1.0 / _BUTANE.molar_mass)


def _component_compressibility(c: _Component, temperature: float, absolute: float) -> float:
    pr = absolute / c.critical_absolute
    x = c.critical_temperature / temperature
    k1, k2, k3, k4 = c.compressibility
    return 1.0 + pr * (k1 * x + k2 * x**2 + k3 * x**4) + k4 * pr**2 * x**7


def _component_viscosity(c: _Component, temperature: float, absolute: float) -> float:
    t, p = temperature / 300.0, absolute / 1e5
    k1, k2, k3, k4 = c.viscosity
    return 1e-6 * (k1 + k2 * t + k3 * p + k4 * p * t)


def _within(temperature: float, limits: tuple[float, float]) -> None:
    if not limits[0] <= temperature <= limits[1]:
        raise ValueError(f"{temperature:g} K is outside {limits[0]:g} to {limits[1]:g} K, where the property fits hold")


def compressibility(fuel: Fuel, temperature: float, absolute: float) -> float:
    """Compressibility Z of the vapour; of a mixture, the mole mean (additive volumes, Amagat).

    Raises ValueError outside `GAS_TEMPERATURES`. It does not ask whether the fuel is all vapour at this state:
    `saturation_absolute` tells.

    >>> round(compressibility(PROPANE, 288.15, 101_325.0), 3)
    0.982
    """
    _within(temperature, GAS_TEMPERATURES)
    y = _propane_mole_fraction(fuel)
    return y * _component_compressibility(_PROPANE, temperature, absolute) + (1.0 - y) * _component_compressibility(
        _BUTANE, temperature, absolute
    )


def viscosity(fuel: Fuel, temperature: float, absolute: float) -> float:
    """Dynamic viscosity of the vapour in Pa s; of a mixture, the mean weighted by mole fraction times sqrt(M).

    The mixture rule is that of Herning and Zipperer (1936; from memory). Raises ValueError outside `GAS_TEMPERATURES`.

    >>> round(viscosity(PROPANE, 300.0, 1e5) * 1e6, 1)
    8.2
    """
    _within(temperature, GAS_TEMPERATURES)
    y = _propane_mole_fraction(fuel)
    propane, butane = y * math.sqrt(_PROPANE.molar_mass), (1.0 - y) * math.sqrt(_BUTANE.molar_mass)
    return (
        propane * _component_viscosity(_PROPANE, temperature, absolute)
        + butane * _component_viscosity(_BUTANE, temperature, absolute)
    ) / (propane + butane)


def gas(fuel: Fuel, temperature: float, absolute: float) -> Gas:
    """The vapour at a temperature (K) and an absolute pressure (Pa); density = p M / (Z R T).

    `fuel` is the composition of the vapour. The vapour over a mixed liquid is richer in propane than the liquid.
    Raises ValueError outside `GAS_TEMPERATURES`.

    44.1 over 28.96 g/mol, over a Z of 0.982: 1.55 times as heavy as air.
    >>> round(gas(PROPANE, 288.71, STANDARD_ATMOSPHERE).density / air_density(288.71, STANDARD_ATMOSPHERE), 2)
    1.55
    """
    z = compressibility(fuel, temperature, absolute)
    density = absolute * molar_mass(fuel) / (z * GAS_CONSTANT * temperature)
    return Gas(temperature, absolute, density, viscosity(fuel, temperature, absolute))


# --- liquid and vapour together -------------------------------------------------------------------------------------


class Liquid(NamedTuple):
    """What holds along the saturation line of one liquid, each as a function of its temperature, K: `saturation_absolute`,
    `latent_heat` and the `volume` of a kilogram, m3, for whoever asks thousands of times. Whether a temperature is within
    `SATURATION_TEMPERATURES` is not looked at.
    """

    saturation: Callable[[float], float]
    latent: Callable[[float], float]
    volume: Callable[[float], float]


def _saturation(c: _Component) -> Callable[[float], float]:
    critical_temperature, critical_absolute, (k1, k2, k3, k4) = (
        c.critical_temperature,
        c.critical_absolute,
        c.saturation,
    )
    exp = math.exp

    def saturation(temperature: float) -> float:
        s = 1.0 - temperature / critical_temperature
        exponent = (k1 * s + k2 * s**1.5 + k3 * s**2.5 + k4 * s**5) * critical_temperature / temperature
        return critical_absolute * exp(exponent)

    return saturation


def _latent(c: _Component) -> Callable[[float], float]:
    critical_temperature, (k1, k2, k3) = c.critical_temperature, c.latent

    def latent(temperature: float) -> float:
        third: float = (1.0 - temperature / critical_temperature) ** (1.0 / 3.0)
        return third * (k1 + third * (k2 + third * k3))

    return latent


def _volume(c: _Component) -> Callable[[float], float]:
    critical_temperature, critical_density, (k1, k2, k3) = c.critical_temperature, c.critical_density, c.liquid

    def volume(temperature: float) -> float:
        third: float = (1.0 - temperature / critical_temperature) ** (1.0 / 3.0)
        return 1.0 / (critical_density + third * (k1 + third * (k2 + third * k3)))

    return volume


_LIQUIDS = {share: Liquid(_saturation(c), _latent(c), _volume(c)) for share, c in ((1.0, _PROPANE), (0.0, _BUTANE))}
"""The pure liquids by their share of propane."""


def liquid(fuel: Fuel) -> Liquid:
    """The functions of one liquid.

    >>> of_propane = liquid(PROPANE)
    >>> of_propane.latent(273.15) == latent_heat(PROPANE, 273.15)
    True
    """
    return _LIQUIDS.get(fuel.propane) or Liquid(
        partial(saturation_absolute, fuel), partial(latent_heat, fuel), partial(_specific_volume, fuel)
    )


def _specific_volume(fuel: Fuel, temperature: float) -> float:
    return fuel._mass_mean(_LIQUIDS[1.0].volume(temperature), _LIQUIDS[0.0].volume(temperature))


def saturation_absolute(fuel: Fuel, temperature: float) -> float:
    """Pressure over the liquid in Pa absolute; of a mixture, the bubble pressure of the ideal mixture (Raoult's law).

    Raoult's law is on the high side: for mixtures by up to 2 % at -20 degC, 3 % at 0 degC and 4.5 % at 40 degC.
    Pure propane. Commercial propane, which holds some ethane and propylene, stands 10 to 13 % higher (NFPA 58 Annex B
    figures against these): take that for strength and relief, this for "is there enough pressure in the cold". As a
    mixed liquid is drawn off as vapour its propane goes first, so its pressure falls below this. Raises ValueError
    outside `SATURATION_TEMPERATURES`.

    Propane boils at -44 degF (NFPA 58 Annex B), 230.9 K: one atmosphere.
    >>> round(saturation_absolute(PROPANE, 230.93) / STANDARD_ATMOSPHERE, 2)
    1.0
    """
    _within(temperature, SATURATION_TEMPERATURES)
    if pure := _LIQUIDS.get(fuel.propane):
        return pure.saturation(temperature)
    x = _propane_mole_fraction(fuel)
    return x * _LIQUIDS[1.0].saturation(temperature) + (1.0 - x) * _LIQUIDS[0.0].saturation(temperature)


def latent_heat(fuel: Fuel, temperature: float) -> float:
    """Heat to boil one kilogram of the liquid, in J/kg; mass mean.

    Raises ValueError outside `SATURATION_TEMPERATURES`.

    Property tables print 184 Btu/lb at the boiling point (from memory).
    >>> round(latent_heat(PROPANE, 231.0) / _BTU_PER_LB)
    183
    """
    _within(temperature, SATURATION_TEMPERATURES)
    if pure := _LIQUIDS.get(fuel.propane):
        return pure.latent(temperature)
    return fuel._mass_mean(_LIQUIDS[1.0].latent(temperature), _LIQUIDS[0.0].latent(temperature))


def liquid_density(fuel: Fuel, temperature: float) -> float:
    """Density of the liquid on the saturation line in kg/m3; of a mixture, by additive volumes.

    Raises ValueError outside `SATURATION_TEMPERATURES`.

    4.2 lb a gallon at 60 degF (NFPA 58 Annex B).
    >>> round(liquid_density(PROPANE, 288.71) * 3.785411784e-3 / POUND, 1)
    4.2
    """
    _within(temperature, SATURATION_TEMPERATURES)
    return 1.0 / _specific_volume(fuel, temperature)


# --- air ------------------------------------------------------------------------------------------------------------


def atmosphere_absolute(altitude: float) -> float:
    """Air pressure in Pa absolute at an altitude in m: p = 101325 (1 - 0.0065 h / 288.15)^5.25588.

    ICAO standard atmosphere (Doc 7488), its lowest layer; exponent g M / (R x 0.0065). Weather moves the pressure
    by about 3 % either way. Raises ValueError outside -1,000 to 11,000 m.

    The standard atmosphere at 3,000 m: 701.1 hPa (ICAO Doc 7488).
    >>> round(atmosphere_absolute(3000.0) / 100, 1), atmosphere_absolute(0.0)
    (701.1, 101325.0)
    """
    if not -1000.0 <= altitude <= 11000.0:
        raise ValueError(f"{altitude:g} m is outside -1,000 to 11,000 m, the lowest layer of the standard atmosphere")
    ratio: float = 1.0 - 0.0065 * altitude / FIFTEEN_CELSIUS
    return STANDARD_ATMOSPHERE * math.exp(5.25588 * math.log(ratio))


def air_density(temperature: float, absolute: float) -> float:
    """Density of dry air in kg/m3, as an ideal gas.

    1.225 kg/m3 at sea level in the standard atmosphere (ICAO Doc 7488).
    >>> round(air_density(288.15, STANDARD_ATMOSPHERE), 3)
    1.225
    """
    return absolute * AIR_MOLAR_MASS / (GAS_CONSTANT * temperature)
