"""Results as data, by the annotations of their fields.

A dataclass becomes an object of its fields, of what it works out when asked for the first time (`cached_property`), and
of the properties marked `Shown`. What a field adds to that stands at the field: see `gasdoc.quantities`.

The reference says what stands there, key by key, read from the same annotations.
"""

from __future__ import annotations

import ast
import datetime as dt
import enum
import importlib
import inspect
import math
import re
import sys
from collections import Counter
from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import fields, is_dataclass
from functools import cached_property, lru_cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, TypeAlias, Union, get_args, get_origin, get_type_hints

from msgspec import Struct

from gasdoc import units
from gasdoc.quantities import MONEY, Aside, By, Endless, Rare, Told, UnitBeside, UnitOf
from gasdoc.units import Given

Arm: TypeAlias = tuple[Any, tuple[Any, ...]]
"""One type that a value may have, and the marks on it."""


def quantity(value: float, unit: str) -> dict[str, Any]:
    """A value with its unit, to nine significant digits."""
    return {"value": float(f"{value:.9g}"), "unit": written_unit(unit)}


def written_unit(unit: str) -> str:
    """A unit as libraries for units read it: m^3, not m3."""
    return re.sub(r"(?<=[a-z])(?=\d)", "^", unit)


class Encoder(Struct, frozen=True):
    """Writes values; `currency` is the unit of money, None where no price list names one."""

    currency: str | None = None

    def write(self, value: Any, hint: Any = Any, owner: object = None) -> Any:
        """A value as JSON knows it. Raises TypeError for a number without a unit, and for what says nothing of itself."""
        if value is None or isinstance(value, bool | str | enum.Enum):
            return str(value) if isinstance(value, enum.Enum) else value
        base, marks = next((arm for arm in arms(hint) if _fits(value, arm[0])), (Any, ()))
        if isinstance(value, Given) and base is not float:
            return {**quantity(value, units.si_unit(value.dimension)), "written": value.text}
        if isinstance(value, int) and base is not float:
            return value
        if isinstance(value, float | int):
            return self._number(value, marks, owner)
        if isinstance(value, dt.date):
            return value.isoformat()
        if isinstance(value, Mapping):
            return {str(key): self.write(item, of(base, 1)) for key, item in value.items()}
        if isinstance(value, AbstractSet):
            return sorted(value)
        if isinstance(value, tuple | list):
            items = [self.write(item, of(base, i)) for i, item in enumerate(value)]
            return dict(items) if named(of(base, 0)) else items
        kind: Any = type(value)
        written = keys(kind, only(marks))
        if rare := _rare(kind, only(marks)):
            written = tuple(key for key in written if key[0] not in rare or getattr(value, key[0]) is not None)
        return {name: self.write(getattr(value, name), hint, value) for name, hint in written}

    def _number(self, value: float, marks: tuple[Any, ...], owner: Any) -> dict[str, Any] | float | None:
        if Endless in marks and math.isinf(value):
            return None
        for mark in marks:
            if isinstance(mark, UnitOf):
                return quantity(value, getattr(owner, mark.name))
            if isinstance(mark, UnitBeside):
                return float(f"{value:.9g}")
            if mark == MONEY:
                return None if self.currency is None else quantity(value, self.currency)
            if isinstance(mark, str):
                return quantity(value, mark)
        raise TypeError(f"a number of {type(owner).__name__} has no unit")


def arms(hint: Any, marks: tuple[Any, ...] = ()) -> Iterator[Arm]:
    """The types that a value may have by its annotation, each with its marks."""
    if get_origin(hint) is Annotated:
        yield from arms(hint.__origin__, (*hint.__metadata__, *marks))
    elif get_origin(hint) in (Union, UnionType):
        for one in get_args(hint):
            yield from arms(one, marks)
    else:
        yield hint, marks


