"""The materials of a build: what to buy, how it is joined, cut, passed through and held."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from markupsafe import Markup
from msgspec import Struct

from gasdoc.engineering.materials.cutting import Cut, CuttingPlan, NoPlan
from gasdoc.engineering.materials.ends import End
from gasdoc.engineering.materials.joints import Chain, NoChain
from gasdoc.engineering.materials.take_off import GROUPS, Item
from gasdoc.report.content.tables import to_csv
from gasdoc.report.content.words import NOT_KNOWN, Quantities, percent
from gasdoc.report.drawings.chart import BarAmount, BarChart, BarPart, bar_chart
from gasdoc.report.drawings.part_signs import SIGNS, SignPiece, pieces
from gasdoc.report.views.materials.shopping import amount
from gasdoc.source import Citation
from gasdoc.study import Study
from gasdoc.study.materials.assembly import Joined, sealed
from gasdoc.study.materials.connectors import Connected
from gasdoc.study.materials.cutting import SHELF, Lengths, piece_words
from gasdoc.study.materials.screwed import CutPipe
from gasdoc.study.materials.shopping import Buy, Shopping, by_group
from gasdoc.study.materials.take_off import lining_words, size_text, taper_joints, tight_joints


def view(study: Study) -> dict[str, Any]:
    """The take-off by group, joints, connectors, cutting plan, openings, supports and tools."""
    q = Quantities.of(study.build)
    groups: dict[str, list[dict[str, Any]]] = {group: [] for group in GROUPS}
    for item in study.materials:
        cells = [
            _part(item, q),
            q(item.quantity, "run length") if item.measured else f"{item.quantity:g}",
            ", ".join(study.build.labels.get(element, element) for element in item.where),
            Markup("<code>{}</code>").format(item.key),
        ]
        groups[item.group].append({"id": part_id(item), "cells": cells})
    numbers = {joint.id: joint.number for joint in study.leak_test.joints}
    joints = [_joint(joined, numbers) for joined in study.fittings.joined if not _inside_a_run(joined)]
    joints += [
        [
            str(numbers[f"{c.id}-nut-{side}"]),
            f"{c.name}, nut of its connector at the {end}",
            "nut on adapter",
            "its own adapter",
            "union, no sealant",
        ]
        for c in study.connected
        if c.part is not None and c.part.unions
        for side, end in (("upstream", "valve"), ("downstream", "appliance"))
    ]
    joints.sort(key=lambda row: int(row[0].partition(",")[0]))
    shop = study.shopping
    making = joints_made([joined for joined in study.fittings.joined if not _inside_a_run(joined)], numbers)
    return {
        "groups": {group: rows for group, rows in groups.items() if rows},
        "joints": joints,
        "making": making,
        "signs": signs_of(making),
        "open_joints": sum(not isinstance(joined.found, Chain) for joined in study.fittings.joined),
        "bends": sum(_inside_a_run(joined) for joined in study.fittings.joined),
        "taper": taper_joints(study.fittings),
        "tight": tight_joints(study.fittings),
        "taken": _taken(study),
        "connectors": [_connector(c, q) for c in study.connected],
        "practices": list(dict.fromkeys(c.practice for c in study.connected if c.practice is not None)),
        "limits": list(dict.fromkeys(c.longest_source for c in study.connected if c.longest_source is not None)),
        "cutting": figures(study, q),
        "pipes": pipe_view(study, q),
        "cutting_sources": list(
            dict.fromkeys(
                source for tubing in study.lengths for source in tubing.sources if source.text != "common practice"
            )
        ),
        "openings": list(_openings(study)),
        "opening_sources": list(
            dict.fromkeys(
                source for o in study.passages.openings for source in (o.source, o.across_source) if source is not None
            )
        ),
        "guards": _guards(study, q),
        "supports": [
            [study.build.labels[s.run], q(s.spacing, "distance"), str(s.count)] for s in study.passages.supports
        ],
        "support_places": [
            [study.build.labels[s.run], one.leg, Markup(", ").join(q(along, "distance") for along in one.along)]
            for s in study.passages.supports
            for one in s.places
        ],
        "support_sources": _support_sources(study),
        "tools": [{"text": tool.name, "note": tool.why} for tool in study.tools],
        "saws": _saws(study),
        "shop": shop,
        "to_buy": len(shop.to_buy),
        "cost": _cost_chart(shop),
        "cost_rows": [list(row) for row in _cost_rows(shop)],
        "cost_foot": [
            "All",
            str(len(shop.to_buy)),
            str(shop.unknown),
            _known(shop.low, shop.high, len(shop.to_buy) - shop.unknown),
        ],
        "cost_said": _cost_said(shop),
    }


def part_id(item: Item) -> str:
    """Where a part stands in the list of them."""
    return "part-" + re.sub(r"[^a-z0-9]+", "-", f"{item.group} {item.name}".lower()).strip("-")


def _part(item: Item, q: Quantities) -> Markup:
    notes = [item.note] if item.note else []
    if item.exact is not None:
        notes.insert(0, Markup("{} in the runs").format(q(item.exact, "run length")))
    if item.if_needed:
        notes.append("if needed, not counted in the sums")
    return _noted(item.name, *notes)


def _noted(text: str, *notes: str) -> Markup:
    made = Markup("{}").format(text)
    for note in notes:
        made += Markup('<span class="note below">{}</span>').format(note)
    return made


# --- cost -------------------------------------------------------------------------------------------------------------


def _cost_rows(shop: Shopping) -> Iterator[tuple[str, str, str, str]]:
    """Each group with its lines to buy, how many of them have no price, and the sum of the others."""
    for group, lines in by_group(shop.to_buy).items():
        low, high, known = _sums(lines)
        yield group.capitalize(), str(len(lines)), str(len(lines) - known), _known(low, high, known)


def _cost_chart(shop: Shopping) -> BarChart | None:
    """The known prices by group, from the lowest sum with what may come on top; None where no price is known."""
    amounts = []
    for group, lines in by_group(shop.to_buy).items():
        low, high, known = _sums(lines)
        missing = f", {len(lines) - known} not known" if known < len(lines) else ""
        if known:
            on_top = (BarPart(high - low, style="range"),) if high > low else ()
            amounts.append(BarAmount(group.capitalize(), amount(low, high) + missing, (BarPart(low), *on_top)))
    if shop.currency is None or not amounts:
        return None
    said = "; ".join(f"{one.label}: {one.words}" for one in amounts)
    return bar_chart("cost-by-group", f"Cost by group, known prices, {shop.currency}", said, amounts)


def _sums(lines: Sequence[Buy]) -> tuple[float, float, int]:
    """The lowest and the highest sum of the known prices, and how many lines have one."""
    known = [(line.low, line.high) for line in lines if line.low is not None and line.high is not None]
    return sum(low for low, _ in known), sum(high for _, high in known), len(known)


def _known(low: float, high: float, lines: int) -> str:
    return amount(low, high) if lines else NOT_KNOWN


def _cost_said(shop: Shopping) -> str:
    """What share of the lines to buy has no price."""
    lines = len(shop.to_buy)
    if not shop.unknown:
        return "Every line to buy has a price."
    short = percent(shop.unknown / lines)
    return f"{shop.unknown} of {lines} lines to buy ({short}) have no price, so every sum here is short of those."


# --- joints -----------------------------------------------------------------------------------------------------------


def _inside_a_run(joined: Joined) -> bool:
    """The joints at the elbows of one run of pipe: all alike, so they are counted and not listed."""
    return joined.joints == (f"{joined.element}-elbows",)


def _joint(joined: Joined, numbers: Mapping[str, int]) -> list[Any]:
    found = joined.found
    number = ", ".join(str(numbers[joint]) for joint in joined.joints)
    place = Markup('{} <span class="arrow">to</span> {}').format(joined.before.words, joined.after.words)
    ends = Markup('{} <span class="arrow">to</span> {}').format(_end(joined.a), _end(joined.b))
    if isinstance(found, Chain):
        parts = ", ".join(part.name for part in found.parts) or "nothing: they fit"
        return [number, place, ends, parts, sealed(found)]
    if isinstance(found, NoChain):
        return [number, place, ends, _noted("cannot be joined", "see the findings on the overview"), ""]
    return [number, place, ends, _noted("not worked out", joined.why or ""), ""]


def _end(end: End | None) -> str:
    return NOT_KNOWN if end is None else str(end)


def _taken(study: Study) -> list[list[str]]:
    """The connections as the spec states them, and what they are taken for."""
    found: list[list[str]] = []
    for about, spot, placed in study.fittings.placed():
        for text, end in zip(about.stated, placed.ends, strict=False):
            if text is not None and end is not None:
                found.append([about.words, text, str(end)])
        # the inlet of the first regulator stands where its tree begins, so its end is the second of the spot
        if (
            spot.up < 0
            and about.stated[1] is not None
            and [about.words, about.stated[1], str(placed.ends[1])] not in found
        ):
            found.append([about.words, about.stated[1], str(placed.ends[1])])
    return found


# --- connectors, openings, supports -----------------------------------------------------------------------------------


def _connector(c: Connected, q: Quantities) -> list[Any]:
    part = (
        c.part.name
        if c.part is not None
        else ("rigid tail, cut from the run's own tubing" if c.kind == "rigid" else f"{c.kind}, its ends not known")
    )
    length: str | Markup = q(c.length, "short length") if c.length is not None else "not chosen"
    if c.chosen:
        length = _noted(str(length) if not isinstance(length, Markup) else length, "the shortest that reaches")
    says = {
        "fits": "reaches",
        "too-short": "too short",
        "over-limit": "longer than allowed",
        "none-reaches": "none reaches",
        "longer-than-needed": "reaches. A shorter one would too",
    }
    verdict = says[c.reach.reason] if c.reach is not None else "cut to fit" if c.kind == "rigid" else "cannot tell"
    capacity = {"enough": "enough for it", "too-small": "too small", "unknown": "not stated: read its tag"}[c.capacity]
    if c.kind == "rigid":
        capacity = "as the tubing"
    return [
        c.name,
        part,
        q.number(c.distance, "short length"),
        q.number(c.needed, "short length"),
        length,
        verdict,
        q.number(c.longest, "short length") if c.longest is not None else "no limit here",
        capacity,
    ]


def _openings(study: Study) -> Iterator[list[Any]]:
    shown, called = study.build.region.units, study.build.labels
    for made in study.passages.openings:
        hole = made.opening
        if hole is None:
            yield [called[made.run], made.place, NOT_KNOWN, NOT_KNOWN, NOT_KNOWN, "", ""]
            continue
        saw = size_text(hole.saw, shown) if hole.saw is not None else "none large enough"
        yield [
            called[made.run],
            made.place,
            size_text(hole.hole, shown),
            saw,
            lining_words(hole, shown),
            "yes" if hole.plate else "no",
            hole.seal or "none",
        ]


def _support_sources(study: Study) -> list[tuple[list[str], Citation | None]]:
    """Where the distances between supports are from, each with the runs it is for; None where the spec states them."""
    found: dict[Citation | None, list[str]] = {}
    for s in study.passages.supports:
        found.setdefault(None if s.given else s.source, []).append(study.build.labels[s.run])
    return [(runs, source) for source, runs in found.items()]


def _saws(study: Study) -> str:
    """The hole saws the job takes, smallest first."""
    shown = study.build.region.units
    saws = sorted(
        {o.opening.saw for o in study.passages.openings if o.opening is not None and o.opening.saw is not None}
    )
    return ", ".join(size_text(saw, shown) for saw in saws)


def _guards(study: Study, q: Quantities) -> list[list[Any]]:
    return [
        [
            study.build.labels[run.id],
            guard.name,
            q(float(run.part.length), "run length") if guard.by_length else "1",
            "if needed" if guard.if_needed else "yes",
        ]
        for run, guard in study.passages.guards
    ]


def csv(study: Study) -> bytes:
    """The take-off as a table: lengths in the build's own unit, named in the header."""
    q = Quantities.of(study.build)
    unit = q.unit("run length")
    rows = []
    for item in study.materials:
        quantity = q.number(item.quantity, "run length").replace(",", "") if item.measured else f"{item.quantity:g}"
        note = "; ".join(filter(None, (item.note, "if needed" if item.if_needed else "")))
        rows.append(
            [item.group, item.key, item.name, quantity, unit if item.measured else "each", " ".join(item.where), note]
        )
    return to_csv(["group", "key", "part", f"quantity ({unit} or each)", "unit", "for", "note"], rows)


