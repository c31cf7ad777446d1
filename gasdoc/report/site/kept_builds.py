"""What specs gave in an earlier run: kept as long as it would come out the same, in this process or on disk."""

from __future__ import annotations

import hashlib
import os
import pickle
import shutil
import sys
import zlib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path

from gasdoc import __version__
from gasdoc.kept import mark
from gasdoc.machine.user_cache import user_cache
from gasdoc.machine.writing import write_over
from gasdoc.report.pages.shipped_files import PACKAGE
from gasdoc.report.site.build_output import Made, Surroundings
from gasdoc.report.site.surroundings import Folder

PROJECTS = 20
"""Folders of specs of which something is kept, those built last (our choice): of each about as much as its site has."""

_LIBRARIES = ("graphviz", "icalendar", "jinja2", "markdown", "markupsafe", "msgspec", "pydantic", "segno", "yaml")
"""What makes pages beside gasdoc. The folder that a library lies in gets another time when one is put there or taken away."""


class Kept:
    """What specs gave in an earlier run in this process. It is used again for a spec as long as nothing that was read for
    it reads differently; `surroundings` says in one value what all builds are made with."""

    def __init__(self) -> None:
        self._surroundings: object = None
        self._made: dict[Path, Made] = {}

    def still_good(self, files: Sequence[Path], around: Surroundings, surroundings: object) -> dict[Path, Made]:
        """What need not be made again."""
        if surroundings != self._surroundings:
            self._surroundings, self._made = surroundings, {}
        return _alike({file: self._made[file] for file in files if file in self._made}, around)

    def keep(self, made: Mapping[Path, Made]) -> None:
        """Keep this run's, and nothing older."""
        self._made = _worth(made)


class KeptOnDisk(Kept):
    """What specs gave in an earlier run of gasdoc, a file for each.

    A file holds for the very gasdoc, libraries, templates, parts, prices, settings and day that it was made with (its first
    line), and for the answers to all that was read (`Made.asked`), the text of the spec first of all. So none is older than
    its spec. It lies in a folder that nobody but the user may write to, because Python runs what a pickled file says.
    """

    def still_good(self, files: Sequence[Path], around: Surroundings, surroundings: object) -> dict[Path, Made]:
        """What need not be made again."""
        self._folder = _folder(around.docs_dir)
        self._mark = _mark(around, surroundings)
        found = {file: made for file in files if (made := self._read(file)) is not None}
        self._made = _alike(found, around)
        return dict(self._made)

    def keep(self, made: Mapping[Path, Made]) -> None:
        """Write down what was made in this run, and take away what is kept of folders that were not built for long."""
        folder = self._folder
        if folder is None or sys.dont_write_bytecode:
            return
        with suppress(OSError):  # it is made again next time
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            for file, one in _worth(made).items():
                if file not in self._made:
                    packed = pickle.dumps(one, pickle.HIGHEST_PROTOCOL)
                    write_over(folder / _name(file), self._mark + zlib.crc32(packed).to_bytes(4) + packed)
            os.utime(folder)
            for other in sorted(folder.parent.iterdir(), key=lambda other: other.stat().st_mtime)[:-PROJECTS]:
                shutil.rmtree(other)

    def _read(self, file: Path) -> Made | None:
        """What is kept of a spec, where it was made with what is there now and is whole."""
        if self._folder is None:
            return None
        try:
            kept = (self._folder / _name(file)).read_bytes()
        except OSError:
            return None
        place = len(self._mark)
        if kept[:place] != self._mark or int.from_bytes(kept[place : place + 4]) != zlib.crc32(kept[place + 4 :]):
            return None
        made: Made = pickle.loads(kept[place + 4 :])  # noqa: S301  # from a folder that only the user may write to
        return made


def _alike(made: dict[Path, Made], around: Surroundings) -> dict[Path, Made]:
    """Those for which nothing that was read reads differently now."""
    now = Folder(around.docs_dir, around.history, around.records)
    return {file: one for file, one in made.items() if now.answers_alike(one.asked)}


def _worth(made: Mapping[Path, Made]) -> dict[Path, Made]:
    """Those to keep: not what gasdoc failed on or stopped at, for the cause may pass."""
    return {file: one for file, one in made.items() if one.failure is None and not one.stopped}


def _folder(docs_dir: Path) -> Path | None:
    """Where what is kept of a folder of specs lies; None where it may not be trusted, or cannot be written."""
    if os.environ.get("GASDOC_DOT"):  # nobody knows when that program is another one
        return None
    try:
        home = user_cache("builds")
        home.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = home.stat()
    except (OSError, RuntimeError):
        return None
    if sys.platform != "win32" and (found.st_uid != os.geteuid() or found.st_mode & 0o022):
        return None
    return home / hashlib.sha256(os.fsencode(docs_dir.resolve())).hexdigest()[:32]


def _name(file: Path) -> str:
    return hashlib.sha256(os.fsencode(file.name)).hexdigest()[:32]


def _mark(around: Surroundings, surroundings: object) -> bytes:
    """What is another value with any other gasdoc, library, template or setting."""
    found = (find_spec(library) for library in _LIBRARIES)
    places = {Path(spec.origin).parent.parent for spec in found if spec is not None and spec.origin is not None}
    libraries = sorted((str(place), place.stat().st_mtime_ns) for place in places)
    made_with = (
        sys.version,
        __version__,
        mark(PACKAGE),
        libraries,
        around.docs_dir,
        around.project_templates,
        surroundings,
    )
    return hashlib.sha256(repr(made_with).encode()).digest()
