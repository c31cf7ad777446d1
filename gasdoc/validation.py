"""What pydantic finds wrong with a document, in our own words and at its place: one translation for specs and for data files."""

from __future__ import annotations

import pathlib
import pickle
import re
import types
import typing
from collections.abc import Collection, Sequence
from functools import cache
from typing import Any, NamedTuple, TypeAlias, TypeGuard

from msgspec import Meta, Struct
from msgspec.structs import fields
from pydantic import BaseModel
from pydantic_core import SchemaValidator, ValidationError, __version__

from gasdoc.kept import kept, mark
from gasdoc.scalars import nearest
from gasdoc.source import Document, Path, Problem, Severity
from gasdoc.words import meant_key

MOST_PROBLEMS = 500

_OURS = pathlib.Path(__file__)


@cache
def validator(name: str, of: Any) -> SchemaValidator:
    """What validates a value by an annotation of ours, whose name is for the file it is kept in.

    pydantic takes a tenth of a check to work it out of the models. It holds for the very files of gasdoc that made it.
    """
    schema = kept(_OURS, f"{name}.schema", lambda: _schema(of), of=f"{__version__} {mark(_OURS.parent)}")
    return SchemaValidator(pickle.loads(schema))  # noqa: S301  # trusted as far as the compiled modules beside it


def _schema(of: Any) -> bytes:
    """The schema that pydantic works out, without what it has for writing values and describing them."""
    from pydantic import TypeAdapter

    def bare(part: Any) -> Any:
        if isinstance(part, dict):
            return {key: bare(value) for key, value in part.items() if key not in ("metadata", "serialization")}
        return type(part)(map(bare, part)) if isinstance(part, list | tuple) else part

    adapter = TypeAdapter(of)
    adapter.rebuild()
    return pickle.dumps(bare(adapter.core_schema), pickle.HIGHEST_PROTOCOL)


SHOWN = 80
"""Letters of a value that a hint repeats at most."""


def translated(error: ValidationError, document: Document, model: Model) -> list[Problem]:
    """The errors of validating a document by `model`, in our own words, at their places."""
    problems: list[Problem] = []
    details = error.errors(include_url=False)
    if len(details) > MOST_PROBLEMS:
        line, column = document.place(details[MOST_PROBLEMS]["loc"])
        problems.append(more_problems(document.path, len(details) - MOST_PROBLEMS, line, column))
        details = details[:MOST_PROBLEMS]
    misspelt = {
        (*d["loc"][:-1], _key_meant(str(d["loc"][-1]), _keys(model, d["loc"][:-1])))
        for d in details
        if d["type"] == "extra_forbidden"
    }
    commas = _commas([d["loc"] for d in details if d["type"] == "extra_forbidden"], document.data)
    halves = set(commas.values())
    lists = {d["loc"] for d in details if d["type"] == "list_type"}
    cut = {_cut_by_a_comma(d["loc"], document) for d in details if d["type"] == "extra_forbidden"} & lists
    for detail in details:
        at: Path = detail["loc"]
        if at in halves and detail["type"] == "gasdoc":
            continue  # the half before a decimal comma; the half after it says so
        if detail["type"] == "missing" and at in misspelt:
            continue  # one problem for one cause: the misspelt key is reported already
        if at in cut:
            continue  # the first item of a list that lacks its brackets; what follows its comma says so
        key = at[-1] if at else ""
        context = detail.get("ctx", {})
        if detail["type"] == "gasdoc":
            line, column = document.place((*at, *context["at"]), value=True)
            message, hint, code = context["message"], context["hint"], context["code"]
            if detail["input"] is None:
                message, hint = f"'{key}' is empty", _filled(model, at, hint)
            elif (
                isinstance(detail["input"], dict)
                and _model_at(model, at) is None
                and (indent := _indented(at, detail["input"], document))
            ):
                line, column, hint = indent
        elif detail["type"] == "extra_forbidden":
            line, column = document.place(at)
            message, hint, code = _unknown_key(model, document, at, commas.get(at), lists)
        elif detail["type"] == "missing":
            line, column = document.place(at[:-1])
            message, code = f"'{key}' is missing{_inside(at[:-1])}", "spec-missing-key"
            hint = _wanted(model, at)
        else:
            line, column = document.place(at, value=True)
            message, hint = _structure(detail["type"], key, detail.get("input"), context, _keys(model, at))
            code = "spec-structure"
            below = detail.get("input")
            item = _model_at(model, (*at, 0)) if detail["type"] == "list_type" else None
            of_item = item is not None and isinstance(below, dict) and next(iter(below), None) in _fields(item)
            if (
                detail["type"] == "list_type"
                and isinstance(below, dict)
                and not of_item
                and (indent := _indented(at, below, document))
            ):
                line, column, hint = indent
        problems.append(Problem(document.path, line, column, Severity.ERROR, message, hint, code))
    return problems


