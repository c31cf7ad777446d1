"""What the parts on offer cover: in each region, setting, tubing and cylinder connection a made-up build is put together,
and its joints that nothing listed closes are named."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from msgspec import Struct

from gasdoc.build.reader import read_spec
from gasdoc.catalog import countries, tubing
from gasdoc.catalog.countries import LineEnds
from gasdoc.catalog.parts import catalogue
from gasdoc.data import DataError
from gasdoc.engineering.materials.joints import Chain
from gasdoc.kept import kept_result
from gasdoc.regions.materials import permission
from gasdoc.regions.region import Region, region, region_ids
from gasdoc.study.materials.assembly import Joined, fittings, joining, on_offer
from gasdoc.study.materials.permitted import usual
from gasdoc.study.supply.final_sizes import settle
from gasdoc.study.supply.lines import zones
from gasdoc.study.supply.names import resolve


class CoverageCell(Struct, frozen=True):
    """One region, setting, material and cylinder connection. `joints` counts the connections of its made-up builds, `open`
    names those that nothing listed closes. `ask` is what the region asks about the material, None where it is usual."""

    region: str
    setting: str
    material: str
    connection: str
    joints: int
    open: tuple[str, ...]
    ask: str | None


@kept_result
def coverage() -> tuple[CoverageCell, ...]:
    """Every cell, by region, setting, material and connection: more than a second of work."""
    return tuple(cell for name in region_ids() for cell in _of_region(region(name)))


def _of_region(here: Region) -> Iterator[CoverageCell]:
    rows = here.practice.rows
    for setting in here.settings:
        for name in tubing.materials():
            for kind in tubing.material(name).kinds[-1:] or (None,):
                said = permission(name, kind, here.practice, setting)
                if tubing.material(name).only_buried or said is None or said.answer == "never":
                    continue
                lines = _lines(_alike(here.id), name, kind)
                for connection in dict.fromkeys(row.connection for row in countries.cylinders(rows)):
                    sides = _containers(_alike(here.id), connection)
                    ask = None if said.answer == "allowed" else said.asks
                    cell = CoverageCell(
                        here.id,
                        setting,
                        name,
                        connection,
                        lines[0] + sides[0],
                        (*sides[1], *lines[1]),
                        ask,
                    )
                    yield cell


@cache
def _alike(name: str) -> str:
    """The first region in which a build would be put together alike: the same is sold, met and asked."""

    def what(here: Region) -> tuple[object, ...]:
        rows, trap = here.practice.rows, here.rule("sediment-trap")
        return (
            catalogue().sold_in(rows).parts,
            countries.cylinders(rows),
            countries.line_ends(rows),
            here.units,
            trap and trap.where,
        )

    return next(other for other in region_ids() if what(region(other)) == what(region(name)))


@cache
def _lines(name: str, material: str, kind: str | None) -> tuple[int, tuple[str, ...]]:
    """The joints behind the regulator in one material, and those of them that stay open."""
    here = region(name)
    first = countries.cylinders(here.practice.rows)[0]
    joined = [
        joint
        for ends in countries.line_ends(here.practice.rows)
        for joint in made_up(here, first.kind, first.connection, first.ways[0].inlet, 1, material, kind, ends)
        if not joint.container_side
    ]
    return len(joined), tuple(ended(joint) for joint in joined if not isinstance(joint.found, Chain))


@cache
def _containers(name: str, connection: str) -> tuple[int, tuple[str, ...]]:
    """The joints between cylinders and regulator with one connection, and those of them that stay open."""
    here = region(name)
    material, kind = usual(here.practice, here.settings[0])
    ends = countries.line_ends(here.practice.rows)[0]
    joined = [
        joint
        for row in countries.cylinders(here.practice.rows)
        if row.connection == connection
        for way in row.ways
        for joint in made_up(here, row.kind, connection, way.inlet, way.number, material, kind, ends)
        if joint.container_side
    ]
    return len(joined), tuple(ended(joint) for joint in joined if not isinstance(joint.found, Chain))


def ended(joint: Joined) -> str:
    """An open joint in words."""
    a, b = (str(end) if end is not None else "an end that is not known" for end in (joint.a, joint.b))
    return f"{joint.before.words} ({a}) to {joint.after.words} ({b})"


def made_up(
    here: Region,
    container: str,
    connection: str,
    inlet: str,
    number: int,
    material: str,
    kind: str | None,
    ends: LineEnds,
) -> tuple[Joined, ...]:
    """The joints of a build of so many containers, a regulator, a trunk with a test point, a tee and two appliances. Raises
    ValueError where the build cannot be read: the data behind it do not fit each other."""
    trunk, branch = tubing.material(material).pair or ("", "")
    of_type = f"type: {kind}, " if kind is not None and len(tubing.material(material).kinds) > 1 else ""
    several = f", number: {number}, manifold: changeover" if number > 1 else ""
    branches = "".join(
        f"""
        - - run: {{size: {branch}, length: 2 m}}
          - outlet: {{shut_off: yes, appliance: {{name: Appliance {i}, kind: cooker, input: 3 kW, input_basis: gross, inlet_thread: {thread}}}}}"""
        for i, thread in enumerate(ends.inlets, 1)
    )
    text = f"""---
format: 1
title: Made up
region: {here.id}
setting: {here.settings[0]}
altitude: 0 m
coldest: 0 degC
container: {{type: {container}, connection: {connection}{several}}}
regulator: {{outlet: {here.supply.nominal.value.text}, inlet_thread: {inlet}, outlet_thread: {ends.outlet}}}
supply:
  - run: {{material: {material}, {of_type}size: {trunk}, length: 1 m}}
  - tap: {{id: test-point}}
  - junction:
      branches: {branches}
---
"""
    read = read_spec(text.encode("utf-8"), "made-up.md", "made-up")
    known, problems = resolve(read.build) if read.build is not None else (None, ())
    if known is None:
        raise DataError(f"countries.yaml: {'; '.join(f'{p.message}, {p.hint}' for p in (*read.problems, *problems))}")
    settled = settle(known, zones(known))
    listed = on_offer(settled.build, settled.zones, catalogue())
    return fittings(settled.build, settled.zones, listed, joining(listed, ())).joined
