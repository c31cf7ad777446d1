"""Mutation testing of `gasdoc/engineering`: does any test notice a changed line?

    pip install mutmut==3.8.1
    nice -n 15 python tests/mutation.py engineering/supply/flow engineering/supply/network > found.jsonl
    nice -n 15 python tests/mutation.py --again found.jsonl > left.jsonl

Without names it takes every module of the package. One line of JSON for each mutant: module, line, function, what was
changed, "killed", "timeout" or "survived" (and "no-tests" where no test calls the function), and the test that killed it.
Run it on a copy of the tree; what is argued of the survivors is in `survivors.md`.

mutmut makes the mutants: its operators, also in functions that it leaves out because they are decorated. Its own runner
starts pytest anew for each. Here the tests are collected once, and every mutant is a fork of that session in which the
function has the changed code; only tests that call the function are run, those first that killed the last mutants of it,
then those of its module, the quick ones first. Property tests draw few examples, always the same. A mutant that takes
over five times the CPU time of its tests, and two seconds, counts as noticed. Constants (`--constants`, a tenth more) are
tried in a fork from before the package is imported, since other modules may have copied them, against the tests of the
module and the references that name it.
"""

from __future__ import annotations

import argparse
import ast
import gc
import importlib
import json
import math
import os
import resource
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import libcst as cst
import pytest
from _pytest.runner import runtestprotocol
from hypothesis import Phase, settings
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation.file_mutation import MutationVisitor, deep_replace
from mutmut.mutation.mutators import mutation_operators
from mutmut.mutation.pragma_handling import IgnoredCode

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "gasdoc" / "engineering"
SLOW = ("test_network_reference",)
"""Left out for their time: every pressure of many trees against another solver."""
TESTS = (
    "tests/unit/engineering",
    "tests/unit/catalog/test_parts.py",
    "tests/unit/study/proof/test_halving.py",
    "tests/reference",
)


class Visitor(MutationVisitor):
    """mutmut's, but into decorated functions too (properties, cached functions), and not into what an error says."""

    def _skip_node_and_children(self, node: cst.CSTNode) -> bool:
        if isinstance(node, cst.Raise):
            return True
        if isinstance(node, cst.FunctionDef) and node.decorators:
            return False
        return super()._skip_node_and_children(node)


class Mutant:
    """A changed function of a module: its new source, and what was changed where."""

    def __init__(self, module: str, owner: str, name: str, line: int, was: str, now: str, source: str) -> None:
        self.module, self.owner, self.name, self.line = module, owner, name, line
        self.was, self.now, self.source = was, now, source

    @property
    def key(self) -> tuple[str, ...]:
        """What tells it from others; changes of one function that read alike go together."""
        return (self.module, f"{self.owner}.{self.name}".strip("."), self.was, self.now)

    def function(self) -> FunctionType:
        """The function it changes, as it is in memory."""
        module = importlib.import_module(self.module)
        found = vars(getattr(module, self.owner))[self.name] if self.owner else getattr(module, self.name)
        for wrapper in ("fget", "__func__", "__wrapped__"):
            found = getattr(found, wrapper, found)
        assert isinstance(found, FunctionType)
        return found

    def apply(self) -> None:
        """Put the changed code in its place."""
        function = self.function()
        flags = annotations.compiler_flag
        names = dict(function.__globals__)
        exec(compile(self.source, function.__code__.co_filename, "exec", flags, dont_inherit=True), names)
        changed = names[self.name]
        function.__code__, function.__defaults__ = changed.__code__, changed.__defaults__
        function.__kwdefaults__ = changed.__kwdefaults__


