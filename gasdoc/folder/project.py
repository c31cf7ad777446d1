"""A new repository of builds: its files, written where none of them is yet."""

from __future__ import annotations

from contextlib import suppress
from importlib import resources
from pathlib import Path

from gasdoc.build.schema import FILE, schema_text
from gasdoc.machine.writing import write_new, write_over
from gasdoc.wrong import Refused

LOCK = "requirements.txt"
"""What gasdoc needs to run, by version and hash; written by .ci/lock, and never changed by hand."""

FILES = {
    "README.md": "README.md",
    "mkdocs.yml": "mkdocs.yml",
    ".gitignore": "gitignore",
    LOCK: LOCK,
    ".github/workflows/pages.yml": "pages.yml",
    "specs/example-hut.md": "example-hut.md",
}
"""Where each file goes, and its name in this package."""


def lay_out(folder: Path) -> list[Path]:
    """Write the files of a new repository and return their paths. Raises Refused, before anything is written."""
    texts = {folder / target: _text(name) for target, name in FILES.items()}
    texts[folder / "specs" / FILE] = schema_text()
    there = [path for path in texts if path.exists() or path.is_symlink()]
    if there:
        raise Refused(
            f"{', '.join(map(str, there))} {'is' if len(there) == 1 else 'are'} there already, so nothing was "
            "written. Name an empty folder"
        )
    made: list[Path] = []
    try:
        for path, text in texts.items():
            made += reversed([folder for folder in (path.parent, *path.parent.parents) if not folder.exists()])
            path.parent.mkdir(parents=True, exist_ok=True)
            write_new(path, text.encode())
            made.append(path)
    except OSError as error:
        _take_away(made)
        raise Refused(
            f"cannot write {error.filename or folder}: {(error.strerror or 'unknown reason').lower()}. Nothing was written"
        ) from None
    return list(texts)


def renew_lock(folder: Path) -> Path:
    """Write the lock of this gasdoc in the place of the one of another version. Raises Refused."""
    path, text = folder / LOCK, _text(LOCK).encode()
    try:
        if path.is_symlink() or (path.exists() and not path.read_bytes().startswith(text.partition(b"\n")[0])):
            raise Refused(f"{path} was not written by gasdoc. Move it, or put what is yours into another file")
        write_over(path, text)
    except OSError as error:
        raise Refused(f"cannot write {path}: {(error.strerror or 'unknown reason').lower()}") from None
    return path


def _take_away(made: list[Path]) -> None:
    """Take away what was written before it went wrong, last first; a folder only if nobody else put something there."""
    for path in reversed(made):
        with suppress(OSError):
            path.rmdir() if path.is_dir() else path.unlink()


def _text(name: str) -> str:
    return resources.files("gasdoc").joinpath("project_files", name).read_text(encoding="utf-8")
