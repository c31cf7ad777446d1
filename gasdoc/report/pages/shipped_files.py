"""Where the files are that a site gets from gasdoc's own folder of templates: style, scripts, icon."""

from __future__ import annotations

import re
from pathlib import Path

_OVERRIDES = re.compile(r"^[^#\n]*\boverrides: *true\b", re.MULTILINE)

PACKAGE = Path(__file__).parents[2]


def in_checkout() -> bool:
    """Whether gasdoc runs from a checkout, where the templates lie beside the package and not inside it."""
    return not (PACKAGE / "site_templates").is_dir()


def templates_dir() -> Path:
    """The folder of gasdoc's own templates: inside the package in a wheel, beside it in a checkout."""
    return PACKAGE.parent / "site_templates" if in_checkout() else PACKAGE / "site_templates"


def theme_files(*more: Path) -> list[str]:
    """Every file of that folder, and of the folders beside it that a project has, by its place in a site."""
    found = {
        path.relative_to(folder).as_posix()
        for folder in (templates_dir(), *more)
        for path in folder.rglob("*")
        if path.is_file() and path.suffix != ".html"  # a template: nothing of that name is in a site
    }
    return sorted(found)


def may_replace(configuration: str, path: str) -> bool:
    """Whether the text of a configuration says that a file among the specs may take the place of one of gasdoc's: by
    'overrides: true', or by naming it under 'publish'."""
    return _OVERRIDES.search(configuration) is not None or path in configuration
