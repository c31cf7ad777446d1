"""Every row of the ledger that rests on a published text, held against that text as it was read.

The figures are in `data/published/`, a file for each subject. A text says what it is, its edition, and where it was read or
who tells it. Its figures stand as it prints them, in its own units. They come from the texts, never from gasdoc's data files.
Which published rows have no figure there, and why, is in `data/published/without.yaml`.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import fast_yaml
import pytest

from gasdoc.catalog.containers import cylinder_table, filling_density
from gasdoc.catalog.tables import table
from gasdoc.catalog.tubing import sizes as sizes_of
from gasdoc.engineering.constants import FOOT, INCH, KBTU_PER_HOUR, POUND
from gasdoc.study.referral.ledger import LedgerFigure, ledger
from gasdoc.units import parse, units

HERE = Path(__file__).parent
FOLDER = HERE / "data/published"
SUBJECTS = ("supply", "container", "proof", "materials", "air", "upkeep", "referral")
SAID = frozenset({"at", "words", "within", "because"})
"""Keys of a figure that name no key of the row."""
QUANTITY = re.compile(r"-?\d[\d,.]*(?:/\d+)?(?:\s\d+/\d+)?\s?%|-?\d[\d,.]*(?: \d+/\d+|/\d+)?\s[A-Za-z]+[\d/]*[A-Za-z]*")
"""A number with its unit, in a sentence."""


@pytest.fixture(scope="module")
def figures() -> dict[str, LedgerFigure]:
    return {figure.at: figure for figure in ledger()}


@cache
def read(name: str) -> dict[str, Any]:
    loaded: dict[str, Any] = fast_yaml.read(FOLDER / f"{name}.yaml")
    return loaded


def held(subject: str) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    """Each row of the ledger that a file names, with what its text prints of it, and the text."""
    for text in read(subject)["texts"]:
        for printed in text["figures"]:
            names = printed["at"] if isinstance(printed["at"], list) else [printed["at"]]
            for at in names:
                yield at, printed, text


def sizes(text: str) -> dict[str, float]:
    """What a number with a unit is in SI, by dimension; a plain number has none, and words are no size."""
    plain = text.replace(",", "")
    if re.fullmatch(r"-?\d+(\.\d+)?(e[-+]?\d+)?", plain):
        return {"": float(plain)}
    number = re.match(r"-?[\d./]+(?:[ -]\d+/\d+)?(?:e[-+]?\d+)?", plain)
    spelling = plain[number.end() :].strip() if number else ""
    return {one: float(parse(plain, one)) for one, spellings in units().items() if spelling in spellings}


def alike(ours: str, printed: str, within: float) -> bool:
    """Whether two figures are the same size, be they in other units, or the same words."""
    a, b = sizes(ours), sizes(printed)
    return ours == printed or any(a[d] == pytest.approx(b[d], rel=within, abs=1e-12) for d in a.keys() & b.keys())


def values(figure: LedgerFigure, key: str) -> list[str]:
    """What the ledger prints of a row under a key, in its order; without a key, what stands in it alone."""
    parts = figure.value.split("; ")
    if key == "is":
        return parts
    return [one for part in parts if part.startswith(f"{key} ") for one in part.removeprefix(f"{key} ").split(", ")]


def differences(figure: LedgerFigure, printed: dict[str, Any]) -> Iterator[str]:
    """Where the row is not what its text prints."""
    within = printed.get("within", 1e-6)
    for key, value in printed.items():
        wanted = [str(one) for one in (value if isinstance(value, list) else [value])]
        if key == "words":
            sentence = figure.value.replace("  ", " ")
            there = QUANTITY.findall(sentence)
            for word in wanted:
                literal = re.search(rf"(?<![\w.,]){re.escape(word)}(?![\w]|[.,]\d)", sentence)
                if literal is None and not any(alike(one.strip(" ."), word, within) for one in there):
                    yield f"prints {word!r}, which is not in {sentence!r}"
        elif key not in SAID:
            ours = values(figure, key)
            if key == "is":
                ours = [one for one in ours if any(alike(one, word, within) for word in wanted)] or ours[:1]
            if len(ours) != len(wanted) or not all(alike(a, b, within) for a, b in zip(ours, wanted, strict=True)):
                yield f"prints {key} {wanted}, the row has {ours}"


@pytest.mark.parametrize("subject", SUBJECTS)
def test_each_figure_is_what_its_text_prints(subject: str, figures: dict[str, LedgerFigure]) -> None:
    wrong = [
        f"{at}: {text['text']} ({text['edition']}; {text['read']}) {difference}"
        for at, printed, text in held(subject)
        for difference in (differences(figures[at], printed) if at in figures else ["names no row of the ledger"])
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("read_apart", read("materials")["sizes"], ids=lambda one: f"{one['material']} {one['kind']}")
def test_each_size_of_tubing_is_what_its_text_prints(read_apart: dict[str, Any]) -> None:
    known = {size.id: size for size in sizes_of(read_apart["material"], read_apart["kind"])}
    scale = {"in": INCH, "mm": 0.001}[read_apart["unit"]]
    for what, of in (("bore", "bore"), ("outside", "outside_diameter")):
        for size, printed in read_apart.get(what, {}).items():
            assert getattr(known[size], of) == pytest.approx(printed * scale), f"{what} of {size}"


@pytest.mark.parametrize("name", read("capacities")["tables"])
def test_each_cell_of_a_capacity_table_is_the_printed_one(name: str) -> None:
    ours, pages = table(name), read("capacities")["tables"][name]
    feet = [round(length / FOOT) for length in ours.lengths]
    columns = [ours.sizes.index(f"EHD {size}" if ours.law == "corrugated" else size) for size in pages["sizes"]]
    *_, last = pages["rows"]
    for length, cells in pages["rows"].items():
        row = ours.cells[feet.index(length)]
        pairs = list(zip(columns, cells, strict=length != last))  # the last row of a page may be cut off
        known = {column: row[column] for column, _ in pairs if row[column] is not None}
        assert known == pytest.approx({at: cell * KBTU_PER_HOUR for at, cell in pairs if at in known}), f"{length} ft"


@pytest.mark.parametrize(("rows", "gallons"), [("to_1200_gal", 1200), ("over_1200_gal", 1201)])
def test_a_container_is_filled_by_the_printed_densities(rows: str, gallons: int) -> None:
    for gravity, percent in read("container")["filling"][rows].items():
        share, _ = filling_density(gravity, gallons * 231 * INCH**3)
        assert share == pytest.approx(percent / 100), f"specific gravity {gravity}"


def test_the_cylinder_table_is_the_printed_one() -> None:
    contents, airs, cells = cylinder_table()
    pounds = [round(content / POUND) for content in contents]
    degf = [round(air * 1.8 - 459.67) for air in airs]
    found = {
        mass: {air: round(cell / KBTU_PER_HOUR, 6) for air, cell in zip(degf, row, strict=True)}
        for mass, row in zip(pounds, cells, strict=True)
    }
    assert found == read("container")["cylinder_100lb"]["cells"]


def test_a_published_row_is_held_against_its_text_or_listed_with_the_reason(figures: dict[str, LedgerFigure]) -> None:
    without = read("without")
    listed = [at for one in without["elsewhere"] for at in one["at"]]
    listed += [at for why in ("names", "practice", "unread") for at in without[why]]
    named = {at for subject in SUBJECTS for at, _, _ in held(subject)}
    published = {at for at, figure in figures.items() if figure.confirmed in ("twice", "once")}
    with_a_digit = {at for at in published if re.search(r"\d", figures[at].value)}
    assert sorted(listed) == sorted(with_a_digit - named)


def test_each_test_that_holds_a_row_elsewhere_is_there() -> None:
    for one in read("without")["elsewhere"]:
        module, _, name = one["by"].partition(".")
        tree = ast.parse((HERE / f"{module}.py").read_text(encoding="utf-8"))
        assert any(isinstance(node, ast.FunctionDef) and node.name == name for node in tree.body), one["by"]


def test_a_text_says_what_it_is_its_edition_and_where_it_was_read_and_a_tolerance_its_reason() -> None:
    texts = [text for subject in SUBJECTS for text in read(subject)["texts"]]
    for text in texts:
        assert text.keys() - {"looked"} == {"text", "edition", "read", "figures"}, text["text"]
        for printed in text["figures"]:
            assert printed.keys() - SAID or "words" in printed, printed
            assert "within" not in printed or "because" in printed, printed


@pytest.mark.parametrize(
    ("at", "printed"),
    [
        ("regions/boat-eu rules/locker-drain", {"limit": "20 mm"}),
        ("regions/boat-eu rules/locker-drain", {"words": "14 kg"}),
        ("regions/common rules/locker-vents-en-least", {"limit": "100 mm2"}),
        ("regions/au-nz rules/container-count", {"limit": "3"}),
        ("regions/au-nz supply/nominal", {"is": "2.8 kPa"}),
        ("catalog/screwed threads/npt-1", {"length": ["0.6609 in", "1/2 in", "0.6828 in"]}),
        ("regions/uk tests/leak-check-up1b", {"pressure": "37 mbar"}),
    ],
)
def test_a_figure_that_is_not_the_texts_is_told(
    at: str, printed: dict[str, Any], figures: dict[str, LedgerFigure]
) -> None:
    assert list(differences(figures[at], printed))
