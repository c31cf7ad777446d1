"""What goes wrong is told: under -q too, never as a traceback, and never in a way that a file's name could forge."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from small_project import DAY, HUT, Run, write

from gasdoc.build.reader import read_spec
from gasdoc.cli import catalog
from gasdoc.folder import check
from gasdoc.report.formats import diagnostics
from gasdoc.source import Problem, Severity, printable, printable_lines

SLIP = HUT.replace("length: 20 ft", "length: 20")
SMALLER = HUT.replace("material: copper, type: K, size: 1/2 in nominal", "material: csst, size: 1/2 in")
FORGED = "b\n::error file=README.md,line=1::forged\n\x1b]0;x\x07##[error]c"


def test_quiet_prints_errors_and_only_errors(project: Path, run: Run) -> None:
    write(project, "warned-hut", SMALLER)
    assert run("build", "-q") == (0, "", "")
    write(project, "bad-hut", SLIP)
    code, out, err = run("build", "-q")
    assert code == 2 and out == ""
    assert [line.partition(": error: ")[0] for line in err.splitlines()] == ["gasdoc: specs/bad-hut.md:28:68"]
    code, _, err = run("build", "-q", "--strict")
    assert code == 2 and "specs/bad-hut.md:28:68: error: " in err


@pytest.mark.parametrize("name", ["check", "study"])
def test_a_defect_of_ours_has_a_code_of_its_own_and_no_traceback(
    project: Path, run: Run, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    def fail(*_: object, **__: object) -> object:
        raise ZeroDivisionError("oh")

    monkeypatch.setattr(check, "make_study", fail)
    code, out, err = run(name, "specs/test-hut.md")
    assert code == 3 and "Traceback" not in out + err and "ZeroDivisionError: oh" in out + err
    assert "defect of gasdoc" in out + err


def test_a_spec_that_gasdoc_fails_on_keeps_no_other_from_being_checked_and_built(
    project: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(project, "bad-hut", SLIP)
    write(project, "a-hut", HUT.replace("Test Hut", "Doom"))
    study = check.make_study

    def fail(build: object, *rest: object) -> object:
        if "a-hut" in str(build):
            raise ZeroDivisionError("oh")
        return study(build, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(check, "make_study", fail)
    code, out, _ = run("check", *DAY)
    assert code == 3 and "specs/a-hut.md:1:1: error: gasdoc itself fails" in out and "specs/bad-hut.md:28:68" in out
    code, _, err = run("build")
    assert code == 3 and "gasdoc itself fails" in err and (project / "site/test-hut/index.html").is_file()


def test_an_exception_in_any_command_ends_with_3(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> str:
        raise KeyError("k")

    monkeypatch.setattr(catalog, "schema_text", fail)
    code, out, err = run("schema")
    assert (code, out) == (3, "") and err.count("\n") == 1 and "KeyError: 'k' (test_told.py:" in err


@pytest.mark.parametrize("closed", ["1>&-", "2>&-", "1>&- 2>&-"])
@pytest.mark.parametrize("arguments", ["check --as-of 2026-06-01", "build"])
def test_a_stream_that_the_shell_has_closed_is_no_failure(project: Path, closed: str, arguments: str) -> None:
    done = subprocess.run(
        ["sh", "-c", f"'{sys.executable}' -m gasdoc {arguments} {closed}"],
        cwd=project,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0 and b"Traceback" not in done.stdout + done.stderr


def test_no_name_begins_a_command_of_a_forge_or_of_a_terminal(project: Path, run: Run) -> None:
    write(project, FORGED, HUT.replace("length: 20 ft", "length: 20"))
    write(project, f"{FORGED}d", HUT)
    for arguments in (
        ("check", *DAY),
        ("check", *DAY, "--format", "github"),
        ("check", *DAY, "--format", "json"),
        ("check", *DAY, "--format", "sarif"),
        ("check", *DAY, f"specs/{FORGED}.md"),
        ("build",),
        ("study", f"specs/{FORGED}.md"),
        ("compare", FORGED, f"{FORGED}d"),
        ("new", "x", "--from", FORGED),
        ("pdf", FORGED),
        ("build", "--config", FORGED),
    ):
        _, out, err = run(*arguments)
        text = out + err
        assert "\x1b" not in text and "\x07" not in text, arguments
        for line in text.splitlines():
            ours = re.match(
                r"::(error|warning|notice) file=specs/(test-hut.md|b%0A%3A%3Aerror file=README.md%2C)", line
            )
            assert ours or not line.lstrip().startswith("::"), (arguments, line)
            assert "##[" not in line or arguments[-1] in ("json", "sarif") or arguments[0] == "study", (arguments, line)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("larch-hut.md", "larch-hut.md"),
        ("::stop-commands::x", "\\x3a:stop-commands::x"),
        ("a\nb\x1b[2J\u202ec\udcff", "a\\nb\\x1b[2J\\u202ec\\udcff"),
        ("##[error]x", "##\\x5berror]x"),
    ],
)
def test_what_a_terminal_or_a_forge_would_obey_is_shown(text: str, shown: str) -> None:
    assert printable(text) == shown
    assert str(Problem(text, 1, 2, Severity.NOTE, "m", "", "c")) == f"{shown}:1:2: note: m [c]"
    assert printable_lines(f"x\n{text}").startswith("x\n")
    (command, _) = list(diagnostics.github([Problem(text, 1, 2, Severity.ERROR, text, "", "c")]))
    assert command.isprintable() and command.startswith("::error file=")
    assert json.dumps(diagnostics.sarif([Problem(text, 1, 2, Severity.ERROR, "m", "", "c")])).isascii()


def test_a_drawing_program_that_does_not_work_is_told_once_and_as_that(
    project: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(project, "other-hut", HUT)
    for program in ("/bin/false", "/bin/true", "/bin/cat"):
        monkeypatch.setenv("GASDOC_DOT", program)
        code, _, err = run("build")
        assert code == 2 and err.count("the drawing program does not work") == 1 and program in err
        assert "defect" not in err and "test-hut" not in err


@pytest.mark.parametrize("written", ["1e-300 ft", "0.0000001 mm", "1e-12 m"])
def test_a_length_that_nobody_can_measure_is_an_error(written: str) -> None:
    read = read_spec(HUT.replace("length: 20 ft", f"length: {written}").encode(), "specs/hut.md", "hut")
    (problem,) = read.problems
    assert problem.line == 28 and "too small to be measured" in problem.message


def test_what_turns_letters_round_is_no_plain_text() -> None:
    read = read_spec(HUT.replace("Test Hut", "Hut \u202e31 inH2O").encode(), "specs/hut.md", "hut")
    assert [(p.line, p.column, p.code) for p in read.problems] == [(3, 12, "file-control-character")]


def test_the_place_of_a_defect_is_a_traceback_on_request(
    project: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(catalog, "schema_text", lambda: 1 / 0)
    monkeypatch.setenv("GASDOC_TRACEBACK", "1")
    assert "Traceback" in run("schema")[2]
    assert os.environ["GASDOC_TRACEBACK"] == "1"
