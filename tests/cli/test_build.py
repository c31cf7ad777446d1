"""gasdoc build: all it can publish is published, and the exit code is the worst that was found."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from small_project import HUT, Run, write


def html(project: Path, name: str) -> str:
    for path in (project / "site" / name / "index.html", project / "site" / f"{name}.html"):
        if path.is_file():
            return path.read_text(encoding="utf-8")
    raise AssertionError(f"no page {name}: {sorted(p.as_posix() for p in (project / 'site').rglob('*.html'))}")


def test_a_clean_project_is_built_and_ends_with_0(project: Path, run: Run) -> None:
    assert run("build")[0] == 0
    assert "Test Hut" in html(project, "test-hut") and "Longest length" in html(project, "test-hut/supply")
    assert (project / "site/test-hut/materials.csv").is_file()


def test_findings_end_with_1_strict_or_not_and_the_site_is_there(project: Path, run: Run) -> None:
    write(project, "test-hut", HUT.replace("30 kBtu/h", "140 kBtu/h"))
    assert run("build")[0] == 1 and run("build", "--strict")[0] == 1
    assert "140\xa0kBtu/h" in html(project, "test-hut")


def test_a_spec_that_cannot_be_taken_ends_with_2_and_has_a_page_and_the_others_are_there(
    project: Path, run: Run
) -> None:
    write(project, "bad-hut", HUT.replace("region: us-cabin", "regoin: us-cabin").replace("Test Hut", "Bad Hut"))
    code, _, err = run("build")
    assert code == 2 and "regoin" in err
    assert "regoin" in html(project, "bad-hut") and "Longest length" in html(project, "test-hut/supply")


def test_strict_stops_on_a_problem_of_the_input(project: Path, run: Run) -> None:
    write(
        project,
        "test-hut",
        HUT.replace("material: copper, type: K, size: 1/2 in nominal", "material: csst, size: 1/2 in"),
    )
    assert run("build")[0] == 0
    code, _, err = run("build", "--strict")
    assert code == 2 and "smaller is taken" in err


def test_nothing_is_written_among_the_specs(project: Path, run: Run) -> None:
    before = sorted(p.relative_to(project).as_posix() for p in project.rglob("*"))
    run("build", "--site-dir", "out")
    after = sorted(
        p.relative_to(project).as_posix() for p in project.rglob("*") if "out" not in p.relative_to(project).parts
    )
    assert after == before and (project / "out/index.html").is_file()


@pytest.mark.parametrize(
    "config",
    [
        "",
        "site_name: [",
        "site_name: x\n",
        "site_name: x\ndocs_dir: specs\nplugins: [search]\n",
        "site_name: x\ndocs_dir: nowhere\nplugins: [gasdoc]\n",
        "site_name: x\ndocs_dir: specs\nplugins: [gasdoc, nothing-of-that-name]\n",
        "- a\n",
        "\0",
    ],
    ids=["empty", "syntax", "no specs", "no plugin", "no folder", "unknown plugin", "list", "nul"],
)
def test_a_configuration_that_cannot_be_used_ends_with_2_and_a_reason(project: Path, run: Run, config: str) -> None:
    (project / "mkdocs.yml").write_text(config, encoding="utf-8")
    code, _, err = run("build")
    assert code == 2 and err.strip() and "Traceback" not in err, err[-1500:]


def test_a_folder_without_a_project_ends_with_2_and_a_reason(folder: Path, run: Run) -> None:
    code, _, err = run("build")
    assert code == 2 and "mkdocs.yml" in err


def test_a_folder_without_a_spec_ends_with_2_and_a_reason(project: Path, run: Run) -> None:
    (project / "specs/test-hut.md").unlink()
    code, _, err = run("build")
    assert code == 2 and "format: 1" in err


def test_markup_in_a_title_reaches_no_part_of_any_page(project: Path, run: Run) -> None:
    evil = "<script>alert(1)</script>"
    write(
        project,
        "test-hut",
        HUT.replace("title: Test Hut", f'title: "{evil}"\nsummary: "{evil}"').replace(
            "name: Heater", f'name: "{evil}"'
        ),
    )
    write(project, "bad-hut", f'---\nformat: 1\ntitle: "{evil}"\n---\n')
    run("build")
    found = list((project / "site").rglob("*.html"))
    assert len(found) >= 10
    for path in found:
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"<script(?! src=)", text.lower()), path  # a script of ours is a file of its own
        if path.name != "404.html" and not {"reference", "measuring-sheet"} & set(path.parts):  # they name no build
            assert "&lt;script&gt;" in text, path


def test_the_log_is_the_only_part_that_goes_through_markdown(project: Path, run: Run) -> None:
    write(
        project,
        "test-hut",
        HUT.replace("name: Heater", 'name: "**Heater** [x](y)"').replace("All of it.", "All **of** it."),
    )
    run("build")
    assert "**Heater** [x](y)" in html(project, "test-hut")
    assert "<strong>of</strong>" in html(project, "test-hut/log")


# Defects: a strange address in the log ends the build of the whole site in a traceback.
@pytest.mark.parametrize("target", ["http://[", "a" * 5000])
def test_no_address_in_a_log_stops_the_site(project: Path, run: Run, target: str) -> None:
    write(project, "test-hut", HUT + f"\n![plan]({target}) [a]({target})\n")
    assert run("build")[0] == 0
    assert "plan" in html(project, "test-hut/log")


# Defect: material pe is not known to the cautions, and the build ends in a traceback.
def test_a_run_of_plastic_pipe_can_be_built(project: Path, run: Run) -> None:
    write(
        project,
        "test-hut",
        HUT.replace("material: copper, type: K, size: 1/2 in nominal", "material: pe, size: 1/2 in"),
    )
    assert run("build")[0] in (0, 1)


def test_mkdocs_itself_builds_the_same_pages(project: Path, command: Run) -> None:
    assert command("build")[0] == 0
    ours = {p.relative_to(project / "site"): p.read_bytes() for p in (project / "site").rglob("*.html")}
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", "-q", "-d", "other"],
        cwd=project,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    theirs = {p.relative_to(project / "other"): p.read_bytes() for p in (project / "other").rglob("*.html")}
    assert ours == theirs and not re.search(rb"<script(?! src=)", b"".join(ours.values()))
