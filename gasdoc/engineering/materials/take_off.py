"""Lines of a take-off: like parts added up, in the order in which people buy and fit them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal, get_args

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.quantities import UnitOf

Group = Literal[
    "container and regulator",
    "holding and locker",
    "tubing",
    "fittings",
    "valves and connectors",
    "openings and guards",
    "supports",
    "bonding",
    "air and flues",
    "alarms and fire",
    "sealing and testing",
]

GROUPS: tuple[Group, ...] = get_args(Group)


class Item(Struct, frozen=True):
    """One line. `key` is what prices and the shelf name it by; it is the same for the same part in every build.

    `quantity` is a count, or a length in m where `measured`; `exact` is the length without allowance. `where` lists the
    ids of the elements it is for, `joints` those of the joints it makes. `if_needed`: only where the name says, so that
    it is not counted as missing.
    """

    key: str
    group: Group
    name: str
    quantity: Annotated[float, UnitOf("unit")]
    measured: bool
    where: tuple[str, ...]
    note: str = ""
    exact: Annotated[float | None, UnitOf("unit")] = None
    if_needed: bool = False
    joints: tuple[str, ...] = ()

    @property
    def unit(self) -> str:
        """What it is counted in."""
        return "m" if self.measured else "count"


def merge(items: Iterable[Item]) -> tuple[Item, ...]:
    """The items with those of one key added up, in the order of GROUPS and then as they came.

    >>> one, other = (Item("elbow", "fittings", "an elbow", 1, False, (run,)) for run in ("a", "b"))
    >>> [(item.key, item.quantity, item.where) for item in merge((one, other))]
    [('elbow', 2, ('a', 'b'))]
    """
    merged: dict[str, Item] = {}
    for item in items:
        first = merged.get(item.key)
        if first is None:
            merged[item.key] = item
            continue
        merged[item.key] = replace(
            first,
            quantity=first.quantity + item.quantity,
            where=tuple(dict.fromkeys((*first.where, *item.where))),
            joints=tuple(dict.fromkeys((*first.joints, *item.joints))),
            exact=None if first.exact is None or item.exact is None else first.exact + item.exact,
            note=first.note if first.note == item.note else "; ".join(filter(None, (first.note, item.note))),
        )
    return tuple(sorted(merged.values(), key=lambda item: GROUPS.index(item.group)))
