"""Reading a spec: every kind of problem with its line, column and code; all of them at once; one for each cause."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from gasdoc.build.model import Spec
from gasdoc.build.prices import Price
from gasdoc.build.reader import MOST_CHARACTERS, Read, read_file, read_spec
from gasdoc.data import forget
from gasdoc.folder.contents import says_page
from gasdoc.source import Severity, read_yaml
from gasdoc.validation import validator

VALID = """\
---
format: 1
title: Larch Hut
region: us-cabin
units: us
coldest: -10 degF
gas: {propane: 70 %, butane: 30 %}
container:
  type: cylinder
  number: 2
  manifold: changeover
  water_capacity: 47.6 lb
regulator: {stages: 2, capacity: 150 kBtu/h, outlet: 11 inH2O}
supply:
  - run: {material: copper, type: L, length: 5 ft 6 in, bends: 3, through: [floor]}
  - junction:
      branches:
        - - valve:
          - run: {length: 4 ft, size: 1/2 in OD}
          - outlet: {appliance: {name: Oven, kind: oven, input: 30 kBtu/h}}
        - - run: {length: 12 ft}
          - outlet:
              appliance: {name: Heater, kind: room-heater, input: 5 kW, min_inlet: 10 inH2O, max_inlet: 14 inH2O}
scenarios:
  - {name: Supper, outlets: [oven, heater]}
tests:
  - date: 2026-05-16
    kind: piping
    readings:
      - {time: 23:50, pressure: 3 psi}
      - {time: 0:20, date: 2026-05-17, pressure: 3 psi}
