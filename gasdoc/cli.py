"""The gasdoc command: a thin front on the same code as the site. Results go to stdout, everything else to stderr.

Exit codes: 0 fine; 1 a spec is well formed but has findings at error level; 2 input, options or a program that cannot
be used; 130 interrupted.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from gasdoc import __version__

FINE, FINDINGS, INPUT, INTERRUPTED = 0, 1, 2, 130


class Refused(Exception):
    """Something that cannot be done as asked; the message says what would be right."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code."""
    options = _parser().parse_args(arguments)
    try:
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except Refused as refused:
        print(f"gasdoc: {refused}", file=sys.stderr)
        return INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="gasdoc", description="One text file per propane build becomes a site of install reports. "
        "It computes; it does not certify.", epilog="Start with: gasdoc new my-hut, then gasdoc check specs/my-hut.md",
    )  # fmt: skip
    parser.add_argument("--version", action="version", version=f"gasdoc {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    check = commands.add_parser("check", help="say everything that is wrong with specs")
    check.add_argument("specs", nargs="*", help="spec files; left out, every spec in the folder specs")
    check.add_argument("--format", choices=("text", "json"), default="text")
    check.add_argument("--strict", action="store_true", help="count warnings as errors")
    check.set_defaults(run=_check)

    build = commands.add_parser("build", help="build the site")
    _site_options(build)
    build.add_argument("--site-dir", help="where the site goes; left out, as the configuration says")
    build.set_defaults(run=_build)

    serve = commands.add_parser("serve", help="serve the site and rebuild it when a spec changes")
    _site_options(serve)
    serve.add_argument("--address", default="127.0.0.1:8000", help="host:port (default %(default)s)")
    serve.set_defaults(run=_serve)

    study = commands.add_parser("study", help="print everything computed for one spec")
    study.add_argument("spec")
    study.add_argument("--format", choices=("json",), default="json")
    study.set_defaults(run=_study)

    capacity = commands.add_parser(
        "capacity", help="what a size of tubing carries",
        epilog="Examples: gasdoc capacity copper '1/2 in OD' --type L --path-length '32 ft'; "
        "gasdoc capacity csst 'EHD 18' --path-length '40 ft'; gasdoc capacity copper-metric '10 x 1 mm' "
        "--path-length '6 m' --pressure '30 mbar' --drop '1.5 mbar'",
    )  # fmt: skip
    capacity.add_argument("material", help="copper, copper-metric, csst, steel or pe")
    capacity.add_argument("size", help="as in a spec: '1/2 in OD', 'EHD 18', '3/4 in', '15 x 1 mm'")
    capacity.add_argument("--type", help="type of inch copper: K or L")
    capacity.add_argument("--path-length", required=True, help="from the final regulator to the farthest outlet, as in "
                          "'32 ft'; never the run's own length")  # fmt: skip
    capacity.add_argument("--pressure", default="11 inH2O", help="delivered pressure, gauge (default %(default)s)")
    capacity.add_argument("--drop", default="0.5 inH2O", help="pressure drop allowed (default %(default)s)")
    capacity.add_argument("--calculated", action="store_true", help="calculate by Darcy-Weisbach, without code tables")
    capacity.add_argument("--format", choices=("text", "json"), default="text")
    capacity.set_defaults(run=_capacity)

    new = commands.add_parser("new", help="start a spec, empty or from a previous build")
    new.add_argument("name", help="file name without ending, as in my-hut")
    new.add_argument("--from", dest="origin", metavar="OTHER", help="the spec to start from: a name or a path")
    new.add_argument("--title", help="title of the build")
    new.add_argument("--region", default="us-cabin", help="whose rules apply (default %(default)s)")
    new.add_argument("--units", choices=("us", "si"), help="units shown first; left out, the region's")
    new.add_argument("--folder", default="specs", help="folder of specs (default %(default)s)")
    new.set_defaults(run=_new)

    catalog = commands.add_parser("catalog", help="list what a spec may name")
    catalog.add_argument("what", choices=("containers", "regions", "tubing", "units"))
    catalog.set_defaults(run=_catalog)
    return parser


def _site_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--config", default="mkdocs.yml", help="the site's configuration (default %(default)s)")
    parser.add_argument("--strict", action="store_true", help="stop on problems of the input")


# --- check and study ------------------------------------------------------------------------------------------------


def _check(options: argparse.Namespace) -> int:
    from gasdoc.source import Problem, Severity
    from gasdoc.study.check import finding_problems, study_file

    paths = [Path(p) for p in options.specs] or _default_specs()
    problems: list[Problem] = []
    code = FINE
    for path in paths:
        done = study_file(path)
        found = list(done.read.problems)
        if any(p.severity is Severity.ERROR for p in found):
            code = max(code, INPUT)
        if done.study is not None:
            of_build = finding_problems(done.study)
            bad = Severity.WARNING if options.strict else Severity.ERROR
            if any(p.severity >= bad for p in of_build):
                code = max(code, FINDINGS)
            found += of_build
        problems += sorted(found, key=lambda p: p.order)
    if options.format == "json":
        from gasdoc.report.jsonout import check_json, dumps

        print(dumps(check_json(problems, code)))
        return code
    for problem in problems:
        print(problem)
    print(_count(len(paths), problems), file=sys.stderr)
    return code


def _count(specs: int, problems: Sequence[object]) -> str:
    counts = {word: sum(1 for p in problems if str(getattr(p, "severity", "")) == word) for word in ("error", "warning", "note")}
    words = ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts.items() if n) or "nothing found"
    return f"{specs} spec{'s' if specs != 1 else ''}: {words}"


