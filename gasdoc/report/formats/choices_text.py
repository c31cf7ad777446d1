"""The choices of a build as short tables of text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from gasdoc import units
from gasdoc.choices.assumed import Assumed
from gasdoc.choices.changes import OtherContainer
from gasdoc.choices.choices import GOOD_FOR, Choices, Design
from gasdoc.choices.containers import ContainerChoice, Enough
from gasdoc.choices.entries import Figure
from gasdoc.choices.filled import Picked
from gasdoc.choices.regulator import RegulatorChoice, inlets_decide
from gasdoc.choices.tubing import TubingChoice
from gasdoc.study.container.cold_day import fill_words
from gasdoc.study.container.coldest_days import days_words
from gasdoc.units import System
from gasdoc.words import in_sentence

MOST_REFUSED = 6
"""How many of the containers that do not fit are listed; JSON has them all (our choice)."""


CHOSEN = ("container", "regulator", "tubing")
"""What a design is made of."""

LIMIT_WORDS = {
    "container-count": "number",
    "container-water-capacity": "water capacity of one",
    "container-fuel": "gas in all together",
}
"""What a region limits of a set of containers, in words."""


def choices_text(found: Choices, title: str, shown: System) -> str:
    """All choices, as plain lines."""
    return "\n".join(_lines(found, title, shown)) + "\n"


def _lines(found: Choices, title: str, shown: System) -> Iterator[str]:
    yield title
    yield from _asked(found)
    yield ""
    yield "DESIGNS"
    if not found.designs:
        yield "  none: see why below"
    names = {choice.id: choice for choice in found.containers}
    tubes = {choice.id: tube_words(choice) for choice in found.tubing}
    for design in found.designs:
        yield from _design(design, found, names[design.container], tubes[design.tubing], shown)
    yield ""
    yield "CONTAINERS"
    rows = [_container(choice, shown) for choice in found.containers if choice.fits is not False]
    if rows:
        yield from table(
            ("id", "carries the coldest day", "lasts, at the coldest", "one full", "filled and lifted"), rows
        )
    refused = [choice for choice in found.containers if choice.fits is False]
    for choice in refused[:MOST_REFUSED]:
        yield f"  not {choice.id}: {' '.join(why.text for why in choice.why_not)}"
    if len(refused) > MOST_REFUSED:
        yield f"  and {len(refused) - MOST_REFUSED} more that do not fit"
    yield ""
    yield "REGULATOR: what to ask for"
    for said in regulator_words(found.regulator):
        yield f"  {said.label}: {said.text.format(*(_said(each, shown) for each in said.values))}"
    yield "  Never turn one up to reach a pressure."
    if inlets_decide(found.regulator):
        yield from (f"  {line}" for line in inlet_lines(found, shown))
    yield ""
    yield "TUBING"
    fitting = side_by_side(found.tubing)
    noted = notes(fitting)
    rows = [_tubing(choice, noted, shown) for choice in fitting]
    if rows:
        yield from table(("id", "lost", "of", "joints", "to buy", "metal", "note"), rows)
    yield from (f"  ({number}) {text}" for text, number in noted.items())
    for tube in found.tubing:
        if tube.fits is False:
            yield f"  not {tube.id}: {' '.join(dict.fromkeys(why.text for why in tube.why_not))}"
    yield ""
    yield "CONNECTORS AND VALVES: at the least"
    for each in found.connectors:
        rating = f"{_shown(each.figures['rating'], 'load', shown)} of gross heat"
        gas = f"{(each.figures['gas'].value or 0.0) * 3600:.2f} kg/h of gas"
        yield f"  {each.name}: rated {rating}, or {gas}; {each.words}"
    yield ""
    yield "Sizes and weights marked 'from memory' in the JSON are not confirmed. What is stamped on a part rules."
    yield from found.designs[0].decides if found.designs else ()


def _asked(found: Choices) -> Iterator[str]:
    if found.open:
        yield f"Still to be chosen: {', '.join(found.open)}. Nothing below is bought, fitted or judged."
        if stated := [part for part in CHOSEN if part not in found.open]:
            yield f"Stated in the spec: {in_sentence(stated)}. A design that is taken leaves that as it is, whatever is named for it here."
    if found.wishes:
        yield f"Wished: {'; '.join(found.wishes)}."
    if found.burning:
        yield f"  At full flame on the coldest day: {burning_words(found)}."
    yield from (f"  {assumed_words(assumed)}" for assumed in found.assumed)


def _design(design: Design, found: Choices, container: ContainerChoice, tube: str, shown: System) -> Iterator[str]:
    yield f"  {design.id}: {good_for(design)}"
    if not design.connectors or design.picked == Picked():
        yield from (f"    open       {why.text}" for why in design.why_not if why.open)
        return
    yield f"    container  {container.name}, {container.way}; {container.handled}"
    yield f"    lift       {_shown(design.figures['lift'], 'weight', shown) if container.lift is not None else 'nothing'}"
    if container.gate is not None:
        yield f"    lasts      at the coldest {lasting(container)}"
        yield f"    fill       carries the coldest day {carrying(container.gate)}"
    yield f"    regulator  {found.regulator.words}{', with two inlets' if container.two_inlets else ''}"
    yield f"    tubing     {tube}"
    yield f"    cost       {cost_words(design, found.currency)}"
    if container.limits:
        yield f"    limits     {limit_words(container, shown)}"
    for why in design.why_not:
        yield f"    {'open' if why.open else 'but'}       {why.text}"
    yield from (f"    otherwise  {change_words(change)}" for change in design.changes)


def burning_words(found: Choices) -> str:
    """How long the appliances are taken to burn; a word with the hours it stands for."""
    return "; ".join(
        f"{each.name} {each.stated}" + ("" if each.stated[:1].isdigit() else f", {each.time / 3600:g} h")
        for each in found.burning
    )


def assumed_words(each: Assumed) -> str:
    """A value that a plan leaves open: the question, what is taken, and what another value would change."""
    if each.other is None:
        return f"{each.ask} Until then this is taken: {each.taken}. {each.hangs}"
    first, other = each.first or "none fits", each.other_first or "none fits"
    change = f"First comes with this: {first}. With {each.other}: {other if other != first else 'the same'}."
    return f"{each.ask} Until then this is taken: {each.taken}. {each.hangs} {change}"


def good_for(design: Design) -> str:
    """What a design is good for, with what else it is."""
    return "; also ".join((design.good_for, *(GOOD_FOR[name] for name in design.best_in)))


def cost_words(design: Design, currency: str) -> str:
    """What container, regulator and tube of a design cost, or which prices lack."""
    cost = design.figures["cost"].value
    if cost is not None:
        return f"{cost:.0f} {currency} for container, regulator and tube. Fittings come on top"
    return (
        f"not known. Write prices for {', '.join(design.unpriced)} into prices.yaml" if design.unpriced else "not known"
    )


def change_words(change: OtherContainer) -> str:
    """What one thing that is otherwise would change."""
    return f"{change.words}: {'the same container' if change.same else change.container or 'nothing fits'}"


def limit_words(choice: ContainerChoice, shown: System) -> str:
    """The limits of the region that a set keeps, each with what it has of it."""
    kinds = {"container-water-capacity": "liquid volume", "container-fuel": "weight"}
    return "; ".join(
        f"{LIMIT_WORDS[kept.measure]} {units.show(kept.value, kinds[kept.measure], shown)} of at most "
        f"{units.show(kept.limit, kinds[kept.measure], shown)}"
        if kept.measure in kinds
        else f"{LIMIT_WORDS[kept.measure]} {kept.value:.0f} of at most {kept.limit:.0f}"
        for kept in choice.limits
    )


def _container(choice: ContainerChoice, shown: System) -> tuple[str, ...]:
    return (
        choice.id,
        carrying(choice.gate) if choice.gate is not None else "",
        lasting(choice),
        _shown(choice.figures["one_full"], "weight", shown),
        f"{choice.handled}{'; you have it' if choice.owned else ''}",
    )


def carrying(end: Enough) -> str:
    """Down to what fill a set carries the coldest day."""
    if end.to_fill is None:
        return "short, even full"
    return "only when full" if end.to_fill == 1.0 else f"down to {fill_words(end.to_fill)}"


def lasting(choice: ContainerChoice) -> str:
    """How many of the coldest days a full supply lasts, on still nights too, and whether those fall behind what is asked."""
    gate, still = choice.gate, choice.still
    if gate is None:
        return "not worked out"
    said = days_words(gate.days, gate.at_least)
    if still is not None and gate.heat != "still":
        if still.to_fill is None:
            said += ", without wind short, even full"
        elif still.days < gate.days - 0.05 or still.at_least != gate.at_least:
            said += f", without wind {days_words(still.days, still.at_least).removeprefix('about ')}"
            if not still.at_least and still.days < choice.asked_days * (1 - 1e-9):
                said += f", less than the {days_words(choice.asked_days).removeprefix('about ')} asked"
    for part in choice.year:
        said += f", {part.name} {days_words(part.days, part.at_least).removeprefix('about ')}"
    return said


class RegulatorLine(Struct, frozen=True):
    """A line about the regulator: its label, and its text with places for what is said; each a quantity with its kind, or text."""

    label: str
    text: str
    values: tuple[tuple[float, str] | str, ...]


def regulator_words(regulator: RegulatorChoice) -> Iterator[RegulatorLine]:
    """What to ask for in a shop."""
    figures = {name: figure.value for name, figure in regulator.figures.items()}
    outlet, lock_up, inlet, coldest = (figures[name] for name in ("outlet", "lock_up", "inlet", "coldest"))
    yield RegulatorLine("Kind", "{}{}", (regulator.words, ", with two inlets" if regulator.two_inlets else ""))
    if outlet is not None:
        yield RegulatorLine("Outlet", "{}: {}", ((outlet, "pressure"), regulator.outlet_from))
    if inlet is not None:
        yield RegulatorLine("Rated from", "an inlet of {} or less", ((inlet, "container pressure"),))
    size = figures["usual_size"]
    for end in ("", "_other"):
        load, mass, next_size = (figures[f"{name}{end}"] for name in ("capacity", "gas", "usual_size"))
        if load is None or mass is None:
            continue
        larger = next_size is not None and (not end or next_size != size)
        told = f", the next usual size is {next_size * 3600:g} kg/h" if larger and next_size is not None else ""
        yield RegulatorLine(
            "Capacity, at the least" if not end else "Capacity, if the plates count the other heat",
            "{} of gross heat, or {} kg/h of gas{}{}",
            ((load, "load"), f"{mass * 3600:.2f}", told, f" ({regulator.basis})" if not end else ""),
        )
    if lock_up is not None:
        yield RegulatorLine("With nothing burning", "at most {}: {}", ((lock_up, "pressure"), regulator.lock_up_from))
    else:
        yield RegulatorLine("With nothing burning", "at most {}", (regulator.lock_up_from,))
    yield RegulatorLine("Protection", "{}", (regulator.protection,))
    if coldest is not None:
        yield RegulatorLine("Temperature", "for use at {}. {}", ((coldest, "temperature"), regulator.cold))
    yield RegulatorLine("Container side", "{}", (regulator.container_side,))
    yield RegulatorLine("Line side", "{}", (regulator.line_side,))


def inlet_lines(found: Choices, shown: System) -> Iterator[str]:
    """What another lowest inlet would change, line by line."""
    for inlet in found.regulator.inlets:
        pressure = units.show(inlet.inlet, "container pressure", shown)
        if inlet.floor is None:
            yield f"rated from {pressure}: the gas never has it"
            continue
        first = next((c for c in found.containers if c.id == inlet.first), None)
        words = f"{first.name}, {first.way}, comes first" if first is not None else "no container is enough"
        yield f"rated from {pressure}: works with liquid above {units.show(inlet.floor, 'temperature', shown)}, and {words}"


def side_by_side(choices: Sequence[TubingChoice]) -> list[TubingChoice]:
    """The tubing to look at: what may have to be asked about in one size only."""
    return [c for c in choices if c.fits is not False and (c.permission.answer == "allowed" or c.goal == "one-size")]


def notes(choices: Iterable[TubingChoice]) -> dict[str, int]:
    """The reasons of several choices, each once, with its number."""
    texts = dict.fromkeys(why.text for choice in choices for why in choice.why_not)
    return {text: number for number, text in enumerate(texts, 1)}


def _tubing(choice: TubingChoice, noted: dict[str, int], shown: System) -> tuple[str, ...]:
    figures = choice.figures
    allowed = figures["allowed"].value or 0.0
    kind = units.drop_kind(allowed * 20, shown)
    stock = ", ".join(f"{count} x {name}" for name, count in choice.stock)
    joints = figures["joints"].value
    return (
        choice.id,
        _shown(figures["lost"], kind, shown),
        _shown(figures["allowed"], kind, shown),
        f"{joints:.0f}" if joints is not None else "not known",
        stock or "not known",
        _shown(figures["metal"], "weight", shown),
        " ".join(f"({noted[text]})" for text in dict.fromkeys(why.text for why in choice.why_not)),
    )


def tube_words(choice: TubingChoice) -> str:
    """A choice of tubing with its sizes."""
    sizes = dict.fromkeys(size for _, size in choice.sizes)
    return f"{choice.material}, {choice.words}: {', '.join(sizes)}"


def _said(value: tuple[float, str] | str, shown: System) -> str:
    if isinstance(value, str):
        return value
    size, kind = value
    return units.show(size, units.pressure_kind(size, shown) if kind == "pressure" else kind, shown)


def _shown(figure: Figure, kind: str, shown: System) -> str:
    return "not known" if figure.value is None else units.show(figure.value, kind, shown)


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Rows under their heads, each column as wide as its widest cell."""
    wide = [max(len(row[i]) for row in (heads, *rows)) for i in range(len(heads))]
    for row in (heads, *rows):
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip()
