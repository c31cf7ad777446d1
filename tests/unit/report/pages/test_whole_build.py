"""A whole build as one page: ids, links and headings of its parts."""

from __future__ import annotations

from gasdoc.report.pages.whole_build import part

NAMED = {"supply.html": "supply", "index.html": "index"}


def body(html: str, folder: str = "", section: str = "supply") -> str:
    """The part's body for a page whose body is `html`."""
    return str(
        part(
            section, "Title", f"<h1>left out</h1><!-- body -->{html}<!-- /body --><nav>left out</nav>", folder, NAMED
        ).body
    )


def test_only_what_is_the_pages_own_is_taken() -> None:
    assert body("<p>kept</p>") == "<p>kept</p>"


def test_ids_and_what_names_them_begin_with_the_parts_name() -> None:
    assert body('<svg aria-labelledby="a b"><title id="a">t</title></svg><a href="#a">x</a>') == (
        '<svg aria-labelledby="supply--a supply--b"><title id="supply--a">t</title></svg><a href="#supply--a">x</a>'
    )


def test_links_to_pages_of_the_build_become_places_in_the_page() -> None:
    assert body('<a href="index.html">o</a><a href="index.html#findings">f</a>') == (
        '<a href="#index">o</a><a href="#index--findings">f</a>'
    )


def test_other_links_are_written_from_where_the_whole_page_stands() -> None:
    # With folders as addresses the overview is at hut/, the whole page at hut/whole/.
    assert body('<a href="materials.csv">m</a><img src="../photo.jpg">', "..", "index") == (
        '<a href="../materials.csv">m</a><img src="../../photo.jpg">'
    )
    assert body('<a href="https://example.org/a#b">e</a><a href="mailto:a@example.org">m</a>', "..") == (
        '<a href="https://example.org/a#b">e</a><a href="mailto:a@example.org">m</a>'
    )


def test_headings_stand_one_level_lower() -> None:
    assert body("<h2>a</h2><h3 class='x'>b</h3>") == "<h3>a</h3><h4 class='x'>b</h4>"


def test_text_that_looks_like_an_attribute_is_left_alone() -> None:
    assert body("<p>write id: and href= as they stand</p>") == "<p>write id: and href= as they stand</p>"
