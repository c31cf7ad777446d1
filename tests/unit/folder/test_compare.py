"""What differs between two studies: each change named, and nothing that is the same."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee
from msgspec.structs import force_setattr

from gasdoc.folder.compare import Amount, Change, Comparison, _amounts, compare, lines, shown
from gasdoc.folder.side_by_side import side_by_side
from gasdoc.report.formats.jsonout import compare_json, dumps

COPPER = {"material": "copper", "type": "k"}


def hut(**more: Any) -> Values:
    """A heater 8 + 30 ft from the regulator and a cooker 8 + 9 ft from it; the heater's run is left to be computed."""
    return build(
        run("8 ft", "5/8 in nominal", id="trunk", **COPPER),
        tee(
            [run("30 ft", id="heater-run"), outlet("Heater", "30 kBtu/h", id="heater")],
            [run("9 ft", "1/2 in nominal", id="cooker-run"), outlet("Cooker", "40 kBtu/h", id="cooker")],
            id="tee",
        ),
        **more,
    )


def changed(edit: Callable[[Values], object]) -> Values:
    spec = copy.deepcopy(hut())
    edit(spec)
    return spec


def branch(spec: Values, number: int) -> list[Values]:
    found: list[Values] = spec["supply"][1]["junction"]["branches"][number]
    return found


def difference(after: Values, before: Values | None = None) -> Comparison:
    return compare(study_of(before or hut()), study_of(after))


def of(comparison: Comparison, *groups: Any) -> dict[tuple[str, str], Change]:
    return {(c.subject, c.what): c for c in comparison.of(*groups)}


def test_a_build_does_not_differ_from_itself() -> None:
    found = difference(hut())
    assert found.changes == () and lines(found) == []


@pytest.mark.parametrize(
    "edit",
    [
        lambda s: branch(s, 0)[0]["run"].update(length="360 in"),
        lambda s: branch(s, 0)[0]["run"].update(length="9.144 m"),
        lambda s: s.update(title="Another name", summary="Other words"),
        lambda s: s["container"].update(serial="X-1", manufactured="2021-01-01"),
        lambda s: branch(s, 0)[1]["outlet"]["appliance"].update(serial="X-2"),
        lambda s: s["supply"][1]["junction"]["branches"].reverse(),
        lambda s: s.update({"x-note": "mine"}),
    ],
    ids=["inches", "metres", "words", "another cylinder", "serial", "order of branches", "own note"],
)
def test_what_is_the_same_installation_is_no_difference(edit: Callable[[Values], object]) -> None:
    assert difference(changed(edit)).of("inputs", "results", "materials") == ()


def test_a_longer_run_shows_as_put_in_and_in_what_comes_of_it() -> None:
    found = difference(changed(lambda s: branch(s, 0)[0]["run"].update(length="40 ft")))
    assert list(of(found, "inputs")) == [("heater-run", "length")]
    length = of(found, "inputs")["heater-run", "length"]
    assert (length.before, length.after) == ("30 ft", "40 ft")
    path = of(found, "results")["build", "longest path"]
    assert path.before == Amount(pytest.approx(38 * 0.3048), "run length")  # type: ignore[arg-type]  # equals any near it
    assert path.after == Amount(pytest.approx(48 * 0.3048), "run length")  # type: ignore[arg-type]  # as above
    pressure = of(found, "results")["heater", "inlet, everything on"]
    assert isinstance(pressure.before, Amount) and isinstance(pressure.after, Amount)
    assert pressure.after.amount < pressure.before.amount


def test_a_size_that_is_computed_anew_is_a_result_not_an_input() -> None:
    found = difference(changed(lambda s: branch(s, 0)[1]["outlet"]["appliance"].update(input="90 kBtu/h")))
    assert ("heater-run", "size") in of(found, "results")
    assert ("heater-run", "size") not in of(found, "inputs")
    assert of(found, "inputs")["heater", "input"].after == "90 kBtu/h"


