"""What can be chosen for a build that leaves something open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from markupsafe import Markup

from gasdoc import units
from gasdoc.choices.choices import Choices, Design, RegulatorChoice
from gasdoc.choices.containers import ContainerChoice
from gasdoc.choices.entries import Figure, Why
from gasdoc.choices.tubing import TubingChoice
from gasdoc.report.choices_text import assumed_words, burning_words, carrying, lasting, tube_words
from gasdoc.report.words import NOT_KNOWN, Quantities
from gasdoc.study import Study
from gasdoc.study.facts import system

FITS = {True: "yes", False: "no", None: "a figure is missing"}
"""Whether a choice keeps to what is asked, in words."""

FROM_MEMORY = {
    "lift": "weight to lift",
    "one_full": "weight full",
    "set_full": "weight of the set",
    "one_empty": "weight empty",
    "diameter": "diameter",
    "length": "length",
    "height": "height",
    "metal": "weight of the metal",
    "inlet": "lowest inlet",
    "usual_size": "usual size",
    "outlet": "outlet pressure",
}
"""Figures that can be from memory, in words."""


def view(study: Study, found: Choices) -> dict[str, Any]:
    """Designs side by side first, then what each of them is made of."""
    q = Quantities(system(study.build))
    spec = study.build.path
    take = {part: _command(spec, f"{part}=ID") for part in ("container", "tubing")}
    designs = [_design(design, found, spec, q) for design in found.designs]
    labels = list(designs[0]) if designs else []
    rows = [[label, *(design[label] for design in designs)] for label in labels]
    same = [row[:2] for row in rows if len(set(row[1:])) == 1]
    return {
        "open_keys": found.open,
        "burning": burning_words(found),
        "assumed": [assumed_words(each) for each in found.assumed],
        "design_heads": ["", *(design.id.replace("-", " ") for design in found.designs)],
        "design_rows": [row for row in rows if row[:2] not in same],
        "same_rows": same,
        "decides": found.designs[0].decides if found.designs else (),
        "container_rows": [_container(choice, q) for choice in found.containers if choice.fits is not False],
        "refused_rows": [_refused(choice) for choice in found.containers if choice.fits is False],
        "regulator_rows": _regulator(found.regulator, q, spec, writes="regulator" in found.open),
        "inlet_rows": [
            [
                q(each.inlet, "container pressure"),
                q(each.floor, "temperature") if each.floor is not None else "at no temperature",
                _first(each.first, found.containers),
            ]
            for each in found.regulator.inlets
        ],
        "tubing_rows": [_tubing(choice, q) for choice in found.tubing],
        "connector_rows": [
            [each.name, q(each.figures["rating"].value, "load"), each.size or "read it off the appliance"]
            for each in found.connectors
        ],
        "take": take,
    }


def _command(spec: str, what: str) -> Markup:
    return Markup("<code>gasdoc choose {} --take {}</code>").format(spec, what)


def _design(design: Design, found: Choices, spec: str, q: Quantities) -> dict[str, Any]:
    """A design as its rows by their labels."""
    held = next(choice for choice in found.containers if choice.id == design.container)
    tube = next(choice for choice in found.tubing if choice.id == design.tubing)
    two = ", with two inlets" if found.regulator.two_inlets else ""
    lift = design.figures["lift"].value
    known = [f"{each.name} {each.size or 'from its plate'}" for each in found.connectors]
    memory = dict.fromkeys([*_memory(held.figures), *_memory(found.regulator.figures), *_memory(tube.figures)])
    return {
        "Good for": design.good_for,
        "Keeps to what is asked": FITS[design.fits],
        "Container": f"{held.name}, {held.way}",
        "Weight to lift": q(lift, "weight") if lift is not None else "nothing is lifted",
        "Who fills it": held.handled,
        "On the coldest day": carrying(held.gate) if held.gate is not None else NOT_KNOWN,
        "Lasts, at the coldest": lasting(held.gate) if held.gate is not None else NOT_KNOWN,
        "Lasts, without wind": _still(held),
        "Regulator": f"{found.regulator.words}{two}",
        "Tubing": tube_words(tube),
        "Connectors": "; ".join(known),
        "Cost of the tubing": _cost(design),
        "Against it": _reasons(design.why_not) or "nothing that was worked out",
        "Still open": "; ".join(design.open),
        "From memory": ", ".join(memory) or "nothing",
        "Take it": _command(spec, f"design={design.id}") if design.fits is not False else "not as it stands",
    }


def _noted(text: str, note: str) -> Markup:
    return Markup('{} <span class="note below">{}</span>').format(text, note) if note else Markup("{}").format(text)


def _still(choice: ContainerChoice) -> str:
    if choice.still is None:
        return NOT_KNOWN
    return lasting(choice.still) if choice.still.to_fill is not None else "short, even full"


def _cost(design: Design) -> str:
    cost = design.figures["cost"].value
    if cost is None or design.unpriced:
        return f"not known; no price for {', '.join(design.unpriced)}" if design.unpriced else NOT_KNOWN
    return f"{cost:.0f}"


def _reasons(reasons: Iterable[Why]) -> str:
    return " ".join(dict.fromkeys(why.text for why in reasons))


def _memory(figures: Mapping[str, Figure]) -> list[str]:
    """The figures that are known from memory only, in words."""
    return [
        FROM_MEMORY.get(name, name.replace("_", " "))
        for name, figure in figures.items()
        if figure.value is not None and figure.confirmed == "memory"
    ]


def _container(choice: ContainerChoice, q: Quantities) -> list[Any]:
    gate = choice.gate
    return [
        _noted(f"{choice.name}, {choice.way}", choice.id),
        _noted(FITS[choice.fits], _reasons(choice.why_not)),
        carrying(gate) if gate is not None else NOT_KNOWN,
        _noted(lasting(gate) if gate is not None else NOT_KNOWN, f"without wind: {_still(choice)}"),
        q(choice.figures["one_full"].value, "weight"),
        choice.handled,
        ", ".join(_memory(choice.figures)) or "nothing",
    ]


def _refused(choice: ContainerChoice) -> list[str]:
    return [f"{choice.name}, {choice.way}", _reasons(choice.why_not)]


def _first(name: str | None, containers: Iterable[ContainerChoice]) -> str:
    """A container that would come first, in words; its id where it is none of those listed."""
    return next((f"{each.name}, {each.way}" for each in containers if each.id == name), name or "none")


def _regulator(regulator: RegulatorChoice, q: Quantities, spec: str, *, writes: bool) -> list[tuple[str, Any]]:
    """What to ask for in a shop, as labels and texts."""
    figures = regulator.figures
    gas, size = figures["gas"].value or 0.0, figures["usual_size"].value
    return [
        ("Kind", f"{regulator.words}{', with two inlets' if regulator.two_inlets else ''}"),
        ("Outlet", q.pressure(figures["outlet"].value)),
        ("Lowest inlet", q(figures["inlet"].value, "container pressure")),
        (
            "Capacity, at the least",
            Markup("{}, or {} kg/h").format(q(figures["capacity"].value, "load"), f"{gas * 3600:.2f}"),
        ),
        *([("Usual size", f"{size * 3600:g} kg/h")] if size is not None else []),
        ("Container side", regulator.container_side),
        ("Line side", regulator.line_side),
        ("Keeps to what is asked", _noted(FITS[regulator.fits], _reasons(regulator.why_not))),
        ("From memory", ", ".join(_memory(figures)) or "nothing"),
        *([("Take it", _command(spec, f"regulator={regulator.id}"))] if writes else []),
    ]


def _tubing(choice: TubingChoice, q: Quantities) -> list[Any]:
    figures = choice.figures
    allowed = figures["allowed"].value or 0.0
    kind = units.drop_kind(allowed * 20, q.system)
    stock = ", ".join(f"{count} x {name}" for name, count in choice.stock)
    return [
        _noted(tube_words(choice), choice.id),
        _noted(FITS[choice.fits], _reasons(choice.why_not)),
        Markup("{} of {}").format(q(figures["lost"].value, kind), q(figures["allowed"].value, kind)),
        f"{joints:.0f}" if (joints := figures["joints"].value) is not None else NOT_KNOWN,
        stock or NOT_KNOWN,
        q(figures["metal"].value, "weight"),
        ", ".join(_memory(figures)) or "nothing",
    ]
