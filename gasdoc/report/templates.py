"""Where page templates are, and the Jinja environment that reads them. Knows nothing of MkDocs."""

from __future__ import annotations

from pathlib import Path

import jinja2

import gasdoc
from gasdoc.source import Severity

PACKAGE = Path(gasdoc.__file__).parent


def in_checkout() -> bool:
    """Whether gasdoc runs from a checkout, where the templates lie beside the package and not inside it."""
    return not (PACKAGE / "site_templates").is_dir()


def templates_dir() -> Path:
    """The folder of gasdoc's own templates: inside the package in a wheel, beside it in a checkout."""
    return PACKAGE.parent / "site_templates" if in_checkout() else PACKAGE / "site_templates"


def search_path(project_templates: Path | None) -> list[Path]:
    """The template folders, first one wins file by file: the project's own (if any), then gasdoc's."""
    own = templates_dir()
    if project_templates is None or project_templates.resolve() == own.resolve():
        return [own]
    return [project_templates, own]


def environment(project_templates: Path | None) -> jinja2.Environment:
    """A Jinja environment over `search_path`, escaping everything; a name a template misspells is an error.

    Made afresh for every build, so that an edited template is read again.
    """
    env = jinja2.Environment(
        loader=jinja2.FileSystemLoader(search_path(project_templates)),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    env.globals["WARNING"] = Severity.WARNING
    return env
