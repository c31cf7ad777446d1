"""The supply tree, its sizes with their working, and its pressures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

from markupsafe import Markup

from gasdoc import units
from gasdoc.catalog import tubing
from gasdoc.report.content.words import Quantities, first_upper, percent
from gasdoc.report.drawings import schematic
from gasdoc.report.drawings.chart import Axis, Curve, LineChart, Style, line_chart
from gasdoc.report.drawings.schematic import NodeKind, Outline
from gasdoc.study import Study
from gasdoc.study.facts import OutletPressure, Served, the_regulator
from gasdoc.study.supply.capacity import Answer
from gasdoc.study.supply.hoses import RATED_DROP
from gasdoc.study.supply.lines import Line, Method, SizedZone, ZonePressure

SYMBOL_WORDS: Final[tuple[tuple[NodeKind, str], ...]] = (
    ("container", "container"),
    ("regulator", "regulator"),
    ("valve", "shut-off valve"),
    ("tap", "test point"),
    ("junction", "tee or manifold"),
    ("appliance", "appliance"),
)
"""The symbols of the drawing in words, for its legend."""


def view(study: Study, svg: Markup, outline: Outline) -> dict[str, Any]:
    """The drawing, every pressure zone, and what is left for one more appliance."""
    q = Quantities.of(study.build)
    return {
        "svg": svg,
        "symbols": [(words, schematic.SYMBOLS[kind]) for kind, words in SYMBOL_WORDS],
        "outline": outline,
        "zones": [_zone(study, zone) for zone in study.zones],
        "room": [[first_upper(part.name), q.number(part.room, "load"), part.why] for part in study.room.parts],
    }


def _zone(study: Study, zone: SizedZone) -> dict[str, Any]:
    q, solved, called = Quantities.of(study.build), zone.pressure, study.build.labels
    rows = [
        {
            "id": run.id,
            "cells": [
                {"text": called[run.id], "href": f"#working-{run.id}", "note": run.id},
                size_words(run),
                "given" if run.given else "computed, made larger" if run.enlarged else "computed",
                q.number(float(run.part.length), "run length"),
                q.number(run.load, "load"),
                capacity_cell(run.longest, q),
                _enough(run.longest, run, advises=not zone.conditions.by_tables),
                capacity_cell(run.branch, q),
                _enough(run.branch, run, advises=not zone.conditions.by_tables),
            ],
        }
        for run in zone.runs
    ]
    names = {s.id: s.appliance.name for s in study.served}
    charts, path_rows = path_view(zone, solved, q, called) if solved is not None else ([], [])
    kind, drop = _kinds(solved, q)
    return {
        "charts": charts,
        "path_rows": path_rows,
        "kind": kind,
        "drop_kind": drop,
        "zone": zone,
        "rows": rows,
        "hose": _hose_words(study, solved),
        "hose_rated": zone.regulator.hose is not None and zone.regulator.hose.capacity is not None,
        "working": [*_hose_working(study, zone), *(_working(study, run) for run in zone.runs)],
        "run_pressures": _run_pressures(zone, q, called),
        "outlet_pressures": _outlet_pressures(solved, q),
        "names": names,
        "behind": [o.name for o in (solved.behind if solved is not None else ())],
        "lacking": list(
            dict.fromkeys(the_regulator(lack.regulator) for lack in (solved.lacks if solved is not None else ()))
        ),
        "without_connector": [
            o.name for o in (solved.outlets if solved is not None else ()) if o.connector_drop is None
        ],
    }


def _hose_words(study: Study, solved: ZonePressure | None) -> Markup:
    """What the hose behind a zone's regulator takes, in a sentence; empty where there is none."""
    hose = solved.hose if solved is not None else None
    if hose is None:
        return Markup("")
    if hose.drop is None:
        return Markup("What the hose behind the regulator takes is not known. It is not taken off.")
    q = Quantities.of(study.build)
    return Markup("The hose behind the regulator takes {} with everything on. That is taken off.").format(
        q(hose.drop, _kinds(solved, q)[1])
    )


THIN = 1.005
"""From so many times the drop at sea level on, the working says so."""


