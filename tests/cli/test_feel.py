"""How the command feels: help with examples, quiet and verbose, colour and progress for terminals only, completion, PDF."""

from __future__ import annotations

import io
import os
import pty
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from small_project import DAY, Run, write
from small_project import HUT as A_HUT

from gasdoc.cli import command as cli
from gasdoc.cli import site as site_commands
from gasdoc.cli.completion import shell_text
from gasdoc.commandline import COMMANDS, parser
from gasdoc.host import pdf
from gasdoc.machine.terminal import Progress
from gasdoc.wrong import Refused

ROOT = Path(__file__).parents[2]
HUT = "specs/larch-hut.md"


def at_a_terminal(*arguments: str, cwd: Path = ROOT, **environment: str) -> str:
    """What the command writes when its outputs are a terminal."""
    parent, child = pty.openpty()
    env = {k: v for k, v in os.environ.items() if k != "NO_COLOR"} | {"TERM": "xterm"} | environment
    process = subprocess.Popen(
        [sys.executable, "-m", "gasdoc", *arguments], cwd=cwd, stdout=child, stderr=child, env=env
    )
    os.close(child)
    said = b""
    while True:
        try:
            piece = os.read(parent, 4096)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        said += piece
    process.wait()
    os.close(parent)
    return said.decode()


@pytest.mark.parametrize("command", [command.name for command in COMMANDS])
def test_every_command_has_help_with_examples_of_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        cli.main([command, "--help"])
    said = capsys.readouterr().out
    assert stopped.value.code == 0
    assert f"gasdoc {command}" in said.partition("examples:\n")[2]


def test_the_examples_of_every_command_can_be_read_by_the_parser() -> None:
    import shlex

    for command in COMMANDS:
        for line in command.examples:
            words = shlex.split(line.strip().removeprefix('eval "$(').removesuffix(')"').partition(" > ")[0])
            assert words[0] == "gasdoc"
            parser().parse_args(words[1:])


def test_quiet_leaves_only_the_problems_and_verbose_shows_the_line(capsys: pytest.CaptureFixture[str]) -> None:
    cli.main(["check", *DAY, str(ROOT / HUT), "--quiet"])
    quiet = capsys.readouterr()
    cli.main(["check", *DAY, str(ROOT / HUT), "--verbose"])
    verbose = capsys.readouterr()
    assert quiet.err == "" and quiet.out.count("\n") >= 1
    first = quiet.out.splitlines()[0]
    line, column = map(int, first.removeprefix(str(ROOT / HUT)).split(":")[1:3])
    text = (ROOT / HUT).read_text(encoding="utf-8").splitlines()[line - 1]
    shown = verbose.out.splitlines()
    assert shown[0] == first
    assert shown[1] == f"{line:>5} | {text}"
    assert shown[2].index("^") == len(f"{line:>5} | ") + column - 1


def test_colour_only_at_a_terminal_and_never_with_no_color(run: Run) -> None:
    assert "\x1b" not in run("check", *DAY, ROOT / HUT)[1]
    assert "\x1b[1;33mwarning\x1b[0m" in at_a_terminal("check", *DAY, HUT)
    assert "\x1b" not in at_a_terminal("check", *DAY, HUT, NO_COLOR="1")
    assert "\x1b" not in at_a_terminal("check", *DAY, HUT, TERM="dumb")


def test_progress_is_only_for_terminals(project: Path, run: Run) -> None:
    write(project, "second-hut", A_HUT)
    assert run("build", "--site-dir", "a") == (0, "", "the site is built: 2 builds\n")
    said = at_a_terminal(
        "build", "--site-dir", "b", cwd=project, XDG_CACHE_HOME=str(project / "cache")
    )  # nothing is kept
    assert "\r\x1b[Kmaking builds: 1 of " in said and "writing pages: " in said
    assert said.endswith("\r\x1b[Kthe site is built: 2 builds\r\n")  # nothing else is left on the line
    assert at_a_terminal("build", "--quiet", "--site-dir", "c", cwd=project) == ""


def test_progress_writes_a_line_only_when_it_says_something_new() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    stream = Terminal()
    progress = Progress(stream)
    for done in range(1, 1001):
        progress("writing pages:", done, 1000)
    assert stream.getvalue().count("\r") == 101


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_knows_every_command_and_every_option(shell: str) -> None:
    text = shell_text(shell)
    for command in COMMANDS:
        assert command.name in text
        for option in command.every:
            for spelling in option.written.split(", "):
                if spelling.startswith("--"):
                    name = spelling.split(" ")[0]
                    assert (f"-l {name[2:]} " if shell == "fish" else name) in text


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("gasdoc che", "check"),
        ("gasdoc check --form", "--format"),
        ("gasdoc check --format sa", "sarif"),
        ("gasdoc catalog re", "regions"),
    ],
)
def test_bash_completes(line: str, expected: str) -> None:
    script = shell_text("bash") + (
        f'\nCOMP_WORDS=({line}); COMP_CWORD=$((${{#COMP_WORDS[@]}}-1)); _gasdoc; printf "%s\\n" "${{COMPREPLY[@]}}"\n'
    )
    done = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.split() == [expected]


