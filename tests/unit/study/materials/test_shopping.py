"""Prices, shelf and sums of whole builds; a project's own prices and parts."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, text, try_study
from places import SPECS

from gasdoc.folder.check import study_file
from gasdoc.study import Study
from gasdoc.study.materials.own_files import read_own
from gasdoc.study.materials.shopping import Buy

COPPER = {"material": "copper", "type": "l"}
THREADS: Values = {"inlet_thread": "1/4 NPT", "outlet_thread": "3/8 NPT"}


def spec(**more: Any) -> Values:
    return build(
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        regulator=THREADS,
        container={"connection": "POL"},
        **more,
    )


def priced(**items: Any) -> Values:
    return {"currency": "USD", "date": "2026-02-03", "items": {k.replace("__", " "): v for k, v in items.items()}}


def lines(made: Study) -> dict[str, Buy]:
    return {line.key: line for line in made.shopping.lines}


def test_without_prices_every_line_to_buy_is_unknown_and_there_is_no_sum() -> None:
    shop = study_of(spec()).shopping
    assert shop.currency is None and shop.unknown == len(shop.to_buy) > 10 and shop.low == 0


def test_known_prices_are_summed_low_and_high_and_the_rest_is_counted() -> None:
    made = study_of(
        spec(
            prices=priced(
                **{
                    "flare-nut:5/8": "2.50",
                    "valve-appliance:1/2": {"low": "14", "high": "19.50"},
                    "copper-l 1/2": {"price": "150", "per": "60 ft"},
                }
            )
        )
    )
    found = lines(made)
    # Two nuts, for one run has two ends; one coil of 60 ft for 9 ft; the tube's flared end goes into a flare valve.
    assert (found["flare-nut:5/8"].packs, found["flare-nut:5/8"].low) == (2, 5.0)
    assert found["copper-l 1/2 60 ft"].low == pytest.approx(150)
    total = sum(line.low for line in made.shopping.lines if line.low is not None)
    assert made.shopping.low == pytest.approx(total) and made.shopping.high >= made.shopping.low
    assert made.shopping.unknown == sum(1 for line in made.shopping.to_buy if line.low is None)
    assert (made.shopping.currency, made.shopping.date) == ("USD", "2026-02-03")


def test_packs_are_bought_whole() -> None:
    found = lines(study_of(spec(prices=priced(**{"clamp:5/8 in": {"price": "9", "pack": "10"}}))))
    clamps = found["clamp:5/8 in"]
    # 9 ft at 6 ft: one at each end and one between.
    assert (clamps.needed, clamps.packs, clamps.pack, clamps.low) == (3, 1, 10, 9.0)


def test_the_shelf_is_taken_off_first() -> None:
    made = study_of(spec(on_shelf={"flare-nut:5/8": "1", "leak-fluid": "2", "copper-l 1/2": ["11 ft"]}))
    found = lines(made)
    assert (found["flare-nut:5/8"].needed, found["flare-nut:5/8"].on_shelf, found["flare-nut:5/8"].packs) == (2, 1, 1)
    assert (found["leak-fluid"].on_shelf, found["leak-fluid"].packs) == (1, 0)
    assert not any(key.startswith("copper-l 1/2 ") and "shelf" not in key for key in found)


def test_tubing_that_no_length_holds_is_bought_by_the_metre_and_is_no_number_of_pieces() -> None:
    """30 ft of pipe with 5 % for waste; the longest sold is 21 ft."""
    long = study_of(build(run("30 ft", "1/2 in", material="steel", bends="2"), outlet("Heater", "30 kBtu/h")))
    (line,) = (line for line in long.shopping.to_buy if line.key.startswith("steel "))
    assert (line.measured, line.packs) == (True, 1)
    assert line.pack == pytest.approx(30 * 1.05 * 0.3048)


def test_what_is_only_if_needed_is_not_in_the_sums() -> None:
    made = study_of(
        build(
            run("9 ft", "5/8 in OD", **COPPER, outside="yes"),
            outlet("Heater", "20 kBtu/h"),
            regulator=THREADS,
            prices=priced(**{"heat-shield": "30", "stone-guard": {"price": "10", "per": "4 ft"}}),
        )
        | {"region": "us-trailer"}
    )
    guard = lines(made)["stone-guard"]
    assert (guard.packs, guard.low) == (3, 30.0)  # 9 ft in pieces of 4 ft
    guards = [line.key for line in made.shopping.if_needed if line.group == "openings and guards"]
    assert guards == ["chafe-sleeve", "heat-shield"]
    assert made.shopping.low == 30.0


def test_a_key_that_names_no_part_is_a_warning_with_the_nearest() -> None:
    made, problems = try_study(
        spec(prices=priced(**{"flare-nutt:5/8": "2"}), on_shelf={"npt-plug:1/4": "2", "copper 1/2": "2"})
    )
    assert made is not None
    assert [(p.code, str(p.severity)) for p in problems] == [("spec-part-key", "warning")] * 2
    assert any("did you mean 'flare-nut:5/8'" in p.hint for p in problems)


@pytest.mark.parametrize(
    ("price", "says"),
    [
        ({"low": "3"}, "a low and a high"),
        ({"price": "3", "per": "5"}, "has no unit"),
        ({"price": "3", "pack": "0"}, "pack of none"),
        ({"low": "5", "high": "3"}, "above the high one"),
        ({"price": "3", "each": "5 ft"}, "unknown key 'each'"),
        ({"price": "3", "per": "5 ft", "pack": "3"}, "a length or for a pack"),
        ([], "no price"),
    ],
)
def test_a_price_that_says_nothing_clear_is_a_problem_at_its_place(price: Any, says: str) -> None:
    made, problems = try_study(spec(prices=priced(**{"flare-nut:5/8": price})))
    assert made is None and len(problems) == 1 and says in problems[0].message
    assert problems[0].line > 1


# --- the project's own files ------------------------------------------------------------------------------------------

PRICES = "currency: USD\ndate: 2026-01-01\nitems:\n  flare-nut:5/8: 2.00\n  leak-fluid: 5\n"
PARTS = """\
parts:
  - id: heater-adapter
    name: "adapter, {a} NPT male x Rc {b}"
    shape: adapter
    use: fitting
    ends: ["{a} FNPT", "{b} male BSPT"]
    sizes: ["1/2 x 1/2"]
    rating: 5 psi
    container_side: no
    concealed: no
    source: the maker's sheet
    confirmed: once
