"""What a data file has to look like, said once and checked while it is parsed, so that a slip in it is told with its line.

A form is a function that looks at a YAML node and raises DataError where the node is not of that form.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from typing import TypeAlias

import yaml
from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.data import DataError

_NUMBERS = ("int", "float")


class Place(Struct, frozen=True):
    """Where a node stands: its file, and in words what it is."""

    file: str
    what: str = "the file"

    def wrong(self, node: yaml.Node, needed: str) -> DataError:
        """The error that this node is not what is needed."""
        kinds = {yaml.SequenceNode: "a list", yaml.MappingNode: "a mapping"}
        has = next((word for kind, word in kinds.items() if isinstance(node, kind)), None)
        if has is None:
            has = "empty" if node.value == "" or _tag(node) == "null" else f"'{node.value}'"
        return DataError(f"{self.file}:{node.start_mark.line + 1}: {self.what} is {has}; it must be {needed}")


Form: TypeAlias = Callable[[yaml.Node, Place], None]


def _tag(node: yaml.Node) -> str:
    return str(node.tag.rpartition(":")[2])


def text(node: yaml.Node, place: Place) -> None:
    """Words, not none."""
    if not isinstance(node, yaml.ScalarNode) or _tag(node) != "str" or not node.value:
        raise place.wrong(node, "words")


def words(node: yaml.Node, place: Place) -> None:
    """Words, or an empty text."""
    if not isinstance(node, yaml.ScalarNode) or _tag(node) != "str":
        raise place.wrong(node, "a text")


def flag(node: yaml.Node, place: Place) -> None:
    """Yes or no."""
    if not isinstance(node, yaml.ScalarNode) or _tag(node) != "bool":
        raise place.wrong(node, "yes or no")


def number(least: float = -math.inf, *, above: float = -math.inf) -> Form:
    """A finite number of at least `least` and above `above`."""
    needed = "a number" + (
        f" above {above:g}" if above > -math.inf else f" of at least {least:g}" if least > -math.inf else ""
    )

    def check(node: yaml.Node, place: Place) -> None:
        try:
            value = float(node.value) if isinstance(node, yaml.ScalarNode) and _tag(node) in _NUMBERS else math.nan
        except ValueError:  # .inf and the like
            value = math.nan
        if not (math.isfinite(value) and value >= least and value > above):
            raise place.wrong(node, needed)

    return check


def quantity(*dimensions: str) -> Form:
    """A quantity with its unit, of one of the dimensions; not below zero unless it is a temperature."""
    signed = "temperature" in dimensions

    def check(node: yaml.Node, place: Place) -> None:
        needed = f"a {' or '.join(dimensions)}, such as '{units.example(dimensions[0])}'"
        try:
            value = units.parse(node.value, *dimensions) if isinstance(node, yaml.ScalarNode) else None
        except units.UnitError:
            value = None
        if value is None or not (signed or value >= 0):
            raise place.wrong(node, needed)

    return check


def one_of(*allowed: str) -> Form:
    """One of some words."""

    def check(node: yaml.Node, place: Place) -> None:
        if not isinstance(node, yaml.ScalarNode) or node.value not in allowed:
            raise place.wrong(node, f"one of {', '.join(allowed)}")

    return check


def maybe(form: Form) -> Form:
    """The form, or nothing at all."""

    def check(node: yaml.Node, place: Place) -> None:
        if not isinstance(node, yaml.ScalarNode) or _tag(node) != "null":
            form(node, place)

    return check


def many(form: Form, least: int = 1, *, exactly: int | None = None) -> Form:
    """A list of at least `least`, or `exactly` so many, of the form."""
    needed = f"a list of {exactly}" if exactly is not None else f"a list of at least {least}" if least else "a list"

    def check(node: yaml.Node, place: Place) -> None:
        if not isinstance(node, yaml.SequenceNode) or len(node.value) < least or exactly not in (None, len(node.value)):
            raise place.wrong(node, needed)
        for child in node.value:
            form(child, replace(place, what=f"an item of {place.what}"))

    return check


def each(form: Form, key: Form = text, least: int = 1) -> Form:
    """A mapping of at least `least` keys of the form `key`, whose values are all of one form."""

    def check(node: yaml.Node, place: Place) -> None:
        if not isinstance(node, yaml.MappingNode) or len(node.value) < least:
            raise place.wrong(node, f"a mapping of at least {least}")
        for name, value in node.value:
            key(name, replace(place, what=f"a key of {place.what}"))
            form(value, replace(place, what=f"'{name.value}'"))

    return check


def row(needed: Mapping[str, Form], also: Mapping[str, Form] | None = None) -> Form:
    """A mapping that has the keys `needed`, may have those in `also`, and no others."""
    forms = {**needed, **(also or {})}

    def check(node: yaml.Node, place: Place) -> None:
        if not isinstance(node, yaml.MappingNode):
            raise place.wrong(node, f"a mapping with {_listed(needed)}")
        line = f"{place.file}:{node.start_mark.line + 1}"
        keys = [str(name.value) for name, _ in node.value]
        if missing := [name for name in needed if name not in keys]:
            raise DataError(f"{line}: '{missing[0]}' is missing in {place.what}")
        if unknown := [name for name in keys if name not in forms]:
            raise DataError(f"{line}: '{unknown[0]}' means nothing in {place.what}; its keys are {_listed(forms)}")
        for name, value in node.value:
            forms[str(name.value)](value, replace(place, what=f"'{name.value}'"))

    return check


def under(node: yaml.Node, *keys: str) -> yaml.Node:
    """What stands under some keys of a node that has been checked to have them."""
    for key in keys:
        node = next(value for name, value in node.value if name.value == key)
    return node


def _listed(keys: Collection[str]) -> str:
    return ", ".join(f"'{key}'" for key in keys)
