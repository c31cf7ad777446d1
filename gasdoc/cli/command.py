"""The gasdoc command: a thin front on the same code as the site. Results go to stdout, everything else to stderr.

Exit codes: 0 fine; 1 a spec is well formed but has findings at error level; 2 input, options or a program that cannot
be used; 3 gasdoc itself fails; 130 interrupted.
"""

from __future__ import annotations

import argparse
import datetime as dt
import gc
import io
import os
import re
import sys
import traceback
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from gasdoc import __version__
from gasdoc.machine import inside

if TYPE_CHECKING:
    from gasdoc.folder.changed import ChangedKey
    from gasdoc.folder.shared_records import Records
    from gasdoc.report.site import Site
    from gasdoc.source import Problem
    from gasdoc.study import Study
    from gasdoc.study.proof.standing import Standing
    from gasdoc.units import System

FINE, FINDINGS, INPUT, DEFECT, INTERRUPTED = 0, 1, 2, 3, 130

_NAMED = 5
"""So many names stand in a line; the others are counted."""

_Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001  # argparse has no other name for it


class Checked(NamedTuple):
    """A checked build: how far it has got, in words too, and the keys that have changed since a stale record."""

    path: str
    standing: Standing
    words: str
    changed: tuple[ChangedKey, ...]


class Looked(NamedTuple):
    """What a check has to say of one spec: problems of the text, findings about the build, and the build if there is one;
    whether it is a draft, and whether gasdoc itself failed on it."""

    problems: tuple[Problem, ...]
    findings: tuple[Problem, ...]
    checked: Checked | None
    draft: bool = False
    failed: bool = False


class Refused(Exception):
    """Something that cannot be done as asked; the message says what would be right."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code."""
    _open_streams()
    try:
        options = parser().parse_args(arguments)
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except Refused as refused:
        _say(str(refused))
        return INPUT
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader of our output has gone; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except OSError as error:  # a full disk, most likely
        if error.filename is None:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        _say(f"{error.filename or 'the output'}: {(error.strerror or 'cannot be written').lower()}")
        return INPUT
    except Exception as error:  # noqa: BLE001  # whatever it is, it is ours, and has an exit code of its own
        return _failed(error)


def _open_streams() -> None:
    """See to it that what is printed has somewhere to go: a shell may have closed a stream, a console may know few letters."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, Path(os.devnull).open("w", encoding="utf-8"))  # noqa: SIM115  # open as long as we run
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _say(message: str) -> None:
    """Say on stderr what cannot be done, or what goes wrong."""
    from gasdoc.source import printable_lines

    print(f"gasdoc: {printable_lines(message)}", file=sys.stderr)


def _print(text: str, *, aside: bool = False) -> None:
    """Print one line that may have a file's name in it; `aside` says that it is no result and goes to stderr."""
    from gasdoc.source import printable

    print(printable(text), file=sys.stderr if aside else sys.stdout)


def _failed(error: Exception) -> int:
    """Say that gasdoc itself fails, with the place in the code, or that its data is damaged; the exit code."""
    from gasdoc.data import DataError

    if isinstance(error, DataError):
        _say(f"a data file of gasdoc is damaged: {error}; mend it, or install gasdoc again")
        return INPUT
    if os.environ.get("GASDOC_TRACEBACK"):
        traceback.print_exception(error)
    last = traceback.extract_tb(error.__traceback__)[-1]
    what = "".join(traceback.format_exception_only(error)).strip()
    _say(
        f"this is a defect of gasdoc: {what} "
        f"({Path(last.filename).name}:{last.lineno}); report it with the same command under GASDOC_TRACEBACK=1"
    )
    return DEFECT


def command() -> None:
    """The command as a program: as `main`, and then the process ends.

    After a check it ends at once. There is nothing left to close then, and to take down a hundred thousand objects one by
    one would be a tenth of the time of the whole check.
    """
    code = main()
    if sys.argv[1:2] == ["check"]:
        for stream in (sys.stdout, sys.stderr):
            with suppress(OSError):
                stream.flush()
        os._exit(code)
    sys.exit(code)