# --- cutting plans ----------------------------------------------------------------------------------------------------


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


# --- how the joints are made ------------------------------------------------------------------------------------------


class JointRow(Struct, frozen=True):
    """Joints that are made alike: their numbers, what is put together, and what makes it tight."""

    numbers: tuple[int, ...]
    pieces: tuple[SignPiece, ...]
    seals: str


def joints_made(joined: Sequence[Joined], numbers: Mapping[str, int]) -> tuple[JointRow, ...]:
    """Every way in which joints of a build are made, by the first number of each."""
    groups: dict[tuple[SignPiece, ...], tuple[list[int], str]] = {}
    for one in joined:
        if isinstance(one.found, Chain) and one.a is not None and one.b is not None and one.joints:
            row = tuple(pieces(one.a, one.b, one.found))
            groups.setdefault(row, ([], sealed(one.found)))[0].extend(numbers[joint] for joint in one.joints)
    found = (JointRow(tuple(sorted(set(those))), row, seals) for row, (those, seals) in groups.items())
    return tuple(sorted(found, key=lambda one: one.numbers))


def signs_of(shown: Sequence[JointRow]) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """The drawings that some rows use, each once."""
    used = {name for row in shown for p in row.pieces for name in (p.left, p.body, p.right)}
    return [(name, paths) for name, paths in SIGNS.items() if name in used]


