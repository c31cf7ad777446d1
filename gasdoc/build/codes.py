"""The two codes of a build: short names for what was tested, and for what was signed.

The tightness code (`gt1-` and twelve hex digits) stands for every key that bears on a joint or on what the tubing holds;
a test says in `covers:` which one it was made on. The build code (`gb1-`) stands for all of that and for everything else
a signer looks at; a sign-off says in `covers:` which one it was given for. Each key of the model says which code it
belongs to (`x-code`).

Both are made from what the spec states, never from what gasdoc works out, so that another catalogue or a later version
changes neither. Comments, log, names, ids, places and prices do not count, nor do the order of branches and the unit or
spelling of a value. `1` is the version of the form: another form gets another number, and what was recorded with the old
one has to be recorded anew.
"""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Any, Literal

from msgspec import Struct, field

from gasdoc.build.labels import room_id
from gasdoc.build.model import Block, Composition, Element, Junction, Outlet, Run
from gasdoc.build.reader import Build
from gasdoc.build.supply import Node
from gasdoc.units import Given

Code = Literal["tightness", "build"]

PREFIX: dict[Code, str] = {"tightness": "gt1", "build": "gb1"}
"""What a code begins with: which of the two it is, and the version of its form."""

_ORDERED = {"through", "at", "relief_at", "fill_at", "outline"}
"""Lists of values whose order says something; branches are lists of elements, and always in order."""


class Codes(Struct, frozen=True):
    """Both codes of one build."""

    tightness: str
    build: str


class Stated(Struct, frozen=True):
    """One key as a code sees it: `value` is its canonical form, `text` what the author wrote."""

    value: str
    text: str


def codes(build: Build) -> Codes:
    """The codes of a build, of what its spec states: what is still to be chosen is in neither."""
    build = build.stated
    return Codes(_named(build, "tightness"), _named(build, "build"))


def code_of(name: str) -> Code | None:
    """Which code a name such as `gt1-0123456789ab` is, None for anything else."""
    found = [code for code, prefix in PREFIX.items() if re.fullmatch(rf"{prefix}-[0-9a-f]{{12}}", name)]
    return found[0] if found else None


def stated(build: Build, code: Code) -> dict[str, Stated]:
    """Every key that a code stands for, by its name, as in 'container.number' or 'run-heater.length'."""
    found: dict[str, Stated] = {}
    build = build.stated
    spec = build.spec
    for name, value in _keys(spec, code):
        if name not in ("supply", "gas"):
            found.update(_flat(name, value, code))
    if code == "build":
        found["gas"] = _gas(spec.gas)
    for node in build.nodes:
        part = node.part
        found[f"{node.id}"] = Stated(node.kind, node.kind)
        for name, value in _keys(part, code):
            if name != "branches":
                found.update(_flat(f"{node.id}.{name}", value, code))
        if isinstance(part, Run):
            for name, text in zip(("material", "type"), _tubing(build, node), strict=True):
                if text is not None:
                    found[f"{node.id}.{name}"] = Stated(text, text)
    return found


def _tubing(build: Build, node: Node) -> tuple[str | None, str | None]:
    """Material and type of a run, neither where they are still to be chosen."""
    return (None, None) if node.id in build.open_runs else build.material(node)


def _gas(gas: Composition) -> Stated:
    """The gas in the words people write it in, also where it is left to be propane."""
    pure = {1.0: "propane", 0.0: "butane"}
    shares = f"{{propane: {gas.propane.text}, butane: {gas.butane.text}}}"
    return Stated(json.dumps([_digits(gas.propane), _digits(gas.butane)]), pure.get(float(gas.propane), shares))


class _Around(Struct, frozen=True):
    """What the form of one element needs of the others: of each run its material and type, of each room its form."""

    code: Code
    runs: dict[int, tuple[str | None, str | None]] = field(default_factory=dict)
    rooms: dict[str, Any] = field(default_factory=dict)


def _around(build: Build, code: Code) -> _Around:
    plain = _Around(code)
    return _Around(
        code,
        {id(node.part): _tubing(build, node) for node in build.nodes if isinstance(node.part, Run)},
        {room_id(space, i): _form(space, plain) for i, space in enumerate(build.spec.spaces)},
    )


def _named(build: Build, code: Code) -> str:
    around = _around(build, code)
    stated = [*_form(build.spec, around), *_together(build, around)]
    form = json.dumps(stated, separators=(",", ":"), ensure_ascii=True)
    return f"{PREFIX[code]}-{hashlib.sha256(form.encode('ascii')).hexdigest()[:12]}"


@cache
def _belonging(block: type[Block], code: Code) -> tuple[tuple[str, Any], ...]:
    """The keys of a code in the order of the alphabet, each with what it is where it is left out."""
    found = []
    for name, about in sorted(block.model_fields.items()):
        extra = about.json_schema_extra
        assert isinstance(extra, dict), "each key says which code it belongs to"
        if extra["x-code"] in ("tightness", code):
            found.append((name, about.get_default(call_default_factory=True)))
    return tuple(found)


