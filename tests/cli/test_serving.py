"""While a site is served an edit makes again what it must and nothing else, and the site is that of a build from nothing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from small_project import HUT, write

from gasdoc.machine import limited
from gasdoc.report.site.build_output import Maker

ADDRESS = "http://127.0.0.1:8000/"


class Served:
    """A site that is served: what MkDocs does at each change, without its server."""

    def __init__(self, project: Path, made: list[str]) -> None:
        self.project = project
        self.made = made
        self.plugins: Any = self._config("served").plugins
        self.plugins.on_startup(command="serve", dirty=False)
        self.again()

    def _config(self, site: str) -> Any:
        config = load_config(str(self.project / "mkdocs.yml"), site_dir=str(self.project / site))
        config.site_url = ADDRESS
        return config

    def again(self) -> set[str]:
        """Build again; returns the specs whose pages were made again."""
        self.made.clear()
        config = self._config("served")
        config.plugins = self.plugins
        build(config, serve_url=ADDRESS)
        return set(self.made)

    def read(self, site: str = "served") -> dict[str, bytes]:
        """The files of the site. The site map has its own compressed copy, whose head has a time."""
        return {
            path.relative_to(self.project / site).as_posix(): path.read_bytes()
            for path in (self.project / site).rglob("*")
            if path.is_file() and path.suffix != ".gz"
        }

    def fresh(self) -> dict[str, bytes]:
        """The files of a site built from nothing."""
        config = self._config("fresh")
        config.plugins.on_startup(command="serve", dirty=False)
        build(config, serve_url=ADDRESS)
        return self.read("fresh")


GUIDE = "---\npage: yes\n---\n# A guide\n\nRead this.\n"
FILES = {
    "test-hut.md": HUT,
    "second-hut.md": HUT.replace("Test Hut", "Second hut"),
    "third-hut.md": HUT.replace("Test Hut", "Third hut"),
    "guide.md": GUIDE,
}


@pytest.fixture(scope="module")
def one_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One site that is served through all tests, which put back what they have changed."""
    project = tmp_path_factory.mktemp("project")
    (project / "mkdocs.yml").write_text("site_name: Records\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    _put_back(project)
    made: list[str] = []
    make = Maker.make

    def noted(self: Maker, files: Sequence[Path], *rest: Any) -> Any:
        made.extend(file.stem for file in files)
        return make(self, files, *rest)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Maker, "make", noted)
        patch.setattr(limited, "can_copy", lambda: False)  # what a copy notes is not seen here
        yield Served(project, made)


def _put_back(project: Path) -> None:
    for folder in ("specs", "site_templates", "fresh"):
        shutil.rmtree(project / folder, ignore_errors=True)
    (project / "specs").mkdir()
    for name, text in FILES.items():
        (project / "specs" / name).write_text(text, encoding="utf-8")


@pytest.fixture
def project(one_server: Served) -> Path:
    """The project as it was at first."""
    _put_back(one_server.project)
    return one_server.project


@pytest.fixture
def served(one_server: Served, project: Path, monkeypatch: pytest.MonkeyPatch) -> Served:
    """Its site, served as it was at first."""
    monkeypatch.chdir(project)
    one_server.again()
    return one_server


ALL = {"second-hut", "test-hut", "third-hut"}


def test_nothing_changed_makes_nothing_again(served: Served) -> None:
    assert served.again() == set()


def test_an_edited_spec_makes_its_own_pages_only(served: Served, project: Path) -> None:
    write(project, "second-hut", HUT.replace("Test Hut", "Second hut").replace("30 kBtu/h", "20 kBtu/h"))
    assert served.again() == {"second-hut"}
    assert served.read() == served.fresh()


def test_another_title_stands_in_the_list_of_builds_and_makes_no_other_build_again(
    served: Served, project: Path
) -> None:
    write(project, "second-hut", HUT.replace("Test Hut", "Alder hut"))
    assert served.again() == {"second-hut"}
    assert served.read() == served.fresh() and b"Alder hut" in served.read()["index.html"]


def test_a_spec_that_is_gone_takes_its_pages_with_it(served: Served, project: Path) -> None:
    (project / "specs" / "third-hut.md").unlink()
    served.again()
    assert served.read() == served.fresh()


def test_a_page_written_by_hand_makes_no_build_again(served: Served, project: Path) -> None:
    guide = project / "specs" / "guide.md"
    guide.write_text("---\npage: yes\n---\n# Another guide\n\nRead that.\n", encoding="utf-8")
    assert served.again() == set()
    assert served.read() == served.fresh() and b"Another guide" in served.read()["test-hut/index.html"]


def test_prices_of_the_project_change_every_build(served: Served, project: Path) -> None:
    (project / "specs" / "prices.yaml").write_text("currency: USD\n", encoding="utf-8")
    assert served.again() == ALL
    assert served.read() == served.fresh()


def test_a_template_of_the_project_changes_every_build(served: Served, project: Path) -> None:
    own = project / "site_templates" / "pages"
    own.mkdir(parents=True)
    (own / "log.html").write_text("<h1>Own log</h1>\n", encoding="utf-8")
    assert served.again() == ALL
    assert served.read() == served.fresh() and b"Own log" in served.read()["test-hut/log/index.html"]


def test_a_spec_with_a_mistake_and_then_without(served: Served, project: Path) -> None:
    write(project, "third-hut", HUT.replace("region: us-cabin", "regoin: us-cabin"))
    served.again()
    assert served.read() == served.fresh() and b"regoin" in served.read()["third-hut/index.html"]
    write(project, "third-hut", HUT)
    served.again()
    assert served.read() == served.fresh()


def test_pages_files_and_pictures_that_are_gone_are_not_shown_any_more(served: Served, project: Path) -> None:
    specs = project / "specs"
    (specs / "manual.txt").write_text("one", encoding="utf-8")
    (specs / "other.md").write_text(
        "---\npage: yes\n---\n# Another\n\n[manual](manual.txt) ![plan](plan.svg)\n", encoding="utf-8"
    )
    (specs / "plan.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>', encoding="utf-8")
    served.again()
    assert {"manual.txt", "plan.svg", "guide/index.html", "other/index.html"} <= served.read().keys()
    for name in ("manual.txt", "plan.svg", "guide.md"):
        (specs / name).unlink()
    served.again()
    shown = served.read()
    assert shown == served.fresh() and "other/index.html" in shown
    assert not {"manual.txt", "plan.svg", "guide/index.html"} & shown.keys()


def test_a_file_replaced_by_an_older_one_is_shown(served: Served, project: Path) -> None:
    manual = project / "specs" / "manual.txt"
    manual.write_text("new", encoding="utf-8")
    (project / "specs" / "guide.md").write_text(
        "---\npage: yes\n---\n# A guide\n\n[manual](manual.txt)\n", encoding="utf-8"
    )
    served.again()
    assert served.read()["manual.txt"] == b"new"
    manual.write_text("old", encoding="utf-8")
    os.utime(manual, (1e9, 1e9))
    served.again()
    assert served.read()["manual.txt"] == b"old" and served.read() == served.fresh()


def test_after_a_build_that_failed_the_next_is_whole(
    served: Served, project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(project, "second-hut", HUT.replace("30 kBtu/h", "20 kBtu/h"))
    with monkeypatch.context() as patch:
        patch.setattr("mkdocs.utils.write_file", lambda content, path: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            served.again()
    served.again()
    assert served.read() == served.fresh()
