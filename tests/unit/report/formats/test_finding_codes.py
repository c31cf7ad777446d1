"""The list of codes: made from the code, complete, and where a message sends its reader."""

from __future__ import annotations

import re
from pathlib import Path

import findings_in_code
import pytest
from made_up_builds import build, outlet, read, run, try_study
from places import ROOT

from gasdoc.cli.command import main
from gasdoc.folder.check import finding_problems
from gasdoc.report.formats.diagnostics import sarif
from gasdoc.report.formats.finding_codes import codes, explained
from gasdoc.source import Problem, Severity
from gasdoc.study import findings

NOT_CODES = {"test-hold", "test-pressure", "test-sheet", "test-the-vapour-side"}
"""Words of gasdoc that begin like a code: a measure, a page, steps of the test day."""


def test_the_list_is_what_the_code_says_now() -> None:
    held = (ROOT / "gasdoc" / "report" / "formats" / "findings.yaml").read_text(encoding="utf-8")
    assert held == findings_in_code.text(), (
        "run: python tests/findings_in_code.py > gasdoc/report/formats/findings.yaml"
    )


def test_every_word_in_the_code_that_looks_like_a_code_is_listed() -> None:
    """Read in another way than by calls: each text that begins like codes do."""
    said = "\n".join(path.read_text(encoding="utf-8") for path in Path(findings.__file__).parents[1].rglob("*.py"))
    written = set(re.findall(r'"((?:spec|yaml|file|folder|link|log|page|test|sign-off)-[a-z-]+)"', said))
    assert len(written) > 60
    assert sorted(written - set(codes()) - NOT_CODES) == []


def test_what_is_found_of_a_build_is_explained() -> None:
    bare = build(
        run("20 ft", material="copper", type="k"),
        outlet("Heater", "300 kBtu/h", flue=None, listed_for=["outdoors"]),
        container={"place": None},
    )
    made, problems = try_study(bare)
    assert made is not None
    told = {
        problem.code for problem in (*problems, *finding_problems(made), *read(bare | {"altitude": "high"}).problems)
    }
    assert len(told) > 10 and "spec-quantity" in told
    assert [code for code in sorted(told) if explained(code) is None] == []


@pytest.mark.parametrize(
    ("code", "weight", "said", "to_do"),
    [
        ("flue-unknown", "warning", "Where the flue gases of … go is not stated.", "Add 'flue: room-sealed'"),
        ("rule-container-fill", "error or warning", "This build has …", "Change the build"),
        ("thread-not-stated-inlet-thread", "warning", "… is not stated.", "Read it off the part"),
        ("spec-date", "error", "'…' is not a date", "write it as year-month-day"),
        ("container-wrong-orientation", "error", "This kind of container is not made", "Mount it as its label"),
        ("test-stale", "warning", "does not count for the build as it is now", "Test again"),
        ("link-missing", "error or warning", "", ""),
    ],
)
def test_a_code_is_explained_in_the_words_of_its_message(code: str, weight: str, said: str, to_do: str) -> None:
    known = explained(code)
    assert known is not None and known.weight == weight
    assert said in " ".join(known.message) and to_do in " ".join(known.remedy)


def test_a_code_that_is_none_is_not_explained() -> None:
    assert explained("no-such-code") is None and explained("ruler") is None


def test_sarif_says_of_each_rule_what_to_do() -> None:
    log = sarif([Problem("a.md", 1, 1, Severity.WARNING, "m", "h", "flue-unknown")])
    (rule,) = log["runs"][0]["tool"]["driver"]["rules"]
    assert "carbon monoxide" in rule["help"]["text"] and "Add 'flue:" in rule["help"]["text"]


def test_the_catalog_lists_every_code_with_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["catalog", "findings"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(codes())
    assert any(line.startswith("flue-unknown ") and "Add 'flue:" in line for line in lines)
