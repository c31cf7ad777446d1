"""How far apart tubing may be held."""

from typing import Annotated

from msgspec import field

from gasdoc.catalog.rows import Length, Sourced, read
from gasdoc.catalog.tubing import Size
from gasdoc.data import DataError, Each, Entry, Some
from gasdoc.scalars import Bounds
from gasdoc.source import Citation
from gasdoc.units import Given


class Spacing(Sourced, frozen=True):
    """The greatest distance in m between supports."""

    spacing: Length


class SizedSpacing(Spacing, frozen=True):
    """The same for the sizes of a material from an outside diameter on (m), or from a corrugated size on."""

    least: Length = field(default=Given(0.0, "0 in", "in", "length"), name="from")
    from_ehd: Annotated[float, Bounds(ge=0)] = 0


class _Supports(Entry, frozen=True):
    moving: Spacing
    materials: Each[Some[SizedSpacing]]


def support_spacing(material: str, size: Size | None, moving: bool) -> tuple[float, Citation]:
    """The distance between supports in m, with its source: the material's for its size, or that of something that moves,
    if closer. Raises DataError for a material that is not listed."""
    listed = read("supports.yaml", _Supports)
    if material not in listed.materials:
        raise DataError(f"supports.yaml: materials: '{material}' is missing")
    across = size.outside_diameter if size is not None and size.outside_diameter is not None else 0.0
    ehd = float(size.id.removeprefix("EHD ")) if size is not None and size.corrugated else 0.0
    rows = listed.materials[material]
    mine = [row for row in rows if across >= row.least - 1e-6 and ehd >= row.from_ehd] or rows[:1]
    found = [mine[-1], listed.moving] if moving else mine[-1:]
    closest = min(found, key=lambda row: row.spacing)
    return float(closest.spacing), closest.source
