"""What pages set and what they leave as it is written."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.report.content.typography import american, typeset, typeset_page

NB = "\u00a0"


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("At -10 degF", f"At −10{NB}°F"),
        ("-42 degC (-44 degF)", f"−42{NB}°C (−44{NB}°F)"),
        ("10.8 inH2O", f"10.8{NB}in. w.c."),
        ("It gives 11 inH2O. Then", f"It gives 11{NB}in. w.c. Then"),
        ("40 in2 of 30 ft3", f"40{NB}in² of 30{NB}ft³"),
        ("91.5 mm2", f"91.5{NB}mm²"),
        ("0.5 kg/m3", f"0.5{NB}kg/m³"),
        ("2 x 100-lb cylinder", "2 × 100-lb cylinder"),
        (" x ", " × "),  # between two quantities, each in an element of its own
        ("Wide x long", "Wide × long"),
        ("8 mm x 1 mm", f"8{NB}mm × 1{NB}mm"),
        ("30 % less heat", f"30{NB}% less heat"),
        ("from 5-10 min", f"from 5-10{NB}min"),
        ("gd1-7c0e52d1a9f3", "gd1-7c0e52d1a9f3"),
        ("the branch-2 run", "the branch-2 run"),
        ("-2 to -10 degF", f"−2 to −10{NB}°F"),
        ("-1", "−1"),
        ("-20&#160;", "−20&#160;"),
        ("WAC 296-307-43511 to -43521, read once", "WAC 296-307-43511 to -43521, read once"),
        ("tank3 and M10 x 1.5", "tank3 and M10 × 1.5"),
        ("ANSI Z21.15 / CSA 9.1", "ANSI Z21.15 / CSA 9.1"),
        ("3/8 in OD", f"3/8{NB}in OD"),
        ("fits 2 in a row", f"fits 2{NB}in a row"),
    ],
)
def test_what_is_set(written: str, shown: str) -> None:
    assert typeset(written) == shown


def test_code_stays_as_it_is_written_and_labels_and_drawings_are_set() -> None:
    html = (
        '<p>-10 degF <code>coldest: -10 degF</code></p><td data-label="Drop, inH2O">2</td>'
        '<svg><text id="a">1 ft2 on 2026-08-03</text></svg>'
    )
    assert typeset_page(html) == (
        f'<p>−10{NB}°F <code>coldest: -10 degF</code></p><td data-label="Drop, in. w.c.">2</td>'
        f'<svg><text id="a">1{NB}ft² on 2026-08-03</text></svg>'
    )


def test_neither_a_date_nor_a_code_breaks() -> None:
    assert typeset_page("<p>on 2026-08-03</p>") == '<p>on <span class="date">2026-08-03</span></p>'
    assert typeset_page("<p>gt1-7c0e52d1a9f3</p>") == '<p><span class="date">gt1-7c0e52d1a9f3</span></p>'


@given(st.text(alphabet='<>/ab"=-x 0123456789degFinH2O&;'))
def test_what_is_set_stays_the_same_text_and_is_not_set_twice(text: str) -> None:
    once = typeset(text)
    assert typeset(once) == once
    plain = once.replace("−", "-").replace("×", "x").replace(NB, " ").replace("in. w.c.", "inH2O").replace("°", "deg")
    assert re.sub("[²³]", lambda sign: {"²": "2", "³": "3"}[sign[0]], plain) == text


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("Vapour leaves it; a spanner holds", "Vapor leaves it; a wrench holds"),
        ("Add 'licence:' to the licence", "Add 'licence:' to the license"),
        ("odourless, off-centre", "odorless, off-center"),
        ("perimetre-like words stay", "perimetre-like words stay"),
    ],
)
def test_words_are_spelt_as_where_the_region_is_and_keys_stay(written: str, shown: str) -> None:
    assert american(written) == shown
    page = f"<p>{written} <code>licence: vapour</code></p>"
    assert typeset_page(page, american) == f"<p>{shown} <code>licence: vapour</code></p>"
    assert typeset_page(page) == page
