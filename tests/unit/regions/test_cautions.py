"""Which cautions a build prints: by setting, region and container, in words that hold there."""

from __future__ import annotations

import pytest

from gasdoc.regions.cautions import cautions
from gasdoc.regions.region import region, region_ids
from gasdoc.regions.upkeep import upkeep_tasks


def ids(where: str, *conditions: str) -> list[str]:
    return [c.id for c in cautions(frozenset(conditions), region(where).practice)]


def texts(where: str, *conditions: str, units: str = "si") -> str:
    return " ".join(
        c.said("us" if units == "us" else "si") for c in cautions(frozenset(conditions), region(where).practice)
    )


@pytest.mark.parametrize("word", ["psi", "inH2O", "degF ", "QCC", "ANSI", "2A:10B", "jack-knife", "2 % of its floor"])
def test_a_european_boat_is_told_no_figure_of_the_united_states(word: str) -> None:
    text = texts("boat-eu", "boat", "exchanged-cylinder", "inside-locker", "copper")
    text = text.replace("(50 psi)", "").replace("(-44 degF)", "")
    assert word not in text


def test_an_american_trailer_keeps_its_figures() -> None:
    text = texts("us-trailer", "trailer", "permanent-container", units="us")
    assert "3 psig" in text and "14 inH2O" in text and "2A:10B:C" in text and "ANSI Z21.15" in text


def test_only_where_the_american_code_holds_is_its_way_to_purge_at_a_burner_told() -> None:
    assert "at a burner" in texts("us-cabin", "cabin", units="us")
    europe = texts("eu", "cabin")
    assert "at a burner" not in europe and "Purge air from the line outdoors, through a hose. Ask" in europe


def test_bottles_that_only_the_supplier_fills_have_no_caution_about_filling() -> None:
    assert not [i for i in ids("eu", "vehicle", "exchanged-cylinder") if i.startswith("fill")]
    assert {"fill-80", "fill-engine-off"} <= set(ids("eu", "vehicle", "permanent-container"))
    assert "fill-engine-off" not in ids("us-cabin", "cabin", "permanent-container")
    assert "fill-80-cylinder" in ids("us-cabin", "cabin", "exchanged-cylinder")


def test_on_a_boat_everybody_goes_ashore_and_nobody_goes_back_to_bail() -> None:
    steps = [c for c in cautions(frozenset({"boat"}), region("boat-eu").practice) if c.group == "emergency"]
    order = [c.id for c in steps]
    assert "emergency-2-ashore" in order and "emergency-2-out" not in order
    assert order.index("emergency-5-stay-out") < order.index("emergency-5-bilge")
    bilge = next(c.text for c in steps if c.id == "emergency-5-bilge")
    assert "qualified person" in bilge and "worked from outside" in bilge and "by hand or" not in bilge
    assert "outside and upwind" in next(c.text for c in steps if c.id == "emergency-4-radio")
    assert "emergency-2-out" in ids("us-cabin", "cabin") and "emergency-5-bilge" not in ids("us-cabin", "cabin")


def test_carbon_monoxide_has_steps_of_its_own() -> None:
    steps = [c.id for c in cautions(frozenset({"cabin"}), region("uk").practice) if c.group == "carbon-monoxide"]
    assert steps == ["co-1-out", "co-2-call", "co-2-doctor", "co-3-stay-out", "co-4-cause"]


def test_the_fill_limit_has_one_mark_everywhere() -> None:
    from gasdoc.catalog.containers import fill_share

    marks = {fill_share()[1].confirmed}
    marks |= {r.citation.confirmed for name in region_ids() for r in region(name).rules_for("container-fill")}
    marks |= {
        c.citation.confirmed
        for name in region_ids()
        for c in cautions(frozenset({"permanent-container", "exchanged-cylinder"}), region(name).practice)
        if c.id.startswith("fill-80")
    }
    assert marks == {"twice"}


def test_after_a_fire_the_fittings_are_replaced_too() -> None:
    (task,) = [t for t in upkeep_tasks(frozenset(), region("uk").practice) if t.id == "damage-fire"]
    assert "every valve and fitting" in task.task


def test_the_json_has_the_words_for_both_systems_of_units() -> None:
    from made_up_builds import build, outlet, run, study_of

    from gasdoc.report.formats.jsonout import study_json

    spec = build(run("9 ft", material="copper", type="k"), outlet("Heater", "9 kBtu/h"))
    said = {c["id"]: c for c in study_json(study_of(spec))["study"]["cautions"]}["pump-clear"]
    assert "3 psig" in said["text_us"] and "no higher than the rule asks" in said["text"]
