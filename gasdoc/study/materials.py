"""The take-off of a build, from its resolved tree."""

from __future__ import annotations

from gasdoc import data, units
from gasdoc.catalog.tubing import Size
from gasdoc.materials.takeoff import Item, JunctionPart, OutletPart, RunPart, Supply, take_off
from gasdoc.spec.model import Junction, Outlet, Regulator, Run
from gasdoc.study.facts import moves
from gasdoc.study.resolve import Resolved
from gasdoc.study.sizing import RunSize, ZoneSizing


def materials(resolved: Resolved, sized: tuple[ZoneSizing, ...]) -> tuple[Item, ...]:
    """Every part the build needs, counted from its tree. A run without a size is listed as "size not found"."""
    build = resolved.build
    runs = {run.id: run for zone in sized for run in zone.runs}
    nodes = build.nodes
    children: dict[int, list[int]] = {}
    for i, node in enumerate(nodes):
        children.setdefault(node.parent, []).append(i)

    def nearest_run_up(index: int) -> RunSize | None:
        while index >= 0:
            if nodes[index].id in runs:
                return runs[nodes[index].id]
            index = nodes[index].parent
        return None

    def nearest_run_down(index: int) -> RunSize | None:
        while True:
            if nodes[index].id in runs:
                return runs[nodes[index].id]
            below = children.get(index, [])
            if len(below) != 1:
                return None
            index = below[0]

    junctions = []
    outlets = []
    for i, node in enumerate(nodes):
        part = node.part
        if isinstance(part, Junction):
            feeding = nearest_run_up(node.parent)
            ports = [_name(feeding) if feeding else "regulator outlet"]
            for child in children.get(i, []):
                leaving = nearest_run_down(child)
                ports.append(_name(leaving) if leaving else "outlet valve")
            kind = part.kind or ("tee" if len(part.branches) == 2 else "manifold")
            junctions.append(JunctionPart(node.id, kind, tuple(ports)))
        elif isinstance(part, Outlet):
            feeding = nearest_run_up(node.parent)
            connector = part.connector
            outlets.append(
                OutletPart(
                    id=node.id,
                    appliance=part.appliance.name,
                    inlet=part.appliance.inlet_thread,
                    connector=connector.kind if connector else "flexible",
                    connector_length=float(connector.length) if connector and connector.length is not None else None,
                    distance=float(part.distance) if part.distance is not None else None,
                    corrugated=feeding is not None and feeding.material == "csst",
                )
            )
    spec = build.spec
    regulators = [(spec.regulator.id or "regulator", _regulator(spec.regulator, first=True))]
    regulators += [(n.id, _regulator(n.part, first=False)) for n in nodes if isinstance(n.part, Regulator)]
    return take_off(
        Supply(
            container=resolved.kind.names[0],
            containers=spec.container.number,
            manifold=spec.container.manifold,
            regulators=tuple(regulators),
            runs=tuple(_run(resolved, run) for zone in sized for run in zone.runs),
            junctions=tuple(junctions),
            valves=tuple(n.id for n in nodes if n.kind == "valve"),
            taps=tuple(n.id for n in nodes if n.kind == "tap"),
            outlets=tuple(outlets),
        )
    )


def _regulator(regulator: Regulator, *, first: bool) -> str:
    stages = "two-stage " if regulator.stages == 2 else "first-stage or single-stage " if first else "second-stage "
    threads = [t for t in (regulator.inlet_thread, regulator.outlet_thread) if t]
    return f"{stages}regulator, {regulator.outlet.text}" + (f", {' x '.join(threads)}" if threads else "")


def _name(run: RunSize) -> str:
    material = {"copper": "copper", "copper-metric": "copper", "csst": "corrugated", "steel": "steel", "pe": "PE"}[run.material]
    return f"{run.size.label} {material}" if run.size else f"{material}, size not found"


def _run(resolved: Resolved, run: RunSize) -> RunPart:
    part = run.run
    assert isinstance(part, Run)
    return RunPart(
        id=run.id,
        key=f"{run.material}:{run.kind or ''}:{run.size.id if run.size else '?'}",
        name=_name(run),
        rigid=run.material == "steel",
        corrugated=run.material == "csst",
        length=float(part.length),
        bends=part.bends,
        through=tuple(part.through),
        spacing=support_spacing(run.material, run.size, moves(resolved.build)),
    )


def support_spacing(material: str, size: Size | None, moving: bool) -> float:
    """The distance between supports in m: the material's for its size, or that of something that moves, if closer."""
    table = data.load("gasdoc.catalog", "supports.yaml")
    rows = table["materials"][material]
    across = size.od if size is not None and size.od is not None else 0.0
    trade = 0.0 if size is None or not size.id.startswith("EHD ") else float(size.id.removeprefix("EHD "))
    spacing = rows[0]["spacing"]
    for row in rows:
        if across >= units.parse(row["from"], "length") - 1e-6 if "from" in row else trade >= row["from_ehd"]:
            spacing = row["spacing"]
    metres = float(units.parse(spacing, "length"))
    return min(metres, float(units.parse(table["moving"]["spacing"], "length"))) if moving else metres
