"""The same from every system: line ends, names of files, encodings of files and of consoles."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import NamedTuple

import pytest
from small_project import HUT as SMALL

from gasdoc.build.reader import read_spec
from gasdoc.build.supply import slug
from gasdoc.cli.command import main
from gasdoc.folder.check import study_of
from gasdoc.host import publish
from gasdoc.report.formats import diagnostics
from gasdoc.report.formats.jsonout import study_json
from gasdoc.source import Problem, Severity

SPECS = Path(__file__).parents[2] / "specs"
EXAMPLES = sorted(path.name for path in SPECS.glob("*.md") if path.name != "guide.md")
PORTABLE = re.compile(r"[a-z0-9][a-z0-9._-]*")
DEVICE = re.compile(r"(?i)(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)")

UTF8 = {"PYTHONUTF8": "1"}
CONSOLES = {
    "cp1252": {"PYTHONUTF8": "0", "PYTHONIOENCODING": "cp1252"},
    "ascii": {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"},
}
NO_LOCALE = {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "LC_ALL": "C"}
"""Where the names of files, and what is opened without saying how, are taken for ASCII."""


class Ran(NamedTuple):
    """A command that ended: its exit code and the bytes it wrote."""

    code: int
    out: bytes
    err: bytes


def gasdoc(folder: Path, environment: Mapping[str, str], *arguments: str) -> Ran:
    done = subprocess.run(
        [sys.executable, "-m", "gasdoc", *arguments],
        cwd=folder,
        capture_output=True,
        env=os.environ | environment,
        check=False,
    )
    assert b"Traceback" not in done.stderr, done.stderr.decode("utf-8", "replace")
    return Ran(done.returncode, done.stdout, done.stderr)


def built(folder: Path) -> Ran:
    """The command to build, in this process."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in "oe")
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(["build"])
    return Ran(code, *(stream.detach().getvalue() for stream in (out, err)))


def with_windows_line_ends(raw: bytes) -> bytes:
    assert b"\r" not in raw
    return raw.replace(b"\n", b"\r\n")


def project(folder: Path, names: Mapping[str, str], change: str = "") -> Path:
    """A project with examples under other names, the guide and the prices, all with CRLF if `change` says so."""
    specs = folder / "specs"
    specs.mkdir(parents=True)
    texts = {new: (SPECS / old).read_bytes() for new, old in names.items()}
    texts |= {name: (SPECS / name).read_bytes() for name in ("guide.md", "prices.yaml")}
    for name, raw in texts.items():
        (specs / name).write_bytes(with_windows_line_ends(raw) if change == "crlf" else raw)
    config = "site_name: Records\ndocs_dir: specs\nuse_directory_urls: false\nplugins: [gasdoc]\n"
    (folder / "mkdocs.yml").write_text(config, encoding="utf-8", newline="\r\n" if change == "crlf" else "\n")
    return folder


