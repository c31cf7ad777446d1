"""The mount in a study: bolts against the region's multiple, worked by hand, and the distances around the container."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import (
    BOLTS,
    INCH,
    TANK,
    Values,
    build,
    found,
    one,
    outlet,
    run,
    study_of,
    try_study,
    without_none,
    words,
)

from gasdoc.engineering.constants import GRAVITY
from gasdoc.engineering.container.mounting import DIRECTIONS
from gasdoc.report.formats.jsonout import study_json
from gasdoc.study import Study
from gasdoc.study.container.mounting import Mount, times, ways

POUND = 0.45359237

AROUND = ("behind_rear_axle", "clearances")
"""Keys of a mount in these tests that belong to the container."""

ON_CHASSIS: Values = TANK | {"place": "chassis"}


def trailer(mount: Values | None = None, region: str = "us-trailer", tank: Values | None = None, **more: Any) -> Values:
    around = {"behind_rear_axle": "no"} | {key: value for key, value in (mount or {}).items() if key in AROUND}
    bolts = {key: value for key, value in (mount or {}).items() if key not in AROUND}
    container = ON_CHASSIS | without_none(around) | (tank or {})
    if mount is not None:
        container |= {"mount": without_none(BOLTS | bolts)}
    return build(
        run("5 ft", material="copper", type="k"),
        outlet("Oven", "20 kBtu/h"),
        region=region,
        container=container,
        setting="trailer",
        **more,
    )


def mounted(made: Study) -> Mount:
    assert made.mount is not None
    return made.mount


def test_the_loads_are_the_multiple_of_the_filled_weight() -> None:
    made = study_of(trailer({"fittings": "25 lb"}))
    mass = 150 * POUND + 25 * POUND + made.container.fuel_mass
    assert mounted(made).mass == pytest.approx(mass)
    (own,) = [c for c in mounted(made).checks if not c.beside]
    assert own.multiple == 4 and own.rule == "mount-load-four"
    assert [load.direction for load in own.loads] == list(DIRECTIONS)
    assert [load.force for load in own.loads] == pytest.approx([4 * GRAVITY * mass] * 6)


def test_pulled_up_each_of_four_bolts_takes_a_quarter() -> None:
    # SAE J429 grade 5, 1/2-13: proof 85,000 psi x 0.1419 in2 = 12,062 lbf = 53,653 N. Nothing but tension: its share of
    # the proof load is the utilisation.
    made = study_of(trailer({}))
    check = mounted(made).checks[0]
    up = next(load for load in check.loads if load.direction == "up")
    assert up.tensions == pytest.approx((up.force / 4,) * 4)
    assert up.utilisation == pytest.approx(up.force / 4 / 53_653, rel=1e-4)
    assert up.standing == "met"


def test_pushed_sideways_the_rows_hold_the_moment() -> None:
    # left: F h over two rows 10 in apart, two bolts a row: T = F h / (2 x 10 in); V = F / 4; by the interaction
    # sqrt((T/T0)^2 + (V/0.6 T0)^2) with T0 = 53,653 N. The spacer of 1 in is part of the arm.
    made = study_of(trailer({"spacer": "1 in"}))
    left = next(load for load in mounted(made).checks[0].loads if load.direction == "left")
    tension = left.force * mounted(made).centre / (2 * 10 * INCH)
    assert max(left.tensions) == pytest.approx(tension)
    shear = left.force / 4
    assert left.utilisation == pytest.approx(((tension / 53_653) ** 2 + (shear / 0.6 / 53_653) ** 2) ** 0.5, rel=1e-4)
    without = study_of(trailer({}))
    assert mounted(made).centre - mounted(without).centre == pytest.approx(1 * INCH)


def test_the_filled_centre_of_gravity_lies_a_little_under_the_axis() -> None:
    # A lying cylinder four fifths full: the empty cap above the liquid has its centre about 0.73 R above the axis (circle
    # segment of a fifth of the area: half angle 1.0566 rad, centre (2/3) sin^3 a / (a - sin a cos a) = 0.702 R), so the
    # liquid's centre is 0.702 R / 4 = 0.1755 R under it: 1.755 in for R = 10 in. Heads make the cap smaller: 10 %.
    made = study_of(trailer({}))
    fuel, tare = made.container.fuel_mass, 150 * POUND
    drop = 12 * INCH - mounted(made).centre
    assert drop == pytest.approx(1.755 * INCH * fuel / (fuel + tare), rel=0.1)
    # On a wall the distance from it is that of the axis.
    assert mounted(study_of(trailer({"surface": "front-wall"}))).centre == pytest.approx(12 * INCH)


def test_bolts_too_small_are_an_error_with_the_multiple_they_carry() -> None:
    made = study_of(trailer({"thread": "1/4-20", "grade": "grade 2", "across": ["0 in", "1 in"]}))
    finding = one(made, "mount-bolts")
    assert str(finding.severity) == "error"
    assert "4 times" in finding.message and "competent" in finding.remedy and finding.source is not None
    check = mounted(made).checks[0]
    assert check.worst.standing == "not-met" and check.carried == pytest.approx(4 / check.worst.utilisation)
    assert check.carried < 4


def test_what_the_bolts_carry_is_where_their_limit_is_reached() -> None:
    """Loads grow in proportion to the multiple: at the one carried, the worst bolt stands at its limit."""
    weak = {"thread": "1/4-20", "grade": "grade 2", "across": ["0 in", "1 in"]}
    check = mounted(study_of(trailer(weak))).checks[0]
    assert check.carried * check.worst.utilisation / check.multiple == pytest.approx(1)


def test_bolts_in_one_line_have_no_hold() -> None:
    made = study_of(trailer({"across": ["0 in"]}))
    assert "cannot hold it at all" in one(made, "mount-bolts").message
    assert study_json(made)["study"]["mount"]["checks"][0]["loads"][2]["utilisation"] is None


def test_a_multiple_from_memory_never_yields_met_nor_an_error() -> None:
    made = study_of(trailer({}, region="canada"))
    standings = {load.standing for check in mounted(made).checks for load in check.loads}
    assert standings == {"unconfirmed"}
    weak = study_of(trailer({"thread": "1/4-20", "grade": "grade 2", "across": ["0 in", "1 in"]}, region="canada"))
    assert {str(f.severity) for f in found(weak, "mount-bolts")} == {"warning"}


def test_a_fixed_tank_has_its_own_multiples_lengthwise_and_sideways() -> None:
    checks = {c.rule: c for c in mounted(study_of(trailer({}, region="uk"))).checks}
    assert [load.direction for load in checks["tank-fixing"].loads] == ["forward", "rearward"]
    assert [load.direction for load in checks["tank-fixing-sideways"].loads] == ["left", "right"]
    assert checks["tank-fixing"].multiple == 20 and checks["tank-fixing-sideways"].multiple == 8
    cylinder = study_of(
        trailer(
            {},
            region="uk",
            tank={
                "type": "eu-11kg",
                "water_capacity": "27.2 L",
                "orientation": "upright",
                "diameter": "300 mm",
                "length": "600 mm",
                "stays": "no",
            },
        )
    )
    assert "tank-fixing" not in {c.rule for c in mounted(cylinder).checks}


def test_twice_the_weight_with_a_factor_of_four_on_ultimate_strength_stands_beside() -> None:
    # SAE J429 grade 5: tensile 120,000 psi. Up: 4 x (2 m g / 4) / (120,000 psi x 0.1419 in2 = 75,745 N).
    made = study_of(trailer({}))
    beside = next(c for c in mounted(made).checks if c.rule == "beside")
    up = next(load for load in beside.loads if load.direction == "up")
    assert up.utilisation == pytest.approx(4 * (2 * GRAVITY * mounted(made).mass / 4) / 75_745, rel=1e-4)
    assert beside.beside and mounted(made).worst is not beside


@pytest.mark.parametrize(
    ("thread", "grade", "word"),
    [("9/17-3", "grade 5", "thread"), ("1/2-13", "grade 77", "grade"), ("1/2-13", "8.8", "inch")],
)
def test_a_bolt_that_is_not_listed_is_an_input_problem_with_a_hint(thread: str, grade: str, word: str) -> None:
    made, problems = try_study(trailer({"thread": thread, "grade": grade}))
    assert made is None
    (problem,) = [p for p in problems if p.code == "spec-bolt"]
    assert problem.hint


def test_a_mount_not_stated_is_asked_for_on_what_moves() -> None:
    assert "brackets" in words(one(study_of(trailer()), "mount-unknown"))
    assert not found(
        study_of(build(run("5 ft", material="copper", type="k"), outlet("Oven", "20 kBtu/h"))), "mount-unknown"
    )


def test_distances_are_asked_where_not_given_and_never_said_to_be_kept() -> None:
    made = study_of(
        trailer({"clearances": {"relief_to_opening": "12 in", "fill_to_opening": "40 in", "ground": "17 in"}})
    )
    answers = {c.measure: c.answer for c in made.clearances}
    assert answers == {
        "relief_to_opening": "under the limit",
        "relief_to_ignition": "asked",
        "relief_to_intake": "asked",
        "relief_to_exhaust": "asked",
        "fill_to_opening": "limit from memory",
        "fill_to_ignition": "asked",
        "fill_to_intake": "asked",
        "fill_to_exhaust": "asked",
        "ground": "no limit known",
    }
    assert "12 in" in one(made, "clearance-small").message and "18 in" in one(made, "clearance-small").message
    missing = one(made, "clearances-unknown").message
    assert "exhaust" in missing and "relief valve outlet to the nearest opening" not in missing


def test_a_cabin_is_not_asked_about_ground_clearance_or_an_exhaust() -> None:
    made = study_of(build(run("5 ft", material="copper", type="k"), outlet("Oven", "20 kBtu/h")))
    assert {c.measure for c in made.clearances} == {
        "relief_to_opening",
        "relief_to_ignition",
        "relief_to_intake",
        "vent_to_opening",
        "vent_to_ignition",
    }  # and its cylinder is taken away to be filled, so that it has no fill point here


def test_hung_behind_the_rear_axle_is_a_warning() -> None:
    assert found(study_of(trailer({"behind_rear_axle": "yes"})), "behind-rear-axle")
    assert not found(study_of(trailer({})), "behind-rear-axle")
    axle = one(study_of(trailer({"behind_rear_axle": None})), "clearances-unknown")
    assert "rear axle" in axle.message and "'behind_rear_axle:'" in axle.remedy
    assert "under 'clearances:' 'relief_to_" in one(study_of(trailer()), "clearances-unknown").remedy


@pytest.mark.parametrize(
    ("multiple", "said"),
    [(247.1, "240"), (12.3, "12"), (9.99, "9.9"), (4.0, "4.0"), (0.456, "0.45"), (100.0, "100")],
)
def test_a_multiple_is_told_in_two_figures_rounded_down(multiple: float, said: str) -> None:
    assert times(multiple) == said


def hut(container: Values, region: str = "us-cabin", **more: Any) -> Study:
    return study_of(
        build(
            run("5 ft", material="copper", type="k"),
            outlet("Heater", "12 kBtu/h"),
            container=container,
            region=region,
            **more,
        )
    )


@pytest.mark.parametrize(
    ("measure", "near", "far"),
    [
        ("relief_to_opening", "2 ft 11 in", "3 ft"),
        ("relief_to_ignition", "4 ft 11 in", "5 ft"),
        ("relief_to_intake", "4 ft 11 in", "5 ft"),
    ],
)
def test_the_distances_of_a_cylinder_at_a_hut(measure: str, near: str, far: str) -> None:
    # NFPA 58 (2017) figure I.1(a): 3 ft to an opening below, 5 ft to ignition and to intakes.
    said = one(hut({"clearances": {measure: near}}), "clearance-small")
    assert str(said.severity) == "error" and "NFPA 58" in (said.source or "")
    assert said.at == ("container", "clearances", measure)
    made = hut({"clearances": {measure: far}})
    assert not found(made, "clearance-small")
    assert {c.measure: c.answer for c in made.clearances}[measure] == "over the limit"


def test_a_cylinder_filled_in_place_is_asked_ten_feet_from_its_fill_point() -> None:
    made = hut({"stays": "yes", "clearances": {"fill_to_ignition": "9 ft 11 in", "fill_to_intake": "10 ft"}})
    assert one(made, "clearance-small").at == ("container", "clearances", "fill_to_ignition")
    assert not [c for c in hut({"stays": "no"}).clearances if c.measure.startswith("fill_")]


def test_distances_nobody_measured_are_asked_at_a_hut_too() -> None:
    said = one(hut({}), "clearances-unknown")
    assert "air intake of a room-sealed appliance" in said.message and str(said.severity) == "note"


def test_a_figure_from_memory_is_a_warning_at_most() -> None:
    made = study_of(trailer({"clearances": {"relief_to_opening": "12 in"}}))  # 18 in, from memory
    said = one(made, "clearance-small")
    assert "from memory" in (said.source or "") and str(said.severity) == "warning"


def test_straps_are_described_without_bolts_and_what_lacks_is_asked() -> None:
    made = study_of(trailer(tank={"mount": {"way": "straps", "number": "2"}}))
    assert not found(made, "mount-unknown") and made.mount is None
    said = one(made, "mount-incomplete")
    assert "what it is fixed to" in said.message and "rated for" in said.message and "how many" not in said.message
    assert said.remedy.startswith("Add 'fixed_to:' and 'rated:' under 'mount:'.")


def test_straps_rated_for_less_than_the_multiple_are_an_error_and_more_is_never_met() -> None:
    # 150 lb and its gas; two straps that carry three times that between them, where four times is asked.
    mass = 150 * POUND + study_of(trailer()).container.heaviest_fuel

    def held(times: float) -> Study:
        mount = {"way": "straps", "number": "2", "fixed_to": "the frame", "rated": f"{times * mass / 2} kg"}
        return study_of(trailer(tank={"mount": mount}))

    weak = held(3.0)
    assert str(one(weak, "mount-straps").severity) == "error"
    assert weak.tie is not None and weak.tie.carried == pytest.approx(3.0)
    outcomes = {r.rule.id: r.outcome for r in weak.rules if r.rule.measure == "mount-load-multiple"}
    assert outcomes["mount-load-four"] == "not met"
    strong = held(4.5)
    assert not found(strong, "mount-straps") and not found(strong, "mount-incomplete")
    outcomes = {r.rule.id: r.outcome for r in strong.rules if r.rule.measure == "mount-load-multiple"}
    assert outcomes["mount-load-four"] == "for a licensed person"


def test_a_tray_may_give_its_bolts_as_well() -> None:
    made = study_of(trailer({"way": "tray", "fixed_to": "the drawbar"}))
    assert made.mount is not None and made.tie is not None and not found(made, "mount-incomplete")


def test_bolts_half_described_are_a_slip() -> None:
    made, problems = try_study(trailer({"thread": None, "height": None}))
    assert made is None
    (problem,) = [p for p in problems if p.code == "spec-mount"]
    assert "'thread:', 'height:'" in problem.message


def locker(region: str, **sizes: str) -> Study:
    return hut({"place": "locker", "locker": sizes} if sizes else {"place": "locker"}, region)


def outcome(made: Study, rule: str) -> str:
    return next(r.outcome for r in made.rules if r.rule.id == rule)


def test_the_vents_of_a_cabinet_go_by_its_floor_and_the_smaller_one() -> None:
    # 30 x 20 in are 600 in2; 2 % are 12 in2, half of it, 6 in2, high and half low.
    floor = {"length": "30 in", "width": "20 in"}
    rule = "cabinet-vents-two-percent"
    assert outcome(locker("us-vehicle", **floor, vent_high="6 in2", vent_low="6 in2"), rule) == "met by the numbers"
    made = locker("us-vehicle", **floor, vent_high="3 in2", vent_low="20 in2")
    assert outcome(made, rule) == "not met" and found(made, f"rule-{rule}")
    assert outcome(locker("us-vehicle", **floor), rule) == "not known"


@pytest.mark.parametrize(
    ("key", "near", "far", "rule"),
    [
        ("drain", "18 mm", "19 mm", "locker-drain"),
        ("drain_above_water", "74 mm", "75 mm", "locker-drain-height"),
        ("to_opening", "499 mm", "500 mm", "locker-distance"),
    ],
)
def test_the_drain_of_a_boats_locker(key: str, near: str, far: str, rule: str) -> None:
    assert outcome(locker("boat-eu", **{key: near}), rule) == "not met"
    assert outcome(locker("boat-eu", **{key: far}), rule) == "met by the numbers"


def test_a_locker_nobody_described_is_asked_for() -> None:
    assert "drain" in one(locker("boat-eu"), "locker-unknown").reason
    rest = one(locker("boat-eu", drain="22 mm"), "locker-unknown").message
    assert "'to_opening:'" in rest and "'drain:'" not in rest
    assert not found(hut({}, "boat-eu"), "locker-unknown")


def test_two_connected_cylinders_on_a_boat_are_asked_for_non_return_valves() -> None:
    two = {"number": "2", "manifold": "parallel"}
    assert found(hut(two, "boat-eu"), "non-return-unknown")
    assert str(one(hut(two | {"non_return": "no"}, "boat-eu"), "rule-non-return").severity) == "error"
    assert outcome(hut(two | {"non_return": "yes"}, "boat-eu"), "non-return") == "met by the numbers"
    assert not found(hut({}, "boat-eu"), "non-return-unknown")


def test_a_hose_over_a_metre_breaks_the_boats_rule_and_a_rigid_tail_does_not() -> None:
    def boat(kind: str) -> Study:
        return study_of(
            build(
                run("2 m", material="copper", type="k"),
                outlet("Cooker", "5 kW", kind="cooker", connector={"kind": kind, "length": "1.2 m"}),
                region="boat-eu",
            )
        )

    assert found(boat("hose"), "rule-hose-appliance") and not found(boat("rigid"), "rule-hose-appliance")


def test_a_locker_of_a_container_that_stands_outdoors_is_a_slip() -> None:
    spec = trailer(tank={"place": "chassis", "locker": {"drain": "20 mm"}})
    made, problems = try_study(spec)
    assert made is None and [p.code for p in problems] == ["spec-locker"]


def test_every_way_to_hold_a_container_is_described_with_its_source() -> None:
    named = {name: asks for name, asks, source in ways() if source.text}
    assert len(named) == 5 and "never on the valve" in named["tray with a hold-down"]


def test_a_drain_of_three_quarters_of_an_inch_is_printed_as_that() -> None:
    made = locker("boat-us", drain="3/4 in")
    assert [r.has for r in made.rules if r.rule.measure == "locker-drain"] == ["0.75 in"]
