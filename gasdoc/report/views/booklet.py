"""The booklet for the inspector: what a build is, its drawing, sizes, container, tests, sign-off and what is open, in few pages."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from gasdoc.catalog.tubing import material
from gasdoc.report.content.words import NOT_KNOWN, Quantities, percent
from gasdoc.report.drawings.line.sheet import letters
from gasdoc.report.views.container import mount
from gasdoc.report.views.overview import progress
from gasdoc.report.views.proof import page as leaktest
from gasdoc.report.views.referral import OPEN
from gasdoc.report.views.supply.page import capacity_cell, size_words
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.facts import setting
from gasdoc.units import drop_kind

MOST_NAMED = 14
"""Findings, and rules, that are named; the others are counted, and stand in the annex."""


def view(study: Study, drawn: Markup) -> dict[str, Any]:
    """Facts, the drawing `drawn`, appliances and runs, container and mount, tests with readings, and what is open."""
    q = Quantities.of(study.build)
    grave = [f for f in study.said if f.severity >= Severity.WARNING]
    rules = [r for r in study.rules if r.outcome in OPEN and not r.rule.alternative]
    rules.sort(key=lambda r: OPEN.index(r.outcome))
    current = [p.judged for p in study.standing.proofs if p.judged is not None]
    return {
        "known": _facts(study, q),
        "progress": progress(study, q),
        "drawn": drawn,
        "appliances": list(_appliances(study, q)),
        "runs": _runs(study, q),
        "holding": _holding(study, q),
        "mount_drawings": mount.drawings(study, q),
        "clearances": [row[:4] for row in mount.clearances(study, q)],
        "proofs": list(leaktest.proofs(study, len(study.zones) > 1)),
        "tests": [leaktest.verdict(study, judged, q) for judged in {j.number: j for j in current}.values()],
        "grave": [(str(f.severity), f.message, f.remedy) for f in grave[:MOST_NAMED]],
        "more_grave": max(0, len(grave) - MOST_NAMED),
        "rules": [(r.asks, r.has or NOT_KNOWN, r.outcome) for r in rules[:MOST_NAMED]],
        "more_rules": max(0, len(rules) - MOST_NAMED),
    }


def _facts(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    build = study.build
    container, spec = study.container, build.spec
    place = spec.container.place
    tubing = dict.fromkeys(material(run.material).words.drawing for run in study.lines.values())
    regulators = [
        Markup("{}: {} gauge").format(study.build.labels[zone.id], q.pressure(zone.regulator.outlet))
        for zone in study.zones
    ]
    return [
        ("Where it is", ", ".join(filter(None, (setting(build), build.region.title)))),
        (
            "What burns",
            Markup("{} appliances, {} at once").format(len(study.served), q.both(study.load, "load")),
        ),
        (
            "Container",
            Markup("{} x {}{}, with {} of gas in all, filled to the limit").format(
                container.number,
                container.name,
                f", {place}" if place else "",
                q.both(container.fuel_mass * container.number, "weight"),
            ),
        ),
        ("Regulators", Markup("; ").join(regulators)),
        ("Tubing", ", ".join(tubing)),
        (
            "Joints and gas volume",
            Markup("{} joints, up to {} of gas in the line").format(
                len(study.leak_test.joints), q.both(study.leak_test.volume_largest, "gas volume")
            ),
        ),
        ("Tightness code", study.standing.codes.tightness),
        ("Build code", study.standing.codes.build),
    ]


def _appliances(study: Study, q: Quantities) -> Iterator[list[Any]]:
    kind = "supply pressure"
    at = {o.id: o for zone in study.zones if zone.pressure is not None for o in zone.pressure.outlets}
    for s in study.served:
        o = at.get(s.id)
        pressures = (o.minimum, o.full, o.lowest, o.highest, o.maximum) if o is not None else (None,) * 5
        yield [s.appliance.name, q.number(s.load, "load"), *(q.number(p, kind) for p in pressures)]


def _runs(study: Study, q: Quantities) -> list[list[Any]]:
    rows, called = [], letters(study.build)
    for zone in study.zones:
        for run in zone.runs:
            pressure = run.pressure
            rows.append(
                [
                    f"{called[run.id]}: {study.build.labels[run.id]}",
                    size_words(run),
                    q.number(float(run.part.length), "run length"),
                    q.number(run.load, "load"),
                    capacity_cell(run.longest, q),
                    percent(run.use) if run.use is not None else NOT_KNOWN,
                    q(pressure.drop, drop_kind(float(zone.regulator.outlet), q.system))
                    if pressure is not None
                    else NOT_KNOWN,
                ]
            )
    return rows


def _holding(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    kept = ("Held by", "Fixed to", "Rated for, together", "Bolts", "Places", "Filled weight", "Centre of gravity")
    rows = [row for row in mount.facts(study, q) if row[0] in kept]
    return [*rows, *(("Worst bolt", f"{check['title']}: {check['worst']}") for check in mount.checks(study))]
