"""Specs that read well and mean harm, or nonsense: a study, pages and files come of them, soon, and nothing else."""

from __future__ import annotations

import posixpath
import random
import shutil
import time
from pathlib import Path

import pytest
from hostile import HEAD, SECONDS, answer, spec
from mutants import Mutant, Values, spec_bytes
from properties import seeds

from gasdoc.build.reader import read_spec
from gasdoc.folder.check import Studied, finding_problems, study_of
from gasdoc.folder.provenance import History
from gasdoc.report.content.markdown import to_html
from gasdoc.report.content.tables import to_csv
from gasdoc.report.formats import jsonout
from gasdoc.report.pages.whole_build import part, sections
from gasdoc.report.site.site import Order, make_site
from gasdoc.report.site.surroundings import Folder

EXAMPLES = sorted((Path(__file__).parents[2] / "specs").glob("[bfl]*.md"))


def studied(raw: bytes) -> Studied:
    """The study of a spec, with all that is told of it, in good time."""
    began = time.process_time()
    done = study_of(read_spec(raw, "s.md", "s"))
    if done.study is not None:
        jsonout.dumps(jsonout.study_json(done.study))
        for problem in finding_problems(done.study):
            assert str(problem).isprintable()
    assert time.process_time() - began < 2 * SECONDS  # the study, and then everything that is told of it
    return done


def small(**more: object) -> Values:
    """A build that reads well, with some top keys given otherwise."""
    return {
        "format": "1",
        "title": "T",
        "region": "us-cabin",
        "container": {"type": "dot-100lb"},
        "regulator": {"outlet": "11 inH2O"},
        "supply": [
            {"run": {"length": "5 ft", "material": "csst"}},
            {"outlet": {"appliance": {"name": "A", "kind": "other", "input": "5 kBtu/h"}}},
        ],
    } | more


@pytest.mark.parametrize("wild", [0.0, 0.3, 1.0])
def test_whatever_a_spec_says_within_its_limits_there_is_a_study(wild: float) -> None:
    found = [studied(spec_bytes(Mutant(seed, wild=wild).spec())) for seed in seeds(3, 8)]
    assert 2 * sum(done.study is not None for done in found) > len(found)  # what the generator draws is mostly taken


def test_a_site_comes_of_them(tmp_path: Path) -> None:
    folder = tmp_path / "specs"
    folder.mkdir()
    for seed in seeds(2, 5):
        mutant = Mutant(seed, wild=0.2)
        values = mutant.spec()
        log = "".join(
            f"## 2026-0{n}-01: {mutant.text(80)}\n\n{mutant.text(80)} [x]({mutant.text(60)})\n\n" for n in range(1, 6)
        )
        (folder / f"b{seed}.md").write_bytes(spec_bytes(values, log))

    def link(page: str, target: str) -> str:
        return posixpath.relpath(target, posixpath.dirname(page) or ".")

    made = make_site(
        Order(folder, project_templates=None, link=link, address=lambda target: f"https://example.org/{target}")
    )
    assert made.failures == ()
    assert len(made.pages) > 40
    for page in made.pages:
        assert "<script>alert" not in page.html and "<img src=x" not in page.html
        assert 'href="javascript' not in page.html


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_with_lines_changed_is_studied_or_refused(example: Path) -> None:
    lines = example.read_bytes().split(b"\n")
    for seed in seeds(8, 25):
        chance = random.Random(seed)
        changed = list(lines)
        for _ in range(chance.randint(1, 3)):
            at, other = chance.randrange(1, len(changed)), chance.randrange(1, len(changed))
            match chance.randrange(3):
                case 0:
                    del changed[at]
                case 1:
                    changed[at] = changed[at].partition(b": ")[0] + b": " + changed[other].partition(b": ")[2]
                case _:
                    changed[at] = (
                        changed[at].replace(b"1", b"1000000")
                        if chance.random() < 0.5
                        else changed[at].replace(b"2", b"-0")
                    )
        studied(b"\n".join(changed))


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"fitted": "9999-12-31"}, "spec-range"),  # an interval added to it would leave the calendar
        ({"fitted": "0001-01-01"}, "spec-range"),
        (
            {"regulator": {"outlet": "500 bar"}},
            "spec-range",
        ),  # propane is no gas there, and its density came out negative
        ({"regulator": {"outlet": "11 inH2O", "lock_up": "500 bar"}}, "spec-range"),
        ({"regulator": {"outlet": "11 inH2O", "tolerance": "90000 %"}}, "spec-range"),
    ],
)
def test_what_cannot_be_is_a_problem_of_the_spec(more: Values, code: str) -> None:
    done = studied(spec_bytes(small(**more)))
    assert [problem.code for problem in done.read.problems if problem.severity == 3] == [code]


