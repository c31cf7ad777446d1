"""Builds as columns of one table: each figure by hand or as the build's own study has it, and nothing that misleads."""

from __future__ import annotations

import json
from typing import Any

import pytest
from made_up_builds import Values, build, outlet, read, run, study_of
from msgspec.structs import force_setattr

from gasdoc.folder.check import study_of as studied
from gasdoc.folder.compare import Amount, Value, shown
from gasdoc.folder.linked import LinkVerdict, beside_problems
from gasdoc.folder.side_by_side import NAMES, SideBySide, side_by_side
from gasdoc.report.formats.jsonout import compare_json, dumps
from gasdoc.report.views.side_by_side import WIDEST, table_text, view
from gasdoc.source import Severity

HEATER = outlet("Heater", "30 kBtu/h", id="heater", daily_use="6 h")


def hut(material: str = "copper", size: str = "1/2 in nominal", **more: Any) -> Values:
    """A heater at the end of one run of 20 ft."""
    kind = {"type": "k"} if material == "copper" else {}
    return build(run("20 ft", size, material=material, id="line", **kind), HEATER, **more)


def table(*specs: Values) -> dict[str, tuple[Value, ...]]:
    return {row.id: row.values for row in of(*specs).rows}


def of(*specs: Values) -> SideBySide:
    return side_by_side(*map(study_of, specs))


def test_a_column_has_what_the_spec_and_its_study_have() -> None:
    two = hut(container={"number": "2", "manifold": "parallel", "tare": "70 lb"})
    found = table(hut(container={"tare": "70 lb"}), two)
    one_full, all_full, gas = found["one-full"], found["all-full"], found["gas"]
    # 238 lb of water over 8.328 lb/gal are 28.58 gal; 80 % of them in liquid of 4.36 lb/gal at 40 degF are 99.7 lb, less than
    # 42 % of 238 lb. The container itself is 70 lb.
    assert [shown(value, "us") for value in one_full] == ["169.7 lb", "169.7 lb"]
    assert all(isinstance(value, Amount) for value in (*one_full, *all_full, *gas))
    assert all_full == (one_full[0], Amount(2 * one_full[0].amount, "weight"))
    assert found["container"] == ("100-lb cylinder", "2 x 100-lb cylinder, together")
    assert found["load"] == (Amount(pytest.approx(8792.13), "load"),) * 2  # type: ignore[arg-type]  # 30 x 293.071 W
    assert found["least-at"] == ("Heater", "Heater") and found["errors"][0] == Amount(0, "pieces")


def test_warnings_are_counted_as_a_check_tells_them() -> None:
    """What a plan does not know is work, and its check tells of no warning."""
    planned = study_of(hut(spaces=None, fitted=None))
    assert any(finding.severity is Severity.WARNING for finding in planned.findings)
    told = sum(finding.severity is Severity.WARNING for finding in planned.said)
    assert side_by_side(planned, planned).rows[-2].id == "warnings"
    assert side_by_side(planned, planned).rows[-2].values == (Amount(told, "pieces"),) * 2


def test_tubing_is_weighed_where_its_sizes_are_known() -> None:
    """20 ft of 5/8 in OD type K, wall 0.049 in: pi/4 (0.625^2 - 0.527^2) in2 x 240 in x 8.94 g/cm3 = 3.12 kg."""
    copper, corrugated = table(hut(), hut("csst", "EHD 18"))["metal"]
    assert isinstance(copper, Amount) and copper.amount == pytest.approx(3.12, rel=0.01)
    assert corrugated is None


COPPER_LINE, SEALANT = {"copper-k 1/2": {"price": "90", "per": "60 ft"}}, {"thread-sealant": {"low": "6", "high": "8"}}


def priced(spec: Values, items: Values, currency: str = "USD") -> Values:
    return spec | {"prices": {"currency": currency, "date": "2026-01-01", "items": items}}


def test_money_is_summed_over_the_same_lines_or_not_at_all() -> None:
    """One coil of 60 ft for 90; sealant for 6 to 8, in both builds; the corrugated tubing has no price."""
    corrugated = hut("csst", "EHD 18")
    found = table(priced(hut(), COPPER_LINE | SEALANT), priced(corrugated, COPPER_LINE | SEALANT))
    assert found["cost-shared"] == (Amount(7.0, "USD"), Amount(7.0, "USD")), (
        "what one alone has a price for is in neither"
    )
    assert all(str(value).startswith("not known: ") for value in (*found["cost-differs"], *found["cost-all"]))


