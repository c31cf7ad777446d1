"""Dates that have not come yet: a record says what has happened, and one of what is still to happen is a slip."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cache
from typing import Any

from pydantic import BaseModel

from gasdoc.build.reader import Build
from gasdoc.source import Path
from gasdoc.study.findings import Finding, warning

AHEAD = {"replace_by"}
"""Keys whose date may well be to come."""


def to_come(build: Build, as_of: dt.date | None) -> Iterator[Finding]:
    """Every date of the spec that is later than `as_of`; nothing where nobody asks."""
    for at, date in _dates(build.spec, ()):
        if as_of is not None and date > as_of:
            yield warning(
                "date-to-come",
                "build",
                at,
                f"'{at[-1]}' is {date}, and that is still to come on {as_of}.",
                "A test or a sign-off counts for nothing before its date.",
                "Correct the date, or record it when it has happened.",
            )


@cache
def _keys(kind: type) -> tuple[str, ...] | None:
    """The keys of a block that may hold a date; None for what is no block."""
    return tuple(name for name in kind.model_fields if name not in AHEAD) if issubclass(kind, BaseModel) else None


def _dates(value: object, at: Path) -> Iterator[tuple[Path, dt.date]]:
    kind: Any = type(value)
    if (keys := _keys(kind)) is not None:
        for name in keys:
            yield from _dates(getattr(value, name), (*at, name))
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from _dates(item, (*at, i))
    elif isinstance(value, dt.date):
        yield at, value
