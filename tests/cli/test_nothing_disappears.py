"""Nothing in the folder of specs disappears: what is not read is told by check and by build, and stops nothing else."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_project import DAY, HUT, Run, write

from gasdoc.folder.contents import RESERVED, contents
from gasdoc.folder.linked import KEPT, OF_A_BUILD
from gasdoc.source import Severity

PAGE = "---\npage: yes\n---\n\n# A guide\n"

SLIPS: dict[str, tuple[str, Callable[[str], str], int]] = {
    "misspelt": ("two.md", lambda text: text.replace("format: 1", "fromat: 1"), 2),
    "capital": ("two.md", lambda text: text.replace("format: 1", "Format: 1"), 2),
    "indented": ("two.md", lambda text: text.replace("format: 1", " format: 1"), 2),
    "left out": ("two.md", lambda text: text.replace("format: 1\n", ""), 2),
    "blank line first": ("two.md", lambda text: "\n" + text, 2),
    "comment first": ("two.md", lambda text: "# x\n" + text, 2),
    "four hyphens": ("two.md", lambda text: "-" + text, 1),
    "no head": ("two.md", lambda text: "# My hut\n", 1),
    "says it is a page": ("two.md", lambda text: text.replace("format: 1", "page: yes"), 2),
    "ending .markdown": ("two.markdown", lambda text: text, 1),
    "ending .MD": ("two.MD", lambda text: text, 1),
    "ending .txt": ("two.txt", lambda text: text, 2),
    "ending .yml": ("two.yml", lambda text: text, 2),
    "no ending": ("two", lambda text: text, 2),
    "in a folder": ("old/two.md", lambda text: text, 2),
    "companion in another ending": ("prices.yml", lambda text: "currency: USD\n", 1),
}


def test_what_looks_like_a_spec_and_is_not_read_is_an_error_with_its_line_in_check_and_in_build(
    project: Path, run: Run
) -> None:
    places = []
    for slip, (pattern, change, line) in SLIPS.items():
        name = pattern.replace("two", slip.strip(".").replace(" ", "-").replace(".", "") + "-x")
        path = project / "specs" / name
        path.parent.mkdir(exist_ok=True)
        text = HUT.replace("Test Hut", "Other Hut").replace("\ncontainer:", "\nowner: LIC-77-SECRET\ncontainer:")
        path.write_text(change(text), encoding="utf-8")
        places.append(f"specs/{name}:{line}:")
    code, out, _ = run("check", *DAY)
    errors = [line for line in out.splitlines() if ": error: " in line]
    assert code == 2 and [place for place in places if not any(line.startswith(place) for line in errors)] == []
    code, _, err = run("build")
    assert code == 2 and [place for place in places if f"gasdoc: {place}" not in err] == []
    assert "the site is built: 1 build; 9 with a page of problems only (" in err and "; left out: " in err
    assert (project / "site/test-hut/index.html").is_file()
    assert not any(b"LIC-77-SECRET" in path.read_bytes() for path in (project / "site").rglob("*") if path.is_file())
    assert run("build", "--strict")[0] == 2


def test_two_specs_with_one_title_are_told(tmp_path: Path) -> None:
    (tmp_path / "specs").mkdir()
    for name, title in (("one", "Test Hut"), ("two", "'test  hut' # ours"), ("three", "Third"), ("four", "Four")):
        write(tmp_path, name, HUT.replace("Test Hut", title))
    (told,) = contents(tmp_path / "specs", Path("specs")).problems
    assert (told.path, told.line, told.severity) == ("specs/two.md", 3, Severity.NOTE)
    assert told.message == "'test  hut' is the title of 'one.md', too"


@pytest.mark.parametrize("head", ['"format": 1', "format : 1", "#" + "x" * 70_000 + "\nformat: 1"])
def test_a_spec_is_read_however_its_format_is_written(project: Path, run: Run, head: str) -> None:
    write(project, "two", HUT.replace("format: 1", head))
    code, _, err = run("check", *DAY)
    assert code == 0 and err.startswith("2 specs: ")
    assert run("build", "--strict")[0] == 0 and (project / "site/two/index.html").is_file()


def test_hidden_files_and_copies_of_editors_are_left_alone_and_a_page_is_a_page(project: Path, run: Run) -> None:
    for name, text in ((".draft.md", "x"), ("test-hut.md~", HUT), ("guide.md", PAGE)):
        (project / "specs" / name).write_text(text, encoding="utf-8")
    (project / "specs/test-hut").mkdir()
    (project / "specs/test-hut/notes.txt").write_text("a note\n", encoding="utf-8")
    code, out, err = run("check", *DAY, "--strict")
    assert code == 0 and "specs/guide" not in out and err.startswith("1 spec: ")
    assert run("build", "--strict")[0] == 0 and "A guide" in (project / "site/guide/index.html").read_text("utf-8")
    assert run("check", *DAY, "specs/guide.md") == (0, "", "0 specs: nothing found\n")


def test_a_picture_beside_the_specs_is_a_warning(project: Path, run: Run) -> None:
    (project / "specs/board.csv").write_text("a,b\n", encoding="utf-8")
    code, out, _ = run("check", *DAY)
    assert code == 0 and "specs/board.csv:1:1: warning: " in out and "into a folder" in out


def test_pipes_folders_and_links_to_nothing_are_errors_and_never_waited_for(project: Path, command: Run) -> None:
    os.mkfifo(project / "specs/pipe.md")
    (project / "specs/folder.md").mkdir()
    (project / "specs/gone.md").symlink_to("nowhere.md")
    code, out, _ = command("check", *DAY)
    assert code == 2
    for name, what in (("pipe", "a pipe"), ("folder", "a folder"), ("gone", "no such file")):
        assert f"specs/{name}.md:1:1: error: " in out and what in out
    code, _, err = command("build")
    assert code == 2 and "left out: folder.md, gone.md, pipe.md" in err
    assert (project / "site/test-hut/index.html").is_file()
    code, out, _ = command("check", "specs/pipe.md")
    assert code == 2 and "this is a pipe" in out


@pytest.mark.skipif(os.geteuid() != 0, reason="only the superuser can become somebody else")
def test_a_spec_that_may_not_be_read_is_an_error(project: Path) -> None:
    (project / "specs/closed.md").write_text(HUT, encoding="utf-8")
    (project / "specs/closed.md").chmod(0)
    for folder in (project, *project.parents):
        if folder != Path("/") and "pytest" in str(folder):
            folder.chmod(0o755)
    code = "import os, sys; from gasdoc.cli.command import main; main(['study', 'specs/test-hut.md']); main(['check'])"
    code += "; os.setuid(65534); sys.exit(main(['check']))"  # what is read before is the code
    done = subprocess.run([sys.executable, "-c", code], cwd=project, capture_output=True, text=True, check=False)
    assert done.returncode == 2 and "specs/closed.md:1:1: error: permission denied" in done.stdout, done.stderr


@pytest.mark.parametrize(
    ("files", "told"),
    [
        (("Test-Hut.md",), "'test-hut.md'"),
        (("\u30d2\u30e5\u30c3\u30c6.md", "\u5c0f\u5c4b.md"), "'\u30d2\u30e5\u30c3\u30c6.md'"),
        (("reference.md",), "a page of the site itself"),
        (("README.md",), "a page of the site itself"),
        (("index.md",), "a page of the site itself"),
    ],
)
def test_two_that_want_one_place_are_both_named_and_nothing_else_stops(
    project: Path, run: Run, files: tuple[str, ...], told: str
) -> None:
    for name in files:
        (project / "specs" / name).write_text(PAGE if name == "README.md" else HUT, encoding="utf-8")
    code, out, _ = run("check", *DAY)
    assert code == 2 and f"specs/{files[-1]}:1:1: error: " in out and told in out
    code, _, err = run("build")
    assert code == 2 and f"specs/{files[-1]}:1:1: error: " in err and f"left out: {files[-1]}" in err
    assert (project / "site/test-hut/supply/index.html").is_file()
    assert "Records of propane installations" in (project / "site/index.html").read_text("utf-8")
    if len(files) == 1 and files[0] != "README.md":
        assert f"specs/{files[0]}:1:1: error: " in run("check", *DAY, f"specs/{files[0]}")[1]


@pytest.mark.parametrize("name", [b"\xff.md", b"test-hut/\xff.jpg"])
def test_a_name_that_is_no_text_is_told_and_stops_nothing(project: Path, run: Run, name: bytes) -> None:
    path = project / "specs" / os.fsdecode(name)
    path.parent.mkdir(exist_ok=True)
    path.write_text(HUT, encoding="utf-8")
    shown = "specs/" + name.decode(errors="surrogateescape").encode("unicode_escape").decode()
    code, out, _ = run("check", *DAY)
    assert code == 2 and f"{shown}:1:1: error: its name is not UTF-8" in out
    code, _, err = run("build")
    assert code == 2 and f"{shown}:1:1: error: " in err and (project / "site/test-hut/index.html").is_file()
    code, out, _ = run("check", *DAY, "--format", "json")
    assert code == 2 and any(p["code"] == "folder-name" for p in json.loads(out)["problems"])


def test_the_names_that_gasdoc_takes_for_itself_are_reserved(project: Path, run: Run) -> None:
    (project / "mkdocs.yml").write_text(
        "site_name: R\ndocs_dir: specs\nsite_url: https://example.org/\nplugins: [gasdoc]\n", encoding="utf-8"
    )
    assert run("build")[0] == 0
    top = {path.name for path in (project / "site").iterdir() if not path.name.startswith(".")} - {"test-hut"}
    files = {name for name in top if (project / "site" / name).is_file()} - {"index.html", "sitemap.xml.gz"}
    assert files <= set(KEPT)
    assert {name for name in top if (project / "site" / name).is_dir()} | {"404", "index", "readme"} == RESERVED
    own = {path.name for path in (project / "site/test-hut").iterdir() if path.is_file()} - {"index.html"}
    assert own <= set(OF_A_BUILD)


@pytest.mark.parametrize("name", ["test-hut/supply.md", "test-hut/materials.csv", "reference/index.md", "feed.xml"])
def test_a_file_where_gasdoc_makes_one_is_told_and_ours_is_built(project: Path, run: Run, name: str) -> None:
    (project / "specs" / name).parent.mkdir(exist_ok=True)
    (project / "specs" / name).write_text(PAGE, encoding="utf-8")
    code, out, _ = run("check", *DAY)
    assert code == 2 and f"specs/{name}:1:1: error: " in out
    assert run("build")[0] == 2 and "Longest length" in (project / "site/test-hut/supply/index.html").read_text("utf-8")


def test_the_contents_of_a_folder_are_sorted_whatever_the_system_says(project: Path) -> None:
    for name in ("b.md", "a.md", "z.txt", "k.txt"):
        (project / "specs" / name).write_text(HUT, encoding="utf-8")
    found = contents(project / "specs", Path("specs"))
    assert [path.name for path in found.specs] == ["a.md", "b.md", "test-hut.md"]
    assert [(problem.path, problem.code) for problem in found.problems] == [
        ("specs/b.md", "folder-title"),
        ("specs/k.txt", "folder-name"),
        ("specs/test-hut.md", "folder-title"),
        ("specs/z.txt", "folder-name"),
    ]


def test_folders_behind_links_are_not_walked(project: Path) -> None:
    (project / "specs/all").symlink_to("/")
    (project / "specs/self").symlink_to(".")
    found = contents(project / "specs", Path("specs"))
    assert [(p.path, p.severity, p.code) for p in found.problems] == [
        (f"specs/{name}", Severity.WARNING, "folder-link") for name in ("all", "self")
    ]
    assert [path.name for path in found.specs] == ["test-hut.md"] and not found.pages and not found.refused
