"""The names of builds that a spec puts beside itself."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.build.reader import Build
from gasdoc.folder.linked import Judge
from gasdoc.source import Problem, Severity


def beside_problems(build: Build, judge: Judge) -> Iterator[Problem]:
    """What is wrong with the names under `beside:`. A build that is not there is left out of the table."""
    seen = {build.slug: "is this build itself"}
    for place, name in enumerate(build.spec.beside):
        verdict = judge(f"{name}.md")
        near = verdict.remedy.replace(".md", "") if "'" in verdict.remedy else ""
        if name in seen:
            why, remedy = seen[name], "name other builds"
        elif verdict.leads is None or not verdict.leads.endswith("/index.md"):
            why, remedy = "is no build of this folder", near or "name a spec of this folder, without '.md'"
        else:
            seen[name] = "stands here twice"
            continue
        yield build.problem(
            ("beside", place), Severity.WARNING, f"'{name}' under 'beside:' {why}", remedy, "beside-unknown"
        )
