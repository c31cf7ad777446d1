"""Specs read and studied, and their findings as problems with a place in the file."""

from __future__ import annotations

import datetime as dt
import traceback
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from gasdoc import limited
from gasdoc.source import Path as Place
from gasdoc.source import Problem, Severity
from gasdoc.spec import reader
from gasdoc.study.contents import spec_files
from gasdoc.study.own import NOTHING, Own, read_own
from gasdoc.study.records import NO_RECORDS, Records, records
from gasdoc.study.study import Study, study

FAILS = "gasdoc-fails"
"""The code of the problem that is our own defect."""


@dataclass(frozen=True, slots=True)
class Studied:
    """One spec as far as it came: `study` is None when it cannot be taken. `read.problems` holds all its problems."""

    read: reader.Read
    study: Study | None


def folder_records(folder: Path) -> Records:
    """The records that stand in more than one spec of a folder."""
    texts = {}
    for file in spec_files(folder):
        with suppress(OSError):
            texts[file.name] = file.read_bytes()
    return records(texts)


def study_file(
    file: Path,
    shown_path: str | None = None,
    as_of: dt.date | None = None,
    day: dt.date | None = None,
    held: Records = NO_RECORDS,
) -> Studied:
    """A spec read and studied; `shown_path` is how messages name it, `as_of` the date on which things may be overdue, `day`
    the one after which records count for nothing, `held` the records that specs of its folder share."""
    own, problems = read_own(file.parent, Path(shown_path).parent if shown_path is not None else None)
    return study_of(reader.read_file(file, shown_path), as_of, own, problems, day, held.of(file.name))


def study_of(
    read: reader.Read,
    as_of: dt.date | None = None,
    own: Own = NOTHING,
    own_problems: tuple[Problem, ...] = (),
    day: dt.date | None = None,
    shared: Mapping[Place, tuple[str, ...]] | None = None,
) -> Studied:
    """A spec that was read, studied, with what its project adds and what is wrong with that; `day` and `shared` as in
    `study`."""
    made, problems = study(read.build, as_of, own, day, shared) if read.build is not None else (None, ())
    of_spec = drafted((*read.problems, *problems), draft=read.draft)
    together = tuple(sorted((*of_spec, *own_problems), key=lambda problem: problem.order))
    return Studied(replace(read, problems=together), made)


def drafted(problems: Iterable[Problem], *, draft: bool) -> tuple[Problem, ...]:
    """The problems of a spec, which count for nothing if it says that it is a draft."""
    return tuple(replace(problem, draft=draft) for problem in problems)


def failure_problem(error: Exception, path: str) -> Problem:
    """That gasdoc itself fails on a spec: our defect, and no reason to stop at the others."""
    what = "".join(traceback.format_exception_only(error)).strip()
    message = f"gasdoc itself fails on this spec: {what}"
    remedy = "this is a defect of gasdoc; report it with the spec"
    return Problem(path, 1, 1, Severity.ERROR, message, remedy, FAILS)


def limit_problem(path: str, reason: limited.Reason) -> Problem:
    """What is said of a spec that was not done in its time, or on which the process has ended."""
    message = (
        f"gasdoc stopped working on this spec after {limited.SECONDS:.0f} seconds"
        if reason == "time"
        else "the process that worked on this spec has ended, most likely from lack of memory"
    )
    remedy = (
        "make its log, its tables or its supply smaller; if it is small, report this defect of gasdoc with the spec"
    )
    return Problem(path, 1, 1, Severity.ERROR, message, remedy, "spec-limit")


def finding_problems(made: Study) -> list[Problem]:
    """The findings of a study as problems: each at the place in the spec it is about."""
    problems = []
    for f in made.findings:
        subject = "" if f.subject == "build" else f"{f.subject}: "
        remedy = f.remedy.rstrip(".")
        problems.append(
            made.build.problem(
                f.at, f.severity, subject + f.message.rstrip("."), remedy[:1].lower() + remedy[1:], f.code
            )
        )
    return list(drafted(problems, draft=made.build.spec.draft))