def test_a_pressure_hardly_above_that_outside_is_studied() -> None:
    for outlet in ("1e-7 Pa", "1e-6 mbar", "7 bar"):
        assert studied(spec_bytes(small(regulator={"outlet": outlet}))).study is not None


def test_a_regulator_that_needs_more_than_butane_ever_has_is_studied() -> None:
    values = small(
        gas={"propane": "90 %", "butane": "10 %"}, coldest="-10 degC", regulator={"outlet": "37 mbar", "inlet": "7 bar"}
    )
    found = studied(spec_bytes(values)).study
    assert found is not None and "butane-too-cold" in {finding.code for finding in found.findings}


def test_ten_thousand_entries_and_branches_are_answered() -> None:
    log = "".join(f"## 2026-01-01: entry {n}\n\ntext\n\n" for n in range(10_000))
    answered = answer(spec(log=log)).build
    assert answered is not None and len(answered.log.entries) == 10_000
    branch = "        - - outlet: {appliance: {name: Oven, kind: oven, input: 1 kW}}\n"
    raw = f"---\n{HEAD}---\n".replace("      branches:\n", "      branches:\n" + branch * 2_500).encode()
    assert "spec-structure" in {problem.code for problem in answer(raw).problems}


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("- " * 100_000 + "x", id="lists in lists on a line"),
        pytest.param("\n".join("    " * n + "- a" for n in range(500)), id="lists in lists in steps"),
        pytest.param("[" * 60_000, id="brackets"),
        pytest.param("![a](" * 12_000, id="pictures without end"),
        pytest.param("a\n===\n" * 10_000, id="headings without a line between"),
        pytest.param("*a*" * 20_000, id="one word of emphasis"),
        pytest.param("> " * 30_000 + "x", id="quotes in quotes"),
    ],
)
def test_text_that_would_cost_the_square_of_its_length_is_shown_as_it_stands(text: str) -> None:
    began = time.process_time()
    html = to_html(text, lambda path: None)
    assert time.process_time() - began < SECONDS
    assert html.startswith("<pre")


def test_ordinary_long_text_is_still_markdown() -> None:
    text = "- [ ] task with [a link](x.md) and *words*\n" * 500 + "\n" + "| a | b |\n|---|---|\n" + "| 1 | 2 |\n" * 400
    html = to_html(text, lambda path: "x.html")
    assert html.count("<li>") == 500 and html.count("<tr>") == 401


@pytest.mark.parametrize(
    "target",
    [
        "../x.png",
        "%2e%2e/x.png",
        "a/../../x.png",
        "/etc/passwd",
        "file:///etc/passwd",
        "//host/x.png",
        "\\\\host\\x.png",
        "C:\\x.png",
        "C:/x.png",
        "x.png%00",
        "data:image/png;base64,AAAA",
        "javascript:alert(1)",
    ],
)
def test_a_picture_outside_the_project_is_not_found(target: str) -> None:
    assert "<img" not in to_html(f"![a]({target})", lambda path: path if path == "x.png" else None)


def test_a_picture_elsewhere_is_a_link_and_loads_nothing() -> None:
    html = to_html("![A view](https://example.org/x.png)", lambda path: None)
    assert html == '<p><a href="https://example.org/x.png" rel="noopener">A view</a></p>'


def test_the_list_of_a_pages_sections_holds_text_and_no_markup() -> None:
    [(anchor, words)] = sections('<h2 id="a">1: &lt;img src=x onerror=alert(1)&gt; <em>b</em></h2>')
    assert (anchor, words) == ("a", "1: <img src=x onerror=alert(1)> b")
    assert not hasattr(words, "__html__")  # so that a template escapes it


def test_text_that_looks_like_an_attribute_is_left_alone_on_the_whole_page() -> None:
    moved = part("log", "Log", '<p id="a">write id="b" src="c.png"</p>', "hut", {})
    assert moved.body == '<p id="log--a">write id="b" src="c.png"</p>'


@pytest.mark.parametrize("beginning", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_no_cell_of_a_table_is_a_formula(beginning: str) -> None:
    text = to_csv(["a", "b"], [["x", f"{beginning}1+1"]]).decode()
    assert f"'{beginning}1+1" in text


def link_out(folder: Path) -> Path:
    """A link among the specs to a file outside the project."""
    outside = folder / "outside.png"
    shutil.copy(Path(__file__).parents[2] / ".readme" / "overview.png", outside)
    inside = folder / "project" / "specs"
    inside.mkdir(parents=True)
    try:
        (inside / "out.png").symlink_to(outside)
    except OSError:
        pytest.skip("links cannot be made here")
    (inside / "in.png").write_bytes(outside.read_bytes())
    return inside


def test_a_link_out_of_the_project_is_no_picture_of_it(tmp_path: Path) -> None:
    folder = Folder(link_out(tmp_path), History())
    assert str(folder.judge("in.png").leads).startswith("photos/in-") and folder.judge("out.png").leads is None
