"""Where page templates are, and the Jinja environment that reads them. Knows nothing of MkDocs."""

from __future__ import annotations

import traceback
from pathlib import Path

import jinja2

from gasdoc.report.own_files import templates_dir
from gasdoc.report.sandbox import Sandbox
from gasdoc.report.whole_build import sections
from gasdoc.source import Severity

SUFFIXES = (".html", ".xml")
"""Of the files in a folder of templates, those that are templates."""


def search_path(project_templates: Path | None) -> list[Path]:
    """The template folders, first one wins file by file: the project's own (if any), then gasdoc's."""
    own = templates_dir()
    if project_templates is None or project_templates.resolve() == own.resolve():
        return [own]
    return [project_templates, own]


class TemplateError(Exception):
    """A template that cannot be used; the message has file and line."""


def check_own(project_templates: Path | None) -> None:
    """Read every template of a project, so that a broken one is told before anything is made, whatever uses it.

    Raises TemplateError with file and line.
    """
    env = jinja2.Environment()  # noqa: S701  # it only parses
    for file in sorted(project_templates.rglob("*")) if project_templates is not None else ():
        if file.suffix not in SUFFIXES or not file.is_file():
            continue
        raw = file.read_bytes()
        try:
            env.parse(raw.decode("utf-8"), filename=str(file))
        except UnicodeDecodeError as error:
            line = raw.count(b"\n", 0, error.start) + 1
            raise TemplateError(
                f"{file}:{line}: byte 0x{raw[error.start]:02x} is not UTF-8; save the file as UTF-8"
            ) from None
        except jinja2.TemplateSyntaxError as error:
            raise TemplateError(f"{file}:{error.lineno}: {error.message}") from None


def sandboxed(env: jinja2.Environment) -> jinja2.Environment:
    """The same environment as a sandbox: its templates, filters and names."""
    safe = Sandbox(loader=env.loader, autoescape=env.autoescape, auto_reload=False, extensions=list(env.extensions))
    safe.filters |= env.filters
    safe.globals |= {name: value for name, value in env.globals.items() if name not in safe.globals}
    return safe


def place(failure: BaseException) -> str | None:
    """The file and line of the template that an error came up in; None where it came up in none."""
    frames = [f for f in traceback.extract_tb(failure.__traceback__) if Path(f.filename).suffix in SUFFIXES]
    return f"{frames[-1].filename}:{frames[-1].lineno}" if frames else None


def environment(project_templates: Path | None) -> jinja2.Environment:
    """A Jinja environment over `search_path`, escaping everything; a name a template misspells is an error.

    A project's own templates run in a sandbox, and ours with them. Made afresh for every build, so that an edited template
    is read again.
    """
    folders = search_path(project_templates)
    env = (Sandbox if len(folders) > 1 else jinja2.Environment)(
        loader=jinja2.FileSystemLoader(folders),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    env.globals["WARNING"] = Severity.WARNING
    env.filters["sections"] = sections
    return env
