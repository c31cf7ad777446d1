"""Reading a spec: bytes -> Build, with every problem found and where it stands."""

from __future__ import annotations

import difflib
import re
import types
import typing
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal

from pydantic import BaseModel, TypeAdapter, ValidationError

from gasdoc.build.checks import Complaint, check_shape, check_spec, inherited
from gasdoc.build.log import Log, read_log
from gasdoc.build.model import FORMAT, Prices, Spec
from gasdoc.build.scalars import nearest
from gasdoc.build.supply import Node, flatten, slug
from gasdoc.machine import inside
from gasdoc.quantities import By
from gasdoc.source import MAX_BYTES, Document, Path, Problem, Severity, decode, read_yaml

MOST_CHARACTERS = 250_000
MOST_PROBLEMS = 500

_FIRST_LINES = 2000
"""Where to look for front matter that does not begin in the first line (our choice)."""

_DRAFT = re.compile(r"^draft:[^\S\n]*(?:yes|true)[^\S\n]*(?:#.*)?$", re.MULTILINE | re.IGNORECASE)


@dataclass(frozen=True)
class Build:
    """One installation as its spec describes it: validated, with ids and places, nothing computed.

    `path` is the spec's path as the user gave it; `slug` is its file name without ending, and names its pages.
    """

    slug: str
    path: str
    spec: Annotated[Spec, By("title")]
    nodes: tuple[Node, ...]
    log: Log
    document: Document

    @cached_property
    def by_id(self) -> dict[str, Node]:
        """The elements of the supply tree by id."""
        return {node.id: node for node in self.nodes}

    def material(self, node: Node) -> tuple[str, str | None]:
        """Material and type of a run, its own or taken from upstream."""
        material, kind = inherited(self.nodes, self.nodes.index(node))
        assert material is not None, "checked when the spec was read"
        return material, kind

    def problem(self, at: Sequence[str | int], severity: Severity, message: str, hint: str, code: str) -> Problem:
        """A problem at a place of the front matter."""
        line, column = self.document.place(at)
        return Problem(self.path, line, column, severity, message, hint, code)


@dataclass(frozen=True)
class Read:
    """What came of reading one spec: `build` is None when it cannot be taken. `title` is the best name for it; `draft`
    whether it calls itself a draft, as far as that can be read."""

    slug: str
    path: str
    title: str
    build: Build | None
    problems: tuple[Problem, ...]
    draft: bool = False


def read_prices(
    raw: bytes, path: str, unknown: Callable[[Sequence[str]], Iterable[tuple[str, str, str]]]
) -> tuple[Prices | None, tuple[Problem, ...]]:
    """The prices in a file prices.yaml, which holds what `prices:` holds in a spec; and what is wrong with it.

    `unknown` gives of part keys those that name nothing, each with a message and a hint.
    """
    text, problems = decode(raw, path)
    if problems:
        return None, tuple(problems)
    document = read_yaml(text, path)
    if document.data is None and not document.problems:
        document.problem((), Severity.ERROR, "there are no prices in it", "begin with 'currency:'", "spec-structure")
    if document.problems:
        return None, tuple(document.problems)
    # The same words as for a spec: its reader finds the keys of a block by where it stands in one.
    for places in (document.places, document.value_places):
        inside = {("prices", *at): place for at, place in places.items()}
        places.clear()
        places.update(inside)
    try:
        found = TypeAdapter(dict[Literal["prices"], Prices]).validate_python({"prices": document.data})
    except ValidationError as error:
        return None, tuple(_translate(error, document))
    for key, message, hint in unknown(tuple(found["prices"].items)):
        document.problem(("prices", "items", key), Severity.WARNING, message, hint, "spec-part-key")
    return found["prices"], tuple(document.problems)


