"""How the line is set up for a step of the test day, drawn in a row from the container to the appliance.

The signs are our own and not to scale. A set-up says in few words what the step's own lines in `regions/sequence.yaml` ask;
those come first. A sign is 72 wide and 44 high, and the line passes it 32 below its top.
"""

from __future__ import annotations

from collections.abc import Mapping

SIGNS: Mapping[str, str] = {
    "container": "M14 42V18Q14 10 26 10Q38 10 38 18V42ZM26 10V5M19 5H33M38 32H72",
    "gap": "M0 32H18M18 27V37M54 32H72",
    "regulator": "M0 32H24L48 22V42L24 32M48 32H72M36 27V17M28 17H44",
    "pump": "M0 32H72M36 32V25M30 25H42L30 15H42ZM36 15V10M26 2H46V10H26Z",
    "gauge": "M0 32H72M36 32V24M27 15a9 9 0 1 0 18 0a9 9 0 1 0 -18 0M36 15L41 10",
    "valve": "M0 32H26V26L46 38V26L26 38V32M46 32H72",
    "cap": "M0 32H44M44 24H50V40H44Z",
    "appliance": "M0 32H24V20H56V42H24V32M34 26H46",
    "flame": "M0 32H24V20H56V42H24V32M40 18Q32 10 40 2Q48 10 40 18",
}
"""Each sign as a path."""

SET_UPS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "pressure-test": (
        ("container", "container shut"),
        ("gap", "first regulator off"),
        ("pump", "pump, with a valve"),
        ("gauge", "gauge"),
        ("valve", "valves in the line open, or out"),
        ("cap", "each end closed with a fitting"),
    ),
    "air-test": (
        ("container", "container shut"),
        ("regulator", "regulator on"),
        ("pump", "gentle pump, with a valve"),
        ("gauge", "gauge"),
        ("valve", "valves open"),
        ("appliance", "appliance joined, burner taps shut"),
    ),
    "leak-check": (
        ("container", "container as the step says"),
        ("regulator", "regulator on"),
        ("gauge", "gauge on, pump off"),
        ("valve", "valves as the step says"),
        ("appliance", "burner taps and pilots shut"),
    ),
    "delivered-pressure": (
        ("container", "container open"),
        ("regulator", "regulator on"),
        ("gauge", "gauge"),
        ("valve", "valves open"),
        ("flame", "half the load burns, then none"),
    ),
}
"""Steps of the test day by their ids: what stands in the row, and what is to be said of it."""