def _key_meant(key: str, known: list[str]) -> str | None:
    """The key that an unknown one is meant for: as people call it, or as it is spelt."""
    return meant_key(key, known) or nearest(key, known)


def _unknown_key(
    model: Model, document: Document, at: Path, before_comma: Path | None, lists: Collection[Path]
) -> tuple[str, str, str]:
    """What is said of a key that its block has not got, with its hint and code; `before_comma` is the key whose value a decimal
    comma ends here, `lists` are the places where a list belongs and none stands."""
    key, known = str(at[-1]), _keys(model, at[:-1])
    if before_comma is not None:
        before = _at(document.data, before_comma)
        hint = f"write the decimal with a point, as in '{before}.{key}'"
        if re.match(r"\d{3}(?!\d)", key):  # which of the two the comma is, only its writer knows
            hint = f"write '{before}{key}' if it is before thousands, or '{before}.{key}' if it is before decimals"
        return f"the comma in '{before},{key}' ends the value of '{before_comma[-1]}'", hint, "spec-quantity"
    message, near = f"unknown key '{key}'", _key_meant(key, known)
    if near is not None:
        return message, f"did you mean '{near}'?", "spec-unknown-key"
    if (cut := _cut_by_a_comma(at, document)) is not None:
        whole = f"{_at(document.data, cut)}, {key}"
        form, quoted = (
            ("write a list in brackets", f"[{whole}]")
            if cut in lists
            else ("quote text that has a comma", f'"{whole}"')
        )
        hint = form + (f": {cut[-1]}: {quoted}" if len(whole) <= SHOWN else "")
        return f"the comma before '{key}' ends the value of '{cut[-1]}'", hint, "spec-unknown-key"
    below = [name for name in known if key in _keys(model, (*at[:-1], name))]
    if len(below) == 1:
        return message, f"write '{key}:' under '{below[0]}:'", "spec-unknown-key"
    around = next((word for word in reversed(at[:-1]) if isinstance(word, str)), None)
    if around is not None and key in _fields(model):
        return message, f"write '{key}:' at the top, not in '{around}'", "spec-unknown-key"
    return message, "the keys here are: " + ", ".join(known), "spec-unknown-key"


def more_problems(path: str, number: int, line: int, column: int, severity: Severity = Severity.ERROR) -> Problem:
    """What is said in place of problems beyond the first."""
    return Problem(
        path,
        line,
        column,
        severity,
        f"{number} more problems follow",
        "put right those above first",
        "spec-more-problems",
    )


def _indented(at: Path, below: dict[str, Any], document: Document) -> tuple[int, int, str] | None:
    """The line whose indent makes a block of a value, and the indent to give it; None where the block is in braces."""
    line, column = document.place(at)
    child = next(iter(below), None)
    if child is None:
        return None
    child_line, child_column = document.place((*at, child))
    if child_line == line:
        return None
    around = _at(document.data, at[:-1])
    if isinstance(around, dict) and len(around) == 1:
        return line, column, f"give '{at[-1]}' the indent of the lines below it, {child_column - 1} spaces"
    return child_line, child_column, f"give '{child}' the indent of '{at[-1]}', {column - 1} spaces"


