"""Data files read into models: what is read, and how a slip is told."""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path
from typing import Annotated, Literal

import pytest
from pydantic import BaseModel

from gasdoc import data
from gasdoc.data import ById, Cited, DataError, Entry
from gasdoc.scalars import Bounds, Quantity
from gasdoc.source import Citation
from gasdoc.units import Given


class Vessel(Cited, frozen=True):
    """A row of a made-up file."""

    id: str
    rating: Annotated[Given, Quantity(("pressure",))]
    kind: Literal["upright", "lying"] = "upright"
    walls: int = 1
    weight: Annotated[float, Bounds(ge=0)] | None = None
    sold: bool = True
    names: tuple[str, ...] = ()


class Vessels(Entry, frozen=True):
    """A made-up file."""

    vessels: ById[Vessel]


TEXT = """\
vessels:
  - id: small
    rating: 2 bar
    walls: 2
    citation: Common practice, no source
    confirmed: practice
  - {id: large, rating: 10 psi, kind: lying, sold: no, names: [10, yes], weight: 1.5, citation: A code, confirmed: once}
"""


def read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str | None) -> Vessels:
    """The made-up file with that text; with None, as it lies there."""
    if text is not None:
        (tmp_path / "some.yaml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(data, "_folder", lambda package: tmp_path)
    data.forget()
    try:
        return data.read("made.up", "some.yaml", Vessels)
    finally:
        data.forget()


@pytest.mark.parametrize("again", [False, True], ids=["from the file", "from the kept copy"])
def test_a_file_is_read_into_its_model(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, again: bool) -> None:
    if again:
        read(tmp_path, monkeypatch, TEXT)
    small, large = read(tmp_path, monkeypatch, TEXT).vessels
    assert (small.rating, small.rating.text, small.walls, small.sold, small.weight) == (2e5, "2 bar", 2, True, None)
    assert small.citation == Citation("Common practice, no source", "practice")
    assert large.rating == pytest.approx(68947.57)
    assert (large.kind, large.sold, large.names, large.weight) == ("lying", False, ("10", "yes"), 1.5)


def test_the_copy_is_kept_where_python_keeps_what_it_compiles(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    elsewhere = tmp_path / "elsewhere"
    monkeypatch.setattr(sys, "pycache_prefix", str(elsewhere))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    read(tmp_path, monkeypatch, TEXT)
    assert [path.name for path in tmp_path.iterdir() if path.is_dir()] == ["elsewhere"]
    assert len(list(elsewhere.rglob("some.yaml.*"))) == 1


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("2 bar", "2 baar", "3:13: unknown unit 'baar' in '2 baar'; did you mean 'bar'?"),
        ("2 bar", "2 m", "3:13: '2 m' is a length; this needs a pressure, such as '11 inH2O'"),
        ("2 bar", "", "3:12: 'rating' is empty; write a quantity such as '11 inH2O'"),
        ("2 bar", "-2 bar", "3:13: '-2 bar' is out of range; this must be zero or more"),
        ("walls: 2", "wals: 2", "4:5: unknown key 'wals'; did you mean 'walls'?"),
        ("walls: 2", "walls: two", "4:12: 'two' is not a number; write a plain number, without a unit"),
        ("walls: 2", "walls:", "4:11: 'walls' is empty; write it on the same line, or leave the key out"),
        ("walls: 2", "weight: -1", "4:13: '-1' is out of range; this must be at least 0"),
        ("walls: 2", "weight: .nan", "4:13: '.nan' is not a number; write a plain number, without a unit"),
        ("walls: 2", "sold: maybe", "4:11: 'maybe' is neither yes nor no; write yes or no"),
        (
            "walls: 2",
            "names: tub",
            "4:12: 'names' must be a list, and 'tub' stands here; write it in brackets: names: [tub]",
        ),
        ("walls: 2", "names: [tub, []]", "4:18: a list stands where text belongs; write text on the same line"),
        ("kind: lying", "kind: laying", "7:39: 'laying' is not known here; did you mean 'lying'?"),
        ("confirmed: practice", "confirmed: maybe", "6:16: 'maybe' is not known here; write one of: twice, once"),
        ("    citation: Common practice, no source\n", "", "2:5: 'citation' is missing from vessels; add it"),
        ("Common practice, no source", "''", "5:15: the text is empty; write something, or leave the key out"),
        ("id: large", "id: small", "7:5: the id 'small' stands here a second time; give each row an id of its own"),
        ("rating: 10 psi", "rating: 10 psi, rating: 1 psi", "7:33: key 'rating' appears twice"),
        ("vessels:", "vessels: [", "1:10: "),
    ],
)
def test_a_slip_is_told_with_its_place_and_what_would_be_right(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, old: str, new: str, told: str
) -> None:
    assert TEXT.count(old) == 1
    with pytest.raises(DataError) as caught:
        read(tmp_path, monkeypatch, TEXT.replace(old, new))
    assert str(caught.value).startswith(f"some.yaml:{told}")


def test_rows_are_validated_once_and_kept_for_the_next_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    first = read(tmp_path, monkeypatch, TEXT)
    with monkeypatch.context() as closed:
        closed.setattr(Vessels, "__get_pydantic_core_schema__", None)
        again = read(tmp_path, monkeypatch, None)
    assert again == first and again is not first
    rating = again.vessels[0].rating
    assert (rating, rating.text, rating.unit, rating.dimension) == (pytest.approx(2e5), "2 bar", "bar", "pressure")
    assert again.vessels[0].citation == Citation("Common practice, no source", "practice")


def test_a_check_makes_no_model_of_pydantic_but_those_of_a_spec() -> None:
    import_module("gasdoc.folder.check")
    made, models = set[str](), [BaseModel]
    while models:
        models += (below := models.pop().__subclasses__())
        made |= {model.__module__ for model in below if model.__module__.startswith("gasdoc.")}
    assert made and all(module.startswith("gasdoc.build.model.") or module == "gasdoc.build.model" for module in made)


def test_kept_rows_hold_for_the_files_that_made_them_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    read(tmp_path, monkeypatch, TEXT)
    assert read(tmp_path, monkeypatch, TEXT.replace("2 bar", "3 bar")).vessels[0].rating == pytest.approx(3e5)
    (tmp_path / "beside.yaml").write_text("", encoding="utf-8")  # another file, which a row may be made of, too
    monkeypatch.setattr(Vessels, "_made", lambda names, values: Vessels(vessels=()))
    assert read(tmp_path, monkeypatch, None).vessels == ()


def test_where_python_writes_nothing_no_rows_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.dont_write_bytecode", True)
    assert read(tmp_path, monkeypatch, TEXT) == read(tmp_path, monkeypatch, None)
    assert [path.name for path in tmp_path.iterdir()] == ["some.yaml"]