def _fits(value: Any, base: Any) -> bool:
    kind = get_origin(base) or base
    return kind is Any or (isinstance(kind, type) and isinstance(value, float | int if kind is float else kind))


def of(base: Any, at: int) -> Any:
    """The annotation of what stands at a place of a list, a pair or a mapping."""
    found = get_args(base)
    if not found:
        return Any
    return found[0] if found[-1] is Ellipsis or len(found) == 1 else found[at]


def named(hint: Any) -> bool:
    """Whether it is a pair of a name and a value: many of them are written as one object."""
    return get_origin(hint) is tuple and len(get_args(hint)) == 2 and get_args(hint)[0] is str


def only(marks: tuple[Any, ...]) -> tuple[str, ...] | None:
    """The only names that are written of a value, where the field says so."""
    return next((mark.names for mark in marks if isinstance(mark, By)), None)


def fields_of(kind: type) -> tuple[str, ...] | None:
    """The names of the fields of a class; None for one that has none to write."""
    if issubclass(kind, Struct):
        return kind.__struct_fields__
    if is_dataclass(kind):
        return tuple(field.name for field in fields(kind))
    return tuple(kind.model_fields) if hasattr(kind, "model_fields") else None


@lru_cache(maxsize=1024)
def keys(kind: type, names: tuple[str, ...] | None = None) -> tuple[tuple[str, Any], ...]:
    """What is written of a class, in order, with its annotations: `names` where a field says so, else all it has."""
    if names is not None:
        return tuple((name, _annotation(kind, name)) for name in names)
    plain = fields_of(kind)
    if plain is None:
        raise TypeError(f"{kind.__name__} says nothing of how it is written")
    found = {name: _annotation(kind, name) for name in plain}
    above = () if hasattr(kind, "model_fields") else reversed(kind.__mro__)
    for name, member in ((name, member) for base in above for name, member in vars(base).items()):
        if isinstance(member, cached_property | property):
            hint = _annotation(kind, name)
            if isinstance(member, cached_property) or any(Told in marks for _, marks in arms(hint)):
                found[name] = hint
    return tuple((name, hint) for name, hint in found.items() if not left_out(hint))


@lru_cache(maxsize=1024)
def _rare(kind: type, names: tuple[str, ...] | None) -> frozenset[str]:
    """The keys of a class that are written only where there is something in them."""
    return frozenset(name for name, hint in keys(kind, names) if any(Rare in marks for _, marks in arms(hint)))


def left_out(hint: Any) -> str | None:
    """Why a field is not written; None for one that is."""
    return next((mark.why for _, marks in arms(hint) for mark in marks if isinstance(mark, Aside)), None)


def _annotation(kind: type, name: str) -> Any:
    member = getattr(kind, name, None)
    get = member.func if isinstance(member, cached_property) else member.fget if isinstance(member, property) else None
    if get is None:
        return _annotations(kind)[name]
    try:
        return get_type_hints(get, include_extras=True)["return"]
    except NameError:
        return get_type_hints(get, localns=_late(get.__module__), include_extras=True)["return"]


@lru_cache(maxsize=512)
def _annotations(kind: type) -> dict[str, Any]:
    return get_type_hints(kind, include_extras=True)


@lru_cache(maxsize=64)
def _late(module: str) -> dict[str, Any]:
    """The names that a module imports for its annotations only."""
    found: dict[str, Any] = {}
    for block in ast.parse(inspect.getsource(sys.modules[module])).body:
        if isinstance(block, ast.If) and isinstance(block.test, ast.Name) and block.test.id == "TYPE_CHECKING":
            for line in block.body:
                if isinstance(line, ast.ImportFrom) and line.module:
                    source = importlib.import_module(line.module)
                    found |= {name.asname or name.name: getattr(source, name.name) for name in line.names}
    return found


# --- what stands there, key by key ------------------------------------------------------------------------------------
# In the words for a value, names between brackets are those of other objects.


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
        elif base is NoneType and Rare in marks:
            yield "no key"
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
