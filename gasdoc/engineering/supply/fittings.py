"""What fittings, bends, valves, corrugated tubing and connectors add to a run, as length or as drop."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from msgspec import Struct

from gasdoc.engineering.constants import FOOT
from gasdoc.quantities import Known, Metre


class Resistance(Struct, frozen=True):
    """A fitting's equivalent length as a multiple of the bore (`ratio`, L/d), its loss coefficient `k` in velocity
    heads, where the pair is from, and how well it is confirmed ("twice", "once" or "memory")."""

    ratio: float
    k: float
    source: str
    confirmed: str


_TABLE = "IRC 2018 Table A.2.2 (IFGC 2018 has the same), screwed fittings and bends"
_IN_CANADA_TOO = f"{_TABLE}; CSA B149.1 Table A.16 in a worked example has the same"
_LONGEST = "The longest in two tables of equivalent lengths; k is 0.03 times the ratio, as in IRC 2018 Table A.2.2"

RESISTANCES: Mapping[str, Resistance] = {
    "elbow-45": Resistance(14, 0.42, _TABLE, "once"),
    "elbow-90": Resistance(30, 0.90, _IN_CANADA_TOO, "twice"),  # 1 in pipe: 2.62 ft, and 5.24 ft for the tee
    "return-180": Resistance(67, 2.00, _TABLE, "once"),
    "tee-branch": Resistance(60, 1.80, _IN_CANADA_TOO, "twice"),
    "bend-90-r1": Resistance(16, 0.48, _TABLE, "once"),  # r1: bend radius over bore
    "bend-90-r1.33": Resistance(12, 0.36, _TABLE, "once"),
    "bend-90-r2": Resistance(9, 0.27, _TABLE, "once"),
    "bend-90-r4": Resistance(7, 0.21, _TABLE, "once"),
    "bend-90-r6": Resistance(9, 0.27, _TABLE, "once"),
    "bend-90-r8": Resistance(12, 0.36, _TABLE, "once"),
    # Valves, wide open: the longest of what was found, because handbooks differ: gate 7 (the code's table, from memory),
    # 9 and 13; globe 333 (memory), 275 and 340; angle 167 (memory) and 145; swing check 83 (memory) and 135.
    "gas-valve": Resistance(30, 0.90, "A 3/4 in gas shut-off in a worked example of CSA B149.1", "once"),
    "gate-valve": Resistance(13, 0.39, _LONGEST, "once"),
    "globe-valve": Resistance(340, 10.2, _LONGEST, "once"),
    "angle-valve": Resistance(167, 5.0, "IFGC 2018 Table A.2.2, valves wide open, from memory", "memory"),
    "swing-check": Resistance(135, 4.05, _LONGEST, "once"),
}
"""Named fittings and valves. The k of the table is 0.03 times its L/d, a friction factor of rough turbulent flow."""


BENDS_IN_TABLES: Annotated[
    int,
    Known(
        "90-degree bends that the capacity tables of corrugated tubing count already, beside two end fittings",
        "Notes to a maker's tables, pages 44 and 46 of its guide; that the code's tables have the same note is from memory",
        "once",
    ),
] = 4

BEND_LENGTH: Annotated[
    Metre,
    Known(
        "length of corrugated tubing that one more bend or fitting counts for: 1.3 ft",
        "Note to IFGC Table 402.4(32), L = 1.3 n, from memory",
        "memory",
    ),
] = 1.3 * FOOT


def equivalent_length(fittings: Mapping[str, int], bore: float) -> float:
    """The length of straight pipe in m that costs as much as these fittings: the sum of count x L/d x bore.

    The codes ask for it where a section has four or more fittings (IFGC appendix A.3); the bore is that of the
    section. In slow, laminar flow a fitting costs more than its equivalent length, but the flow then costs little.
    Raises KeyError for a name that is not in `RESISTANCES`, ValueError for a negative count.

    Two elbows and a tee in a bore of 20 mm: 2 x 30 and 60 bores.
    >>> equivalent_length({"elbow-90": 2, "tee-branch": 1}, 0.02)
    2.4
    """
    if any(count < 0 for count in fittings.values()):
        raise ValueError("a count of fittings must not be negative")
    return bore * sum(count * RESISTANCES[name].ratio for name, count in fittings.items())


def corrugated_extra_length(bends: int) -> float:
    """The length in m to add to corrugated tubing for its bends and fittings beyond those its table counts.

    L = 1.3 n ft, n beyond four 90-degree bends and two end fittings.

    >>> round(corrugated_extra_length(6) / FOOT, 2), corrugated_extra_length(4)
    (2.6, 0.0)
    """
    return BEND_LENGTH * max(0, bends - BENDS_IN_TABLES)


def corrugated_drop(load: float, length: float, a: float, b: float, table_drop: float) -> float:
    """The drop of corrugated tubing whose table fits capacity (W) = a x length (m)^-b at one drop, `table_drop`.

    The table says which length L0 a load may have at its drop: load = a L0^-b, so L0 = (load / a)^(-1/b). Drop grows
    evenly along one size of tubing at one flow, so over another length it is table_drop x length / L0, that is
    table_drop x length x (load / a)^(1/b). The result is in the measure of `table_drop`: give Pa for low pressure, or
    the table's p1^2 - p2^2 in Pa2 (absolute), which holds at any pressure and is what `network` adds up.

    Valid where the table is: lengths and loads whose L0 lies in the table's rows. Outside it is an extrapolation;
    under the first row (small loads) it runs low if the flow is laminar, where the drop is small anyway.

    A quarter of a table's length at its load takes a quarter of its drop.
    >>> round(corrugated_drop(60e3 * 8.0**-0.5, 2.0, 60e3, 0.5, 124.5), 3)
    31.125
    """
    return 0.0 if load <= 0.0 else float(table_drop * length * (load / a) ** (1.0 / b))


def connector_drop(load: float, rated_load: float, rated_drop: float) -> float:
    """The drop in Pa of an appliance connector or valve that loses `rated_drop` (Pa) at `rated_load` (W).

    rated_drop x (load / rated_load)^2: the law of fully turbulent flow, which runs a little low under the rated load
    and high above it. Both loads on the same gas.

    >>> connector_drop(5000.0, 10_000.0, 124.5)
    31.125
    """
    return rated_drop * (load / rated_load) ** 2
