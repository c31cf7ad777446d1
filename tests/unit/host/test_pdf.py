"""What a page is before it is printed: links that lead somewhere from paper, and contents with the numbers of their pages."""

from __future__ import annotations

import io

from pypdf import PdfWriter

from gasdoc.host import pdf

HEAD = '<link rel="canonical" href="https://builds.example.org/gas/hut/whole/">'


def test_links_of_a_page_whose_site_says_its_address_lead_there() -> None:
    found = pdf._with_whole_links(HEAD + '<a class="x" href="../door-sheet/?a=1&amp;b=2">d</a>')
    assert 'data-within href="https://builds.example.org/gas/hut/door-sheet/?a=1&amp;b=2"' in found


def test_links_into_a_folder_that_is_gone_are_taken_out() -> None:
    assert pdf._with_whole_links('<a class="x" href="door-sheet.html">d</a>') == '<a class="x">d</a>'


def test_links_within_the_page_and_to_elsewhere_stay() -> None:
    html = '<a href="#tests">t</a><a href="https://example.org/">e</a><link href="css/a.css"><a href="tel:911">c</a>'
    assert pdf._with_whole_links(html) == html


def test_contents_get_the_number_of_the_page_that_each_place_is_on() -> None:
    writer = PdfWriter()
    for _ in range(3):
        writer.add_blank_page(200, 200)
    writer.add_named_destination("upkeep", 2)
    made = io.BytesIO()
    writer.write(made)
    html = '<span class="at" data-of="upkeep"></span><span class="at" data-of="gone"></span>'
    assert pdf._with_page_numbers(html, made.getvalue()) == (
        '<span class="at" data-of="upkeep">3</span><span class="at" data-of="gone"></span>'
    )
