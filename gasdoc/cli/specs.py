"""The commands on single specs: study, compare, new, init."""

from __future__ import annotations

import argparse
import datetime as dt
import sys
from collections.abc import Sequence
from pathlib import Path

from gasdoc import units
from gasdoc.build.reader import read_file, read_spec
from gasdoc.build.starter import MOST_PLANNED, from_previous, plan, starter
from gasdoc.build.supply import slug
from gasdoc.cli.check import changed_keys, exit_code, shared_records, spec_path
from gasdoc.cli.output import FINE, INPUT, print_file, print_line
from gasdoc.folder.check import finding_problems, study_file, study_of
from gasdoc.folder.compare import lines
from gasdoc.folder.project import lay_out, renew_lock
from gasdoc.folder.provenance import last_commit, lasting, text_at
from gasdoc.folder.side_by_side import side_by_side
from gasdoc.machine import inside
from gasdoc.machine.writing import write_new
from gasdoc.regions.region import UnknownRegion, region, region_ids
from gasdoc.report.formats.jsonout import compare_json, dumps, study_json
from gasdoc.report.views.side_by_side import table_text
from gasdoc.source import MAX_BYTES, decode
from gasdoc.study import Study, facts
from gasdoc.study.materials.own_files import read_own
from gasdoc.words import in_sentence
from gasdoc.wrong import Refused

MOST_BESIDE = 9
"""Builds in one table at most: one and those that `beside:` of a spec may name."""


def study(options: argparse.Namespace) -> int:
    """Print everything computed for one spec as JSON; the exit code."""
    path = spec_path(options.spec)
    today = dt.date.today()  # noqa: DTZ011  # the day where the reader is
    done = study_file(path, day=today, records=shared_records([path])[path.parent])
    if done.study is None:
        for problem in done.read.problems:
            print(problem, file=sys.stderr)
        return INPUT
    print_file(dumps(study_json(done.study, changed_keys(path, done.study), done.choices)))
    return exit_code((), finding_problems(done.study), strict=False)


def compare(options: argparse.Namespace) -> int:
    """Print builds side by side, and of two what differs; the exit code."""
    named: list[str] = options.specs
    if len(named) == 1:
        first, revision = _at_revision(named[0])
        if revision is None:
            raise Refused(f"name a second spec, or a revision of this one, as in '{first}@HEAD'")
        named = [named[0], first]
    if not 2 <= len(named) <= MOST_BESIDE:
        raise Refused(f"name two to {MOST_BESIDE} specs, or one at a revision, as in 'my-hut@HEAD'")
    made = [_studied(*_at_revision(name), Path(options.folder)) for name in named]
    studies = [study for study in made if study is not None]
    if len(studies) < len(made):
        return INPUT
    found = side_by_side(*studies)
    if options.format == "json":
        print_file(dumps(compare_json(found)))
        return FINE
    for line in table_text(named, found.rows, facts.system(studies[-1].build)):
        print_line(line)
    if found.difference is not None:
        print_line("")
        print_line(f"{studies[0].build.path} -> {studies[1].build.path}")
        for line in lines(found.difference) or ["nothing that is compared differs"]:
            print_line(line)
    return FINE


def _at_revision(text: str) -> tuple[str, str | None]:
    """A spec and the revision behind its first @, if there is one. A file whose name has an @ goes by its whole name."""
    name, mark, revision = text.partition("@")
    return (name, revision) if mark and name and not Path(text).is_file() else (text, None)


def _studied(name: str, revision: str | None, folder: Path) -> Study | None:
    """The study of one side; None, its problems printed, if the spec cannot be taken."""
    path = _origin(name, folder, revision)
    if revision is None:
        read = read_file(path)
    else:
        read = read_spec(text_at(path, revision), f"{path}@{revision}", path.stem)
    own, problems = read_own(path.parent)  # the project's parts and prices of now, for every revision
    done = study_of(read, None, own, problems)
    if done.study is None:
        for problem in done.read.problems:
            print(problem, file=sys.stderr)
    return done.study


