"""A folder of specs -> all pages and files of a site. Knows nothing of what publishes them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gasdoc.report import pages, schematic
from gasdoc.report.drawing import drawing
from gasdoc.report.page import Asset, Page
from gasdoc.report.templates import environment
from gasdoc.source import Problem, Severity
from gasdoc.study.check import spec_files, study_file


@dataclass(frozen=True, slots=True)
class Site:
    """The pages and files of a site, every problem of its input, and whether a build has findings at error level."""

    pages: tuple[Page, ...]
    assets: tuple[Asset, ...]
    problems: tuple[Problem, ...]
    errors_found: bool


def make_site(docs_dir: Path, *, project_templates: Path | None, link: Callable[[str, str], str]) -> Site:
    """Every page and file made from the specs directly in `docs_dir`.

    `link(page, target)` gives the relative URL of one source as seen from another. All drawings are made in one call.
    A spec that cannot be taken gets a page that says why; it does not keep the others from being published.
    """
    env = environment(project_templates)
    done = [study_file(file, f"{docs_dir.name}/{file.name}") for file in spec_files(docs_dir)]
    studies = [(s.read, s.study) for s in done if s.study is not None]
    drawings = [drawing(made) for _, made in studies]
    svgs = schematic.render([schematic.dot(d) for d in drawings]) if drawings else []

    def exists(path: str) -> bool:
        return bool(path) and (docs_dir / path).is_file()

    made_pages: list[Page] = []
    assets: list[Asset] = []
    for (read, made), drawn, raw in zip(studies, drawings, svgs, strict=True):
        svg = schematic.finish(raw, drawn)
        made_pages += pages.build_pages(
            made, svg, schematic.text_alternative(drawn)[0], env, link, exists, read.problems
        )  # fmt: skip
        assets += pages.build_assets(made, svg)
    broken = [s.read for s in done if s.study is None]
    made_pages += [pages.problem_page(read, env, link) for read in broken]
    made_pages.insert(0, pages.index_page([made for _, made in studies], broken, env, link))
    problems = tuple(problem for s in done for problem in s.read.problems if problem.severity > Severity.NOTE)
    errors = any(f.severity is Severity.ERROR for _, made in studies for f in made.findings)
    return Site(tuple(made_pages), tuple(assets), problems, errors)
