"""The container's excess-flow valve against this build: does it stay open in use, and which breaks would it see?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from msgspec import Struct

from gasdoc.catalog import tubing
from gasdoc.engineering.constants import SIXTY_FAHRENHEIT, STANDARD_ATMOSPHERE
from gasdoc.engineering.supply import excess_flow, fittings, lpg, tree
from gasdoc.engineering.supply.excess_flow import Closing, CutFlow
from gasdoc.quantities import KilogramPerSecond, Known, Ratio
from gasdoc.study.facts import Installation, fuel, heating_value, rated_capacity
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.supply.capacity import GAS_TEMPERATURE
from gasdoc.study.supply.lines import SizedZone, lines_of

RATED_TEMPERATURE = SIXTY_FAHRENHEIT
"""K: the state, at one atmosphere, in which a closing rate given as a volume is taken to be stated."""

SURE: Annotated[
    Ratio,
    Known(
        "how many times the closing rate of an excess-flow valve a break is seen from",
        "Common practice, no source",
        "practice",
    ),
] = 1.5
"""The flow is an estimate, and rates have a tolerance."""


class Break(Struct, frozen=True):
    """A line cut right through at the end of a run: what would flow, what limits it, whether the valve closes."""

    run: str
    flow: CutFlow
    closing: Closing


class ExcessFlow(Struct, frozen=True):
    """The valve's closing rate and the load of the whole build, both as mass flow in kg/s, and every break."""

    closing: KilogramPerSecond
    normal: KilogramPerSecond
    stays_open: bool
    breaks: tuple[Break, ...]

    @property
    def missed(self) -> tuple[Break, ...]:
        """The breaks it would not surely close on."""
        return tuple(b for b in self.breaks if b.closing != "closes")


def excess(build: Installation, zones: tuple[SizedZone, ...], load: float) -> ExcessFlow | None:
    """The valve against this build; None where its closing rate is not stated or a run has no size."""
    rate = build.spec.container.excess_flow
    if rate is None or any(run.size is None for run in lines_of(zones).values()):
        return None
    heat, gas = heating_value(build), fuel(build)
    if rate.dimension == "power":
        closing = float(rate) / heat
    else:
        closing = lpg.mass_from_volume(rate, lpg.gas(gas, RATED_TEMPERATURE, STANDARD_ATMOSPHERE))
    normal = load / heat
    breaks: list[Break] = []
    for zone in zones:
        air = zone.conditions.absolute_air
        source = lpg.gas(gas, GAS_TEMPERATURE, float(zone.regulator.outlet) + air)
        rated = rated_capacity(zone.regulator, heat)
        for i, run in enumerate(zone.runs):
            lines = [line(zone, segment) for segment in tree.path(zone.tree, i)]
            flow = excess_flow.cut_flow(
                lines, source, air, regulator_capacity=rated / heat if rated is not None else None
            )
            breaks.append(Break(run.id, flow, excess_flow.closing(flow, closing, sure_share=SURE)))
    return ExcessFlow(closing, normal, excess_flow.holds_open(normal, closing), tuple(breaks))


def line(zone: SizedZone, segment: int) -> excess_flow.LineBefore:
    """A run as a stretch of line on the way to a cut. Its size must have been found."""
    run = zone.runs[segment]
    assert run.size is not None, "checked by the caller"
    bore, _ = tubing.bore_or_stand_in(run.size)
    roughness = tubing.material(run.material).roughness or 0.0
    bends = fittings.equivalent_length({"elbow-90": run.part.bends}, bore)
    return excess_flow.LineBefore(bore, float(run.part.length) + bends, roughness)


def excess_findings(found: ExcessFlow | None) -> Iterator[Finding]:
    """What the valve gives cause to say."""
    if found is None:
        return
    at = ("container", "excess_flow")
    if not found.stays_open:
        yield error(
            "excess-flow-too-small",
            "container",
            at,
            f"The excess-flow valve closes at {found.closing / found.normal:.1f} times the flow of all appliances.",
            "With less than one and a half times the full flow it may shut in ordinary use.",
            "Ask the supplier for a valve with a higher closing rate.",
            "common practice, no source",
        )
    if found.missed:
        names = ", ".join(b.run for b in found.missed)
        yield warning(
            "excess-flow-misses",
            "container",
            at,
            f"The excess-flow valve would not surely close if a line were cut at: {names}.",
            "The regulator or the line itself lets less gas through than the valve needs to close. The gas then flows on.",
            "Do not count on the valve. Shut the container when nobody is there, and ask about an automatic shut-off.",
            "computed. The flows are estimates, 10 to 20 % out",
        )
