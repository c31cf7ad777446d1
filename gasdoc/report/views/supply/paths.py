"""The pressure along the path to each appliance, with everything on."""

from __future__ import annotations

from typing import Any, NamedTuple

from gasdoc import units
from gasdoc.build.model import Regulator
from gasdoc.report.chart import Axis, LineChart, Series, Style, line_chart
from gasdoc.report.words import Quantities
from gasdoc.study import Study
from gasdoc.study.supply.pressures import ZonePressure
from gasdoc.study.supply.sizing import ZoneSizing

LINES: tuple[Style, ...] = ("one", "two", "three")
"""As many appliances share a drawing as there are lines that can be told apart without colour."""


class Point(NamedTuple):
    """A place on a path: what is there, its distance from the regulator in m, the pressure there in Pa gauge."""

    what: str
    distance: float
    gauge: float


def view(
    study: Study, zone: ZoneSizing, solved: ZonePressure, q: Quantities
) -> tuple[list[LineChart], list[list[Any]]]:
    """The drawings of a zone's paths, three appliances each, and the same as rows: appliance, place, distance, pressure."""
    names = {s.id: s.appliance.name for s in study.served}
    paths = {outlet.id: _path(study, zone, solved, outlet.id, outlet.full) for outlet in solved.outlets}
    kind = units.pressure_kind(solved.highest, q.system)
    charts = []
    for first in range(0, len(solved.outlets), len(LINES)):
        group = solved.outlets[first : first + len(LINES)]
        lines = [
            Series(
                names[o.id],
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
                else f"{', '.join(names[o.id] for o in group if o.minimum == minimum)} asks"
            )
            level = _in(minimum, "pressure", q.unit(kind))
            lines.append(Series(f"{by} at least", ((0.0, level), (longest, level)), "limit"))
        of = ", ".join(names[o.id] for o in group)
        charts.append(
            line_chart(
                f"path-{zone.zone.id}-{first // len(LINES) + 1}",
                f"Pressure along the path to {of}",
                f"Everything on. From {units.show(zone.zone.regulator.outlet, kind, q.system)} at the regulator down to "
                + "; ".join(f"{units.show(o.full, kind, q.system)} at {names[o.id]}" for o in group)
                + ". A line that ends with an upright stroke loses that much in the connector. The table below has each place.",
                Axis(f"{q.unit('run length')} from the regulator"),
                Axis(f"{q.unit(kind)}, gauge"),
                lines,
                from_zero=False,
            )
        )
    rows = [
        [names[outlet], point.what, q.number(point.distance, "run length"), q.number(point.gauge, kind)]
        for outlet, path in paths.items()
        for point in path
    ]
    return charts, rows


def _path(study: Study, zone: ZoneSizing, solved: ZonePressure, outlet: str, at_appliance: float) -> list[Point]:
    """From the zone's regulator to an appliance's inlet: the end of each run, and what the connector leaves."""
    nodes = study.build.nodes
    gauges = {run.id: run.gauge for run in solved.runs}
    runs = {run.id: run for run in zone.runs}
    way: list[str] = []
    at = nodes.index(study.build.by_id[outlet])
    while at >= 0 and not isinstance(nodes[at].part, Regulator):
        if nodes[at].id in runs:
            way.append(nodes[at].id)
        at = nodes[at].parent
    points = [Point("regulator", 0.0, float(zone.zone.regulator.outlet))]
    for run in reversed(way):
        points.append(Point(f"end of {run}", points[-1].distance + float(runs[run].run.length), gauges[run]))
    return [*points, Point("appliance's inlet, behind its connector", points[-1].distance, at_appliance)]


def _in(value: float, dimension: str, unit: str) -> float:
    return units.convert(value, dimension, unit)
