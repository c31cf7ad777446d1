"""Problems in the forms that forges read."""

from __future__ import annotations

import json
import re
from urllib.parse import unquote

import pytest

from gasdoc.report.formats.diagnostics import github, sarif
from gasdoc.source import Problem, Severity

PROBLEMS = [
    Problem(
        "specs/my hut.md", 14, 12, Severity.ERROR, "unknown key 'lenght'", "did you mean 'length'?", "spec-unknown-key"
    ),
    Problem("specs/my hut.md", 3, 1, Severity.WARNING, "100 % of it,\r\n::error::forged", "", "log-date"),
    Problem("/abs/a:b,c.md", 1, 1, Severity.NOTE, "x", "y", "log-date"),
]
LINE = re.compile(r"::(error|warning|notice) file=([^,:]*),line=(\d+),col=(\d+),title=([^,:]*)::(.*)")


def test_each_problem_is_one_annotation_and_one_plain_line() -> None:
    made = list(github(PROBLEMS))
    assert len(made) == 2 * len(PROBLEMS)
    for annotation, plain, problem in zip(made[::2], made[1::2], PROBLEMS, strict=True):
        match = LINE.fullmatch(annotation)
        assert match, annotation
        word, file, line, column, title, message = match.groups()
        assert word == {"error": "error", "warning": "warning", "note": "notice"}[str(problem.severity)]
        assert (unquote(file), int(line), int(column), title) == (
            problem.path,
            problem.line,
            problem.column,
            problem.code,
        )
        assert unquote(message).startswith(problem.message)
        assert plain == str(problem)


def test_no_text_of_a_spec_can_begin_a_command_of_its_own() -> None:
    for line in github(PROBLEMS):
        assert "\n" not in line and "\r" not in line
        assert not line.startswith("::error::")


def test_the_sarif_log_has_what_the_format_asks() -> None:
    log = sarif(PROBLEMS)
    assert json.loads(json.dumps(log)) == log
    # SARIF 2.1.0: 3.13.2 version, 3.13.4 runs, 3.14.6 tool, 3.18.2 driver, 3.19.8 name (read through its schema).
    assert log["version"] == "2.1.0" and log["$schema"].endswith("sarif-schema-2.1.0.json") and len(log["runs"]) == 1
    (run,) = log["runs"]
    driver = run["tool"]["driver"]
    assert driver["name"] == "gasdoc" and driver["version"]
    ids = [rule["id"] for rule in driver["rules"]]
    assert len(ids) == len(set(ids)) and all(rule["shortDescription"]["text"] for rule in driver["rules"])
    assert run["columnKind"] in ("utf16CodeUnits", "unicodeCodePoints")
    assert len(run["results"]) == len(PROBLEMS)
    for result, problem in zip(run["results"], PROBLEMS, strict=True):
        assert result["level"] in ("none", "note", "warning", "error") and result["level"] == str(problem.severity)
        assert ids[result["ruleIndex"]] == result["ruleId"] == problem.code
        assert result["message"]["text"].startswith(problem.message)
        (location,) = result["locations"]
        place = location["physicalLocation"]
        assert place["region"] == {"startLine": problem.line, "startColumn": problem.column}
        assert min(place["region"].values()) >= 1


@pytest.mark.parametrize(
    ("place", "uri"), [(0, "specs/my%20hut.md"), (2, "file:///abs/a%3Ab%2Cc.md")], ids=["relative", "absolute"]
)
def test_paths_are_uris(place: int, uri: str) -> None:
    found = sarif(PROBLEMS)["runs"][0]["results"][place]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert unquote(found) == unquote(uri) and " " not in found


def test_no_problem_is_an_empty_log() -> None:
    run = sarif([])["runs"][0]
    assert run["results"] == [] and run["tool"]["driver"]["rules"] == []
    assert list(github([])) == []
