"""The sentences that people read, where they stand: in data files, in the code's strings and in templates; and what is wrong
with one: too long, or a turn that `banned_turns.yaml` lists."""

from __future__ import annotations

import ast
import html
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import fast_yaml
import jinja2
from jinja2 import nodes
from places import ROOT

LONGEST = 20
GASDOC = ROOT / "gasdoc"
OPEN = "…"
"""What is worked out stands so in a text, and counts as a word."""

APART = {"citation", "cited_as", "condition", "confirmed", "at", "read_in", "edition", "names", "formula"}
"""Keys of data files whose text is a citation, a place or a name, and whole data files of that kind."""
RECORDS = {"findings.yaml", "units.yaml", "words.yaml", "search_words.yaml", "looks.yaml", "texts.yaml"}

SHELL = {"completion.py", "serving.py"}
"""Modules whose texts are for programs: a shell's, the head of an answer."""

_CITED = re.compile(
    r"^(…|\d+ CFR|NFPA|IFGC|IRC|CSA|EN|ISO)\b.*\d|\b[Tt]ables? [A-Z]?\.?\d|tables of equivalent|reference equations of state"
)
"""How a text begins that is a citation."""
_END = re.compile(r"(?<=[.!?:])[\"')]*\s+(?=\S)")
_WORD = re.compile(rf"\S*[\w{OPEN}]\S*")
_CODE = re.compile(r"`[^`]*`|(?<!\w)'[^' ][^']*'(?!\w)")


def sentences(text: str) -> list[str]:
    """The sentences of a text, in which a piece of code is one word; what stands before a colon is one, too."""
    return [part for part in _END.split(" ".join(_CODE.sub("x", text).split())) if part]


def length(sentence: str) -> int:
    """How many words a reader counts, a sign alone not."""
    return len(_WORD.findall(sentence))


@cache
def turns() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Each banned turn, and what to write for it."""
    rows = fast_yaml.read(Path(__file__).with_name("banned_turns.yaml"))["turns"]
    return tuple((re.compile(row["turn"]), row["better"]) for row in rows)


def faults(text: str) -> Iterator[str]:
    """What is wrong with a text, sentence by sentence."""
    for sentence in sentences(text):
        if (count := length(sentence)) > LONGEST:
            yield f"{count} words: {sentence}"
        yield from (f"{better}: {sentence}" for turn, better in turns() if turn.search(sentence))


def data_texts() -> Iterator[tuple[str, str]]:
    """Every text of the data files, with its place."""
    for path in sorted(GASDOC.rglob("*.yaml")):
        if path.name not in RECORDS and "tables" not in path.parts:
            document = fast_yaml.read(path)
            yield from ((f"{path.relative_to(ROOT)} {at}", text) for at, text in _strings(document, ""))


def _strings(node: Any, at: str) -> Iterator[tuple[str, str]]:
    if isinstance(node, dict):
        for key, value in node.items():
            if key not in APART and "source" not in str(key) and "citation" not in str(key):
                yield from _strings(value, f"{at}.{key}")
    elif isinstance(node, list):
        for i, value in enumerate(node):
            name = value.get("id", i) if isinstance(value, dict) else i
            yield from _strings(value, f"{at}.{name}")
    elif isinstance(node, str) and " " in node:
        yield at, node


def code_texts() -> Iterator[tuple[str, str]]:
    """Every text that stands in the code, without docstrings and patterns; what is worked out in it is open."""
    for path in sorted(GASDOC.rglob("*.py")):
        if path.name in SHELL:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        apart = set(_apart(tree))
        for node in ast.walk(tree):
            if id(node) in apart:
                continue
            if isinstance(node, ast.JoinedStr):
                parts = [part.value if isinstance(part, ast.Constant) else OPEN for part in node.values]
                text = "".join(map(str, parts))
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                text = re.sub(r"{.*?}", OPEN, node.value)
            else:
                continue
            for line in html.unescape(re.sub("<[^>]*>", "", text)).split("\n"):
                if _is_prose(line) and not _CITED.search(line):
                    yield f"{path.relative_to(ROOT)}:{node.lineno}", line


def _apart(tree: ast.AST) -> Iterator[int]:
    """Docstrings, the parts of a joined text, patterns and other texts that nobody reads."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield id(node.value)
        elif isinstance(node, ast.JoinedStr):
            yield from (id(part) for value in node.values for part in ast.walk(value))
        elif isinstance(node, ast.Call) and _for_no_reader(node.func):
            yield from (id(part) for value in node.args for part in ast.walk(value))


def _for_no_reader(called: ast.expr) -> bool:
    """Whether what is called takes a pattern, or a citation."""
    if isinstance(called, ast.Attribute):
        return isinstance(called.value, ast.Name) and called.value.id == "re"
    return isinstance(called, ast.Name) and called.id in ("Citation", "Known")


_INLINE = re.compile(r"</?(?:a|abbr|b|cite|dfn|em|i|span|strong|sub|sup|time)\b[^>]*>")


def template_texts() -> Iterator[tuple[str, str]]:
    """Every text of the templates, and those they hand to macros. A condition in the middle of a text cuts it in two."""
    parse = jinja2.Environment(autoescape=True).parse
    for path in sorted((ROOT / "site_templates").rglob("*.html")):
        tree = parse(path.read_text(encoding="utf-8"))
        pieces = [
            "".join(part.data if isinstance(part, nodes.TemplateData) else OPEN for part in node.nodes)
            for node in tree.find_all(nodes.Output)
        ]
        texts = [text for piece in pieces for text in re.split(r"<[^>]*>", _INLINE.sub("", _code_apart(piece)))]
        texts += [node.value for node in tree.find_all(nodes.Const) if isinstance(node.value, str)]
        for text in texts:
            if _is_prose(text):
                yield str(path.relative_to(ROOT)), " ".join(text.split())


def _code_apart(piece: str) -> str:
    """A piece of a template whose code is one word, and without style and drawings."""
    piece = re.sub(r"<(style|script|svg)\b.*?(</\1>|$)", "<>", piece, flags=re.DOTALL)
    return re.sub(r"<(code|kbd)>.*?(</\1>|$)", "`x`", piece, flags=re.DOTALL)


def _is_prose(text: str) -> bool:
    return len(re.findall(r"\b[a-z]{2,}\b", text)) > 2


def starter_texts() -> Iterator[tuple[str, str]]:
    """What the specs to fill in say of each key, with the lines that go on with it."""
    for name in ("starter.md", "plan.md"):
        said: list[tuple[int, str]] = []
        before = False
        for number, line in enumerate((GASDOC / "build" / name).read_text(encoding="utf-8").splitlines(), 1):
            key, mark, hint = re.sub(r"^#(?=[a-z ]*[a-z_]+:)", "", line).partition("#")
            goes_on = before and mark and key.isspace()
            if goes_on:
                said[-1] = (said[-1][0], f"{said[-1][1]} {hint.strip()}")
            elif mark:
                said.append((number, hint.strip()))
            before = bool(mark)
        yield from ((f"gasdoc/build/{name}:{number}", re.sub(r"\$\$?\w+", OPEN, text)) for number, text in said)
