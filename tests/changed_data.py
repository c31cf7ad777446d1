"""The data files that come with gasdoc, some of them changed or added to, for the length of a test."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from unittest import mock

import gasdoc.kept
from gasdoc import data
from gasdoc.source import Document

_read = data._document


@cache
def _as_shipped(file: Path) -> Document:
    return _read(file)


def read_as_shipped() -> None:
    """Read every data file, so that a copy of this process need not."""
    for file in Path(data.__file__).parent.rglob("*.yaml"):
        if file.parent.name != "project_files":
            _as_shipped(file)


@contextmanager
def changed_files(package: str, texts: Mapping[str, str], place: Path) -> Iterator[Path]:
    """The data files of `package` are a copy in the empty folder `place`, where the files named in `texts` say what is given."""
    plain = data._folder
    shipped = Path(str(plain(package)))
    copy = place / package
    for file in shipped.rglob("*.*"):
        name = file.relative_to(shipped)
        if file.suffix not in (".py", ".pyc"):
            (copy / name).parent.mkdir(parents=True, exist_ok=True)
            (copy / name).symlink_to(file)
    for changed, text in texts.items():
        (copy / changed).unlink(missing_ok=True)
        (copy / changed).write_text(text, encoding="utf-8")

    def document(file: Path) -> Document:
        path = file
        if path.is_relative_to(copy):
            path = shipped / path.relative_to(copy)
            if path.relative_to(shipped).as_posix() in texts:
                return _read(file)
        return _as_shipped(path)

    with (
        mock.patch.object(data, "_folder", lambda of: copy if of == package else plain(of)),
        mock.patch.object(data, "_document", document),
        # What follows from the changed files is neither taken from what was kept of the others nor kept in its place.
        mock.patch.object(gasdoc.kept, "kept", lambda file, form, parsed, of: parsed()),
    ):
        data.forget()
        try:
            yield copy
        finally:
            data.forget()
