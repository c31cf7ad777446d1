"""Units and constants: as the list of units has them, and each number in one place."""

from __future__ import annotations

import ast
from collections import Counter
from pathlib import Path

import pytest

import gasdoc
from gasdoc import units
from gasdoc.engineering import constants

PACKAGE = Path(gasdoc.__file__).parent
CALCULATES = ("engineering", "catalog", "study", "report")


@pytest.mark.parametrize(
    ("ours", "written", "dimension"),
    [
        (constants.FOOT, "1 ft", "length"),
        (constants.INCH, "1 in", "length"),
        (constants.POUND, "1 lb", "mass"),
        (constants.PSI, "1 psi", "pressure"),
        (constants.INCH_OF_WATER, "1 inH2O", "pressure"),
        (constants.CUBIC_FOOT, "1 ft3", "volume"),
        (constants.KBTU_PER_HOUR, "1 kBtu/h", "power"),
        (constants.DAY, "1 day", "time"),
        (constants.FREEZING, "0 degC", "temperature"),
        (constants.FIFTEEN_CELSIUS, "15 degC", "temperature"),
    ],
)
def test_the_sizes_of_units_are_those_of_the_list(ours: float, written: str, dimension: str) -> None:
    assert ours == pytest.approx(float(units.parse(written, dimension)), rel=1e-15)


def test_sixty_fahrenheit_is_rounded_to_the_hundredth() -> None:
    assert pytest.approx(float(units.parse("60 degF", "temperature")), abs=0.005) == constants.SIXTY_FAHRENHEIT


def digits(number: float) -> int:
    """How many significant digits a number is written with."""
    return len(f"{number:.15g}".split("e")[0].replace(".", "").replace("-", "").strip("0"))


def figures(source: str) -> set[float]:
    """The numbers of five significant digits and more in a module: those that come from somewhere."""
    constant = (node.value for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant))
    return {value for value in constant if isinstance(value, float) and digits(value) >= 5}


def test_no_figure_stands_in_two_modules() -> None:
    counts: Counter[float] = Counter()
    for layer in CALCULATES:
        for path in (PACKAGE / layer).rglob("*.py"):
            counts.update(figures(path.read_text(encoding="utf-8")))
    assert {constants.PSI, constants.BTU} <= set(counts), "the search finds what it should"
    assert [number for number, count in counts.items() if count > 1] == []
