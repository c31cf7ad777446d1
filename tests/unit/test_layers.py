"""Which module may import which, read from every import statement of the package, and proof that each rule can fail.

Imports run downwards only: cli -> host -> report -> folder -> choices -> study -> engineering, build, regions, catalog -> data,
source, units, quantities. engineering imports nothing of ours but its own kind and the units of its numbers.
catalog may use engineering: its tables and parts are values of its types. build asks catalog what names a spec may use,
and regions which units its messages take; regions imports neither. Within study the subjects stand in one order, too, and
within report the folders.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Container
from dataclasses import dataclass
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import gasdoc

PACKAGE = Path(gasdoc.__file__).parent
BASE = {"data", "kept", "machine", "quantities", "scalars", "source", "units", "validation", "words", "wrong"}
BELOW_STUDY = {"engineering", "build", "regions", "catalog"}
SUBJECTS = (
    "findings",
    "facts",
    "supply",
    "container",
    "air",
    "materials",
    "proof",
    "upkeep",
    "referral",
    "answers",
    "study",
)
"""What study is made of, in the order in which one may import another."""
IN_ORDER = {"study": SUBJECTS, "report": ("content", "drawings", "formats", "views", "pages", "site")}
"""The storeys whose parts stand in an order, too."""
MAY_IMPORT: dict[str, set[str]] = {
    "machine": {"machine"},
    "kept": set(),
    "wrong": set(),
    "units": {"kept", "wrong"},
    "quantities": set(),
    "slips": set(),
    "words": {"kept"},
    "source": {"quantities", "slips", "units"},
    "scalars": {"quantities", "units", "words"},
    "validation": {"kept", "scalars", "source", "words"},
    "data": {"kept", "scalars", "slips", "source", "units", "validation"},
    "published": {"machine", "published", "wrong"},
    "commandline": set(),
    "engineering": {"engineering", "quantities", "wrong"},
    "catalog": BASE | {"catalog", "engineering"},
    "regions": BASE | {"regions"},
    "build": BASE | {"build", "catalog", "regions"},
    "study": BASE | BELOW_STUDY | {"study"},
    "choices": BASE | BELOW_STUDY | {"choices", "study"},
    "folder": BASE | BELOW_STUDY | {"choices", "folder", "published", "study"},
    "report": BASE | BELOW_STUDY | {"choices", "commandline", "folder", "published", "report", "study"},
    "host": BASE | BELOW_STUDY | {"commandline", "folder", "host", "published", "report", "study"},
    "cli": BASE | BELOW_STUDY | {"choices", "cli", "commandline", "folder", "host", "report", "study"},
    "__main__": {"cli"},
    "__init__": set(),
}
KNOWN_TO: dict[str, set[str]] = {
    "mkdocs": {"host/building", "host/files", "host/plugin", "host/settings"},
    "jinja2": {"host/building", "host/plugin", "report"},
    "PIL": {"published/heic", "published/sizes"},
    "pi_heif": {"published/heic"},
    "pypdf": {"host/pdf"},
    "segno": {"report/drawings/qr"},
    "markupsafe": {"host/files", "host/plugin", "report"},
    "yaml": BASE | {"build", "choices/taking", "folder", "report", "study"},
    "pydantic": {
        "build",
        "data",
        "folder/compare",
        "regions/rules",
        "scalars",
        "study/proof/findings",
        "validation",
    },
    "pydantic_core": {"build", "catalog/parts", "data", "kept", "scalars", "validation"},
    "msgspec": set(MAY_IMPORT),
    "graphviz": {"report/drawings/schematic"},
    "graphviz_pure": {"report/drawings/schematic"},
    "icalendar": {"report/formats/calendar"},
    "markdown": {"report/content/markdown"},
    "pint": {"units"},
}
"""Every library that the package may import, and the layers or modules that may (markupsafe comes with jinja2)."""

HEAVY = {"numpy", "scipy", "fluids", "CoolProp", "pint", "pandas", "matplotlib", "PIL"}
"""What no command may load: each costs more time than a whole check."""

NOT_PLAIN = {"time", "datetime", "random", "secrets", "uuid", "os", "pathlib", "subprocess", "socket", "threading"}
CLOCKS = {"today", "now", "utcnow", "urandom", "monotonic", "perf_counter"}


@dataclass(frozen=True, slots=True)
class Import:
    """One module that a file imports, and the names taken from it; `first`: when the file itself is imported."""

    module: str
    names: tuple[str, ...]
    line: int
    first: bool

    def targets(self, known: Container[str]) -> set[str]:
        """The modules of ours that this needs, by place: a module taken out of a folder, else the folder's own."""
        if self.module.split(".")[0] != "gasdoc":
            return set()
        place = self.module.replace(".", "/").removeprefix("gasdoc").removeprefix("/")
        inner = {f"{place}/{name}".removeprefix("/") for name in self.names}
        return {found if found in known else place for found in inner or {place}}


