"""The examples in docstrings: every public function of the package has one, and it gives what it says."""

from __future__ import annotations

import ast
import doctest
import importlib
from pathlib import Path

import pytest

import gasdoc

PLACE = Path(gasdoc.__file__).parent / "engineering"
MODULES = sorted(path.relative_to(PLACE).with_suffix("") for path in PLACE.rglob("*.py") if path.stem != "__init__")


def without_example(source: str) -> list[str]:
    """The public functions of a module that show no example."""
    functions = [node for node in ast.parse(source).body if isinstance(node, ast.FunctionDef)]
    return [f.name for f in functions if not f.name.startswith("_") and ">>> " not in (ast.get_docstring(f) or "")]


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_every_public_function_shows_an_example(module: Path) -> None:
    assert without_example((PLACE / module.with_suffix(".py")).read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_the_examples_give_what_they_say(module: Path) -> None:
    name = ".".join(("gasdoc.engineering", *module.parts))
    said: list[str] = []
    runner = doctest.DocTestRunner()
    for example in doctest.DocTestFinder().find(importlib.import_module(name)):
        runner.run(example, out=said.append)
    assert not said, "".join(said)


def test_a_function_without_example_is_seen() -> None:
    assert without_example('def f():\n    """It."""\ndef g():\n    """>>> g()"""\n') == ["f"]
