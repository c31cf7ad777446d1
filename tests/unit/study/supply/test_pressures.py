"""The pressures that reach the appliances of a build, against hand calculations."""

from __future__ import annotations

import pytest
from made_up_builds import (
    FOOT,
    INCH_OF_WATER,
    PSI,
    REGULATOR,
    THREE,
    Values,
    build,
    found,
    gets_there,
    one,
    outlet,
    pressures,
    run,
    run_pressures,
    runs,
    study_of,
    tee,
    two_stage,
)
from msgspec.structs import replace

from gasdoc.study import Study
from gasdoc.study.facts import OutletPressure
from gasdoc.study.supply.lines import RunPressure
from gasdoc.study.supply.pressures import unfed

COPPER = {"material": "copper", "type": "k"}
NO_CONNECTOR_LOSS: Values = {"connector": {"kind": "flexible", "length": "3 ft"}}


def inches(gauge: float) -> float:
    return gauge / INCH_OF_WATER


def at(made: Study, name: str) -> OutletPressure:
    (found,) = [o for o in made.outlets if o.id == name]
    return found


def along(made: Study, name: str) -> RunPressure:
    found = runs(made)[name].pressure
    assert found is not None
    return found


def single(load: str = "64 kBtu/h", length: str = "20 ft", regulator: Values | None = None, **more: object) -> Values:
    """One run of 3/8 nominal copper to one heater: 20 ft carry 64 thousand Btu/h at a drop of 0.5 inH2O."""
    return build(run(length, "3/8 in nominal", **COPPER, id="r"), outlet("Heater", load, **more), regulator=regulator)


def test_a_run_loaded_to_its_cell_loses_the_drop_of_the_table_by_the_codes_law() -> None:
    # The cell is 64 +- 0.5: 0.8 % of load is 1.4 % of drop, and the cells lie within 1 % of load of the equation.
    assert inches(along(study_of(single()), "r").code_drop) == pytest.approx(0.5, rel=0.03)


def test_half_the_load_loses_by_the_exponent_of_the_codes_law() -> None:
    # Capacity goes with drop to the power 0.541, so drop goes with load to the power 1 / 0.541: 2^-1.848 = 0.278.
    full, half = (along(study_of(single(load)), "r").code_drop for load in ("64 kBtu/h", "32 kBtu/h"))
    assert half / full == pytest.approx(0.278, abs=0.002)


def test_the_larger_of_both_laws_counts_and_what_is_left_reaches_the_appliance() -> None:
    made = study_of(single(**NO_CONNECTOR_LOSS))
    run_ = along(made, "r")
    assert run_.drop == pytest.approx(max(run_.code_drop, run_.darcy_drop), rel=1e-12)
    assert run_.darcy_drop > 0 and run_.code_drop > 0
    heater = at(made, "heater")
    assert heater.connector_drop is None
    assert heater.full == pytest.approx(11 * INCH_OF_WATER - run_.drop, abs=0.01)
    assert pressures(made)[0] is not None
    assert pressures(made)[0].worst_drop == pytest.approx(run_.drop, abs=0.01)


def test_drops_add_up_along_the_way_and_each_appliance_alone_sees_less_drop() -> None:
    made = study_of(THREE)
    way = sum(along(made, name).drop for name in ("trunk", "middle", "to-boiler"))
    assert at(made, "boiler").full == pytest.approx(11 * INCH_OF_WATER - way, abs=0.01)
    for name in ("heater", "cooker", "boiler"):
        assert at(made, name).alone > at(made, name).full


def test_ten_feet_of_rise_cost_0_087_inches_of_water() -> None:
    # At 11 inH2O and 15 degC propane has 1.90 x 1.027 = 1.95 kg/m3, air 1.225: (1.95 - 1.225) x 9.81 x 3.048 = 21.7 Pa,
    # 0.087 inH2O; the round figure of the trade is "about 0.008 inH2O a foot". 3 % for the density.
    def full(rise: str) -> float:
        spec = single("1 kBtu/h")
        spec["supply"][0]["run"]["rise"] = rise
        return inches(at(study_of(spec), "heater").full)

    assert full("0 ft") - full("10 ft") == pytest.approx(0.087, rel=0.03)
    assert full("-10 ft") - full("0 ft") == pytest.approx(0.087, rel=0.03)