def test_what_differs_has_a_cost_though_other_lines_have_no_price() -> None:
    """A second container and what it brings: a pigtail, and a regulator's changeover is the same line."""
    two = hut(container={"number": "2", "manifold": "parallel"})
    lists = [{line.key: line.packs for line in study_of(spec).shopping.to_buy} for spec in (hut(), two)]
    changed = sorted(key for key in lists[0] | lists[1] if lists[0].get(key) != lists[1].get(key))
    assert "container:dot-100lb" in changed and len(changed) < len(lists[1])
    items = dict.fromkeys(changed, "10")
    one_cost, two_cost = table(priced(hut(), items), priced(two, items))["cost-differs"]
    assert [one_cost, two_cost] == [Amount(sum(10.0 * each.get(key, 0) for key in changed), "USD") for each in lists]


def test_money_in_two_currencies_is_never_in_one_sum() -> None:
    found = table(*(priced(hut(), SEALANT, currency) for currency in ("USD", "EUR")))
    assert not {"cost-differs", "cost-shared"} & set(found) and "cost-all" in found
    assert not any(name.startswith("cost") for name in table(hut(), hut()))


def test_what_a_plan_leaves_open_is_said() -> None:
    plan = hut()
    del plan["supply"][0]["run"]["material"], plan["supply"][0]["run"]["type"], plan["supply"][0]["run"]["size"]
    del plan["fitted"]
    proposed = studied(read(plan)).study
    assert proposed is not None
    found = {row.id: row.values for row in side_by_side(proposed, study_of(hut())).rows}
    assert found["open"] == ("tubing", "nothing") and found["tubing"][0]
    assert "open" not in table(hut(), hut()) and set(found) <= set(NAMES)


def test_all_of_a_table_is_in_one_system_and_what_is_the_same_stands_once() -> None:
    mixed = of(hut(units="si"), hut(units="us"), hut("csst", "EHD 18"))
    lines = list(table_text(("a", "b", "c"), mixed.rows, "us"))
    assert lines[0].split() == ["a", "b", "c"]
    assert not any(word in line for line in lines for word in (" kW", " mbar", " kg", " degC"))
    at = lines.index("the same in all of them:")
    assert any(line.strip().startswith("Container") for line in lines[at:])
    assert any("corrugated tubing EHD 18" in line for line in lines[:at])
    assert max(map(len, lines)) <= 4 * (WIDEST + 2)


def test_of_two_there_is_what_differs_and_of_more_the_table_alone() -> None:
    pair, three = of(hut(), hut("csst", "EHD 18")), of(hut(), hut(), hut("csst", "EHD 18"))
    assert pair.difference is not None and pair.difference.of("inputs") and three.difference is None
    document = compare_json(three)
    assert json.loads(dumps(document)) == document
    assert [document[key] for key in ("before", "after", "changes")] == [None] * 3 and len(document["builds"]) == 3
    days = next(row for row in document["rows"] if row["id"] == "days")["values"][0]
    assert days["amount"]["unit"] == "day" and days["at_least"] in (True, False)


def test_the_page_names_what_it_cannot_show() -> None:
    study = study_of(hut(beside=["test-hut", "gone", "other"]))
    other = study_of(hut("csst", "EHD 18", title="Other Hut"))
    force_setattr(other.build, "slug", "other")
    shown_page = view(study, [other], lambda slug: f"../{slug}/index.html")
    assert shown_page["missing"] == ["test-hut", "gone"]
    assert shown_page["heads"] == ["About", "Other Hut", "Test Hut"] and shown_page["groups"]
    assert shown_page["names"] == ['<a href="../other/index.html">Other Hut</a>']
    assert not {row[0] for row in shown_page["rows"]} & {row[0] for row in shown_page["same"]}


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["other"], []),
        (["gone"], ["'gone' under 'beside:' is no build of this folder; did you mean 'gone-hut'?"]),
        (["guide"], ["'guide' under 'beside:' is no build of this folder; name a spec of this folder, without '.md'"]),
        (["test-hut"], ["'test-hut' under 'beside:' is this build itself; name other builds"]),
        (["other", "other"], ["'other' under 'beside:' stands here twice; name other builds"]),
    ],
)
def test_a_name_that_leads_nowhere_is_told_at_its_place(names: list[str], said: list[str]) -> None:
    verdicts = {
        "other.md": LinkVerdict("other/index.md", page=True),
        "test-hut.md": LinkVerdict("test-hut/index.md", page=True),
        "guide.md": LinkVerdict("guide.md", page=True),
        "gone.md": LinkVerdict(None, "is not there", "did you mean 'gone-hut.md'?"),
    }
    made = read(hut(beside=names)).build
    assert made is not None
    problems = list(beside_problems(made, verdicts.__getitem__))
    assert [f"{problem.message}; {problem.hint}" for problem in problems] == said
    assert all(problem.line > 1 and str(problem.severity) == "warning" for problem in problems)
