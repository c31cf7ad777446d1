"""The wheel, installed on its own: what a builder gets who has no checkout."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent

FILLED = """---
format: 1
title: Hut
region: us-cabin
container: {type: dot-100lb, orientation: upright, place: outdoors}
regulator: {stages: 2, capacity: 100 kBtu/h, outlet: 11 inH2O, tolerance: 0 inH2O, lock_up: 13 inH2O,
            over_pressure_protection: yes}
supply:
  - run: {material: copper, type: K, length: 20 ft}
  - outlet:
      appliance: {name: Heater, kind: room-heater, input: 30 kBtu/h, flue: room-sealed, min_inlet: 10 inH2O,
                  jetted_for: {gas: propane, pressure: 11 inH2O}}
---

## 2026-05-01: begun

A hut.
"""


def done(command: Sequence[object], folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "VIRTUAL_ENV")} | more
    return subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from a copy of what it is made of (so that nothing is left in the checkout)."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    source.mkdir()
    for name in ("gasdoc", "site_templates"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for path in (*ROOT.glob("README*"), *ROOT.glob("LICEN*"), ROOT / "pyproject.toml"):
        shutil.copy(path, source)
    if not list(source.glob("README*")):
        (source / "README.md").write_text("gasdoc\n", encoding="utf-8")
    made = done([sys.executable, "-m", "pip", "wheel", "--no-deps", "--quiet", "-w", folder, source], folder)
    if made.returncode:
        words = made.stderr + made.stdout
        if any(
            w in words
            for w in ("hatchling", "Connection", "Could not find a version", "No matching distribution", "resolve")
        ):
            pytest.skip("the build backend cannot be fetched here, so no wheel can be built")
        pytest.fail(words)
    (path,) = folder.glob("gasdoc-*.whl")
    return path


def test_the_wheel_holds_templates_and_data_and_no_tests(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for needed in (
        "site_templates/main.html",
        "site_templates/pages/base.html",
        "site_templates/css/gasdoc.css",
        "units.yaml",
        "catalog/tables/copper_11inwc_0p5.yaml",
        "regions/us-cabin.yaml",
        "regions/cautions.yaml",
        "build/plan.md",
        "build/starter.md",
    ):
        assert f"gasdoc/{needed}" in names, needed
    assert all(name.startswith(("gasdoc/", "gasdoc-")) for name in names)
    every = {
        p.relative_to(ROOT).as_posix() for p in (ROOT / "gasdoc").rglob("*") if p.suffix in (".py", ".yaml", ".md")
    }
    assert every <= set(names)
    templates = {
        f"gasdoc/{p.relative_to(ROOT).as_posix()}" for p in (ROOT / "site_templates").rglob("*") if p.is_file()
    }
    assert templates <= set(names)


@pytest.fixture(scope="module")
def command(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The command of the wheel in an environment of its own, which takes the dependencies from the one of the tests."""
    folder = tmp_path_factory.mktemp("env")
    made = done([sys.executable, "-m", "venv", "--without-pip", folder / "venv"], folder)
    assert made.returncode == 0, made.stderr
    python = folder / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
    site = Path(done([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], folder).stdout.strip())
    put = done(
        [sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", "--no-index", wheel],
        folder,
    )
    assert put.returncode == 0, put.stderr
    # The tests' own site-packages by path: links of an editable install in it are not followed from a second place.
    (site / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    where = done([python, "-c", "import gasdoc; print(gasdoc.__file__)"], folder)
    assert Path(where.stdout.strip()).is_relative_to(folder), where.stdout + where.stderr
    return python.with_name("gasdoc")


def test_in_an_empty_folder_it_starts_checks_and_builds(command: Path, tmp_path: Path) -> None:
    new = done([command, "new", "hut", "--region", "us-cabin"], tmp_path)
    assert new.returncode == 0 and (tmp_path / "specs/hut.md").is_file(), new.stderr
    started = done([command, "check", "specs/hut.md"], tmp_path)
    # Nothing is filled in yet, which is told; it is a draft, so it counts for nothing until it says that it is none.
    assert started.returncode == 0 and ": error: " in started.stdout, started.stdout + started.stderr
    starter = (tmp_path / "specs/hut.md").read_text(encoding="utf-8")
    assert starter.count("\ndraft: yes") == 1
    (tmp_path / "specs/hut.md").write_text(starter.replace("\ndraft: yes", "\ndraft: no"), encoding="utf-8")
    assert done([command, "check", "specs/hut.md"], tmp_path).returncode == 2
    (tmp_path / "specs/hut.md").write_text(FILLED, encoding="utf-8")
    checked = done([command, "check"], tmp_path)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    (tmp_path / "mkdocs.yml").write_text("site_name: Records\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    built = done([command, "build", "--strict"], tmp_path)
    assert built.returncode == 0, built.stdout + built.stderr
    page = next(
        p for p in ((tmp_path / "site/hut/supply.html"), (tmp_path / "site/hut/supply/index.html")) if p.is_file()
    )
    text = page.read_text(encoding="utf-8")
    assert "Longest length" in text and "<svg" in text and "It does not certify" in text
    assert (tmp_path / "site/css/gasdoc.css").is_file() and (tmp_path / "site/hut/materials.csv").is_file()


def test_the_look_up_on_site_needs_no_project(command: Path, tmp_path: Path) -> None:
    answer = done([command, "capacity", "copper", "3/8 in nominal", "--type", "K", "--path-length", "20 ft"], tmp_path)
    assert answer.returncode == 0 and "used: 64 kBtu/h" in answer.stdout, answer.stderr


def blocks(readme: str) -> list[str]:
    return re.findall(r"^```sh\n(.*?)^```$", readme, re.DOTALL | re.MULTILINE)


def test_the_readme_of_a_new_repository_has_commands_that_work(command: Path, tmp_path: Path) -> None:
    folder = tmp_path / "my builds"
    laid_out = done([command, "init", folder], tmp_path)
    assert laid_out.returncode == 0, laid_out.stderr
    first, second, third = blocks((folder / "README.md").read_text(encoding="utf-8"))
    assert (first, second) == ("gasdoc check\n", "gasdoc build\n")
    path = f"{command.parent}{os.pathsep}{os.environ['PATH']}"
    for block in (first, second, third):
        ran = done(["sh", "-euc", block], folder, PATH=path)
        assert ran.returncode == 0, (block, ran.stdout, ran.stderr)
    assert "<h1>Example Hut</h1>" in (folder / "site/example-hut/index.html").read_text(encoding="utf-8")
    assert (folder / "site/schema/gasdoc-1.json").read_bytes() == (folder / "specs/schema/gasdoc-1.json").read_bytes()
    assert (folder / "specs/my-hut.md").is_file()  # what the third block starts


def test_a_template_of_the_same_name_replaces_ours_and_the_others_stay(command: Path, tmp_path: Path) -> None:
    assert done([command, "init"], tmp_path).returncode == 0
    (tmp_path / "site_templates/pages").mkdir(parents=True)
    (tmp_path / "site_templates/pages/log.html").write_text(
        '{% extends "pages/base.html" %}{% block body %}<p>Our own log of {{ name }}.</p>{% endblock %}',
        encoding="utf-8",
    )
    built = done([command, "build", "--strict"], tmp_path)
    assert built.returncode == 0, built.stderr
    log = (tmp_path / "site/example-hut/log.html").read_text(encoding="utf-8")
    assert "Our own log of Example Hut." in log and "Nothing of this was built." not in log
    assert "It does not certify" in log  # the frame is still ours
    assert "Longest length" in (tmp_path / "site/example-hut/supply.html").read_text(encoding="utf-8")


def test_init_never_writes_over_anything(command: Path, tmp_path: Path) -> None:
    (tmp_path / "README.md").write_text("mine", encoding="utf-8")
    refused = done([command, "init"], tmp_path)
    assert refused.returncode == 2 and "README.md is there already, so nothing was written" in refused.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["README.md"]
    assert (tmp_path / "README.md").read_text(encoding="utf-8") == "mine"
