"""Which module may import which: the order of layers, read from every import statement of the package.

Imports run downwards only: cli, plugin -> report -> study -> materials, engineering, spec, regions, catalog -> data,
source, units. engineering and materials import nothing of ours but each their own kind (materials also engineering),
catalog, regions and spec not each other. catalog may use engineering and
materials: its tables and parts are values of their types.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import gasdoc

ROOT = Path(gasdoc.__file__).parent
MODULES = sorted(path.relative_to(ROOT.parent) for path in ROOT.rglob("*.py"))
BASE = {"data", "source", "units"}

MAY_IMPORT: dict[str, set[str]] = {
    "units": set(),
    "data": {"units"},
    "source": {"units"},
    "provenance": set(),
    "engineering": {"engineering"},
    "materials": {"materials", "engineering"},
    "catalog": BASE | {"catalog", "engineering", "materials"},
    "regions": BASE | {"regions"},
    "spec": BASE | {"spec"},
    "study": BASE | {"study", "materials", "engineering", "spec", "regions", "catalog"},
    "report": BASE | {"report", "provenance", "study", "materials", "engineering", "spec", "regions", "catalog"},
    "project": BASE | {"spec"},
    "plugin": BASE | {"cli", "provenance", "report", "study", "spec", "regions", "catalog", "materials", "engineering"},
    "cli": BASE
    | {"plugin", "project", "terminal", "completion", "pdf", "provenance", "report", "study", "spec", "regions", "catalog"}
    | {"materials", "engineering"},
    "terminal": set(),
    "completion": set(),
    "pdf": set(),
    "__main__": {"cli"},
    "__init__": set(),
}
THIRD_PARTY = {
    "mkdocs",
    "jinja2",
    "yaml",
    "pint",
    "pydantic",
    "pydantic_core",
    "graphviz",
    "graphviz_pure",
    "icalendar",
    "markdown",
    "markupsafe",
}
"""What comes with the runtime dependencies (markupsafe and markdown with jinja2 and mkdocs)."""

ONLY_IN = {
    "mkdocs": {"gasdoc/plugin.py"},
    "pint": {"gasdoc/units.py"},
    "graphviz": {"gasdoc/report/schematic.py"},
    "graphviz_pure": {"gasdoc/report/schematic.py"},
    "icalendar": {"gasdoc/report/calendar.py"},
    "markdown": {"gasdoc/report/markdown.py"},
}
NO_CLOCK_NO_CHANCE = {
    "time",
    "datetime",
    "random",
    "secrets",
    "uuid",
    "os",
    "pathlib",
    "subprocess",
    "socket",
    "threading",
}


def imports(path: Path) -> Iterator[tuple[str, int]]:
    """Every module a file imports, in full, with its line; names of `from gasdoc import x` count as modules."""
    tree = ast.parse((ROOT.parent / path).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            if node.module == "gasdoc":
                for alias in node.names:
                    yield f"gasdoc.{alias.name}", node.lineno
            else:
                yield str(node.module), node.lineno


def layer(path: Path) -> str:
    return path.parts[1].removesuffix(".py")


def ids(paths: list[Path]) -> list[str]:
    return [path.as_posix() for path in paths]


@pytest.mark.parametrize("path", MODULES, ids=ids(MODULES))
def test_a_module_imports_only_from_its_own_layer_and_below(path: Path) -> None:
    own = layer(path)
    for name, line in imports(path):
        first, *rest = name.split(".")
        if first == "gasdoc":
            target = rest[0] if rest else "__init__"
            if target == "__version__" or not rest:
                continue
            assert target in MAY_IMPORT[own], f"{path}:{line}: {own} imports {name}"
        else:
            assert first in sys.stdlib_module_names or first in THIRD_PARTY, f"{path}:{line}: {name} is no dependency"


@pytest.mark.parametrize("path", MODULES, ids=ids(MODULES))
def test_each_library_is_known_to_one_file(path: Path) -> None:
    for name, line in imports(path):
        allowed = ONLY_IN.get(name.split(".")[0])
        assert allowed is None or path.as_posix() in allowed, f"{path}:{line}: imports {name}"


ENGINEERING = [path for path in MODULES if layer(path) in ("engineering", "materials")]


@pytest.mark.parametrize("path", ENGINEERING, ids=ids(ENGINEERING))
def test_engineering_and_materials_are_plain_arithmetic(path: Path) -> None:
    for name, line in imports(path):
        first = name.split(".")[0]
        assert first == "gasdoc" or first in sys.stdlib_module_names, f"{path}:{line}: imports {name}"
        assert first not in NO_CLOCK_NO_CHANCE, f"{path}:{line}: imports {name}"


def test_every_layer_of_the_order_is_there_and_no_other() -> None:
    assert {layer(path) for path in MODULES} <= set(MAY_IMPORT)
    for name in ("engineering", "materials", "catalog", "regions", "spec", "study", "report", "plugin", "cli"):
        assert any(layer(path) == name for path in MODULES), name


def test_the_check_sees_an_import_that_is_hidden_in_a_function() -> None:
    assert any(name == "gasdoc.plugin" for name, _ in imports(Path("gasdoc/cli.py")))


CODE = [p for p in MODULES if p.as_posix() not in ("gasdoc/__init__.py",)]


@pytest.mark.parametrize("path", CODE, ids=ids(CODE))
def test_nothing_reads_the_clock_or_draws_lots(path: Path) -> None:
    """The same input gives the same bytes: a study is as of a date it is given. Only the command asks what day it is, for
    what `check` says is overdue."""
    tree = ast.parse((ROOT.parent / path).read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if path.as_posix() == "gasdoc/cli.py" and isinstance(node, ast.Attribute) and node.attr == "today":
            continue
        if isinstance(node, ast.Attribute) and node.attr in (
            "today",
            "now",
            "utcnow",
            "urandom",
            "monotonic",
            "perf_counter",
        ):
            raise AssertionError(f"{path}:{node.lineno}: .{node.attr}")
    assert not {name for name, _ in imports(path)} & {"random", "secrets", "uuid"}
