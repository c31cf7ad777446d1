"""The drawing of a build's supply tree, from its study."""

from __future__ import annotations

from gasdoc import units
from gasdoc.build.model import Junction, Outlet, Regulator, Run, Valve
from gasdoc.report.drawings.schematic import Box, Drawing, Edge, Mark, NodeKind
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.facts import system
from gasdoc.study.supply.lines import Line

_TAILS = {"flexible": "connector", "hose": "hose", "rigid": "rigid tail"}
"""What joins an appliance to its shut-off, in a word."""


def drawing(study: Study) -> Drawing:
    """Container, regulators, runs, junctions, valves, outlets: boxes joined by runs with name, size, length, load, passages
    and the numbers of their joints."""
    build, shown = study.build, system(study.build)
    runs = study.lines
    marks = _marks(study)
    spec = build.spec
    first = build.first
    count = f"{spec.container.number} x " if spec.container.number > 1 else ""
    nodes = [
        Box(
            "container",
            "container",
            (
                f"{count}{study.container.name}",
                *_manifold(study),
                *_in_the_container(study),
                *_joints(study, "container"),
            ),
            "container",
        ),
        Box(
            first, "regulator", (*_regulator(study, first, spec.regulator), *_joints(study, first)), _row(study, first)
        ),
    ]
    edges = [Edge("container", first, ())]
    box = {-1: first}
    lines: dict[int, tuple[str, ...]] = {-1: _hose(spec.regulator)}
    leads = {-1: ""}
    worst: dict[int, Mark] = {-1: ""}
    ends = {node.parent for node in build.nodes}
    gauges = _gauges(study)
    for i, node in enumerate(build.nodes):
        part, before = node.part, node.parent
        if isinstance(part, Run):
            box[i], lines[i] = box[before], (*lines[before], *_run(study, runs[node.id]))
            worst[i] = _worse(worst[before], marks.get(node.id, ""))
            leads[i] = leads[before] or f"supply#{node.id}"
            assert i in ends, "a branch never ends with a run"
            continue
        kind, words = _box(study, node.id, part)
        gauge = gauges.get(node.id, gauges.get(build.nodes[before].id if before >= 0 else ""))
        if gauge is not None and kind in ("appliance", "junction"):
            words = (*words, units.show(gauge, units.pressure_kind(gauge, shown), shown))
        row = f"supply#{node.id}" if kind == "appliance" and node.id in gauges else _row(study, node.id)
        nodes.append(Box(node.id, kind, (*words, *_joints(study, node.id)), row))
        edges.append(Edge(box[before], node.id, lines[before], worst[before], leads[before]))
        behind = _hose(part) if isinstance(part, Regulator) else ()
        box[i], lines[i], leads[i], worst[i] = node.id, behind, "", ""
    return Drawing(
        name=build.slug,
        title=f"Supply tree of {spec.title}",
        description=f"From {count}{study.container.name} through the regulator to {len(study.served)} appliances: "
        + ", ".join(s.appliance.name for s in study.served)
        + ". Pressures at junctions and appliances are gauge, with everything on.",
        nodes=tuple(nodes),
        edges=tuple(edges),
        foot=f"Joint numbers hold for {study.standing.codes.tightness} only.",
    )


def _hose(regulator: Regulator) -> tuple[str, ...]:
    """The text of the hose behind a regulator, where it has one."""
    return (f"hose {regulator.hose.length.text}",) if regulator.hose is not None else ()


def _run(study: Study, run: Line) -> tuple[str, ...]:
    """The text of a run."""
    shown = system(study.build)
    size = run.size.drawn if run.size else "no size found"
    bends = f"{run.part.bends} bend{'s' if run.part.bends > 1 else ''}" if run.part.bends else ""
    through = f"through {', '.join(run.part.through)}" if run.part.through else ""
    length, load = units.show(run.part.length, "run length", shown), units.show(run.load, "load", shown)
    said = (study.build.labels[run.id], size, length, load, bends, through, *_joints(study, run.id))
    return tuple(filter(None, said))


def _joints(study: Study, element: str) -> tuple[str, ...]:
    """The numbers of an element's joints, which follow one another."""
    numbers = [joint.number for joint in study.leak_test.joints if joint.element == element]
    if not numbers:
        return ()
    return (f"joint {numbers[0]}" if len(numbers) == 1 else f"joints {numbers[0]}-{numbers[-1]}",)


def _row(study: Study, element: str) -> str:
    """Where an element's joints are listed."""
    own = next((joint.id for joint in study.leak_test.joints if joint.element == element), None)
    return f"leak-test#joint-{own}" if own is not None else ""


def _in_the_container(study: Study) -> tuple[str, ...]:
    """The pressure in the container from the coldest to the warmest."""
    shown = system(study.build)
    said = [
        f"{units.show(one.gauge, 'container pressure', shown)} at {units.show(one.temperature, 'temperature', shown)}"
        for one in study.gas_pressures
    ]
    return tuple(said)


def _gauges(study: Study) -> dict[str, float]:
    """Pa gauge with everything on, by id: at the end of each run, and at the inlet of each appliance."""
    runs = {run.id: run.pressure.gauge for run in study.lines.values() if run.pressure is not None}
    return runs | {outlet.id: outlet.full for outlet in study.outlets}


def _manifold(study: Study) -> tuple[str, ...]:
    word = study.build.spec.container.manifold
    return () if word in (None, "single") else ("two banks",) if word == "banks" else (word,)


def _regulator(study: Study, element: str, regulator: Regulator) -> tuple[str, ...]:
    """What a regulator is set to, and what it can pass."""
    shown = system(study.build)
    stages = "two stages" if regulator.stages == 2 else ""
    outlet = units.show(regulator.outlet, units.pressure_kind(regulator.outlet, shown), shown)
    capacity = f"capacity {regulator.capacity.text}" if regulator.capacity is not None else "capacity not stated"
    return tuple(filter(None, (study.build.labels[element], stages, outlet, capacity)))


def _box(study: Study, element: str, part: object) -> tuple[NodeKind, tuple[str, ...]]:
    """The kind of a box and its text."""
    name, shown = study.build.labels[element], system(study.build)
    if isinstance(part, Outlet):
        connector = next(c for c in study.connected if c.id == element)
        shut_off = "no shut-off" if part.shut_off is False else "shut-off"
        tail = f"{_TAILS[connector.kind]} {connector.label or ''}".rstrip()
        load = next(s.load for s in study.served if s.id == element)
        return "appliance", (name, shut_off, tail, units.show(load, "load", shown))
    if isinstance(part, Regulator):
        return "regulator", _regulator(study, element, part)
    return "junction" if isinstance(part, Junction) else "valve" if isinstance(part, Valve) else "tap", (name,)


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
