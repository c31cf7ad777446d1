"""QR codes of addresses: a drawing that a reader can take, and that says what it is."""

from __future__ import annotations

import re

from gasdoc.report.drawings.qr import drawn

ADDRESS = "https://builds.example.org/gas/larch-hut/index.html"


def test_a_code_has_the_size_of_its_version_with_four_modules_of_quiet_around() -> None:
    """ISO/IEC 18004: 17 + 4 x version modules a side; version 4-M holds 62 bytes, 3-M 42; a quiet zone of 4 modules."""
    assert len(ADDRESS) == 51
    assert 'viewBox="0 0 41 41"' in drawn(ADDRESS, "x")  # 17 + 4 x 4 + 2 x 4


def test_a_code_is_dark_on_white_in_every_scheme_and_styles_nothing() -> None:
    svg = drawn(ADDRESS, "x")
    assert 'fill="#fff"' in svg and 'stroke="#000"' in svg
    assert "style=" not in svg and "width=" not in svg


def test_a_code_says_in_words_where_it_leads() -> None:
    svg = drawn(ADDRESS, 'code of "a" & <b>')
    assert re.match(r'<svg role="img" aria-label="code of &#34;a&#34; &amp; &lt;b&gt;" ', svg)