def _default_specs() -> list[Path]:
    from gasdoc.study.check import spec_files

    folder = Path("specs")
    found = list(spec_files(folder)) if folder.is_dir() else []
    if not found:
        raise Refused("there is no spec in the folder specs; name a file, or start one with 'gasdoc new my-hut'")
    return found


def _study(options: argparse.Namespace) -> int:
    from gasdoc.report.jsonout import dumps, study_json
    from gasdoc.study.check import study_file

    done = study_file(Path(options.spec))
    if done.study is None:
        for problem in done.read.problems:
            print(problem, file=sys.stderr)
        return INPUT
    print(dumps(study_json(done.study)))
    return FINDINGS if any(str(f.severity) == "error" for f in done.study.findings) else FINE


# --- capacity -------------------------------------------------------------------------------------------------------


def _capacity(options: argparse.Namespace) -> int:
    from gasdoc import units
    from gasdoc.catalog import tubing
    from gasdoc.study.capacity import Answer, Conditions, look_up

    try:
        length, inlet, drop = (
            float(_positive(units.parse(text, dimension), option))
            for text, dimension, option in (
                (options.path_length, "length", "--path-length"),
                (options.pressure, "pressure", "--pressure"),
                (options.drop, "pressure", "--drop"),
            )
        )
    except units.UnitError as wrong:
        raise Refused(str(wrong)) from None
    if drop >= inlet:
        raise Refused("the drop must be less than the delivered pressure")
    conditions = Conditions(inlet, drop, not options.calculated and options.material != "copper-metric")
    try:
        size = tubing.resolve(options.material, options.type, options.size)
    except tubing.SizeError as wrong:
        readings = ""
        for reading in wrong.readings:
            found = look_up(reading, length, conditions)
            carries = units.both(found.value, "load", "us") if isinstance(found, Answer) else "outside the table"
            readings += f"\n  {reading.label}: {carries}"
        raise Refused(f"{wrong}{readings}") from None
    answer = look_up(size, length, conditions)
    for text in size.warnings:
        print(f"gasdoc: {text}", file=sys.stderr)
    if options.format == "json":
        from gasdoc.report.jsonout import capacity_json, dumps

        print(dumps(capacity_json(size, length, inlet, drop, answer)))
        return FINE if isinstance(answer, Answer) else FINDINGS
    print(f"{size.material}, {size.label}")
    print(f"path from the final regulator to the farthest outlet: {units.both(length, 'run length', 'us')}")
    print(f"delivered {units.both(inlet, 'supply pressure', 'us')}, drop {units.both(drop, 'drop', 'us')}")
    if not isinstance(answer, Answer):
        limit = f" (known up to {units.both(answer.limit, 'run length', 'us')})" if answer.reason == "length" else ""
        print(f"no answer: outside the table{limit}; ask a fitter with the full code table")
        return FINDINGS
    if answer.row_length is not None:
        print(f"row read: {units.both(answer.row_length, 'run length', 'us')}")
    for name, value in (("table", answer.cell), ("equation", answer.equation), ("fit", answer.fit)):
        if value is not None:
            print(f"{name}: {units.both(value, 'load', 'us')}")
    print(f"used: {units.both(answer.value, 'load', 'us')}: {answer.words}")
    print(f"source: {answer.source}")
    return FINE


