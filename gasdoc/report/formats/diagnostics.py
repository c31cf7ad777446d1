"""Problems in the forms that forges read: annotations of a workflow's log, and SARIF 2.1.0."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import PurePath
from typing import Any
from urllib.parse import quote

from gasdoc import __version__
from gasdoc.report.formats.finding_codes import explained
from gasdoc.source import Problem, Severity, printable

SARIF_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def github(problems: Sequence[Problem]) -> Iterator[str]:
    """Each problem as an annotation and once more as a plain line, since a forge shows only the first annotations."""
    words = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}
    for problem in problems:
        word = words[Severity.NOTE if problem.draft else problem.severity]
        text = f"{problem.message}; {problem.hint}" if problem.hint else problem.message
        yield (
            f"::{word} file={_property(PurePath(problem.path).as_posix())},line={problem.line},col={problem.column},"
            f"title={_property(problem.code)}::{_data(text)}"
        )
        yield str(problem)


def _data(text: str) -> str:
    """Text of a workflow command; a line end would begin another command, and what a terminal obeys is shown."""
    return printable(text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A"))


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def sarif(problems: Sequence[Problem]) -> dict[str, Any]:
    """The problems as a SARIF log with one run. Columns count characters, from 1."""
    codes = sorted({problem.code for problem in problems})
    return {
        "$schema": SARIF_SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "gasdoc",
                        "version": __version__,
                        "rules": [_rule(code) for code in codes],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": [_result(problem, codes) for problem in problems],
            }
        ],
    }


def _rule(code: str) -> dict[str, Any]:
    """A code with what it means, as the page of all codes has it."""
    rule: dict[str, Any] = {"id": code, "shortDescription": {"text": code.replace("-", " ")}}
    if (known := explained(code)) is not None and (words := " ".join((*known.reason[:1], *known.remedy[:1]))):
        rule["help"] = {"text": words}
    return rule


def _result(problem: Problem, codes: Sequence[str]) -> dict[str, Any]:
    text = f"{problem.message}; {problem.hint}" if problem.hint else problem.message
    return {
        "ruleId": problem.code,
        "ruleIndex": codes.index(problem.code),
        "level": "note" if problem.draft else str(problem.severity),
        "message": {"text": text},
        "locations": [
            {
                "physicalLocation": {
                    "artifactLocation": {"uri": _uri(problem.path)},
                    "region": {"startLine": problem.line, "startColumn": problem.column},
                }
            }
        ],
    }


def _uri(path: str) -> str:
    """The path as a relative reference, or as a file URI if it is absolute (RFC 8089); bytes that are no UTF-8 as they are."""
    pure = PurePath(path)
    if not pure.is_absolute():
        return quote(pure.as_posix(), errors="surrogateescape")
    whole = quote(pure.as_posix(), safe="/:", errors="surrogateescape")
    return f"file:{whole}" if whole.startswith("//") else f"file:///{whole.removeprefix('/')}"