def test_what_came_and_what_went_are_named_once() -> None:
    def edit(spec: Values) -> None:
        spec["supply"][1]["junction"]["branches"].append(
            [run("6 ft", "3/8 in nominal", id="lamp-run"), outlet("Lamp", "2 kBtu/h", id="lamp", kind="light")]
        )
        del branch(spec, 1)[0]

    found = of(difference(changed(edit)), "inputs")
    assert found["lamp", ""].before is None and found["lamp", ""].after == "light, 2 kBtu/h"
    assert found["lamp-run", ""].after == "3/8 in nominal, 6 ft"
    assert found["cooker-run", ""].after is None and found["cooker-run", ""].before == "1/2 in nominal, 9 ft"
    assert not [key for key in found if key[0] == "lamp" and key[1]]


def test_parts_are_counted_against_each_other() -> None:
    longer = difference(changed(lambda s: branch(s, 0)[0]["run"].update(length="40 ft")))
    tubing = [c for c in longer.of("materials") if isinstance(c.after, Amount) and c.after.kind == "run length"]
    assert len(tubing) == 1 and isinstance(tubing[0].before, Amount) and isinstance(tubing[0].after, Amount)
    # 10 ft more in the run, with the allowance for waste on it.
    assert tubing[0].after.amount - tubing[0].before.amount >= 10 * 0.3048 - 1e-6


def test_an_alarm_more_is_one_line() -> None:
    found = of(
        difference(changed(lambda s: s["spaces"][0]["alarms"].append({"kind": "co", "place": "Loft"}))), "inputs"
    )
    assert list(found) == [("build", "spaces 1 alarms co, Loft")]
    assert found["build", "spaces 1 alarms co, Loft"].after == "co, Loft"


def test_findings_that_are_new_or_gone() -> None:
    worse = changed(lambda s: branch(s, 1)[0]["run"].update(length="9 ft", size="1/4 in nominal"))
    new = [c for c in difference(worse).of("findings") if c.name == "run-undersized"]
    assert [(c.subject, c.what, c.before) for c in new] == [("cooker-run", "error", None)]
    gone = [c for c in difference(hut(), worse).of("findings") if c.name == "run-undersized"]
    assert [(c.subject, c.after) for c in gone] == [("cooker-run", None)]


def test_a_change_of_what_was_tested_says_that_the_test_no_longer_counts() -> None:
    test = {
        "date": "2026-05-02",
        "kind": "piping",
        "medium": "air",
        "by": "A. Builder",
        "gauge": {"range": "15 psi", "resolution": "0.005 psi"},
        "thermometer": "0.1 degF",
        "readings": [
            {"time": "10:00", "pressure": "6.000 psi", "temperature": "60 degF", "barometer": "29.9 inHg"},
            {"time": "18:00", "pressure": "6.000 psi", "temperature": "60 degF", "barometer": "29.9 inHg"},
        ],
        "bubbles": "none",
    }
    before = hut(tests=[test])
    branch(before, 0)[0]["run"]["size"] = "1/2 in nominal"  # a test counts only where every size is stated
    before["tests"] = [test | {"covers": study_of(before).standing.codes.tightness}]
    counting = [proof for proof in study_of(before).standing.proofs if proof.why is None]
    assert counting, "the test has to count before it can cease to"
    after = copy.deepcopy(before)
    branch(after, 0)[0]["run"].update(length="31 ft")
    found = of(difference(after, before), "records")
    assert ("build", "") in found
    stale = [c for c in found.values() if c.before == "counts"]
    assert len(stale) == len(counting)
    assert all(c.after == "no longer counts: the build has changed since" for c in stale)
    text = "\n".join(lines(difference(after, before)))
    assert "no longer counts" in text


def test_another_builds_tests_are_not_compared() -> None:
    spec = hut(tests=[{"date": "2026-05-02", "kind": "flow", "readings": [{"time": "10:00", "pressure": "11 inH2O"}]}])
    one, other = study_of(spec), study_of(hut())
    force_setattr(other.build, "slug", "other")
    assert {c.name for c in compare(one, other).of("records")} <= {"standing"}


def test_the_lines_are_few_and_say_unit_once() -> None:
    found = lines(difference(changed(lambda s: branch(s, 0)[0]["run"].update(length="40 ft"))))
    assert found[0].startswith("heater-run: length 30 ft -> 40 ft")
    assert any("longest path 38 -> 48 ft" in line for line in found)
    at = found.index("materials:")
    assert found[at + 1].startswith("  ") and len(found[at + 1]) < 120
    assert len(found) < 12


