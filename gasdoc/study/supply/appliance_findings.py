"""What the plates, jets, connectors and valves of the appliances give cause to say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.build.model import Junction, Regulator, Valve
from gasdoc.build.reader import Build
from gasdoc.catalog.appliances import usual_input
from gasdoc.study.facts import Installation, connector_kind, counts_heat, system
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.lines import Zone
from gasdoc.study.supply.pressures import connector_drop
from gasdoc.words import with_article

MIXED = 0.5
"""From this share of the other gas on, an appliance jetted for one of the two is jetted for another gas. Commercial
grades hold some of the other; the plate and the supplier decide in between (our choice)."""


SOME = 0.05
"""From this share of the other gas on it is a mixture that was stated, not what a commercial grade holds (our choice)."""


FAR_OFF, IMPOSSIBLE = 4.0, 20.0
"""How many times outside the usual range an input rate has to be to be asked about, and to be taken for a slip of its unit
(our choice)."""


def appliance_findings(build: Installation, zones: Sequence[Zone]) -> Iterator[Finding]:
    """The findings about the appliances themselves."""
    yield from _jetting(build, zones)
    yield from _plausible(build)
    yield from _unknown(build)


def _jetting(build: Installation, zones: Sequence[Zone]) -> Iterator[Finding]:
    """Appliances jetted for another gas or pressure than their zone delivers."""
    shown = system(build)
    by_outlet = {outlet: zone for zone in zones for outlet, _ in zone.outlets}
    for s in build.served:
        zone = by_outlet[s.id]
        jetted = s.appliance.jetted_for
        delivered = float(zone.regulator.outlet)
        if jetted is None:
            continue
        gas = build.spec.gas
        wrong = {"propane": gas.butane > MIXED, "butane": gas.propane > MIXED, "propane-butane": False}
        if wrong.get(jetted.gas, True):
            yield error(
                "jetted-for-another-gas",
                s.id,
                (*s.at, "appliance", "jetted_for", "gas"),
                f"{s.appliance.name} is jetted for {jetted.gas}.",
                "Jets for another gas give a wrong, sooty or lifting flame, and carbon monoxide.",
                "Have it converted by a licensed person with its maker's kit, or use another appliance.",
            )
        elif {"propane": gas.butane, "butane": gas.propane}.get(jetted.gas, 0.0) > SOME:
            yield warning(
                "jetted-for-one-gas",
                s.id,
                (*s.at, "appliance", "jetted_for", "gas"),
                f"{s.appliance.name} is jetted for {jetted.gas} alone, and the gas here is {gas.propane * 100:.0f} % propane "
                f"and {gas.butane * 100:.0f} % butane.",
                "A mixture burns otherwise than the gas the jets were made for, and changes as the container empties.",
                "Ask the supplier what is in the container, and the plate or the maker whether it may burn that.",
            )
        if abs(jetted.pressure - delivered) > 0.1 * delivered:
            yield error(
                "jetted-for-another-pressure",
                s.id,
                (*s.at, "appliance", "jetted_for", "pressure"),
                f"{s.appliance.name} is made for {units.show(jetted.pressure, 'supply pressure', shown)}. Its regulator "
                f"gives {units.show(delivered, 'supply pressure', shown)}.",
                "An appliance burns as its plate says only at the pressure on its plate.",
                "Choose regulator and appliances for one pressure, with a licensed fitter.",
            )


def _plausible(build: Installation) -> Iterator[Finding]:
    """Input rates far outside what the kind of appliance usually has: most often a unit or a zero too many."""
    shown = system(build)
    for s in build.served:
        usual = usual_input(s.appliance.kind)
        if usual is None:
            continue
        least, most = usual.least, usual.most
        if not least / FAR_OFF <= s.load <= most * FAR_OFF:
            impossible = not least / IMPOSSIBLE <= s.load <= most * IMPOSSIBLE
            yield (error if impossible else warning)(
                "input-far-off",
                s.id,
                (*s.at, "appliance", "input"),
                f"{s.appliance.name} is given '{s.appliance.input.text}'. {with_article(s.appliance.kind.replace('-', ' '), 'A')} "
                f"usually has {units.show(least, 'load', shown)} to {units.show(most, 'load', shown)}.",
                "A figure this far off is most often a slip of a unit or a zero. A point is read as a decimal point, so that "
                "24.000 is 24.",
                "Read the plate again.",
                f"usual ranges from memory ({usual.note})",
            )


def _unknown(build: Installation) -> Iterator[Finding]:
    """What the spec leaves open of its appliances, and somebody will ask for."""
    assumed = [
        s for s in build.served if s.appliance.input_basis is None and s.gross_share > 1.0 and counts_heat(build, s)
    ]
    if assumed:
        yield note(
            "input-basis-assumed",
            "build",
            (*assumed[0].at, "appliance", "input"),
            "Plates and energy a day are taken to count net heat, because the spec does not say: "
            f"{', '.join(s.appliance.name for s in assumed)}.",
            "That is usual in this region, and on the careful side: if they count gross heat, each burns "
            f"{(1 - 1 / assumed[0].gross_share) * 100:.0f} % less gas than is worked out here.",
            "Read the plates: Hi or net, Hs or gross. Add 'input_basis:', or give 'input:' as the gas per hour on the plate and "
            "'daily_use:' as hours or gas.",
            str(build.region.supply.plates.citation),
            of=tuple(s.appliance.name for s in assumed),
        )
    twice = [
        (s, alone) for s in build.served if s.outlet.shut_off is not False and (alone := _valve_alone(build, s.id))
    ]
    if twice:
        yield note(
            "two-shut-offs",
            "build",
            (*twice[0][0].at, "shut_off"),
            "Two shut-off valves stand in a row, one in the branch and one at the appliance: "
            f"{', '.join(f'{s.appliance.name} (behind {alone})' for s, alone in twice)}.",
            "Both are bought and fitted, and each is one more thing that can leak.",
            "Keep both where the first is out of reach at the appliance. Else take the valve out of the branch, or write "
            "'shut_off: no' for the appliance.",
            of=tuple(s.appliance.name for s, _ in twice),
        )
    for s in build.served:
        if s.appliance.jetted_for is None:
            yield warning(
                "jetting-unknown",
                s.id,
                s.at,
                f"What gas and pressure {s.appliance.name} is jetted for is not stated.",
                "An appliance jetted for another gas or pressure is dangerous, and looks the same.",
                "Read its plate and add 'jetted_for:'.",
            )
        if s.appliance.flue is None:
            yield warning(
                "flue-unknown",
                s.id,
                s.at,
                f"Where the flue gases of {s.appliance.name} go is not stated.",
                "Ventilation and carbon monoxide depend on it.",
                "Add 'flue: room-sealed', 'open-flued' or 'flueless'.",
            )
        rigid = connector_kind(build, s.outlet)[0] == "rigid"
        # A rigid tail that is only taken as usual is not there yet: nobody can measure behind it.
        if connector_drop(s) is None and not (rigid and s.outlet.connector is None):
            at = (*s.at, "connector") if s.outlet.connector else s.at
            if rigid:
                yield note(
                    "rigid-tail-drop-unknown",
                    s.id,
                    at,
                    f"What the rigid tail of {s.appliance.name} takes of the pressure is not worked out.",
                    "Its pressures here are those before the tail.",
                    "A rigid tail has no rating: measure the pressure at the appliance with everything on.",
                )
            else:
                yield note(
                    "connector-capacity-unknown",
                    s.id,
                    at,
                    f"What the connector of {s.appliance.name} takes of the pressure is not known.",
                    "Its pressures here are those before the connector.",
                    "Read the rated capacity off its tag or data sheet and add 'capacity:' under 'connector:'.",
                )
        alone = _valve_alone(build, s.id) if s.outlet.shut_off is False else None
        if alone is not None:
            yield warning(
                "shut-off-in-branch",
                s.id,
                (*s.at, "shut_off"),
                f"The only shut-off valve of {s.appliance.name} is {alone}, in its branch.",
                "An appliance must be able to be shut off by itself, within reach.",
                "Ask whether that valve stands near enough, or fit one upstream of the connector.",
                "IFGC 409.5 (read in two or more public texts)",
            )
        elif s.outlet.shut_off is False:
            yield error(
                "no-shut-off",
                s.id,
                (*s.at, "shut_off"),
                f"{s.appliance.name} has no shut-off valve of its own.",
                "An appliance must be able to be shut off by itself, within reach.",
                "Fit a listed valve upstream of its connector.",
                "IFGC 409.5 (read in two or more public texts)",
            )


def _valve_alone(build: Build, outlet: str) -> str | None:
    """The valve in the line that serves this outlet and no other; None where a junction comes first."""
    nearest = next((node for node in build.before(outlet) if isinstance(node.part, Valve | Junction | Regulator)), None)
    return nearest.id if nearest is not None and isinstance(nearest.part, Valve) else None