def mutants(path: Path) -> Iterator[Mutant]:
    """Every mutant of the functions of a file."""
    wrapper = MetadataWrapper(cst.parse_module(path.read_text()))
    visitor = Visitor(mutation_operators, IgnoredCode(set(), set(), set()))
    tree = wrapper.visit(visitor)
    places = wrapper.resolve(PositionProvider)
    owners: dict[cst.CSTNode, str] = {}
    for statement in wrapper.module.body:
        if isinstance(statement, cst.ClassDef):
            owners.update((inner, statement.name.value) for inner in statement.body.body)
    empty = cst.Module([])
    for found in visitor.mutations:
        function = found.contained_by_top_level_function
        if not isinstance(function, cst.FunctionDef):
            continue
        changed = deep_replace(function, found.original_node, found.mutated_node)
        assert isinstance(changed, cst.FunctionDef)
        source = empty.code_for_node(changed.with_changes(decorators=[], leading_lines=[]))
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        yield Mutant(
            module,
            owners.get(function, ""),
            function.name.value,
            places[found.original_node].start.line,
            " ".join(tree.code_for_node(found.original_node).split()),
            " ".join(tree.code_for_node(found.mutated_node).split()),
            source,
        )


def forget() -> None:
    """Empty the caches of the package: what they hold was worked out by unchanged code."""
    for name, module in list(sys.modules.items()):
        if name.startswith("gasdoc.engineering"):
            for value in list(vars(module).values()):
                if hasattr(value, "cache_clear"):
                    value.cache_clear()


class FewExamples:
    """The plugin that has every property test draw few examples, always the same, and not look for the smallest."""

    def __init__(self, examples: int) -> None:
        self.examples = examples

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        for item in items:
            function = getattr(item, "obj", None)
            if getattr(function, "is_hypothesis_test", False):
                target: Any = getattr(function, "__func__", function)
                own = getattr(target, "_hypothesis_internal_use_settings", settings.default)
                target._hypothesis_internal_use_settings = settings(
                    own,
                    max_examples=min(own.max_examples, self.examples),
                    derandomize=True,
                    database=None,
                    phases=(Phase.explicit, Phase.generate),
                )


