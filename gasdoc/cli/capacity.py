"""`gasdoc capacity`: what a size of tubing carries, and the least size for a load."""

from __future__ import annotations

import argparse
import re
import sys

from gasdoc import units
from gasdoc.catalog import tubing
from gasdoc.cli.output import FINDINGS, FINE, print_file
from gasdoc.engineering.supply import lpg
from gasdoc.regions.materials import permission
from gasdoc.regions.region import Region, UnknownRegion, region
from gasdoc.study.supply.capacity import Answer, Conditions, least_sizes, look_up, of_material
from gasdoc.units import System
from gasdoc.wrong import Refused


def capacity(options: argparse.Namespace) -> int:
    """Print what a size of tubing carries, or the least size for a load; the exit code."""
    region = _region(options.region)
    wanted: System = region.units if region is not None else "us"
    try:
        length = _quantity(options.path_length, "length", "--path-length", 1e4, wanted)
        load = None if options.load is None else _quantity(options.load, "power", "--load", 1e8, wanted)
        conditions = _conditions(options, region, wanted)
    except units.UnitError as wrong:
        raise Refused(str(wrong)) from None
    metric = re.match(r"[mc]", units.parse(options.path_length, "length").unit)
    shown: System = wanted if region is not None else "si" if metric else "us"
    if load is not None:
        return _least(options, load, length, conditions, region, shown)
    return _carried(options, length, conditions, region, shown)


def _conditions(options: argparse.Namespace, region: Region | None, wanted: System) -> Conditions:
    """Pressure, drop and method: those of the options, else the region's. Raises Refused, units.UnitError."""
    pressure = options.pressure or (region.supply.nominal.value.text if region is not None else "11 inH2O")
    inlet = _quantity(pressure, "pressure", "--pressure", 5e6, wanted)
    if options.drop is None and region is not None:
        drop = region.supply.sizing.drop_allowance(inlet)
    else:
        drop = _quantity(options.drop or "0.5 inH2O", "pressure", "--drop", 5e6, wanted)
    if drop >= inlet:
        raise Refused("the drop must be less than the delivered pressure")
    by_tables = not options.calculated and (region is None or region.supply.sizing.method == "tables")
    return Conditions(inlet, drop, by_tables)


def _carried(
    options: argparse.Namespace, length: float, conditions: Conditions, region: Region | None, shown: System
) -> int:
    """Print what one size carries; the exit code."""
    if options.material is None or options.size is None:
        raise Refused("name a material and a size, or say with --load what has to be carried")
    conditions = of_material(conditions, options.material)
    told = _conditions_text(length, conditions, shown)
    try:
        size = tubing.resolve(options.material, options.type, options.size)
    except tubing.SizeError as wrong:
        readings = ""
        for reading in wrong.readings:
            found = look_up(reading, length, conditions)
            carries = units.both(found.value, "load", shown) if isinstance(found, Answer) else "outside the table"
            readings += f"\n  {reading.label}: {carries}"
        if readings:
            readings = f"\n{told}, they carry:{readings}"
        said = str(wrong).replace("'type: ", "'--type ")  # what a spec says is said otherwise here
        raise Refused(f"{said}{readings}") from None
    answer = look_up(size, length, conditions)
    for text in (*size.warnings, *_not_usual(region, size.material, size.kind)):
        print(f"gasdoc: {text}", file=sys.stderr)
    if options.format == "json":
        from gasdoc.report.formats.jsonout import capacity_json, dumps

        print_file(dumps(capacity_json(size, length, conditions, answer)))
        return FINE if isinstance(answer, Answer) else FINDINGS
    print(f"{size.material}, {size.label}")
    print(told)
    if not isinstance(answer, Answer):
        limit = f" (known up to {units.both(answer.limit, 'run length', shown)})" if answer.reason == "length" else ""
        print(f"no answer: outside the table{limit}. Ask a fitter with the full code table")
        return FINDINGS
    if answer.row_length is not None:
        print(f"row read: {units.both(answer.row_length, 'run length', shown)}")
    for name, value in (("table", answer.cell), ("equation", answer.equation), ("fit", answer.fit)):
        if value is not None:
            print(f"{name}: {units.both(value, 'load', shown)}")
    print(f"used: {units.both(answer.value, 'load', shown)}: {answer.words}")
    print(f"source: {answer.source}")
    return FINE


def _region(named: str | None) -> Region | None:
    """The region that is named, None where none is. Raises Refused."""
    if named is None:
        return None
    try:
        return region(named)
    except UnknownRegion as unknown:
        raise Refused(str(unknown)) from None


def _not_usual(region: Region | None, material: str, kind: str | None) -> tuple[str, ...]:
    """What a region says of a material that is not usual there."""
    said = permission(material, kind, region.practice, region.practice.setting) if region is not None else None
    return (said.asks,) if said is not None and said.answer != "allowed" else ()


def _quantity(text: str, dimension: str, option: str, most: float, system: System) -> float:
    """The value of an option in SI, if it is one a tubing run can have. Raises Refused, units.UnitError."""
    value = float(units.parse(text, dimension, system=system))
    if not 0 < value <= most:
        raise Refused(f"{option} is out of range: it must be more than zero, and no more than anybody would build")
    return value


def _least(
    options: argparse.Namespace,
    load: float,
    length: float,
    conditions: Conditions,
    region: Region | None,
    shown: System,
) -> int:
    """Print the least size that carries a load, in one material or in all; the exit code."""
    if options.size is not None:
        raise Refused("--load asks for the size: leave SIZE out")
    materials = tubing.every_material()
    if options.material is not None:
        try:
            kinds = (options.type,) if options.type else tubing.material(options.material).kinds or (None,)
            for kind in kinds:
                tubing.sizes(options.material, kind)
        except tubing.SizeError as wrong:
            raise Refused(str(wrong).replace("'type: ", "'--type ")) from None
        materials = tuple((options.material, kind) for kind in kinds)
    elif options.type:
        raise Refused("--type is of one material: name it")
    found = least_sizes(load, length, conditions, materials, region)
    code = FINE if any(least.size is not None for least in found) else FINDINGS
    if options.format == "json":
        from gasdoc.report.formats.jsonout import dumps, least_json

        print_file(dumps(least_json(load, length, conditions, region.id if region is not None else None, found)))
        return code
    told = _conditions_text(length, conditions, shown)
    print(f"{told}, the least size for {units.both(load, 'load', shown)} of gross heat:")
    if region is not None and region.supply.plates.basis == "net":
        gross = load * lpg.gross_heating_value(lpg.PROPANE) / lpg.net_heating_value(lpg.PROPANE)
        print(f"plates here usually count net heat: for {units.show(load, 'load', shown)} of those ask for ", end="")
        print(units.show(gross, "load", shown))
    for least in found:
        asked = "" if least.permission is None or least.permission.answer == "allowed" else f" {least.permission.asks}"
        if least.size is None or least.answer is None:
            print(f"{least.words}: none of the listed sizes, by what is known of them.{asked}")
        else:
            carries = units.both(least.answer.value, "load", shown)
            print(f"{least.words}: {least.size.label}, which carries {carries}; {least.answer.source}.{asked}")
    return code


def _conditions_text(length: float, conditions: Conditions, shown: System) -> str:
    """What every capacity holds for."""
    inlet, drop = conditions.inlet_gauge, conditions.drop
    return (
        f"path from the final regulator to the farthest outlet {units.both(length, 'run length', shown)}, delivered "
        f"{units.both(inlet, units.pressure_kind(inlet, shown), shown)}, drop {units.both(drop, units.drop_kind(inlet, shown), shown)}"
    )
