"""Units, standard states and constants of nature: the one place that has their numbers for what is calculated.

What people write is read with `gasdoc/units.yaml`; a test holds these sizes of units against that list.
"""

from __future__ import annotations

FOOT = 0.3048
"""m, exact."""

INCH = 0.0254
"""m, exact."""

CUBIC_FOOT = FOOT**3
"""m3."""

POUND = 0.45359237
"""kg, exact."""

BTU = 1055.05585262
"""J, International Table."""

KBTU_PER_HOUR = 1000 * BTU / 3600
"""W in a thousand Btu/h, the unit the codes' tables print."""

PSI = 6894.757293168361
"""Pa."""

INCH_OF_WATER = 249.08891
"""Pa, conventional column."""

DAY = 86400.0
"""s."""

GRAVITY = 9.80665
"""m/s2, standard."""

GAS_CONSTANT = 8.314462618
"""J/(mol K), exact since the SI of 2019."""

STANDARD_ATMOSPHERE = 101325.0
"""Pa absolute."""

FREEZING = 273.15
"""K: 0 degC."""

FIFTEEN_CELSIUS = 288.15
"""K: 15 degC, the temperature of the standard atmosphere at sea level and of the gas in a line as calculated."""

SIXTY_FAHRENHEIT = 288.71
"""K: 60 degF, at which the trade states volumes of gas and liquid, rounded."""