def tree(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


HUT = {"larch-hut.md": "larch-hut.md"}


@pytest.fixture(scope="module")
def hut(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project with one build."""
    return project(tmp_path_factory.mktemp("hut"), HUT)


@pytest.fixture(scope="module")
def site(hut: Path) -> dict[str, bytes]:
    """Its site, file by file."""
    built(hut)
    return tree(hut / "site")


# --- line ends ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_spec_with_crlf_is_the_same_spec(name: str) -> None:
    raw = (SPECS / name).read_bytes()
    results = []
    for text in (raw, with_windows_line_ends(raw), raw.replace(b"\n", b"\r")):
        done = study_of(read_spec(text, name, Path(name).stem))
        assert done.study is not None
        results.append((study_json(done.study), done.read.problems))
    assert results[0] == results[1] == results[2]


def test_a_problem_in_a_spec_with_crlf_is_at_the_same_place() -> None:
    raw = (SPECS / EXAMPLES[0]).read_bytes().replace(b"\nregion:", b"\nregoin:")
    plain, windows = (read_spec(text, "hut.md", "hut").problems for text in (raw, with_windows_line_ends(raw)))
    assert plain and plain == windows


def test_a_project_with_crlf_gives_the_same_site(site: dict[str, bytes], tmp_path: Path) -> None:
    windows = project(tmp_path / "windows", HUT, "crlf")
    built(windows)
    made = tree(windows / "site")
    assert [name for name in sorted(site.keys() | made.keys()) if site.get(name) != made.get(name)] == []


def test_what_is_written_has_lf_only(site: dict[str, bytes]) -> None:
    written = {name for name, raw in site.items() if b"\r" in raw}
    assert {PurePosixPath(name).suffix for name in written} <= {
        ".ics",
        ".csv",
        ".gz",
        ".png",
    }  # RFC 5545 and 4180 ask for CRLF; pictures have no lines


# --- names ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["CON", "nul", "Aux", "com1", "LPT9", "prn."])
def test_a_build_is_never_called_what_windows_keeps_for_devices(name: str) -> None:
    assert not DEVICE.match(slug(name))
    assert PORTABLE.fullmatch(slug(name))


@pytest.mark.parametrize("name", ["console", "nullify", "auxiliary", "com10", "lpt"])
def test_a_name_that_only_begins_like_a_device_stays(name: str) -> None:
    assert slug(name) == name


def test_every_file_of_a_site_can_be_kept_on_windows(tmp_path: Path) -> None:
    names = {"NUL.md": "larch-hut.md", "Höhe: 5 m? *new*.md": "larch-hut.md"}
    folder = project(tmp_path, names)
    ran = built(folder)
    assert ran.code in (0, 1), ran.err.decode()
    written = [name for name in tree(folder / "site") if name != publish.MARK]
    assert any(name.startswith("nul-item/") for name in written)
    parts = {part for name in written for part in PurePosixPath(name).parts}
    assert [part for part in parts if not PORTABLE.fullmatch(part) or part.endswith(".") or DEVICE.match(part)] == []
    assert len({name.casefold() for name in written}) == len(written)
    assert max(map(len, written)) < 120  # of the 260 that a path may have there


def test_two_specs_whose_names_differ_in_capitals_only_are_refused(tmp_path: Path) -> None:
    if (tmp_path / "a").touch() or (tmp_path / "A").exists():
        pytest.skip("this file system takes the two for one file")
    folder = project(tmp_path / "p", {"Hut.md": "larch-hut.md", "hut.md": "larch-hut.md"})
    ran = built(folder)
    assert ran.code == 2
    assert b"Hut.md" in ran.err and b"hut.md" in ran.err


@pytest.mark.parametrize(
    ("path", "uri", "file"),
    [
        (r"specs\my hut.md", "specs/my%20hut.md", "specs/my hut.md"),
        (r"C:\builds\hut.md", "file:///C:/builds/hut.md", "C%3A/builds/hut.md"),
        (r"..\hut.md", "../hut.md", "../hut.md"),
        (r"\\server\builds\hut.md", "file://server/builds/hut.md", "//server/builds/hut.md"),
        ("h\udcfctte.md", "h%FCtte.md", r"h\udcfctte.md"),
    ],
)
def test_forges_are_given_paths_with_slashes(monkeypatch: pytest.MonkeyPatch, path: str, uri: str, file: str) -> None:
    monkeypatch.setattr(diagnostics, "PurePath", PureWindowsPath)
    problem = Problem(path, 1, 1, Severity.ERROR, "wrong", "", "spec")
    result = diagnostics.sarif([problem])["runs"][0]["results"][0]
    assert result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == uri
    assert f"file={file}," in next(diagnostics.github([problem]))


# --- encodings ------------------------------------------------------------------------------------------------------

OTHER_LETTERS = "Тёплая хата, 暖房 🔥"
COMMANDS = {
    "check": ("check", "specs/larch-hut.md", "specs/other.md", "--as-of", "2026-06-01", "--verbose"),
    "github": ("check", "specs/other.md", "--as-of", "2026-06-01", "--format", "github"),
    "compare": ("compare", "specs/larch-hut.md", "specs/good.md"),
    "capacity": (
        "capacity",
        "copper-metric",
        "15 x 1 mm",
        "--path-length",
        "6 m",
        "--pressure",
        "30 mbar",
        "--drop",
        "1.5 mbar",
    ),
    "capacity of no size": ("capacity", "copper", "½′", "--path-length", "6 m"),
    "tubing": ("catalog", "tubing"),
    "units": ("catalog", "units"),
    "refused": ("check", "specs/нет.md"),
}
FILES = {
    "study": ("study", "specs/good.md"),
    "check": ("check", "specs/other.md", "--as-of", "2026-06-01", "--format", "json"),
    "sarif": ("check", "specs/other.md", "--as-of", "2026-06-01", "--format", "sarif"),
    "compare": ("compare", "specs/larch-hut.md", "specs/good.md", "--format", "json"),
    "schema": ("schema",),
    "completion": ("completion", "bash"),
}


@pytest.fixture(scope="module")
def foreign(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project with a build whose words a console of western Europe does not have."""
    folder = project(tmp_path_factory.mktemp("foreign"), HUT)
    (folder / "specs" / "larch-hut.md").write_text(SMALL, encoding="utf-8", newline="\n")
    text = re.sub(r"(?m)^title: .*$", f"title: {OTHER_LETTERS}\nунитаз: {OTHER_LETTERS}", SMALL, count=1)
    (folder / "specs" / "other.md").write_text(text, encoding="utf-8", newline="\n")
    good = re.sub(r"(?m)^унитаз: .*\n", "", text)
    (folder / "specs" / "good.md").write_text(good, encoding="utf-8", newline="\n")
    return folder


IN_COPIES = """
import json, os, runpy, sys
import gasdoc.folder.check, gasdoc.report.formats.jsonout
for name, arguments in json.loads(sys.argv[1]).items():
    if (child := os.fork()) == 0:
        for number, stream in ((1, "out"), (2, "err")):
            os.dup2(os.open(f"{name}.{stream}", os.O_WRONLY | os.O_CREAT), number)
        sys.argv = ["gasdoc", *arguments]
        try:
            runpy.run_module("gasdoc", run_name="__main__")
        except SystemExit as ended:
            sys.stdout.flush()
            os._exit(ended.code or 0)
    print(name, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), sep="=")
"""
"""Runs commands one by one as `python -m gasdoc` does, each in a copy of a process that has imported what they need."""


@pytest.fixture(scope="module")
def said(foreign: Path) -> dict[str, dict[str, Ran]]:
    """What each command says, by console and name."""
    every = {f"print {name}": words for name, words in COMMANDS.items()}
    every |= {f"file {name}": words for name, words in FILES.items()}
    found: dict[str, dict[str, Ran]] = {}
    for console, environment in {"utf-8": UTF8, **CONSOLES}.items():
        codes = subprocess.run(
            [sys.executable, "-c", IN_COPIES, json.dumps(every)],
            cwd=foreign,
            capture_output=True,
            env=os.environ | environment,
            check=True,
        ).stdout.decode()
        found[console] = {}
        for name, code in (line.split("=") for line in codes.splitlines()):
            out, err = (foreign / f"{name}.out", foreign / f"{name}.err")
            assert b"Traceback" not in err.read_bytes(), err.read_text(encoding="utf-8", errors="replace")
            found[console][name] = Ran(int(code), out.read_bytes(), err.read_bytes())
            out.unlink()
            err.unlink()
    return found


@pytest.mark.parametrize("name", COMMANDS)
def test_a_console_with_few_characters_gets_the_others_as_escapes(said: dict[str, dict[str, Ran]], name: str) -> None:
    whole = said["utf-8"][f"print {name}"]
    assert whole.out or whole.err
    for console in CONSOLES:
        narrow = said[console][f"print {name}"]
        text = whole.out.decode("utf-8").encode(console, "backslashreplace")
        assert (narrow.code, narrow.out) == (whole.code, text), console


@pytest.mark.parametrize("name", FILES)
def test_what_programs_read_is_utf_8_whatever_the_console(said: dict[str, dict[str, Ran]], name: str) -> None:
    whole = said["utf-8"][f"file {name}"]
    assert whole.out
    assert name != "study" or OTHER_LETTERS.encode("utf-8") in whole.out
    for console in CONSOLES:
        narrow = said[console][f"file {name}"]
        assert (narrow.code, narrow.out) == (whole.code, whole.out), console


def test_a_site_is_the_same_without_a_locale(hut: Path, site: dict[str, bytes]) -> None:
    gasdoc(hut, NO_LOCALE, "build", "--site-dir", "elsewhere")
    made = tree(hut / "elsewhere")
    assert [name for name in sorted(site.keys() | made.keys()) if site.get(name) != made.get(name)] == []


EVERY_COMMAND = """
import sys, warnings
warnings.filterwarnings("error", category=EncodingWarning, module=r"gasdoc(\\.|$)")
from gasdoc.cli.command import main
try:
    exec("open('mkdocs.yml').close()", {"__name__": "gasdoc.made_up"})
except EncodingWarning:
    print("an encoding that is not named is seen")
for line in sys.argv[1:]:
    main(line.split())
"""


def test_every_file_is_opened_with_its_encoding_named(tmp_path: Path) -> None:
    folder = project(tmp_path, HUT)
    lines = [
        "check",
        "check --verbose",
        "study specs/larch-hut.md",
        "catalog parts",
        "catalog units",
        "schema",
        "new another-hut --region us-cabin",
        "new next-hut --from larch-hut",
        "init elsewhere",
        "build",
        "compare larch-hut next-hut",
    ]
    done = subprocess.run(
        [sys.executable, "-X", "warn_default_encoding", "-c", EVERY_COMMAND, *lines],
        cwd=folder,
        capture_output=True,
        encoding="utf-8",
        env=os.environ | UTF8,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("an encoding that is not named is seen")
    assert (folder / "site" / "index.html").is_file()
    assert (folder / "elsewhere" / "README.md").is_file()
