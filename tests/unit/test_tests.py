"""The tests themselves: all of them are run, and what one of them puts in the place of a name is what that name stands for."""

from __future__ import annotations

import ast
import importlib
import inspect
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path
from types import ModuleType

import pytest

import gasdoc
from gasdoc.machine import limited

TESTS = Path(__file__).parents[1]
PACKAGE = Path(gasdoc.__file__).parent


def test_a_whole_run_goes_into_every_folder_of_tests(request: pytest.FixtureRequest) -> None:
    """By itself pytest passes over folders of some names, `build` among them."""
    passed_over = request.config.getini("norecursedirs")
    folders = {folder for file in TESTS.rglob("test_*.py") for folder in file.parents if folder.is_relative_to(TESTS)}
    assert TESTS / "unit" / "build" in folders
    assert [str(folder) for folder in folders if any(fnmatch(folder.name, one) for one in passed_over)] == []


def replaced(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """What is replaced for the length of a test: the whole name of where it stands, as far as the imports of the file tell, and its
    own name there."""
    of: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            of |= {one.asname or one.name: f"{node.module}.{one.name}" for one in node.names}
        elif isinstance(node, ast.Import):
            of |= {
                one.asname or one.name.partition(".")[0]: (one.asname and one.name) or one.name.partition(".")[0]
                for one in node.names
            }
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in ("setattr", "object")
        ):
            match node.args:
                case [place, ast.Constant(value=str(name)), *_]:
                    first, dot, rest = ast.unparse(place).partition(".")
                    yield of.get(first, first) + dot + rest, name


def module_of(name: str) -> ModuleType | None:
    """The module of gasdoc with that name, or that is known by it in another; None where it is none."""
    if not name.startswith("gasdoc."):
        return None
    try:
        return importlib.import_module(name)
    except ImportError:
        above = module_of(name.rpartition(".")[0])
        found = getattr(above, name.rpartition(".")[2], None)
        return found if inspect.ismodule(found) and found.__name__.startswith("gasdoc") else None


def is_read(module: str, name: str, sources: dict[str, str]) -> bool:
    """Whether the module itself reads the name, or another one by way of the module: a name of its own there would not be replaced."""
    own = any(
        isinstance(node, ast.Name) and node.id == name and isinstance(node.ctx, ast.Load)
        for node in ast.walk(ast.parse(sources[module]))
    )
    return own or any(f"{module.rpartition('.')[2]}.{name}" in source for source in sources.values())


def test_what_a_test_replaces_is_read_where_it_is_replaced() -> None:
    sources = {
        ".".join(("gasdoc", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
            ".__init__"
        ): path.read_text(encoding="utf-8")
        for path in PACKAGE.rglob("*.py")
    }
    seen, lost = set(), []
    for path in TESTS.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        for place, name in replaced(ast.parse(text)) if "setattr(" in text or "patch.object(" in text else ():
            if (module := module_of(place)) is not None and (module.__name__, name) not in seen:
                seen.add((module.__name__, name))
                if not is_read(module.__name__, name, sources):
                    lost.append(f"{path.name}: {module.__name__}.{name}")
    assert lost == []
    assert ("gasdoc.machine.limited", "can_copy") in seen


def test_a_name_that_nobody_reads_there_would_be_found() -> None:
    sources = {
        "gasdoc.a": "from gasdoc.b import f\ndef g(): return f()\n",
        "gasdoc.b": "def f(): return 1\n",
        "gasdoc.c": "from gasdoc import a\na.f()\n",
    }
    assert is_read("gasdoc.a", "f", sources) and not is_read("gasdoc.b", "f", sources)
    assert module_of("gasdoc.host.plugin.limited") is limited and module_of("gasdoc.source.Problem") is None
    tree = ast.parse(
        "from gasdoc import b as other\nimport gasdoc.kept\nwith patch.object(other, 'f'): p.setattr(gasdoc.kept, 'x', 1)"
    )
    assert list(replaced(tree)) == [("gasdoc.b", "f"), ("gasdoc.kept", "x")]
