"""The shopping list of a build, on a sheet of its own, and the least cost of its tubing as an appendix."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from gasdoc.report.content.tables import to_csv
from gasdoc.report.content.words import Quantities
from gasdoc.study import Study
from gasdoc.study.materials.least_cost import MARGIN, Cheapest
from gasdoc.study.materials.shopping import Buy, by_group


def view(study: Study) -> dict[str, Any]:
    """The list by group with its sums."""
    q = Quantities.of(study.build)
    shop = study.shopping
    return {
        "shop": shop,
        "groups": {group: [_line(line, q, study) for line in lines] for group, lines in by_group(shop.to_buy).items()},
        "priced": shop.currency is not None,
        "there": [_line(line, q, study) for line in shop.lines if not line.packs],
        "if_needed": [_line(line, q, study) for line in shop.if_needed],
        "total": amount(shop.low, shop.high) if shop.currency is not None else None,
    }


def _line(line: Buy, q: Quantities, study: Study) -> dict[str, Any]:
    notes = (line.note if line.group != "tubing" else "", _for(line, study))
    return {
        "quantity": _quantity(line, q),
        "name": line.name,
        "key": line.key,
        "price": price(line),
        "note": "; ".join(filter(None, notes)),
        "shelf": _shelf(line, q),
    }


def _for(line: Buy, study: Study) -> str:
    """Where a fitting goes: the numbers of the joints that it closes, or what it is part of."""
    if line.joints:
        numbers = sorted(joint.number for joint in study.leak_test.joints if joint.id in line.joints)
        return f"joint{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
    if line.group != "fittings":
        return ""
    return ", ".join(study.build.labels.get(element, element) for element in line.where)


def _quantity(line: Buy, q: Quantities) -> str | Markup:
    """How much to buy: pieces, packs, or a length."""
    if not line.packs:
        return "0"
    if line.measured:
        whole = q(line.packs * line.pack, "run length")
        return whole if line.packs == 1 else Markup("{} × {}").format(line.packs, q(line.pack, "run length"))
    return str(line.packs) if line.pack == 1 else f"{line.packs} pack{'s' if line.packs > 1 else ''} of {line.pack:g}"


def _shelf(line: Buy, q: Quantities) -> str | Markup:
    if not line.on_shelf:
        return ""
    there = q(line.on_shelf, "run length") if line.measured else f"{line.on_shelf:g}"
    return Markup("{} on the shelf").format(there)


def price(line: Buy) -> str:
    """The price of a line in words."""
    return "not known" if line.low is None or line.high is None else amount(line.low, line.high)


def amount(low: float, high: float) -> str:
    """A sum of money, or its range."""
    return f"{low:,.2f}" if f"{low:.2f}" == f"{high:.2f}" else f"{low:,.2f} to {high:,.2f}"


def csv(study: Study) -> bytes:
    """What to buy as a table; an empty price is one that is not known."""
    q = Quantities.of(study.build)
    unit = q.unit("run length")
    shop = study.shopping
    rows = []
    for line in (*shop.lines, *shop.if_needed):

        def number(value: float, measured: bool = line.measured) -> str:
            return q.number(value, "run length").replace(",", "") if measured else f"{value:g}"

        money = ["", ""] if line.low is None or line.high is None else [f"{line.low:.2f}", f"{line.high:.2f}"]
        aside = "if needed, not in the sums" if line in shop.if_needed else ""
        rows.append(
            [
                line.group,
                line.key,
                line.name,
                number(line.needed),
                number(line.on_shelf),
                str(line.packs),
                number(line.pack),
                unit if line.measured else "each",
                *money,
                " ".join(line.where),
                "; ".join(filter(None, (line.note, aside))),
            ]
        )
    currency = shop.currency or "no prices"
    return to_csv(
        [
            "group",
            "key",
            "part",
            f"needed ({unit} or each)",
            "on the shelf",
            "buy",
            "of",
            "unit",
            f"low ({currency})",
            f"high ({currency})",
            "for",
            "note",
        ],
        rows,
    )


# --- least cost -------------------------------------------------------------------------------------------------------


def least_cost_view(study: Study) -> dict[str, Any]:
    """The cheapest sizes of every zone, or why there are none."""
    q = Quantities.of(study.build)
    return {
        "zones": [_zone(study, zone, q) for zone in study.cheapest],
        "margin": f"{MARGIN:.0%}".replace("%", " %"),
        "maker_rules": any(run.cheapest.corrugated for zone in study.cheapest for run in zone.runs),
        "currency": study.shopping.currency,
        "date": study.shopping.date,
    }


def _zone(study: Study, zone: Cheapest, q: Quantities) -> dict[str, Any]:
    called = study.build.labels
    return {
        "zone": zone,
        "rows": [
            [
                called[run.id],
                run.size.label if run.size is not None else "no size found",
                run.cheapest.label,
                f"{run.cost:,.2f}",
            ]
            for run in zone.runs
        ],
        "cost": f"{zone.cost:,.2f}" if zone.cost is not None else None,
        "code_cost": f"{zone.code_cost:,.2f}" if zone.code_cost is not None else None,
        "needs": [(called.get(name, name), q(gauge, "drop")) for name, gauge in zone.needs],
        "missing": ", ".join(called.get(missing, missing) for missing in zone.missing),
        "example": next((item.key for item in study.materials if item.key.partition(" ")[0] in zone.missing), None),
        "per": "50 ft" if q.system == "us" else "10 m",
    }
