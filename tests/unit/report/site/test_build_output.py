"""Making what specs give: each stands alone, many processes give the same, and what is kept is as good as new."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import jinja2
import pytest
from made_up_builds import build, outlet, run, text
from places import ROOT
from small_project import HUT

from gasdoc import data
from gasdoc.data import DataError
from gasdoc.folder.provenance import history
from gasdoc.regions.region import region
from gasdoc.report.content.links import Links
from gasdoc.report.drawings import schematic
from gasdoc.report.site import build_output as making
from gasdoc.report.site import site
from gasdoc.report.site.kept_builds import Kept
from gasdoc.report.site.site import Order, Site, make_site


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with two small builds that have the names of examples."""
    docs = tmp_path / "specs"
    docs.mkdir()
    for name, title in (("larch-hut", "Larch Hut"), ("bakery-trailer", "Bakery Trailer")):
        spec = HUT.replace("title: Test Hut", f"title: {title}")
        (docs / f"{name}.md").write_text(f"{spec}\n## 2026-05-02: hung\n\nIt hangs.\n", encoding="utf-8")
    return docs


def made(folder: Path, **more: Any) -> Site:
    return make_site(
        Order(folder, project_templates=more.pop("project_templates", None), link=Links(directory_urls=False), **more)
    )


def page(found: Site, uri: str) -> str:
    (text,) = [page.html for page in found.pages if page.uri == uri]
    return text


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the specs that are made, as they are made."""
    names: list[str] = []
    make = making.Maker.make

    def counting(self: making.Maker, files: Any) -> Any:
        names.extend(file.stem for file in files)
        return make(self, files)

    monkeypatch.setattr(making.Maker, "make", counting)
    return names


def test_several_processes_give_what_one_gives(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(site, "FEW", 0)
    assert made(folder, processes=2) == made(folder, processes=1)


def test_processes_that_start_afresh_give_the_same(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(site, "FEW", 0)
    monkeypatch.setattr(site.sys, "platform", "darwin")
    assert made(folder, processes=2) == made(folder, processes=1)


DYING = """
import os, sys
from pathlib import Path
from gasdoc.report.site import build_output as making, site
from gasdoc.report.content.links import Links
from gasdoc.wrong import Refused
site.FEW = 0
making.Maker.make = lambda self, files: os._exit(9)
try:
    site.make_site(site.Order(Path(sys.argv[1]), project_templates=None, link=Links(False), processes=2))
except Refused as stopped:
    print(stopped)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="only a copy of a process has what is put in its place here")