def _hose_working(study: Study, zone: SizedZone) -> Iterator[dict[str, Any]]:
    """How the drop of the hose behind a zone's regulator came about."""
    found = zone.pressure.hose if zone.pressure is not None else None
    if found is None:
        return
    q = Quantities.of(study.build)
    drop = _kinds(zone.pressure, q)[1]
    steps = [Markup("Load, gross heat, of all behind the regulator: {}.").format(q(found.load, "load"))]
    if found.rated is not None and found.by_rating is not None:
        says = "Rated capacity {}. There a hose is taken to lose {}, as connectors do. That figure is from memory."
        steps.append(Markup(says).format(q(found.rated, "load"), q(RATED_DROP, drop)))
        steps.append(Markup("The drop goes with the square of the load: {}.").format(q(found.by_rating, drop)))
        thin = found.by_rating / (RATED_DROP * (found.load / found.rated) ** 2)
        if thin > THIN:
            says = "That is {:.3g} times as much as at sea level. In thinner air gas takes more room and runs faster."
            steps.append(Markup(says).format(thin))
    if found.by_bore is not None:
        says = "Bore {}, length {}. It counts as smooth as drawn tubing. What its two ends take is not in it."
        steps.append(Markup(says).format(found.hose.bore.text if found.hose.bore else "", found.hose.length.text))
        steps.append(
            Markup("Of the code's equation and of Darcy-Weisbach the larger drop counts: {}.").format(
                q(found.by_bore, drop)
            )
        )
    if found.other is not None:
        steps.append(Markup("Of rating and bore, what takes more counts: {}.").format(q(found.drop, drop)))
    if found.drop is None:
        steps.append(Markup("Neither its bore nor its rated capacity is stated, so its drop is not known."))
    title = f"Hose of the {study.build.labels[zone.id]}: {found.hose.length.text}"
    yield {"id": f"hose-{zone.id}", "title": title, "steps": steps, "size_source": None}


def _kinds(solved: ZonePressure | None, q: Quantities) -> tuple[str, str]:
    """The kinds of quantity that suit a zone's pressures and its drops."""
    highest = solved.highest if solved is not None else 0.0
    return units.pressure_kind(highest, q.system), units.drop_kind(highest, q.system)


def _run_pressures(zone: SizedZone, q: Quantities, called: Mapping[str, str]) -> list[list[Any]]:
    kind, drop = _kinds(zone.pressure, q)
    return [
        [
            called[r.id],
            q.number(p.gauge, kind),
            q.number(p.drop, drop),
            q.number(p.code_drop, drop),
            q.number(p.darcy_drop, drop),
            q.number(p.speed, "gas speed"),
            p.regime or "fit of its table",
            q.number(p.more_load, "load"),
            q.number(p.more_length, "run length"),
        ]
        for r in zone.runs
        if (p := r.pressure) is not None
    ]


def _outlet_pressures(solved: ZonePressure | None, q: Quantities) -> list[dict[str, Any]]:
    kind = "supply pressure"
    return [
        {
            "id": o.id,
            "cells": [
                o.name,
                q.number(o.minimum, kind),
                q.number(o.full, kind),
                q.number(o.alone, kind),
                q.number(o.lowest, kind),
                q.number(o.highest, kind),
                q.number(o.maximum, kind),
            ],
        }
        for o in (solved.outlets if solved is not None else ())
    ]


def size_words(run: Line) -> str:
    """A run's material and size in words."""
    return f"{tubing.material(run.material).words.drawing}, {run.size.label if run.size else 'no size found'}"


def capacity_cell(method: Method, q: Quantities) -> str:
    """What a run carries by a method, or that its table ends before."""
    return q.number(method.capacity.value, "load") if isinstance(method.capacity, Answer) else "outside the table"


def _enough(method: Method, run: Line, *, advises: bool) -> str:
    if not isinstance(method.capacity, Answer):
        return "cannot tell"
    short = "would take a larger one" if advises else "too small"
    return f"{'carries it' if method.enough else short}, {percent(run.load / method.capacity.value)}"


def _working(study: Study, run: Line) -> dict[str, Any]:
    """One run's sizing step by step, each number with where it comes from."""
    q = Quantities.of(study.build)
    heat = {s.id: s for s in study.served}
    behind = [heat[node.id] for node in study.build.behind(run.id) if node.id in heat]
    steps: list[Markup] = [plate(s, study, q) for s in behind]
    sum_text = " + ".join(f"{s.appliance.name} {units.show(s.load, 'load', q.system)}" for s in behind)
    by_mass = Markup("")
    if q.system == "si":  # regulators are sold by it
        by_mass = Markup(", {} of gas").format(q(sum(s.mass for s in behind), "gas mass"))
    steps.append(
        Markup("Load, gross heat: {} = {}{}.").format(sum_text or "no appliance", q(run.load, "load"), by_mass)
    )
    for method in (run.longest, run.branch):
        name = "Longest length" if method.name == "longest" else "Branch length"
        extra = (
            Markup("")
            if not method.extra
            else Markup(", with {} added for fittings").format(q(method.extra, "run length"))
        )
        text = Markup("{} method: sizing length {}{}.").format(
            name, q(method.length + method.extra, "run length"), extra
        )
        steps.append(text + " " + _answer(method, q))
    return {
        "id": run.id,
        "title": f"{study.build.labels[run.id]}: {size_words(run)}",
        "steps": steps,
        "size_source": run.size.source if run.size else None,
    }


def plate(s: Served, study: Study, q: Quantities) -> Markup:
    """What an appliance's plate says, and what gross heat and gas per hour that means."""
    says = Markup("{}: its plate says {}").format(s.appliance.name, s.appliance.input.text)
    if s.basis is None:
        return Markup("{}, times the gross heating value that is {}.").format(says, q(s.load, "load"))
    stated = s.appliance.input_basis is not None
    counted = f"{s.basis} heat" if stated else f"taken as {s.basis} heat ({study.build.region.supply.plates.citation})"
    return Markup("{}, {}. That is {} gross and {} of gas.").format(
        says, counted, q(s.load, "load"), q(s.mass, "gas mass")
    )


