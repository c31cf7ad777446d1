"""A new repository of builds: its files, written where none of them is yet."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from string import Template

from gasdoc import __version__
from gasdoc.spec.schema import FILE, schema_text

FILES = {
    "README.md": "README.md",
    "mkdocs.yml": "mkdocs.yml",
    ".gitignore": "gitignore",
    "requirements.txt": "requirements.txt",
    ".github/workflows/pages.yml": "pages.yml",
    "specs/example-hut.md": "example-hut.md",
}
"""Where each file goes, and its name in this package."""


class InTheWay(Exception):
    """A file that would have to be written is there already; nothing was written."""


def lay_out(folder: Path) -> list[Path]:
    """Write the files of a new repository and return their paths. Raises InTheWay, before anything is written."""
    texts = {folder / target: _text(name) for target, name in FILES.items()}
    texts[folder / "specs" / FILE] = schema_text()
    there = [path for path in texts if path.exists() or path.is_symlink()]
    if there:
        raise InTheWay(
            f"{', '.join(map(str, there))} {'is' if len(there) == 1 else 'are'} there already, so nothing was "
            "written; name an empty folder"
        )
    try:
        for path, text in texts.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("x", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except OSError as error:
        raise InTheWay(
            f"cannot write {error.filename or folder}: {(error.strerror or 'unknown reason').lower()}"
        ) from None
    return list(texts)


def _text(name: str) -> str:
    text = resources.files("gasdoc").joinpath("project_files", name).read_text(encoding="utf-8")
    return Template(text).substitute(version=__version__) if name == "requirements.txt" else text
