"""Appliances in thin air: how much gas the jets for sea level let through there, and what input a code asks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct

from gasdoc import units
from gasdoc.engineering.constants import STANDARD_ATMOSPHERE
from gasdoc.engineering.supply.altitude import asked_share, through_same_jet
from gasdoc.quantities import By, Ratio
from gasdoc.regions.rules import Rule
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, Served, atmosphere, setting, system
from gasdoc.study.findings import Finding, note, warning
from gasdoc.study.supply.lines import Zone

SOURCE = Citation(
    "NFPA 54, 4 % for each 1000 ft above sea level once above 2000 ft, as several appliance manuals and a trade magazine tell it",
    "twice",
)
NEAR = 0.1
"""Share by which the altitude jets are made for may differ from that of the build (our choice)."""


class HighUp(Struct, frozen=True):
    """One appliance above 2000 ft: `jet` is the share of its sea-level gas that the same jets let through, `asked` the share
    of its plate's input that NFPA 54 allows; `stated`: its jets are said to be made for this altitude."""

    served: Annotated[Served, By("id")]
    jet: Ratio
    asked: Ratio
    stated: bool


def high_up(build: Installation, zones: Sequence[Zone]) -> Iterator[HighUp]:
    """The appliances of a build above 2000 ft; none of a build below, or whose altitude is not stated."""
    altitude = build.spec.altitude
    asked = asked_share(float(altitude)) if altitude is not None else None
    if altitude is None or asked is None:
        return
    air = atmosphere(build)
    gauge = {outlet: float(zone.regulator.outlet) for zone in zones for outlet, _ in zone.outlets}
    for s in build.served:
        made_for = s.appliance.jetted_for.altitude if s.appliance.jetted_for is not None else None
        stated = made_for is not None and abs(made_for - altitude) <= NEAR * altitude
        yield HighUp(s, through_same_jet(gauge[s.id], air, STANDARD_ATMOSPHERE), asked, stated)


def altitude_findings(build: Installation, found: Sequence[HighUp]) -> Iterator[Finding]:
    """Appliances high up whose jets are not stated to be for it; and that nobody says how high a build on land stands."""
    open_ones = [one for one in found if not one.stated]
    altitude = build.spec.altitude
    if altitude is None and setting(build) != "boat":
        yield note(
            "altitude-unknown",
            "build",
            (),
            "The altitude is not stated. Sea level is taken.",
            "Burners need other jets high up, and pressures are worked out with the air of the place.",
            "Add 'altitude:', the highest place it is used at, from a map.",
            "our assumption",
            taken="sea level",
        )
    if not open_ones or altitude is None:
        return
    least = min(open_ones, key=lambda one: one.jet)
    own = own_rule(build)
    yield warning(
        "jets-for-altitude",
        "build",
        (*open_ones[0].served.at, "appliance", "jetted_for"),
        f"At {units.show(altitude, 'altitude', system(build))} these are not stated to have jets for it: "
        f"{', '.join(one.served.appliance.name for one in open_ones)}.",
        f"The same jets let {(1 - least.jet) * 100:.0f} % less gas through there, and the air has "
        f"{(1 - atmosphere(build) / STANDARD_ATMOSPHERE) * 100:.0f} % less oxygen: the flame burns rich, with soot and "
        f"carbon monoxide. {_asked(build, least.asked)}",
        "Ask the maker for jets or an adjustment for this height. Have it done by a licensed person. Add 'altitude:' under"
        " 'jetted_for:'.",
        str(SOURCE if own is None else own.citation),
        of=tuple(one.served.appliance.name for one in open_ones),
    )


def own_rule(build: Installation) -> Rule | None:
    """What the region itself asks of the input high up, where it has a row of it."""
    return build.region.rule("altitude-input")


def american(build: Installation) -> bool:
    """Whether NFPA 54 is a code of the country."""
    return build.region.practice.takes(("us",))


def _asked(build: Installation, share: float) -> str:
    """What is asked of the input high up: the region's own row where it has one, else the code of the United States."""
    if (own := own_rule(build)) is not None:
        return own.asks
    less = f"asks {(1 - share) * 100:.0f} % less input."
    if american(build):
        return f"NFPA 54 {less}"
    return f"NFPA 54, a code of the United States, {less} Ask what is asked here."