def _answer(method: Method, q: Quantities) -> Markup:
    answer = method.capacity
    if not isinstance(answer, Answer):
        limit = (
            Markup(" It is known up to {}.").format(q(answer.limit, "run length")) if answer.reason == "length" else ""
        )
        return Markup("The table does not reach there.{}").format(limit)
    parts = [Markup("Capacity used {}: {}").format(q(answer.value, "load"), answer.words)]
    if answer.row_length is not None:
        parts.append(Markup("row {}").format(q(answer.row_length, "run length")))
    if answer.cell is not None:
        parts.append(Markup("printed cell {}").format(q(answer.cell, "load")))
    if answer.equation is not None:
        parts.append(Markup("equation {}").format(q(answer.equation, "load")))
    if answer.fit is not None and answer.cell is None and answer.fit_error is not None:
        parts.append(Markup("fit {}, worst error {:.1f} %").format(q(answer.fit, "load"), answer.fit_error * 100))
    needed = f"Smallest size that carries it: {method.needed.label}." if method.needed else "No listed size carries it."
    return Markup("{}. {} Source: {}.").format(Markup(", ").join(parts), needed, answer.source)


# --- the pressure along the path to each appliance --------------------------------------------------------------------

LINES: tuple[Style, ...] = ("one", "two", "three")
"""As many appliances share a drawing as there are lines that can be told apart without colour."""


class PathPoint(NamedTuple):
    """A place on a path: what is there, its distance from the regulator in m, the pressure there in Pa gauge."""

    what: str
    distance: float
    gauge: float


def path_view(
    zone: SizedZone, solved: ZonePressure, q: Quantities, called: Mapping[str, str]
) -> tuple[list[LineChart], list[list[Any]]]:
    """The drawings of a zone's paths, three appliances each, and the same as rows: appliance, place, distance, pressure."""
    paths = {outlet.id: _path(zone, outlet, called) for outlet in solved.outlets}
    kind = units.pressure_kind(solved.highest, q.system)
    charts = []
    for first in range(0, len(solved.outlets), len(LINES)):
        group = solved.outlets[first : first + len(LINES)]
        lines = [
            Curve(
                o.name,
                tuple(
                    (_in(p.distance, "length", q.unit("run length")), _in(p.gauge, "pressure", q.unit(kind)))
                    for p in paths[o.id]
                ),
                style,
            )
            for o, style in zip(group, LINES, strict=False)
        ]
        longest = max(x for line in lines for x, _ in line.points)
        asked = sorted({o.minimum for o in group if o.minimum is not None})
        for minimum in asked:
            by = (
                "the plates ask"
                if len(asked) == 1
                else f"{', '.join(o.name for o in group if o.minimum == minimum)} asks"
            )
            level = _in(minimum, "pressure", q.unit(kind))
            lines.append(Curve(f"{by} at least", ((0.0, level), (longest, level)), "limit"))
        of = ", ".join(o.name for o in group)
        charts.append(
            line_chart(
                f"path-{zone.id}-{first // len(LINES) + 1}",
                f"Pressure along the path to {of}",
                f"Everything on. From {units.show(zone.regulator.outlet, kind, q.system)} at the regulator down to "
                + "; ".join(f"{units.show(o.full, kind, q.system)} at {o.name}" for o in group)
                + ". A line that ends with an upright stroke loses that much in the connector. The table below has each place.",
                Axis(f"{q.unit('run length')} from the regulator"),
                Axis(f"{q.unit(kind)}, gauge"),
                lines,
                from_zero=False,
            )
        )
    rows = [
        [outlet.name, point.what, q.number(point.distance, "run length"), q.number(point.gauge, kind)]
        for outlet in solved.outlets
        for point in paths[outlet.id]
    ]
    return charts, rows


def _path(zone: SizedZone, outlet: OutletPressure, called: Mapping[str, str]) -> list[PathPoint]:
    """From the zone's regulator to an appliance's inlet: the end of its hose and of each run, and what the connector leaves."""
    points = [PathPoint("regulator", 0.0, float(zone.regulator.outlet))]
    hose = zone.pressure.hose if zone.pressure is not None else None
    if hose is not None:
        called_so = "end of the hose" if hose.drop is not None else "end of the hose, its drop not known"
        points.append(PathPoint(called_so, float(hose.hose.length), points[0].gauge - (hose.drop or 0.0)))
    for run in zone.way(outlet.id):
        assert run.pressure is not None, "the outlet behind it is solved"
        distance = points[-1].distance + float(run.part.length)
        points.append(PathPoint(f"end of the {called[run.id]}", distance, run.pressure.gauge))
    return [*points, PathPoint("appliance's inlet, behind its connector", points[-1].distance, outlet.full)]


def _in(value: float, dimension: str, unit: str) -> float:
    return units.convert(value, dimension, unit)
