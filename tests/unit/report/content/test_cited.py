"""Sources as numbers: none lost, the same number for the same source, and its sign as its grade."""

from __future__ import annotations

import re
from typing import Any

import pytest
from markupsafe import Markup

from gasdoc.report.content.cited import LEGEND, cited
from gasdoc.report.pages.templates import environment
from gasdoc.source import CONFIRMED, Citation


@pytest.fixture(scope="module")
def ui() -> Any:
    return environment(None).get_template("components.html").module


def test_every_grade_has_a_line_in_the_legend() -> None:
    assert LEGEND.keys() == CONFIRMED.keys()


def test_a_source_has_one_number_on_a_page_and_stands_in_the_list_with_its_mark(ui: Any) -> None:
    code, memory = Citation("Code <1>, table 3", "twice"), Citation("A rule", "memory")
    body = Markup("<p>a</p>\n<p class='x'>{}</p><p>{}</p><li>{}</li>").format(
        ui.citation(code), ui.citation(memory), ui.citation(code)
    )
    html = cited(body)
    links = re.findall(
        r'<a class="cite g-(\w+)" href="#(source-\d)">.*?</span>(\d)<span class="hidden">, (.*?)</span>', html
    )
    assert links == [
        ("twice", "source-1", "1", CONFIRMED["twice"]),
        ("memory", "source-2", "2", CONFIRMED["memory"]),
        ("twice", "source-1", "1", CONFIRMED["twice"]),
    ]
    assert '<li id="source-1">Code &lt;1&gt;, table 3 <span class="confirmed">(read in two' in html
    assert "2 sources" in html and LEGEND["memory"] in html and LEGEND["once"] not in html and "Source: " not in html


def test_a_source_on_a_line_of_its_own_stands_beside_what_it_is_for(ui: Any) -> None:
    body = Markup('<p>Never fill above 80 %.</p>\n<p class="small">{}</p>').format(
        ui.citation(Citation("A rule", "once"))
    )
    assert cited(body).startswith('<p>Never fill above 80 %. <a class="cite g-once"')


def test_a_page_without_sources_stays_as_it_is(ui: Any) -> None:
    body = Markup("<p>a</p>")
    assert cited(body) is body
    assert "Its maker" in cited(Markup("<p>{}</p>").format(ui.citation("Its maker")))
