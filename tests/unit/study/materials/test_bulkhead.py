"""A vapour-tight wall: its fitting is among the joints, the parts, the openings and the joints to be wetted."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of

from gasdoc.engineering.materials.joints import Chain
from gasdoc.study.materials.joints import joints


def boat(through: list[str], **more: Any) -> Values:
    return build(
        run("4 m", **({"size": "10 x 1 mm", "material": "copper-metric"} | more), id="line", through=through),
        outlet("Heater", "4 kW", inlet_thread="8 mm compression", connector={"kind": "rigid", "length": "0.3 m"}),
        regulator={"outlet_thread": "10 mm compression"},
        container={"place": "locker"},
        region="boat-eu",
        units="si",
    )


def test_a_bulkhead_fitting_parts_the_line_and_closes_on_both_sides() -> None:
    plain, made = study_of(boat(["frame"])), study_of(boat(["bulkhead", "frame"]))
    parts = {item.key: item.quantity for item in made.materials}
    assert parts["compression-bulkhead:10"] == 1 and "compression-bulkhead:10" not in {i.key for i in plain.materials}
    assert len(made.fittings.joined) == len(plain.fittings.joined) + 2
    assert all(isinstance(j.found, Chain) for j in made.fittings.joined if "bulkhead" in j.before.words + j.after.words)
    assert not found(made, "part-not-listed")


def test_it_is_among_the_openings_and_the_joints_to_be_wetted() -> None:
    made = study_of(boat(["bulkhead"]))
    (opening,) = made.passages.openings
    # 10 mm of tube and the 8 mm (5/16 in) by which the fitting's thread is larger.
    assert opening.opening is not None and opening.opening.hole == pytest.approx(0.010 + 0.3125 * 0.0254)
    assert opening.opening.lining == "fitting" and "vapour-tight" in opening.opening.seal
    assert "line-bulkhead" in {joint.id for joint in joints(made.build, made.fittings)}


@pytest.mark.parametrize(("material", "size"), [("csst", "EHD 18"), ("steel", "1/2 in")])
def test_other_tubing_passes_in_a_sealed_gland(material: str, size: str) -> None:
    spec = build(
        run("4 ft", size, material=material, id="line", through=["bulkhead"]),
        outlet("Heater", "12 kBtu/h"),
        region="us-trailer",
        container={"place": "locker"},
    )
    made = study_of(spec)
    (opening,) = made.passages.openings
    assert opening.opening is not None and opening.opening.lining == "gland"
    assert any(item.key.startswith("gland:") for item in made.materials)


def test_inch_copper_has_a_bulkhead_union() -> None:
    spec = build(
        run("4 ft", "1/2 in OD", material="copper", type="k", id="line", through=["bulkhead"]),
        outlet("Heater", "12 kBtu/h"),
        region="us-trailer",
        container={"place": "locker"},
    )
    made = study_of(spec)
    assert {item.key: item.quantity for item in made.materials}["flare-bulkhead:1/2"] == 1
    assert not found(made, "locker-passage")


@pytest.mark.parametrize("through", [[], ["wall"], ["partition", "frame"]])
def test_a_locker_without_a_tight_passage_is_told(through: list[str]) -> None:
    assert "bulkhead" in one(study_of(boat(through)), "locker-passage").remedy


def test_outdoors_no_tight_passage_is_asked() -> None:
    spec = boat(["wall"])
    spec["container"]["place"] = "outdoors"
    assert not found(study_of(spec), "locker-passage")
