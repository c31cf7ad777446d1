"""The pressure along the path to each appliance, with everything on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from gasdoc import units
from gasdoc.report.chart import Axis, Curve, LineChart, Style, line_chart
from gasdoc.report.words import Quantities
from gasdoc.study.facts import OutletPressure
from gasdoc.study.supply.lines import SizedZone, ZonePressure

LINES: tuple[Style, ...] = ("one", "two", "three")
"""As many appliances share a drawing as there are lines that can be told apart without colour."""


class PathPoint(NamedTuple):
    """A place on a path: what is there, its distance from the regulator in m, the pressure there in Pa gauge."""

    what: str
    distance: float
    gauge: float


def view(
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
    """From the zone's regulator to an appliance's inlet: the end of each run, and what the connector leaves."""
    points = [PathPoint("regulator", 0.0, float(zone.regulator.outlet))]
    for run in zone.way(outlet.id):
        assert run.pressure is not None, "the outlet behind it is solved"
        distance = points[-1].distance + float(run.part.length)
        points.append(PathPoint(f"end of the {called[run.id]}", distance, run.pressure.gauge))
    return [*points, PathPoint("appliance's inlet, behind its connector", points[-1].distance, outlet.full)]


def _in(value: float, dimension: str, unit: str) -> float:
    return units.convert(value, dimension, unit)