class Session(FewExamples):
    """The plugin that collects as usual, then runs mutants instead of tests."""

    def __init__(self, names: Sequence[str], examples: int, budget: float, done: set[tuple[str, ...]]) -> None:
        super().__init__(examples)
        self.names, self.budget, self.done = names, budget, done
        self.items: list[pytest.Item] = []
        self.calls: dict[tuple[str, int], list[int]] = {}
        self.seconds: list[float] = []

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = session.items
        gc.freeze()
        self.map_tests()
        for name in self.names:
            self.run_module(ROOT / "gasdoc" / f"{name}.py")
        return True

    def map_tests(self) -> None:
        """Which tests call which function, and how long each takes: found in a fork, so that this process stays fresh."""
        out, into = os.pipe()
        if (pid := os.fork()) == 0:
            os.close(out)
            found: list[tuple[float, list[tuple[str, int]]]] = []
            ours = str(PACKAGE)
            for item in self.items:
                seen: set[CodeType] = set()

                def trace(frame: FrameType, _event: str, _arg: object, seen: set[CodeType] = seen) -> None:
                    seen.add(frame.f_code)

                forget()
                start = time.process_time()
                sys.settrace(trace)
                failed = any(report.failed for report in runtestprotocol(item, nextitem=None, log=False))
                sys.settrace(None)
                if failed:
                    print(f"fails unchanged, so it is left out: {item.nodeid}", file=sys.stderr)
                places = [(c.co_filename, c.co_firstlineno) for c in seen if c.co_filename.startswith(ours)]
                found.append((time.process_time() - start, [] if failed else places))
            with os.fdopen(into, "w") as stream:
                json.dump(found, stream)
            os._exit(0)
        os.close(into)
        with os.fdopen(out) as stream:
            answers = json.load(stream)
        os.waitpid(pid, 0)
        calls = defaultdict(list)
        for number, (seconds, places) in enumerate(answers):
            self.seconds.append(seconds)
            for place in places:
                calls[tuple(place)].append(number)
        self.calls = dict(calls)
        print(f"{len(self.items)} tests, {sum(self.seconds):.0f} s", file=sys.stderr)

    def run_module(self, path: Path) -> None:
        last: dict[str, list[int]] = defaultdict(list)
        for mutant in mutants(path):
            if mutant.key in self.done:
                continue
            code = mutant.function().__code__
            tests = sorted(  # its own first: they are quick as a rule, and the likeliest to notice
                self.calls.get((code.co_filename, code.co_firstlineno), []),
                key=lambda n: (path.stem not in self.items[n].path.stem, self.seconds[n]),
            )
            key = mutant.key[1]
            first = [n for n in last[key] if n in tests][:3]
            order, spent = first, 0.0
            for n in tests:
                spent += self.seconds[n]
                if n not in first and spent <= self.budget:
                    order.append(n)
            result, killer = self.run(mutant, order) if tests else ("no-tests", None)
            if killer is not None:
                last[key] = [killer, *(n for n in last[key] if n != killer)]
            print(
                json.dumps(
                    {
                        "module": mutant.module,
                        "line": mutant.line,
                        "function": key,
                        "was": mutant.was,
                        "now": mutant.now,
                        "result": result,
                        "by": None if killer is None else self.items[killer].nodeid,
                    }
                ),
                flush=True,
            )

    def run(self, mutant: Mutant, order: Sequence[int]) -> tuple[str, int | None]:
        """What became of it, and the test that killed it."""
        out, into = os.pipe()
        if (pid := os.fork()) == 0:
            os.close(out)
            os.close(1)
            os.open(os.devnull, os.O_WRONLY)
            limit = 2 + math.ceil(5 * sum(self.seconds[n] for n in order))
            used = math.ceil(time.process_time())
            resource.setrlimit(resource.RLIMIT_CPU, (used + limit, used + limit + 1))
            resource.setrlimit(resource.RLIMIT_DATA, (4 << 30, 4 << 30))
            killer = -1
            try:
                mutant.apply()
                forget()
                for k, number in enumerate(order):
                    following = self.items[order[k + 1]] if k + 1 < len(order) else None
                    if any(
                        report.failed for report in runtestprotocol(self.items[number], nextitem=following, log=False)
                    ):
                        killer = number
                        break
            except BaseException:  # noqa: BLE001  # a change that breaks the run itself is noticed
                killer = order[0]
            os.write(into, str(killer).encode())
            os._exit(0)
        os.close(into)
        with os.fdopen(out) as stream:
            answer = stream.read()
        os.waitpid(pid, 0)
        if not answer:
            return "timeout", None
        return ("survived", None) if answer == "-1" else ("killed", int(answer))


# --- constants ---------------------------------------------------------------------------------------------------------


class Changed(SourceFileLoader):
    """Loads a module from changed source."""

    def __init__(self, name: str, path: Path, source: str) -> None:
        super().__init__(name, str(path))
        self.source = source

    def get_code(self, fullname: str) -> CodeType:
        return compile(self.source, self.path, "exec", dont_inherit=True)

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        return spec_from_file_location(name, self.path, loader=self) if name == self.name else None


def changed_constants(path: Path) -> Iterator[tuple[int, str, str, str]]:
    """Line, number, new number and source for every number of a file outside its functions: a tenth more, nought by one."""
    source = path.read_text()
    lines = source.splitlines(keepends=True)
    todo: list[ast.AST] = [ast.parse(source)]
    while todo:
        node = todo.pop(0)
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool):
            row = lines[node.lineno - 1].encode()  # columns count bytes
            was, now = row[node.col_offset : node.end_col_offset].decode(), repr(node.value * 1.1 or 1)
            new = (row[: node.col_offset] + now.encode() + row[node.end_col_offset :]).decode()
            yield node.lineno, was, now, "".join((*lines[: node.lineno - 1], new, *lines[node.lineno :]))
        for name, value in ast.iter_fields(node):
            if name not in ("annotation", "decorator_list") and not isinstance(node, ast.FunctionDef):
                todo += [
                    inner for inner in (value if isinstance(value, list) else [value]) if isinstance(inner, ast.AST)
                ]


