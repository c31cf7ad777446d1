"""What can be chosen for a build that leaves something open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from markupsafe import Markup

from gasdoc import units
from gasdoc.choices.choices import Choices, Design
from gasdoc.choices.containers import ContainerChoice
from gasdoc.choices.entries import Figure, Why
from gasdoc.choices.filled import Picked
from gasdoc.choices.regulator import RegulatorChoice, inlets_decide
from gasdoc.choices.tubing import TubingChoice
from gasdoc.report.content.words import NOT_KNOWN, Quantities
from gasdoc.report.drawings.chart import BarAmount, BarPart, bar_chart
from gasdoc.report.formats.choices_text import (
    assumed_words,
    burning_words,
    carrying,
    change_words,
    cost_words,
    good_for,
    lasting,
    limit_words,
    notes,
    regulator_words,
    side_by_side,
    tube_words,
)
from gasdoc.study import Study
from gasdoc.study.container.cold_day import HEAT_WORDS

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
    "lock_up": "pressure with nothing burning",
    "usual_size_other": "usual size",
}
"""Figures that can be from memory, in words."""


def view(study: Study, found: Choices) -> dict[str, Any]:
    """Designs side by side first, then what each of them is made of."""
    q = Quantities.of(study.build)
    spec = study.build.path
    take = {part: _command(spec, f"{part}=ID") for part in ("container", "tubing")}
    told = [design for design in found.designs if design.picked != Picked()]
    designs = [_design(design, found, spec, q) for design in told]
    labels = list(designs[0]) if designs else []
    rows = [[label, *(design[label] for design in designs)] for label in labels]
    same = [row[:2] for row in rows if len(set(row[1:])) == 1]
    tubes = side_by_side(found.tubing)
    noted = notes(tubes)
    gates = [choice.gate for choice in found.containers if choice.gate is not None]
    return {
        "open_keys": found.open,
        "wished": found.wishes,
        "burning": burning_words(found),
        "assumed": [assumed_words(each) for each in found.assumed],
        "design_heads": ["Of each design", *(design.id.replace("-", " ").capitalize() for design in told)],
        "design_rows": [row for row in rows if row[:2] not in same],
        "same_rows": same,
        "without": [_reasons(design.why_not) for design in found.designs if design not in told],
        "decides": found.designs[0].decides if found.designs else (),
        "container_rows": [_container(choice, q) for choice in found.containers if choice.fits is not False],
        "refused_rows": [
            [f"{choice.name}, {choice.way}", _reasons(choice.why_not)]
            for choice in found.containers
            if choice.fits is False
        ],
        "regulator_rows": _regulator(found.regulator, q, spec, writes="regulator" in found.open),
        "inlet_rows": [
            [
                q(each.inlet, "container pressure"),
                q(each.floor, "temperature") if each.floor is not None else "at no temperature",
                _first(each.first, found.containers),
            ]
            for each in (found.regulator.inlets if inlets_decide(found.regulator) else ())
        ],
        "tubing_rows": [_tubing(choice, noted, q) for choice in tubes],
        "tubing_notes": [f"({number}) {text}" for text, number in noted.items()],
        "tubing_chart": _chart(tubes, q),
        "connector_rows": [
            [each.name, q(each.figures["rating"].value, "load"), each.size or "read it off the appliance", each.words]
            for each in found.connectors
        ],
        "take": take,
        "counted": HEAT_WORDS[gates[0].heat] if gates else "",
    }


def _command(spec: str, what: str) -> Markup:
    return Markup("<code>gasdoc choose {} --take {}</code>").format(spec, what)


def _design(design: Design, found: Choices, spec: str, q: Quantities) -> dict[str, Any]:
    """A design as its rows by their labels."""
    container = next(choice for choice in found.containers if choice.id == design.container)
    tube = next(choice for choice in found.tubing if choice.id == design.tubing)
    two = ", with two inlets" if container.two_inlets else ""
    lift = design.figures["lift"].value
    memory = dict.fromkeys([*_memory(container.figures), *_memory(found.regulator.figures), *_memory(tube.figures)])
    return {
        "Good for": good_for(design),
        "Keeps to what is asked": _fits(design.fits, design.why_not),
        "Container": f"{container.name}, {container.way}",
        "Weight to lift": q(lift, "weight") if lift is not None else "nothing is lifted",
        "Who fills it": container.handled,
        "Lasts, at the coldest": lasting(container),
        "Carries the coldest day": carrying(container.gate) if container.gate is not None else NOT_KNOWN,
        "Limits of the region": limit_words(container, q.system) or "none of its rules has one",
        "Regulator": f"{found.regulator.words}{two}",
        "Tubing": tube_words(tube),
        "Parts to buy": "; ".join(f"{count} x {name}" for name, count in design.parts),
        "Cost": cost_words(design, found.currency),
        "Against it": _reasons(design.why_not) or "nothing that was worked out",
        "What would change it": "; ".join(change_words(change) for change in design.changes) or "not worked out",
        "Still open": "; ".join(design.open),
        "From memory": ", ".join(memory) or "nothing",
        "Take it": _command(spec, f"design={design.id}") if design.fits is not False else "not as it stands",
    }


def _noted(text: str, note: str) -> Markup:
    return Markup('{} <span class="note below">{}</span>').format(text, note) if note else Markup("{}").format(text)


def _fits(fits: bool | None, reasons: Iterable[Why]) -> str:
    """Whether a choice fits, in words; what has to be asked about lacks no figure."""
    asking = {"ask-first", "over-trade-table"}
    return "ask first" if fits is None and any(why.code in asking for why in reasons) else FITS[fits]


def _reasons(reasons: Iterable[Why]) -> str:
    return " ".join(dict.fromkeys(why.text for why in reasons))


def _memory(figures: Mapping[str, Figure]) -> list[str]:
    """The figures that are known from memory only, in words."""
    return list(
        dict.fromkeys(
            FROM_MEMORY.get(name, name.replace("_", " "))
            for name, figure in figures.items()
            if figure.value is not None and figure.confirmed == "memory"
        )
    )


def _container(choice: ContainerChoice, q: Quantities) -> list[Any]:
    gate = choice.gate
    return [
        _noted(f"{choice.name}, {choice.way}", choice.id),
        _noted(_fits(choice.fits, choice.why_not), _reasons(choice.why_not)),
        lasting(choice),
        carrying(gate) if gate is not None else NOT_KNOWN,
        q(choice.figures["one_full"].value, "weight"),
        Markup("{} x {}").format(
            q(choice.figures["diameter"].value, "short length"), q(choice.figures["length"].value, "short length")
        ),
        f"{choice.handled}{'; you have it' if choice.owned else ''}",
        ", ".join(_memory(choice.figures)) or "nothing",
    ]


def _first(name: str | None, containers: Iterable[ContainerChoice]) -> str:
    """A container that would come first, in words; its id where it is none of those listed."""
    return next((f"{each.name}, {each.way}" for each in containers if each.id == name), name or "none")


def _regulator(regulator: RegulatorChoice, q: Quantities, spec: str, *, writes: bool) -> list[tuple[str, Any]]:
    """What to ask for in a shop, as labels and texts."""

    def said(value: tuple[float, str] | str) -> Any:
        if isinstance(value, str):
            return value
        return q.pressure(value[0]) if value[1] == "pressure" else q(*value)

    return [
        *((line.label, Markup(line.text).format(*map(said, line.values))) for line in regulator_words(regulator)),  # noqa: S704  # our own text
        ("Keeps to what is asked", _noted(FITS[regulator.fits], _reasons(regulator.why_not))),
        ("From memory", ", ".join(_memory(regulator.figures)) or "nothing"),
        *([("Take it", _command(spec, f"regulator={regulator.id}"))] if writes else []),
    ]


def _tubing(choice: TubingChoice, noted: Mapping[str, int], q: Quantities) -> list[Any]:
    figures = choice.figures
    allowed = figures["allowed"].value or 0.0
    kind = units.drop_kind(allowed * 20, q.system)
    stock = ", ".join(f"{count} x {name}" for name, count in choice.stock)
    numbers = " ".join(f"({noted[text]})" for text in dict.fromkeys(why.text for why in choice.why_not))
    return [
        _noted(tube_words(choice), choice.id),
        f"{_fits(choice.fits, choice.why_not)} {numbers}".strip(),
        Markup("{} of {}").format(q(figures["lost"].value, kind), q(figures["allowed"].value, kind)),
        f"{joints:.0f}" if (joints := figures["joints"].value) is not None else NOT_KNOWN,
        stock or NOT_KNOWN,
        q(figures["metal"].value, "weight"),
        ", ".join(_memory(figures)) or "nothing",
    ]


def _chart(choices: Sequence[TubingChoice], q: Quantities) -> Any:
    """The pressure that each tubing loses, beside what is allowed; None where it is of none known."""
    known = [(c, lost, c.figures["allowed"].value) for c in choices if (lost := c.figures["lost"].value) is not None]
    allowed = min((most for _, _, most in known if most is not None), default=None)
    if not known or allowed is None:
        return None
    kind = units.drop_kind(allowed * 20, q.system)
    amounts = []
    for choice, lost, _ in known:
        joints = choice.figures["joints"].value
        words = f"{units.show(lost, kind, q.system)}{f', {joints:.0f} joints' if joints is not None else ''}"
        amounts.append(BarAmount(choice.id, words, (BarPart(lost),)))
    said = "; ".join(f"{amount.label}: {amount.words}" for amount in amounts)
    limit = f"allowed: {units.show(allowed, kind, q.system)}"
    return bar_chart("tubing-lost", "Pressure lost to the appliance that loses most", said, amounts, allowed, limit)