def _commas(unknown: Sequence[Path], data: Any) -> dict[Path, Path]:
    """The unknown keys that are what follows a decimal comma in `{length: 2,5 m}`, each with the key before it."""
    found: dict[Path, Path] = {}
    for at in unknown:
        block = _at(data, at[:-1])
        keys = list(block) if isinstance(block, dict) else []
        where = keys.index(at[-1]) if at[-1] in keys else 0
        if where and re.match(r"\d+\s*[^\d\s]", str(at[-1])) and re.fullmatch(r"[-+]?\d+", str(block[keys[where - 1]])):
            found[at] = (*at[:-1], keys[where - 1])
    return found


def _cut_by_a_comma(at: Path, document: Document) -> Path | None:
    """The key whose text a comma in braces ends, where an unknown key without a value is what follows that comma."""
    block = _at(document.data, at[:-1])
    keys = list(block) if isinstance(block, dict) else []
    where = keys.index(at[-1]) if at[-1] in keys else 0
    before = (*at[:-1], keys[where - 1]) if where else None
    if before is None or block[at[-1]] is not None or not isinstance(block[before[-1]], str):
        return None
    return before if document.place(before)[0] == document.place(at)[0] else None


def _at(data: Any, at: Path) -> Any:
    """What stands at a place of the front matter, None where nothing does."""
    for part in at:
        if isinstance(data, dict):
            data = data.get(part)
        elif isinstance(data, list) and isinstance(part, int) and part < len(data):
            data = data[part]
        else:
            return None
    return data


def _filled(model: Model, at: Path, hint: str) -> str:
    """What to write for an empty value: its form, and what it means."""
    form = hint.removesuffix(" on the same line")
    meaning = _wanted(model, at).removeprefix("add it").removeprefix(": ")
    return f"{form}: {meaning}" if meaning and "one of" not in form else form


def _inside(at: Path) -> str:
    words = [str(part) for part in at if isinstance(part, str)]
    return f" from {words[-1]}" if words else ""


_NUMBER = ("{found} is not a number", "write a plain number, without a unit")
_PLAIN = {
    "string_type": ("{found} stands where text belongs", "write text on the same line"),
    "string_too_short": ("the text is empty", "write something, or leave the key out"),
    "string_too_long": ("the text is longer than {max_length} characters", "shorten it"),
    "bool_type": ("{found} is neither yes nor no", "write yes or no"),
    "bool_parsing": ("{found} is neither yes nor no", "write yes or no"),
    "float_type": _NUMBER,
    "float_parsing": _NUMBER,
    "finite_number": _NUMBER,
    "int_type": _NUMBER,
    "int_parsing": _NUMBER,
    "int_from_float": ("{found} is not a whole number", "write it in digits, without a point"),
    "greater_than": ("{found} is out of range", "this must be more than {gt:g}"),
    "greater_than_equal": ("{found} is out of range", "this must be at least {ge:g}"),
    "less_than": ("{found} is out of range", "this must be less than {lt:g}"),
    "less_than_equal": ("{found} is out of range", "this must be at most {le:g}"),
}
"""What is wrong with a value of a plain type, by pydantic's name for it, and what would be right."""


FEW_KEYS = 6
"""A block of so many keys is told with their names."""