def read_file(file: FilePath, shown_path: str | None = None) -> Read:
    """The spec in a file. An unreadable file is a problem, not an exception."""
    path = shown_path or str(file)
    try:
        raw = inside.read(file, file.parent, MAX_BYTES + 1)
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        beside = [other.stem for other in file.parent.glob("*.md")]
        near = difflib.get_close_matches(file.stem, sorted(beside), n=3, cutoff=0.5) if file.stem not in beside else []
        remedy = (
            f"did you mean {' or '.join(str(file.with_name(f'{stem}.md')) for stem in near)}?"
            if near
            else "check the path"
        )
        return _failed(file.stem, path, [Problem(path, 1, 1, Severity.ERROR, reason, remedy, "file-read")])
    return read_spec(raw, path, file.stem)


def read_spec(raw: bytes, path: str, stem: str) -> Read:
    """The spec in `raw`; `path` is how messages name it, `stem` its file name without ending."""
    name = slug(stem)
    text, problems = decode(raw, path)
    if problems:
        return _failed(name, path, problems)
    head, body, body_line, problems = _split(text, path)
    if head is None:
        return _failed(name, path, problems)
    if len(head) > MOST_CHARACTERS:
        problem = Problem(
            path,
            1,
            1,
            Severity.ERROR,
            f"the front matter is longer than {MOST_CHARACTERS:,} characters",
            "split the build",
            "file-size",
        )
        return _failed(name, path, [problem])
    draft = _DRAFT.search(head) is not None
    document = read_yaml(head, path, first_line=2)
    if document.problems or not isinstance(document.data, dict):
        if not document.problems:
            document.problem(
                (),
                Severity.ERROR,
                "the front matter is not a block of keys",
                "begin with 'format: 1'",
                "spec-front-matter",
            )
        return _failed(name, path, document.problems, document, draft=draft)
    draft = str(document.data.get("draft")).lower() in ("yes", "true")
    build, problems = _validate(document)
    log, log_problems = read_log(body, path, body_line)
    problems += log_problems[:MOST_PROBLEMS]
    if len(log_problems) > MOST_PROBLEMS:
        problems.append(
            _more(path, len(log_problems) - MOST_PROBLEMS, log_problems[MOST_PROBLEMS].line, 1, Severity.WARNING)
        )
    if build is None:
        return _failed(name, path, problems, document, draft=draft)
    spec, nodes = build
    found = tuple(sorted(problems, key=lambda p: p.order))
    return Read(name, path, spec.title, Build(name, path, spec, nodes, log, document), found, spec.draft)


def _failed(
    name: str, path: str, problems: Sequence[Problem], document: Document | None = None, *, draft: bool = False
) -> Read:
    data = document.data if document is not None else None
    title = data.get("title") if isinstance(data, dict) else None
    shown = title.strip()[:80] if isinstance(title, str) and title.strip() else name
    return Read(name, path, shown, None, tuple(sorted(problems, key=lambda p: p.order)), draft)


def _split(text: str, path: str) -> tuple[str | None, str, int, list[Problem]]:
    """Front matter, body, line the body starts on."""

    def wrong(line: int, message: str, hint: str) -> tuple[None, str, int, list[Problem]]:
        return None, "", 1, [Problem(path, line, 1, Severity.ERROR, message, hint, "spec-front-matter")]

    lines = text.split("\n")
    if lines[0].rstrip() != "---":
        number = next((number for number, line in enumerate(lines, 1) if line.strip()), 1)
        if (line := lines[number - 1].strip()).strip("-") == "" and len(line) > 1 and number == 1:
            return wrong(
                1, f"the first line is '{line[:20]}', so there is no front matter", "write three hyphens: '---'"
            )
        opened = next((number for number, line in enumerate(lines[:_FIRST_LINES], 1) if line.rstrip() == "---"), None)
        if opened is not None:
            return wrong(
                opened,
                f"'---' opens the front matter only in the first line, and here it is in line {opened}",
                "take out what stands above it",
            )
        return wrong(
            1,
            "this file is neither a spec nor a page",
            "begin a spec with the lines '---' and 'format: 1', and a page with '---', 'page: yes', '---'",
        )
    for number, line in enumerate(lines[1:], 2):
        if line.rstrip() == "---":
            return "\n".join(lines[1 : number - 1]) + "\n", "\n".join(lines[number:]), number + 1, []
    return wrong(len(lines), "the front matter has no end", "close it with a line '---'")


