"""Text with positions: reading YAML so that every value knows where it stands, problems, and citations.

YAML scalars are kept as the text that was written. What a scalar means is the field's business: YAML's own guesses
turn `10:02` into 602, `010` into 8 and `no` into false.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from enum import IntEnum
from typing import Annotated, Any

import yaml
from msgspec import Struct, field

from gasdoc.quantities import Aside
from gasdoc.slips import Slip, find_slip

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_MAX_DEPTH = 120  # each tee in a row of tees is four levels deeper
_TURNS = r"\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # marks that turn the direction of what follows: 31 could be read as 13
_CONTROL = re.compile(rf"[\x00-\x08\x0b-\x1f\x7f-\x9f{_TURNS}\ufffe\uffff]")
_LINE_ENDS = {0x85: " ", 0x2028: " ", 0x2029: " "}  # line ends to YAML, but not to the editor that counts the lines
_PLAIN_TAGS = {
    f"tag:yaml.org,2002:{name}"
    for name in ("map", "seq", "str", "int", "float", "bool", "null", "timestamp", "merge", "value")
}
MAX_BYTES = 1_000_000

Path = Annotated[tuple[str | int, ...], Aside("a place in the spec, which `check` gives as line and column")]
"""Where a value is in a document: mapping keys and list positions from the top."""


class Severity(IntEnum):
    """How much a problem or finding weighs, worst last."""

    NOTE = 1
    WARNING = 2
    ERROR = 3

    def __str__(self) -> str:
        return self.name.lower()


class Citation(Struct, frozen=True):
    """Where a figure or a rule comes from, and how well that is confirmed.

    `confirmed` is "twice" (read in two or more public texts), "once", "computed" (from physics or arithmetic, formula
    shown), "practice" (common practice, no source) or "memory" (not confirmed: never the ground for "met").
    """

    text: str
    confirmed: str = "once"

    @property
    def mark(self) -> str:
        """How well it is confirmed, in words, without what the text says itself; empty where that is all."""
        said = self.text.lower()
        if self.confirmed == "practice" and "common practice" in said:
            return "no source" if said.startswith("common practice") and "no source" not in said else ""
        if self.confirmed == "memory" and "from memory" in said:
            return "not confirmed"
        return CONFIRMED[self.confirmed]

    def __str__(self) -> str:
        return f"{self.text} ({self.mark})" if self.mark else self.text


CONFIRMED = {
    "twice": "read in two or more public texts",
    "once": "read in one public text",
    "computed": "computed, working shown",
    "practice": "common practice, no source",
    "memory": "from memory, not confirmed",
}


def printable(text: str) -> str:
    """One line as it may be printed, whatever a file's name or text brings along.

    What a terminal would obey or hide stands as an escape, and so does the mark by which a forge knows its own commands.
    """
    text = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
    if text.lstrip().startswith("::"):
        text = text.replace(":", "\\x3a", 1)
    return text.replace("##[", "##\\x5b")


def printable_lines(text: str) -> str:
    """Several lines, each as it may be printed."""
    return "\n".join(map(printable, text.split("\n")))


class Problem(Struct, frozen=True):
    """Something about an input file: where, how bad, what is wrong, what would be right.

    `draft` says that the file calls itself a draft: then the problem is told and counts for nothing.
    """

    path: str
    line: int
    column: int
    severity: Severity
    message: str
    hint: str
    code: str
    draft: bool = False

    def __str__(self) -> str:
        hint = f"; {self.hint}" if self.hint else ""
        return printable(f"{self.path}:{self.line}:{self.column}: {self.severity}: {self.message}{hint} [{self.code}]")

    def counts(self, least: Severity) -> bool:
        """Whether it is at least so bad, and no matter of a draft."""
        return self.severity >= least and not self.draft

    @property
    def order(self) -> tuple[str, int, int, int, str, str]:
        """Sort key: by place, then worst first."""
        return (self.path, self.line, self.column, -int(self.severity), self.code, self.message)


class Document(Struct):
    """A YAML text as plain values (mappings, lists, strings, None) and the place of each of them.

    `places` maps the path of a value to (line, column) from 1; for a mapping's entry that is its key, while
    `value_places` has the value itself.
    """

    path: str
    data: Any = None
    places: dict[Path, tuple[int, int]] = field(default_factory=dict)
    value_places: dict[Path, tuple[int, int]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: Sequence[str | int], *, value: bool = False) -> tuple[int, int]:
        """The line and column of `path`, or of the nearest thing around it that was written."""
        table = self.value_places if value else self.places
        at = tuple(path)
        while at not in table and at:
            at = at[:-1]
        return table.get(at, (1, 1))

    def problem(
        self, path: Sequence[str | int], severity: Severity, message: str, hint: str, code: str, *, value: bool = False
    ) -> None:
        """Record a problem at `path` (at its key, or at its value)."""
        line, column = self.place(path, value=value)
        self.problems.append(Problem(self.path, line, column, severity, message, hint, code))


def decode(raw: bytes, path: str) -> tuple[str, list[Problem]]:
    """A file's bytes as text with LF line ends and no byte-order mark, and what is wrong with them."""
    if len(raw) > MAX_BYTES:
        return "", [
            Problem(
                path,
                1,
                1,
                Severity.ERROR,
                f"the file is larger than {MAX_BYTES:,} bytes",
                "keep pictures and long logs in files of their own",
                "file-size",
            )
        ]
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        column = error.start - (raw.rfind(b"\n", 0, error.start) + 1) + 1
        byte = raw[error.start]
        return "", [
            Problem(
                path,
                line,
                column,
                Severity.ERROR,
                f"byte 0x{byte:02x} is not UTF-8",
                "save the file as UTF-8",
                "file-encoding",
            )
        ]
    text = text.replace("\r\n", "\n").replace("\r", "\n").translate(_LINE_ENDS)
    control = _CONTROL.search(text)
    if control:
        line = text.count("\n", 0, control.start()) + 1
        column = control.start() - text.rfind("\n", 0, control.start())
        return "", [
            Problem(
                path,
                line,
                column,
                Severity.ERROR,
                *control_character(control[0]),
                "file-control-character",
            )
        ]
    return text, []


