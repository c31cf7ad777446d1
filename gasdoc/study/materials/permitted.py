"""The tubing that a region says something about, for what a build is fitted in."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.catalog import tubing
from gasdoc.regions.materials import Permission, permission
from gasdoc.regions.practice import Practice


def permitted(here: Practice, where: str | None) -> Iterator[tuple[Permission, str, str | None]]:
    """Every material with each of its types that the region does not forbid in a setting, and what it says of them."""
    for material, kind in tubing.every_material():
        said = permission(material, kind, here, where)
        if said is not None and said.answer != "never":
            yield said, material, kind


def usual(here: Practice, where: str | None) -> tuple[str, str | None]:
    """The material and type that are fitted most. Raises ValueError where the region names none."""
    found = [(said.usual, material, kind) for said, material, kind in permitted(here, where) if said.usual is not None]
    _, material, kind = min(found, key=lambda row: row[0])
    return material, kind
