"""A short name for what stands on site, so that a test or a sign-off can say what it was made on.

`gd1-` and twelve hex digits of a hash over the canonical form of container, regulators, runs with their sizes, joints,
outlets and appliances. Names, ids, places, prices, the log, the order of branches and the spelling of units do not
count. `1` is the version of this form: another form gets another number, and what was recorded with the old one has to
be made again.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from gasdoc.spec.model import Junction, Outlet, Regulator, Run
from gasdoc.study.resolve import Resolved
from gasdoc.study.sizing import ZoneSizing
from gasdoc.study.zones import heating_value, plate_load, regulator_capacity

VERSION = "gd1"


def fingerprint(resolved: Resolved, sized: tuple[ZoneSizing, ...]) -> str:
    """The fingerprint of a build, as in `gd1-0123456789ab`."""
    return f"{VERSION}-{hashlib.sha256(canonical(resolved, sized).encode('ascii')).hexdigest()[:12]}"


def canonical(resolved: Resolved, sized: tuple[ZoneSizing, ...]) -> str:
    """The canonical form: a line for the container and one for the regulator, then the tree with brackets around what
    is behind an element, branches sorted; SI values with six significant digits."""
    build = resolved.build
    c = build.spec.container
    sizes = {run.id: run.size.id if run.size else "none" for zone in sized for run in zone.runs}
    heat = heating_value(build)
    behind: dict[int, list[str]] = {}
    for i in range(len(build.nodes) - 1, -1, -1):  # from the ends: a long line must not become a deep recursion
        node = build.nodes[i]
        own: list[Any] = [node.kind]
        if isinstance(node.part, Run):
            material, kind = build.material(node)
            own += [material, kind, sizes[node.id], _si(node.part.length), node.part.bends]
        elif isinstance(node.part, Regulator):
            own += _regulator(node.part, heat)
        elif isinstance(node.part, Junction):
            own += [node.part.kind or ("tee" if len(node.part.branches) == 2 else "manifold")]
        elif isinstance(node.part, Outlet):
            own += _outlet(node.part, heat)
        behind.setdefault(node.parent, []).append(f"{_text(own)}({','.join(sorted(behind.get(i, [])))})")
    container = [
        resolved.kind.id,
        c.number,
        c.manifold or "single",
        _si(c.water_capacity),
        c.orientation,
        c.service,
        c.place,
        _si(c.excess_flow),
    ]
    return f"{_text(container)}\n{_text(_regulator(build.spec.regulator, heat))}\n{','.join(sorted(behind[-1]))}"


def _text(values: list[Any]) -> str:
    return json.dumps(values, separators=(",", ":"), ensure_ascii=True)


def _regulator(r: Regulator, heat: float) -> list[Any]:
    return [r.stages, _si(r.outlet), _si(regulator_capacity(r, heat)), _si(r.lock_up)]


def _outlet(outlet: Outlet, heat: float) -> list[Any]:
    a, connector = outlet.appliance, outlet.connector
    jetted = [a.jetted_for.gas, _si(a.jetted_for.pressure)] if a.jetted_for is not None else []
    joined = [connector.kind, _si(connector.length)] if connector is not None else []
    return [a.kind, _si(plate_load(a, heat)), jetted, a.flue, outlet.shut_off, joined]


def _si(value: float | None) -> str:
    """A value to six significant digits.

    It is moved up by a billionth first: the same quantity written in two units differs in the last bits, and a value
    that people write lies then never on the border between two roundings.
    """
    return "" if value is None else f"{float(value) * (1 + 1e-9):.6g}"
