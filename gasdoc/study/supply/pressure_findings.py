"""What pressures and regulators give cause to say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

from gasdoc import units
from gasdoc.engineering.supply import tree
from gasdoc.quantities import Known, MetrePerSecond
from gasdoc.study import facts
from gasdoc.study.facts import Installation, OutletPressure, Served
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.supply.capacity import Answer
from gasdoc.study.supply.lines import Line, Shortfall, SizedZone, ZonePressure
from gasdoc.study.supply.pressures import most_shut

NEVER_TURN_UP = (
    "Take it to a licensed fitter: a larger run, a shorter path, or a regulator made for a higher setting. Never turn a "
    "regulator up to make a number come right."
)

SETTLE_SIZE = (
    "Settle the size first, with a fitter. Then state it with 'size:', and the pressures are worked out with it."
)

FAST: Annotated[
    MetrePerSecond,
    Known("speed from which gas is heard in small tubing", "Common practice, no source", "practice"),
] = 15.0


def pressure_findings(build: Installation, zone: SizedZone) -> Iterator[Finding]:
    """The findings of one zone; none where it is not solved."""
    solved = zone.pressure
    if solved is None:
        return
    shown = facts.system(build)
    by_id = {s.id: s for s in build.served}
    carried = all(run.longest.enough or run.branch.enough for run in zone.runs)
    for outlet in solved.outlets:
        yield from _outlet(by_id[outlet.id], outlet, solved, carried, shown)
        yield from _shut(build, zone, by_id[outlet.id], outlet, shown)
    yield from _unsized(zone, solved, by_id, shown)
    if not solved.tolerance_known:
        yield note(
            "regulator-tolerance-unknown",
            zone.id,
            zone.at,
            "How far the regulator may be off its setting is not stated.",
            "The pressures here are worked out from the setting alone. A real one may be lower at full flow and higher "
            "at none.",
            "Read it off its data sheet and add 'tolerance:'. Add 'lock_up:' too.",
        )
    elif not solved.lock_up_known:
        yield note(
            "regulator-lock-up-unknown",
            zone.id,
            zone.at,
            "The regulator's pressure at no flow is not stated.",
            "Each appliance's highest pressure is checked against the setting and its tolerance only.",
            "Read it off its data sheet and add 'lock_up:'.",
        )
    yield from _shape(zone)
    for run in zone.runs:
        if run.pressure is not None and run.pressure.speed > FAST:
            yield note(
                "fast-gas",
                run.id,
                run.at,
                f"Gas runs at {units.show(run.pressure.speed, 'gas speed', shown)} here at full load.",
                "Fast gas is heard, and its drop grows with the square of any added load.",
                "Consider the next larger size.",
                "common practice, no source",
            )


def _unsized(zone: SizedZone, solved: ZonePressure, by_id: dict[str, Served], shown: units.System) -> Iterator[Finding]:
    """The appliances behind a run without a size: what would reach them with the size tried, said as no more than that."""
    behind = {outlet: set(tree.path(zone.tree, segment)) for outlet, segment in zone.outlets if segment >= 0}
    places = {run.id: i for i, run in enumerate(zone.runs)}
    for outlet in solved.behind:
        served = by_id[outlet.id]
        before = [t.run for t in solved.tried if t.run not in places]  # they feed the regulator
        if before or solved.lacks:
            yield warning(
                "pressure-unknown",
                served.id,
                served.at,
                f"What reaches {served.appliance.name} is not known, because {because(before, f'its regulator {zone.id}', solved.lacks)}.",
                "A regulator that cannot hold its pressure gives less, and how much less is not worked out here."
                if solved.lacks
                else "Whether its regulator gets the pressure it needs could not be checked.",
                "Put that right first, with a licensed fitter. Then the pressures are worked out."
                if solved.lacks
                else SETTLE_SIZE,
            )
            continue
        on_the_way = [t for t in solved.tried if places[t.run] in behind[outlet.id]]
        which = {"branch-length": "the size of the branch-length method", "largest": "the largest on offer"}
        sizes = "; ".join(f"{t.size.label} in {t.run}, {which[t.by]}" for t in on_the_way)
        got = "no gas would" if outlet.starved else f"{units.show(outlet.full, 'supply pressure', shown)} would"
        asks = (
            "" if outlet.minimum is None else f". Its plate asks {units.show(outlet.minimum, 'supply pressure', shown)}"
        )
        yield warning(
            "pressure-unknown",
            served.id,
            served.at,
            f"What reaches {served.appliance.name} is not known, because {' and '.join(t.run for t in on_the_way)} "
            f"{'has' if len(on_the_way) == 1 else 'have'} no size.",
            f"A trial by calculation, not a size to build to: with {sizes}, {got} reach it with everything on{asks}.",
            SETTLE_SIZE,
        )


def _outlet(
    served: Served, outlet: OutletPressure, solved: ZonePressure, carried: bool, shown: units.System
) -> Iterator[Finding]:
    name = served.appliance.name
    at = (*served.at, "appliance", "min_inlet")
    full = units.show(outlet.full, "supply pressure", shown)
    if outlet.starved:
        yield error(
            "starved",
            served.id,
            served.at,
            f"{name} gets no gas with everything on.",
            "The tubing loses all of the pressure before it.",
            NEVER_TURN_UP,
        )
        return
    if outlet.minimum is not None:
        asked = units.show(outlet.minimum, "supply pressure", shown)
        if outlet.short:
            why = (
                "The code's tables pass these sizes: they allow a drop that this appliance's plate does not. The plate "
                "decides."
                if carried
                else "The sizes lose more than the plate leaves room for."
            )
            if solved.hose is not None and solved.hose.drop:
                taken = units.show(solved.hose.drop, units.drop_kind(solved.highest, shown), shown)
                why = f"{why} The hose behind the regulator takes {taken} of it."
            yield error(
                "below-minimum",
                served.id,
                at,
                f"{name} asks for at least {asked}, and {full} reaches it with everything on.",
                why,
                NEVER_TURN_UP,
                "the appliance's plate",
            )
        elif outlet.weak:
            low = units.show(outlet.lowest, "supply pressure", shown)
            yield warning(
                "below-minimum-at-tolerance",
                served.id,
                at,
                f"{name} asks for at least {asked}. With everything on {full} reaches it. Only {low} does when its regulator stands"
                f" at the low end of its tolerance, {units.show(solved.lowest, 'supply pressure', shown)}.",
                "A regulator within its own tolerance may starve this appliance.",
                NEVER_TURN_UP,
                "the appliance's plate",
            )
    else:
        yield note(
            "minimum-unknown",
            served.id,
            served.at,
            f"The lowest inlet pressure of {name} is not stated.",
            f"{full} reaches it with everything on. Whether that is enough is for its plate to say.",
            "Read the plate and add 'min_inlet:'.",
        )


def _shut(
    build: Installation, zone: SizedZone, served: Served, outlet: OutletPressure, shown: units.System
) -> Iterator[Finding]:
    """What an appliance sees with nothing burning, against the most on its plate.

    Where a text of the region has the plate's range of gas that flows, a lock-up that is usual for the setting is asked
    about; one that is not, or a setting that may itself be too high, is an error there, too.
    """
    if outlet.maximum is None or not outlet.over:
        return
    at = (*served.at, "appliance", "max_inlet")
    name = served.appliance.name
    most, sees = (units.show(p, "supply pressure", shown) for p in (outlet.maximum, outlet.highest))
    text = build.region.supply.plate_range
    shut = most_shut(build, zone.regulator, outlet.maximum)
    if text is not None and shut is not None and outlet.highest <= shut:
        yield warning(
            "lock-up-above-plate",
            served.id,
            at,
            f"{name} has {most} as the most on its plate, and sees {sees} when nothing burns.",
            f"{text.text} Whether this plate's highest pressure holds with nothing burning, too, it does not say.",
            "Ask the appliance's maker, or who signs. If it holds, use a regulator that locks up lower, with a licensed fitter.",
            str(text.citation),
        )
        return
    yield error(
        "above-maximum",
        served.id,
        at,
        f"{name} stands at most {most}, and sees {sees} when nothing burns.",
        "At no flow a regulator locks up above its setting.",
        "Use a regulator that locks up lower, with a licensed fitter.",
        "the appliance's plate",
    )


def _shape(zone: SizedZone) -> Iterator[Finding]:
    """A run larger than the run that feeds it gains nothing where the narrow one already takes the drop."""
    for i, run in enumerate(zone.runs):
        parent = zone.tree.parent[i]
        feeding = zone.runs[parent] if parent >= 0 else None
        if feeding is not None and _larger(run, feeding):
            assert run.size is not None
            assert feeding.size is not None
            yield note(
                "grows-downstream",
                run.id,
                run.at,
                f"{run.size.label} hangs on the smaller {feeding.size.label} of {feeding.id}.",
                "Sizes usually shrink on the way to the outlets. A larger size further on is often a slip.",
                "Check both sizes.",
                "common practice, no source",
            )


def _larger(run: Line, feeding: Line) -> bool:
    """Whether a run carries clearly more than the one that feeds it, at the same sizing length."""
    if run.size is None or feeding.size is None or run.material != feeding.material:
        return False
    a, b = run.longest.capacity, feeding.longest.capacity
    return isinstance(a, Answer) and isinstance(b, Answer) and a.value > b.value * 1.05


def because(runs: Sequence[str], regulator: str, lacks: Sequence[Shortfall]) -> str:
    """Why a pressure is not known: runs before `regulator` without a size, regulators that cannot hold theirs."""
    regulators = list(dict.fromkeys(lack.regulator for lack in lacks))
    reasons = [f"{' and '.join(runs)} before {regulator} {'has' if len(runs) == 1 else 'have'} no size"] if runs else []
    return " and ".join([*reasons, *(f"{facts.the_regulator(r)} cannot hold its pressure" for r in regulators)])
