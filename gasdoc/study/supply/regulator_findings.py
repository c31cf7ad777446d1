"""What the regulators give cause to say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.build.model import Regulator
from gasdoc.study import facts
from gasdoc.study.facts import Installation, heating_value, rated_capacity
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.lines import Shortfall, SizedZone, Zone, most_carried
from gasdoc.study.supply.names import on_the_valve
from gasdoc.study.supply.pressure_findings import SETTLE_SIZE, because
from gasdoc.words import in_sentence


def _too_small(build: Installation, zone: Zone, rated: float, system: units.System) -> Finding:
    """A regulator whose rating, `rated` in W of gross heat, is less than its load. A power does not say which heat it counts:
    where plates count net, a rating that carries the load as net heat may do."""
    given, at = zone.regulator.capacity, (*zone.at, "capacity")
    asked = f"all appliances behind it ask for {units.show(zone.load, 'load', system)} of gross heat"
    by_mass = given is not None and given.dimension == "mass flow"
    says = f"{units.show(rated, 'load', system)}, {'by its gas per hour' if by_mass else 'taken as gross heat'}"
    larger = most_carried(build, zone.regulator) or rated
    doubt = f" If it counts net heat, it is {units.show(larger, 'load', system)} gross." if larger > rated else ""
    if zone.load <= larger * (1 + 1e-9):
        return warning(
            "regulator-maybe-too-small",
            zone.id,
            at,
            f"The regulator is rated for {says}, and {asked}.{doubt} That would be enough.",
            "Past its rating a regulator lets its outlet pressure fall. Which heat a rating in power counts is seldom written.",
            "Read the rating in kg/h off its data sheet and give that as 'capacity:': it leaves no doubt.",
        )
    return error(
        "regulator-too-small",
        zone.id,
        at,
        f"The regulator is rated for {says}, and {asked}.{doubt}",
        "Past its rating a regulator lets its outlet pressure fall.",
        "Use a regulator rated for the whole load at its lowest inlet pressure. A rating in gas per hour, such as kg/h, leaves "
        "no doubt which heat is meant.",
    )


def regulator_findings(build: Installation, zones: tuple[SizedZone, ...]) -> Iterator[Finding]:
    """What the regulators themselves give cause to say."""
    yield from _capacities(build, zones)
    shown = facts.system(build)
    first = build.spec.regulator
    later = any(zone.regulators for zone in zones)
    asked = build.region.practice.two_stage == "asked"
    if first.stages == 1 and not later:
        yield (warning if asked else note)(
            "single-stage-regulator",
            zones[0].id,
            ("regulator", "stages"),
            "One regulator brings container pressure down in a single stage and feeds fixed piping.",
            "A single stage lets the delivered pressure move with the container's, which changes several times over "
            "between winter and summer.",
            "Ask the authority: codes of North America want two stages on fixed piping."
            if asked
            else "One stage is usual on small lines here. Ask the authority where the line is long or in a building: codes of North "
            "America want two stages on fixed piping.",
            "NFPA 58, two-stage systems on fixed piping (from memory, not confirmed)",
        )
    if on_the_valve(build) and not facts.stays(build) and first.hose is None and zones[0].runs:
        yield warning(
            "regulator-on-cylinder",
            build.first,
            ("regulator",),
            "The regulator goes straight onto the container's valve, and tubing is joined to it.",
            "Each change of the container moves the regulator. That bends the line and loosens the joint behind the regulator.",
            "Put a hose behind the regulator: add 'hose:' to it. Or fix the regulator in its place, with a hose or pigtail to "
            "the container: its 'inlet_thread:' is then another.",
            "Common practice, no source",
        )
    for zone in zones:
        yield from _regulator(zone, zone.regulator)
        yield from _in_order(zone, zone.regulator)
        yield from _far_above_usual(build, zone)
    arriving = {regulator for zone in zones if zone.pressure is not None for regulator, _ in zone.pressure.regulators}
    for zone in zones[1:]:
        needed, pressures = zone.regulator.inlet, zone.pressure
        if zone.id not in arriving:
            before = (
                [t.run for t in pressures.tried if t.run not in zone.run_ids] if pressures is not None else ["a run"]
            )
            lacking = [lack for lack in pressures.lacks if lack.regulator != zone.id] if pressures is not None else []
            yield warning(
                "regulator-inlet-unknown",
                zone.id,
                zone.at,
                f"What pressure reaches it is not known, because {because(before, 'it', lacking)}.",
                f"Whether that is the {units.show(needed, 'container pressure', shown)} it is rated from, and above its outlet, "
                "could not be checked."
                if needed is not None
                else "Whether that is above its outlet could not be checked.",
                SETTLE_SIZE if not lacking else "Put that right first, with a licensed fitter. Then it is checked.",
            )
        for lack in pressures.lacks if pressures is not None else ():
            if lack.regulator == zone.id:
                yield from _lack(zone, lack, shown)


def _lack(zone: SizedZone, lack: Shortfall, shown: units.System) -> Iterator[Finding]:
    """A second regulator that what reaches it does not serve. What the first one lacks is found where container and gas are,
    and capacities with the loads."""
    if lack.has is None or lack.needs is None:
        return
    needs = units.show(lack.needs, "container pressure", shown)
    has = units.show_apart(lack.has, lack.needs, "container pressure", shown)
    if lack.why == "inlet":
        yield error(
            "regulator-inlet-too-low",
            zone.id,
            (*zone.at, "inlet"),
            f"It is rated from an inlet of {needs}, and {has} reaches it with everything on.",
            "Below its lowest inlet a regulator does not deliver its rated capacity.",
            "Use a larger or shorter run before it, or another regulator, with a licensed fitter.",
        )
    elif lack.why == "outlet":
        yield error(
            "regulator-cannot-work",
            zone.id,
            (*zone.at, "outlet"),
            f"Its outlet is set to {needs}, and no more than {has} reaches it.",
            "A regulator can only lower a pressure.",
            "Check the outlet pressures of both regulators.",
        )


def _regulator(zone: SizedZone, regulator: Regulator) -> Iterator[Finding]:
    at, identity = zone.at, zone.id
    if regulator.adjustable:
        yield warning(
            "adjustable-regulator",
            identity,
            (*at, "adjustable"),
            "The regulator can be set by hand.",
            "Turned up by mistake it sends every appliance more than its plate allows.",
            "Use a fixed, listed regulator for appliances. An adjustable high-pressure one has no place on them.",
            "common practice, no source",
        )
    if regulator.over_pressure_protection is False:
        yield error(
            "no-over-pressure-protection",
            identity,
            (*at, "over_pressure_protection"),
            "The regulator has no relief or shut-off of its own against over-pressure.",
            "When a regulator fails open, container pressure reaches the appliances.",
            "Use a regulator with over-pressure protection whose relief vents outdoors.",
            "29 CFR 1910.110(g) as in WAC 296-307-43511, relief on the low side (read in one public text)",
        )
    elif regulator.over_pressure_protection is None:
        yield note(
            "over-pressure-protection-unknown",
            identity,
            at,
            "Whether the regulator has over-pressure protection is not stated.",
            "When a regulator fails open, container pressure reaches the appliances.",
            "Read its data sheet and add 'over_pressure_protection:'.",
        )


def _in_order(zone: SizedZone, regulator: Regulator) -> Iterator[Finding]:
    """Pressures of one regulator that do not follow one another: it is set, at no flow it rises, and above that its relief
    opens."""
    set_to, at_rest, relief = regulator.outlet, regulator.lock_up, regulator.relief
    if at_rest is not None and at_rest < set_to:
        yield warning(
            "regulator-pressures",
            zone.id,
            (*zone.at, "lock_up"),
            f"At no flow it is given {at_rest.text}, which is less than its setting, {set_to.text}.",
            "With nothing burning a regulator stands above its setting. A figure too low hides what the appliances then see.",
            "Read 'lock_up:' off its data sheet again.",
        )
    highest = max(set_to, at_rest or set_to)
    if relief is not None and relief <= highest:
        yield warning(
            "regulator-pressures",
            zone.id,
            (*zone.at, "relief"),
            f"Its relief is given {relief.text}, and with nothing burning the regulator stands at {highest.text}.",
            "Such a relief lets gas off each time the burners are shut.",
            "Read 'relief:' off its data sheet again.",
        )


FAR_ABOVE = 2.0
"""How many times the pressure that is usual for appliances the outlet of a regulator before them has to be, to be told (our
choice): 50 mbar is usual where 30 mbar is."""


def _far_above_usual(build: Installation, zone: Zone) -> Iterator[Finding]:
    """Appliances whose plate nobody has copied, behind a regulator that is made for other things."""
    usual = facts.usual_pressure(build)
    behind = {outlet for outlet, _ in zone.outlets}
    unread = [s.appliance.name for s in build.served if s.id in behind and s.appliance.jetted_for is None]
    if not unread or float(zone.regulator.outlet) <= FAR_ABOVE * float(usual.value):
        return
    shown = facts.system(build)
    yield error(
        "pressure-far-above-usual",
        zone.id,
        (*zone.at, "outlet"),
        f"The regulator is set to {units.show(zone.regulator.outlet, units.pressure_kind(zone.regulator.outlet, shown), shown)}. "
        f"What is usual here for {in_sentence(unread)} is {units.show(usual.value, 'supply pressure', shown)}.",
        "So much pressure sends a flame out of the appliance, and bursts valves and hoses made for low pressure.",
        "Read the plates, and add 'jetted_for:'. Use a regulator made for the pressure on them, with a licensed fitter.",
        str(usual.citation),
    )


def _capacities(build: Installation, zones: Sequence[Zone]) -> Iterator[Finding]:
    """Regulators rated for less than their load, or for what nobody says."""
    system = facts.system(build)
    for zone in zones:
        rated = rated_capacity(zone.regulator, heating_value(build))
        if rated is not None and zone.load > rated * (1 + 1e-9):
            yield _too_small(build, zone, rated, system)
        if rated is None:
            yield warning(
                "regulator-capacity-unknown",
                zone.id,
                zone.at,
                "The regulator's capacity is not stated.",
                "Whether it can feed all appliances at once is not known.",
                "Read it off the regulator's data sheet, at its lowest inlet pressure, and add 'capacity:'.",
            )