"""


def at(folder: Path, made: Values, **files: str) -> Any:
    (folder / "hut.md").write_text(text(made), encoding="utf-8")
    for name, content in files.items():
        (folder / f"{name}.yaml").write_text(content, encoding="utf-8")
    return study_file(folder / "hut.md", "specs/hut.md")


def test_prices_of_all_builds_stand_in_for_what_the_spec_has_none_for(tmp_path: Path) -> None:
    done = at(tmp_path, spec(prices=priced(**{"flare-nut:5/8": "3"})), prices=PRICES)
    found = lines(done.study)
    assert (found["flare-nut:5/8"].low, found["leak-fluid"].low) == (6.0, 5.0)
    assert done.study.shopping.date == "2026-01-01 and 2026-02-03"


def test_prices_in_another_currency_are_left_out_and_said(tmp_path: Path) -> None:
    done = at(tmp_path, spec(prices=priced(**{"flare-nut:5/8": "3"})), prices=PRICES.replace("USD", "EUR"))
    assert done.study.shopping.left_out and lines(done.study)["leak-fluid"].low is None


def test_a_mistake_in_prices_yaml_is_named_with_its_line(tmp_path: Path) -> None:
    done = at(tmp_path, spec(), prices=PRICES.replace("items:", "itmes:"))
    assert done.study is not None
    assert [(p.path, p.line) for p in done.read.problems] == [("specs/prices.yaml", 3)]
    assert "did you mean 'items'?" in done.read.problems[0].hint


@pytest.mark.parametrize("content", ["", "[]", "prices: 3", "currency: USD", "a: [", "\x00"])
def test_any_other_prices_file_is_a_problem_and_not_a_crash(tmp_path: Path, content: str) -> None:
    done = at(tmp_path, spec(), prices=content)
    assert done.study is not None and done.read.problems
    assert all(p.path == "specs/prices.yaml" for p in done.read.problems)


def test_a_part_of_the_project_closes_a_joint(tmp_path: Path) -> None:
    made = build(
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Heater", "20 kBtu/h", inlet_thread="Rc 1/2", kind="cooker"),
        regulator=THREADS,
        container={"connection": "POL"},
    )
    assert any(f.code == "joint-must-not-be-made" for f in at(tmp_path, made).study.findings)
    done = at(tmp_path, made, parts=PARTS)
    assert done.read.problems == () and not any(f.code == "joint-must-not-be-made" for f in done.study.findings)
    assert "heater-adapter:1/2 x 1/2" in {item.key for item in done.study.materials}


def test_a_part_of_the_project_is_for_the_builds_it_names(tmp_path: Path) -> None:
    made = build(
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Heater", "20 kBtu/h", inlet_thread="Rc 1/2", kind="cooker"),
        regulator=THREADS,
        container={"connection": "POL"},
    )
    closed = {
        builds: at(tmp_path, made, parts=f"{PARTS}    builds: [{builds}]\n").study.fittings
        for builds in ("hut", "gone")
    }
    used = {
        builds: {part.id for _, chain in found.chains() for part in chain.parts} for builds, found in closed.items()
    }
    assert "heater-adapter:1/2 x 1/2" in used["hut"] and "heater-adapter:1/2 x 1/2" not in used["gone"]
    done = at(tmp_path, made, parts=f"{PARTS}    builds: [gone]\n")
    assert [(p.path, p.line, p.code, str(p.severity)) for p in done.read.problems] == [
        ("specs/parts.yaml", 13, "part-build", "warning")
    ]


def test_a_mistake_in_parts_yaml_is_named_with_its_line(tmp_path: Path) -> None:
    done = at(tmp_path, spec(), parts=PARTS.replace("shape: adapter", "shape: adaptor"))
    assert [(p.path, p.line) for p in done.read.problems] == [("specs/parts.yaml", 4)]


SLIPS = """currency: USD
date: 2026-06-01
items:
  csst EHD 18 25 ft: 9
  npt-elbow:1/2: 3
  cssst EHD 18: 9
  container:dot-100lbb: 9
  heater-adapter:1/2 x 1/2: 4
