"""The forms of data files: what each lets through, and that what it does not is told with file and line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from gasdoc import data
from gasdoc.catalog import files
from gasdoc.forms import Form, Place, each, flag, many, maybe, number, one_of, quantity, row, text, words

CATALOG = Path(files.__file__).parent
OF_MODELS = ("regulators.yaml", "sold.yaml", "tubing.yaml")
SHIPPED = sorted(path.relative_to(CATALOG).as_posix() for path in CATALOG.rglob("*.yaml") if path.name not in OF_MODELS)
FEW = row({"id": text}, {"size": maybe(number(above=0))})

CASES: list[tuple[Form, list[str], list[str]]] = [
    (text, ["words", "'1/2'"], ["", "12", "[a]", "yes", "''"]),
    (words, ["words", "''"], ["12", "{a: b}", ""]),
    (flag, ["yes", "no"], ["maybe", "1", "[]"]),
    (number(), ["1", "-2.5"], ["x", ".inf", "-.inf", ".nan", "'1'", "[1]", ""]),
    (number(0), ["0", "3"], ["-0.1", ".inf"]),
    (number(above=0), ["0.1"], ["0", "-1"]),
    (quantity("pressure"), ["11 inH2O", "0 psi"], ["11", "11 ft", "-1 psi", "[11 psi]", "", "'nan psi'"]),
    (quantity("temperature"), ["-40 degF"], ["-40", "-40 psi"]),
    (quantity("mass", "volume"), ["1 kg", "1 L"], ["1 m", "1"]),
    (one_of("coil", "length"), ["coil"], ["bar", "[coil]", ""]),
    (maybe(text), ["words", "", "~"], ["12"]),
    (many(text), ["[a]"], ["[]", "a", "[1]", "{a: b}"]),
    (many(text, 0), ["[]"], ["", "a"]),
    (many(number(), exactly=2), ["[1, 2]"], ["[1]", "[1, 2, 3]"]),
    (each(number()), ["{a: 1}"], ["{}", "{a: b}", "[1]", "{1: 1}"]),
    (each(text, key=number(above=0)), ["{1: a}"], ["{a: a}", "{-1: a}"]),
    (
        FEW,
        ["{id: a}", "{id: a, size: 2}", "{id: a, size: }"],
        ["{size: 2}", "{id: a, colour: b}", "{id: a, size: 0}", "[id]", "a"],
    ),
]


def told(form: Form, written: str) -> str | None:
    node = yaml.compose(f"\n{written}", yaml.SafeLoader)
    assert node is not None
    try:
        form(node, Place("some.yaml"))
    except data.DataError as error:
        return str(error)
    return None


@pytest.mark.parametrize(("form", "good", "bad"), CASES)
def test_what_is_let_through_and_what_is_told(form: Form, good: list[str], bad: list[str]) -> None:
    for written in good:
        assert told(form, written or "~") is None, written
    for written in bad:
        said = told(form, written or "~")
        assert said is not None and re.match(r"some\.yaml:2: ", said), (written, said)


def test_an_error_says_what_is_there_and_what_has_to_be() -> None:
    assert told(FEW, "{id: a, size: -2}") == "some.yaml:2: 'size' is '-2'; it must be a number above 0"
    assert (
        told(FEW, "{id: a, colour: b}") == "some.yaml:2: 'colour' means nothing in the file; its keys are 'id', 'size'"
    )
    assert told(many(FEW), "[{size: 2}]") == "some.yaml:2: 'id' is missing in an item of the file"
    assert (
        told(each(quantity("pressure")), "{most: }")
        == "some.yaml:2: 'most' is empty; it must be a pressure, such as '11 inH2O'"
    )


@pytest.mark.parametrize("name", SHIPPED)
def test_every_file_of_the_catalogue_is_of_its_form(name: str) -> None:
    """Read from the file, not from the kept copy, which is not checked again."""
    form = files._check("tables" if name.startswith("tables/") else name)
    assert data.parse((CATALOG / name).read_text(encoding="utf-8"), name, form)


def test_a_table_has_a_cell_for_each_column() -> None:
    written = (CATALOG / "tables/pe_11inwc_0p5.yaml").read_text(encoding="utf-8")
    with pytest.raises(data.DataError, match=r"pe\.yaml:\d+: '10' is a list; it must be a list of 8"):
        data.parse(written.replace("10: [340, ", "10: ["), "pe.yaml", files._check("tables"))
