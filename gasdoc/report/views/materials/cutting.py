"""The cutting plan as bars: one bar a coil or length with its pieces in order, and the same as a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from gasdoc.engineering.materials.cutting import Cut, CuttingPlan, NoPlan
from gasdoc.report.chart import BarAmount, BarChart, BarPart, bar_chart
from gasdoc.report.words import Quantities
from gasdoc.study import Study
from gasdoc.study.materials.cutting import SHELF, Lengths, piece_words


def figures(study: Study, q: Quantities) -> list[dict[str, Any]]:
    """One entry a tubing: its figure (None without a plan), rows of the table, and how it was planned."""
    return [_entry(k, tubing, q, study.build.labels) for k, tubing in enumerate(study.lengths)]


def _entry(k: int, tubing: Lengths, q: Quantities, called: Mapping[str, str]) -> dict[str, Any]:
    plan = tubing.plan
    numbers = {piece.id: i + 1 for i, piece in enumerate(tubing.pieces)}
    made: dict[str, Any] = {"told": [], "figure": None, "rows": [], "result": "", "by": ""}
    if isinstance(plan, CuttingPlan):
        made = {
            "told": [_told(tubing, cut, numbers, q, called) for cut in plan.cuts],
            "figure": _figure(k, tubing, plan, numbers, q, called),
            "rows": list(_rows(tubing, plan, numbers, q, called)),
            "result": plan.result,
            "by": plan.by,
        }
    return made | {
        "name": tubing.name,
        "reason": plan.reason if isinstance(plan, NoPlan) else "",
        "allowance": tubing.allowance,
        "net": tubing.net,
        "gross": tubing.gross,
        "form": "coil" if tubing.coil else "length",
        "rigid": not tubing.coil,
    }


def _figure(
    k: int, tubing: Lengths, plan: CuttingPlan, numbers: dict[str, int], q: Quantities, called: Mapping[str, str]
) -> BarChart:
    lengths = {piece.id: piece.length for piece in tubing.pieces}
    amounts = [
        BarAmount(
            _stock(tubing, cut.stock, q),
            f"{_plain(q, cut.left)} left",
            tuple(BarPart(lengths[name], str(numbers[name])) for name in cut.pieces),
            tubing.length(cut.stock),
        )
        for cut in plan.cuts
    ]
    said = "; ".join(
        f"{amount.label}: {', '.join(f'{numbers[name]} {piece_words(name, called)}' for name in cut.pieces)}, {amount.words}"
        for amount, cut in zip(amounts, plan.cuts, strict=True)
    )
    return bar_chart(f"cut-{k + 1}", f"Cutting plan, {tubing.name}", said, amounts)


def _rows(
    tubing: Lengths, plan: CuttingPlan, numbers: dict[str, int], q: Quantities, called: Mapping[str, str]
) -> Iterator[list[Any]]:
    lengths = {piece.id: piece.length for piece in tubing.pieces}
    for cut in plan.cuts:
        for name in cut.pieces:
            yield [
                str(numbers[name]),
                piece_words(name, called),
                q.number(lengths[name], "run length"),
                _stock(tubing, cut.stock, q),
            ]
        yield ["", "left over", q.number(cut.left, "run length"), _stock(tubing, cut.stock, q)]


def _told(tubing: Lengths, cut: Cut, numbers: dict[str, int], q: Quantities, called: Mapping[str, str]) -> str:
    """One coil in words: its pieces by number, name and length."""
    lengths = {piece.id: piece.length for piece in tubing.pieces}
    pieces = ", ".join(f"{numbers[name]} {piece_words(name, called)} {_plain(q, lengths[name])}" for name in cut.pieces)
    return f"From the {_stock(tubing, cut.stock, q)}: {pieces}; {_plain(q, cut.left)} left."


def _stock(tubing: Lengths, stock: str, q: Quantities) -> str:
    if stock.startswith(SHELF):
        return f"{_plain(q, tubing.length(stock))} {SHELF}"
    return f"{'coil' if tubing.coil else 'length'} of {stock}"


def _plain(q: Quantities, metres: float) -> str:
    return f"{q.number(metres, 'run length')} {q.unit('run length')}"
