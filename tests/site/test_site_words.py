"""What the built example site says, as it is read: in the region's units and signs, in short sentences, in the region's words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from sentences import LONGEST, sentences

US = ("bakery-trailer", "larch-hut", "wood-shop-plan", "wood-shop-taken")
ELSEWHERE = ("floating-studio",)

_APART = re.compile(
    r'<(code|pre|head|script|style|svg|nav)\b.*?</\1|<details class="sources".*?</details|<a class="cite\b.*?</a',
    re.DOTALL,
)
_BLOCK = re.compile(
    r"<(p|li|dd|summary)\b[^>]*>((?:(?!</?(?:p|li|dd|dl|ul|ol|table|div|label|details|summary)\b).)*)", re.DOTALL
)


@cache
def page(path: Path) -> str:
    """A page without code, drawings and sources."""
    return _APART.sub(" ", path.read_text(encoding="utf-8"))


def words(html: str) -> str:
    inside = re.sub(r"</?(?:a|b|em|i|span|strong|sub|sup|time)\b[^>]*>", "", html)
    return " ".join(unescape(re.sub("<[^>]*>", " ", inside)).replace("\u00a0", " ").split())


def read(site: Path, *builds: str) -> Iterator[tuple[str, str]]:
    """Each page of some builds, as text. What a log says and what a sheet leaves blank is not gasdoc's."""
    for build in builds:
        for path in sorted((site / build).glob("*.html")):
            if path.stem not in ("log", "whole", "photos"):
                yield f"{build}/{path.name}", path_text(path)


@cache
def path_text(path: Path) -> str:
    return words(page(path))


@pytest.fixture(scope="module")
def built(example_sites: dict[str, Path]) -> Path:
    return example_sites["files"]


def test_no_unit_and_no_sign_is_as_a_keyboard_has_it(built: Path) -> None:
    typed = re.compile(
        r"\bdeg[FC]\b|\binH2O\b|\b(?:ft|in|mm|cm|m)[23]\b|\d x \d|(?<![\w.,)/-])-\d[\d.]* ?(?:°|psi|mbar)"
    )
    found = [(name, hit[0]) for name, text in read(built, *US, *ELSEWHERE) for hit in typed.finditer(text)]
    assert found == []


def test_a_build_in_us_units_shows_no_other_and_one_elsewhere_none_of_theirs(built: Path) -> None:
    """What a rule or a test asks is in its own units, and stands in the words of its text."""
    other = {
        US: re.compile(r"\d (?:mbar|kW|kPa|km|m/s|°C|kg/h)\b"),
        ELSEWHERE: re.compile(r"\d (?:in\. w\.c\.|psi|kBtu/h|°F|ft|mi|lb)(?![\w²³])"),
    }
    for builds, pattern in other.items():
        for name, text in read(built, *builds):
            if name.rpartition("/")[2] in ("supply.html", "container.html"):
                assert [text[max(hit.start() - 60, 0) : hit.end()] for hit in pattern.finditer(text)] == [], name


def test_sentences_of_the_site_are_short(built: Path) -> None:
    """Figures, what stands in brackets and lists of things do not count; in lists a semicolon ends one."""
    long = set()
    for build in (*US, *ELSEWHERE):
        for path in sorted((built / build).glob("*.html")):
            if path.stem in ("log", "whole", "photos", "test-sheet", "shopping-list"):
                continue
            for block in _BLOCK.finditer(page(path)):
                text = words(block[2])
                while text != (text := re.sub(r"\([^()]*\)", "", text)):
                    pass
                for sentence in (s for piece in text.split(";") for s in sentences(piece)):
                    said = [word for word in sentence.split() if re.search("[^\\W\\d_]", word)]
                    if sentence[-1] in ".?!" and len(said) > LONGEST and sentence.count(",") < 4:
                        long.add(f"{build}/{path.name}: {sentence}")
    assert long == set()


def test_words_are_those_of_the_region(built: Path) -> None:
    british = re.compile(
        r"\b(?:spanners?|vapour|aluminium|draughts?|kerb|louvres?|cupboards?|petrol|licence|litres?|tyres?)\b",
        re.IGNORECASE,
    )
    american = re.compile(
        r"\b(?:wrench(?:es)?|vapor|aluminum|drafts|curb|louvers?|gasoline|liters?|tires?)\b", re.IGNORECASE
    )
    for builds, others in ((US, british), (ELSEWHERE, american)):
        for name, text in read(built, *builds):
            assert [text[max(hit.start() - 40, 0) : hit.end() + 20] for hit in others.finditer(text)] == [], name