def is_control(character: str) -> bool:
    """Whether no text may hold a character: a control character, or a mark that turns the direction of what follows."""
    return _CONTROL.match(character) is not None


def control_character(character: str) -> tuple[str, str]:
    """What is wrong with a character that no text may hold, and what to do."""
    if re.match(f"[{_TURNS}]", character):
        return (
            f"U+{ord(character):04X} turns the direction of the text, so that it can be read as other text",
            "take it out. Delete what stands here and type it anew",
        )
    return f"control character 0x{ord(character):02x}", "take it out. A spec is plain text"


def read_yaml(text: str, path: str, first_line: int = 1) -> Document:
    """The YAML `text`, which starts on `first_line` of the file `path`, with every syntax problem found.

    Duplicate keys, aliases and anchors, tags, several documents and nesting beyond 120 levels are problems; `data` is
    None when nothing could be read.
    """
    document = Document(path)
    loader = _LOADER(text)
    try:
        node = loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line, mark.column) if mark else (0, 0)
        if "expected a single document" in str(error.context or ""):
            slip = Slip(line, column, "a second YAML document begins here", "keep one front matter block per spec")
        else:
            slip = find_slip(text, line, column)
        document.problems.append(
            Problem(path, slip.line + first_line, slip.column + 1, Severity.ERROR, slip.what, slip.hint, "yaml-syntax")
        )
        return document
    except (yaml.YAMLError, RecursionError, ValueError) as error:
        what, hint = "a character here cannot stand in YAML", "take out what is no plain text"
        if isinstance(error, RecursionError):
            what, hint = "nested too deeply", "simplify the block"
        before = text[: getattr(error, "position", 0) or 0]
        line, column = before.count("\n"), len(before.rpartition("\n")[2])
        document.problems.append(
            Problem(path, line + first_line, column + 1, Severity.ERROR, what, hint, "yaml-syntax")
        )
        return document
    finally:
        loader.dispose()
    if node is not None:
        document.data = _Walk(document, first_line).value(node, (), 0)
    return document


class _Walk:
    """Turns composed nodes into plain values, noting places and problems."""

    def __init__(self, document: Document, first_line: int) -> None:
        self.document = document
        self.first_line = first_line
        self.seen: set[int] = set()

    def mark(self, node: yaml.Node) -> tuple[int, int]:
        return (node.start_mark.line + self.first_line, node.start_mark.column + 1)

    def wrong(self, node: yaml.Node, message: str, hint: str, code: str) -> None:
        line, column = self.mark(node)
        self.document.problems.append(Problem(self.document.path, line, column, Severity.ERROR, message, hint, code))

    def value(self, node: yaml.Node, at: Path, depth: int) -> Any:
        if id(node) in self.seen:
            self.wrong(node, "an alias (*name) is used", "write the value out where it is needed", "yaml-alias")
            return None
        self.seen.add(id(node))
        place = self.mark(node)
        self.document.places.setdefault(at, place)
        self.document.value_places[at] = place
        if depth > _MAX_DEPTH:
            self.wrong(node, f"nested deeper than {_MAX_DEPTH} levels", "simplify the block", "yaml-depth")
            return None
        if node.tag not in _PLAIN_TAGS:
            self.wrong(node, "a YAML tag (!name) is used", "write plain values only", "yaml-tag")
            return None
        if isinstance(node, yaml.MappingNode):
            return dict(self.entries(node, at, depth))
        if isinstance(node, yaml.SequenceNode):
            return [self.value(child, (*at, i), depth + 1) for i, child in enumerate(node.value)]
        plain = isinstance(node, yaml.ScalarNode) and not node.style
        if node.tag == "tag:yaml.org,2002:null" and plain:
            return None
        return self.text(node)

    def text(self, node: yaml.Node) -> str:
        """What a scalar says. An escape in quotes can write characters that no file may hold as they are."""
        text = str(node.value)
        control = _CONTROL.search(text)
        if control:
            self.wrong(node, *control_character(control[0]), "file-control-character")
        return _CONTROL.sub("", text)

    def entries(self, node: yaml.MappingNode, at: Path, depth: int) -> Iterator[tuple[str, Any]]:
        first: dict[str, int] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                self.wrong(key_node, "a key must be a plain word", "quote the text or check the brackets", "yaml-key")
                continue
            key = self.text(key_node)
            if key == "<<":
                self.wrong(key_node, "a merge key (<<) is used", "write the values out", "yaml-alias")
                continue
            if key in first:
                self.wrong(
                    key_node,
                    f"key '{key}' appears twice",
                    f"it is already on line {first[key]}. Keep one",
                    "yaml-duplicate-key",
                )
                continue
            first[key] = self.mark(key_node)[0]
            self.document.places[(*at, key)] = self.mark(key_node)
            yield key, self.value(value_node, (*at, key), depth + 1)
