"""Builds side by side: one row for each thing that one build has over another, a column for each build."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct

from gasdoc.choices.tubing import metal_weight
from gasdoc.engineering.materials.cutting import CuttingPlan
from gasdoc.folder.compare import Amount, Comparison, Value, compare, lasting
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.answers import least_pressure
from gasdoc.study.container.coldest_days import usable
from gasdoc.study.materials.shopping import Buy, Shopping

PAIR = 2
"""Builds of which it is said what differs."""


class ComparedRow(Struct, frozen=True):
    """One row: what it is about, and the value of each build in the order of the columns; null where it is not known."""

    id: str
    name: str
    values: tuple[Value, ...]


class SideBySide(Struct, frozen=True):
    """Builds as columns of one table. `difference` is what differs between two, first to second; None of more."""

    studies: tuple[Study, ...]
    rows: tuple[ComparedRow, ...]
    difference: Comparison | None


NOTHING = "nothing"
"""The value of a build in which nothing is open."""

NAMES = {
    "region": "Rules of",
    "coldest": "Coldest air",
    "load": "All appliances at once",
    "open": "Still to be chosen. The first design stands in",
    "container": "Container",
    "one-full": "One container, full",
    "all-full": "All containers, full",
    "gas": "Gas when full",
    "cold-day": "On the coldest day",
    "days": "Lasts, on the coldest days",
    "days-still": "Lasts, on the coldest days without wind",
    "days-contents": "Lasts, by its contents",
    "regulator": "Regulator",
    "tubing": "Tubing",
    "bought": "Tubing to buy",
    "metal": "Weight of the tubing in place",
    "joints": "Joints",
    "not-closed": "Connections not closed",
    "least-pressure": "Least pressure at an appliance, everything on",
    "least-at": "Which appliance that is",
    "gas-there": "Does the gas get there",
    "cost-differs": "Cost of the lines that differ",
    "cost-shared": "Cost of the lines that all buy with a price",
    "cost-all": "Cost of everything",
    "errors": "Errors found",
    "warnings": "Warnings found",
    "standing": "How far it is",
}
"""The rows in their order, in words."""


def side_by_side(*studies: Study) -> SideBySide:
    """The table of these builds; a row without any value is left out."""
    columns = [dict(_of_one(study)) for study in studies]
    found = {key: ComparedRow(key, NAMES[key], tuple(column.get(key) for column in columns)) for key in NAMES}
    found |= {row.id: row for row in _costs(studies)}
    rows = (found[key] for key in NAMES)
    known = tuple(row for row in rows if any(value not in (None, NOTHING) for value in row.values))
    return SideBySide(studies, known, compare(*studies) if len(studies) == PAIR else None)


_WAYS = {"changeover": ", one after another", "parallel": ", together", None: ""}


def _of_one(study: Study) -> Iterator[tuple[str, Value]]:
    """What one build has in each row but those of cost."""
    build, held = study.build, study.container
    spec = build.spec
    one = held.shape.heavy + held.heaviest_fuel
    yield "region", build.region.title
    if spec.coldest is not None:
        yield "coldest", Amount(float(spec.coldest), "temperature")
    yield "load", Amount(study.load, "load")
    yield "open", ", ".join(build.open) or NOTHING
    number = f"{held.number} x " if held.number > 1 else ""
    yield "container", f"{number}{held.name}{_WAYS[spec.container.manifold] if held.number > 1 else ''}"
    yield "one-full", Amount(one, "weight")
    yield "all-full", Amount(one * held.number, "weight")
    yield "gas", Amount(held.fuel_mass * held.number, "weight")
    yield "cold-day", study.answers.cold_night.word
    yield "days", lasting(study.usable)
    yield "days-still", lasting(usable(build, study.cold, "still"))
    if held.days is not None:
        yield "days-contents", Amount(held.days, "days")
    yield "regulator", "; ".join(i.name for i in study.materials if i.key.startswith("regulator:"))
    runs = [*study.lines.values()]
    yield "tubing", "; ".join(dict.fromkeys(r.size.in_letter if r.size else f"{r.material}, no size" for r in runs))
    plans = [lengths.plan for lengths in study.lengths]
    cut = [plan.bought_length for plan in plans if isinstance(plan, CuttingPlan)]
    yield "bought", Amount(sum(cut), "run length") if len(cut) == len(plans) else None
    metal = metal_weight(study.zones)
    yield "metal", Amount(metal, "weight") if metal is not None else None
    closed = [chain for _, chain in study.fittings.chains()]
    yield "joints", Amount(sum(len(chain.joints) for chain in closed), "pieces")
    yield "not-closed", Amount(len(study.fittings.joined) - len(closed), "pieces")
    if (least := least_pressure(study.zones)) is not None:
        yield "least-pressure", Amount(least.full, "supply pressure")
        yield "least-at", least.name
    yield "gas-there", study.answers.gas_gets_there.word
    for key, severity in (("errors", Severity.ERROR), ("warnings", Severity.WARNING)):
        yield key, Amount(sum(finding.severity is severity for finding in study.said), "pieces")
    yield "standing", study.standing.word


def _costs(studies: Sequence[Study]) -> Iterator[ComparedRow]:
    """What the lines cost that differ, those that all buy and have a price for, and all of them.

    Sums over different lines say nothing beside each other: a part without a price looks as if it were cheaper.
    """
    shopping = [study.shopping for study in studies]
    currencies = {each.currency for each in shopping}
    if currencies == {None}:
        return
    if len(currencies) == 1:
        lists = [{line.key: line for line in each.to_buy} for each in shopping]
        everywhere = set.intersection(*(set(each) for each in lists))
        alike = {key for key in everywhere if len({each[key].packs for each in lists}) == 1}
        priced = {key for key in everywhere if all(each[key].low is not None for each in lists)}
        if any(each.keys() - alike for each in lists):
            yield _cost("cost-differs", shopping, lambda line: line.key not in alike)
        if priced:
            yield _cost("cost-shared", shopping, lambda line: line.key in priced)
    yield _cost("cost-all", shopping, lambda line: True)


def _cost(key: str, shopping: Sequence[Shopping], counted: Callable[[Buy], bool]) -> ComparedRow:
    """What some lines cost, half way between low and high; in words how many prices are missing."""
    values: list[Value] = []
    for each in shopping:
        lines = [line for line in each.to_buy if counted(line)]
        prices = [(line.low + line.high) / 2 for line in lines if line.low is not None and line.high is not None]
        if each.currency is None:
            values.append("not known: no prices are stated")
        elif len(prices) < len(lines):
            missing = len(lines) - len(prices)
            values.append(f"not known: {missing} of {len(lines)} lines {'have' if missing > 1 else 'has'} no price")
        else:
            values.append(Amount(sum(prices), each.currency))
    return ComparedRow(key, NAMES[key], tuple(values))