def _validate(document: Document) -> tuple[tuple[Spec, tuple[Node, ...]] | None, list[Problem]]:
    data = {key: value for key, value in document.data.items() if not key.startswith("x-")}
    wrong_format = _check_format(data)
    if wrong_format:
        return None, [_located(document, wrong_format)]
    try:
        spec = Spec.model_validate(data)
    except ValidationError as error:
        return None, _translate(error, document)
    complaints = list(check_shape(spec.supply, ("supply",)))
    nodes: tuple[Node, ...] = ()
    if not complaints:
        nodes = flatten(spec)
        complaints = list(check_spec(spec, nodes))
    problems = [_located(document, complaint) for complaint in complaints]
    if any(problem.severity is Severity.ERROR for problem in problems):
        return None, problems
    return (spec, nodes), problems


def _check_format(data: dict[str, Any]) -> Complaint | None:
    if "format" not in data:
        near = next((key for key in data if nearest(key.lower(), ["format"])), None)
        if near is not None:
            return Complaint(
                (near,),
                f"unknown key '{near[:40]}', and the spec does not say its format",
                "did you mean 'format'?",
                "spec-format",
            )
        return Complaint((), "the spec does not say its format", f"add 'format: {FORMAT}' at the top", "spec-format")
    if data["format"] != str(FORMAT):
        return Complaint(
            ("format",),
            f"format '{str(data['format'])[:40]}' is not known to this version",
            f"this gasdoc reads 'format: {FORMAT}'; a newer one may read more",
            "spec-format",
        )
    return None


def _located(document: Document, complaint: Complaint) -> Problem:
    line, column = document.place(complaint.at)
    return Problem(document.path, line, column, complaint.severity, complaint.message, complaint.hint, complaint.code)


def _translate(error: ValidationError, document: Document) -> list[Problem]:
    """A validation's errors in our own words, at their places."""
    problems: list[Problem] = []
    details = error.errors(include_url=False)
    if len(details) > MOST_PROBLEMS:
        line, column = document.place(details[MOST_PROBLEMS]["loc"])
        problems.append(_more(document.path, len(details) - MOST_PROBLEMS, line, column))
        details = details[:MOST_PROBLEMS]
    misspelt = {
        (*d["loc"][:-1], nearest(str(d["loc"][-1]), _keys(d["loc"][:-1])))
        for d in details
        if d["type"] == "extra_forbidden"
    }
    commas = _commas([d["loc"] for d in details if d["type"] == "extra_forbidden"], document.data)
    halves = set(commas.values())
    for detail in details:
        at: Path = detail["loc"]
        if at in halves and detail["type"] == "gasdoc":
            continue  # the half before a decimal comma; the half after it says so
        if detail["type"] == "missing" and at in misspelt:
            continue  # one problem for one cause: the misspelt key is reported already
        key = at[-1] if at else ""
        context = detail.get("ctx", {})
        if detail["type"] == "gasdoc":
            line, column = document.place(at, value=True)
            message, hint, code = context["message"], context["hint"], context["code"]
            if detail["input"] is None:
                message, hint = f"'{key}' is empty", _filled(at, hint)
            elif isinstance(detail["input"], dict) and (indent := _indented(at, detail["input"], document)):
                line, column, hint = indent
        elif detail["type"] == "extra_forbidden":
            line, column = document.place(at)
            known = _keys(at[:-1])
            near = nearest(str(key), known)
            message, code = f"unknown key '{key}'", "spec-unknown-key"
            hint = f"did you mean '{near}'?" if near else "the keys here are: " + ", ".join(known)
            if at in commas:
                before = _at(document.data, commas[at])
                message, code = f"the comma in '{before},{key}' ends the value of '{commas[at][-1]}'", "spec-quantity"
                hint = f"write the decimal with a point, as in '{before}.{key}'"
            elif not near and (cut := _cut_by_a_comma(at, document)):
                whole = f"{_at(document.data, cut)}, {key}"
                message = f"the comma before '{key}' ends the value of '{cut[-1]}'"
                hint = (
                    f'quote text that has a comma: {cut[-1]}: "{whole}"'
                    if len(whole) <= 80
                    else "quote text that has a comma"
                )
        elif detail["type"] == "missing":
            line, column = document.place(at[:-1])
            message, code = f"'{key}' is missing{_inside(at[:-1])}", "spec-missing-key"
            hint = _wanted(at)
        else:
            line, column = document.place(at, value=True)
            message, hint = _structure(detail["type"], key, detail.get("input"), context)
            code = "spec-structure"
            below = detail.get("input")
            if detail["type"] == "list_type" and isinstance(below, dict) and (indent := _indented(at, below, document)):
                line, column, hint = indent
        problems.append(Problem(document.path, line, column, Severity.ERROR, message, hint, code))
    return problems


