"""A project's own files beside its specs: parts.yaml, parts of its own for the catalogue, and prices.yaml."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct

from gasdoc.build.model import Prices
from gasdoc.build.reader import read_prices
from gasdoc.catalog import parts as catalog
from gasdoc.catalog.parts import Catalogue
from gasdoc.machine import inside
from gasdoc.source import MAX_BYTES, Problem, Severity, decode, read_yaml
from gasdoc.study.materials.shopping import unknown_keys

PARTS, PRICES = "parts.yaml", "prices.yaml"


class Own(Struct, frozen=True):
    """What a project adds: parts (None where it has none) and prices for all its builds."""

    parts: Catalogue | None = None
    prices: Prices | None = None

    def of_build(self, slug: str) -> Own:
        """What of it is for one build."""
        return self if self.parts is None or not self.parts.only else Own(self.parts.of_build(slug), self.prices)

    @property
    def catalogue(self) -> Catalogue:
        """The parts that ship with gasdoc together with the project's own."""
        return catalog.catalogue() if self.parts is None else catalog.with_own(self.parts)


NOTHING = Own()
"""A project that adds nothing."""


def read_own(folder: Path, shown: Path | None = None) -> tuple[Own, tuple[Problem, ...]]:
    """What stands beside the specs in `folder`, and what is wrong with it; `shown` is how messages name the folder."""
    named = shown if shown is not None else folder
    own_parts, part_problems, scopes = _parts(_raw(folder / PARTS), str(named / PARTS))
    part_problems += tuple(
        Problem(
            str(named / PARTS),
            *place,
            Severity.WARNING,
            f"there is no build '{name}' beside this file",
            "name a spec of this folder, without '.md'",
            "part-build",
        )
        for name, place in scopes
        if not (folder / f"{name}.md").is_file()
    )
    own_prices, price_problems = _prices(_raw(folder / PRICES), str(named / PRICES), own_parts, bool(part_problems))
    return Own(own_parts, own_prices), (*part_problems, *price_problems)


def _raw(file: Path) -> bytes | OSError | None:
    try:
        return inside.read(file, file.parent, MAX_BYTES + 1)
    except FileNotFoundError:
        return None
    except OSError as error:
        return error


def _unreadable(error: OSError, path: str) -> Problem:
    reason = (error.strerror or "cannot be read").lower()
    return Problem(path, 1, 1, Severity.ERROR, reason, "check the file", "file-read")


_Parts: TypeAlias = "tuple[Catalogue | None, tuple[Problem, ...], tuple[tuple[str, tuple[int, int]], ...]]"
"""The parts, what is wrong with them, and the builds that they are for, each with its line and column."""


def _parts(raw: bytes | OSError | None, path: str) -> _Parts:
    if raw is None:
        return None, (), ()
    return (None, (_unreadable(raw, path),), ()) if isinstance(raw, OSError) else _read_parts(raw, path)


@lru_cache(maxsize=8)  # every spec of a folder reads the same file
def _read_parts(raw: bytes, path: str) -> _Parts:
    text, problems = decode(raw, path)
    if problems:
        return None, tuple(problems), ()
    document = read_yaml(text, path)
    found = catalog.read_parts(document)
    scopes = tuple((name, document.place(at)) for at, name in catalog.scopes(document.data)) if found.only else ()
    return (found if found.parts else None), tuple(document.problems), scopes


def _prices(
    raw: bytes | OSError | None, path: str, parts: Catalogue | None, unsure: bool
) -> tuple[Prices | None, tuple[Problem, ...]]:
    if raw is None:
        return None, ()
    if isinstance(raw, OSError):
        return None, (_unreadable(raw, path),)
    return _read_prices(raw, path, tuple(part.id for part in parts.parts) if parts is not None else (), unsure)


@lru_cache(maxsize=8)  # every spec of a folder reads the same file
def _read_prices(
    raw: bytes, path: str, parts: tuple[str, ...], unsure: bool
) -> tuple[Prices | None, tuple[Problem, ...]]:
    """The prices, their keys looked up among the catalogue's parts and the project's own, whose ids are `parts`; where
    there is something wrong with those (`unsure`), no key is called unknown."""
    return read_prices(raw, path, lambda keys: () if unsure else unknown_keys(keys, parts, catalog.catalogue()))