def run_constants(names: Sequence[str], examples: int) -> None:
    """Change the constants of each module, one by one, each in a fork that has not imported the package yet."""
    for heavy in ("CoolProp.CoolProp", "fluids", "numpy", "scipy.integrate", "yaml", "highspy"):
        try:
            importlib.import_module(heavy)
        except ImportError:
            print(f"without {heavy} some tests are left out", file=sys.stderr)
    for name in names:
        path, word = ROOT / "gasdoc" / f"{name}.py", name.rpartition("/")[2]
        own = sorted((ROOT / "tests" / "unit" / "engineering").rglob(f"test_{word}.py"))
        others = [p for p in sorted((ROOT / "tests" / "reference").glob("test_*.py")) if word in p.read_text()]
        tests = [str(p) for p in (*own, *others) if not any(slow in p.name for slow in SLOW)] or TESTS
        for line, was, now, source in changed_constants(path):
            if (pid := os.fork()) == 0:
                os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
                os.dup2(1, 2)
                sys.meta_path.insert(0, Changed(f"gasdoc.{name.replace('/', '.')}", path, source))
                resource.setrlimit(resource.RLIMIT_CPU, (120, 121))
                try:
                    code = pytest.main(
                        [
                            "-x",
                            "--hypothesis-profile=full",
                            "-p",
                            "no:cacheprovider",
                            "-W",
                            "ignore::pytest.PytestAssertRewriteWarning",
                            *tests,
                        ],
                        plugins=[FewExamples(examples)],
                    )
                except BaseException:  # noqa: BLE001  # a mutant may end in any way
                    code = 1
                os._exit(1 if code else 0)
            _, status = os.waitpid(pid, 0)
            print(
                json.dumps(
                    {
                        "module": f"gasdoc.{name.replace('/', '.')}",
                        "line": line,
                        "function": "(constants)",
                        "was": was,
                        "now": now,
                        "result": "killed" if status else "survived",
                        "by": None,
                    }
                ),
                flush=True,
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("modules", nargs="*", help="such as engineering/supply/flow; all of them if none is named")
    parser.add_argument("--examples", type=int, default=10, help="examples of a property test")
    parser.add_argument(
        "--budget", type=float, default=5.0, help="CPU seconds of tests for one mutant, the quickest first"
    )
    parser.add_argument("--constants", action="store_true", help="the numbers outside functions instead")
    parser.add_argument("--again", type=Path, help="a file of lines from before: all but what was killed in it")
    parser.add_argument("--tests", nargs="*", default=TESTS)
    args = parser.parse_args()
    wanted = [*args.tests, *(f"gasdoc/{name}.py" for name in args.modules)]
    if missing := [path for path in wanted if not (ROOT / path).exists()]:
        parser.error(f"not there: {', '.join(missing)}")
    names = args.modules or [
        str(path.relative_to(ROOT / "gasdoc").with_suffix("")) for path in sorted(PACKAGE.rglob("[!_]*.py"))
    ]
    done: set[tuple[str, ...]] = set()
    if args.again is not None:
        rows = [json.loads(line) for line in args.again.read_text().splitlines() if line.startswith("{")]
        noticed = [row["result"] in ("killed", "timeout") for row in rows]
        keys = [(row["module"], row["function"], row["was"], row["now"]) for row in rows]
        done = {key for key, yes in zip(keys, noticed, strict=True) if yes}
        done -= {key for key, yes in zip(keys, noticed, strict=True) if not yes}
    sys.path.insert(0, str(ROOT))
    os.chdir(ROOT)
    ignored = [f"--ignore-glob=*{name}*" for name in SLOW]
    if args.constants:
        run_constants(names, args.examples)
        return
    # What was imported above cannot be rewritten any more; that is no matter here.
    quiet = (
        "-o",
        "addopts=",
        "-W",
        "ignore::pytest.PytestAssertRewriteWarning",
        "-s",
        "-p",
        "no:terminal",
        "-p",
        "no:cacheprovider",
    )
    sys.exit(pytest.main([*quiet, *ignored, *args.tests], plugins=[Session(names, args.examples, args.budget, done)]))


if __name__ == "__main__":
    main()