def _positive(value: float, option: str) -> float:
    if value <= 0:
        raise Refused(f"{option} must be more than zero")
    return value


# --- site -----------------------------------------------------------------------------------------------------------


def _build(options: argparse.Namespace) -> int:
    from gasdoc.plugin import Unusable, build_site

    try:
        return build_site(options.config, options.site_dir, strict=options.strict)
    except Unusable as error:
        raise Refused(str(error)) from None


def _serve(options: argparse.Namespace) -> int:
    from gasdoc.plugin import Unusable, serve_site

    try:
        serve_site(options.config, options.address, strict=options.strict)
    except Unusable as error:
        raise Refused(str(error)) from None
    return FINE


# --- new and catalog ------------------------------------------------------------------------------------------------


def _new(options: argparse.Namespace) -> int:
    from gasdoc.regions import UnknownRegion, region
    from gasdoc.source import decode
    from gasdoc.spec.starter import from_previous, starter
    from gasdoc.spec.supply import slug

    name = slug(options.name)
    if name != options.name:
        raise Refused(f"'{options.name}' cannot name a spec; '{name}' could")
    target = Path(options.folder) / f"{name}.md"
    dropped: Sequence[str] = ()
    if options.origin is not None:
        source = _origin(options.origin, Path(options.folder))
        text, problems = decode(source.read_bytes(), str(source))
        if problems:
            raise Refused(str(problems[0]))
        text, dropped = from_previous(text, name, options.title, source.stem, None)
    else:
        try:
            shown = options.units or region(options.region).units
        except UnknownRegion as unknown:
            raise Refused(str(unknown)) from None
        text = starter(name, options.title or name.replace("-", " ").capitalize(), options.region, shown)
    _write_new(target, text)
    print(f"wrote {target}")
    for what in dropped:
        print(f"left out: {what}", file=sys.stderr)
    print(f"next: fill it in, then gasdoc check {target}", file=sys.stderr)
    return FINE


def _origin(name: str, folder: Path) -> Path:
    for path in (Path(name), folder / f"{name}.md", folder / name):
        if path.is_file():
            return path
    raise Refused(f"there is no spec '{name}'; give its path, or its name in the folder {folder}")


def _write_new(target: Path, text: str) -> None:
    """Write a file that is not there yet; what stands there is never lost."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with target.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise Refused(f"{target} is there already; choose another name") from None
    except OSError as error:
        raise Refused(f"cannot write {target}: {(error.strerror or 'unknown reason').lower()}") from None


def _catalog(options: argparse.Namespace) -> int:
    from gasdoc import units
    from gasdoc.catalog import containers, tubing
    from gasdoc.regions import region, region_ids

    if options.what == "containers":
        for kind_id in containers.kind_ids():
            print(f"{kind_id:26} {containers.container_kind(kind_id).names[0]}")
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


if __name__ == "__main__":
    sys.exit(main())