# --- screwed pipe, cut to length --------------------------------------------------------------------------------------


def pipe_view(study: Study, q: Quantities) -> dict[str, Any] | None:
    """Every pipe with its cut length or what is missing for it; None where there is no screwed pipe."""
    pipes = study.pipes
    if not pipes:
        return None
    threads = list({(p.thread.kind, p.thread.size): p.thread for p in pipes if p.thread is not None}.values())
    return {
        "rows": [_pipe_row(study, pipe, q) for pipe in pipes],
        "threads": [
            {
                "name": f"{thread.kind.upper()} {thread.size}",
                "cut": q(float(thread.cut), "cut length"),
                "count": thread.count,
                "rules": [(rule.rule, q(float(rule.length), "cut length")) for rule in thread.make_up],
                "source": thread.source,
            }
            for thread in threads
        ],
        "sources": list(
            dict.fromkeys(end.source for p in pipes for end in (p.before, p.after) if end.source is not None)
        ),
    }


def _pipe_row(study: Study, pipe: CutPipe, q: Quantities) -> list[Any]:
    name = study.build.labels[pipe.run] + (f", pipe {pipe.number} of {pipe.of}" if pipe.of > 1 else "")
    between = f"{pipe.before.words} and {pipe.after.words}"
    centres = q(pipe.centres, "cut length") if pipe.centres is not None else "not stated"
    if pipe.cut is None or pipe.shortest is None or pipe.longest is None:
        return [name, between, centres, "", "", pipe.why or ""]
    notes = [pipe.why] if pipe.why else []
    if pipe.nipple is not None:
        notes.append(f"or a nipple of {q.number(pipe.nipple, 'cut length')} {q.unit('cut length')}")
    if pipe.wrench is False:
        notes.append("no room for a pipe wrench between the fittings")
    spread = f"{q.number(pipe.shortest, 'cut length')} to {q.number(pipe.longest, 'cut length')}"
    return [name, between, centres, q.number(pipe.cut, "cut length"), spread, "; ".join(notes)]
