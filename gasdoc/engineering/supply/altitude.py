"""What an appliance gives in thin air: what its jets let through, and what a code asks its input to be reduced to."""

from __future__ import annotations

import math

from gasdoc.engineering.constants import FOOT

ASKED_FROM = 2000 * FOOT
"""m: up to here the input on the plate holds (NFPA 54, read in several appliance manuals and a trade magazine)."""

ASKED_LESS = 0.04 / (1000 * FOOT)
"""Share of the input for each m above sea level that NFPA 54 takes off, once above ASKED_FROM: 4 % for each 1000 ft
(several appliance manuals and a trade magazine on table E.1.1(d) of its 2015 edition; one manual counts from 2000 ft)."""


def through_same_jet(gauge: float, air: float, made_for: float) -> float:
    """Gas a jet lets through, as a share of what it does in the air it is made for; pressures in Pa, the two of the air absolute.

    Mass flow goes by the root of pressure difference times density, and at one gauge pressure and temperature density goes
    by absolute pressure.
    """
    return math.sqrt((gauge + air) / (gauge + made_for))


def asked_share(altitude: float) -> float | None:
    """The share of the plate's input that NFPA 54 allows at an altitude in m; None up to ASKED_FROM, where it asks nothing."""
    return max(0.0, 1.0 - ASKED_LESS * altitude) if altitude > ASKED_FROM else None
