"""What people call the elements of a build: "line to the galley tee", "main shut-off", "test point before Cooker".

A spec tells its elements apart by ids. A page, a drawing and a sheet say these names instead; every one of them asks here.
A name comes from an id that the builder gave, or from what stands behind the element.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from gasdoc.build.model import Junction, Outlet, Regulator, Run, Space, Tap, Valve
from gasdoc.build.supply import Node, slug
from gasdoc.words import in_sentence

_SAID = {
    "valve": ("valve", "shut-off", "cock", "stop"),
    "tap": ("test", "tap", "point", "gauge"),
    "junction": ("tee", "manifold", "split", "junction", "cross"),
    "regulator": ("regulator", "stage"),
}
"""Words of an id that say already what kind of element it is."""


def labels(nodes: Sequence[Node], regulator: str) -> dict[str, str]:
    """The name of every element by its id, no two alike; `regulator` is the id of the first one.

    A run is called by what it leads to; of several in a row the name says which part it is.
    """
    found = {regulator: "first regulator"}
    found |= {node.id: _own(nodes, i) for i, node in enumerate(nodes) if not isinstance(node.part, Run)}
    told = Counter(found.values())
    found = {identity: name if told[name] == 1 else f"{name} ({identity})" for identity, name in found.items()}
    return found | _lines(nodes, found)


def _own(nodes: Sequence[Node], at: int) -> str:
    """The name of an element that is no run."""
    node = nodes[at]
    if isinstance(node.part, Outlet):
        return node.part.appliance.name
    if node.part.id is None:
        return _by_what_is_behind(nodes, at)
    words = re.sub(r"\bshut off\b", "shut-off", node.id.replace("-", " "))
    words = re.sub(r"\breg\b", "regulator", words)
    if any(re.search(rf"\b{said}", words) for said in _SAID[node.kind]):
        return words
    return f"{_noun(node)} {words}" if re.search(r"\d", words) else f"{words} {_noun(node)}"


def _noun(node: Node) -> str:
    if isinstance(node.part, Junction):
        return node.part.kind or ("tee" if len(node.part.branches) == 2 else "manifold")
    return {Valve: "valve", Tap: "test point", Regulator: "regulator"}[type(node.part)]


def _by_what_is_behind(nodes: Sequence[Node], at: int) -> str:
    """The name of an element without an id: by the appliances behind it, and counted from them where there are several
    of its kind, as its id is."""
    node = nodes[at]
    inside, names = {at}, list[str]()
    for i, other in enumerate(nodes):
        if other.parent in inside:
            inside.add(i)
            if isinstance(other.part, Outlet):
                names.append(other.part.appliance.name)
    shown = names if len(names) <= 3 else [*names[:2], f"{len(names) - 2} more"]
    number = re.match(rf"{node.kind}-(\d+)-", node.id)
    counted = f" {number[1]}" if number is not None else ""
    return f"{_noun(node)}{counted} {'to' if isinstance(node.part, Junction) else 'before'} {in_sentence(shown)}"


def _lines(nodes: Sequence[Node], named: dict[str, str]) -> dict[str, str]:
    """The names of the runs."""
    after = {node.parent: i for i, node in enumerate(nodes)}
    found: dict[str, str] = {}
    for i, node in enumerate(nodes):
        if not isinstance(node.part, Run) or node.id in found:
            continue
        row = [i]
        while row[-1] in after and isinstance(nodes[after[row[-1]]].part, Run):
            row.append(after[row[-1]])
        end = nodes[after[row[-1]]]  # a branch never ends with a run
        name = f"line to {'' if isinstance(end.part, Outlet) else 'the '}{named[end.id]}"
        for number, k in enumerate(row, 1):
            found[nodes[k].id] = name if len(row) == 1 else f"{name}, part {number} of {len(row)}"
    return found


# --- rooms ------------------------------------------------------------------------------------------------------------

OUTDOORS = "outdoors"
"""The `space:` of an outlet whose appliance stands in no room."""


def room_id(space: Space, position: int) -> str:
    """The id of the room at `position` of the list (counted from 0): its own, or one of its name or its number."""
    return space.id or (slug(space.name) if space.name is not None else f"room-{position + 1}")


def room_name(space: Space, position: int) -> str:
    """Words for the room: its name, or its id, or its number."""
    return space.name or space.id or f"room {position + 1}"