def _keys(block: Block, code: Code) -> Iterator[tuple[str, Any]]:
    """The keys of a block that a code stands for and that say something: what is as it would be without the key is left out,
    so that a key the model gets later changes no code that was recorded before."""
    for name, left_out in _belonging(type(block), code):
        value = getattr(block, name)
        if value != left_out:
            yield name, value


def _form(value: Any, around: _Around) -> Any:
    """The canonical form of a value: of blocks the keys of the code, in the order of the alphabet."""
    if isinstance(value, Block):
        found = {name: _listed(name, item, around) for name, item in _keys(value, around.code)}
        if isinstance(value, Run) and around.runs:  # what it takes from upstream is as if it were written here
            found |= dict(zip(("material", "type"), around.runs[id(value)], strict=True))
        if isinstance(value, Junction):
            found["kind"] = value.kind or ("tee" if len(value.branches) == 2 else "manifold")
        if isinstance(value, Outlet) and around.code == "build":
            found["space"] = _room(value, around)
        return sorted(found.items())
    return _scalar(value)


def _room(outlet: Outlet, around: _Around) -> Any:
    """The room an appliance stands in as what it is, not as what it is called."""
    if outlet.space is None:
        return next(iter(around.rooms.values())) if len(around.rooms) == 1 else None
    return around.rooms.get(outlet.space, outlet.space)


def _together(build: Build, around: _Around) -> Iterator[tuple[str, Any]]:
    """Of rooms that are alike, what stands in each: an outlet's form says what its room is, and not which of them it is."""
    forms = list(around.rooms.values())
    held: dict[str, list[Any]] = {name: [] for name, form in around.rooms.items() if forms.count(form) > 1}
    for node in build.nodes:
        if isinstance(node.part, Outlet) and node.part.space in held:
            held[node.part.space].append(_form(node.part, around))
    if around.code == "build" and any(held.values()):
        rooms = [[around.rooms[name], sorted(outlets, key=json.dumps)] for name, outlets in held.items()]
        yield "together", sorted(rooms, key=json.dumps)


def _listed(name: str, value: Any, around: _Around) -> Any:
    if isinstance(value, dict):
        return sorted((key, _form(item, around)) for key, item in value.items())
    if not isinstance(value, list):
        return _form(value, around)
    forms = [_listed(name, item, around) for item in value]
    elements = bool(value) and isinstance(value[0], Element)
    return forms if elements or name in _ORDERED else sorted(forms, key=json.dumps)


def _scalar(value: Any) -> Any:
    if isinstance(value, Given):
        return [value.dimension, _digits(value)]
    if isinstance(value, bool | int) or value is None:
        return value
    return _words(str(value))


def _digits(value: float) -> str:
    """A value to six significant digits.

    It is moved up by a billionth first: the same quantity written in two units differs in the last bits, and a value
    that people write lies then never on the border between two roundings.
    """
    return f"{float(value) * (1 + 1e-9):.6g}"


_MARKS = {"\N{MULTIPLICATION SIGN}": "x", "\N{DOUBLE PRIME}": "in", "\N{RIGHT DOUBLE QUOTATION MARK}": "in", '"': "in"}
_WHOLE_AND_FRACTION = re.compile(
    r"(?<=\d)\s*(?=[\N{VULGAR FRACTION ONE QUARTER}-\N{VULGAR FRACTION THREE QUARTERS}\u2150-\u215e])"
)


def _words(text: str) -> str:
    """A size, a thread or another name without what is only spelling: case, spaces, marks and the name of the unit."""
    marked = _WHOLE_AND_FRACTION.sub("-", "".join(_MARKS.get(char, char) for char in text))
    plain = unicodedata.normalize("NFKC", marked).casefold().replace("\N{FRACTION SLASH}", "/")
    plain = re.sub(r"(?<=\d)\s*(?:inches|inch|in|mm)\b\.?", " ", plain)
    plain = re.sub(r"(?<=\d)[\s-]+(?=\d)", "-", plain)  # 1-1/4 and 1 1/4
    return re.sub(r"[\s_.,-]+(?!\d)|(?<!\d)[\s_.,-]+", "", plain)


def _flat(name: str, value: Any, code: Code) -> Iterator[tuple[str, Stated]]:
    if isinstance(value, Block):
        for key, item in _keys(value, code):
            yield from _flat(f"{name}.{key}", item, code)
    elif isinstance(value, list) and value and isinstance(value[0], Block):
        for i, item in enumerate(value):
            yield from _flat(f"{name}.{i + 1}", item, code)
    elif isinstance(value, list):
        yield name, Stated(json.dumps(_listed(name, value, _Around(code))), ", ".join(map(_text, value)) or "none")
    else:
        yield name, Stated(json.dumps(_scalar(value)), _text(value))


def _text(value: Any) -> str:
    if isinstance(value, Given):
        return value.text
    if isinstance(value, list):
        return " ".join(map(_text, value))
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
