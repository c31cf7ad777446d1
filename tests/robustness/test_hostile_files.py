"""A project's own files and the data that ship, damaged: told with file and line, never a bare traceback."""

from __future__ import annotations

from pathlib import Path

import pytest
from changed_data import changed_files
from hostile import spec
from jinja2 import TemplateNotFound

from gasdoc import data
from gasdoc.catalog import tubing
from gasdoc.folder.check import study_file
from gasdoc.host.building import build_site
from gasdoc.report.pages import templates
from gasdoc.study.materials.own_files import read_own
from gasdoc.wrong import Refused

FAMILY = (
    b"parts:\n- {id: x, name: X, shape: tee, use: fitting, ends: ['1/2 MNPT', '1/2 MNPT'], container_side: no, concealed: yes, "
    b"source: s, confirmed: once}\n"
)
PRICES = b"currency: USD\ndate: 2026-01-01\nitems: {a: 1}\n"


def told(folder: Path, name: str, raw: bytes) -> list[str]:
    """The problems of one of the project's own files."""
    (folder / name).write_bytes(raw)
    _, problems = read_own(folder)
    for problem in problems:
        assert problem.path.endswith(name) and problem.line >= 1 and len(str(problem)) < 2000
        assert str(problem).isprintable()
    return [problem.code for problem in problems]


def test_the_family_these_tests_start_from_is_taken(tmp_path: Path) -> None:
    assert told(tmp_path, "parts.yaml", FAMILY) == []


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (b"name: X", b"name: [X]"),
        (b"name: X", b"name: {a: b}"),
        (b"name: X", b"name: '{a.__class__}', sizes: ['1']"),
        (b"name: X", b"name: '{a:>99999999999}', sizes: ['1']"),
        (b"name: X", b"name: " + b"x" * 100_000),
        (b"id: x", b"id: [x]"),
        (b"id: x", b"id: x, sizes: []"),
        (b"id: x", b"id: x, rating: [1]"),
        (b"id: x", b"id: x, rating: 1e308 psi"),
        (b"shape: tee", b"shape: {a: b}"),
        (b"confirmed: once", b"confirmed: [once]"),
        (b"confirmed: once", b"confirmed: {}"),
        (b"source: s", b"source: [s]"),
        (b"['1/2 MNPT', '1/2 MNPT']", b"[]"),
        (b"['1/2 MNPT', '1/2 MNPT']", b"['{a.real}']"),
        (b"1/2 MNPT", b"9" * 5000 + b" MNPT"),
        (b"parts:\n", b"sources: {a: {text: x, confirmed: [once]}}\nparts:\n"),
        (b"X", b"\0"),
        (b"X", b"\xff"),
    ],
)
def test_a_damaged_family_is_a_problem_with_its_place(tmp_path: Path, was: bytes, now: bytes) -> None:
    assert was in FAMILY
    assert told(tmp_path, "parts.yaml", FAMILY.replace(was, now, 1)) != []


@pytest.mark.parametrize(
    "raw", [b"[]", b"a", b"parts: 5", b"parts: [1]", b"parts: [[[]]]", b"parts: &a [*a]", b"parts: [" + b"[" * 500]
)
def test_a_parts_file_of_another_shape_is_a_problem(tmp_path: Path, raw: bytes) -> None:
    assert told(tmp_path, "parts.yaml", raw) != []


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (b"{a: 1}", b"[]"),
        (b"{a: 1}", b"{a: [1]}"),
        (b"{a: 1}", b"{a: {low: [], high: {}}}"),
        (b"{a: 1}", b"{[a]: 1}"),
        (b"{a: 1}", b"{a: {price: 1, per: [1]}}"),
        (b"{a: 1}", b"{a: nan}"),
        (b"{a: 1}", b"{a: 1e308}"),
        (b"2026", b"99999"),
        (b"USD", b"[USD]"),
        (b"USD", b"\xff"),
        (b"items", b"\0"),
    ],
)
def test_damaged_prices_are_a_problem_with_their_place(tmp_path: Path, was: bytes, now: bytes) -> None:
    assert told(tmp_path, "prices.yaml", PRICES.replace(was, now, 1)) != []


