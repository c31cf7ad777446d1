"""The drawing of a build's supply tree, from its study."""

from __future__ import annotations

from gasdoc import units
from gasdoc.build.model import Junction, Outlet, Regulator, Run
from gasdoc.report.schematic import Drawing, Edge, Mark, Node, NodeKind
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.facts import system


def drawing(study: Study) -> Drawing:
    """Container, regulators, runs, junctions, valves, outlets: boxes joined by runs with size, length and load."""
    build, shown = study.build, system(study.build)
    runs = {run.id: run for zone in study.zones for run in zone.runs}
    loads = {s.id: s for s in study.served}
    marks = _marks(study)
    spec = build.spec
    first = spec.regulator.id or "regulator"
    count = f"{spec.container.number} x " if spec.container.number > 1 else ""
    nodes = [
        Node("container", "container", (f"{count}{study.container.name}", *_manifold(study))),
        Node(first, "regulator", ("Regulator", _outlet_pressure(spec.regulator, shown))),
    ]
    edges = [Edge("container", first, ())]
    box = {-1: first}
    lines: dict[int, tuple[str, ...]] = {-1: ()}
    worst: dict[int, Mark] = {-1: ""}
    ends = {node.parent for node in build.nodes}
    gauges = _gauges(study)
    for i, node in enumerate(build.nodes):
        part = node.part
        if isinstance(part, Run):
            run = runs[node.id]
            size = run.size.drawn if run.size else "no size found"
            text = (size, f"{units.show(part.length, 'run length', shown)}, {units.show(run.load, 'load', shown)}")
            box[i], lines[i] = box[node.parent], (*lines[node.parent], *text)
            worst[i] = _worse(worst[node.parent], marks.get(node.id, ""))
            assert i in ends, "a branch never ends with a run"
            continue
        kind, words = _box(part, shown, loads[node.id].load if node.id in loads else 0.0)
        gauge = gauges.get(node.id, gauges.get(build.nodes[node.parent].id if node.parent >= 0 else ""))
        if gauge is not None and kind in ("appliance", "junction"):
            words = (*words, units.show(gauge, units.pressure_kind(gauge, shown), shown))
        nodes.append(Node(node.id, kind, words))
        edges.append(Edge(box[node.parent], node.id, lines[node.parent], worst[node.parent]))
        box[i], lines[i], worst[i] = node.id, (), ""
    return Drawing(
        name=build.slug,
        title=f"Supply tree of {spec.title}",
        description=f"From {count}{study.container.name} through the regulator to {len(study.served)} appliances: "
        + ", ".join(s.appliance.name for s in study.served)
        + ". Pressures at junctions and appliances are gauge, with everything on.",
        nodes=tuple(nodes),
        edges=tuple(edges),
    )


def _gauges(study: Study) -> dict[str, float]:
    """Pa gauge with everything on, by id: at the end of each run, and at the inlet of each appliance."""
    runs = {run.id: run.pressure.gauge for zone in study.zones for run in zone.runs if run.pressure is not None}
    return runs | {outlet.id: outlet.full for outlet in study.outlets}


def _manifold(study: Study) -> tuple[str, ...]:
    word = study.build.spec.container.manifold
    return () if word in (None, "single") else ("two banks",) if word == "banks" else (word,)


def _outlet_pressure(regulator: Regulator, shown: units.System) -> str:
    stages = "two stages, " if regulator.stages == 2 else ""
    return f"{stages}{units.show(regulator.outlet, units.pressure_kind(regulator.outlet, shown), shown)}"


def _box(part: object, shown: units.System, load: float) -> tuple[NodeKind, tuple[str, ...]]:
    if isinstance(part, Outlet):
        return "appliance", (part.appliance.name, units.show(load, "load", shown))
    if isinstance(part, Junction):
        word = part.kind or ("tee" if len(part.branches) == 2 else "manifold")
        return "junction", (word,)
    if isinstance(part, Regulator):
        return "regulator", ("Regulator", _outlet_pressure(part, shown))
    return ("valve", ("shut-off valve",)) if "valve" in type(part).__name__.lower() else ("tap", ("test tap",))


def _marks(study: Study) -> dict[str, Mark]:
    found: dict[str, Mark] = {}
    for finding in study.said:
        if finding.severity is not Severity.NOTE:
            mark: Mark = "error" if finding.severity is Severity.ERROR else "warning"
            found[finding.subject] = _worse(found.get(finding.subject, ""), mark)
    return found


def _worse(a: Mark, b: Mark) -> Mark:
    order: tuple[Mark, ...] = ("", "warning", "error")
    return max(a, b, key=order.index)
