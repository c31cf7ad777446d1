"""What heat still air gives to a container: natural convection and radiation, for a locker and for a night without wind.

Convection by Churchill and Chu's equations, from S. W. Churchill and H. H. S. Chu, Int. J. Heat
Mass Transfer 18 (1975): "Correlating equations for laminar and turbulent free convection from a vertical plate", p. 1323,
for what stands, and "... from a horizontal cylinder", p. 1049, for what lies. Air's viscosity and conductivity are the
formulas of the U.S. Standard Atmosphere 1976. Radiation is that between the skin and surroundings as warm as the air; a
clear night sky would take heat away instead, and is not in it.

The steel and the boiling liquid behind it are taken to hinder nothing: next to still air they hardly do.
"""

from __future__ import annotations

import math
from typing import Annotated

from gasdoc.engineering.constants import GRAVITY, STANDARD_ATMOSPHERE
from gasdoc.engineering.container.vessel import Vessel
from gasdoc.quantities import JoulePerKilogramKelvin, Known, Ratio

EMISSIVITY: Annotated[
    Ratio,
    Known(
        "emissivity of painted steel", "A university's table (0.89 to 0.97), a camera maker's (0.8 to 0.95)", "twice"
    ),
] = 0.9

STEFAN_BOLTZMANN: Annotated[
    float, "W/(m2 K4)", Known("Stefan-Boltzmann constant", "CODATA 2018, in two libraries of constants", "twice")
] = 5.670374e-8

LAMINAR: Annotated[
    Ratio,
    Known(
        "Rayleigh number up to which flow along a vertical plate is laminar",
        "Lecture notes on free convection; the equation is that of Churchill and Chu (1975)",
        "once",
    ),
] = 1e9

_AIR: Annotated[
    JoulePerKilogramKelvin,
    Known("gas constant of dry air: 8314.32 over 28.9644", "U.S. Standard Atmosphere 1976", "computed"),
] = 287.053
_HEAT_CAPACITY: Annotated[
    JoulePerKilogramKelvin,
    Known("specific heat of dry air near 0 degC", "An equation of state of air, which gives 1,005.7", "computed"),
] = 1006.0


def coefficient(
    vessel: Vessel, air_temperature: float, skin_temperature: float, air_absolute: float = STANDARD_ATMOSPHERE
) -> float:
    """U, W/(m2 K), of skin at `skin_temperature` K in still air at `air_temperature` K and `air_absolute` Pa.

    The height of a standing `vessel`, the diameter of a lying one is the length that counts.

    3.6 of convection and 3.7 of radiation, for skin 20 K colder than air at 0 degC.
    >>> round(coefficient(Vessel(0.3, 0.45, "upright"), 273.15, 253.15), 1)
    7.3
    """
    return convection(vessel, air_temperature, skin_temperature, air_absolute) + radiation(
        air_temperature, skin_temperature
    )


def convection(
    vessel: Vessel, air_temperature: float, skin_temperature: float, air_absolute: float = STANDARD_ATMOSPHERE
) -> float:
    """The share of natural convection, W/(m2 K), with air as it is at the mean of both temperatures.

    >>> round(convection(Vessel(0.3, 0.45, "upright"), 273.15, 253.15), 1)
    3.6
    """
    film = (air_temperature + skin_temperature) / 2
    viscosity = 1.458e-6 * film * math.sqrt(film) / (film + 110.4)
    conductivity = 2.64638e-3 * film * math.sqrt(film) / (film + 245.4 * math.pow(10, -12 / film))
    density = air_absolute / (_AIR * film)
    prandtl = viscosity * _HEAT_CAPACITY / conductivity
    upright = vessel.orientation == "upright"
    length = vessel.length if upright else vessel.diameter
    difference = abs(air_temperature - skin_temperature)
    kinematic = viscosity / density
    rayleigh = GRAVITY / film * difference * length**3 / kinematic**2 * prandtl
    return (vertical_plate(rayleigh, prandtl) if upright else lying_cylinder(rayleigh, prandtl)) * conductivity / length


def radiation(air_temperature: float, skin_temperature: float) -> float:
    """The share of radiation, W/(m2 K).

    4 x 0.9 x 5.67e-8 x (263.15 K)^3 is 3.7; the two temperatures differ little.
    >>> round(radiation(273.15, 253.15), 1)
    3.7
    """
    a, s = air_temperature, skin_temperature
    return EMISSIVITY * STEFAN_BOLTZMANN * (a + s) * (a * a + s * s)


def vertical_plate(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of a vertical plate of one temperature; of a cylinder too that is wide for its height.

    The equation for laminar flow up to a Rayleigh number of LAMINAR, above it the one for all flows: as printed together.

    Rayleigh 1e8, Prandtl 0.71: 0.68 + 0.514 x 100.
    >>> round(vertical_plate(1e8, 0.71), 1)
    52.1
    """
    if rayleigh <= LAMINAR:
        return 0.68 + 0.670 * math.sqrt(math.sqrt(rayleigh)) / math.pow(1 + math.pow(0.492 / prandtl, 9 / 16), 4 / 9)
    return math.pow(
        0.825 + 0.387 * math.pow(rayleigh, 1 / 6) / math.pow(1 + math.pow(0.492 / prandtl, 9 / 16), 8 / 27), 2
    )


def lying_cylinder(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of a horizontal cylinder of one temperature, over its diameter.

    Rayleigh 1e8, Prandtl 0.71: (0.60 + 0.321 x 21.54)^2.
    >>> round(lying_cylinder(1e8, 0.71), 1)
    56.6
    """
    return math.pow(
        0.60 + 0.387 * math.pow(rayleigh, 1 / 6) / math.pow(1 + math.pow(0.559 / prandtl, 9 / 16), 8 / 27), 2
    )
