"""A choice written into the text of its spec: only the keys it states change, and every comment stays.

A key that a choice takes back is left empty, which says the same as leaving it out.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping

import yaml
from msgspec import Struct

from gasdoc.build.reader import Build
from gasdoc.choices.filled import OF_THE_OLD, Picked, tubing_keys
from gasdoc.source import Path


class _Edit(Struct, frozen=True):
    """A stretch of the text that is replaced."""

    start: int
    end: int
    text: str


def taken(text: str, build: Build, picked: Picked) -> str:
    """The text of a spec with a choice in it. `build` is the one that was read from the text.

    Each line keeps its own end, and a new one ends as the line does that it is put before.
    """
    head = text.index("\n") + 1
    root = yaml.compose(text[head : text.index("\n---", head - 1) + 1], Loader=yaml.SafeLoader)
    assert isinstance(root, yaml.MappingNode), "it was read"
    edits: list[_Edit] = []
    stated = build.stated
    if picked.tubing is not None:
        for at, keys in tubing_keys(stated, picked.tubing).items():
            edits += _edits(text, head, _at(root, at), keys)
    for name, choice in (("regulator", picked.regulator), ("container", picked.container)):
        if choice is None:
            continue
        wanted: dict[str, str | None] = dict(choice.keys)
        for key in ("number", "manifold", *OF_THE_OLD) if name == "container" else ():
            wanted.setdefault(key, None)
        edits += _block(text, head, root, name, wanted)
    for edit in sorted(edits, key=lambda edit: edit.start, reverse=True):
        line_end = text.find("\n", edit.start)
        ends = "\r\n" if text[line_end - 1] == "\r" else "\n"
        text = text[: edit.start] + edit.text.replace("\n", ends) + text[edit.end :]
    return text


def difference(before: str, after: str, name: str) -> str:
    """What changes between two texts of a spec, as a diff."""
    lines = difflib.unified_diff(
        before.splitlines(), after.splitlines(), name, f"{name} with the choice", lineterm="", n=2
    )
    return "\n".join(lines)


def first_difference(wanted: object, got: object, at: Path = ()) -> Path | None:
    """The place of the first value that differs between two specs as plain values; None where they are the same."""
    if isinstance(wanted, dict) and isinstance(got, dict):
        pairs = [(key, wanted.get(key), got.get(key)) for key in (*wanted, *(key for key in got if key not in wanted))]
    elif isinstance(wanted, list) and isinstance(got, list) and len(wanted) == len(got):
        pairs = [(i, *both) for i, both in enumerate(zip(wanted, got, strict=True))]
    else:
        return None if wanted == got else at
    found = (first_difference(one, other, (*at, step)) for step, one, other in pairs)
    return next((place for place in found if place is not None), None)


def _at(node: yaml.Node, at: Path) -> yaml.Node:
    """The value at a place of the front matter."""
    for step in at:
        if isinstance(step, int):
            assert isinstance(node, yaml.SequenceNode), "as it was read"
            node = node.value[step]
        else:
            assert isinstance(node, yaml.MappingNode), "as it was read"
            node = next(value for key, value in node.value if key.value == step)
    return node


def _block(
    text: str, head: int, root: yaml.MappingNode, name: str, wanted: Mapping[str, str | None]
) -> Iterator[_Edit]:
    """The edits that give a block of the front matter its keys; it may be absent, empty or called unknown."""
    written = [f"  {key}: {_scalar(value)}\n" for key, value in wanted.items() if value is not None]
    found = next((pair for pair in root.value if pair[0].value == name), None)
    if found is None:
        supply = next(key for key, _ in root.value if key.value == "supply")
        at = head + supply.start_mark.index
        yield _Edit(at, at, f"{name}:\n{''.join(written)}")
        return
    key, block = found
    if isinstance(block, yaml.MappingNode):
        yield from _edits(text, head, block, wanted)
        return
    colon = text.index(":", head + key.end_mark.index) + 1
    line = text.index("\n", colon) + 1
    if isinstance(block, yaml.ScalarNode) and block.value:
        yield _emptied(text, head + block.start_mark.index, head + block.end_mark.index)
    yield _Edit(line, line, "".join(written))


def _edits(text: str, head: int, block: yaml.Node, wanted: Mapping[str, str | None]) -> Iterator[_Edit]:
    """The edits that give a mapping its keys: a value in the place of the old one, a new key before the first."""
    assert isinstance(block, yaml.MappingNode), "as it was read"
    there = {key.value: (key, value) for key, value in block.value}
    new: list[str] = []
    for name, value in wanted.items():
        if name not in there:
            if value is not None:
                new.append(f"{name}: {_scalar(value)}")
            continue
        key, old = there[name]
        start, end = head + old.start_mark.index, head + old.end_mark.index
        if value is None and isinstance(old, yaml.ScalarNode):
            yield _emptied(text, start, end)
        elif value is None:
            continue  # a block of its own, such as a mount, is for its writer to take out
        elif start == end:
            colon = text.index(":", head + key.end_mark.index) + 1
            yield _Edit(colon, colon, f" {_scalar(value)}")
        else:
            yield _Edit(start, end, _scalar(value))
    if not new:
        return
    if block.flow_style:
        at = text.index("{", head + block.start_mark.index) + 1  # an anchor stands before the brace
        yield _Edit(at, at, ", ".join(new) + (", " if block.value else ""))
    else:
        first = block.value[0][0].start_mark
        at, indent = head + first.index, " " * first.column
        yield _Edit(at, at, "".join(f"{line}\n{indent}" for line in new))


def _emptied(text: str, start: int, end: int) -> _Edit:
    """The edit that takes a value away, and at the end of a line the spaces before it, too."""
    return _Edit(len(text[:start].rstrip(" ")) if text[end] in "\r\n" else start, end, "")


def _scalar(value: str) -> str:
    """A value as YAML: in quotes where it would be read as something else."""
    plain = yaml.safe_dump(value, default_flow_style=True, width=10**6).strip()
    return plain.removesuffix("\n...").removesuffix("...").strip() if not value.isdigit() else value