def _more(path: str, number: int, line: int, column: int, severity: Severity = Severity.ERROR) -> Problem:
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


def _filled(at: Path, hint: str) -> str:
    """What to write for an empty value: its form, and what it means."""
    form = hint.removesuffix(" on the same line")
    meaning = _wanted(at).removeprefix("add it").removeprefix(": ")
    return f"{form}: {meaning}" if meaning and "one of" not in form else form


def _inside(at: Path) -> str:
    words = [str(part) for part in at if isinstance(part, str)]
    return f" from {words[-1]}" if words else ""


def _structure(kind: str, key: str | int, value: Any, context: dict[str, Any]) -> tuple[str, str]:
    found = "nothing"
    if isinstance(value, list | dict):
        found = "a list" if isinstance(value, list) else "a block of keys"
    elif value is not None:
        found = f"'{str(value)[:40]}'"
    name = f"'{key}'" if isinstance(key, str) else "this item"
    if value is None:
        form = "a list, or [] for none" if kind == "list_type" else "its keys, indented below it"
        return f"{name} is empty", f"write {form}"
    if kind in ("list_type", "tuple_type"):
        return (
            f"{name} must be a list, and {found} stands here",
            "write one item a line, each after '- ', or [] for none",
        )
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        if isinstance(value, str) and (glued := re.match(r"([a-z_]+):(?=\S)", value)):
            return f"there is no space after the colon of {found}", f"write '{glued[1]}: {value[glued.end() :][:40]}'"
        return f"{name} must be a block of keys, and {found} stands here", "indent its keys below it"
    if kind == "too_short":
        least = context["min_length"]
        return f"{name} needs at least {least} item{'s' if least != 1 else ''}", "add what is missing"
    if kind == "too_long":
        return f"{name} has more than {context['max_length']} items", "split the build"
    return f"{name} cannot be read ({kind.replace('_', ' ')})", "see the reference of keys"


def _keys(at: Path) -> list[str]:
    model = _model_at(at)
    return list(model.model_fields) if model is not None else []


def _wanted(at: Path) -> str:
    model = _model_at(at[:-1])
    field = model.model_fields.get(str(at[-1])) if model is not None else None
    if field is None:
        return "add it"
    text = (field.description or "").rstrip(".")
    return f"add it: {text[:1].lower()}{text[1:]}" if text else "add it"


def _model_at(at: Path) -> type[BaseModel] | None:
    """The model that describes the block at a path, found by following the annotations."""
    annotation: Any = Spec
    for part in at:
        annotation = _plain(annotation)
        if isinstance(part, int):
            annotation = next(iter(typing.get_args(annotation)), None)
        elif isinstance(annotation, type) and issubclass(annotation, BaseModel) and part in annotation.model_fields:
            annotation = annotation.model_fields[part].annotation
        else:
            return None
    annotation = _plain(annotation)
    return annotation if isinstance(annotation, type) and issubclass(annotation, BaseModel) else None


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
