"""What stands in the JSON, key by key: read from the same annotations that it is written by.

In the words for a value, names between brackets are those of other objects.
"""

from __future__ import annotations

import datetime as dt
import enum
import re
from collections import Counter
from collections.abc import Iterator
from functools import cached_property
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from msgspec import Struct

from gasdoc.quantities import MONEY, Endless, UnitBeside, UnitOf
from gasdoc.report.encoder import Arm, arms, fields_of, keys, named, of, only, written_unit
from gasdoc.units import Given


class Key(Struct, frozen=True):
    """One key of an object: what stands behind it, and what it says where that is not in the words for the object."""

    name: str
    form: str
    what: str


class Object(Struct, frozen=True):
    """One object of the JSON with its keys, in order."""

    name: str
    what: str
    keys: tuple[Key, ...]


def describe(*documents: type) -> tuple[Object, ...]:
    """Every object that can stand in these documents, the documents first."""
    written: dict[type, dict[str, Any]] = {document: {} for document in documents}
    waiting: list[tuple[type, tuple[str, ...] | None]] = [(document, None) for document in documents]
    for kind, names in waiting:  # grows as it goes
        for name, hint in keys(kind, names):
            written.setdefault(kind, {})[name] = hint
            found = [(one, only(marks)) for one, marks in _objects(hint)]
            waiting += [entry for entry in dict.fromkeys(found) if entry not in waiting]
    words = _Words(Counter(kind.__name__ for kind in written))
    return tuple(
        Object(
            words.name(kind),
            _plain(kind.__doc__ or getattr(kind, "about", "")),
            tuple(words.key(kind, name, hint) for name, hint in found.items()),
        )
        for kind, found in written.items()
    )


def _objects(hint: Any) -> Iterator[Arm]:
    for base, marks in arms(hint):
        for inner in get_args(base):  # of a list, a pair, a mapping; words of a choice are no types
            yield from _objects(inner)
        if isinstance(base, type) and fields_of(base) is not None:
            yield base, marks


_PLAIN = {
    NoneType: "null",
    bool: "true or false",
    int: "a whole number",
    str: "text",
    dt.date: "a date",
    Given: "a quantity, as written",
}


class _Words(Struct, frozen=True):
    """The words for keys and values; `names` counts how often an object's name is there."""

    names: Counter[str]

    def name(self, kind: type) -> str:
        if self.names[kind.__name__] < 2:
            return kind.__name__
        return f"{kind.__name__} of {kind.__module__.partition('.')[2]}"

    def key(self, kind: type, name: str, hint: Any) -> Key:
        member = getattr(kind, name, None)
        field = getattr(kind, "model_fields", {}).get(name)
        what = field.description if field else member.__doc__ if isinstance(member, cached_property | property) else ""
        return Key(name, self.form(hint), _plain(what))

    def form(self, hint: Any) -> str:
        """What is written for an annotation, in words."""
        return " or ".join(dict.fromkeys(word for base, marks in arms(hint) for word in self._forms(base, marks)))

    def _forms(self, base: Any, marks: tuple[Any, ...]) -> Iterator[str]:
        origin: Any = get_origin(base)
        inner: tuple[Any, ...] = get_args(base)
        names = only(marks)
        if base is float:
            yield f"a quantity, {_unit(marks)}"
            if Endless in marks or MONEY in marks:
                yield "null"
        elif origin is Literal:
            yield from (f"`{word}`" for word in inner)
        elif inner and named(inner[0]):
            yield f"names, each with {self.form(of(inner[0], 1))}"
        elif origin is tuple and inner[-1] is not Ellipsis:
            yield f"a list of {', then '.join(map(self.form, inner))}"
        elif inner:
            yield (
                f"names, each with {self.form(inner[1])}"
                if len(inner) == 2 and origin is not tuple
                else f"a list, each {self.form(inner[0])}"
            )
        elif isinstance(base, type) and issubclass(base, enum.Enum):
            yield from (f"`{word}`" for word in base)
        elif base in _PLAIN:
            yield _PLAIN[base]
        else:
            yield f"[{self.name(base)}]" + (f": {', '.join(f'`{name}`' for name in names)}" if names else "")


def _unit(marks: tuple[Any, ...]) -> str:
    for mark in marks:
        if isinstance(mark, UnitOf | UnitBeside):
            return "its unit beside it"
        if mark == MONEY:
            return "the currency"
        if isinstance(mark, str):
            return written_unit(mark)
    raise TypeError("a number has no unit")


def _plain(docstring: str | None) -> str:
    """What a docstring says of the value, without what it says to whoever calls it."""
    said = re.split(r"\n\s*\n\s*(?:Raises|>>>)", docstring or "")[0]
    return " ".join(said.split()).replace("None", "null")
