"""The theme's colours, computed, and its pieces, rendered."""

from __future__ import annotations

import datetime as dt
import re
from types import SimpleNamespace
from typing import Any

import jinja2
import pytest
from markupsafe import Markup

from gasdoc.report.content.photos import Picture
from gasdoc.report.pages.templates import environment, search_path, templates_dir
from gasdoc.source import Citation, Severity

CSS = (templates_dir() / "css" / "gasdoc.css").read_text(encoding="utf-8")
ROOTS = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
LIGHT, DARK = ({name: value for name, value in re.findall(r"--(\w+): (#[0-9a-f]{6});", block)} for block in ROOTS[:2])
SCHEMES = {"light": LIGHT, "dark": DARK}


def luminance(colour: str) -> float:
    """Relative luminance of a #rrggbb colour (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_agrees_with_known_ratios() -> None:
    # Black on white is 21:1 by the definition; #767676 on white is the grey WCAG's own texts give as 4.54:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)  # printed to two decimals


def test_both_schemes_name_the_same_colours() -> None:
    assert len(LIGHT) == 13
    assert LIGHT.keys() == DARK.keys()


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("text", ["ink", "quiet", "accent", "error", "warning", "note"])
@pytest.mark.parametrize("ground", ["paper", "card", "tint", "hover", "amber"])
def test_text_contrast_is_aa(scheme: str, text: str, ground: str) -> None:
    assert contrast(SCHEMES[scheme][text], SCHEMES[scheme][ground]) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("line", ["line", "accent", "error", "warning", "note"])
def test_lines_that_carry_meaning_stand_out(scheme: str, line: str) -> None:
    assert contrast(SCHEMES[scheme][line], SCHEMES[scheme]["paper"]) >= 3


def test_colours_are_only_written_in_the_palettes_and_the_margins_of_a_sheet() -> None:
    rest = CSS
    for block in (*ROOTS[:2], *re.findall(r"@page \{.*?\n  \}", CSS, re.DOTALL)):
        rest = rest.replace(block, "")
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(", rest) == []
    for colour in re.findall(r"@(?:bottom|top).*?color: (#[0-9a-f]{6})", CSS):
        assert contrast(colour, "#ffffff") >= 4.5


@pytest.fixture(scope="module")
def ui() -> Any:
    return environment(None).get_template("components.html").module


HOSTILE = "<script>alert('x')</script> & \"quoted\""
PICTURE = Picture(
    *(HOSTILE, HOSTILE, HOSTILE, dt.date(2026, 5, 1), HOSTILE, HOSTILE, HOSTILE, HOSTILE, 3, 2, HOSTILE, (7,))
)
FINDING = SimpleNamespace(
    severity=Severity.ERROR,
    message=HOSTILE,
    reason=HOSTILE,
    source=Citation(HOSTILE, "once"),
    remedy=HOSTILE,
    anchor=HOSTILE,
)
STEP = SimpleNamespace(
    id=HOSTILE,
    title=HOSTILE,
    lines=[SimpleNamespace(caution=True, text=HOSTILE, citation=Citation(HOSTILE, "once"))],
    passes=HOSTILE,
    stops=[HOSTILE],
    citation=Citation(HOSTILE, "once"),
)
TEST = SimpleNamespace(by=HOSTILE, medium="air", gauge=None, thermometer=None, bubbles="none", note=HOSTILE)
CALLS: dict[str, tuple[Any, ...]] = {
    "heading": (HOSTILE, HOSTILE),
    "qty": (HOSTILE, HOSTILE),
    "citation": (HOSTILE,),
    "finding": (FINDING,),
    "findings": ([FINDING],),
    "caution_bar": ([HOSTILE, "own"], "own", HOSTILE, HOSTILE),
    "progress": ([{"name": HOSTILE, "state": "next", "date": None, "said": None}],),
    "ways": ([{"href": HOSTILE, "kind": "list", "text": HOSTILE, "note": HOSTILE}],),
    "figures": ([(HOSTILE, HOSTILE, HOSTILE)],),
    "table": (
        HOSTILE,
        [{"label": HOSTILE, "unit": HOSTILE}],
        [{"id": HOSTILE, "cells": [{"text": HOSTILE, "href": HOSTILE}]}],
        True,
        HOSTILE,
        [HOSTILE],
    ),
    "svg_figure": (Markup("<svg></svg>"), HOSTILE, HOSTILE),
    "picture": (PICTURE,),
    "photos": ([PICTURE], True),
    "legend": ([(Markup("<svg></svg>"), HOSTILE)],),
    "places": ([(HOSTILE, HOSTILE)] * 3,),
    "ask_first": ({3: HOSTILE}, HOSTILE),
    "numbered": (HOSTILE,),
    "checklist": ([{"text": HOSTILE, "note": HOSTILE}],),
    "facts": ([(HOSTILE, HOSTILE)],),
    "made_with": (TEST,),
    "on_paper": ([HOSTILE],),
    "fold": (HOSTILE, HOSTILE, HOSTILE),
    "kept": (HOSTILE,),
    "step": (STEP, HOSTILE, [HOSTILE], True, HOSTILE),
    "downloads": ([{"href": HOSTILE, "text": HOSTILE, "note": HOSTILE}],),
}


def test_every_piece_is_tried(ui: Any) -> None:
    assert set(CALLS) == {name for name, value in vars(ui).items() if callable(value) and not name.startswith("_")}


@pytest.mark.parametrize("name", CALLS)
def test_plain_text_is_escaped_everywhere(ui: Any, name: str) -> None:
    html = getattr(ui, name)(*CALLS[name], **({"caller": str} if name == "fold" else {}))
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert not re.search(r'="[^"]*"quoted', html)
    assert "style=" not in html


def test_a_table_names_its_rows_and_columns(ui: Any) -> None:
    columns = ["Run", {"label": "Length", "unit": "ft", "number": True}]
    html = ui.table("Runs", columns, [{"id": "run-1", "cells": ["A to B", "12"]}], foot=["Together", "12"])
    assert "<caption>Runs</caption>" in html
    assert '<th scope="col" role="columnheader">Run</th>' in html
    assert '<th scope="col" role="columnheader" class="number">Length <span class="unit">ft</span></th>' in html
    cell = '<td role="cell" data-label="Length, ft" class="number">12</td>'
    assert f'<tr role="row" id="run-1"><th scope="row" role="rowheader">A to B</th>{cell}</tr>' in html
    assert f'<tfoot role="rowgroup">\n<tr role="row"><th scope="row" role="rowheader">Together</th>{cell}</tr>' in html
    assert '<td role="cell" data-label="Run">A to B</td>' in ui.table(
        "Runs", columns, [["A to B", "12"]], row_header=False
    )


def test_a_table_without_rows_says_so(ui: Any) -> None:
    assert '<td role="cell" colspan="2">None.</td>' in ui.table("Runs", ["Run", "Length"], [])


@pytest.mark.parametrize(("severity", "word"), [("error", "Error:"), ("warning", "Warning:"), ("note", "Note:")])
def test_a_finding_says_its_severity_in_words(ui: Any, severity: str, word: str) -> None:
    bare = SimpleNamespace(severity=severity, message="m", reason="", source=None, remedy="", anchor="")
    html = ui.finding(bare)
    assert word in html
    assert f'class="finding {severity}"' in html
    assert "id=" not in html and "Source" not in html and "What to do" not in html


def test_a_citation_says_how_well_it_is_confirmed(ui: Any) -> None:
    assert 'Code, table 3 <span class="confirmed">(read in one public text)</span>' in ui.citation(
        Citation("Code, table 3")
    )
    assert "confirmed" not in ui.citation("Code, table 3")
    assert "confirmed" not in ui.citation(Citation("Common practice, no source", "practice"))


def test_no_findings_is_no_verdict(ui: Any) -> None:
    assert "no verdict" in ui.findings([])


def test_a_misspelt_name_in_a_template_is_an_error() -> None:
    with pytest.raises(jinja2.UndefinedError, match="'finding' is undefined"):
        environment(None).from_string("{{ finding }}").render()


def test_the_projects_own_template_wins_file_by_file(tmp_path: Any) -> None:
    (tmp_path / "404.html").write_text("own", encoding="utf-8")
    env = environment(tmp_path)
    assert env.get_template("404.html").render() == "own"
    assert env.get_template("components.html").filename == str(templates_dir() / "components.html")
    assert search_path(templates_dir()) == search_path(None) == [templates_dir()]
