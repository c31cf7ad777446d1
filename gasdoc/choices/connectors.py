"""What joins each appliance to its line, at the least."""

from __future__ import annotations

from gasdoc.choices.entries import Choice, Figure, Why, fits
from gasdoc.study.facts import Served


class ConnectorChoice(Choice, frozen=True):
    """The least of what joins one appliance, connector and valve: its rating and its size, never below the appliance's own
    inlet. `words` say what to ask for."""

    name: str
    size: str | None
    words: str


def connector(s: Served) -> ConnectorChoice:
    """What joins one appliance at the least."""
    reasons = []
    size = s.appliance.inlet_thread
    if size is None:
        text = f"The inlet of {s.appliance.name} is not stated: its connector and its valve are never smaller."
        reasons.append(Why("size-open", text, open=True))
    at = size or "the size of its inlet"
    return ConnectorChoice(
        id=s.id,
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures={"rating": Figure(s.load, "W", "computed"), "gas": Figure(s.mass, "kg/s", "computed")},
        sources=(),
        name=s.appliance.name,
        size=size,
        words=f"a shut-off valve and a connector, or a rigid tail, both of {at} or larger",
    )