def new(options: argparse.Namespace) -> int:
    """Write a new spec; the exit code."""
    name = slug(options.name)
    if name != options.name:
        raise Refused(f"'{options.name}' cannot name a spec, '{name}' could")
    target = Path(options.folder) / f"{name}.md"
    dropped: Sequence[str] = ()
    if options.appliances is not None and not options.plan:
        raise Refused("--appliances says how many a plan has. Add --plan")
    if options.origin is not None:
        if options.region or options.units or options.plan:
            raise Refused(
                "--region, --units and --plan are for a new spec. A copy has what its original has, so change them in the copy"
            )

        source = _origin(options.origin, Path(options.folder), options.at)
        if options.at is None:
            raw = inside.read(source, source.parent, MAX_BYTES + 1)
            # What is copied is the text of a commit, unless it has changes of its own: then no revision has it.
            commit = last_commit(source)
            revision = commit.short if commit else None
        else:
            raw, revision = text_at(source, options.at), lasting(source.parent, options.at)
        text, problems = decode(raw, str(source))
        if problems:
            raise Refused(str(problems[0]))
        try:
            text, dropped = from_previous(text, name, options.title, source.stem, revision)
        except ValueError as error:
            raise Refused(str(error)) from None
    else:
        text = _fresh(options, name)
    _write_new(target, text)
    print_line(f"wrote {target}")
    for what in dropped:
        print_line(f"left out: {what}", aside=True)
    first, *others = region(options.region).settings if options.plan else ("",)
    if others:
        print_line(
            f"'setting: {first}' is written. Change it first if yours is a {in_sentence(others, 'or')}", aside=True
        )
    then = (
        f"put your own values in, then gasdoc choose {target}"
        if options.plan
        else f"fill it in, then gasdoc check {target}"
    )
    print_line(f"next: {then}", aside=True)
    return FINE


def _fresh(options: argparse.Namespace, name: str) -> str:
    """The text of a spec, or of a plan, that is made from nothing."""
    if options.region is None:
        raise Refused(f"whose rules apply? Give --region, one of: {', '.join(region_ids())}")
    try:
        rules = region(options.region)
    except UnknownRegion as unknown:
        raise Refused(str(unknown)) from None
    shown = options.units or rules.units
    title = options.title or name.replace("-", " ").capitalize()
    if not options.plan:
        return starter(name, title, options.region, shown)
    count = options.appliances or "3"
    if count not in map(str, range(1, MOST_PLANNED + 1)):
        raise Refused(f"--appliances {count[:20]}: write a number from 1 to {MOST_PLANNED}. Add more by hand")
    coldest = units.show(rules.practice.coldest.value, "temperature", shown)
    return plan(name, title, options.region, rules.settings, coldest, shown, int(count))


def _origin(name: str, folder: Path, revision: str | None) -> Path:
    """The file a name or path means; at a revision it may be gone from the folder since."""
    for path in (Path(name), folder / f"{name}.md", folder / name):
        if path.is_file():
            return path
    if revision is not None:
        return Path(name) if name.endswith(".md") else folder / f"{name}.md"
    raise Refused(f"there is no spec '{name}'. Give its path, or its name in the folder {folder}")


def _write_new(target: Path, text: str) -> None:
    """Write a file that is not there yet; what stands there is never lost."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_new(target, text.encode())
    except FileExistsError:
        raise Refused(f"{target} is there already. Choose another name") from None
    except OSError as error:
        raise Refused(f"cannot write {target}: {(error.strerror or 'unknown reason').lower()}") from None


def init(options: argparse.Namespace) -> int:
    """Lay out a project; the exit code."""
    folder = Path(options.folder)
    written = [renew_lock(folder)] if options.renew_lock else lay_out(folder)
    for path in written:
        print_line(f"wrote {path}")
    if options.renew_lock:
        return FINE
    print("next: read README.md there. Both gasdoc check and gasdoc build work from the start", file=sys.stderr)
    print("before you push: put the wheel of gasdoc into wheel/. README.md says which", file=sys.stderr)
    return FINE
