"""Which units a build's pages write its quantities in, and which stand beside them."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of
from markupsafe import Markup

from gasdoc.report.content.words import Quantities
from gasdoc.report.views.supply import page


def quantities(**more: Any) -> Quantities:
    spec: Values = build(run("9 ft", "5/8 in OD", material="copper", type="l"), outlet("Heater", "20 kBtu/h"), **more)
    return Quantities.of(study_of(spec).build)


@pytest.mark.parametrize("asked", [{}, {"units_beside": "none"}, {"units_beside": "us"}])
def test_nothing_stands_beside_a_quantity_unless_other_units_are_asked_for(asked: dict[str, str]) -> None:
    q = quantities(**asked)
    assert q.both(2750.0, "supply pressure") == q(2750.0, "supply pressure")
    assert getattr(q.number(2750.0, "supply pressure"), "other", "") == getattr(q.unit("load"), "other", "") == ""


def test_the_units_asked_for_stand_beside_the_builds_own() -> None:
    q = quantities(units_beside="si")
    # 11 inH2O is 2740 Pa; 20 kBtu/h is 5.86 kW.
    assert "27.4" in q.both(2740.0, "supply pressure") and "inH2O" in q.both(2740.0, "supply pressure")
    assert getattr(q.number(5861.4, "load"), "other", "") == "5.86" and getattr(q.unit("load"), "other", "") == "kW"


@pytest.mark.parametrize(
    ("region", "units"), [("us-cabin", "kBtu/h"), ("canada", "kBtu/h"), ("eu", "kW"), ("uk", "kW"), ("au-nz", "MJ/h")]
)
def test_pages_are_in_the_regions_units_where_the_spec_names_none(region: str, units: str) -> None:
    spec = build(run("3 m", material="copper-metric", size="15 x 1 mm"), outlet("Heater", "6 kW"), units=None)
    assert Quantities.of(study_of(spec | {"region": region, "setting": "cabin"}).build).unit("load") == units


@pytest.mark.parametrize(("units", "said"), [("si", True), ("us", False), ("anz", False)])
def test_the_sum_of_a_run_is_told_in_kg_an_hour_where_regulators_are_sold_by_it(units: str, said: bool) -> None:
    spec = build(run("3 m", material="copper-metric", size="15 x 1 mm"), outlet("Heater", "6 kW"), units=units)
    view = page.view(study_of(spec), Markup(), ("", ()))
    steps = " ".join(str(step) for zone in view["zones"] for worked in zone["working"] for step in worked["steps"])
    # 6 kW of gross heat, at about 50 MJ/kg: 0.43 kg/h.
    assert ("0.43" in steps.partition("Load, gross heat")[2]) == said
