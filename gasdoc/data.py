"""Reading the data files that ship with gasdoc, and a project's own files of the same kinds."""

from __future__ import annotations

import pickle
import sys
from collections.abc import Callable, Sequence
from functools import cache, partial
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Protocol, Self, TypeAlias, TypeVar

import yaml
from msgspec import NODEFAULT, Struct, field
from msgspec.structs import fields
from pydantic_core import ValidationError, __version__, core_schema

from gasdoc.kept import kept, mark
from gasdoc.scalars import Bounds, HeldTo, choice, problem
from gasdoc.slips import find_slip
from gasdoc.source import CONFIRMED, Citation, Document, Problem, read_yaml
from gasdoc.validation import translated

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema

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


class Entry(Struct, frozen=True):
    """One mapping of a data file: a key it does not know is a slip, no text is empty, and no value changes.

    A plain annotation reads a plain value: `float` a number, `bool` yes or no, `str` words. A figure with a unit is
    `Annotated[Given, Quantity(("pressure",))]`: SI, and it remembers how it was written.

    It is a struct, validated by pydantic when its file has changed; from then on rows are kept, and pydantic is not asked.
    """

    @classmethod
    def _completed(cls, written: Any) -> Any:
        """What is written, with what the row takes from elsewhere."""
        return written

    def _checked(self) -> None:
        """Raise the problem with what must hold between its keys."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        keys = fields(cls)
        names = {key.encode_name: key.name for key in keys}
        of_keys = {}
        for key in keys:
            schema = handler.generate_schema(key.type)
            if key.default is not NODEFAULT:
                schema = core_schema.with_default_schema(schema, default=key.default)
            of_keys[key.encode_name] = core_schema.typed_dict_field(schema, required=key.required)
        config = core_schema.CoreConfig(
            extra_fields_behavior="forbid", str_strip_whitespace=True, str_min_length=1, allow_inf_nan=False
        )
        row = core_schema.typed_dict_schema(of_keys, config=config)
        made = core_schema.no_info_after_validator_function(partial(cls._made, names), row)
        return core_schema.no_info_before_validator_function(cls._completed, made)

    @classmethod
    def _made(cls, names: dict[str, str], values: dict[str, Any]) -> Self:
        """The row of the values of its keys; `names` are those of the fields by the keys."""
        row = cls(**{names[key]: value for key, value in values.items()})
        cls._checked(row)
        return row


class Cited(Entry, frozen=True):
    """A mapping that says where it comes from, under `citation`, and how well that is confirmed."""

    cited: str = field(name="citation")
    confirmed: Annotated[str, choice(*CONFIRMED)]

    @property
    def citation(self) -> Citation:
        """The source, with how well it is confirmed."""
        return Citation(self.cited, self.confirmed)


class _Named(Protocol):
    @property
    def id(self) -> str: ...


_EntryT = TypeVar("_EntryT", bound=Entry)
_NamedT = TypeVar("_NamedT", bound=_Named)


def each_id_once(rows: tuple[_NamedT, ...]) -> tuple[_NamedT, ...]:
    """The rows of a list; raises the problem with a second one of an id."""
    seen: set[str] = set()
    for position, row in enumerate(rows):
        if row.id in seen:
            raise problem(
                "data-id",
                f"the id '{row.id}' stands here a second time",
                "give each row an id of its own",
                at=(position,),
            )
        seen.add(row.id)
    return rows


ById: TypeAlias = Annotated[tuple[_NamedT, ...], HeldTo(each_id_once)]
"""A list of rows, each with an id of its own."""

T = TypeVar("T")
Some: TypeAlias = Annotated[tuple[T, ...], Bounds(min_length=1)]
"""A list of at least one."""
Each: TypeAlias = Annotated[dict[str, T], Bounds(min_length=1)]
"""A mapping of at least one key."""


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


def _folder(package: str) -> Traversable:
    """Where the data files of a package are."""
    return resources.files(package)


def read(package: str, name: str, model: type[_EntryT]) -> _EntryT:
    """The YAML file `name` of `package` as a value of `model`, such as read("gasdoc.regions", "uk.yaml", Region).

    Raises DataError with file, line and column, what is wrong and what would be right.
    """
    found: _EntryT = _read(package, name, model)
    return found


@cache
def _read(package: str, name: str, model: type[Entry]) -> Any:
    file = _folder(package).joinpath(name)
    # Models of all of gasdoc, and other data files, have a part in what is read.
    ours = Path(__file__).parent
    folders = {ours} if not isinstance(file, Path) or file.is_relative_to(ours) else {ours, file.parent}
    of = " ".join([model.__module__, model.__qualname__, __version__, *sorted(map(mark, folders))])
    rows = kept(file, "rows", lambda: pickle.dumps(_validated(package, name, model), pickle.HIGHEST_PROTOCOL), of=of)
    return pickle.loads(rows)  # noqa: S301  # trusted as far as the compiled modules beside it


def _validated(package: str, name: str, model: type[_EntryT]) -> _EntryT:
    from pydantic import TypeAdapter  # noqa: PLC0415  # for a file that has changed only

    try:
        return TypeAdapter(model).validate_python(words(package, name))
    except ValidationError as error:
        document = _document(_folder(package).joinpath(name))
        raise _slip(translated(error, document, model)[0]) from None


@cache
def words(package: str, name: str) -> Any:
    """What a data file says: its mappings and lists, with each value as the text that was written. Treat it as read-only.

    Raises DataError for a file that is no YAML.
    """
    return _document(_folder(package).joinpath(name)).data


def _document(file: Traversable) -> Document:
    document = read_yaml(file.read_text(encoding="utf-8"), file.name)
    if document.problems:
        raise _slip(document.problems[0])
    return document


def _slip(found: Problem) -> DataError:
    return DataError(f"{found.path}:{found.line}:{found.column}: {found.message}; {found.hint}")


@cache
def load(package: str, name: str, check: Check | None = None) -> Any:
    """The YAML file `name` of `package`, such as load("gasdoc.regions", "us-cabin.yaml"). Treat it as read-only.

    Raises DataError: what `check` finds; no YAML, a key twice, a word for how well a row is confirmed that is none, a row that says so of no
    source; and later, when a key is asked of a mapping that has not got it.
    """
    file = _folder(package).joinpath(name)
    return _placed(kept(file, "data", lambda: parse(file.read_text(encoding="utf-8"), file.name, check)), name)


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


def names(package: str, folder: str = ".", ending: str = ".yaml") -> tuple[str, ...]:
    """The data files of a package's folder, sorted, without their ending."""
    root = _folder(package) if folder == "." else _folder(package).joinpath(folder)
    return tuple(sorted(p.name.removesuffix(ending) for p in root.iterdir() if p.name.endswith(ending)))
