"""The commands that look something up: capacity, catalog, schema, completion."""

from __future__ import annotations

import argparse
import re
import sys
from typing import TYPE_CHECKING

from gasdoc.cli.output import FINDINGS, FINE, Refused, print_file

if TYPE_CHECKING:
    from gasdoc.units import System


def capacity(options: argparse.Namespace) -> int:
    """Print what a size of tubing carries; the exit code."""
    from gasdoc import units
    from gasdoc.catalog import tables, tubing
    from gasdoc.study.supply.capacity import Answer, Conditions, look_up

    try:
        length, inlet, drop = (
            float(_within(units.parse(text, dimension), option, most))
            for text, dimension, option, most in (
                (options.path_length, "length", "--path-length", 1e4),
                (options.pressure, "pressure", "--pressure", 5e6),
                (options.drop, "pressure", "--drop", 5e6),
            )
        )
    except units.UnitError as wrong:
        raise Refused(str(wrong)) from None
    if drop >= inlet:
        raise Refused("the drop must be less than the delivered pressure")
    shown: System = "si" if re.match(r"[mc]", units.parse(options.path_length, "length").unit) else "us"
    if options.load is not None:
        return _least(options, length, inlet, drop, shown)
    if options.material is None or options.size is None:
        raise Refused("name a material and a size, or say with --load what has to be carried")
    conditions = Conditions(inlet, drop, not options.calculated and tables.has_tables(options.material))
    try:
        size = tubing.resolve(options.material, options.type, options.size)
    except tubing.SizeError as wrong:
        readings = ""
        for reading in wrong.readings:
            found = look_up(reading, length, conditions)
            carries = units.both(found.value, "load", shown) if isinstance(found, Answer) else "outside the table"
            readings += f"\n  {reading.label}: {carries}"
        if readings:
            readings = f"\n{_conditions_text(length, inlet, drop, shown)}, they carry:{readings}"
        told = str(wrong).replace("'type: ", "'--type ")  # what a spec says is said otherwise here
        raise Refused(f"{told}{readings}") from None
    answer = look_up(size, length, conditions)
    for text in size.warnings:
        print(f"gasdoc: {text}", file=sys.stderr)
    if options.format == "json":
        from gasdoc.report.jsonout import capacity_json, dumps

        print_file(dumps(capacity_json(size, length, inlet, drop, answer)))
        return FINE if isinstance(answer, Answer) else FINDINGS
    print(f"{size.material}, {size.label}")
    print(_conditions_text(length, inlet, drop, shown))
    if not isinstance(answer, Answer):
        limit = f" (known up to {units.both(answer.limit, 'run length', shown)})" if answer.reason == "length" else ""
        print(f"no answer: outside the table{limit}; ask a fitter with the full code table")
        return FINDINGS
    if answer.row_length is not None:
        print(f"row read: {units.both(answer.row_length, 'run length', shown)}")
    for name, value in (("table", answer.cell), ("equation", answer.equation), ("fit", answer.fit)):
        if value is not None:
            print(f"{name}: {units.both(value, 'load', shown)}")
    print(f"used: {units.both(answer.value, 'load', shown)}: {answer.words}")
    print(f"source: {answer.source}")
    return FINE


def _least(options: argparse.Namespace, length: float, inlet: float, drop: float, shown: System) -> int:
    """Print the least size that carries a load, in one material or in all; the exit code."""
    from gasdoc import units
    from gasdoc.catalog import tables, tubing
    from gasdoc.study.supply.capacity import Answer, Conditions, look_up

    if options.size is not None or options.format == "json":
        raise Refused("--load asks for the size, and answers in text: leave SIZE and --format json out")
    try:
        load = float(_within(units.parse(options.load, "power"), "--load", 1e8))
        wanted = {
            name: (options.type,) if options.type else tubing.material(name).kinds or (None,)
            for name in ([options.material] if options.material is not None else tubing.materials())
        }
        listed = {(name, kind): tubing.sizes(name, kind) for name, kinds in wanted.items() for kind in kinds}
    except (units.UnitError, tubing.SizeError) as wrong:
        raise Refused(str(wrong).replace("'type: ", "'--type ")) from None
    print(f"{_conditions_text(length, inlet, drop, shown)}, the least size for {units.both(load, 'load', shown)}:")
    anything = False
    for (name, kind), sizes in listed.items():
        conditions = Conditions(inlet, drop, not options.calculated and tables.has_tables(name))
        where = ", in the ground only" if tubing.material(name).only_buried else ""
        for series in tubing.series() if tubing.material(name).corrugated else (None,):
            carried = (
                (size, found)
                for size in sizes
                if (series is None or size.id in series.sizes)
                and isinstance(found := look_up(size, length, conditions), Answer)
            )
            least = next(((size, found) for size, found in carried if found.value >= load), None)
            anything = anything or least is not None
            of = f"{name}{f' type {kind}' if kind else ''}{f' of the series {series.label}' if series else ''}{where}"
            if least is None:
                print(f"{of}: none of the listed sizes, by what is known of them")
            else:
                size, found = least
                print(f"{of}: {size.label}, which carries {units.both(found.value, 'load', shown)}; {found.source}")
    return FINE if anything else FINDINGS


def _conditions_text(length: float, inlet: float, drop: float, shown: System) -> str:
    """What every capacity holds for."""
    from gasdoc import units

    return (
        f"path from the final regulator to the farthest outlet {units.both(length, 'run length', shown)}, delivered "
        f"{units.both(inlet, units.pressure_kind(inlet, shown), shown)}, drop {units.both(drop, units.drop_kind(inlet, shown), shown)}"
    )


def _within(value: float, option: str, most: float) -> float:
    """The value of an option, if it is one a tubing run can have. Raises Refused."""
    if not 0 < value <= most:
        raise Refused(f"{option} is out of range: it must be more than zero, and no more than anybody would build")
    return value


def catalog(options: argparse.Namespace) -> int:
    """List what a spec may name, or what the codes of findings mean."""
    from gasdoc import units
    from gasdoc.catalog import containers, tubing
    from gasdoc.regions.region import region, region_ids

    if options.what == "containers":
        for kind_id in containers.kind_ids():
            print(f"{kind_id:26} {containers.container_kind(kind_id).names[0]}")
    elif options.what == "findings":
        from gasdoc.report.codes import codes

        for code in codes().values():
            print(f"{code.code:34} {code.weight:16} {'; or: '.join(code.remedy)}")
    elif options.what == "parts":
        from gasdoc.catalog import parts

        for part in parts.catalogue().parts:
            print(f"{part.id:34} {part.name}")
    elif options.what == "regions":
        for region_id in region_ids():
            print(f"{region_id:14} {region(region_id).title}")
    elif options.what == "tubing":
        for name in tubing.materials():
            material = tubing.material(name)
            for kind in material.kinds or (None,):
                listed = ", ".join(size.id for size in tubing.sizes(name, kind))
                print(f"{name + (f' type {kind}' if kind else ''):22} {listed}")
    else:
        for dimension, spellings in units.units().items():
            first = {unit.pint: unit.spellings for unit in spellings.values()}
            print(f"{dimension}: " + "; ".join(", ".join(s) for s in first.values()))
    return FINE


def schema(_: argparse.Namespace) -> int:
    """Print the JSON Schema of a spec."""
    from gasdoc.build.schema import schema_text

    print_file(schema_text(), end="")
    return FINE


def completion(options: argparse.Namespace) -> int:
    """Print what a shell needs to complete the command."""
    from gasdoc.cli.completion import completion as shell_text

    print_file(shell_text(options.shell), end="")
    return FINE
