"""While a site is served an edit makes again what it must and nothing else, and the site is that of a build from nothing."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from small_project import HUT, write

from gasdoc.machine import limited
from gasdoc.report.build_output import Maker

ADDRESS = "http://127.0.0.1:8000/"


class Served:
    """A site that is served: what MkDocs does at each change, without its server."""

    def __init__(self, project: Path, made: list[str]) -> None:
        self.site = project / "served"
        self.made = made
        config = self._config()
        self.plugins: Any = config.plugins
        self.plugins.on_startup(command="serve", dirty=False)
        self.again()

    def _config(self) -> Any:
        config = load_config("mkdocs.yml", site_dir=str(self.site))
        config.site_url = ADDRESS
        return config

    def again(self) -> set[str]:
        """Build again; returns the specs whose pages were made again."""
        self.made.clear()
        config = self._config()
        config.plugins = self.plugins
        build(config, serve_url=ADDRESS)
        return set(self.made)

    def read(self) -> dict[str, bytes]:
        # The site map has its own compressed copy, whose head has a time.
        return {
            path.relative_to(self.site).as_posix(): path.read_bytes()
            for path in self.site.rglob("*")
            if path.is_file() and path.suffix != ".gz"
        }


@pytest.fixture
def fresh(project: Path) -> Callable[[], dict[str, bytes]]:
    """The files of a site built from nothing."""

    def built() -> dict[str, bytes]:
        folder = project / "fresh"
        config = load_config("mkdocs.yml", site_dir=str(folder))
        config.site_url = ADDRESS
        config.plugins.on_startup(command="serve", dirty=False)
        build(config, serve_url=ADDRESS)
        return {
            path.relative_to(folder).as_posix(): path.read_bytes()
            for path in folder.rglob("*")
            if path.is_file() and path.suffix != ".gz"
        }

    return built


@pytest.fixture
def served(project: Path, monkeypatch: pytest.MonkeyPatch) -> Served:
    made: list[str] = []
    make = Maker.make

    def noted(self: Maker, files: Sequence[Path], *rest: Any) -> Any:
        made.extend(file.stem for file in files)
        return make(self, files, *rest)

    monkeypatch.setattr(Maker, "make", noted)
    monkeypatch.setattr(limited, "can_copy", lambda: False)  # what a copy notes is not seen here
    for name in ("second-hut", "third-hut"):
        write(project, name, HUT.replace("Test Hut", name.replace("-", " ").capitalize()))
    (project / "specs" / "guide.md").write_text("---\npage: yes\n---\n# A guide\n\nRead this.\n", encoding="utf-8")
    return Served(project, made)


ALL = {"second-hut", "test-hut", "third-hut"}


def test_nothing_changed_makes_nothing_again(served: Served) -> None:
    assert served.again() == set()


def test_an_edited_spec_makes_its_own_pages_only(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    write(project, "second-hut", HUT.replace("Test Hut", "Second hut").replace("30 kBtu/h", "20 kBtu/h"))
    assert served.again() == {"second-hut"}
    assert served.read() == fresh()


def test_another_title_stands_in_the_links_on_the_builds_beside_it(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    write(project, "second-hut", HUT.replace("Test Hut", "Alder hut"))
    assert served.again() == {"second-hut"}
    assert served.read() == fresh() and b"Alder hut" in served.read()["test-hut/index.html"]


def test_a_spec_that_is_gone_takes_its_pages_with_it(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    (project / "specs" / "third-hut.md").unlink()
    served.again()
    assert served.read() == fresh()


def test_a_page_written_by_hand_makes_no_build_again(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    guide = project / "specs" / "guide.md"
    guide.write_text("---\npage: yes\n---\n# Another guide\n\nRead that.\n", encoding="utf-8")
    assert served.again() == set()
    assert served.read() == fresh() and b"Another guide" in served.read()["test-hut/index.html"]


def test_prices_of_the_project_change_every_build(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    (project / "specs" / "prices.yaml").write_text("currency: USD\n", encoding="utf-8")
    assert served.again() == ALL
    assert served.read() == fresh()


def test_a_template_of_the_project_changes_every_build(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    own = project / "site_templates" / "pages"
    own.mkdir(parents=True)
    (own / "log.html").write_text("<h1>Own log</h1>\n", encoding="utf-8")
    assert served.again() == ALL
    assert served.read() == fresh() and b"Own log" in served.read()["test-hut/log/index.html"]


def test_a_spec_with_a_mistake_and_then_without(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
    write(project, "third-hut", HUT.replace("region: us-cabin", "regoin: us-cabin"))
    served.again()
    assert served.read() == fresh() and b"regoin" in served.read()["third-hut/index.html"]
    write(project, "third-hut", HUT)
    served.again()
    assert served.read() == fresh()


def test_pages_files_and_pictures_that_are_gone_are_not_shown_any_more(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
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
    assert shown == fresh() and "other/index.html" in shown
    assert not {"manual.txt", "plan.svg", "guide/index.html"} & shown.keys()


def test_a_file_replaced_by_an_older_one_is_shown(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]]
) -> None:
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
    assert served.read()["manual.txt"] == b"old" and served.read() == fresh()


def test_after_a_build_that_failed_the_next_is_whole(
    served: Served, project: Path, fresh: Callable[[], dict[str, bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    write(project, "second-hut", HUT.replace("30 kBtu/h", "20 kBtu/h"))
    with monkeypatch.context() as patch:
        patch.setattr("mkdocs.utils.write_file", lambda content, path: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            served.again()
    served.again()
    assert served.read() == fresh()
