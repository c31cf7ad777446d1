"""Words of the trade: each is explained where it is first met on a page, and all of them on a page of their own."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from markupsafe import Markup

from gasdoc.report.content.typography import american
from gasdoc.report.pages.glossary import by_letters, glossary, with_every_word, with_words, words_source
from gasdoc.report.pages.templates import environment

FRAME = "<h1>Flare</h1><p>A regulator.</p><!-- body -->\n{}\n<!-- /body -->\n<p>End of flares.</p>"


def marked(body: str, spell: Callable[[str], str] = american) -> str:
    return with_words(FRAME.format(body), "words.md", spell)


def test_a_word_leads_once_to_what_it_is_at_the_end_of_the_page() -> None:
    html = marked("<p>Each flare nut is dry. A flare, another flare.</p>", str)
    assert html.count('class="term"') == 1
    link = re.search(
        r'<a class="term" href="#word-flare" title="([^"]+)" aria-describedby="word-flare">flare nut</a>', html
    )
    assert link is not None
    assert f'<dt>flare</dt><dd id="word-flare">{link[1]}</dd>' in html
    assert html.index('id="word-flare"') < html.index("<!-- /body -->")
    assert "1 word of the trade" in html and 'href="words.md"' in html


@pytest.mark.parametrize(
    "body",
    [
        '<p><a href="x">the flare</a></p>',
        "<h2>Flare and POL</h2>",
        "<p><code>flare</code></p>",
        "<table><tr><td>flare</td></tr></table>",
        '<p title="a flare">None of ours.</p>',
        "<p><strong>Not a flare.</strong></p>",
        "<p>flare-up, inflare, flared</p>",
        "<svg><text>flare</text></svg>",
    ],
)
def test_links_headings_code_cells_and_other_words_stay(body: str) -> None:
    assert marked(body) == FRAME.format(body)


def test_what_is_outside_the_body_stays() -> None:
    assert "A regulator.</p><!-- body -->" in marked("<p>A tee.</p>") and "End of flares." in marked("<p>A tee.</p>")


def test_the_whole_record_lists_every_word() -> None:
    html = with_every_word("<p>All.</p>", "words.md")
    assert html.startswith("<p>All.</p><details") and html.count("<dt>") == len(glossary())


def test_a_word_is_explained_as_the_region_spells() -> None:
    assert "Two wrenches" in Markup(american("Two spanners"))
    assert "two wrenches" in marked("<p>A union.</p>") and "two spanners" in marked("<p>A union.</p>", str)


def test_every_word_has_one_meaning_of_a_sentence_or_two_and_no_form_twice() -> None:
    forms = [form.lower() for word in glossary() for form in word.forms]
    assert len({word.id for word in glossary()}) == len(glossary())
    assert len(forms) == len(set(forms)) and len(glossary()) > 40
    for word in glossary():
        assert word.says.endswith(".") and word.says.count(". ") < 2, word.id
        assert bool(word.de) == bool(word.fr) == bool(word.nl), word.id
    assert "from memory" in words_source()


def test_the_page_has_every_word_with_its_names(made_words: str) -> None:
    for word in glossary():
        assert f'id="word-{word.id}"' in made_words
        assert all(name.replace("'", "&#39;") in made_words for name in (word.de, word.fr, word.nl))


@pytest.fixture(scope="module")
def made_words() -> str:
    from gasdoc.report.site.reference import pages

    made = {page.uri: page.html for page in pages(environment(None), lambda _, target: target, ())}
    return made["reference/glossary.md"]


def test_every_word_is_in_one_group_of_letters_in_order() -> None:
    groups = by_letters()
    assert [word for _, group in groups for word in group] == list(glossary()) and 3 < len(groups) < 12
    for letters, group in groups:
        assert letters[0] == group[0].forms[0][0].upper() and letters[-1] == group[-1].forms[0][0].upper()
