"""The mutation tests run against tests that are there: their list is held here, where mutmut need not be installed."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_the_mutation_tests_name_tests_that_are_there() -> None:
    tree = ast.parse((ROOT / "tests/mutation.py").read_text(encoding="utf-8"))
    (listed,) = (
        ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "TESTS"
    )
    assert listed and [path for path in listed if not (ROOT / path).exists()] == []


@cache
def functions(module: str) -> dict[str, str]:
    """The functions and methods of a module of the package, each as one line without comments; the module itself as ''."""
    source = (ROOT / f"gasdoc/{module}.py").read_text(encoding="utf-8")
    tree, lines, found = ast.parse(source), source.splitlines(), {"": source}
    for node in tree.body:
        inner = [("", node)] if isinstance(node, ast.FunctionDef) else []
        if isinstance(node, ast.ClassDef):
            inner = [(f"{node.name}.", one) for one in node.body if isinstance(one, ast.FunctionDef)]
        for owner, function in inner:
            found[owner + function.name] = "\n".join(lines[function.lineno - 1 : function.end_lineno])
    return {name: " ".join(re.sub(r'(?m)\s+#[^"\n]*$', "", text).split()) for name, text in found.items()}


def test_what_no_test_notices_still_stands_where_it_is_said_to_stand() -> None:
    module, known, gone, rows = "", {"": ""}, [], 0
    for line in (ROOT / "tests/survivors.md").read_text(encoding="utf-8").splitlines():
        if named := re.match(r"- \*\*([\w/]+)\*\*", line):
            module = named[1]
            known = functions(module)
        row = re.match(r"  - `([\w.]+)`: (.*)", line)
        name, said = (row[1], row[2]) if row else ("", line[named.end() :] if named else "")
        pieces = [piece for now, piece in re.findall(r"(→ )?`([^`]*)`", said) if not now]
        rows += len(pieces)
        gone += [
            f"{module} {name}: {piece}"
            for piece in pieces
            if " ".join(piece.replace("\\|", "|").partition("...")[0].split()) not in known.get(name, "")
        ]
    assert rows > 400 and gone == []