def test_pdf_without_a_browser_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("GASDOC_CHROMIUM", "no-such-browser")
    assert cli.main(["pdf", "--all", "--config", str(ROOT / "mkdocs.yml")]) == 2
    said = capsys.readouterr().err
    assert "no-such-browser" in said and "apt install chromium" in said


def test_pdf_asks_for_specs_or_for_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["pdf"]) == 2
    assert "--all" in capsys.readouterr().err


def test_pdf_writes_the_record_the_booklet_and_the_sheets(project: Path) -> None:
    try:
        pdf.find_browser()
    except Refused:
        if os.environ.get("GASDOC_REQUIRE_BROWSER") == "1":
            raise
        pytest.skip("no browser here")
    assert cli.main(["pdf", "specs/test-hut.md", "--out", "out"]) in (0, 1)
    written = sorted(path.name for path in (project / "out").iterdir())
    assert written == [
        "test-hut-booklet.pdf",
        "test-hut-door-sheet.pdf",
        "test-hut-labels.pdf",
        "test-hut-test-day.pdf",
        "test-hut.pdf",
    ]
    assert all((project / "out" / name).read_bytes().startswith(b"%PDF-") for name in written)
    assert cli.main(["pdf", "no-such-hut", "--out", "out"]) == 2


def test_check_and_study_take_the_name_of_a_build(project: Path, run: Run) -> None:
    assert run("check", "test-hut", *DAY)[0] == run("check", "specs/test-hut.md", *DAY)[0] == 0
    assert run("study", "test-hut") == run("study", "specs/test-hut.md")
    (project / "test-hut").mkdir()  # a folder of that name is what is meant, if it is there
    assert run("check", "test-hut")[0] == 2


@pytest.mark.parametrize("named", ["test-hat", "specs/test-hat.md"])
def test_a_spec_that_is_not_there_is_told_with_the_nearest_names(project: Path, run: Run, named: str) -> None:
    code, out, _ = run("check", named)
    assert code == 2
    shown = os.path.join("specs", "test-hat.md")  # noqa: PTH118  # as this system writes it
    assert f"{shown}:1:1: error: no such file or directory; did you mean {os.path.join('specs', 'test-hut.md')}?" in out  # noqa: PTH118


def test_a_place_that_cannot_be_served_at_is_told_before_anything_is_built(project: Path, run: Run) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code, _, err = run("serve", "--address", f"127.0.0.1:{taken.getsockname()[1]}")
    assert code == 2 and "address already in use. Name another place" in err and "serving at" not in err
    code, _, err = run("serve", "--address", "localhost:99999")
    assert code == 2 and "ports go from 0 to 65535" in err


def test_the_help_says_what_the_exit_codes_mean(run: Run) -> None:
    _, out, _ = run("--help")
    assert "exit codes:" in out and "130  interrupted" in out


def test_pdf_makes_only_the_builds_it_prints(project: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    sites: list[list[str]] = []

    def printed(_browser: str, _profile: Path, page: Path, _paper: str, _target: Path) -> None:
        site = next(folder for folder in page.parents if folder.name == "site")
        sites.append(sorted(folder.name for folder in site.iterdir() if folder.name.endswith("-hut")))

    monkeypatch.setattr(site_commands, "find_browser", lambda: "a browser")
    monkeypatch.setattr(site_commands, "print_page", printed)
    for name in ("second-hut", "third-hut"):
        write(project, name, A_HUT.replace("Test Hut", name))
    write(project, "broken-hut", "---\nformat: 1\n---\n")
    guide = "---\npage: yes\n---\n# A guide\n\n[second](second-hut/index.md)\n"
    (project / "specs" / "guide.md").write_text(guide, encoding="utf-8")
    code, out, err = run("pdf", "third-hut", "test-hut", "--verbose")
    assert code == 0 and out.count("wrote ") == 10 and sites == [["test-hut", "third-hut"]] * 10
    assert "WARNING" not in err and "second-hut" not in err
    code, _, err = run("pdf", "no-such-hut")
    assert code == 2
    assert "there is no build 'no-such-hut' on this site. There are broken-hut, second-hut, test-hut, third-hut" in err
    code, _, err = run("pdf", "broken-hut", "test-hut")
    assert code == 2 and "the spec of 'broken-hut' cannot be read. 'gasdoc check broken-hut' says why" in err
