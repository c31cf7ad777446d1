"""Reading the data files that ship with gasdoc, and a project's own files of the same kinds."""

from __future__ import annotations

import pickle
import sys
from functools import cache, partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Protocol, Self, TypeAlias, TypeVar

from msgspec import NODEFAULT, Struct, field
from msgspec.structs import fields
from pydantic_core import ValidationError, __version__, core_schema

from gasdoc.kept import kept, mark
from gasdoc.scalars import Bounds, HeldTo, choice, problem
from gasdoc.source import CONFIRMED, Citation, Document, Problem, read_yaml
from gasdoc.validation import translated

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler
    from pydantic_core import CoreSchema


class DataError(ValueError):
    """A data file that ships with gasdoc and says something it may not; the message names file and row."""


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


def _folder(package: str) -> Path:
    """Where the data files of a package are."""
    return Path(str(import_module(package).__file__)).parent


def read(package: str, name: str, model: type[T]) -> T:
    """The YAML file `name` of `package` as a value of `model`, such as read("gasdoc.regions", "uk.yaml", Region).

    Raises DataError with file, line and column, what is wrong and what would be right.
    """
    found: T = _read(package, name, model)  # type: ignore[arg-type]  # every type is hashable
    return found


@cache
def _read(package: str, name: str, model: Any) -> Any:
    file = _folder(package).joinpath(name)
    # Models of all of gasdoc, and other data files, have a part in what is read.
    ours = Path(__file__).parent
    folders = {ours} if file.is_relative_to(ours) else {ours, file.parent}
    of = " ".join([repr(model), __version__, *sorted(map(mark, folders))])
    rows = kept(file, "rows", lambda: pickle.dumps(_validated(package, name, model), pickle.HIGHEST_PROTOCOL), of=of)
    return pickle.loads(rows)  # noqa: S301  # trusted as far as the compiled modules beside it


def _validated(package: str, name: str, model: Any) -> Any:
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


def _document(file: Path) -> Document:
    document = read_yaml(file.read_text(encoding="utf-8"), file.name)
    if document.problems:
        raise _slip(document.problems[0])
    return document


def _slip(found: Problem) -> DataError:
    return DataError(f"{found.path}:{found.line}:{found.column}: {found.message}; {found.hint}")


def names(package: str, folder: str = ".", ending: str = ".yaml") -> tuple[str, ...]:
    """The data files of a package's folder, sorted, without their ending."""
    root = _folder(package) if folder == "." else _folder(package).joinpath(folder)
    return tuple(sorted(p.name.removesuffix(ending) for p in root.iterdir() if p.name.endswith(ending)))
