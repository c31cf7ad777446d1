"""Specs read and studied, and their findings as problems with a place in the file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gasdoc.source import Problem
from gasdoc.spec import reader
from gasdoc.study.study import Study, study


@dataclass(frozen=True, slots=True)
class Studied:
    """One spec as far as it came: `study` is None when it cannot be taken. `read.problems` holds all its problems."""

    read: reader.Read
    study: Study | None


def is_spec(path: Path) -> bool:
    """Whether a Markdown file is a spec, by its head."""
    try:
        with path.open("rb") as file:
            head = file.read(65536)
    except OSError:
        return False
    text = head.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").decode("utf-8", "replace")
    return reader.is_spec(text)


def spec_files(folder: Path) -> tuple[Path, ...]:
    """The specs directly in a folder, sorted by name."""
    return tuple(path for path in sorted(folder.glob("*.md")) if is_spec(path))


def study_file(file: Path, shown_path: str | None = None) -> Studied:
    """A spec read and studied; `shown_path` is how messages name it."""
    read = reader.read_file(file, shown_path)
    if read.build is None:
        return Studied(read, None)
    made, problems = study(read.build)
    together = tuple(sorted((*read.problems, *problems), key=lambda problem: problem.order))
    return Studied(reader.Read(read.slug, read.path, read.title, read.build, together), made)


def finding_problems(made: Study) -> list[Problem]:
    """The findings of a study as problems: each at the place in the spec it is about."""
    problems = []
    for f in made.findings:
        subject = "" if f.subject == "build" else f"{f.subject}: "
        remedy = f.remedy.rstrip(".")
        problems.append(
            made.build.problem(f.at, f.severity, subject + f.message.rstrip("."), remedy[:1].lower() + remedy[1:], f.code)
        )
    return problems
