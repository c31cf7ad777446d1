"""`gasdoc check`: everything that is wrong with specs."""

from __future__ import annotations

import argparse
import datetime as dt
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from gasdoc.cli.output import DEFECT, FINDINGS, FINE, INPUT, print_file, print_line
from gasdoc.data import DataError
from gasdoc.folder.changed import ChangedKey
from gasdoc.folder.check import (
    failure_problem,
    finding_problems,
    folder_problems,
    folder_records,
    limit_problem,
    page_links,
    study_file,
)
from gasdoc.folder.contents import contents, is_page
from gasdoc.folder.shared_records import Records
from gasdoc.machine import inside, limited
from gasdoc.machine.terminal import coloured, colours
from gasdoc.report.pages.shipped_files import may_replace, theme_files
from gasdoc.source import MAX_BYTES, Problem, Severity, printable
from gasdoc.study import Study
from gasdoc.study.answers import Answers
from gasdoc.study.proof.standing import Standing, stale_codes, summary
from gasdoc.study.referral.worklist import Worklist, is_planned
from gasdoc.wrong import Refused


class Checked(NamedTuple):
    """A checked build: how far it has got, in words too, what is still to be chosen, and the keys that have changed since a
    stale record. `worklist` has what is open; `is_planned`: it is told, because nothing stands yet. It and `answers` are None
    where nobody asks for them: they take longer than the rest."""

    path: str
    standing: Standing
    words: str
    open: tuple[str, ...]
    changed: tuple[ChangedKey, ...]
    worklist: Worklist | None
    is_planned: bool
    answers: Answers | None


class Looked(NamedTuple):
    """What a check has to say of one spec: problems of the text, findings about the build, and the build if there is one;
    whether it is a draft, and whether gasdoc itself failed on it."""

    problems: tuple[Problem, ...]
    findings: tuple[Problem, ...]
    checked: Checked | None
    draft: bool = False
    failed: bool = False


def check(options: argparse.Namespace) -> int:
    """Print everything that is wrong with the specs, or with all in the folder; the exit code."""
    # The only clock in gasdoc: nothing but this command ever says that a date has passed.
    as_of = options.as_of or dt.date.today()  # noqa: DTZ011  # the day where the reader is
    paths, about_folder = _chosen(options.specs)
    checked = _checked(paths, as_of, strict=options.strict, answered=options.format == "json")
    problems = [*about_folder, *checked.problems]
    code = max(checked.code, exit_code(about_folder, about_folder, strict=options.strict))
    problems = list(
        dict.fromkeys(problems)
    )  # what is wrong with the project's own files is told once, not by every spec
    if options.format in ("json", "sarif"):
        from gasdoc.report.formats.diagnostics import sarif
        from gasdoc.report.formats.jsonout import check_json, dumps

        print_file(
            dumps(
                sarif(problems)
                if options.format == "sarif"
                else check_json(
                    problems, code, [(c.path, c.standing, c.changed, c.answers, c.worklist) for c in checked.builds]
                )
            )
        )
        return code
    if options.format == "github":
        from gasdoc.report.formats.diagnostics import github

        print(*github(problems), sep="\n", end="\n" if problems else "")
    else:
        on = colours(sys.stdout)
        for problem in problems:
            print(coloured(str(problem), str(problem.severity), on=on))
            if options.verbose:
                print(*_line_of(problem), sep="\n")
        for one in checked.builds:
            for line in _work_lines(one):
                print_line(line)
    if not options.quiet:
        print(_count(len(paths), checked.drafts, problems), file=sys.stderr)
        for one in checked.builds:
            for line in _standing_lines(one):
                print_line(line, aside=True)
    return code


def _look(path: Path, as_of: dt.date, records: Records, *, answered: bool) -> Looked:
    """What there is to say of one spec. One that takes too much memory, or has a number that is too large to be true, is a
    problem of that spec only, and so is a defect of ours."""
    try:
        done = study_file(path, as_of=as_of, day=as_of, records=records)
        if done.study is None:
            return Looked(done.read.problems, (), None, done.read.draft)
        standing = done.study.standing
        planned = is_planned(done.study.build, standing)
        words, changed = summary(done.study.build, standing), changed_keys(path, done.study)
        checked = Checked(
            str(path),
            standing,
            words,
            done.study.build.open,
            changed,
            done.study.worklist if answered or planned else None,
            planned,
            done.study.answers if answered else None,
        )
        return Looked(done.read.problems, tuple(finding_problems(done.study)), checked, done.read.draft)
    except (MemoryError, OverflowError, RecursionError) as error:
        return Looked((failure_problem(error, str(path)),), (), None)
    except DataError:
        raise  # every spec would fail alike
    except Exception as error:  # noqa: BLE001  # whatever it is, it is ours
        return Looked((failure_problem(error, str(path)),), (), None, failed=True)


