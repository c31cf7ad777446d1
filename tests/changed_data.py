"""The data files that come with gasdoc, some of them changed or added to, for the length of a test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

from gasdoc import data


@contextmanager
def changed_files(package: str, texts: Mapping[str, str], place: Path) -> Iterator[Path]:
    """The data files of `package` are a copy in the empty folder `place`, where the files named in `texts` say what is given."""
    plain = data._folder
    copy = place / package
    shutil.copytree(Path(str(plain(package))), copy, ignore=shutil.ignore_patterns("*.py", "*.pyc"))
    for name, text in texts.items():
        (copy / name).write_text(text, encoding="utf-8")
    with mock.patch.object(data, "_folder", lambda of: copy if of == package else plain(of)):
        data.forget()
        try:
            yield copy
        finally:
            data.forget()
