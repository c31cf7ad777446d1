"""What an appliance gives in thin air: what its jets let through, and what a code asks its input to be reduced to."""

from __future__ import annotations

import math
from typing import Annotated

from gasdoc.engineering.constants import FOOT
from gasdoc.quantities import Known, Metre

_NFPA_54 = "NFPA 54, in several appliance manuals and in a trade magazine on Table E.1.1(d) of its 2015 edition"

ASKED_FROM: Annotated[Metre, Known("altitude up to which the input on the plate holds: 2000 ft", _NFPA_54, "twice")] = (
    2000 * FOOT
)

ASKED_LESS: Annotated[
    float,
    "1/m",
    Known(
        "share of the input that is taken off for each metre of altitude, once above that: 4 % for each 1000 ft",
        f"{_NFPA_54}; one manual counts from 2000 ft",
        "twice",
    ),
] = 0.04 / (1000 * FOOT)


def through_same_jet(gauge: float, air: float, made_for: float) -> float:
    """Gas a jet lets through, as a share of what it does in the air it is made for; pressures in Pa, the two of the air absolute.

    Mass flow goes by the root of pressure difference times density, and at one gauge pressure and temperature density goes
    by absolute pressure.

    At 11 inH2O and 70 kPa of air: sqrt((2740 + 70000) / (2740 + 101325)).
    >>> round(through_same_jet(2740.0, 70e3, 101_325.0), 3)
    0.836
    """
    return math.sqrt((gauge + air) / (gauge + made_for))


def asked_share(altitude: float) -> float | None:
    """The share of the plate's input that NFPA 54 allows at an altitude in m; None up to ASKED_FROM, where it asks nothing.

    4,000 ft: 16 % less.
    >>> round(asked_share(4000 * FOOT), 2), asked_share(1000 * FOOT)
    (0.84, None)
    """
    return max(0.0, 1.0 - ASKED_LESS * altitude) if altitude > ASKED_FROM else None
