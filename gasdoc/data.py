"""Reading the data files that ship with gasdoc, and a project's own files of the same kinds."""

from __future__ import annotations

import contextlib
import marshal
import os
import sys
from collections.abc import Callable, Sequence
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from gasdoc.slips import find_slip
from gasdoc.source import CONFIRMED

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_MIXED = ("limit",)  # a figure with its unit, a plain number or words: the reader of rules knows which
_WHERE_FROM = ("source", "citation", "text")


class DataError(ValueError):
    """A data file that ships with gasdoc and says something it may not; the message names file and row."""


class Row(dict[str, Any]):
    """A mapping of a data file, which says where it stands when a key is asked of it that it must have and has not."""

    __slots__ = ("place",)
    place: str

    def __missing__(self, key: str) -> Any:
        raise DataError(f"{self.place}: '{key}' is missing")


def forget() -> None:
    """Forget what was read of the data files and everything that was made of it, in all of gasdoc: what is kept anywhere is
    a function of its arguments and of these files."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "gasdoc":
            for value in vars(module).values():
                if callable(clear := getattr(value, "cache_clear", None)):
                    clear()


Check: TypeAlias = "Callable[[yaml.Node, str], None]"
"""Looks at a whole file, whose name it is told, and raises DataError."""


@cache
def load(package: str, name: str, check: Check | None = None) -> Any:
    """The YAML file `name` of `package`, such as load("gasdoc.regions", "us-cabin.yaml"). Treat it as read-only.

    Raises DataError: what `check` finds; no YAML, a key twice, a word for how well a row is confirmed that is none, a row that says so of no
    source; and later, when a key is asked of a mapping that has not got it.
    """
    return _placed(_content(resources.files(package).joinpath(name), check), name)


def _content(file: Traversable, check: Check | None) -> Any:
    return _kept(file, check) if isinstance(file, Path) else parse(file.read_text(encoding="utf-8"), file.name, check)


def parse(text: str, name: str, check: Check | None = None) -> Any:
    """The content of a data file, checked for what holds of all of them, and by `check`. Raises DataError."""
    loader = _LOADER(text)
    try:
        node = loader.get_single_node()
        if node is not None:
            _check(node, name)
            if check is not None:
                check(node, name)
        return loader.construct_document(node) if node is not None else None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        slip = find_slip(text, *((mark.line, mark.column) if mark else (0, 0)))
        raise DataError(f"{name}:{slip.line + 1}: {slip.what}; {slip.hint}") from None
    finally:
        loader.dispose()


def _check(node: yaml.Node, name: str) -> None:
    if isinstance(node, yaml.SequenceNode):
        _alike(node.value, name)
        for child in node.value:
            _check(child, name)
    if not isinstance(node, yaml.MappingNode):
        return
    where = f"{name}:{node.start_mark.line + 1}"
    keys = [str(key.value) for key, _ in node.value]
    if again := next((key for key in keys if keys.count(key) > 1), None):
        raise DataError(f"{where}: '{again}' appears twice")
    for key, (_, value) in zip(keys, node.value, strict=True):
        if key.endswith("confirmed") and (not isinstance(value, yaml.ScalarNode) or value.value not in CONFIRMED):
            raise DataError(f"{where}: '{key}' is '{value.value}', not one of {', '.join(CONFIRMED)}")
        if key in _WHERE_FROM and not value.value:
            raise DataError(f"{where}: '{key}' is empty")
    for _, child in node.value:
        _check(child, name)


def _alike(rows: Sequence[yaml.Node], name: str) -> None:
    """The rows of a list are all of one kind, and so is what they hold under one key."""
    seen: dict[str, tuple[str, int]] = {}
    for row in rows:
        fields = row.value if isinstance(row, yaml.MappingNode) else ()
        for key, node in [("", row), *((key.value, value) for key, value in fields)]:
            kind, line = _kind(node), node.start_mark.line + 1
            if kind is None or key in _MIXED:
                continue
            before, at = seen.setdefault(str(key), (kind, line))
            if kind != before:
                what = f"'{key}'" if key else "this"
                raise DataError(f"{name}:{line}: {what} is {kind}, and {before} in the row of line {at}")


def _kind(node: yaml.Node) -> str | None:
    """What a value is, in words; None for one left empty."""
    if not isinstance(node, yaml.ScalarNode):
        return "a list" if isinstance(node, yaml.SequenceNode) else "a mapping"
    return {"null": None, "int": "a number", "float": "a number", "bool": "yes or no"}.get(
        node.tag.rpartition(":")[2], "a text"
    )


def _placed(content: Any, place: str) -> Any:
    """The content with each mapping knowing its place: the file, and the keys and ids that lead to it."""
    if isinstance(content, dict):
        row = Row({k: _placed(v, f"{place}: {k}") if isinstance(v, dict | list) else v for k, v in content.items()})
        row.place = place
        return row
    if isinstance(content, list):
        return [_placed(v, f"{place}[{i}]") if isinstance(v, dict | list) else v for i, v in enumerate(content)]
    return content


def _kept(file: Path, check: Check | None) -> Any:
    """The content of a data file, parsed once and kept beside it as Python keeps compiled modules.

    Parsing YAML takes ten times as long as all that a check does with it. The copy is used only for a file of the same
    size and time; it is not written where Python is told not to, or cannot.
    """
    stat = file.stat()
    stamp = (stat.st_mtime_ns, stat.st_size, sys.version_info[:2])
    copy = file.parent / "__pycache__" / f"{file.name}.data"
    with contextlib.suppress(OSError, ValueError, EOFError, TypeError):
        kept = marshal.loads(copy.read_bytes())  # noqa: S302  # trusted as far as the compiled modules beside it
        if kept[0] == stamp:
            return kept[1]
    content = parse(file.read_text(encoding="utf-8"), file.name, check)
    if not sys.dont_write_bytecode:
        with contextlib.suppress(OSError, ValueError):  # a value marshal does not know is read from its file each time
            copy.parent.mkdir(exist_ok=True)
            beside = copy.with_suffix(f".{os.getpid()}")
            beside.write_bytes(marshal.dumps((stamp, content)))
            beside.replace(copy)
    return content


def names(package: str, folder: str = ".", ending: str = ".yaml") -> tuple[str, ...]:
    """The data files of a package's folder, sorted, without their ending."""
    root = resources.files(package) if folder == "." else resources.files(package).joinpath(folder)
    return tuple(sorted(p.name.removesuffix(ending) for p in root.iterdir() if p.name.endswith(ending)))
