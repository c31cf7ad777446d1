"""A study, a check and a capacity as JSON: one documented unit a field, whatever the spec shows.

Quantities are `{"value": ..., "unit": ...}`: W for power, m for length, Pa for pressure (gauge), kg, m3, J, days. Dates
are ISO 8601. `version` changes when the meaning of a field changes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from gasdoc import __version__
from gasdoc.catalog.tubing import Size
from gasdoc.source import Problem
from gasdoc.study import Study
from gasdoc.study.capacity import Answer, Unserved
from gasdoc.study.findings import Finding
from gasdoc.study.sizing import Method, RunSize, ZoneSizing

VERSION = 1

Quantity = dict[str, Any]


def dumps(value: Any) -> str:
    """Stable text: keys as written, two spaces, UTF-8."""
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)


def quantity(value: float | None, unit: str) -> Quantity | None:
    """A value with its unit, to nine significant digits; None stays None."""
    return None if value is None else {"value": float(f"{value:.9g}"), "unit": unit}


def study_json(study: Study) -> dict[str, Any]:
    """The whole study."""
    spec = study.build.spec
    held = study.container
    return {
        "version": VERSION,
        "gasdoc": __version__,
        "build": {"slug": study.build.slug, "title": spec.title, "path": study.build.path, "region": spec.region,
                  "units": spec.units},
        "standing": {"word": study.standing.word, "detail": study.standing.detail, "tests_recorded": study.standing.tests,
                     "sign_off": study.standing.sign_off},
        "findings": [finding_json(f) for f in study.findings],
        "demand": {
            "total": quantity(study.load, "W"),
            "appliances": [
                {"outlet": s.id, "name": s.appliance.name, "kind": s.appliance.kind, "input": quantity(s.load, "W"),
                 "per_day": quantity(s.per_day, "J")}
                for s in study.served
            ],
        },
        "zones": [_zone(zone) for zone in study.zones],
        "runs": [_run(run) for zone in study.zones for run in zone.runs],
        "outlets": [_outlet(s) for s in study.served],
        "container": {
            "kind": study.resolved.kind.id, "number": held.number,
            "water_capacity": quantity(held.water_capacity, "m3"), "fuel_mass": quantity(held.fuel_mass, "kg"),
            "energy": quantity(held.energy, "J"), "mean_load": quantity(held.per_day, "W"),
            "lasts": quantity(held.days, "day"),
        },
        "materials": [
            {"key": item.key, "group": item.group, "part": item.name,
             "quantity": quantity(item.quantity, "m" if item.measured else "each"), "for": list(item.where),
             "note": item.note}
            for item in study.materials
        ],
        "leak_test": {
            "volume": quantity(study.leak_test.volume, "m3"),
            "asked": [
                {"id": a.test.id, "kind": a.test.kind, "zone": a.zone, "pressure": quantity(a.pressure, "Pa"),
                 "hold": quantity(a.test.hold, "s"), "source": str(a.test.citation)}
                for a in study.leak_test.asked
            ],
            "joints": [{"id": joint.id, "element": joint.element, "zone": joint.zone} for joint in study.leak_test.joints],
        },
        "upkeep": [
            {"task": d.task.id, "part": d.part, "due": d.due.isoformat() if d.due else None,
             "interval": d.task.interval.text if d.task.interval else None, "event": d.task.event, "by": d.task.who,
             "source": str(d.task.citation)}
            for d in study.upkeep
        ],
        "referral": [
            {"rule": r.rule.id, "asks": r.rule.asks, "has": r.has, "outcome": r.outcome, "source": str(r.rule.citation)}
            for r in study.rules
        ],
    }  # fmt: skip


def finding_json(finding: Finding) -> dict[str, Any]:
    """One finding."""
    return {"severity": str(finding.severity), "code": finding.code, "subject": finding.subject,
            "message": finding.message, "reason": finding.reason, "remedy": finding.remedy,
            "source": finding.source}  # fmt: skip


def problem_json(problem: Problem) -> dict[str, Any]:
    """One problem of an input file."""
    return {"path": problem.path, "line": problem.line, "column": problem.column, "severity": str(problem.severity),
            "message": problem.message, "hint": problem.hint, "code": problem.code}  # fmt: skip


def check_json(problems: Sequence[Problem], exit_code: int) -> dict[str, Any]:
    """What a check found."""
    return {"version": VERSION, "exit_code": exit_code, "problems": [problem_json(p) for p in problems]}


def capacity_json(
    size: Size, path_length: float, inlet_gauge: float, drop: float, answer: Answer | Unserved
) -> dict[str, Any]:
    """What one size carries: what table, code equation and fit give, what is to be used, and where from."""
    found: dict[str, Any] = {
        "version": VERSION,
        "material": size.material,
        "size": size.label,
        "path_length": quantity(path_length, "m"),
        "path_length_is": "from the final regulator to the farthest outlet",
        "inlet_pressure": quantity(inlet_gauge, "Pa"),
        "drop": quantity(drop, "Pa"),
        **_answer(answer),
    }
    return found


def _answer(answer: Answer | Unserved) -> dict[str, Any]:
    if isinstance(answer, Unserved):
        return {"table": None, "equation": None, "fit": None, "used": None, "basis": f"outside-{answer.reason}",
                "row": None, "source": str(answer.source) if answer.source else None}  # fmt: skip
    return {"table": quantity(answer.cell, "W"), "equation": quantity(answer.equation, "W"),
            "fit": quantity(answer.fit, "W"), "used": quantity(answer.value, "W"), "basis": answer.basis,
            "row": quantity(answer.row_length, "m"), "source": str(answer.source)}  # fmt: skip


def _zone(zone: ZoneSizing) -> dict[str, Any]:
    return {"id": zone.zone.id, "inlet_pressure": quantity(float(zone.zone.regulator.outlet), "Pa"),
            "drop_allowed": quantity(zone.conditions.drop, "Pa"), "allowance_source": str(zone.allowance),
            "longest_path": quantity(zone.longest, "m"), "load": quantity(zone.zone.load, "W")}  # fmt: skip


def _run(run: RunSize) -> dict[str, Any]:
    return {
        "id": run.id, "from": run.upstream, "to": run.downstream, "zone": run.zone, "material": run.material,
        "type": run.kind, "size": run.size.label if run.size else None, "size_id": run.size.id if run.size else None,
        "given": run.given, "length": quantity(float(run.run.length), "m"), "load": quantity(run.load, "W"),
        "methods": {"longest_length": _method(run.longest), "branch_length": _method(run.branch)},
    }  # fmt: skip


def _method(method: Method) -> dict[str, Any]:
    return {"length": quantity(method.length + method.extra, "m"), "added_for_fittings": quantity(method.extra, "m"),
            "size_needed": method.needed.label if method.needed else None, "enough": method.enough,
            "capacity": _answer(method.capacity)}  # fmt: skip


def _outlet(s: Any) -> dict[str, Any]:
    outlet = s.outlet
    connector = outlet.connector
    return {
        "id": s.id, "appliance": s.appliance.name, "load": quantity(s.load, "W"),
        "distance": quantity(outlet.distance, "m"),
        "connector": {"kind": connector.kind, "length": quantity(connector.length, "m")} if connector else None,
    }  # fmt: skip