def test_a_connector_loses_by_the_square_of_its_share_of_its_rating() -> None:
    # Rated 60 at 0.5 inH2O; 30 through it: 0.5 x (1/2)^2 = 0.125.
    made = study_of(single("30 kBtu/h", connector={"kind": "flexible", "length": "2 ft", "capacity": "60 kBtu/h"}))
    heater = at(made, "heater")
    assert heater.connector_drop is not None and inches(heater.connector_drop) == pytest.approx(0.125)
    assert heater.full == pytest.approx(11 * INCH_OF_WATER - along(made, "r").drop - heater.connector_drop, abs=0.01)


def test_at_no_flow_every_appliance_stands_at_the_lock_up() -> None:
    made = study_of(single(regulator={"lock_up": "13.2 inH2O"}))
    assert inches(at(made, "heater").highest) == pytest.approx(13.2)
    assert pressures(made)[0] is not None and pressures(made)[0].lock_up_known


def test_without_a_lock_up_the_highest_is_the_setting_with_its_tolerance() -> None:
    solved = pressures(study_of(single(regulator={"lock_up": None, "tolerance": "5 %"})))[0]
    assert solved is not None and not solved.lock_up_known and solved.tolerance_known
    assert (inches(solved.lowest), inches(solved.highest)) == pytest.approx((11 * 0.95, 11 * 1.05))


def test_the_low_end_of_the_tolerance_lowers_every_appliance() -> None:
    made = study_of(single(regulator={"tolerance": "0.4 inH2O"}))
    heater = at(made, "heater")
    assert inches(heater.full - heater.lowest) == pytest.approx(0.4, abs=0.01)


def test_a_scenario_loads_only_what_it_names() -> None:
    spec = THREE | {
        "scenarios": [
            {"name": "Night", "outlets": ["heater"]},
            {"name": "All", "outlets": ["heater", "cooker", "boiler"]},
        ]
    }
    made = study_of(spec)
    assert pressures(made)[0] is not None
    night, everything = pressures(made)[0].scenarios
    assert dict(night.gauges) == pytest.approx({"heater": at(made, "heater").alone})
    assert dict(everything.gauges) == pytest.approx({n: at(made, n).full for n in ("heater", "cooker", "boiler")})


def test_each_zone_starts_at_its_own_regulator() -> None:
    made = study_of(two_stage())
    first, hut, shed = pressures(made)
    assert first is not None and hut is not None and shed is not None
    arriving = dict(first.regulators)
    # 1/4 in carries 215 over 50 ft at 1 psi drop. 210 over 35 ft and 120 over 10 ft: less than 1 psi, more than half.
    assert 9 * PSI < arriving["shed-reg"] < 9.5 * PSI
    assert arriving["hut-reg"] > arriving["shed-reg"]
    for solved, name in ((hut, "heater"), (shed, "kettle")):
        assert solved.outlets[0].id == name
        assert 10 * INCH_OF_WATER < solved.outlets[0].full < 11 * INCH_OF_WATER


def test_a_zone_whose_only_run_has_no_size_has_no_pressures_but_a_trial() -> None:
    enough = {**REGULATOR, "capacity": "9000 kBtu/h"}
    made = study_of(build(run("10 ft", **COPPER), outlet("Kiln", "9000 kBtu/h", kind="other"), regulator=enough))
    (solved,) = pressures(made)
    assert solved is not None and solved.outlets == () and run_pressures(made) == {}
    assert [o.id for o in solved.behind] == ["kiln"]
    assert "the largest on offer" in one(made, "pressure-unknown").reason


def test_a_corrugated_run_loaded_to_its_cell_loses_about_the_drop_of_the_table() -> None:
    # EHD 18, 30 ft: 74. The law is the fit lowered by its worst error (0.79 %), and end fittings and bends count.
    made = study_of(build(run("30 ft", "EHD 18", material="csst", id="r"), outlet("Heater", "74 kBtu/h")))
    assert inches(along(made, "r").drop) == pytest.approx(0.5, rel=0.05)
    assert along(made, "r").code_drop == along(made, "r").darcy_drop


def test_what_a_run_could_still_take_ends_where_its_size_falls_short_by_the_table() -> None:
    # 3/8 in nominal type K: 64 thousand Btu/h at 20 ft, so 44 more; it carries 20 up to the last row, 50 ft, so 30 ft more.
    made = study_of(single("20 kBtu/h", **NO_CONNECTOR_LOSS))
    run_of = along(made, "r")
    assert run_of.more_load == pytest.approx(44 * 293.07107, rel=1e-6)
    assert run_of.more_length == pytest.approx(30 * FOOT, rel=1e-4)  # the reach is found by bisection


