"""Builds side by side: one row for each thing that one build has over another, a column for each build."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from gasdoc.choices.tubing import metal_weight
from gasdoc.engineering.materials.cutting import CuttingPlan
from gasdoc.folder.compare import Amount, Comparison, Value, compare, lasting
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.answers import least_pressure
from gasdoc.study.container.coldest_days import usable

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


NAMES = {
    "region": "Rules of",
    "coldest": "Coldest air",
    "load": "All appliances at once",
    "open": "Still to be chosen; the first design stands in",
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
    "cost-low": "Lines priced in all of them, low end",
    "cost-high": "Lines priced in all of them, high end",
    "cost-lines": "Lines that sum leaves out",
    "cost-all": "Everything to buy",
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
    known = tuple(row for row in rows if any(value is not None for value in row.values))
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
    yield "open", ", ".join(build.open) or None
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
    runs = [run for zone in study.zones for run in zone.runs]
    yield "tubing", "; ".join(dict.fromkeys(r.size.in_letter if r.size else f"{r.material}, no size" for r in runs))
    plans = [lengths.plan for lengths in study.lengths]
    cut = [plan.bought_length for plan in plans if isinstance(plan, CuttingPlan)]
    yield "bought", Amount(sum(cut), "run length") if len(cut) == len(plans) else None
    metal = metal_weight(study.zones)
    yield "metal", Amount(metal, "weight") if metal is not None else None
    joints = sum(len(chain.joints) for _, chain in study.fittings.chains())
    yield "joints", Amount(joints, "pieces")
    yield "not-closed", Amount(len(study.fittings.joined) - sum(1 for _ in study.fittings.chains()), "pieces")
    if (least := least_pressure(study.zones)) is not None:
        yield "least-pressure", Amount(least.full, "supply pressure")
        yield "least-at", least.name
    yield "gas-there", study.answers.gas_gets_there.word
    for key, severity in (("errors", Severity.ERROR), ("warnings", Severity.WARNING)):
        yield key, Amount(sum(finding.severity is severity for finding in study.findings), "pieces")
    yield "standing", study.standing.word


def _costs(studies: Sequence[Study]) -> Iterator[ComparedRow]:
    """What the lines cost that every build has to buy and has a price for; and what everything costs, where all is priced.

    Sums over different lines say nothing beside each other: a part without a price looks as if it were cheaper.
    """
    currencies = {study.shopping.currency for study in studies}
    if len(currencies) == 1 and (currency := next(iter(currencies))) is not None:
        lists = [{line.key: line for line in study.shopping.to_buy} for study in studies]
        shared = set.intersection(*({key for key, line in each.items() if line.low is not None} for each in lists))
        ends = [[(line.low or 0.0, line.high or 0.0) for key, line in each.items() if key in shared] for each in lists]
        low, high = (tuple(Amount(sum(end[i] for end in each), currency) for each in ends) for i in (0, 1))
        if shared and low == high:
            yield ComparedRow("cost-low", "Lines priced in all of them", low)
        elif shared:
            yield ComparedRow("cost-low", NAMES["cost-low"], low)
            yield ComparedRow("cost-high", NAMES["cost-high"], high)
        left_out = tuple(Amount(len(each.keys() - shared), "pieces") for each in lists)
        yield ComparedRow("cost-lines", NAMES["cost-lines"], left_out)
    if currencies != {None}:
        yield ComparedRow("cost-all", NAMES["cost-all"], tuple(map(_whole, studies)))


def _whole(study: Study) -> Value:
    """What everything to buy costs, half way between low and high; in words how many prices are missing."""
    found = study.shopping
    if found.currency is None:
        return "not known: no prices are stated"
    if found.unknown:
        return f"not known: {found.unknown} line{'s' if found.unknown > 1 else ''} without a price"
    return Amount((found.low + found.high) / 2, found.currency)
