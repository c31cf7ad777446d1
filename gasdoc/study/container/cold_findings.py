"""Findings about the cold: the first regulator, the coldest day, and what butane does in it."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc import units
from gasdoc.catalog.appliances import day
from gasdoc.catalog.regulators import regulators
from gasdoc.engineering.constants import STANDARD_ATMOSPHERE
from gasdoc.engineering.container import vaporisation
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import BUTANE, Fuel
from gasdoc.study.container.cold_day import FILLS, STILL_SOURCE, UNCERTAIN, Cold, Rig, fill_words, short_words
from gasdoc.study.container.draw_off import table_findings
from gasdoc.study.container.holding import Container
from gasdoc.study.facts import Installation, system
from gasdoc.study.findings import Finding, error, note, warning

_SAME = 0.05
"""K: two stated temperatures as near as this are the same in another unit."""


def cold_findings(build: Installation, container: Container, cold: Cold | None) -> Iterator[Finding]:
    """What the cold gives cause to say."""
    spec, shown = build.spec, system(build)
    yield from _regulator(build, shown)
    if cold is None:
        yield error(
            "regulator-inlet-beyond-gas",
            "container",
            ("regulator", "inlet"),
            f"The regulator's lowest inlet, {spec.regulator.inlet.text if spec.regulator.inlet else ''}, is more than this "
            "gas has at any outdoor temperature.",
            "Then the regulator never works as rated.",
            "Read its data sheet again. The figure may be its highest inlet.",
        )
        return
    need = cold.rig.need
    needed = units.show(need.gauge, "container pressure", shown)
    if not need.stated:
        yield warning(
            "regulator-inlet-unknown",
            "container",
            ("regulator",),
            f"The lowest inlet pressure of the first regulator is not stated, and {units.show(need.inlet, 'container pressure', shown)} "
            "is assumed.",
            "Whether the container keeps up in the cold is a question of that pressure.",
            "Read it off the regulator's data sheet and add 'inlet:'.",
            "our assumption",
        )
    if cold.coldest is None:
        yield warning(
            "coldest-unknown",
            "container",
            (),
            "The coldest air the container works in is not stated.",
            "Whether it keeps up on a cold night is not known.",
            "Add 'coldest:', the air at night, not the average.",
            taken=build.region.practice.coldest.value.text if build.open else None,
        )
    if container.unstated:
        yield warning(
            "daily-use-unknown",
            "container",
            next(s.at for s in build.served if s.per_day is None),
            f"How long these burn a day is not stated: {', '.join(container.unstated)}.",
            "They are left out of the cold day and of the days between fills. Both come out too well.",
            "Add 'daily_use:' to each, for a cold day.",
            of=container.unstated,
            taken=_usual_hours(build) if build.open else None,
        )
    if cold.rig.feeding > 1:
        yield warning(
            "parallel-unequal",
            "container",
            ("container", "manifold"),
            f"{cold.rig.feeding} containers feed in parallel.",
            "At unequal temperature gas goes over from the warm one and condenses in the cold one. That one may be filled past"
            " its limit. They do not empty alike, either.",
            "Keep them equally warm, out of one-sided sun, fit check valves, and shut all but one when nothing burns.",
            "common practice, no source",
        )
    if cold.table is not None:
        yield from table_findings(cold.table, shown)
    yield from _butane(build, cold)
    if cold.coldest is not None and cold.coldest > need.floor:  # else nothing is supplied, and the reason is given
        yield from _short(cold, container, needed, shown)


def _usual_hours(build: Installation) -> str:
    """The hours that a plan takes for the appliances of which it states none."""
    kinds = {s.name: day().kinds[s.appliance.kind] for s in build.served if s.per_day is None}
    return ", ".join(f"{name} {kind.hours.text}" for name, kind in kinds.items())


def _regulator(build: Installation, shown: units.System) -> Iterator[Finding]:
    """Whether the first regulator, which stands beside the container, is made for the coldest air."""
    spec, usual = build.spec, build.region.supply.regulator_coldest
    stated = spec.regulator.lowest_temperature
    if spec.coldest is None:
        return
    air = units.show(spec.coldest, "temperature", shown)
    if stated is not None and spec.coldest < stated - _SAME:
        yield error(
            "regulator-too-cold",
            "regulator",
            ("regulator", "lowest_temperature"),
            f"The regulator is made for places down to {stated.text}. The coldest air is {air}.",
            "Below that its rubber stiffens, and neither its pressure nor its tightness is what its plate says.",
            "Use a regulator that is marked for such cold, or stop using the gas before.",
        )
    elif stated is None and usual is not None and spec.coldest < usual.value - _SAME:
        yield warning(
            "regulator-cold-unknown",
            "regulator",
            ("regulator",),
            f"The coldest air is {air}, and the coldest place the regulator is made for is not stated.",
            usual.text,
            "Read its mark or data sheet and add 'lowest_temperature:'. Ask its maker where neither says.",
            str(usual.citation),
        )


def _short(cold: Cold, container: Container, needed: str, shown: units.System) -> Iterator[Finding]:
    if cold.coldest is None or not cold.runs:
        return
    at = ("container",)
    day_mass = cold.rig.energy / lpg.gross_heating_value(cold.rig.gas)
    total = container.fuel_mass * container.number
    air = units.show(cold.coldest, "temperature", shown)
    full = cold.runs[0]  # or the emptiest that lasts
    # A container with less in it than a day takes runs out in any weather; that is a matter of days between fills.
    failing = [r for r in cold.runs if not r.enough and (r.fill == FILLS[0] or total * r.fill > day_mass)]
    if day_mass >= total:
        yield error(
            "empty-within-a-day",
            "container",
            at,
            f"A cold day takes {units.show(day_mass, 'weight', shown)} of gas. A full supply is "
            f"{units.show(total, 'weight', shown)}.",
            "It does not last one day.",
            "Use more or larger containers.",
            "computed",
        )
    elif failing:
        words = "; ".join(
            f"{fill_words(r.fill)}, it {'lasts' if r.enough else 'is ' + short_words(r)}" for r in cold.runs
        )
        worst = min(failing, key=lambda r: r.lowest_gauge)
        lowest = units.show(worst.lowest_gauge, "container pressure", shown)
        yield (error if not full.enough else warning)(
            "cold-short",
            "container",
            at,
            f"In air of {air}, at the build's own use, a container {fill_words(worst.fill)} falls to {lowest}. The regulator and"
            f" its connector need {needed}. Counted from noon: {words}.",
            f"Boiling cools the liquid, and cold liquid has little pressure. Then flames sink or go out. {UNCERTAIN}",
            f"{'Fill or exchange it earlier, or' if full.enough else 'Filling does not help: it is short even full. So'} "
            + _more(cold.rig)
            + ". Or use a container with a larger surface, or burn less at a time. The container page shows what each changes.",
            "computed: a heat balance held under the published figures",
        )
    if cold.narrow is not None and (full.enough or not failing):
        whole = cold.rig.short(cold.coldest, FILLS[0], "still")
        still = cold.rig.short(cold.coldest, cold.narrow, "still")
        yield (note if whole.enough else warning)(
            "cold-narrow",
            "container",
            at,
            f"In air of {air} that moves a little it lasts the day {fill_words(cold.narrow)}. On a still night it is "
            f"{short_words(still)}" + ("." if whole.enough or cold.narrow == FILLS[0] else ", and short even full."),
            f"Still air gives a container about a third of the heat that a breeze gives. {UNCERTAIN}",
            "Do not plan down to this fill in the cold."
            if whole.enough
            else "Draw from more containers at once, or burn less on such a night.",
            f"computed: {STILL_SOURCE}",
        )


def _more(rig: Rig) -> str:
    """How more of them would feed together than do now."""
    if rig.number == 1:
        return "draw from two containers at once"
    one_side = vaporisation.sides(rig.number, rig.manifold) == 1
    return "use more of them" if one_side else "draw from more of them at once"


_IF_SO_MUCH = "If the regulator needs so much, nothing is supplied then."
_READ_INLET = "Read the regulator's lowest inlet pressure and add 'inlet:'."


def _by_any_inlet(build: Installation, cold: Cold, air: float) -> bool:
    """Whether the gas has too little pressure in air of `air` K for the regulator as it is stated; where its inlet is not, for
    one with the lowest inlet that is sold."""
    need = cold.rig.need
    if need.stated:
        return True
    lowest = max(float(regulators(build.region.practice.rows).inlets[0]), float(build.spec.regulator.outlet))
    return air <= vaporisation.boiling_temperature(cold.rig.gas, need.air_absolute + lowest + need.allowance)


def _butane(build: Installation, cold: Cold) -> Iterator[Finding]:
    gas, need, shown = cold.rig.gas, cold.rig.need, system(build)
    if cold.coldest is None:
        return
    sure = _by_any_inlet(build, cold, cold.coldest)
    say = error if sure else warning
    if gas.propane == 1.0:
        if cold.coldest <= need.floor:
            yield say(
                "fuel-too-cold",
                "container",
                ("coldest",),
                f"At {units.show(cold.coldest, 'temperature', shown)} propane has less than the "
                f"{units.show(need.gauge, 'container pressure', shown)} that the regulator needs. Above "
                f"{units.show_apart(need.floor, cold.coldest, 'temperature', shown)} it has more.",
                "Nothing is supplied then." if sure else _IF_SO_MUCH,
                "Do not count on gas in such cold."
                if sure
                else f"{_READ_INLET} Without it do not count on gas in such cold.",
                "computed from the vapour pressure",
            )
        return
    try:
        butane_floor = vaporisation.boiling_temperature(BUTANE, need.absolute)
    except ValueError:  # it has so much at no temperature whose figures are known, and those end far above any air
        butane_floor = lpg.SATURATION_TEMPERATURES[1]
    boils = vaporisation.boiling_temperature(BUTANE, STANDARD_ATMOSPHERE)
    if cold.coldest > butane_floor:
        return
    all_cold = cold.coldest <= need.floor
    reason = (
        f"Butane itself boils off above {units.show(boils, 'temperature', shown)} only, and has the "
        f"{units.show(need.gauge, 'container pressure', shown)} the regulator needs above "
        f"{units.show(butane_floor, 'temperature', shown)}."
    )
    air = units.show(cold.coldest, "temperature", shown)
    if all_cold:
        yield say(
            "butane-too-cold",
            "container",
            ("gas",),
            f"At {air} this gas, with {(1 - gas.propane) * 100:.0f} % butane, has not the pressure "
            + (
                "the regulator needs: nothing is supplied."
                if sure
                else f"that is assumed of the regulator. {_IF_SO_MUCH}"
            ),
            reason,
            "Use propane in such cold." if sure else f"{_READ_INLET} Or use propane.",
            "computed from the vapour pressures",
        )
    else:
        least = least_propane(cold.coldest, need.absolute)
        yield warning(
            "butane-too-cold",
            "container",
            ("gas",),
            f"At {air} the propane boils off first. Once less than {least * 100:.0f} % of the liquid is propane the rest, "
            "butane, stays in the container.",
            reason,
            "Use propane in such cold, and do not count on the last of a mixture.",
            "computed from the vapour pressures (Raoult's law)",
        )


def least_propane(temperature: float, absolute: float) -> float:
    """The mass share of propane at which the liquid just has the pressure `absolute` (Pa) at `temperature` K."""
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if lpg.saturation_absolute(Fuel(middle), temperature) >= absolute else (middle, high)
    return high
