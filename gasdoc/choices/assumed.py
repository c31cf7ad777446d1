"""What a plan does not say and its choices hang on: what is taken instead, and what another value would change."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Outlet
from gasdoc.catalog.appliances import day
from gasdoc.engineering.supply.altitude import asked_share
from gasdoc.quantities import Second
from gasdoc.study.facts import Installation, Served, setting, system

HIGHER = {"us": "6,500 ft", "si": "2,000 m"}
"""The altitude that is shown beside sea level where a plan does not state its own (our choice)."""

LONGER = 2.0
"""How many times as long burners are taken to burn where the other value of their hours is shown (our choice)."""


class Assumed(Struct, frozen=True):
    """A value that decides and that the spec does not state: what is `taken` instead, in words, and the container that comes
    first with it; the `other` value that is tried, and what comes first then. `ask` is what to add, `hangs` what hangs on it,
    with the other value in it where no container is compared.
    """

    key: str
    taken: str
    ask: str
    hangs: str
    first: str | None = None
    other: str | None = None
    other_first: str | None = None


class Burning(Struct, frozen=True):
    """How long an appliance burns at full input on the coldest day: as the spec has it, and the time it is taken for."""

    name: str
    stated: str
    time: Second


def burning(build: Installation) -> Iterator[Burning]:
    """The appliances whose hours the spec states."""
    for served in build.served:
        use = served.appliance.daily_use
        if use is not None and use.dimension == "time":
            yield Burning(served.name, use.text, float(use))


def assumed(build: Installation, now: str | None, first: Callable[[Installation], str | None]) -> Iterator[Assumed]:
    """What decides and is not stated, what decides most first. `now` is the container that comes first with what is taken,
    `first` says which one does for another build."""
    practice, lasting, shown = build.region.practice, day().must_last, system(build)
    without = _without(build)
    if without:
        longer = with_assumed(build, hours=LONGER)
        hours = "; ".join(f"{s.name} {_hours(s):g} h, {day().kinds[s.appliance.kind].meaning}" for s in without)
        ask = "How long does each burn on the coldest day? Add 'daily_use:' to each appliance."
        yield Assumed("daily_use", hours, ask, "The container hangs on it.", now, "twice as long", first(longer))
    if setting(build) is None and "cabin" in build.region.settings:
        ask = f"What is it built into? Add 'setting:', one of {', '.join(build.region.settings)}."
        hangs = "What is sold for it, and what the region limits, hang on it."
        yield Assumed(
            "setting",
            "something that moves",
            ask,
            hangs,
            now,
            "a cabin",
            first(with_assumed(build, {"setting": "cabin"})),
        )
    if build.spec.coldest is None:
        air = practice.coldest
        otherwise = with_assumed(build, {"coldest": air.other})
        ask = "What is the coldest night it will be used in? Add 'coldest:'."
        hangs = "The container hangs on it, and the lowest inlet of the regulator."
        yield Assumed("coldest", air.value.text, ask, hangs, now, air.other.text, first(otherwise))
    if build.spec.container.must_last is None:
        container = build.spec.container.model_copy(update={"must_last": lasting.other})
        ask = "How long is a full supply to last? Add 'must_last:' under 'container:'."
        other = first(with_assumed(build, {"container": container}))
        yield Assumed(
            "must_last", lasting.value.text, ask, "The container hangs on it.", now, lasting.other.text, other
        )
    if build.spec.altitude is None:
        high = units.parse(HIGHER[units.base(shown)], "length")
        less = 1.0 - (asked_share(high) or 1.0)
        ask = "How high is the highest place it will be used at? Add 'altitude:'."
        hangs = (
            f"The jets of the burners hang on it. At {high.text} NFPA 54 asks {less * 100:.0f} % less input than the plates say, "
            "by jets that a licensed person changes."
        )
        yield Assumed("altitude", "sea level", ask, hangs)


def with_assumed(build: Installation, values: Mapping[str, Any] | None = None, hours: float = 1.0) -> Installation:
    """The build with assumed values where those that decide are not stated; its own where nothing is assumed.

    `values` are other values of keys of the spec; hours that are assumed are taken so many times.
    """
    changes = dict(values or {})
    if build.spec.coldest is None:
        changes.setdefault("coldest", build.region.practice.coldest.value)
    given = {s.id: units.parse(f"{min(_hours(s) * hours, 24.0):g} h", "time") for s in _without(build)}
    nodes = tuple(
        replace(node, part=_burning(node.part, given[node.id]))
        if node.id in given and isinstance(node.part, Outlet)
        else node
        for node in build.nodes
    )
    if not changes and not given:
        return build
    return replace(build, spec=build.spec.model_copy(update=changes), nodes=nodes)


def _without(build: Installation) -> list[Served]:
    """The appliances of which it is not stated how long they burn a day."""
    return [s for s in build.served if s.per_day is None]


def _hours(served: Served) -> float:
    return float(day().kinds[served.appliance.kind].hours) / 3600.0


def _burning(outlet: Outlet, use: units.Given) -> Outlet:
    appliance = outlet.appliance.model_copy(update={"daily_use": use})
    return outlet.model_copy(update={"appliance": appliance})