@cache
def read(source: str) -> tuple[tuple[Import, ...], tuple[tuple[str, int], ...]]:
    """What a file imports, and the clocks it reads with their lines.

    A relative import is named with its dots.
    """
    found: list[Import] = []
    clocks: list[tuple[str, int]] = []

    def walk(node: ast.AST, first: bool) -> None:
        if isinstance(node, ast.Import):
            found.extend(Import(alias.name, (), node.lineno, first) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            module = "." * node.level + (node.module or "")
            found.append(Import(module, tuple(alias.name for alias in node.names), node.lineno, first))
        elif isinstance(node, ast.Attribute) and node.attr in CLOCKS:
            clocks.append((node.attr, node.lineno))
        for inner in ast.iter_child_nodes(node):
            walk(inner, first and not _late(node))

    walk(ast.parse(source), True)
    return tuple(found), tuple(clocks)


def _late(node: ast.AST) -> bool:
    """Whether what is in the node does not run on import: a function, or what only type checkers read."""
    if isinstance(node, ast.If):
        return isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
    return isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)


@pytest.fixture(scope="module")
def package() -> dict[str, str]:
    """The text of each module by its place: report/views/log, units; a folder's own by the folder's name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        place = path.relative_to(PACKAGE).with_suffix("")
        if place.name == "__init__" and place.parent.name:
            place = place.parent
        found[place.as_posix()] = path.read_text(encoding="utf-8")
    return found


def offences(package: dict[str, str]) -> list[str]:
    """What breaks the order, one line each."""
    found = [
        f"layer {layer} is not in the order" for layer in sorted({p.split("/")[0] for p in package} - set(MAY_IMPORT))
    ]
    for place, source in package.items():
        own = place.split("/")[0]
        imports, clocks = read(source)
        for entry in imports:
            at = f"{place}:{entry.line}: imports {entry.module}"
            top = entry.module.split(".")[0]
            if top == "gasdoc":
                above = {target.split("/")[0] for target in entry.targets(package)} - {""} - MAY_IMPORT.get(own, set())
                found += [f"{at}: {layer} stands above or beside it" for layer in sorted(above)]
                found += [f"{at}: {above} stands above it" for above in parts_above(place, entry, package)]
            elif not top:
                found.append(f"{at}, which is relative")
            elif top not in sys.stdlib_module_names:
                if not KNOWN_TO.get(top, set()) & {own, place}:
                    found.append(f"{at}, which is not for it")
                elif top in HEAVY and entry.first:
                    found.append(f"{at} when it is imported itself")
            if own == "engineering" and top in NOT_PLAIN:
                found.append(f"{at}, which is no arithmetic")
            if top in ("random", "secrets", "uuid"):
                found.append(f"{at}, which draws lots")
        # The command and the site ask what day it is: what is overdue, and which records are still to come.
        found += [
            f"{place}:{line}: reads a clock: {name}"
            for name, line in clocks
            if (place, name) not in (("cli/check", "today"), ("cli/specs", "today"), ("host/settings", "today"))
        ]
    return found + ring(package)


def parts_above(place: str, entry: Import, package: Container[str]) -> list[str]:
    """The parts of a storey in order that an import of one of them names although they stand above it."""
    own, *inner = place.split("/")
    if own not in IN_ORDER or not inner:
        return []
    named = {target.split("/")[1] for target in entry.targets(package) if target.startswith(f"{own}/")}
    order = IN_ORDER[own]
    return sorted(named - set(order[: order.index(inner[0]) + 1]))


def ring(package: dict[str, str]) -> list[str]:
    """The first ring of modules that need each other to be imported, if there is one."""
    graph = {
        place: {
            target
            for entry in read(source)[0]
            if entry.first
            for target in entry.targets(package)
            if target in package and target != place
        }
        for place, source in package.items()
    }
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return [f"a ring of imports: {' <- '.join(error.args[1])}"]
    return []


def test_every_import_runs_downwards(package: dict[str, str]) -> None:
    assert offences(package) == []


def test_every_layer_of_the_order_is_there(package: dict[str, str]) -> None:
    assert {place.split("/")[0] for place in package} == set(MAY_IMPORT)


def test_no_module_is_hidden_by_a_name_of_its_folder(package: dict[str, str]) -> None:
    """Else `import gasdoc.study.study` would give a function."""

    def given(folder: str) -> set[str]:
        source = package.get(f"{folder}/__init__", package.get(folder, ""))
        imported = [
            a.asname or a.name for n in ast.parse(source).body if isinstance(n, ast.ImportFrom) for a in n.names
        ]
        return {*imported, *(n.name for n in ast.parse(source).body if isinstance(n, ast.FunctionDef | ast.ClassDef))}

    assert "make_study" in given("study")
    assert {place for place in package if place.rpartition("/")[2] in given(place.rpartition("/")[0])} == set()


@pytest.mark.parametrize(("storey", "most"), [("study", 12), ("report", 7)])
def test_a_storey_in_order_is_folders_and_few_files_beside_them(storey: str, most: int) -> None:
    assert len([entry for entry in (PACKAGE / storey).iterdir() if entry.name != "__pycache__"]) <= most


def test_no_module_has_over_600_lines(package: dict[str, str]) -> None:
    assert {place: n for place, source in package.items() if (n := source.count("\n")) > 600} == {}


def test_no_class_has_the_name_of_another(package: dict[str, str]) -> None:
    """But for what a spec states: what is worked out of it may have the same name, as `Mount` or `Reading`."""
    names = [
        node.name
        for place, source in package.items()
        if not place.startswith("build/model")
        for node in ast.parse(source).body
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_")
    ]
    assert len(names) > 300
    assert sorted({name for name in names if names.count(name) > 1}) == []


def test_every_library_of_the_list_is_used(package: dict[str, str]) -> None:
    used = {entry.module.split(".")[0] for source in package.values() for entry in read(source)[0]}
    assert set(KNOWN_TO) - used == {"graphviz_pure"}  # found by its program's path, not imported


@pytest.mark.parametrize(
    ("place", "line", "offence"),
    [
        ("engineering/supply/flow", "from gasdoc import units", "units stands above"),
        ("engineering/supply/flow", "import gasdoc.catalog.parts", "catalog stands above"),
        ("engineering/materials/ends", "from gasdoc.catalog.parts import catalogue", "catalog stands above"),
        ("build/reader", "from gasdoc.study.facts import system", "study stands above"),
        ("regions/region", "from gasdoc.catalog import tubing", "catalog stands above"),
        ("catalog/parts", "def f():\n    from gasdoc.study import make_study", "study stands above"),
        ("study/study", "from gasdoc.report.content.words import system", "report stands above"),
        ("report/site/site", "from gasdoc.host.plugin import Link", "host stands above"),
        ("report/site/site", "if TYPE_CHECKING:\n    from gasdoc import cli", "cli stands above"),
        ("report/site/site", "from mkdocs.utils import normalize_url", "mkdocs.utils, which is not for it"),
        ("report/site/site", "def f():\n    import mkdocs", "mkdocs, which is not for it"),
        ("study/study", "import jinja2", "jinja2, which is not for it"),
        ("engineering/supply/network", "import numpy as np", "numpy, which is not for it"),
        (
            "engineering/supply/lpg",
            "def f():\n    from CoolProp.CoolProp import PropsSI",
            "CoolProp.CoolProp, which is not for it",
        ),
        ("study/study", "import pint", "pint, which is not for it"),
        ("scalars", "import pint", "pint, which is not for it"),
        ("units", "import pint", "pint when it is imported itself"),
        ("engineering/supply/flow", "from pathlib import Path", "pathlib, which is no arithmetic"),
        ("study/supply/lines", "from .sizing import size", ".sizing, which is relative"),
        ("report/site/site", "import random", "random, which draws lots"),
        ("report/site/site", "import datetime\nSTAMP = datetime.date.today()", "reads a clock: today"),
        ("study/supply/lines", "from gasdoc.study.proof import holds", "proof stands above it"),
        ("study/facts", "def f():\n    from gasdoc.study.supply.lines import zones", "supply stands above it"),
        ("report/content/words", "from gasdoc.report.views.log import view", "views stands above it"),
        ("report/drawings/line/draw", "from gasdoc.report.pages.sections import uri", "pages stands above it"),
        ("newcomer", "", "layer newcomer is not in the order"),
        ("study/findings", "from gasdoc.study.study import Study", "a ring of imports: "),
    ],
)
def test_an_import_that_breaks_the_order_is_seen(package: dict[str, str], place: str, line: str, offence: str) -> None:
    changed = package | {place: f"{package.get(place, '')}\n{line}\n"}
    assert any(offence in said for said in offences(changed)), offences(changed)


def test_no_command_loads_a_heavy_library(package: dict[str, str]) -> None:
    names = [f"gasdoc.{place.replace('/', '.')}" for place in package if not place.startswith("__")]
    code = f"import sys, importlib\nfor n in {names!r}: importlib.import_module(n)\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, encoding="utf-8", check=True)
    loaded = set(done.stdout.split())
    assert "gasdoc.report.site.site" in loaded
    assert loaded & HEAVY == set()
