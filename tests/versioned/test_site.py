"""The site of a real repository: where pages come from, what changed from a template, pictures, feeds, the same bytes."""

from __future__ import annotations

import io
import logging
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import feedparser
import pytest
from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config import load_config
from PIL import Image
from repository import CONFIG, EXAMPLE, WHO, Repository, Run


def page(builds: Repository, name: str) -> str:
    """A page, in which a figure may be parted from its unit."""
    return (builds.folder / "site" / name).read_text(encoding="utf-8").replace("\xa0", " ")


def footer(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", "", html.partition("<footer")[2]).split())


def build(run: Run, code: int = 0) -> str:
    done, _, err = run("build")
    assert done == code, err
    return err


# --- provenance -----------------------------------------------------------------------------------------------------


def test_every_page_of_a_build_says_where_it_comes_from(builds: Repository, run: Run) -> None:
    build(run)
    found = sorted((builds.folder / "site" / "hut").glob("*.html"))
    assert len(found) > 8
    for path in found:
        said = footer(path.read_text(encoding="utf-8"))
        assert (
            f"Made from specs/hut.md, last changed 2026-01-02 in commit {builds.commits[1][:12]}, by gasdoc" in said
        ), path
    assert "Made from" not in footer(page(builds, "index.html"))


def test_uncommitted_changes_are_said(builds: Repository, run: Run) -> None:
    builds.write("specs/hut.md", EXAMPLE)
    builds.write("specs/new.md", EXAMPLE)
    build(run)
    assert f"in commit {builds.commits[1][:12]}, with uncommitted changes, by" in footer(page(builds, "hut/log.html"))
    assert "Made from specs/new.md, with uncommitted changes, by" in footer(page(builds, "new/log.html"))


def test_a_spec_that_cannot_be_taken_says_where_it_comes_from_too(builds: Repository, run: Run) -> None:
    builds.commit(specs__hut=EXAMPLE.replace("title:", "titel:"), specs__other=EXAMPLE)
    build(run, 2)
    assert f"in commit {builds.commits[2][:12]}" in footer(page(builds, "hut/index.html"))


def test_in_a_shallow_clone_the_date_is_left_out(
    builds: Repository, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    builds.commit()
    subprocess.run(
        ["git", "clone", "--quiet", "--depth", "1", builds.folder.as_uri(), str(tmp_path / "clone")], check=True
    )
    monkeypatch.chdir(tmp_path / "clone")
    build(run)
    said = footer((tmp_path / "clone" / "site" / "hut" / "log.html").read_text(encoding="utf-8"))
    assert "Made from specs/hut.md, by gasdoc" in said


def test_without_a_repository_the_site_is_built_all_the_same(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "specs").mkdir()
    (tmp_path / "specs" / "hut.md").write_text(EXAMPLE, encoding="utf-8")
    (tmp_path / "mkdocs.yml").write_text(CONFIG, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    build(run)
    assert "Made from specs/hut.md, by gasdoc" in footer(
        (tmp_path / "site" / "hut" / "log.html").read_text(encoding="utf-8")
    )


def test_a_date_of_the_environment_that_is_none_is_refused(
    builds: Repository, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    code, _, err = run("build")
    assert code == 2 and "SOURCE_DATE_EPOCH must be whole seconds" in err


def test_the_environment_is_left_as_it_was(builds: Repository, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    build(run)
    assert "SOURCE_DATE_EPOCH" not in os.environ
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1800000000")
    build(run)
    assert os.environ["SOURCE_DATE_EPOCH"] == "1800000000"


@pytest.mark.parametrize("in_a_repository", [True, False])
def test_an_empty_date_of_the_environment_is_none_and_stays_empty(
    builds: Repository, run: Run, monkeypatch: pytest.MonkeyPatch, in_a_repository: bool
) -> None:
    if not in_a_repository:
        shutil.rmtree(builds.folder / ".git")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "")
    build(run)
    assert os.environ["SOURCE_DATE_EPOCH"] == ""
    dated = (builds.folder / "site/sitemap.xml.gz").read_bytes()[4:8]
    if in_a_repository:  # the day of the commit, in the head of the archive
        assert int.from_bytes(dated, "little") == 1_767_312_000


# --- what changed from the template ---------------------------------------------------------------------------------


def derived(revision: str | None) -> str:
    named = f", revision: {revision}" if revision else ""
    text = EXAMPLE.replace("format: 1\n", f"format: 1\ntemplate: {{build: hut{named}}}\n").replace(
        "Example Hut", "Next Hut"
    )
    return text.replace("length: 12 ft", "length: 30 ft")


def test_a_build_from_a_template_shows_what_changed_in_it_since_that_revision(builds: Repository, run: Run) -> None:
    builds.write("specs/next.md", derived(builds.commits[0][:12]))
    build(run)
    said = re.sub(r"<[^>]+>", " ", page(builds, "next/changes.html"))
    assert re.search(r"run-heater: length\s+12 ft\s+30 ft", said)  # the revision's 12 ft, not the 20 ft of today
    assert builds.commits[0][:12] in said and "Compared is the text of that revision" in said
    assert '<a href="changes.html">' in page(builds, "next/index.html")
    assert re.search(r"longest path: 20 -&gt; 38 ft", page(builds, "next/index.html"))
    assert "changes.html" not in page(builds, "hut/index.html")
    assert not (builds.folder / "site/hut/changes.html").exists()


@pytest.mark.parametrize(
    ("revision", "said", "length"),
    [
        (None, "Compared is the text as it is now", "20 ft"),
        ("0123456789ab", "That revision cannot be had here", "20 ft"),
    ],
)
def test_without_that_revision_the_template_as_it_is_now_is_compared(
    builds: Repository, run: Run, revision: str | None, said: str, length: str
) -> None:
    builds.write("specs/next.md", derived(revision))
    build(run)
    text = re.sub(r"<[^>]+>", " ", page(builds, "next/changes.html"))
    assert said in text and re.search(rf"run-heater: length\s+{length}\s+30 ft", text)


def test_a_template_that_is_nowhere_is_named_and_nothing_is_compared(builds: Repository, run: Run) -> None:
    builds.write("specs/next.md", derived(None).replace("build: hut", "build: gone"))
    build(run)
    assert "cannot be had here, so nothing is compared" in page(builds, "next/changes.html")


def test_a_template_that_cannot_be_taken_any_more_does_not_stop_the_site(builds: Repository, run: Run) -> None:
    broken = builds.commit(specs__hut="---\nformat: 1\n---\n")
    builds.write("specs/next.md", derived(broken[:12]))
    build(run, 2)
    assert "cannot be had here" in page(builds, "next/changes.html")


# --- the log --------------------------------------------------------------------------------------------------------


def photo() -> bytes:
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = "SECRET-MAKER", 6
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "red").save(out, "JPEG", exif=exif)
    return out.getvalue()


LOG = (
    EXAMPLE
    + '\n## 2026-04-19: board\n\n![The board](hut/board.jpg "Board, before the paint")\n\n![Plan](hut/layout.svg)\n'
)


@pytest.fixture
def with_pictures(builds: Repository) -> Repository:
    builds.write("specs/hut.md", LOG)
    builds.write("specs/hut/layout.svg", '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 360 290"></svg>')
    (builds.folder / "specs/hut/board.jpg").write_bytes(photo())
    return builds


def test_pictures_are_lazy_have_their_size_and_a_caption(with_pictures: Repository, run: Run) -> None:
    build(run)
    html = page(with_pictures, "hut/log.html")
    figures = re.findall(r"<figure>.*?</figure>", html, re.DOTALL)
    assert len(figures) == 2
    for part in (
        'href="../photos/board-',
        'loading="lazy"',
        'alt="The board"',
        'width="40"',
        'height="60"',
        "<figcaption>Board, before the paint</figcaption>",
    ):
        assert part in figures[0]
    for part in ('width="360"', 'height="290"', "<figcaption>Plan</figcaption>"):
        assert part in figures[1]


def test_what_the_camera_wrote_is_not_published_and_the_file_in_the_repository_is_untouched(
    with_pictures: Repository, run: Run
) -> None:
    build(run)
    (copy,) = (with_pictures.folder / "site/photos").glob("board-*.jpg")
    there = copy.read_bytes()
    assert b"SECRET" not in there and not Image.open(io.BytesIO(there)).getexif()
    assert Image.open(io.BytesIO(there)).size == (40, 60)  # upright: the camera was held on its side
    assert not (with_pictures.folder / "site/hut/board.jpg").exists()
    assert (with_pictures.folder / "specs/hut/board.jpg").read_bytes() == photo()


def test_a_picture_that_cannot_be_read_is_left_out_with_a_warning(
    with_pictures: Repository, run: Run, caplog: pytest.LogCaptureFixture
) -> None:
    (with_pictures.folder / "specs/hut/board.jpg").write_bytes(photo()[:60])
    with caplog.at_level(logging.WARNING):
        build(run, 2)
    assert "the picture 'hut/board.jpg' is damaged or not whole" in caplog.text
    assert not (with_pictures.folder / "site/hut/board.jpg").exists()


def test_entries_and_pages_lead_to_those_before_and_after(with_pictures: Repository, run: Run) -> None:
    with_pictures.write("specs/shed.md", EXAMPLE)
    build(run)
    html = page(with_pictures, "hut/log.html")
    assert '<a href="#2026-04-19-board">Next entry: board</a>' in html
    assert '<a href="#2026-04-18-an-example">Entry before: an example</a>' in html
    assert '<a href="referral.html"><span>Page before</span> Who decides</a>' in html
    assert '<a class="after" href="open.html"><span>Next page</span> What is open</a>' in page(
        with_pictures, "hut/index.html"
    )


def test_numbers_are_masked_unless_the_spec_opts_in(builds: Repository, run: Run) -> None:
    text = EXAMPLE.replace("  tare: 70 lb\n", "  tare: 70 lb\n  serial: SN-1234567\n")
    builds.write("specs/hut.md", text)
    builds.write("specs/open.md", text.replace("format: 1\n", "format: 1\nshow_numbers: yes\n"))
    build(run)
    assert "masked, ends in 67" in page(builds, "hut/index.html")
    everything = b"".join(p.read_bytes() for p in (builds.folder / "site" / "hut").rglob("*") if p.is_file())
    assert b"SN-1234567" not in everything
    assert "SN-1234567" in page(builds, "open/index.html")
    assert "SN-1234567" not in run("study", "specs/hut.md")[1] and "SN-1234567" in run("study", "specs/open.md")[1]


# --- feeds ----------------------------------------------------------------------------------------------------------


def test_feeds_are_there_linked_and_read_back(with_pictures: Repository, run: Run) -> None:
    build(run)
    for name, where in (("feed.xml", "index.html"), ("hut/feed.xml", "hut/log.html")):
        read = feedparser.parse(page(with_pictures, name))
        assert not read.bozo and read.feed.updated == "2026-04-19T12:00:00Z"
        assert read.feed.links[0].href == f"https://example.org/builds/{name}"
        assert read.entries[0].link == "https://example.org/builds/hut/log.html#2026-04-19-board"
        assert re.search(
            r'<link rel="alternate" type="application/atom\+xml"[^>]*href="feed.xml"', page(with_pictures, where)
        )
        assert '<a href="feed.xml">' in page(with_pictures, where)
    anchor = feedparser.parse(page(with_pictures, "hut/feed.xml")).entries[0].link.partition("#")[2]
    assert f'id="{anchor}"' in page(with_pictures, "hut/log.html")


def test_without_an_address_there_are_no_feeds_and_that_is_said(
    builds: Repository, caplog: pytest.LogCaptureFixture
) -> None:
    builds.write("mkdocs.yml", CONFIG.replace("site_url: https://example.org/builds/\n", ""))
    with caplog.at_level(logging.INFO):
        mkdocs_build(load_config("mkdocs.yml"))  # the command itself shows warnings only
    assert not list((builds.folder / "site").rglob("feed.xml"))
    assert "feed.xml" not in page(builds, "hut/log.html") + page(builds, "index.html")
    assert [r.levelname for r in caplog.records if "no site_url" in r.getMessage()] == ["INFO"]


# --- the same bytes -------------------------------------------------------------------------------------------------


def files(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def built(folder: Path, **environment: str) -> dict[str, bytes]:
    """The site as a process of its own builds it."""
    env = {k: v for k, v in os.environ.items() if k != "SOURCE_DATE_EPOCH"} | WHO | environment
    done = subprocess.run(
        [sys.executable, "-m", "gasdoc", "build"], cwd=folder, env=env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return files(folder / "site")


def test_the_same_commit_gives_the_same_bytes_anywhere(with_pictures: Repository, tmp_path: Path) -> None:
    with_pictures.write("specs/next.md", derived(with_pictures.commits[0][:12]))
    with_pictures.commit()
    other = tmp_path / "another path, deeper" / "clone"
    subprocess.run(["git", "clone", "--quiet", str(with_pictures.folder), str(other)], check=True)
    first = built(with_pictures.folder, PYTHONHASHSEED="1", LC_ALL="C", TZ="Pacific/Auckland")
    second = built(other, PYTHONHASHSEED="4242", LC_ALL="C.UTF-8", TZ="America/Anchorage", COLUMNS="40")
    assert len(first) > 30 and "sitemap.xml.gz" in first and "feed.xml" in first
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []


def test_another_day_of_the_environment_changes_no_page(builds: Repository) -> None:
    first = built(builds.folder, SOURCE_DATE_EPOCH="1790000000")
    shutil.rmtree(builds.folder / "site")
    second = built(builds.folder, SOURCE_DATE_EPOCH="1800000000")
    assert [name for name in first if first[name] != second[name]] == ["sitemap.xml.gz"]  # its archive is dated