def test_a_process_that_dies_is_a_clear_error(folder: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", DYING, str(folder)],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert "ended unexpectedly" in done.stdout, done.stderr


def test_a_spec_that_gasdoc_fails_on_does_not_keep_the_others_back(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    study_of = making.study_of

    def fail(read: Any, *rest: Any, **more: Any) -> Any:
        if read.slug == "larch-hut":
            raise ZeroDivisionError("by zero")
        return study_of(read, *rest, **more)

    monkeypatch.setattr(making, "study_of", fail)
    found = made(folder)
    assert "gasdoc itself fails on this spec" in page(found, "larch-hut/index.md")
    assert "Longest length" in page(found, "bakery-trailer/supply.md")
    (problem,) = [p for p in found.problems if p.code == "gasdoc-fails"]
    assert problem.path == "specs/larch-hut.md" and "ZeroDivisionError: by zero" in problem.message
    assert "in fail" in found.failures[0]


def test_what_the_spec_itself_has_wrong_is_told_beside_a_failure(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    edit(folder, "larch-hut.md", "format: 1", "format: 1\ncolour: green")
    monkeypatch.setattr(making, "study_of", lambda read, *rest, **more: 1 / 0)
    codes = {problem.code for problem in made(folder).problems if problem.path == "specs/larch-hut.md"}
    assert codes == {"gasdoc-fails", "spec-unknown-key"}


def test_what_gasdoc_failed_on_is_tried_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = Kept()
    with monkeypatch.context() as patch:
        patch.setattr(making, "study_of", lambda read, *rest, **more: 1 / 0)
        assert len(made(folder, kept=kept).failures) == 2
    assert made(folder, kept=kept).failures == ()


def test_a_data_file_that_cannot_be_used_stops_everything_with_its_name(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def damaged(*rest: Any, **more: Any) -> Any:
        raise DataError("containers.yaml: 'mass' is missing")

    monkeypatch.setattr(making, "study_of", damaged)
    with pytest.raises(DataError, match="containers.yaml"):
        made(folder)


def test_data_that_changed_is_read_again() -> None:
    before = region("us-cabin")
    assert region("us-cabin") is before
    data.forget()
    assert region("us-cabin") is not before and region("us-cabin") == before


def test_a_drawing_that_fails_does_not_keep_the_others_back(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    render = schematic.render

    def fail(dots: Any, engine: str | None = None) -> list[str]:
        if any("Larch" in dot or "larch" in dot for dot in dots):
            raise schematic.RenderFailed("no")
        return render(dots, engine)

    monkeypatch.setattr(schematic, "render", fail)
    found = made(folder)
    assert found.failures == () and "the drawing program fails on this spec: no" in page(found, "larch-hut/index.md")
    assert "<svg" in page(found, "bakery-trailer/supply.md")


def test_a_projects_template_that_fails_is_told_with_its_place(folder: Path, tmp_path: Path) -> None:
    own = tmp_path / "site_templates"
    (own / "pages").mkdir(parents=True)
    (own / "pages" / "log.html").write_text("one\n{{ study.no_such_thing.at_all }}\n", encoding="utf-8")
    found = made(folder, project_templates=own)
    (one, _) = [p for p in found.problems if p.code == "template-fails"]
    assert f"{own}/pages/log.html:2" in one.message and "the project's own template" in one.message
    (own / "pages" / "log.html").write_text("one\n{% endfor %}\n", encoding="utf-8")
    with pytest.raises(jinja2.TemplateSyntaxError):
        made(folder, project_templates=own)


def test_what_is_kept_is_not_made_again_and_reads_the_same(folder: Path, counted: list[str]) -> None:
    kept = Kept()
    first = made(folder, kept=kept)
    assert sorted(counted) == ["bakery-trailer", "larch-hut"]
    counted.clear()
    assert made(folder, kept=kept) == first and counted == []


def edit(folder: Path, name: str, old: str, new: str) -> None:
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new), encoding="utf-8")


def test_only_the_spec_that_changed_is_made_again(folder: Path, counted: list[str]) -> None:
    kept = Kept()
    made(folder, kept=kept)
    counted.clear()
    edit(folder, "larch-hut.md", "title: Larch Hut", "title: Birch Hut")
    found = made(folder, kept=kept)
    assert counted == ["larch-hut"] and found == made(folder)
    assert any(page.title == "Birch Hut" for page in found.pages)


def test_a_new_picture_and_other_surroundings_count_as_a_change(folder: Path, counted: list[str]) -> None:
    edit(folder, "larch-hut.md", "## ", "![shelf](shelf.png)\n\n## ")
    kept = Kept()
    made(folder, kept=kept, surroundings=1)
    counted.clear()
    shutil.copy(ROOT / ".readme" / "overview.png", folder / "shelf.png")
    assert made(folder, kept=kept, surroundings=1) == made(folder) and counted[0] == "larch-hut"
    counted.clear()
    made(folder, kept=kept, surroundings=2)
    assert len(counted) == 2


def test_a_build_from_a_template_is_made_again_when_the_template_changes(folder: Path, counted: list[str]) -> None:
    edit(folder, "larch-hut.md", "\nregion:", "\ntemplate: {build: bakery-trailer}\nregion:")
    kept = Kept()
    made(folder, kept=kept)
    counted.clear()
    edit(folder, "bakery-trailer.md", "title: Bakery Trailer", "title: Bread Trailer")
    assert made(folder, kept=kept) == made(folder)
    assert sorted(set(counted)) == ["bakery-trailer", "larch-hut"]


def test_a_commit_counts_as_a_change_of_the_specs_in_it(
    folder: Path, counted: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)  # a repository of specs alone is one where that is where we are

    def git(*arguments: str) -> None:
        subprocess.run(
            ["git", "-c", "user.name=A", "-c", "user.email=a@example.org", *arguments],
            cwd=folder,
            check=True,
            stdout=subprocess.DEVNULL,
        )

    def run(kept: Kept) -> Site:
        return made(folder, kept=kept, history=history(folder, ["larch-hut.md", "bakery-trailer.md"]))

    git("init", "-q")
    git("add", ".")
    git("commit", "-qm", "Two builds")
    edit(folder, "larch-hut.md", "title: Larch Hut", "title: Birch Hut")
    kept = Kept()
    run(kept)
    counted.clear()
    git("commit", "-qam", "Another name")
    run(kept)
    assert counted == ["larch-hut"]


def test_builds_that_stand_side_by_side_are_made_again_together(tmp_path: Path, counted: list[str]) -> None:
    docs = tmp_path / "specs"
    docs.mkdir()
    for name, beside in (("one", ["two", "gone"]), ("two", [])):
        spec = build(
            run("20 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), beside=beside
        )
        (docs / f"{name}.md").write_text(text(spec | {"title": name.title()}), encoding="utf-8")
    kept = Kept()
    first = made(docs, kept=kept)
    table, overview = page(first, "one/beside.md"), page(first, "one/index.md")
    assert '<a href="../two/index.html">Two</a>' in table and "<code>gone</code>" in table
    assert 'href="beside.html"' in overview and not [p.uri for p in first.pages if p.uri == "two/beside.md"]
    assert [p.code for p in first.problems if p.path == "specs/one.md"] == ["beside-unknown"]
    counted.clear()
    edit(docs, "two.md", '"20 ft"', '"40 ft"')
    assert made(docs, kept=kept) == made(docs) and sorted(set(counted)) == ["one", "two"]
    assert "40\u00a0ft" in page(made(docs), "one/beside.md")
