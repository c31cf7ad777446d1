"""The choices of a build as short tables of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.choices.assumed import Assumed
from gasdoc.choices.choices import Choices, Design
from gasdoc.choices.containers import ContainerChoice, Enough
from gasdoc.choices.entries import Figure
from gasdoc.choices.tubing import TubingChoice
from gasdoc.study.container.cold_day import fill_words
from gasdoc.study.container.coldest_days import days_words
from gasdoc.units import System

MOST_REFUSED = 6
"""How many of the containers that do not fit are listed; JSON has them all (our choice)."""


def choices_text(found: Choices, title: str, shown: System) -> str:
    """All choices, as plain lines."""
    return "\n".join(_lines(found, title, shown)) + "\n"


def _lines(found: Choices, title: str, shown: System) -> Iterator[str]:
    yield title
    if found.open:
        yield f"Still to be chosen: {', '.join(found.open)}. Nothing below is bought, fitted or judged."
    if found.burning:
        yield f"  At full flame on the coldest day: {burning_words(found)}."
    for assumed in found.assumed:
        yield f"  {assumed_words(assumed)}"
    yield ""
    yield "DESIGNS"
    if not found.designs:
        yield "  none: see why below"
    names = {choice.id: choice.name for choice in found.containers}
    tubes = {choice.id: tube_words(choice) for choice in found.tubing}
    for design in found.designs:
        yield from _design(design, found, names, tubes)
    yield ""
    yield "CONTAINERS"
    rows = [_container(choice, shown) for choice in found.containers if choice.fits is not False]
    yield from table(("id", "coldest day", "lasts", "still night", "one full", "filled"), rows)
    refused = [choice for choice in found.containers if choice.fits is False]
    for choice in refused[:MOST_REFUSED]:
        yield f"  not {choice.id}: {' '.join(why.text for why in choice.why_not)}"
    if len(refused) > MOST_REFUSED:
        yield f"  and {len(refused) - MOST_REFUSED} more that do not fit"
    yield ""
    yield "REGULATOR: what to ask for"
    yield from _regulator(found, shown)
    yield ""
    yield "TUBING"
    rows = [_tubing(choice, shown) for choice in found.tubing if choice.fits is not False]
    yield from table(("id", "lost", "of", "joints", "to buy", "metal", "note"), rows)
    for tube in found.tubing:
        if tube.fits is False:
            yield f"  not {tube.id}: {' '.join(dict.fromkeys(why.text for why in tube.why_not))}"
    yield ""
    yield "CONNECTORS: at the least"
    for each in found.connectors:
        size = each.size or "not known; read it off the appliance"
        yield f"  {each.name}: rated {_shown(each.figures['rating'], 'load', shown)}; inlet {size}"
    yield ""
    yield "Sizes and weights marked 'from memory' in the JSON are not confirmed; what is stamped on a part rules."
    yield from found.designs[0].decides if found.designs else ()


def burning_words(found: Choices) -> str:
    """How long the appliances are taken to burn; a word with the hours it stands for."""
    return "; ".join(
        f"{each.name} {each.stated}" + ("" if each.stated[:1].isdigit() else f", {each.time / 3600:g} h")
        for each in found.burning
    )


def assumed_words(each: Assumed) -> str:
    """A value that a plan leaves open: the question, what is taken, and what another value would change."""
    first, other = each.first or "no container", each.other_first or "no container"
    change = (
        f"With {each.other} the same container comes first."
        if first == other
        else f"With this comes first: {first}. With {each.other}: {other}."
    )
    return f"{each.ask} Until then this is taken: {each.taken}. {each.hangs} {change}"


def _design(design: Design, found: Choices, names: dict[str, str], tubes: dict[str, str]) -> Iterator[str]:
    container = next(choice for choice in found.containers if choice.id == design.container)
    yield f"  {design.id}: {design.good_for}"
    yield f"    container  {names[design.container]}, {container.way}; {container.handled}"
    if container.gate is not None:
        yield f"    lasts      {lasting(container.gate)} of the coldest days; {carrying(container.gate)}"
    yield f"    tubing     {tubes[design.tubing]}"
    for why in design.why_not:
        yield f"    {'open' if why.open else 'but'}       {why.text}"


def _container(choice: ContainerChoice, shown: System) -> tuple[str, ...]:
    gate, still = choice.gate, choice.still
    return (
        choice.id,
        carrying(gate) if gate is not None else "",
        lasting(gate) if gate is not None else "",
        (lasting(still) if still.to_fill is not None else "short, even full") if still is not None else "",
        _shown(choice.figures["one_full"], "weight", shown),
        choice.handled,
    )


def carrying(end: Enough) -> str:
    """Down to what fill a set carries the coldest day."""
    return "short, even full" if end.to_fill is None else f"carried {fill_words(end.to_fill)}"


def lasting(end: Enough) -> str:
    """How many of the coldest days a full supply lasts."""
    return days_words(end.days, end.at_least)


def _regulator(found: Choices, shown: System) -> Iterator[str]:
    regulator = found.regulator
    figures = regulator.figures
    outlet = figures["outlet"].value or 0.0
    yield f"  {regulator.words}{', with two inlets' if regulator.two_inlets else ''}"
    yield f"  outlet {units.show(outlet, units.pressure_kind(outlet, shown), shown)}; never turn one up to reach it"
    gas = figures["gas"].value or 0.0
    yield f"  for at least {_shown(figures['capacity'], 'load', shown)} of gross heat, {gas * 3600:.2f} kg/h of gas"
    yield f"  container side: {regulator.container_side}; line side: {regulator.line_side}"
    for inlet in regulator.inlets:
        first = inlet.first or "no container"
        floor = (
            f"works above {units.show(inlet.floor, 'temperature', shown)}" if inlet.floor is not None else "never works"
        )
        yield f"  rated from {units.show(inlet.inlet, 'container pressure', shown)}: {floor}; first would be {first}"


def _tubing(choice: TubingChoice, shown: System) -> tuple[str, ...]:
    figures = choice.figures
    notes = "; ".join(why.text for why in choice.why_not)
    allowed = figures["allowed"].value or 0.0
    kind = units.drop_kind(allowed * 20, shown)
    stock = ", ".join(f"{count} x {name}" for name, count in choice.stock)
    return (
        choice.id,
        _shown(figures["lost"], kind, shown),
        _shown(figures["allowed"], kind, shown),
        f"{figures['joints'].value:.0f}",
        stock,
        _shown(figures["metal"], "weight", shown),
        notes,
    )


def tube_words(choice: TubingChoice) -> str:
    """A choice of tubing with its sizes."""
    sizes = dict.fromkeys(size for _, size in choice.sizes)
    return f"{choice.material}, {choice.words}: {', '.join(sizes)}"


def _shown(figure: Figure, kind: str, shown: System) -> str:
    return "not known" if figure.value is None else units.show(figure.value, kind, shown)


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Rows under their heads, each column as wide as its widest cell."""
    wide = [max(len(row[i]) for row in (heads, *rows)) for i in range(len(heads))]
    for row in (heads, *rows):
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip()
