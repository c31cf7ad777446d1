"""The supply tree of a spec as a flat list in flow order, every element with its stable id."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from gasdoc.build.model import Element, Junction, Outlet, Regulator, Run, Spec, Tap, Valve
from gasdoc.source import Path

Part = Run | Valve | Regulator | Tap | Junction | Outlet
REGULATOR = "regulator"
"""Default id of the first regulator, where the tree begins."""


class Node(Struct, frozen=True):
    """One element of the tree. `parent` is the position of the element upstream of it, -1 for the first regulator.

    `at` is its path in the front matter. `run_id` and so on do not depend on where an element stands in the file, only
    on what is downstream of it.
    """

    id: str
    kind: str
    part: Part
    parent: int
    at: Path


_DEVICE = re.compile(r"con|prn|aux|nul|(?:com|lpt)[0-9]")
"""What no file or folder can be called on Windows, where a site may be kept too."""


def slug(text: str, longest: int = 40) -> str:
    """Text as an id: small letters, digits and hyphens, and no name of a device; "item" where nothing is left."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    words = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")
    name = words[:longest].strip("-") or "item"
    return f"{name}-item" if _DEVICE.fullmatch(name) else name


def outlets_behind(branch: Sequence[Element]) -> tuple[str, ...]:
    """Ids of the outlets a branch leads to, sorted."""
    found: list[str] = []
    for element in branch:
        if element.outlet is not None:
            found.append(element.outlet.id or slug(element.outlet.appliance.name))
        if element.junction is not None:
            for inner in element.junction.branches:
                found.extend(outlets_behind(inner))
    return tuple(sorted(found))


def _junction_id(junction: Junction) -> str:
    behind = sorted(name for branch in junction.branches for name in outlets_behind(branch))
    name = "split-" + "-".join(behind)
    if len(name) <= 40:
        return name
    digest = hashlib.sha256("\n".join(behind).encode()).hexdigest()[:6]
    return f"split-{behind[0][:20].strip('-')}-and-{len(behind) - 1}-{digest}"


def flatten(spec: Spec) -> tuple[Node, ...]:
    """All elements of the supply tree, each after the one upstream of it."""
    nodes: list[Node] = []
    _branch(spec.supply, -1, ("supply",), nodes)
    return tuple(nodes)


def run_before(nodes: Sequence[Node], index: int) -> Node | None:
    """The run that leads to an element in its own branch; None where it stands right behind a junction or the container's
    regulator."""
    at = nodes[index].parent
    while at >= 0 and nodes[at].kind in ("valve", "tap", "regulator"):
        at = nodes[at].parent
    return nodes[at] if at >= 0 and nodes[at].kind == "run" else None


def changed(branch: Sequence[Element], at: Path, changes: Mapping[Path, dict[str, Any]]) -> list[Element]:
    """A branch with keys of some of its elements changed, by their places."""
    found = []
    for i, element in enumerate(branch):
        here = (*at, i, element.kind)
        part = getattr(element, element.kind).model_copy(update=changes.get(here, {}))
        if element.junction is not None:
            inner = [changed(b, (*here, "branches", k), changes) for k, b in enumerate(element.junction.branches)]
            part = part.model_copy(update={"branches": inner})
        found.append(element.model_copy(update={element.kind: part}))
    return found


def _branch(branch: Sequence[Element], parent: int, at: Path, nodes: list[Node]) -> None:
    ids = list(_ids(branch))
    for i, element in enumerate(branch):
        part = getattr(element, element.kind)
        here = (*at, i, element.kind)
        nodes.append(Node(ids[i], element.kind, part, parent, here))
        parent = len(nodes) - 1
        if element.junction is not None:
            for k, inner in enumerate(element.junction.branches):
                _branch(inner, parent, (*here, "branches", k), nodes)


def _ids(branch: Sequence[Element]) -> Iterator[str]:
    """Given ids, or the kind of element with the id of what ends the branch; counted from the downstream end."""
    last = branch[-1] if branch else None
    if last is not None and last.outlet is not None:
        end = last.outlet.id or slug(last.outlet.appliance.name)
    elif last is not None and last.junction is not None:
        end = last.junction.id or _junction_id(last.junction)
    else:
        end = "end"
    for i, element in enumerate(branch):
        given = getattr(element, element.kind).id
        if given is not None:
            yield given
        elif element.kind in ("outlet", "junction"):
            yield end
        else:
            behind = sum(1 for later in branch[i + 1 :] if later.kind == element.kind)
            yield f"{element.kind}-{behind + 1}-{end}" if behind else f"{element.kind}-{end}"