prices: {currency: USD, date: 2026-01-01, items: {valve: 14.20}}
---
## 2026-04-18: tank hung
"""
LINES = VALID.split("\n")


def read(text: str) -> Read:
    return read_spec(text.encode(), "s.md", "s")


def replaced(old: str, new: str) -> str:
    assert VALID.count(old) == 1, old
    return VALID.replace(old, new)


def told(text: str) -> list[str]:
    return [str(problem).removeprefix("s.md:") for problem in read(text).problems]


def test_what_is_kept_validates_a_spec_as_its_model_does(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("sys.pycache_prefix", str(tmp_path))
    monkeypatch.setattr("sys.dont_write_bytecode", False)
    data = read_yaml("\n".join(LINES[1 : LINES.index("---", 1)]), "s.md").data
    forget()
    made = validator("spec", Spec).validate_python(data)
    forget()
    with monkeypatch.context() as kept:
        kept.setattr("pydantic.TypeAdapter", None)
        again = validator("spec", Spec).validate_python(data)
    forget()
    assert made == again == Spec.model_validate(data)


def test_a_valid_spec_is_a_build_in_si_that_remembers_how_it_was_written() -> None:
    result = read(VALID)
    assert result.problems == ()
    build = result.build
    assert build is not None
    assert (build.slug, build.path, result.title) == ("s", "s.md", "Larch Hut")
    assert build.spec.coldest == pytest.approx(249.8166667)
    assert build.spec.gas.propane == pytest.approx(0.7)
    run = build.by_id["run-split-heater-oven"]
    assert run.part.length == pytest.approx(1.6764)
    assert run.part.length.text == "5 ft 6 in"
    assert build.spec.tests[0].readings[0].time == dt.time(23, 50)
    assert build.spec.prices is not None and build.spec.prices.items == {
        "valve": Price(Decimal("14.20"), Decimal("14.20"))
    }
    assert [entry.title for entry in build.log.entries] == ["tank hung"]


def test_a_run_takes_material_and_type_from_the_run_before_it() -> None:
    build = read(VALID).build
    assert build is not None
    assert build.material(build.by_id["run-oven"]) == ("copper", "l")
    assert build.material(build.by_id["run-heater"]) == ("copper", "l")
    other = read(replaced("length: 12 ft}", "length: 12 ft, material: csst}")).build
    assert other is not None
    assert other.material(other.by_id["run-heater"]) == ("csst", None)


def test_a_build_can_place_a_finding_in_its_file() -> None:
    build = read(VALID).build
    assert build is not None
    problem = build.problem(("container", "manifold"), Severity.NOTE, "m", "h", "c")
    assert str(problem) == "s.md:11:3: note: m; h [c]"


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        # keys
        ("coldest:", "coldset:", "6:1: error: unknown key 'coldset'; did you mean 'coldest'? [spec-unknown-key]"),
        ("  number: 2", "  zzz: 2", "10:3: error: unknown key 'zzz'; the keys here are: type, number, manifold, "),
        (
            "title: Larch Hut\n",
            "",
            "2:1: error: 'title' is missing; add it: what the build is called [spec-missing-key]",
        ),
        (
            "name: Oven, ",
            "",
            "20:22: error: 'name' is missing from appliance; add it: what it is called on this build "
            "[spec-missing-key]",
        ),
        (
            "length: 12 ft",
            "size: 15 x 1 mm",
            "21:13: error: 'length' is missing from run; add it: length along the "
            "run, bends included. 'legs:' may say it instead [spec-missing-key]",
        ),
        (
            "length: 12 ft",
            "lenght: 12 ft",
            "21:19: error: unknown key 'lenght'; did you mean 'length'? [spec-unknown-key]",
        ),
        # format
        (
            "format: 1",
            "format: 2",
            "2:1: error: format '2' is not known to this version; this gasdoc reads "
            "'format: 1'. A newer one may read more [spec-format]",
        ),
        ("format: 1\n", "", "2:1: error: the spec does not say its format; add 'format: 1' at the top [spec-format]"),
        # scalars
        (
            "length: 12 ft",
            "length: 12",
            "21:27: error: '12' has no unit; add the unit, such as ft, m, in or mm [spec-quantity]",
        ),
        (
            "length: 12 ft",
            "length: 2,5 m",
            "21:29: error: the comma in '2,5 m' ends the value of 'length'; write the "
            "decimal with a point, as in '2.5 m' [spec-quantity]",
        ),
        (
            "material: copper,",
            "material: copper, bent twice,",
            "15:29: error: the comma before 'bent twice' ends the value of 'material'; quote text",
        ),
        (
            "length: 12 ft",
            "length: 12 kg",
            "21:27: error: '12 kg' is a mass; this needs a length, such as '12 ft' [spec-quantity]",
        ),
        (
            "length: 12 ft",
            "length: 0 ft",
            "21:27: error: '0 ft' is out of range; this must be more than zero [spec-range]",
        ),
        ("length: 12 ft", "length: 99 1/2 yards or so", "21:27: error: unknown unit 'yards or so'"),
        ("length: 12 ft", "length: 12e9 ft", "21:27: error: '12e9 ft' is out of range; "),
        (
            "length: 12 ft",
            "length: ",
            "21:27: error: 'length' is empty; write a quantity such as '12 ft': length along the "
            "run, bends included. 'legs:' may say it instead [spec-value]",
        ),
        (
            "bends: 3",
            "bends: 3.5",
            "15:64: error: '3.5' is not a whole number from 0 to 60; write it in digits, without a unit [spec-count]",
        ),
        (
            "units: us",
            "units: imperial",
            "5:8: error: 'imperial' is not known here; write one of: us, si, anz [spec-choice]",
        ),
        (
            "kind: room-heater",
            "kind: roomheater",
            "23:47: error: 'roomheater' is not known here; did you mean 'room-heater'? [spec-choice]",
        ),
        (
            "region: us-cabin",
            "region: us_cabin",
            "4:9: error: 'us_cabin' is not an id; use small letters, digits and hyphens, as in 'oven-run' [spec-id]",
        ),
        (
            "title: Larch Hut",
            "title: ''",
            "3:8: error: the text is empty; write something, or leave the key out [spec-value]",
        ),
        (
            "title: Larch Hut",
            "title: [a]",
            "3:8: error: a list stands where text belongs; write text on the same line [spec-value]",
        ),
        (
            "title: Larch Hut",
            "title: " + "x" * 81,
            "3:8: error: the text is longer than 80 characters; move detail to the log [spec-value]",
        ),
        (
            "region: us-cabin",
            "region:",
            "4:8: error: 'region' is empty; write an id: whose rules apply, from the list `gasdoc catalog "
            "regions` prints [spec-value]",
        ),
        (
            "date: 2026-05-16",
            "date: 16.5.2026",
            "27:11: error: '16.5.2026' is not a date; write it as year-month-day, as in 2026-05-16 [spec-date]",
        ),
        ("date: 2026-05-16", "date: 2026-02-30", "27:11: error: '2026-02-30' is not a date; "),
        (
            "time: 23:50",
            "time: 11.50 pm",
            "30:16: error: '11.50 pm' is not a time of day; write it as 24-hour time, as in 14:05 [spec-time]",
        ),
        ("time: 23:50", "time: 24:10", "30:16: error: '24:10' is not a time of day; "),
        (
            "valve: 14.20",
            "valve: $14",
            "32:58: error: '$14' is not a price; write a plain number, as in 38.50 [spec-price]",
        ),
        (
            "gas: {propane: 70 %, butane: 30 %}",
            "gas: LPG",
            "7:6: error: 'LPG' is not known here; in North America LPG is propane. Elsewhere ask the supplier, then write propane, butane, "
            "or the shares by mass: {propane: 70 %, butane: 30 %} "
            "[spec-choice]",
        ),
        # structure
        (
            "through: [floor]",
            "through: floor",
            "15:76: error: 'through' must be a list, and 'floor' stands here; write it in brackets: through: [floor] "
            "[spec-structure]",
        ),
        (
            "regulator: {stages: 2, capacity: 150 kBtu/h, outlet: 11 inH2O}",
            "regulator: 11 inH2O",
            "13:12: error: 'regulator' must be a block of keys, and '11 inH2O' stands here; indent its keys below it "
            "[spec-structure]",
        ),
        (
            "kind: oven, input",
            "kind: oven, jetted_for: propane 37 mbar, input",
            "20:70: error: 'jetted_for' must be a block of keys, and 'propane 37 mbar' stands here; indent its keys below it: "
            "gas, pressure, altitude [spec-structure]",
        ),
        (
            "outlets: [oven, heater]",
            "outlets: []",
            "25:29: error: 'outlets' needs at least 1 item; add what is missing [spec-structure]",
        ),
        # the tree
        (
            "valve:\n",
            "valve: {}\n            tap: {}\n",
            "18:13: error: this element names valve and tap; give each "
            "element exactly one key: run, valve, regulator, tap, junction or outlet [spec-element]",
        ),
        ("- valve:\n", "- {}\n", "18:13: error: this element says nothing; "),
        ("        - - run: {length: 12 ft}\n          - outlet:\n", "        - - outlet:\n", None),
        (
            "        - - run: {length: 12 ft}\n",
            "        - []\n        - - run: {length: 12 ft}\n",
            "21:11: error: this branch is empty; end it with an outlet or a junction [spec-branch-empty]",
        ),
        (
            "          - run: {length: 4 ft, size: 1/2 in OD}\n          - outlet: {appliance: {name: Oven, kind: oven, "
            "input: 30 kBtu/h}}\n",
            "          - outlet: {appliance: {name: Oven, kind: oven, input: 30 kBtu/h}}\n"
            "          - run: {length: 4 ft}\n          - outlet: {appliance: {name: Grill, kind: oven, input: 1 kW}}\n",
            "19:13: error: a branch ends with its outlet, but more follows; put what follows into a branch of a junction "
            "[spec-branch-end]",
        ),
        # contradictions
        (
            "material: copper, ",
            "",
            "15:5: error: this run has no material, and there is no run before it to take it "
            "from; add 'material: copper', 'csst' or 'steel'. Or leave its size out too, while it is still to be chosen [spec-material]",
        ),
        (
            "  manifold: changeover\n",
            "",
            "10:3: error: 2 containers with no way to join them; add 'manifold: "
            "changeover', 'manifold: parallel' or, of four, 'manifold: banks' [spec-manifold]",
        ),
        (
            "  manifold: changeover\n",
            "  manifold: banks\n",
            "11:3: error: two banks of 2 containers; two equal banks take four containers or another even number. Write "
            "'manifold: changeover' for one at a time [spec-manifold]",
        ),
        (
            "  number: 2\n  manifold: changeover\n",
            "  manifold: banks\n",
            "10:3: error: a banks manifold with one container; write 'number: 4', or leave manifold out [spec-manifold]",
        ),
        (
            "  number: 2\n",
            "",
            "10:3: error: a changeover manifold with one container; write 'number: 2', or leave "
            "manifold out [spec-manifold]",
        ),
        (
            "butane: 30 %",
            "butane: 20 %",
            "7:1: error: the shares of the gas add up to 90 %; make them 100 % together [spec-gas]",
        ),
        (
            "outlets: [oven, heater]",
            "outlets: [oven, hob]",
            "25:36: error: there is no outlet 'hob'; the outlets are: heater, oven [spec-outlet]",
        ),
        (
            "min_inlet: 10 inH2O",
            "min_inlet: 40 mbar",
            "23:73: error: the lowest inlet, 40 mbar, is above the highest, 14 inH2O; check the plate [spec-inlet]",
        ),
        (
            " date: 2026-05-17,",
            "",
            "31:10: error: this reading is not later than the one before; give the readings in "
            "order. After midnight add 'date:' [spec-readings]",
        ),
        # the log
        (
            "## 2026-04-18: tank hung",
            "## tank hung",
            "34:1: warning: this log heading has no date; begin it with one, "
            "as in '## 2026-04-18: tank hung' [log-date]",
        ),
    ],
)
def test_each_mistake_gives_one_problem_at_its_place(old: str, new: str, expected: str | None) -> None:
    found = told(replaced(old, new))
    if expected is None:
        assert found == []
    else:
        assert len(found) == 1, found
        assert found[0].startswith(expected), found[0]


def test_an_outlet_whose_name_is_used_twice_asks_for_an_id() -> None:
    text = replaced("name: Heater", "name: oven").replace("[oven, heater]", "[oven]")
    assert told(text) == [
        "22:13: error: the id 'oven' is also that of another outlet; give this outlet an id of its "
        "own, as in 'id: oven-2' [spec-id-twice]"
    ]
    assert told(text.replace("      - outlet:\n", "      - outlet:\n              id: oven-2\n")) == []


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("length: 12 ft", "length: 12 ft, id: oven", "21:13: error: the id 'oven' is also that of another outlet; "),
        (
            "length: 4 ft",
            "length: 4 ft, id: regulator",
            "19:13: error: the id 'regulator' is also that of the container "
            "or its regulator; give this run an id of its own",
        ),
        (
            "length: 12 ft",
            "length: 12 ft, id: run-oven",
            "21:13: error: the id 'run-oven' is also that of another run; ",
        ),
    ],
)
def test_an_id_stands_once(old: str, new: str, expected: str) -> None:
    (found,) = told(replaced(old, new))
    assert found.startswith(expected), found


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file() -> None:
    text = VALID
    for old, new in [
        ("units: us", "unit: us"),
        ("coldest: -10 degF", "coldest: -10"),
        ("number: 2", "number: two"),
        ("kind: room-heater", "kind: kiln"),
        ("time: 23:50", "time: noon"),
        ("stages: 2, ", "stages: 3, "),
        ("## 2026-04-18: tank hung", "## tank hung"),
    ]:
        assert old in text
        text = text.replace(old, new)
    found = read(text).problems
    assert [(p.line, p.code) for p in found] == [
        (5, "spec-unknown-key"),
        (6, "spec-quantity"),
        (10, "spec-count"),
        (13, "spec-count"),
        (23, "spec-choice"),
        (30, "spec-time"),
        (34, "log-date"),
    ]


def test_a_missing_material_is_told_once_for_the_runs_that_would_take_it_over() -> None:
    found = read(replaced("material: copper, ", "")).problems
    assert [(p.line, p.code) for p in found] == [(15, "spec-material")]


def test_a_run_with_a_size_needs_its_material_and_one_without_is_open() -> None:
    text = replaced("  - run: {material: copper, type: L, length: 5 ft 6 in, bends: 3, through: [floor]}\n", "")
    assert [(p.line, p.code) for p in read(text).problems] == [(18, "spec-material")]


def test_keys_of_the_builders_own_are_let_through_at_the_top_only() -> None:
    assert told(replaced("units: us", "units: us\nx-note: {anything: [goes]}")) == []
    assert told(replaced("  number: 2", "  number: 2\n  x-note: 1"))[0].startswith("11:3: error: unknown key 'x-note'")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "",
            "1:1: error: this file is neither a spec nor a page; begin a spec with the lines '---' and 'format: 1', and a page with '---', 'page: yes', '---' [spec-front-matter]",
        ),
        (
            "# Title\n",
            "1:1: error: this file is neither a spec nor a page; begin a spec with the lines '---' and 'format: 1', and a page with '---', 'page: yes', '---' [spec-front-matter]",
        ),
        ("---\nformat: 1\n", "3:1: error: the front matter has no end; close it with a line '---' [spec-front-matter]"),
        (
            "---\n---\n",
            "1:1: error: the front matter is not a block of keys; begin with 'format: 1' [spec-front-matter]",
        ),
        (
            "---\n- a\n---\n",
            "2:1: error: the front matter is not a block of keys; begin with 'format: 1' [spec-front-matter]",
        ),
        (
            "---\njust text\n---\n",
            "2:1: error: the front matter is not a block of keys; begin with 'format: 1' [spec-front-matter]",
        ),
        ("---\nformat: 1\ntitle: a: b\n---\n", "3:9: error: a value with a colon has to stand in quotes; "),
        ("---\nformat: 1\nformat: 1\n---\n", "3:1: error: key 'format' appears twice; it is already on line 2. "),
    ],
)
def test_a_file_that_is_no_spec_says_why(text: str, expected: str) -> None:
    found = told(text)
    assert len(found) == 1
    assert found[0].startswith(expected), found


def test_the_title_of_a_spec_that_cannot_be_taken_is_still_known() -> None:
    assert read(replaced("units: us", "unit: us")).title == "Larch Hut"
    assert read("").title == "s"
    assert read(replaced("units: us", "unit: us")).build is None


def test_a_file_from_windows_reads_the_same_at_the_same_lines() -> None:
    windows = b"\xef\xbb\xbf" + replaced("units: us", "unit: us").replace("\n", "\r\n").encode()
    assert read_spec(windows, "s.md", "s").problems == read(replaced("units: us", "unit: us")).problems


def test_very_many_mistakes_are_counted_at_the_end() -> None:
    text = replaced("units: us\n", "".join(f"k{i}: 1\n" for i in range(700)))
    found = read(text).problems
    assert len(found) == 501
    assert found[-1].code == "spec-more-problems"
    assert found[-1].message == "200 more problems follow"


def test_a_front_matter_beyond_any_build_is_refused() -> None:
    found = told(replaced("title: Larch Hut", "title: " + "x" * MOST_CHARACTERS))
    assert found == ["1:1: error: the front matter is longer than 250,000 characters; split the build [file-size]"]


def test_a_row_of_twenty_tees_reads() -> None:
    def tee(n: int) -> str:
        last = f"[{{outlet: {{appliance: {{name: a{n}, kind: oven, input: 1 kW}}}}}}]"
        return last if n == 0 else f"[{{junction: {{branches: [{tee(n - 1)}, {last}]}}}}]"

    text = VALID[: VALID.index("supply:")] + f"supply: {tee(20)}\n---\n"
    result = read(text)
    assert result.problems == ()
    assert result.build is not None and len(result.build.nodes) == 41


def test_a_tree_too_large_to_draw_is_refused() -> None:
    branches = ", ".join(
        "[{junction: {branches: ["
        + ", ".join(f"[{{outlet: {{appliance: {{name: a{i}-{k}, kind: oven, input: 1 kW}}}}}}]" for k in range(30))
        + "]}}]"
        for i in range(14)
    )
    text = VALID[: VALID.index("supply:")] + f"supply: [{{junction: {{branches: [{branches}]}}}}]\n---\n"
    assert told(text) == ["14:1: error: the tree has more than 400 elements; split the build [spec-too-large]"]


def test_reading_a_file_that_is_not_there_is_a_problem(tmp_path: Path) -> None:
    result = read_file(tmp_path / "none.md", "none.md")
    assert [str(p) for p in result.problems] == [
        "none.md:1:1: error: no such file or directory; check the path [file-read]"
    ]
    (tmp_path / "Larch Hut.md").write_text(VALID)
    result = read_file(tmp_path / "Larch Hut.md", "specs/Larch Hut.md")
    assert (result.slug, result.path, result.problems) == ("larch-hut", "specs/Larch Hut.md", ())


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("---\npage: yes\n---\n", True),
        ("--- \ntitle: x\npage: Yes  # ours\n---\ntext", True),
        ("---\npage: no\n---\n", False),
        ("---\npage: yes\n", False),  # no end
        ("---\ntitle: x\n---\npage: yes\n", False),
        ("---\n---\npage: yes\n---\n", False),
        ("\n---\npage: yes\n---\n", False),
        ("page: yes\n", False),
        ("", False),
        ("---\npage: yes\nformat: 1\n---\n", False),
        ('---\npage: yes\n"Supply":\n---\n', False),
        (VALID, False),
    ],
)
def test_a_markdown_file_is_a_page_if_its_front_matter_says_so_and_has_no_key_of_a_spec(
    text: str, expected: bool
) -> None:
    assert says_page(text) is expected