def test_what_a_run_could_still_take_ends_where_its_appliance_reaches_its_minimum() -> None:
    def tight(load: str, length: str) -> Values:
        return single(load, length, **NO_CONNECTOR_LOSS, min_inlet="10.9 inH2O")

    made = study_of(tight("20 kBtu/h", "20 ft"))
    more_load, more_length = along(made, "r").more_load, along(made, "r").more_length
    assert more_load is not None and more_length is not None
    load, length = 20 * 293.07107, 20 * FOOT
    more = study_of(tight(f"{load + more_load:.6f} W", "20 ft"))
    assert inches(at(more, "heater").full) == pytest.approx(10.9, abs=0.01)
    longer = study_of(tight("20 kBtu/h", f"{length + more_length:.6f} m"))
    assert inches(at(longer, "heater").full) == pytest.approx(10.9, abs=0.01)


def test_gas_speed_is_volume_flow_over_bore() -> None:
    # 64 thousand Btu/h = 18,757 W / 50.1e6 J/kg = 3.744e-4 kg/s; at 1.96 kg/m3 1.910e-4 m3/s; a bore of 0.402 in is
    # 8.19e-5 m2: 2.33 m/s.
    assert along(study_of(single()), "r").speed == pytest.approx(2.33, rel=0.02)


def test_pressures_at_altitude_are_lower_since_the_gas_is_thinner() -> None:
    low, high = (at(study_of(single() | {"altitude": altitude}), "heater").full for altitude in ("0 ft", "9000 ft"))
    assert high < low


def test_a_smaller_run_is_named_as_the_one_to_upsize_first() -> None:
    made = study_of(
        build(
            run("5 ft", "1 in nominal", **COPPER, id="wide"),
            run("20 ft", "3/8 in nominal", id="narrow"),
            outlet("Heater", "60 kBtu/h"),
        )
    )
    (solved,) = pressures(made)
    assert solved is not None and solved.upsize is not None and solved.upsize[0] == "narrow"


def test_two_branches_do_not_share_their_drops() -> None:
    def full_of_heater(other: str) -> float:
        return at(
            study_of(
                build(
                    tee(
                        [run("20 ft", "3/8 in nominal", **COPPER), outlet("Heater", "30 kBtu/h")],
                        [run("20 ft", "3/8 in nominal", **COPPER), outlet("Boiler", other)],
                    )
                )
            ),
            "heater",
        ).full

    assert full_of_heater("5 kBtu/h") == pytest.approx(full_of_heater("60 kBtu/h"), rel=1e-12)


def past_its_table(size: str | None = None, scenarios: bool = False) -> Values:
    """A heater near the regulator, and a cooker at the end of a corrugated run whose path no table and no fit reaches."""
    long = run("600 ft", size, id="long", material="csst")
    supply = [
        run("10 ft", "5/8 in OD", material="copper", type="k", id="trunk"),
        tee([run("10 ft", "1/2 in OD"), outlet("Heater", "20 kBtu/h")], [long, outlet("Cooker", "30 kBtu/h")]),
    ]
    more: Values = {"scenarios": [{"name": "Both", "outlets": ["heater", "cooker"]}]} if scenarios else {}
    return build(*supply, **more)


def test_what_is_not_behind_a_run_without_a_size_is_solved_and_does_not_depend_on_it() -> None:
    made = study_of(past_its_table(scenarios=True))
    solved = pressures(made)[0]
    assert solved is not None
    assert [o.id for o in solved.outlets] == ["heater"] and list(run_pressures(made)) == ["trunk", "run-heater"]
    for size in ("EHD 19", "EHD 60"):
        given = pressures(study_of(past_its_table(size)))[0]
        assert given is not None
        (heater,) = [o for o in given.outlets if o.id == "heater"]
        assert solved.outlets[0] == heater
    assert [outlet for outlet, _ in solved.scenarios[0].gauges] == ["heater"]


