"""Specs read and studied, and their findings as problems with a place in the file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build import reader
from gasdoc.build.supply import slug
from gasdoc.choices.plan import planned
from gasdoc.folder.contents import spec_files
from gasdoc.folder.linked import (
    NO_LINKS,
    Judge,
    Linked,
    beside_problems,
    judge,
    of_log,
    of_page,
    of_photos,
    replaces,
    replacing,
)
from gasdoc.folder.shared_records import NO_RECORDS, Records, records
from gasdoc.machine import inside, limited
from gasdoc.scalars import nearest
from gasdoc.source import MAX_BYTES, Problem, Severity
from gasdoc.source import Path as Place
from gasdoc.study.materials.own_files import NOTHING, Own, read_own
from gasdoc.study.study import Study, make_study

if TYPE_CHECKING:
    from gasdoc.choices.choices import Choices

FAILS = "gasdoc-fails"
"""The code of the problem that is our own defect."""


class Studied(Struct, frozen=True):
    """One spec as far as it came: `study` is None when it cannot be taken. `read.problems` holds all its problems, `linked`
    what its log links, `choices` what can be chosen for it while something is open."""

    read: reader.Read
    study: Study | None
    linked: Linked = NO_LINKS
    choices: Choices | None = None


def folder_records(folder: Path) -> Records:
    """The records that stand in more than one spec of a folder."""
    texts = {}
    for file in spec_files(folder):
        with suppress(OSError):
            texts[file.name] = inside.read(file, folder, MAX_BYTES + 1)
    return records(texts)


def replaced_files(folder: Path, ours: Iterable[str]) -> dict[str, str]:
    """Each file among the specs that would take the place of one of `ours`, those of the theme, or of what gasdoc makes."""
    return replacing(folder, ours, build_names(folder))


def build_names(folder: Path) -> frozenset[str]:
    """The names of the builds, which are those of the folders their pages are in."""
    return frozenset(slug(path.stem) for path in spec_files(folder))


def page_links(folder: Path, pages: Iterable[str]) -> dict[str, Linked]:
    """What each of the project's own `pages` links, by its place among the specs; one that cannot be read links nothing."""
    builds = build_names(folder)
    found = {}
    for name in sorted(pages):
        page = folder / name
        shown = f"{folder.name}/{name}"
        try:
            text = inside.read(page, folder, MAX_BYTES + 1).decode("utf-8-sig", "replace").replace("\r\n", "\n")
            found[name] = of_page(text, shown, name, partial(judge, folder), builds)
        except OSError as error:
            reason = (error.strerror or "it cannot be read").lower()
            found[name] = Linked(
                problems=(Problem(shown, 1, 1, Severity.ERROR, reason, "check the file", "file-read"),)
            )
    return found


def folder_problems(
    folder: Path, ours: Iterable[str], links: Mapping[str, Linked], may_replace: Callable[[str], bool]
) -> list[Problem]:
    """What is wrong with a folder of specs beside its specs: the `links` of its pages, and files that would take the place of
    `ours`, those of the theme, where they may not (`may_replace`)."""
    problems = [problem for linked in links.values() for problem in linked.problems]
    problems += [
        replaces(f"{folder.name}/{path}", name)
        for path, name in replaced_files(folder, ours).items()
        if not may_replace(path)
    ]
    return sorted(problems, key=lambda problem: problem.order)


def study_file(
    file: Path,
    shown_path: str | None = None,
    as_of: dt.date | None = None,
    day: dt.date | None = None,
    records: Records = NO_RECORDS,
) -> Studied:
    """A spec read and studied; `shown_path` is how messages name it, `as_of` the date on which things may be overdue, `day`
    the one after which records count for nothing, `records` the records that specs of its folder share."""
    own, problems = read_own(file.parent, Path(shown_path).parent if shown_path is not None else None)
    read = reader.read_file(file, shown_path)
    return study_of(read, as_of, own, problems, day, records.of(file.name), partial(judge, file.parent))


def study_of(
    read: reader.Read,
    as_of: dt.date | None = None,
    own: Own = NOTHING,
    own_problems: tuple[Problem, ...] = (),
    day: dt.date | None = None,
    shared: Mapping[Place, tuple[str, ...]] | None = None,
    judge: Judge | None = None,
) -> Studied:
    """A spec that was read, studied, with what its project adds and what is wrong with that; `day` and `shared` as in
    `study`. `judge` tells of the files that its log links; without it nothing is said of them."""
    own = own.of_build(read.slug)
    build, choices = planned(read.build, own) if read.build is not None else (None, None)
    made, problems = make_study(build, as_of, own, day, shared) if build is not None else (None, ())
    linked = NO_LINKS
    if read.build is not None and judge is not None:
        linked = of_log(read.build.log, read.path, judge) + of_photos(read.build, judge)
    named = beside_problems(read.build, judge) if read.build is not None and judge is not None else ()
    strange_joints = joint_problems(made) if made is not None else ()
    of_spec = drafted((*read.problems, *problems, *linked.problems, *named, *strange_joints), draft=read.draft)
    together = tuple(sorted((*of_spec, *own_problems), key=lambda problem: problem.order))
    return Studied(replace(read, problems=together), made, linked, choices)


def joint_problems(made: Study) -> Iterator[Problem]:
    """The ids under `joint_photos:` that are no joint of the build."""
    photos = made.build.stated.spec.joint_photos
    joints = [joint.id for joint in made.leak_test.joints] if photos else []
    for name in photos:
        if name not in joints:
            near = nearest(name, joints)
            hint = f"did you mean '{near}'?" if near else "take an id from the list of joints on the leak test page"
            message = f"no joint of this build is called '{name[:60]}', so nobody learns what its photo shows"
            yield made.build.problem(("joint_photos", name), Severity.WARNING, message, hint, "photo-joint")


def drafted(problems: Iterable[Problem], *, draft: bool) -> tuple[Problem, ...]:
    """The problems of a spec, which count for nothing if it says that it is a draft."""
    return tuple(replace(problem, draft=draft) for problem in problems)


def failure_problem(error: Exception, path: str) -> Problem:
    """That gasdoc itself fails on a spec: our defect, and no reason to stop at the others."""
    import traceback  # noqa: PLC0415  # where something has failed only

    what = "".join(traceback.format_exception_only(error)).strip()
    message = f"gasdoc itself fails on this spec: {what}"
    remedy = "this is a defect of gasdoc. Report it with the spec"
    return Problem(path, 1, 1, Severity.ERROR, message, remedy, FAILS)


def limit_problem(path: str, reason: limited.Reason) -> Problem:
    """What is said of a spec that was not done in its time, or on which the process has ended."""
    message = (
        f"gasdoc stopped working on this spec after {limited.SECONDS:.0f} seconds"
        if reason == "time"
        else "the process that worked on this spec has ended, most likely from lack of memory"
    )
    remedy = (
        "make its log, its tables or its supply smaller. If it is small, report this defect of gasdoc with the spec"
    )
    return Problem(path, 1, 1, Severity.ERROR, message, remedy, "spec-limit")


def finding_problems(made: Study) -> list[Problem]:
    """The findings of a study as people are told them, as problems: each at the place in the spec it is about."""
    problems = []
    for f in made.said:
        subject = "" if f.subject == "build" else f"{f.subject}: "
        remedy = f.remedy.rstrip(".")
        problems.append(
            made.build.problem(
                f.at, f.severity, subject + f.message.rstrip("."), remedy[:1].lower() + remedy[1:], f.code
            )
        )
    return list(drafted(problems, draft=made.build.spec.draft))
