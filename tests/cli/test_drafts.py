"""A draft's problems are told and count for nothing; a record with errors is published all the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_project import DAY, HUT, Run, write

SLIP = HUT.replace("length: 20 ft", "length: 20")
WEAK = HUT.replace("30 kBtu/h", "140 kBtu/h")


def draft(text: str) -> str:
    return text.replace("format: 1\n", "format: 1\ndraft: yes   # not yet\n")


@pytest.mark.parametrize(("text", "code"), [(SLIP, 2), (WEAK, 1), (HUT.replace("title: T", "title: [T"), 2)])
def test_a_draft_counts_for_nothing_in_check_and_build_strict_or_not(
    project: Path, run: Run, text: str, code: int
) -> None:
    write(project, "other-hut", text)
    assert run("check", *DAY)[0] == code and run("build")[0] == code
    write(project, "other-hut", draft(text))
    for arguments in (("check", *DAY), ("check", *DAY, "--strict")):
        found, out, err = run(*arguments)
        assert found == 0 and "specs/other-hut.md:" in out and ": error: " in out
        assert err.startswith("2 specs, 1 of them drafts: ") and " in drafts, not counted. " in err
    for options in ((), ("--strict",)):
        found, _, err = run("build", *options)
        assert found == 0 and "1 draft (other-hut.md)" in err
        assert ("specs/other-hut.md:" in err) == (code == 2)  # what is wrong with the input, and no findings
    assert run("build", "-q") == (0, "", "")


def test_a_drafts_problems_are_notes_to_a_forge(project: Path, run: Run) -> None:
    write(project, "test-hut", draft(SLIP))
    code, out, _ = run("check", *DAY, "--format", "github")
    assert code == 0 and "::notice file=specs/test-hut.md" in out and "::error" not in out
    code, out, _ = run("check", *DAY, "--format", "sarif")
    assert code == 0 and {result["level"] for result in json.loads(out)["runs"][0]["results"]} == {"note"}
    code, out, _ = run("check", *DAY, "--format", "json")
    found = json.loads(out)
    assert found["exit_code"] == 0 and all(problem["draft"] for problem in found["problems"])


def test_the_pages_of_a_draft_say_so(project: Path, run: Run) -> None:
    write(project, "good-draft", draft(HUT))
    write(project, "bad-draft", draft(SLIP))
    run("build")
    site = project / "site"
    for page in site.glob("*-draft/**/index.html"):
        assert "This is a draft" in page.read_text("utf-8"), page
    assert (site / "bad-draft/index.html").is_file() and (site / "good-draft/supply/index.html").is_file()
    index = (site / "index.html").read_text("utf-8")
    assert "a draft, 1 problem<" in index and ">A draft. " in index
    assert "This is a draft" not in (site / "test-hut/index.html").read_text("utf-8")


def test_new_starts_with_a_draft_empty_or_from_another(project: Path, run: Run) -> None:
    write(project, "test-hut", HUT.replace("title: Test Hut", "title: Test Hut\nsummary: One cylinder."))
    run("new", "my-hut", "--region", "us-cabin")
    _, _, err = run("new", "next-hut", "--from", "test-hut")
    assert "left out: summary: the sentence about the build it was copied from" in err
    for name in ("my-hut", "next-hut"):
        text = (project / f"specs/{name}.md").read_text("utf-8")
        assert "\ndraft: yes" in text and "One cylinder" not in text and "<!--" not in text
    assert run("check", *DAY)[0] == 0


def test_only_a_bad_configuration_or_no_readable_spec_stops_publishing(project: Path, run: Run) -> None:
    write(project, "bad-hut", SLIP)
    code, _, err = run("build")
    assert code == 2 and err.endswith("the site is built: 1 build; 1 with a page of problems only (bad-hut.md)\n")
    (project / "specs/test-hut.md").unlink()
    before = (project / "site/index.html").read_bytes()
    code, _, err = run("build")
    assert code == 2 and "specs/bad-hut.md:" in err and "nothing to publish" in err and "the site is built" not in err
    assert (project / "site/index.html").read_bytes() == before
    (project / "mkdocs.yml").unlink()
    for command in (("build",), ("pdf", "--all")):
        code, _, err = run(*command)
        assert code == 2 and "there is no mkdocs.yml here. 'gasdoc init' lays out a project" in err