def _structure(kind: str, key: str | int, value: Any, context: dict[str, Any], below: Sequence[str]) -> tuple[str, str]:
    """What is wrong with the form of a value and what would be right; `below` are the keys of a block."""
    found = "nothing"
    if isinstance(value, list | dict):
        found = "a list" if isinstance(value, list) else "a block of keys"
    elif value is not None:
        found = f"'{str(value)[:40]}'"
    name = "the file" if key == "" else f"'{key}'" if isinstance(key, str) else "this item"
    if kind in _PLAIN and value is not None:
        what, remedy = _PLAIN[kind]
        return what.format(found=found, **context), remedy.format(**context)
    if kind == "literal_error":
        words = re.findall(r"'(.*?)'", context["expected"])
        near = nearest(str(value), words)
        return f"{found} is not known here", f"did you mean '{near}'?" if near else f"write one of: {', '.join(words)}"
    if value is None:
        form = "a list, or [] for none" if kind in ("list_type", "tuple_type") else "its keys, indented below it"
        if kind in _PLAIN or kind == "literal_error":
            form = "it on the same line, or leave the key out"
        return f"{name} is empty", f"write {form}"
    if kind in ("list_type", "tuple_type"):
        form = "one item a line, each after '- ', or [] for none"
        if isinstance(value, str) and isinstance(key, str) and len(value) <= SHOWN:
            form = f"it in brackets: {key}: [{value}]"
        return f"{name} must be a list, and {found} stands here", f"write {form}"
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        if isinstance(value, str) and (glued := re.match(r"([a-z_]+):(?=\S)", value)):
            return f"there is no space after the colon of {found}", f"write '{glued[1]}: {value[glued.end() :][:40]}'"
        keys = f": {', '.join(below)}" if 0 < len(below) <= FEW_KEYS else ""
        return f"{name} must be a block of keys, and {found} stands here", f"indent its keys below it{keys}"
    if kind == "too_short":
        least = context["min_length"]
        return f"{name} needs at least {least} item{'s' if least != 1 else ''}", "add what is missing"
    if kind == "too_long":
        return f"{name} has more than {context['max_length']} items", "split the build"
    return f"{name} cannot be read ({kind.replace('_', ' ')})", "see the reference of keys"


Model: TypeAlias = "type[BaseModel | Struct]"
"""What describes a block: a model of a spec, or a struct of a data file."""


def _keys(model: Model, at: Path) -> list[str]:
    below = _model_at(model, at)
    return list(_fields(below)) if below is not None else []


def _is_model(annotation: Any) -> TypeGuard[Model]:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel | Struct)


class _Key(NamedTuple):
    """What a model says of a key."""

    annotation: Any
    description: str


@cache
def _fields(model: Model) -> dict[str, _Key]:
    """The keys of a model as they are written."""
    if issubclass(model, Struct):
        return {key.encode_name: _Key(key.type, described(key.type)) for key in fields(model)}
    model.model_rebuild()  # where a field names a class that comes after its own
    return {name: _Key(field.annotation, field.description or "") for name, field in model.model_fields.items()}


def described(annotation: Any) -> str:
    """What the annotation of a struct's field says of it."""
    marks = annotation.__metadata__ if typing.get_origin(annotation) is typing.Annotated else ()
    return next((mark.description for mark in marks if isinstance(mark, Meta) and mark.description), "")


def _wanted(model: Model, at: Path) -> str:
    around = _model_at(model, at[:-1])
    key = _fields(around).get(str(at[-1])) if around is not None else None
    if key is None:
        return "add it"
    text = key.description.rstrip(".")
    return f"add it: {text[:1].lower()}{text[1:]}" if text else "add it"


def _model_at(model: Model, at: Path) -> Model | None:
    """The model that describes the block at a path below `model`, found by following the annotations."""
    annotation: Any = model
    for part in at:
        annotation = _plain(annotation)
        if isinstance(part, int):
            annotation = next(iter(typing.get_args(annotation)), None)
        elif _is_model(annotation) and part in _fields(annotation):
            annotation = _fields(annotation)[part].annotation
        elif typing.get_origin(annotation) is dict:
            annotation = typing.get_args(annotation)[1]
        else:
            return None
    annotation = _plain(annotation)
    return annotation if _is_model(annotation) else None


def _plain(annotation: Any) -> Any:
    """An annotation without `| None` and without what Annotated adds."""
    while True:
        origin = typing.get_origin(annotation)
        if origin is typing.Annotated:
            annotation = typing.get_args(annotation)[0]
        elif origin in (typing.Union, types.UnionType):
            annotation = next(a for a in typing.get_args(annotation) if a is not type(None))
        else:
            return annotation
