"""Compiled templates are kept where Python keeps compiled modules: ours only, and never an old one for a new text."""

from __future__ import annotations

from pathlib import Path

import pytest

from gasdoc.report.pages import templates
from gasdoc.report.pages.templates import environment


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of compiled templates; those of gasdoc are stood in for by one."""
    folder = tmp_path / "compiled"
    ours = tmp_path / "ours"
    ours.mkdir()
    (ours / "a.html").write_text("first", encoding="utf-8")
    monkeypatch.setattr(templates, "templates_dir", lambda: ours)
    monkeypatch.setattr(templates, "cache_from_source", lambda source: str(folder / Path(source).name))
    monkeypatch.setattr(templates.sys, "dont_write_bytecode", False)
    return folder


def rendered(own: Path | None = None) -> str:
    return environment(own).get_template("a.html").render()


def test_a_template_is_compiled_once_and_again_when_its_text_is_another(kept: Path) -> None:
    assert rendered() == "first"
    (file,) = kept.iterdir()
    before = file.stat().st_mtime_ns
    assert rendered() == "first" and file.stat().st_mtime_ns == before
    (kept.parent / "ours" / "a.html").write_text("second", encoding="utf-8")
    assert rendered() == "second"


def test_a_projects_own_template_is_not_kept_and_ours_is_kept_apart_for_its_sandbox(kept: Path) -> None:
    own = kept.parent / "own"
    own.mkdir()
    (own / "a.html").write_text("{% include 'b.html' %}", encoding="utf-8")
    (kept.parent / "ours" / "b.html").write_text("ours", encoding="utf-8")
    assert rendered(own) == "ours"
    assert [file.name.startswith("pages-safe-") for file in kept.iterdir()] == [True]


@pytest.mark.parametrize("told", [True, False])
def test_nothing_is_kept_where_python_keeps_nothing(kept: Path, monkeypatch: pytest.MonkeyPatch, told: bool) -> None:
    if told:
        monkeypatch.setattr(templates.sys, "dont_write_bytecode", True)
    else:
        kept.write_text("a file where the folder would be", encoding="utf-8")
    assert rendered() == rendered() == "first"
    assert not kept.is_dir()