def shared_records(paths: Sequence[Path]) -> dict[Path, Records]:
    """The records that specs share, by the folder of what is checked."""
    return {folder: folder_records(folder) for folder in {path.parent for path in paths}}


def _folder_problems(folder: Path, pages: Iterable[str]) -> list[Problem]:
    """What is wrong with a folder of specs beside its specs."""
    configuration = (
        Path("mkdocs.yml").read_text(encoding="utf-8", errors="replace") if Path("mkdocs.yml").is_file() else ""
    )
    return folder_problems(
        folder, theme_files(Path("site_templates")), page_links(folder, pages), partial(may_replace, configuration)
    )


def changed_keys(path: Path, made: Study) -> tuple[ChangedKey, ...]:
    """The keys that have changed since a stale record, as far as git knows its spec then. git is asked for a stale code only."""
    if not any(stale_codes(made.build, made.standing)):
        return ()
    from gasdoc.folder.changed import changed
    from gasdoc.folder.provenance import past_texts

    return changed(made.build, made.standing, past_texts(path))


def _work_lines(one: Checked) -> Iterator[str]:
    """What is open of a build that is planned, one line a thing."""
    if one.is_planned and one.worklist is not None and one.worklist.open:
        yield f"{one.path}: what is open"
        yield from (f"  {errand.text}" for errand in one.worklist.open)


def _standing_lines(one: Checked) -> Iterator[str]:
    codes = one.standing.codes
    yield f"{one.path}: {one.words}"
    if one.open:
        yield f"  still to be chosen: {', '.join(one.open)}. Codes for records come when it is stated"
        return
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


def _checked(paths: Sequence[Path], as_of: dt.date, *, strict: bool, answered: bool) -> Results:
    """Specs read and studied. One that gasdoc itself fails on does not keep the others from being checked."""
    problems: list[Problem] = []
    builds: list[Checked] = []
    drafts, code = 0, FINE
    records = shared_records(paths)

    def look(some: Sequence[Path], begun: Callable[[int], None]) -> Iterator[Looked]:
        for place, path in enumerate(some):
            begun(place)
            yield _look(path, as_of, records[path.parent], answered=answered)

    def lost(path: Path, reason: limited.Reason) -> Looked:
        return Looked((limit_problem(str(path), reason),), (), None)

    for looked in limited.one_by_one(look, paths, lost):
        found = [*looked.problems, *looked.findings]
        problems += sorted(found, key=lambda p: p.order)
        drafts += looked.draft
        code = max(code, exit_code(looked.problems, found if looked.checked is not None else (), strict=strict))
        if looked.failed:
            code = DEFECT
        if looked.checked is not None:
            builds.append(looked.checked)
    return Results(problems, builds, drafts, code)


def exit_code(of_input: Sequence[Problem], of_all: Sequence[Problem], *, strict: bool) -> int:
    """The exit code for problems of the input, and for those together with what was found about a build."""
    if any(problem.counts(Severity.ERROR) for problem in of_input):
        return INPUT
    bad = Severity.WARNING if strict else Severity.ERROR
    return FINDINGS if any(problem.counts(bad) for problem in of_all) else FINE


def _line_of(problem: Problem) -> list[str]:
    """The line of the file a problem is in, with a caret below its column; nothing where the file has no such line."""
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
    more = f", {of_drafts} in drafts, not counted" if of_drafts else ""
    in_all = f"{specs} spec{'s' if specs != 1 else ''}" + (f", {drafts} of them drafts" if drafts else "")
    explained = ". 'gasdoc catalog findings' explains the codes" if problems else ""
    return f"{in_all}: {words}{more}{explained}"


def spec_path(name: str) -> Path:
    """The file that a path, or the name of a build in the folder specs, means."""
    path = Path(name)
    return path if path.exists() or path.name != name or path.suffix == ".md" else Path("specs") / f"{name}.md"


def _chosen(names: Sequence[str]) -> tuple[list[Path], list[Problem]]:
    """The specs to check, and what is wrong beside them: of a folder all of it, of files what is about them. Without names
    it is the folder specs."""
    named = [path for path in map(spec_path, names) if not is_page(path)]
    folders = [path for path in named if path.is_dir() and path.suffix != ".md"] if names else [Path("specs")]
    paths = [path for path in named if path not in folders]
    around = {path.parent for path in paths if path.parent.name == "specs" and path.parent.is_dir()}
    wanted = set(map(str, paths))
    about = [problem for parent in sorted(around) for problem in contents(parent).problems if problem.path in wanted]
    for folder in folders:
        found = contents(folder) if folder.is_dir() else None
        if found is None or not (found.specs or found.twins or found.problems):
            raise Refused(
                f"there is no spec in the folder {printable(str(folder))}. Name a file, or start one with "
                "'gasdoc new my-hut --region us-cabin'"
            )
        paths += sorted((*found.specs, *found.twins))
        about += [*found.problems, *_folder_problems(folder, found.pages)]
    return paths, about
