"""A project of its own: the wheel, an empty folder, init, the README's commands, one template replaced."""

from __future__ import annotations

import os
import re
from pathlib import Path

from test_wheel import command, done, wheel  # noqa: F401  # the first and last are fixtures


def blocks(readme: str) -> list[str]:
    return re.findall(r"^```sh\n(.*?)^```$", readme, re.DOTALL | re.MULTILINE)


def test_the_readme_of_a_new_repository_has_commands_that_work(command: Path, tmp_path: Path) -> None:  # noqa: F811  # a fixture
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


def test_a_template_of_the_same_name_replaces_ours_and_the_others_stay(command: Path, tmp_path: Path) -> None:  # noqa: F811  # a fixture
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
    assert "it does not certify" in log  # the frame is still ours
    assert "Longest length" in (tmp_path / "site/example-hut/supply.html").read_text(encoding="utf-8")


def test_init_never_writes_over_anything(command: Path, tmp_path: Path) -> None:  # noqa: F811  # a fixture
    (tmp_path / "README.md").write_text("mine", encoding="utf-8")
    refused = done([command, "init"], tmp_path)
    assert refused.returncode == 2 and "README.md is there already, so nothing was written" in refused.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["README.md"]
    assert (tmp_path / "README.md").read_text(encoding="utf-8") == "mine"
