"""The commands that list what there is: catalog, schema."""

from __future__ import annotations

import argparse

from gasdoc import units
from gasdoc.build.schema import schema_text
from gasdoc.catalog import containers, parts, tubing
from gasdoc.cli.output import FINE, print_file
from gasdoc.regions.region import region, region_ids
from gasdoc.wrong import Refused


def catalog(options: argparse.Namespace) -> int:
    """List what a spec may name, or what the codes of findings mean."""
    if options.format == "json" and options.what not in ("coverage", "sources"):
        raise Refused("only coverage and sources are listed as JSON, as in gasdoc catalog sources --format json")
    if options.what in ("coverage", "sources"):
        (_coverage if options.what == "coverage" else _sources)(options.format)
    elif options.what == "containers":
        for kind_id in containers.kind_ids():
            print(f"{kind_id:26} {containers.container_kind(kind_id).names[0]}")
    elif options.what == "findings":
        from gasdoc.report.formats.finding_codes import codes

        for code in codes().values():
            print(f"{code.code:34} {code.weight:16} {code.doing or '':22} {'; or: '.join(code.remedy)}")
    elif options.what == "parts":
        for part in parts.catalogue().parts:
            print(f"{part.id:34} {part.name}")
    elif options.what == "regions":
        for region_id in region_ids():
            print(f"{region_id:14} {region(region_id).title}")
    elif options.what == "tubing":
        for name, kind in tubing.every_material():
            listed = ", ".join(size.id for size in tubing.sizes(name, kind))
            print(f"{name + (f' type {kind}' if kind else ''):22} {listed}")
    else:
        for dimension, spellings in units.units().items():
            first = {unit.pint: unit.spellings for unit in spellings.values()}
            print(f"{dimension}: " + "; ".join(", ".join(s) for s in first.values()))
    return FINE


def _sources(form: str) -> None:
    """Print every figure with its source."""
    if form == "json":
        from gasdoc.report.formats.jsonout import dumps, sources_json

        print_file(dumps(sources_json()))
        return
    from gasdoc.study.referral.ledger import ledger

    for figure in ledger():
        print(f"{figure.at}: {figure.value}\n    {figure.confirmed}: {figure.citation}")


def _coverage(form: str) -> None:
    """Print what the parts on offer cover."""
    if form == "json":
        from gasdoc.report.formats.jsonout import coverage_json, dumps

        print_file(dumps(coverage_json()))
        return
    from gasdoc.study.materials.coverage import coverage

    for cell in coverage():
        print(
            f"{cell.region}, {cell.setting}, {cell.material}, {cell.connection}: {cell.joints} joints, {len(cell.open)} open"
        )
        for hole in cell.open:
            print(f"    {hole}")


def schema(_: argparse.Namespace) -> int:
    """Print the JSON Schema of a spec."""
    print_file(schema_text(), end="")
    return FINE
