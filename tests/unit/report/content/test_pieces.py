"""A page in pieces is the whole page again, and an element that has to stay whole is in one of them."""

from __future__ import annotations

import pytest

from gasdoc.report.content.pieces import opening, pieces

OPENED = opening("pre", "a", "h[1-6]")


@pytest.mark.parametrize(
    ("html", "found"),
    [
        ("", [""]),
        ("<p>one\ntwo</p>\n<p>three</p>\n", ["<p>one\ntwo</p>", "<p>three</p>\n"]),
        ("<pre>\n<b>1</b>\n</pre>\n<p>2</p>", ["<pre>\n<b>1</b>\n</pre>", "<p>2</p>"]),
        ("<pre>1</pre><h2>\n<i>2</i></h2>\n<p>3", ["<pre>1</pre><h2>\n<i>2</i></h2>", "<p>3"]),
        ("<a>\n<abbr>1</abbr>\n</a><pre>\n</pre>\n<p>", ["<a>\n<abbr>1</abbr>\n</a><pre>\n</pre>", "<p>"]),
        ("<p>1\n<pre>\n<p>2\n<p>3", ["<p>1", "<pre>\n<p>2\n<p>3"]),  # nothing ends it
    ],
)
def test_pieces(html: str, found: list[str]) -> None:
    assert list(pieces(html, OPENED)) == found
    assert "\n".join(found) == html
