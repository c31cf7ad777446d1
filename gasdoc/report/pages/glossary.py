"""Words of the trade: what each is, what it is called elsewhere, and where it is first met on a page."""

import re
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from itertools import groupby

from markupsafe import Markup, escape

from gasdoc import data
from gasdoc.data import Entry
from gasdoc.report.content.pieces import KEPT, opening, pieces
from gasdoc.report.content.typography import typeset
from gasdoc.report.pages.whole_build import CLOSES, OPENS

PAGE = "reference/glossary.md"

ENOUGH = 8
"""Words from which on a group of letters takes no further letter (our choice)."""


class TradeWord(Entry, frozen=True):
    """One word: how texts write it, what it is in one sentence, and what it is called in other places and languages."""

    id: str
    forms: tuple[str, ...]
    says: str
    us: str = ""
    british: str = ""
    de: str = ""
    fr: str = ""
    nl: str = ""


class _Glossary(Entry, frozen=True):
    source: str
    confirmed: str
    words: tuple[TradeWord, ...]


def glossary() -> tuple[TradeWord, ...]:
    """All words, in the order of their first forms."""
    return tuple(sorted(_read().words, key=lambda word: word.forms[0].lower()))


def by_letters() -> list[tuple[str, list[TradeWord]]]:
    """All words in a few groups, each with the letters that it has: "A to C". A letter is in one group only."""
    groups: list[list[TradeWord]] = []
    for _, same in groupby(glossary(), lambda word: word.forms[0][0].upper()):
        if not groups or len(groups[-1]) >= ENOUGH:
            groups.append([])
        groups[-1] += same
    ends = [(group[0].forms[0][0].upper(), group[-1].forms[0][0].upper()) for group in groups]
    return [(" to ".join(dict.fromkeys(letters)), group) for letters, group in zip(ends, groups, strict=True)]


def words_source() -> str:
    """Where the words are from."""
    return _read().source


def _read() -> _Glossary:
    return data.read("gasdoc.report.pages", "glossary.yaml", _Glossary)


@cache
def _forms() -> tuple[re.Pattern[str], dict[str, TradeWord]]:
    """A pattern of every form, and the word of each. The forms stand by their first letters, so that few are tried."""
    words = {form.lower(): word for word in _read().words for form in word.forms}
    starts: dict[str, list[str]] = {}
    for form in sorted(words, key=len, reverse=True):
        starts.setdefault(form[0], []).append(re.escape(form[1:]))
    tried = "|".join(f"[{first}{first.upper()}](?:{'|'.join(rests)})" for first, rests in starts.items())
    return re.compile(rf"\b(?<!-)(?:{tried})(?![\w-])"), words


_WHOLE = (
    *("a", "button", "code", "dl", "h[1-6]", "header", "label", "nav", "pre", "strong", "summary", "svg", "table"),
    'details(?= class="sources")',
)
_ELSEWHERE = re.compile(rf"<({'|'.join(_WHOLE)})\b.*?</\1\b|<[^>]*>", re.DOTALL)
"""What has no words to mark: tags, links and headings, tables, code, drawings, verdicts, sources."""

_opened = opening(*_WHOLE)


def with_words(html: str, href: str, spell: Callable[[str], str] = str) -> str:
    """A page on which each word of the trade leads, where it is first met, to what it is at the page's end; `href` leads to
    the page of all words. A hint beside a word is shown by the browser; with the keyboard the style sheet shows it."""
    before, opens, rest = html.rpartition(OPENS)
    body, closes, after = rest.partition(CLOSES)
    told, met = _told(body, spell)
    return f"{before}{opens}{told}{_listed(met, href, spell)}{closes}{after}" if met else html


def with_every_word(html: str, href: str, spell: Callable[[str], str] = str) -> str:
    """A page, such as the whole record, with all words at its end."""
    return html + _listed(glossary(), href, spell)


def _listed(words: Sequence[TradeWord], href: str, spell: Callable[[str], str]) -> str:
    rows = "".join(
        f'<div><dt>{escape(spell(word.forms[0]))}</dt><dd id="word-{word.id}">{_says(word, spell)}</dd></div>'
        for word in sorted(words, key=lambda word: word.forms[0].lower())
    )
    many = f"{len(words)} words" if len(words) > 1 else "1 word"
    return (
        f'<details class="words"><summary>{many} of the trade, and what they mean</summary><dl class="small">{rows}</dl>'
        f'<p class="small"><a href="{href}">All words, with their names in other languages</a></p></details>\n'
    )


def _told(body: str, spell: Callable[[str], str]) -> tuple[str, list[TradeWord]]:
    """The body with its words marked, and which they are."""
    met: dict[str, TradeWord] = {}
    parts: list[str] = []
    for piece in pieces(body, _opened):
        done = 0
        for start, end, word in _marked(piece):
            if word.id not in met:
                met[word.id] = word
                parts += [
                    piece[done:start],
                    f'<a class="term" href="#word-{word.id}" title="{_says(word, spell)}" aria-describedby="word-{word.id}">',
                    f"{piece[start:end]}</a>",
                ]
                done = end
        parts += [piece[done:], "\n"]
    return "".join(parts[:-1]), list(met.values())


@lru_cache(maxsize=KEPT)
def _marked(html: str) -> tuple[tuple[int, int, TradeWord], ...]:
    """Where in a piece of a page words of the trade stand that may be marked, and which they are."""
    pattern, words = _forms()
    apart = [found.span() for found in _ELSEWHERE.finditer(html)]
    begins, ends = (0, *(end for _, end in apart)), (*(start for start, _ in apart), len(html))
    return tuple(
        (*found.span(), words[found[0].lower()])
        for begin, end in zip(begins, ends, strict=True)
        for found in pattern.finditer(html, begin, end)
    )


def _says(word: TradeWord, spell: Callable[[str], str]) -> Markup:
    return escape(typeset(spell(word.says)))