def test_what_is_behind_it_is_a_trial_that_says_so_and_no_other_figure_rests_on_it() -> None:
    made = study_of(past_its_table())
    solved = pressures(made)[0]
    assert solved is not None
    assert [(t.run, t.size.id, t.by) for t in solved.tried] == [("long", "EHD 60", "largest")]
    assert [o.id for o in solved.behind] == ["cooker"]
    as_given = pressures(study_of(past_its_table("EHD 60")))[0]
    assert as_given is not None
    assert solved.behind[0] == next(o for o in as_given.outlets if o.id == "cooker")
    said = one(made, "pressure-unknown", "cooker")
    assert "long has no size" in said.message
    assert "not a size to build to" in said.reason and "EHD 60" in said.reason and "the largest on offer" in said.reason
    assert found(made, "below-minimum") == [] and solved.worst_drop is None and solved.upsize is None
    assert all(r.more_load is None and r.more_length is None for r in run_pressures(made).values())
    assert next(part for part in made.room.parts if part.name == "pipe").room is None
    assert all(r.outcome != "met by the numbers" for r in made.rules if r.rule.measure == "sizing-drop")


def test_behind_a_regulator_fed_through_a_run_without_a_size_nothing_is_known() -> None:
    """The shed's regulator is fed through corrugated tubing at a pressure that no table is for; the hut's is not."""
    spec = two_stage()
    spec["supply"][0]["run"]["size"] = "5/8 in OD"
    feeder = {"length": "90 ft", "bends": "0", "material": "csst"}
    spec["supply"][1]["junction"]["branches"][1][0]["run"] |= feeder | {"size": None}
    made = study_of(spec)
    first, hut, shed = pressures(made)
    assert first is not None and hut is not None and shed is not None
    assert [t.run for t in first.tried] == ["feeder-shed"] and dict(first.regulators).keys() == {"hut-reg"}
    assert hut.outlets[0].id == "heater" and hut.behind == ()
    assert shed.outlets == () and run_pressures(made, 2) == {} and [o.id for o in shed.behind] == ["kettle"]
    said = one(made, "pressure-unknown", "kettle")
    assert "before its regulator shed-reg" in said.message and "could not be checked" in said.reason
    assert made.answers.gas_gets_there.word == "not known"
    unchecked = one(made, "regulator-inlet-unknown")
    assert unchecked.subject == "shed-reg" and "feeder-shed before it has no size" in unchecked.message
    assert one(study_of(with_inlet(spec)), "regulator-inlet-unknown").reason.startswith(
        "Whether that is the 5 psi it is rated"
    )
    assert found(study_of(two_stage()), "regulator-inlet-unknown") == []


def with_inlet(spec: Values) -> Values:
    """The same with the lowest inlet of the shed's regulator stated."""
    spec["supply"][1]["junction"]["branches"][1][1]["regulator"]["inlet"] = "5 psi"
    return spec


@pytest.mark.parametrize("unknown", [True, False])
def test_a_zone_that_cannot_be_worked_out_leaves_those_behind_it_unknown(unknown: bool) -> None:
    made = study_of(two_stage())
    first, *others = made.zones
    left = tuple(unfed(made.build, [replace(first, pressure=None) if unknown else first, *others]))
    assert [zone.pressure for zone in left] == ([None] * len(left) if unknown else list(pressures(made)))
    assert any(run.pressure is not None for zone in left for run in zone.runs) is not unknown


def test_the_overview_begins_with_a_word_where_no_pressure_is_known() -> None:
    """Corrugated tubing past its table feeds the second regulator."""
    spec = two_stage()
    spec["supply"][0]["run"] = {k: v for k, v in spec["supply"][0]["run"].items() if k not in ("size", "type")} | {
        "material": "csst",
        "length": "300 ft",
    }
    made = study_of(spec)
    assert made.zones[0].runs[0].size is None
    word, why = gets_there(made)
    assert word == "not known" and not why.startswith(".")
    assert {f.subject for f in found(made, "pressure-unknown")} == {s.id for s in made.served}
    assert {f.subject for f in found(made, "regulator-inlet-unknown")} == {"hut-reg", "shed-reg"}


def test_a_size_of_the_branch_length_method_is_tried_first() -> None:
    """2 in carries 5890 thousand Btu/h over 10 ft, about 2470 over 50 ft: the kiln's 5000 at 6 ft, not by the longest path."""
    made = study_of(
        build(
            run("1 ft", "2-1/8 in OD", material="copper", type="k", id="trunk"),
            tee(
                [run("5 ft"), outlet("Kiln", "5000 kBtu/h", kind="other")],
                [run("40 ft"), outlet("Heater", "10 kBtu/h")],
            ),
            regulator={"capacity": "9000 kBtu/h"},
        )
    )
    solved = pressures(made)[0]
    assert solved is not None
    assert [(t.run, t.by) for t in solved.tried] == [("run-kiln", "branch-length")]
    assert [o.id for o in solved.behind] == ["kiln"]
