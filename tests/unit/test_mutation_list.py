"""The mutation tests run against tests that are there: their list is held here, where mutmut need not be installed."""

from __future__ import annotations

import ast
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
