"""The catalogue's data files: what each lets through, and that what it does not is told with file, line and column."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from changed_data import changed_files

from gasdoc import data
from gasdoc.catalog import (
    alarms,
    appliances,
    bolts,
    containers,
    countries,
    instruments,
    joints,
    kit,
    mounting,
    openings,
    part_sizes,
    parts,
    regulators,
    screwed,
    sold,
    stock,
    supports,
    tables,
    tubing,
)

CATALOG = Path(tubing.__file__).parent
READ: dict[str, Callable[[], object]] = {
    "alarms.yaml": alarms.alarm_kinds,
    "appliances.yaml": appliances.kinds,
    "bolts.yaml": bolts.grade_ids,
    "containers.yaml": containers.kind_ids,
    "countries.yaml": countries.cylinders,
    "day.yaml": appliances.day,
    "instruments.yaml": instruments.instruments,
    "joints.yaml": lambda: joints.never("wrong-hand"),
    "kit.yaml": kit.kit,
    "mounting.yaml": mounting.mounting,
    "openings.yaml": openings.listed_guards,
    "part_sizes.yaml": lambda: part_sizes.part_size("npt-nipple:1/2"),
    "parts.yaml": parts.catalogue,
    "regulators.yaml": lambda: regulators.regulators(["european"]),
    "screwed.yaml": lambda: screwed.thread("npt", "1/2"),
    "sold.yaml": sold.road_tanks,
    "stock.yaml": lambda: stock.allowance("coil"),
    "supports.yaml": lambda: supports.support_spacing("pe", None, False),
    "table_index.yaml": lambda: tables.has_tables("pe"),
    "tools.yaml": openings.tools,
    "tubing.yaml": tubing.materials,
    "vaporisation.yaml": containers.planning_rule,
}


def test_every_file_of_the_catalogue_is_read_by_something() -> None:
    assert set(READ) == {path.name for path in CATALOG.glob("*.yaml")}
    for read in READ.values():
        assert read()
    for name in data.names("gasdoc.catalog", "tables"):
        assert tables.table(name).id == name


def told(tmp_path: Path, name: str, old: str, new: str) -> str:
    """What is said of a file in which `old` stands as `new`."""
    text = (CATALOG / name).read_text(encoding="utf-8")
    assert old in text
    read = READ.get(name) or (lambda: tables.table(Path(name).stem))
    changed = {name: text.replace(old, new, 1)}
    with changed_files("gasdoc.catalog", changed, tmp_path), pytest.raises(data.DataError) as caught:
        read()
    return str(caught.value)


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        ("tubing.yaml", "named_by: nominal-or-od", "named_by: nominal-or-o", "did you mean 'nominal-or-od'?"),
        ("tubing.yaml", "od: 3/8 in", "od: 3/8", "'3/8' has no unit"),
        ("tubing.yaml", "{K: 0.305 in", "{M: 0.305 in", "size '1/4': 'K' is asked for"),
        ("tubing.yaml", "bore: 0.622 in", "bore: 6.22 in", "not wider outside than inside"),
        ("tubing.yaml", "od_source: b36_od", "od_source: b36", "size '1/2': 'b36' is asked for"),
        ("tubing.yaml", "trade_source: ehd_memory", "trade_source: memory", "'memory' is none of 'sources'"),
        ("tubing.yaml", "stand_in: 0.32 in, ", "", "it has no bore"),
        ("stock.yaml", "lengths: [60 ft, 100 ft]", "lengths: []", "needs at least 1 item"),
        ("supports.yaml", "spacing: 6 ft", "spacing: -6 ft", "zero or more"),
        ("openings.yaml", "plate: yes", "plate: maybe", "neither yes nor no"),
        ("bolts.yaml", "confirmed: once", "confirmed: one", "did you mean 'once'?"),
        ("bolts.yaml", "{diameter: 1/4 in, per_inch: 20}", "{diameter: 1/4 in}", "its pitch is missing"),
        ("bolts.yaml", "longer_is: sae-1", "longer_is: sae-3", "what a longer bolt counts as"),
        ("containers.yaml", "family: dot-upright", "family: dot-upwrong", "is missing"),
        ("containers.yaml", "load_rule: Stamped water", "load-rule: Stamped water", "did you mean 'load_rule'?"),
        ("vaporisation.yaml", "10: [28000, ", "10: [", "this row has 4 cells, and the table 5 columns"),
        ("tables/pe_11inwc_0p5.yaml", "10: [340, ", "10: [", "cells, and the table 8 columns"),
        ("day.yaml", '"06:30"', '"6h30"', "no time of day"),
        (
            "day.yaml",
            "  griddle: {at",
            "  grill: {at",
            "'griddle' has a row in one of appliances.yaml and day.yaml only",
        ),
        ("appliances.yaml", "  griddle: {least", "  grill: {least", "'grill' is no kind of appliance"),
        (
            "appliances.yaml",
            "fries: no, fixed: no, trap: no}",
            "fries: no, fixed: no}",
            "'trap' is missing from cooker",
        ),
        ("kit.yaml", "rated {rated}, round", "rated {rate}, round", "'rate' is no figure of ties"),
        ("kit.yaml", "each: bolts", "each: bolt", "did you mean 'bolts'?"),
        ("alarms.yaml", "kinds: [gas]", "kinds: [gaz]", "did you mean 'gas'?"),
        ("parts.yaml", "shape: nipple", "shape: niple", "did you mean 'nipple'?"),
    ],
)
def test_a_slip_is_told_with_its_place_and_what_would_be_right(
    tmp_path: Path, name: str, old: str, new: str, said: str
) -> None:
    text = (CATALOG / name).read_text(encoding="utf-8")
    line = text[: text.index(old)].count("\n") + 1
    words = told(tmp_path, name, old, new)
    assert said in words
    file, at, _column, _ = words.split(":", 3)
    assert file == Path(name).name
    assert abs(int(at) - line) <= 12, (words, line)  # a key that is missing is told at its row
