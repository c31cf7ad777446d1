"""The least size that carries a load, in one material or in all: the look-up behind `gasdoc capacity --load`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.catalog import tables, tubing
from gasdoc.catalog.tubing import Series, Size
from gasdoc.regions.materials import Permission, permission
from gasdoc.regions.region import Region
from gasdoc.study.supply.capacity import Answer, Conditions, look_up


class LeastSize(Struct, frozen=True):
    """The least size of one material and type, of corrugated tubing of one maker's series, that carries a load.

    `size` and `answer` are null where none of those listed does, by what is known of them. `permission` is what the region
    says of the material, null where no region is asked about. `only_buried`: it is for the ground only.
    """

    material: str
    type: str | None
    series: str | None
    only_buried: bool
    size: Size | None
    answer: Answer | None
    permission: Permission | None

    @property
    def words(self) -> str:
        """The material with its type and series."""
        kind = f" type {self.type}" if self.type else ""
        series = f" of the series {self.series}" if self.series else ""
        return f"{self.material}{kind}{series}{', in the ground only' if self.only_buried else ''}"


def least_sizes(
    load: float,
    length: float,
    conditions: Conditions,
    materials: Sequence[tuple[str, str | None]],
    region: Region | None = None,
) -> tuple[LeastSize, ...]:
    """For each of `materials`, a name and a type, the least size that carries `load` (W) over the path `length` (m).

    With a region those that are usual there come first, and those that it never allows are left out unless they are the
    only ones asked about. Without code tables of its own a material is calculated.
    """
    found = [least for name, kind in materials for least in _of(load, length, conditions, name, kind, region)]
    allowed = [least for least in found if least.permission is None or least.permission.answer != "never"]
    return tuple(
        sorted(allowed or found, key=lambda least: least.permission.order if least.permission else (False, 99))
    )


def _of(
    load: float, length: float, conditions: Conditions, name: str, kind: str | None, region: Region | None
) -> Iterator[LeastSize]:
    of = tubing.material(name)
    said = permission(name, kind, region.practice, region.practice.setting) if region is not None else None
    here = of_material(conditions, name)
    listed = tubing.offered(name, kind, region.practice.rows) if region is not None else tubing.sizes(name, kind)
    every: tuple[Series | None, ...] = tubing.series() if of.corrugated else (None,)
    for series in every:
        sizes = (size for size in listed if series is None or size.id in series.sizes)
        size, answer = next(_carrying(sizes, load, length, here), (None, None))
        yield LeastSize(name, kind, series.label if series is not None else None, of.only_buried, size, answer, said)


def _carrying(
    sizes: Iterable[Size], load: float, length: float, conditions: Conditions
) -> Iterator[tuple[Size, Answer]]:
    for size in sizes:
        answer = look_up(size, length, conditions)
        if isinstance(answer, Answer) and answer.value >= load:
            yield size, answer


def of_material(conditions: Conditions, name: str) -> Conditions:
    """The conditions for one material: calculated where no code table is for it."""
    return replace(conditions, by_tables=conditions.by_tables and tables.has_tables(name))