"""


def test_a_key_of_the_projects_prices_that_names_nothing_is_a_problem_at_its_place(tmp_path: Path) -> None:
    (tmp_path / "prices.yaml").write_text(SLIPS, encoding="utf-8")
    own, problems = read_own(tmp_path, Path("specs"))
    assert own.prices is not None and len(own.prices.items) == 5  # the others count
    assert [(p.path, p.line, p.column, p.code, str(p.severity)) for p in problems] == [
        (str(Path("specs/prices.yaml")), line, 3, "spec-part-key", "warning") for line in (6, 7, 8)
    ]
    assert "'csst EHD 18'" in problems[0].hint and "'container:dot-100lb'" in problems[1].hint


def test_a_part_of_the_projects_own_has_a_price_like_any_other(tmp_path: Path) -> None:
    (tmp_path / "prices.yaml").write_text(SLIPS, encoding="utf-8")
    (tmp_path / "parts.yaml").write_text(PARTS, encoding="utf-8")
    own, problems = read_own(tmp_path)
    assert own.parts is not None and [part.id for part in own.parts.parts] == ["heater-adapter:1/2 x 1/2"]
    assert [p.line for p in problems] == [6, 7]


def test_while_the_projects_parts_cannot_be_read_no_key_is_called_unknown(tmp_path: Path) -> None:
    (tmp_path / "prices.yaml").write_text(SLIPS, encoding="utf-8")
    (tmp_path / "parts.yaml").write_text("parts: 3\n", encoding="utf-8")
    assert {p.code for p in read_own(tmp_path)[1]}.isdisjoint({"spec-part-key"})


def test_the_example_projects_prices_have_no_slip() -> None:
    assert read_own(SPECS)[1] == ()
