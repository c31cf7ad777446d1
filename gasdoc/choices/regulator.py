"""What to ask for in a shop: the first regulator, and what another lowest inlet would change."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.model import Outlet
from gasdoc.build.reader import Build
from gasdoc.catalog import regulators as trade
from gasdoc.choices.changes import NEAR, Search, with_inlet
from gasdoc.choices.containers import ContainerChoice
from gasdoc.choices.entries import Choice, Figure, Why, fits, sources
from gasdoc.choices.filled import Picked, Reduced
from gasdoc.engineering.supply import lpg
from gasdoc.quantities import Aside, Kelvin, Pascal
from gasdoc.regions.region import region
from gasdoc.study.facts import Installation, fuel, heating_value, is_first_stage, plate_load, usual_pressure

_SAME_PRESSURE = 0.05
"""Share by which an outlet may differ from the pressure a row of the region is for (our choice)."""


class Inlet(Struct, frozen=True):
    """What another lowest inlet of the regulator would change: the `floor` K below which the gas has not that pressure, and
    the id of the container that would come first then, None for none."""

    inlet: Pascal
    floor: Kelvin | None
    first: str | None


class RegulatorChoice(Choice, frozen=True):
    """What to ask for in a shop: `figures` have outlet, lowest inlet, highest lock-up, coldest air and capacity, as power and
    as gas per hour; those that end in `_other` are of plates that count the other heat. `outlet_from`, `lock_up_from` and
    `cold` say in words what those rest on."""

    words: str
    stages: int
    two_inlets: bool
    container_side: str
    line_side: str
    protection: str
    outlet_from: str
    lock_up_from: str
    cold: str
    basis: str
    inlets: tuple[Inlet, ...]
    picked: Annotated[Picked, Aside("what is written when it is taken")]


def wanted(build: Build) -> Reduced:
    """The regulator asked for: the pressure on the plates where they agree, else the usual one of the region, or of a first
    stage."""
    row = trade.regulators(region(build.spec.region).practice.rows)
    inlet = build.spec.regulator.inlet
    if is_first_stage(build):
        return Reduced(row.first.outlet.text, (inlet or row.inlets[-1]).text, 1)
    plates = {
        node.part.appliance.jetted_for.pressure.text: float(node.part.appliance.jetted_for.pressure)
        for node in build.nodes
        if isinstance(node.part, Outlet) and node.part.appliance.jetted_for is not None
    }
    outlet = next(iter(plates)) if len(set(plates.values())) == 1 else usual_pressure(build).value.text
    return Reduced(outlet, (inlet or row.usual).text, row.stages)


def regulator(build: Installation, question: Search | None, held: Sequence[ContainerChoice]) -> RegulatorChoice:
    """What to ask for, with what another lowest inlet would change."""
    row = trade.regulators(build.region.practice.rows)
    staged = is_first_stage(build)
    usual = usual_pressure(build)
    nominal = usual.citation if not staged else row.citation
    by_plates = any(s.appliance.jetted_for is not None for s in build.served)
    spec, heat = build.spec, heating_value(build)
    load = sum(s.load for s in build.served)
    first = next((choice for choice in held if choice.fits is not False), None)
    lock_up, lock_up_from, lock_up_confirmed = _lock_up(build)
    counted, other = _basis(build)
    figures = {
        "outlet": Figure(float(spec.regulator.outlet), "Pa", nominal.confirmed),
        "inlet": Figure(float(spec.regulator.inlet) if spec.regulator.inlet is not None else None, "Pa", row.confirmed),
        "lock_up": Figure(lock_up, "Pa", lock_up_confirmed),
        "coldest": Figure(question.asked.air if question is not None else None, "K", "computed"),
        "capacity": Figure(load, "W", "computed"),
        "gas": Figure(load / heat, "kg/s", "computed"),
        "usual_size": Figure(_size(row, load / heat), "kg/s", row.confirmed),
        "capacity_other": Figure(other, "W", "computed"),
        "gas_other": Figure(other / heat if other is not None else None, "kg/s", "computed"),
        "usual_size_other": Figure(_size(row, other / heat) if other is not None else None, "kg/s", row.confirmed),
    }
    reasons = []
    if not held or all(choice.fits is False for choice in held):
        reasons.append(Why("no-container", "With this lowest inlet no container carries the coldest day.", open=True))
    coldest = build.region.supply.regulator_coldest
    return RegulatorChoice(
        id="regulator",
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=figures,
        sources=sources(row.citation, nominal, coldest.citation if coldest is not None else None),
        words=row.first.words if staged else row.words,
        stages=1 if staged else row.stages,
        two_inlets=first is not None and first.two_inlets,
        container_side=row.container,
        line_side=row.line,
        protection=row.protection,
        outlet_from="as the plates say"
        if by_plates
        else "for regulators behind it"
        if staged
        else f"{usual.text}. The plates decide: read them before you buy",
        lock_up_from=lock_up_from,
        cold=coldest.text if coldest is not None else row.cold,
        basis=counted,
        inlets=tuple(_inlets(question, row)) if question is not None else (),
        picked=Picked(regulator=wanted(build)),
    )


def _size(row: trade.Trade, mass: float) -> float | None:
    """The next usual size up, kg/s; None where none is as large, or none is listed."""
    return next((float(each) for each in row.sizes if float(each) >= mass * (1 - 1e-9)), None)


def _basis(build: Installation) -> tuple[str, float | None]:
    """Which heat the plates are taken to count, in words, and the load of all, W of gross heat, if those that do not say
    counted the other; None where each says, or gives gas per hour."""
    open_ = [s for s in build.served if s.basis is not None and s.appliance.input_basis is None]
    words = {s.basis for s in build.served if s.basis is not None}
    counted = f"{next(iter(words))} heat" if len(words) == 1 else "net and gross heat" if words else "gas per hour"
    if not open_:
        return f"as the plates say: {counted}", None
    share = heating_value(build) / lpg.net_heating_value(fuel(build))
    other = sum(s.load for s in build.served if s not in open_)
    other += sum(plate_load(s.appliance, heating_value(build)) * (1.0 if s.basis == "net" else share) for s in open_)
    return f"the plates are taken to count {counted}, as is usual here. Read the plates", other


def _lock_up(build: Installation) -> tuple[float | None, str, str]:
    """The highest pressure with nothing burning, Pa, what it rests on in words, and how well that is confirmed."""
    if is_first_stage(build):
        return None, "what the regulators behind it are made for: read it on them", "practice"
    plates = [s.appliance.max_inlet for s in build.served if s.appliance.max_inlet is not None]
    if plates:
        least = min(plates)
        return float(least), "the least of the highest pressures on the plates", "twice"
    outlet = float(build.spec.regulator.outlet)
    for test in build.region.tests:
        asked = test.pressure
        if test.kind != "flow" or asked.lock_up is None or asked.minimum is None or asked.maximum is None:
            continue
        middle = (float(asked.minimum) + float(asked.maximum)) / 2
        if abs(outlet - middle) <= _SAME_PRESSURE * middle:
            return float(asked.lock_up), f"the region's row '{test.name}'", test.citation.confirmed
    return None, "the least of the highest pressures on the plates: read them", "practice"


def _inlets(question: Search, row: trade.Trade) -> Iterator[Inlet]:
    """The floor of each usual lowest inlet; what would come first is only looked for near that floor, where it decides."""
    now = question.answer()
    for inlet in row.inlets:
        if inlet <= question.build.spec.regulator.outlet:
            continue
        rig = with_inlet(question.build, question.rig, inlet)
        if rig is None:
            yield Inlet(float(inlet), None, None)
            continue
        floor = rig.need.floor
        decides = question.asked.air <= floor + NEAR and abs(float(inlet) - question.rig.need.inlet) > 1.0
        found = replace(question, rig=rig).answer() if decides else now
        yield Inlet(float(inlet), floor, found.id if found is not None else None)


def inlets_decide(choice: RegulatorChoice) -> bool:
    """Whether another lowest inlet would bring another container, or none."""
    return len({(inlet.first, inlet.floor is None) for inlet in choice.inlets}) > 1