def parser() -> argparse.ArgumentParser:
    """The command line, from which the reference is made too."""
    made = argparse.ArgumentParser(
        prog="gasdoc",
        description="One text file per propane build becomes a site of install reports. "
        "It computes; it does not certify.",
        epilog="examples:\n  gasdoc new my-hut --region us-cabin\n  gasdoc check my-hut\n  gasdoc build\n\n"
        "exit codes:\n  0    done; check, build and study found nothing at error level\n"
        "  1    a spec can be read, and something in the build is wrong\n"
        "  2    a spec, an option, a file or a program cannot be used\n"
        "  3    gasdoc itself fails\n  130  interrupted",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    made.add_argument("--version", action="version", version=f"gasdoc {__version__}")
    commands = made.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for add in (
        _add_check,
        _add_build,
        _add_pdf,
        _add_serve,
        _add_study,
        _add_capacity,
        _add_new,
        _add_compare,
        _add_init,
        _add_schema,
        _add_catalog,
        _add_completion,
    ):
        add(commands)
    return made


def _command(commands: _Commands, name: str, what: str, *examples: str) -> argparse.ArgumentParser:
    """A command with its examples, one a line."""
    return commands.add_parser(
        name,
        help=what,
        description=f"{what[0].upper()}{what[1:]}.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="examples:\n" + "\n".join(f"  {example}" for example in examples),
    )


def _loudness(parser: argparse.ArgumentParser, quiet: str, verbose: str) -> None:
    """How much a command says beside its results."""
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("-q", "--quiet", action="store_true", help=quiet)
    choice.add_argument("-v", "--verbose", action="store_true", help=verbose)


def _level(options: argparse.Namespace) -> int:
    """From which level on MkDocs' messages are printed."""
    import logging

    return logging.ERROR if options.quiet else logging.INFO if options.verbose else logging.WARNING


def _site_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--config", default="mkdocs.yml", help="the site's configuration (default %(default)s)")
    parser.add_argument("--strict", action="store_true", help="stop on problems of the input")


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text[:60]}' is no date; write it as in 2026-11-30") from None


