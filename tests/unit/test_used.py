"""Every definition of the package is used by the package: nothing stands there for the tests alone."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

import gasdoc
from gasdoc.cli.command import MODULES

PACKAGE = Path(gasdoc.__file__).parent
PROJECT = Path(__file__).resolve().parents[2] / "pyproject.toml"

Place = tuple[str, str]
"""A module and a name in it."""


def modules() -> dict[str, str]:
    """The source of every module of the package, by its dotted name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        name = ".".join(("gasdoc", *path.relative_to(PACKAGE).with_suffix("").parts))
        found[name.removesuffix(".__init__")] = path.read_text(encoding="utf-8")
    return found


def starts() -> Iterator[Place]:
    """What is called from outside: the command and the plugin."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    for group in (project["scripts"], *project["entry-points"].values()):
        for target in group.values():
            module, _, name = target.partition(":")
            yield module, name
    for name, module in MODULES.items():
        yield f"gasdoc.cli.{module}", name


def names(node: ast.stmt) -> Iterator[str]:
    """The names that a statement at the top of a module defines."""
    match node:
        case ast.FunctionDef() | ast.ClassDef():
            yield node.name
        case ast.Assign():
            yield from (n.id for target in node.targets for n in ast.walk(target) if isinstance(n, ast.Name))
        case ast.AnnAssign(target=ast.Name(id=name)):
            yield name


def unused(sources: Mapping[str, str], used: Iterator[Place]) -> list[Place]:
    """The definitions at the top of modules that nothing needs which is itself needed; `used` are needed anyway."""
    needs: dict[Place, set[Place]] = {}
    todo = list(used)
    for module, source in sources.items():
        tree = ast.parse(source)
        imports: dict[str, Place] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom):
                imports |= {a.asname or a.name: (node.module or "", a.name) for a in node.names}
        own = {name for node in tree.body for name in names(node)}
        needs |= {(module, name): {place} for name, place in imports.items() if name not in own}

        def needed(
            node: ast.AST, own: set[str] = own, imports: dict[str, Place] = imports, module: str = module
        ) -> set[Place]:
            found: set[Place] = set()
            for inner in ast.walk(node):
                if isinstance(inner, ast.Name) and (inner.id in own or inner.id in imports):
                    found.add((module, inner.id))
                elif (
                    isinstance(inner, ast.Attribute) and isinstance(inner.value, ast.Name) and inner.value.id in imports
                ):
                    found.add((".".join(imports[inner.value.id]), inner.attr))
            return found

        for node in tree.body:
            defined = list(names(node))
            for name in defined:
                needs.setdefault((module, name), set()).update(needed(node))
            if not defined and not isinstance(node, ast.Import | ast.ImportFrom):
                todo.extend(needed(node))
    alive: set[Place] = set()
    while todo:
        place = todo.pop()
        if place not in alive:
            alive.add(place)
            todo.extend(needs.get(place, ()))
    tops = {
        (module, name) for module, source in sources.items() for node in ast.parse(source).body for name in names(node)
    }
    return sorted(place for place in tops - alive if not place[1].startswith("__"))


def test_every_definition_is_used_by_the_package_itself() -> None:
    assert unused(modules(), starts()) == []


def test_what_only_calls_itself_or_is_called_by_what_nobody_calls_is_found() -> None:
    sources = {
        "gasdoc.a": "def f(): return f()\ndef g(): return h()\ndef h(): return K\nK = 1\nif K: pass\n",
        "gasdoc.b": "from gasdoc import a\ndef main(): return a.p()\n",
    }
    sources["gasdoc.a"] += "def p(): return 1\n"
    assert unused(sources, iter([("gasdoc.b", "main")])) == [("gasdoc.a", name) for name in "fgh"]