def test_fifty_megabytes_are_refused(tmp_path: Path) -> None:
    huge = b"# " + b"x" * 50_000_000
    (tmp_path / "s.md").write_bytes(huge)
    (tmp_path / "prices.yaml").write_bytes(huge)
    assert [problem.code for problem in study_file(tmp_path / "s.md").read.problems] == ["file-size", "file-size"]


# --- templates --------------------------------------------------------------------------------------------------------


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project with one small spec and an empty folder of templates."""
    (tmp_path / "specs").mkdir()
    (tmp_path / "specs" / "hut.md").write_bytes(
        spec().replace(b"type: cylinder", b"type: dot-100lb").replace(b"material: copper,", b"material: csst,")
    )
    (tmp_path / "site_templates").mkdir()
    (tmp_path / "mkdocs.yml").write_text("site_name: X\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("name", "text", "line"),
    [
        ("main.html", b"a\n{% block", 2),
        ("main.html", b"a\nb\xff", 2),
        ("main.html", b"a\n{{ config.nope.deeper }}", 2),
        ("main.html", b"{% extends 'gone.html' %}", 1),
        ("404.html", b"\n{{ 1/0 }}", 2),
        ("sitemap.xml", b"{% for %}", 1),
        ("unused.html", b"a\n\n{% if %}", 3),
    ],
)
def test_a_broken_template_stops_the_build_with_its_line_and_nothing_is_written(
    project: Path, name: str, text: bytes, line: int
) -> None:
    (project / "site_templates" / name).write_bytes(text)
    with pytest.raises(Refused) as caught:
        build_site(str(project / "mkdocs.yml"), str(project / "out"), strict=False)
    said = str(caught.value)
    if "BuildError" not in said:  # MkDocs logs what a plugin says, and stops
        assert f"{name}:{line}: " in said
    assert not (project / "out").exists()


def test_a_template_is_checked_before_anything_is_made(tmp_path: Path) -> None:
    (tmp_path / "a.html").write_bytes(b"a\n\n{% if %}")
    with pytest.raises(Refused, match=r"a\.html:3: "):
        templates.check_own(tmp_path)
    (tmp_path / "a.html").write_bytes(b"a\nb\xff")
    with pytest.raises(Refused, match=r"a\.html:2: byte 0xff is not UTF-8"):
        templates.check_own(tmp_path)


def test_an_error_that_is_no_templates_has_no_place_in_one() -> None:
    with pytest.raises(ValueError, match="invalid literal") as caught:
        int("x")
    assert templates.place(caught.value) is None
    assert issubclass(TemplateNotFound, OSError)  # why it is caught before what cannot be written


def test_a_link_out_of_the_project_is_not_published(project: Path) -> None:
    outside = project.parent / f"{project.name}-outside.txt"
    outside.write_text("not of this project", encoding="utf-8")
    try:
        (project / "specs" / "out.txt").symlink_to(outside)
        (project / "specs" / "in.txt").symlink_to(project / "mkdocs.yml")
    except OSError:
        pytest.skip("links cannot be made here")
    (project / "specs" / "guide.md").write_text(
        "---\npage: yes\n---\n\n[in](in.txt) [out](out.txt)\n", encoding="utf-8"
    )
    build_site(str(project / "mkdocs.yml"), str(project / "out"), strict=False)
    assert (project / "out" / "in.txt").exists() and not (project / "out" / "out.txt").exists()


# --- data that ship ---------------------------------------------------------------------------------------------------


def test_a_key_that_is_missing_is_named_with_its_row(tmp_path: Path) -> None:
    text = (Path(tubing.__file__).parent / "tubing.yaml").read_text(encoding="utf-8")
    damaged = text.replace(", bore: 1.049 in", "")
    line = text[: text.index(", bore: 1.049 in")].count("\n") + 1
    told = rf"tubing\.yaml:{line}:\d+: size '1': it has no bore"
    changed = changed_files("gasdoc.catalog", {"tubing.yaml": damaged}, tmp_path)
    with changed, pytest.raises(data.DataError, match=told):
        tubing.sizes("steel")
