"""Every code of a finding or a problem, with what is said under it, read from the calls in gasdoc's own code.

    .venv/bin/python tests/findings_in_code.py > gasdoc/report/formats/findings.yaml

What a call works out stands as "…". Where a text is chosen among several, each of them is listed.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import yaml

GASDOC = Path(__file__).parent.parent / "gasdoc"
OPEN = "…"
FINDINGS = ("error", "warning", "note")
MAKERS = {
    **dict.fromkeys(FINDINGS, "code subject at message reason remedy source"),
    "problem": "code message remedy",
    ".problem": "at severity message remedy code",
    ".tell": "path message remedy code line warning",
    ".refuse": "path message remedy code line",
    ".wrong": "at message remedy code",
    "Problem": "path line column severity message remedy code draft",
    "Complaint": "at message remedy code severity",
}
"""What makes findings and problems, with the names of its arguments in order; those with a point are methods."""

Row = dict[str, list[Any]]


class Code:
    """One module: the calls in it that make findings and problems."""

    def __init__(self, text: str) -> None:
        self.tree = ast.parse(text)
        self.globals = dict(_assigned(self.tree.body))
        self.functions = {n.name: n for n in ast.walk(self.tree) if isinstance(n, ast.FunctionDef)}

    def rows(self) -> Iterator[Row]:
        for function in (n for n in ast.walk(self.tree) if isinstance(n, ast.FunctionDef)):
            names: dict[str, list[ast.expr]] = {name: [value] for name, value in self.globals.items()}
            inner = [n for n in ast.walk(function) if isinstance(n, ast.stmt)]
            for name, value in _assigned(inner):
                names[name] = [*(names.get(name, []) if name not in self.globals else []), value]
            for call in (n for n in ast.walk(function) if isinstance(n, ast.Call)):
                for found in self._tabled(inner, names):
                    if row := self._row(call, found):
                        yield row

    def _tabled(self, body: list[ast.stmt], names: dict[str, list[ast.expr]]) -> Iterator[dict[str, list[ast.expr]]]:
        """The names of a function, once for each row of a table that it takes its words from (`code, why = TABLE[key]`)."""
        for s in body:
            if (
                isinstance(s, ast.Assign)
                and isinstance(s.targets[0], ast.Tuple)
                and isinstance(s.value, ast.Subscript)
                and isinstance(table := self.globals.get(ast.unparse(s.value.value)), ast.Dict)
                and all(isinstance(row, ast.Tuple) for row in table.values)
            ):
                targets = [ast.unparse(target) for target in s.targets[0].elts]
                for key, row in zip(table.keys, table.values, strict=True):
                    cells = row.elts if isinstance(row, ast.Tuple) else []
                    bound = dict(zip([*targets, ast.unparse(s.value.slice)], [*cells, key], strict=True))
                    yield names | {name: [value] for name, value in bound.items() if value is not None}
                return
        yield names

    def _row(self, call: ast.Call, names: dict[str, list[ast.expr]]) -> Row | None:
        makers = self._makers(call.func, names)
        if not makers:
            return None
        given = dict(zip(MAKERS[makers[0]].split(), call.args, strict=False))
        given |= {word.arg: word.value for word in call.keywords if word.arg}
        row: Row = {
            key: self.texts(given[key], names) if key in given else []
            for key in ("code", "message", "reason", "remedy")
        }
        row["weight"] = (
            sorted(FINDINGS.index(maker) for maker in makers) if makers[0] in FINDINGS else _weight(given, names)
        )
        row["about"] = ["the build" if makers[0] in FINDINGS else "a file"]
        return row if any(re.match("[a-z]", code) for code in row["code"]) else None

    def _makers(self, called: ast.expr, names: dict[str, list[ast.expr]]) -> list[str]:
        if isinstance(called, ast.IfExp):
            return [*self._makers(called.body, names), *self._makers(called.orelse, names)]
        if isinstance(called, ast.Attribute):
            return [f".{called.attr}"] if f".{called.attr}" in MAKERS else []
        if isinstance(called, ast.Name):
            if called.id in MAKERS:
                return [called.id]
            return [
                m
                for value in names.get(called.id, ())
                if isinstance(value, ast.IfExp)
                for m in self._makers(value, names)
            ]
        return []

    def texts(self, node: ast.expr, names: dict[str, list[ast.expr]], depth: int = 0) -> list[str]:
        """The texts that an expression may give; none where nothing of it stands in the code."""

        def of(part: ast.expr) -> list[str]:
            return self.texts(part, names, depth + 1)

        match node:
            case _ if depth > 8:
                return []
            case ast.Constant(value=str(text)):
                return [text]
            case ast.JoinedStr(values=parts):
                return _joined([of(part) or [OPEN] for part in parts])
            case ast.FormattedValue(value=ast.Name() as name) if depth < 3:
                found = [text for text in of(name) if len(text) < 40]
                return found if len(found) == 1 else [OPEN]
            case ast.FormattedValue():
                return [OPEN]
            case ast.BinOp(left=left, op=ast.Add(), right=right):
                return _joined([of(left) or [OPEN], of(right) or [OPEN]])
            case ast.IfExp(body=body, orelse=orelse) | ast.BoolOp(values=[body, orelse]):
                return [*of(body), *of(orelse)]
            case ast.Name(id=name):
                return [text for value in names.get(name, ()) for text in of(value)]
            case ast.Call(func=ast.Attribute(attr="named"), args=[said]):
                return of(said)
            case ast.Call(func=ast.Attribute(value=said, attr="format")):
                return [re.sub("{.*?}", OPEN, text) for text in of(said)]
            case ast.Call(func=ast.Attribute(value=ast.Dict(values=values), attr="get"), args=[_, other]):
                return [text for value in (*values, other) for text in of(value)]
            case ast.Call(func=ast.Name(id=name)) if name in self.functions:
                own = dict(_assigned([n for n in ast.walk(self.functions[name]) if isinstance(n, ast.stmt)]))
                returned = [n.value for n in ast.walk(self.functions[name]) if isinstance(n, ast.Return) and n.value]
                scope = {key: [value] for key, value in (self.globals | own).items()}
                return [text for value in returned for text in self.texts(value, scope, depth + 1)]
        return []


def _assigned(body: list[ast.stmt]) -> Iterator[tuple[str, ast.expr]]:
    """The names that statements give a value, with the value."""
    for s in body:
        match s:
            case ast.AnnAssign(target=ast.Name(id=name), value=ast.expr() as value):
                yield name, value
            case ast.Assign(targets=[ast.Name(id=name)], value=value):
                yield name, value
            case ast.Assign(targets=[ast.Tuple(elts=targets)], value=ast.Tuple(elts=values)):
                yield from ((ast.unparse(name), value) for name, value in zip(targets, values, strict=True))


def _joined(parts: list[list[str]]) -> list[str]:
    """The texts put together from texts that may each be one of several; what is open stands once."""
    several = (
        product(*parts) if len(parts) < 12 and sum(len(part) > 1 for part in parts) < 3 else [[p[0] for p in parts]]
    )
    return [re.sub(rf"{OPEN}(\W?{OPEN})+", OPEN, "".join(part)) for part in several]


def _says_nothing(text: Any) -> bool:
    return isinstance(text, str) and (not text or (OPEN in text and len(re.findall("[a-z]{2,}", text)) < 2))


def _weight(given: dict[str, ast.expr], names: dict[str, list[ast.expr]]) -> list[int]:
    """How much a problem weighs: by its severity, or by the word that makes a warning of an error."""
    asked = [given[key] for key in ("severity", "warning") if key in given]
    said = " ".join(ast.unparse(n) for node in asked for n in (node, *names.get(ast.unparse(node), ())))
    found = [i for i, word in enumerate(FINDINGS) if f"Severity.{word.upper()}" in said or (i == 1 and said == "True")]
    return found or [0]


def listed() -> dict[str, dict[str, Any]]:
    """By code: what it is about, how much it weighs, what is said, why, and what to do."""
    found: dict[str, Row] = {}
    for path in sorted(GASDOC.rglob("*.py")):
        for row in Code(path.read_text(encoding="utf-8")).rows():
            for code in row.pop("code"):
                have = found.setdefault(code, {key: [] for key in ("about", "weight", "message", "reason", "remedy")})
                for key, texts in row.items():
                    have[key] += [text for text in texts if text not in have[key] and not _says_nothing(text)]
    return {
        code: {
            **row,
            "about": row["about"][0],
            "weight": " or ".join(FINDINGS[i] for i in sorted(row["weight"])),
        }
        for code, row in sorted(found.items())
    }


def text() -> str:
    """The list as the file holds it."""
    head = f"# Made from the code by tests/findings_in_code.py. What is worked out for a build stands as {OPEN}.\n"
    return head + yaml.safe_dump(listed(), sort_keys=False, allow_unicode=True, width=1000)


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8")
    print(text(), end="")