def test_units_are_those_of_the_newer_build() -> None:
    after = changed(lambda s: branch(s, 0)[0]["run"].update(length="40 ft")) | {"units": "si"}
    assert any("longest path 11.58 -> 14.63 m" in line for line in lines(difference(after)))


def test_as_json_results_have_units_and_inputs_are_as_written() -> None:
    found = compare_json(
        side_by_side(study_of(hut()), study_of(changed(lambda s: branch(s, 0)[0]["run"].update(length="40 ft"))))
    )
    assert json.loads(dumps(found)) == found
    by = {(c["group"], c["subject"], c["what"]): c for c in found["changes"]}
    assert by["inputs", "heater-run", "length"]["after"] == "40 ft"
    assert by["results", "build", "longest path"]["after"] == {
        "amount": {"value": pytest.approx(14.6304), "unit": "m"},
        "at_least": False,
    }
    assert by["results", "heater", "inlet, everything on"]["after"]["amount"]["unit"] == "Pa"
    assert all(
        c["after"]["amount"]["unit"] in ("m", "count")
        for c in found["changes"]
        if c["group"] == "materials" and c["after"]
    )


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (None, None),
        ("as written", "as written"),
        (Amount(3.0, "pieces"), "3"),
        (Amount(2.25, "days"), "about 2.2 days"),
        (Amount(60.0, "days", at_least=True), "at least 60 days"),
        (Amount(1234.5, "USD"), "1,234.50 USD"),
        (Amount(0.3048, "run length"), "1 ft"),
    ],
)
def test_values_as_text(value: Any, expected: str | None) -> None:
    assert shown(value, "us") == expected


def test_cost_is_compared_where_both_sides_have_prices() -> None:
    third = changed(
        lambda s: s["supply"][1]["junction"]["branches"].append(
            [run("6 ft", "3/8 in nominal"), outlet("Lamp", "2 kBtu/h", kind="light")]
        )
    )
    counts = [
        {item.key: item.quantity for item in study_of(spec).materials if item.group == "supports"}
        for spec in (hut(), third)
    ]
    key, more = next((k, n - counts[0].get(k, 0)) for k, n in counts[1].items() if n > counts[0].get(k, 0))
    prices = {"currency": "USD", "date": "2026-01-01", "items": {key: "14.20"}}
    found = difference(third | {"prices": prices}, hut(prices=prices))
    (cost,) = [c for c in found.of("cost") if c.name == "known prices"]
    assert isinstance(cost.before, Amount) and isinstance(cost.after, Amount)
    assert cost.after.amount - cost.before.amount == pytest.approx(14.20 * more) and cost.after.kind == "USD"
    # The branch brings lines without a price: what is known of the two covers different things.
    (told,) = [line for line in lines(found) if line.startswith("  known prices ")]
    assert "cover different lines" in told and "+" not in told
    assert difference(third | {"prices": prices}).of("cost") == ()
    assert difference(third | {"prices": prices}, hut(prices=prices | {"currency": "EUR"})).of("cost") == ()


def test_a_result_that_prints_alike_in_the_units_shown_is_no_change() -> None:
    """All lines are in one unit system: 2704 and 2714 Pa are 10.9 inH2O both, and 27.0 and 27.1 mbar."""
    one, other = Amount(2704.0, "supply pressure"), Amount(2714.0, "supply pressure")
    assert shown(one, "us") == shown(other, "us") == "10.9 inH2O"
    longer = changed(lambda s: s["supply"][0]["run"].update(length="20.2 ft"))
    for system, foreign in (("us", "mbar"), ("si", "inH2O")):
        found = difference(longer | {"units": system}, hut() | {"units": system})
        assert all(foreign not in line for line in lines(found))
    assert list(_amounts("heater", "Heater", {"inlet": one}, {"inlet": other}, "us")) == []
    assert len(list(_amounts("heater", "Heater", {"inlet": one}, {"inlet": other}, "si"))) == 1


def test_a_part_that_changes_its_name_is_told_though_its_key_stays() -> None:
    two = {"number": "2", "manifold": "changeover"}
    found = difference(hut(container=two), hut())
    said = [c for c in found.of("materials") if c.subject == "regulator:regulator"]
    assert [(c.before, c.after) for c in said if isinstance(c.before, str)] != []
    assert any("changeover" in line for line in lines(found))