def _print_file(text: str, end: str = "\n") -> None:
    """Print what a program will read: UTF-8 with LF line ends, whatever those of the console are."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8", errors="backslashreplace", newline="\n")
    print(text, end=end)


# --- check and study ------------------------------------------------------------------------------------------------


def _add_check(commands: _Commands) -> None:
    check = _command(
        commands,
        "check",
        "say everything that is wrong with specs",
        "gasdoc check",
        "gasdoc check specs/my-hut.md --verbose",
        "gasdoc check --strict --format github",
    )
    check.add_argument(
        "specs", nargs="*", help="spec files, or names of builds in the folder specs; left out, every spec in it"
    )
    check.add_argument(
        "--format",
        choices=("text", "json", "github", "sarif"),
        default="text",
        help="text, JSON, annotations of a forge's workflow, or SARIF 2.1.0 (default %(default)s)",
    )
    check.add_argument("--strict", action="store_true", help="count warnings as errors")
    check.add_argument(
        "--as-of",
        type=_day,
        metavar="DATE",
        help="say what upkeep is overdue on this date, as in 2026-11-30 (default today)",
    )
    _loudness(check, "leave out the count and the standing", "show the line each problem is in")
    check.set_defaults(run=_check)


def _check(options: argparse.Namespace) -> int:
    # No plugin of pydantic's has a part in this, and looking for one reads the metadata of every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    gc.disable()  # what is imported stays; looking through it for garbage takes a tenth of a check
    import gasdoc.folder.check  # noqa: F401  # nearly all that is imported at all

    gc.freeze()
    gc.enable()
    # The only clock in gasdoc: nothing but this command ever says that a date has passed.
    as_of = options.as_of or dt.date.today()  # noqa: DTZ011  # the day where the reader is
    paths, about_folder = _chosen(options.specs)
    checked = _checked(paths, as_of, strict=options.strict)
    problems = [*about_folder, *checked.problems]
    code = max(checked.code, _code(about_folder, about_folder, strict=options.strict))
    problems = list(
        dict.fromkeys(problems)
    )  # what is wrong with the project's own files is told once, not by every spec
    if options.format in ("json", "sarif"):
        from gasdoc.report.diagnostics import sarif
        from gasdoc.report.jsonout import check_json, dumps

        _print_file(
            dumps(
                sarif(problems)
                if options.format == "sarif"
                else check_json(problems, code, [(c.path, c.standing, c.changed) for c in checked.builds])
            )
        )
        return code
    if options.format == "github":
        from gasdoc.report.diagnostics import github

        print(*github(problems), sep="\n", end="\n" if problems else "")
    else:
        from gasdoc.machine.terminal import coloured, colours

        on = colours(sys.stdout)
        for problem in problems:
            print(coloured(str(problem), str(problem.severity), on=on))
            if options.verbose:
                print(*_line_of(problem), sep="\n")
    if not options.quiet:
        print(_count(len(paths), checked.drafts, problems), file=sys.stderr)
        for one in checked.builds:
            for line in _standing_lines(one):
                _print(line, aside=True)
    return code


def _look(path: Path, as_of: dt.date, held: Records) -> Looked:
    """What there is to say of one spec. One that takes too much memory, or has a number that is too large to be true, is a
    problem of that spec only, and so is a defect of ours."""
    from gasdoc.data import DataError
    from gasdoc.folder.check import failure_problem, finding_problems, study_file
    from gasdoc.study.proof.standing import summary

    try:
        done = study_file(path, as_of=as_of, day=as_of, held=held)
        if done.study is None:
            return Looked(done.read.problems, (), None, done.read.draft)
        standing = done.study.standing
        checked = Checked(str(path), standing, summary(done.study.build, standing), _changed(path, done.study))
        return Looked(done.read.problems, tuple(finding_problems(done.study)), checked, done.read.draft)
    except (MemoryError, OverflowError, RecursionError) as error:
        return Looked((failure_problem(error, str(path)),), (), None)
    except DataError:
        raise  # every spec would fail alike
    except Exception as error:  # noqa: BLE001  # whatever it is, it is ours
        return Looked((failure_problem(error, str(path)),), (), None, failed=True)


def _held(paths: Sequence[Path]) -> dict[Path, Records]:
    """The records that specs share, by the folder of what is checked."""
    from gasdoc.folder.check import folder_records

    return {folder: folder_records(folder) for folder in {path.parent for path in paths}}


def _folder_problems(folder: Path, pages: Iterable[str]) -> list[Problem]:
    """What is wrong with a folder of specs beside its specs."""
    from gasdoc.folder.check import folder_problems, page_links
    from gasdoc.report.own_files import may_replace, theme_files

    configuration = (
        Path("mkdocs.yml").read_text(encoding="utf-8", errors="replace") if Path("mkdocs.yml").is_file() else ""
    )
    return folder_problems(
        folder, theme_files(Path("site_templates")), page_links(folder, pages), partial(may_replace, configuration)
    )


def _changed(path: Path, made: Study) -> tuple[ChangedKey, ...]:
    """The keys that have changed since a stale record, as far as git knows its spec then. git is asked for a stale code only."""
    from gasdoc.study.proof.standing import stale_codes

    if not any(stale_codes(made.build, made.standing)):
        return ()
    from gasdoc.folder.changed import changed
    from gasdoc.folder.provenance import past_texts

    return changed(made.build, made.standing, past_texts(path))


def _standing_lines(one: Checked) -> Iterator[str]:
    codes = one.standing.codes
    yield f"{one.path}: {one.words}"
    yield f"  tightness code {codes.tightness}: for 'covers:' of a test"
    yield f"  build code {codes.build}: for 'covers:' of the sign-off"
    if one.changed:
        yield "  changed since a record was made:"
        yield from (f"    {c.key}: {c.before or 'not stated'} -> {c.after or 'not stated'}" for c in one.changed)


class Results(NamedTuple):
    """What was found in some specs: problems and findings in their order, the builds, how many are drafts, the exit code."""

    problems: list[Problem]
    builds: list[Checked]
    drafts: int
    code: int


def _checked(paths: Sequence[Path], as_of: dt.date, *, strict: bool) -> Results:
    """Specs read and studied. One that gasdoc itself fails on does not keep the others from being checked."""
    from gasdoc.folder.check import limit_problem
    from gasdoc.machine import limited

    problems: list[Problem] = []
    builds: list[Checked] = []
    drafts, code = 0, FINE
    held = _held(paths)

    def look(some: Sequence[Path], begun: Callable[[int], None]) -> Iterator[Looked]:
        for place, path in enumerate(some):
            begun(place)
            yield _look(path, as_of, held[path.parent])

    def lost(path: Path, reason: limited.Reason) -> Looked:
        return Looked((limit_problem(str(path), reason),), (), None)

    for looked in limited.one_by_one(look, paths, lost):
        found = [*looked.problems, *looked.findings]
        problems += sorted(found, key=lambda p: p.order)
        drafts += looked.draft
        code = max(code, _code(looked.problems, found if looked.checked is not None else (), strict=strict))
        if looked.failed:
            code = DEFECT
        if looked.checked is not None:
            builds.append(looked.checked)
    return Results(problems, builds, drafts, code)


def _code(of_input: Sequence[Problem], of_all: Sequence[Problem], *, strict: bool) -> int:
    """The exit code for problems of the input, and for those together with what was found about a build."""
    from gasdoc.source import Severity

    if any(problem.counts(Severity.ERROR) for problem in of_input):
        return INPUT
    bad = Severity.WARNING if strict else Severity.ERROR
    return FINDINGS if any(problem.counts(bad) for problem in of_all) else FINE


def _line_of(problem: Problem) -> list[str]:
    """The line of the file a problem is in, with a caret below its column; nothing where the file has no such line."""
    from gasdoc.source import MAX_BYTES

    file = Path(problem.path)
    try:
        lines = inside.read(file, file.parent, MAX_BYTES).decode("utf-8-sig", "replace").split("\n")
    except OSError:
        return []
    if not 0 < problem.line <= len(lines):
        return []
    text = "".join(c if c.isprintable() else " " for c in lines[problem.line - 1])
    number = f"{problem.line:>5} | "
    return [number + text, " " * (len(number) + problem.column - 1) + "^"]


def _count(specs: int, drafts: int, problems: Sequence[Problem]) -> str:
    counted = [problem for problem in problems if not problem.draft]
    counts = {word: sum(str(p.severity) == word for p in counted) for word in ("error", "warning", "note")}
    words = ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts.items() if n) or "nothing found"
    of_drafts = len(problems) - len(counted)
    more = f"; {of_drafts} in drafts, not counted" if of_drafts else ""
    in_all = f"{specs} spec{'s' if specs != 1 else ''}" + (f", {drafts} of them drafts" if drafts else "")
    return f"{in_all}: {words}{more}"


def _named(name: str) -> Path:
    """The file that a path, or the name of a build in the folder specs, means."""
    path = Path(name)
    return path if path.exists() or path.name != name or path.suffix == ".md" else Path("specs") / f"{name}.md"


def _chosen(names: Sequence[str]) -> tuple[list[Path], list[Problem]]:
    """The specs to check, and what is wrong in their folder: all of it, or what is about the files that were named."""
    from gasdoc.folder.contents import contents, is_page

    folder = Path("specs")
    if names:
        named = [path for path in map(_named, names) if not is_page(path)]
        around = {path.parent for path in named if path.parent.name == folder.name and path.parent.is_dir()}
        beside = [problem for parent in sorted(around) for problem in contents(parent).problems]
        wanted = set(map(str, named))
        return named, [problem for problem in beside if problem.path in wanted]
    found = contents(folder) if folder.is_dir() else None
    if found is None or not (found.specs or found.twins or found.problems):
        raise Refused(
            "there is no spec in the folder specs; name a file, or start one with 'gasdoc new my-hut --region us-cabin'"
        )
    about = [*found.problems, *_folder_problems(folder, found.pages)]
    return sorted((*found.specs, *found.twins)), about


def _add_study(commands: _Commands) -> None:
    study = _command(
        commands,
        "study",
        "print everything computed for one spec",
        "gasdoc study specs/my-hut.md > my-hut.json",
    )
    study.add_argument("spec", help="the spec file")
    study.add_argument("--format", choices=("json",), default="json", help="JSON, one documented unit a field")
    study.set_defaults(run=_study)


def _study(options: argparse.Namespace) -> int:
    from gasdoc.folder.check import finding_problems, study_file
    from gasdoc.report.jsonout import dumps, study_json

    path = _named(options.spec)
    today = dt.date.today()  # noqa: DTZ011  # the day where the reader is
    done = study_file(path, day=today, held=_held([path])[path.parent])
    if done.study is None:
        for problem in done.read.problems:
            print(problem, file=sys.stderr)
        return INPUT
    _print_file(dumps(study_json(done.study, _changed(path, done.study))))
    return _code((), finding_problems(done.study), strict=False)


# --- capacity -------------------------------------------------------------------------------------------------------


def _add_capacity(commands: _Commands) -> None:
    capacity = _command(
        commands,
        "capacity",
        "what a size of tubing carries",
        "gasdoc capacity copper '1/2 in OD' --type L --path-length '32 ft'",
        "gasdoc capacity csst 'EHD 18' --path-length '40 ft'",
        "gasdoc capacity copper-metric '10 x 1 mm' --path-length '6 m' --pressure '30 mbar' --drop '1.5 mbar'",
    )
    capacity.add_argument("material", help="copper, copper-metric, csst, steel or pe")
    capacity.add_argument("size", help="as in a spec: '1/2 in OD', 'EHD 18', '3/4 in', '15 x 1 mm'")
    capacity.add_argument("--type", help="type of inch copper: K or L")
    capacity.add_argument(
        "--path-length",
        required=True,
        help="from the final regulator to the farthest outlet, as in '32 ft'; never the run's own length",
    )
    capacity.add_argument("--pressure", default="11 inH2O", help="delivered pressure, gauge (default %(default)s)")
    capacity.add_argument("--drop", default="0.5 inH2O", help="pressure drop allowed (default %(default)s)")
    capacity.add_argument("--calculated", action="store_true", help="calculate by Darcy-Weisbach, without code tables")
    capacity.add_argument("--format", choices=("text", "json"), default="text", help="default %(default)s")
    capacity.set_defaults(run=_capacity)


def _capacity(options: argparse.Namespace) -> int:
    from gasdoc import units
    from gasdoc.catalog import tubing
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
    conditions = Conditions(inlet, drop, not options.calculated and options.material != "copper-metric")
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

        _print_file(dumps(capacity_json(size, length, inlet, drop, answer)))
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


# --- site -----------------------------------------------------------------------------------------------------------


def _add_build(commands: _Commands) -> None:
    build = _command(
        commands,
        "build",
        "build the site",
        "gasdoc build",
        "gasdoc build --strict --site-dir public",
    )
    build.add_argument("--site-dir", help="where the site goes; left out, as the configuration says")
    _site_options(build)
    _loudness(build, "print errors only", "print what MkDocs does, too")
    build.set_defaults(run=_build)


def _build(options: argparse.Namespace) -> int:
    from gasdoc.host.plugin import Unusable, build_site
    from gasdoc.machine.terminal import Progress

    progress = Progress(sys.stderr, quiet=options.quiet or options.verbose)
    sites: list[Site] = []
    try:
        code = build_site(
            options.config,
            options.site_dir,
            strict=options.strict,
            level=_level(options),
            progress=progress,
            on_made=sites.append,
        )
        progress.clear()
        if not options.quiet:
            _print(_built(sites[0]), aside=True)
        return code
    except Unusable as error:
        progress.clear()
        raise Refused(str(error)) from None
    finally:
        progress.clear()


def _built(site: Site) -> str:
    """What was built and what was left out, in one line."""

    def named(names: Sequence[str]) -> str:
        shown = ", ".join(names[:_NAMED])
        return f"{shown} and {len(names) - _NAMED} more" if len(names) > _NAMED else shown

    number = len(site.builds)
    parts = [f"the site is built: {number} build{'s' if number != 1 else ''}"]
    if site.unreadable:
        parts.append(f"{len(site.unreadable)} with a page of problems only ({named(site.unreadable)})")
    if site.drafts:
        parts.append(f"{len(site.drafts)} draft{'s' if len(site.drafts) != 1 else ''} ({named(site.drafts)})")
    if site.left_out:
        parts.append(f"left out: {named(site.left_out)}")
    if site.errors_found:
        parts.append("there are findings at error level, and 'gasdoc check' says which")
    return "; ".join(parts)


def _add_pdf(commands: _Commands) -> None:
    pdf = _command(
        commands,
        "pdf",
        "print builds to PDF: the whole record, the sheet for the test day, the sheet for the door",
        "gasdoc pdf specs/my-hut.md",
        "gasdoc pdf --all --out print --paper a4",
    )
    pdf.add_argument("specs", nargs="*", metavar="spec", help="spec files, or names of specs")
    pdf.add_argument("--all", action="store_true", help="every build of the site")
    pdf.add_argument("--out", default="pdf", help="folder the files go to (default %(default)s)")
    pdf.add_argument("--paper", choices=("letter", "a4"), help="left out, Letter for builds in US units, else A4")
    pdf.add_argument("--config", default="mkdocs.yml", help="the site's configuration (default %(default)s)")
    _loudness(pdf, "print errors only", "print what MkDocs does, too")
    pdf.set_defaults(run=_pdf)


def _pdf(options: argparse.Namespace) -> int:
    import tempfile

    from gasdoc.host import pdf
    from gasdoc.host.plugin import Unusable, build_site
    from gasdoc.machine.terminal import Progress

    wanted = [Path(name).stem if name.endswith(".md") else name for name in options.specs]
    if options.all == bool(wanted):
        raise Refused("name the specs to print, or ask for --all")
    progress = Progress(sys.stderr, quiet=options.quiet or options.verbose)
    sites: list[Site] = []
    try:
        browser = pdf.find_browser()
        with tempfile.TemporaryDirectory(prefix="gasdoc-") as folder:
            code = build_site(
                options.config,
                str(Path(folder, "site")),
                strict=False,
                level=_level(options),
                progress=progress,
                on_made=sites.append,
            )
            papers = {build.slug: "letter" if build.units == "us" else "a4" for build in sites[0].builds}
            if unknown := [slug for slug in wanted if slug not in papers]:
                raise Refused(f"there is no build '{unknown[0]}' on this site; there are {', '.join(papers) or 'none'}")
            slugs = wanted or list(papers)
            written = []
            for number, slug in enumerate(slugs, 1):
                progress("printing builds:", number, len(slugs))
                for section, ending in pdf.SHEETS.items():
                    target = Path(options.out) / f"{slug}{ending}.pdf"
                    page = pdf.page_of(Path(folder, "site"), slug, section)
                    pdf.print_page(browser, Path(folder, "browser"), page, options.paper or papers[slug], target)
                    written.append(target)
    except (Unusable, pdf.Unprintable) as error:
        progress.clear()
        raise Refused(str(error)) from None
    except OSError as error:
        progress.clear()
        raise Refused(
            f"cannot write {error.filename or options.out}: {(error.strerror or 'unknown reason').lower()}"
        ) from None
    finally:
        progress.clear()
    for target in written:
        _print(f"wrote {target}")
    return code


def _add_serve(commands: _Commands) -> None:
    serve = _command(
        commands,
        "serve",
        "serve the site and rebuild it when a spec changes",
        "gasdoc serve",
        "gasdoc serve --address 127.0.0.1:8080",
    )
    _site_options(serve)
    serve.add_argument("--address", default="127.0.0.1:8000", help="host:port (default %(default)s)")
    _loudness(serve, "print errors only", "print what MkDocs does, too")
    serve.set_defaults(run=_serve)


def _serve(options: argparse.Namespace) -> int:
    import signal

    from gasdoc.host.plugin import Unusable, serve_site

    def end(*_: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, end)  # so that what was made to be served is taken away again

    def announce(address: str) -> None:
        if not options.quiet:
            print(f"serving at {address} once it is built; Ctrl-C ends it", file=sys.stderr, flush=True)

    try:
        serve_site(options.config, options.address, strict=options.strict, announce=announce, level=_level(options))
    except Unusable as error:
        raise Refused(str(error)) from None
    return FINE


# --- compare --------------------------------------------------------------------------------------------------------


def _add_compare(commands: _Commands) -> None:
    compare = _command(
        commands,
        "compare",
        "say what differs between two builds, or between two revisions of one",
        "gasdoc compare bakery-trailer my-trailer",
        "gasdoc compare my-hut@HEAD",
        "gasdoc compare my-hut@v1 my-hut@v2",
    )
    compare.add_argument(
        "before", help="a spec: a path or a name in the folder, with @REVISION for what git has of it then"
    )
    compare.add_argument("after", nargs="?", help="the same; left out, the first spec as it is now")
    compare.add_argument("--folder", default="specs", help="folder of specs (default %(default)s)")
    compare.add_argument("--format", choices=("text", "json"), default="text", help="default %(default)s")
    compare.set_defaults(run=_compare)


def _compare(options: argparse.Namespace) -> int:
    from gasdoc.folder.compare import compare, lines

    folder = Path(options.folder)
    first, revision = _at_revision(options.before)
    if options.after is None and revision is None:
        raise Refused(f"name a second spec, or a revision of this one, as in '{first}@HEAD'")
    before = _studied(first, revision, folder)
    after = _studied(*_at_revision(options.after or first), folder)
    if before is None or after is None:
        return INPUT
    found = compare(before, after)
    if options.format == "json":
        from gasdoc.report.jsonout import compare_json, dumps

        _print_file(dumps(compare_json(found)))
        return FINE
    _print(f"{before.build.path} -> {after.build.path}")
    for line in lines(found) or ["nothing that is compared differs"]:
        _print(line)
    return FINE


def _at_revision(text: str) -> tuple[str, str | None]:
    """A spec and the revision behind its first @, if there is one. A file whose name has an @ goes by its whole name."""
    name, mark, revision = text.partition("@")
    return (name, revision) if mark and name and not Path(text).is_file() else (text, None)


def _studied(name: str, revision: str | None, folder: Path) -> Study | None:
    """The study of one side; None, its problems printed, if the spec cannot be taken."""
    from gasdoc.build.reader import read_file, read_spec
    from gasdoc.folder.check import study_of
    from gasdoc.folder.provenance import RevisionError, text_at
    from gasdoc.study.materials.own_files import read_own

    path = _origin(name, folder, revision)
    try:
        if revision is None:
            read = read_file(path)
        else:
            read = read_spec(text_at(path, revision), f"{path}@{revision}", path.stem)
    except RevisionError as error:
        raise Refused(str(error)) from None
    own, problems = read_own(path.parent)  # the project's parts and prices of now, for every revision
    done = study_of(read, None, own, problems)
    if done.study is None:
        for problem in done.read.problems:
            print(problem, file=sys.stderr)
    return done.study


# --- new, init, schema, catalog ------------------------------------------------------------------------------------------------


def _add_new(commands: _Commands) -> None:
    new = _command(
        commands,
        "new",
        "start a spec, empty or from a previous build",
        "gasdoc new my-hut --region us-cabin --title 'My Hut'",
        "gasdoc new my-second-hut --from my-hut",
        "gasdoc new my-third-hut --from my-hut --at v1",
    )
    new.add_argument("name", help="file name without ending, as in my-hut")
    new.add_argument("--from", dest="origin", metavar="OTHER", help="the spec to start from: a name or a path")
    new.add_argument("--at", metavar="REVISION", help="the revision of OTHER to start from; left out, as it is now")
    new.add_argument("--title", help="title of the build")
    new.add_argument("--region", help="whose rules apply, from 'gasdoc catalog regions'; needed unless --from is given")
    new.add_argument("--units", choices=("us", "si"), help="units shown first; left out, the region's")
    new.add_argument("--folder", default="specs", help="folder of specs (default %(default)s)")
    new.set_defaults(run=_new)


def _new(options: argparse.Namespace) -> int:
    from gasdoc.build.starter import from_previous, starter
    from gasdoc.build.supply import slug
    from gasdoc.regions import UnknownRegion, region, region_ids
    from gasdoc.source import decode

    name = slug(options.name)
    if name != options.name:
        raise Refused(f"'{options.name}' cannot name a spec; '{name}' could")
    target = Path(options.folder) / f"{name}.md"
    dropped: Sequence[str] = ()
    if options.origin is not None:
        if options.region or options.units:
            raise Refused(
                "--region and --units are for an empty spec; a copy has what its original has, so change them in the copy"
            )
        from gasdoc.folder.provenance import RevisionError, last_commit, lasting, text_at
        from gasdoc.source import MAX_BYTES

        source = _origin(options.origin, Path(options.folder), options.at)
        try:
            raw = (
                inside.read(source, source.parent, MAX_BYTES + 1) if options.at is None else text_at(source, options.at)
            )
            # What is copied is the text of a commit, unless it has changes of its own: then no revision has it.
            commit = last_commit(source) if options.at is None else None
            revision = (
                lasting(source.parent, options.at) if options.at is not None else commit.short if commit else None
            )
        except RevisionError as error:
            raise Refused(str(error)) from None
        text, problems = decode(raw, str(source))
        if problems:
            raise Refused(str(problems[0]))
        try:
            text, dropped = from_previous(text, name, options.title, source.stem, revision)
        except ValueError as error:
            raise Refused(str(error)) from None
    else:
        if options.region is None:
            raise Refused(f"whose rules apply? Give --region, one of: {', '.join(region_ids())}")
        try:
            shown = options.units or region(options.region).units
        except UnknownRegion as unknown:
            raise Refused(str(unknown)) from None
        text = starter(name, options.title or name.replace("-", " ").capitalize(), options.region, shown)
    _write_new(target, text)
    _print(f"wrote {target}")
    for what in dropped:
        _print(f"left out: {what}", aside=True)
    _print(f"next: fill it in, then gasdoc check {target}", aside=True)
    return FINE


def _origin(name: str, folder: Path, revision: str | None) -> Path:
    """The file a name or path means; at a revision it may be gone from the folder since."""
    for path in (Path(name), folder / f"{name}.md", folder / name):
        if path.is_file():
            return path
    if revision is not None:
        return Path(name) if name.endswith(".md") else folder / f"{name}.md"
    raise Refused(f"there is no spec '{name}'; give its path, or its name in the folder {folder}")


def _write_new(target: Path, text: str) -> None:
    """Write a file that is not there yet; what stands there is never lost."""
    from gasdoc.machine.writing import write_new

    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_new(target, text.encode())
    except FileExistsError:
        raise Refused(f"{target} is there already; choose another name") from None
    except OSError as error:
        raise Refused(f"cannot write {target}: {(error.strerror or 'unknown reason').lower()}") from None


def _add_init(commands: _Commands) -> None:
    init = _command(
        commands,
        "init",
        "lay out a new repository of builds",
        "gasdoc init",
        "gasdoc init ~/builds",
        "gasdoc init --renew-lock",
    )
    init.add_argument("folder", nargs="?", default=".", help="where (default: here); files that are there already stay")
    init.add_argument(
        "--renew-lock",
        action="store_true",
        help="write requirements.txt again, as this gasdoc needs it, and nothing else",
    )
    init.set_defaults(run=_init)


def _init(options: argparse.Namespace) -> int:
    from gasdoc.folder.project import InTheWay, lay_out, renew_lock

    folder = Path(options.folder)
    try:
        written = [renew_lock(folder)] if options.renew_lock else lay_out(folder)
    except InTheWay as error:
        raise Refused(str(error)) from None
    for path in written:
        _print(f"wrote {path}")
    if options.renew_lock:
        return FINE
    print("next: read README.md there; gasdoc check and gasdoc build work from the start", file=sys.stderr)
    print("before you push: put the wheel of gasdoc into wheel/; README.md says which", file=sys.stderr)
    return FINE


def _add_schema(commands: _Commands) -> None:
    schema = _command(
        commands,
        "schema",
        "print the JSON Schema of a spec's front matter, for editors",
        "gasdoc schema > schema.json",
    )
    schema.set_defaults(run=_schema)


def _schema(_options: argparse.Namespace) -> int:
    from gasdoc.build.schema import schema_text

    _print_file(schema_text(), end="")
    return FINE


def _add_completion(commands: _Commands) -> None:
    completion = _command(
        commands,
        "completion",
        "print what a shell needs to complete this command",
        'eval "$(gasdoc completion bash)"',
        "gasdoc completion fish > ~/.config/fish/completions/gasdoc.fish",
    )
    completion.add_argument("shell", choices=("bash", "zsh", "fish"), help="which shell")
    completion.set_defaults(run=_completion)


def _completion(options: argparse.Namespace) -> int:
    from gasdoc.cli.completion import completion

    _print_file(completion(parser(), options.shell), end="")
    return FINE


def _add_catalog(commands: _Commands) -> None:
    catalog = _command(
        commands,
        "catalog",
        "list what a spec may name",
        "gasdoc catalog regions",
        "gasdoc catalog containers",
    )
    catalog.add_argument(
        "what",
        metavar="what",
        choices=("containers", "parts", "regions", "tubing", "units"),
        help="containers, parts, regions, tubing or units",
    )
    catalog.set_defaults(run=_catalog)


def _catalog(options: argparse.Namespace) -> int:
    from gasdoc import units
    from gasdoc.catalog import containers, tubing
    from gasdoc.regions import region, region_ids

    if options.what == "containers":
        for kind_id in containers.kind_ids():
            print(f"{kind_id:26} {containers.container_kind(kind_id).names[0]}")
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


if __name__ == "__main__":
    sys.exit(main())
