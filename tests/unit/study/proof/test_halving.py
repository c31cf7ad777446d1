"""Halving the line after a fail: every joint is reached, each step parts what is suspect, and the counts are by hand."""

from __future__ import annotations

from made_up_builds import Values, build, outlet, run, study_of, two_stage

from gasdoc.build.reader import Build
from gasdoc.report.views.proof import page as leaktest
from gasdoc.study.materials.joints import NumberedJoint
from gasdoc.study.proof.halving import FEW, HalvingOutcome, HalvingStep, halves, union_before

COPPER = {"material": "copper", "type": "k"}


def line(count: int) -> Values:
    runs = [run("3 ft", "1/2 in nominal", **COPPER, id=f"r{i}") for i in range(count)]
    return build(*runs, outlet("Heater", "20 kBtu/h"), regulator={"id": "reg"})


def steps_of(spec: Values, zone: str = "reg") -> tuple[Build, tuple[NumberedJoint, ...], tuple[HalvingStep, ...]]:
    made = study_of(spec)
    found = made.leak_test.joints
    own = tuple(j for j in found if j.zone == zone and j.needs is None)
    return made.build, own, halves(made.build, zone, found, unions=union_before(made.fittings))


def leaves(steps: tuple[HalvingStep, ...]) -> list[tuple[int, tuple[NumberedJoint, ...]]]:
    """Depth and joints of every end of the procedure."""
    ends: list[tuple[int, tuple[NumberedJoint, ...]]] = []

    def follow(outcome: HalvingOutcome, depth: int) -> None:
        if outcome.step is None:
            ends.append((depth, outcome.joints))
            return
        step = steps[outcome.step - 1]
        follow(step.holds, depth + 1)
        follow(step.falls, depth + 1)

    follow(HalvingOutcome(1, ()), 0)
    return ends


def test_a_line_of_eight_runs_is_cut_in_the_middle_first() -> None:
    # Two ends of each of 8 runs and the shut-off of the heater: 17 joints. Capped before r4: 4 runs, 8 joints, stay on.
    _, own, steps = steps_of(line(8))
    assert len(own) == 17
    assert (steps[0].cut, steps[0].suspects, steps[0].kept) == ("r4", 17, 8)


def test_every_joint_ends_in_just_one_list_and_the_lists_are_short() -> None:
    for spec in (line(8), line(3), two_stage()):
        zone = "first" if "first" in str(spec["regulator"]) else "reg"
        _, own, steps = steps_of(spec, zone)
        if not steps:
            assert len(own) <= FEW or zone == "first"
            continue
        listed = [j for _, some in leaves(steps) for j in some]
        assert sorted(j.id for j in listed) == sorted(j.id for j in own)
        assert all(some for _, some in leaves(steps))


def test_a_long_line_needs_no_more_steps_than_halving_does() -> None:
    # 32 runs have 65 joints: 65 -> 33 -> 17 -> 9 -> 5 -> 3.
    _, _, steps = steps_of(line(32))
    assert max(depth for depth, _ in leaves(steps)) == 5


def test_each_side_of_a_step_is_what_the_next_one_suspects() -> None:
    _, _, steps = steps_of(line(8))
    for step in steps:
        assert 0 < step.kept < step.suspects
        for outcome, size in ((step.holds, step.suspects - step.kept), (step.falls, step.kept)):
            counted = steps[outcome.step - 1].suspects if outcome.step is not None else len(outcome.joints)
            assert counted == size


def test_a_joint_that_leaks_is_found_by_following_the_steps() -> None:
    made, own, steps = steps_of(line(8))
    behind = {
        node.id: {n.id for n in made.nodes[i:]} for i, node in enumerate(made.nodes)
    }  # one line: all that follows
    for leaking in own:
        outcome = HalvingOutcome(1, ())
        while outcome.step is not None:
            step = steps[outcome.step - 1]
            on_the_gauge = leaking.element not in behind[step.cut]
            outcome = step.falls if on_the_gauge else step.holds
        assert leaking in outcome.joints


def test_the_joints_of_regulator_and_connectors_are_not_in_a_test_of_the_piping() -> None:
    _, own, _ = steps_of(line(3))
    assert not [j for j in own if "connector" in j.id or j.element == "reg"]


def test_a_few_joints_are_not_halved() -> None:
    _, own, steps = steps_of(line(1))
    assert len(own) == 3 and steps == ()


def test_the_page_of_every_example_names_only_what_there_is() -> None:
    made = study_of(line(8))
    for step in halves(made.build, "reg", made.leak_test.joints):
        assert step.cut in made.build.by_id


def test_steel_between_elbows_is_never_undone_at_one_end() -> None:
    runs = [run("3 ft", "1/2 in", material="steel", id=f"r{i}", bends=2) for i in range(4)]
    _, own, steps = steps_of(build(*runs, outlet("Heater", "20 kBtu/h", id="heater"), regulator={"id": "reg"}))
    # Two ends and the elbows of four runs, the heater's shut-off, and the union behind the regulator.
    assert len(own) == 14
    assert [step.cut for step in steps] == ["heater"]  # the end of the line alone comes off
    assert len(steps[0].falls.joints) == 13 > FEW


def test_tubing_with_nuts_is_undone_also_where_steel_feeds_it() -> None:
    steel = [run("3 ft", "1/2 in", material="steel", id=f"s{i}") for i in range(2)]
    _, _, steps = steps_of(
        build(
            *steel,
            run("3 ft", "1/2 in nominal", **COPPER, id="c"),
            outlet("Heater", "20 kBtu/h"),
            regulator={"id": "reg"},
        )
    )
    assert steps[0].cut == "c"


def test_no_shut_off_valve_is_undone_at_an_appliance_that_has_none() -> None:
    without = outlet("Heater", "20 kBtu/h", id="heater", shut_off="no")
    runs = [run("3 ft", "1/2 in nominal", **COPPER, id=f"r{i}") for i in range(2)]
    for end, says in ((without, "the end fitting of the line of Heater"), (None, "the shut-off valve of Heater")):
        made = study_of(build(*runs, end or outlet("Heater", "20 kBtu/h", id="heater"), regulator={"id": "reg"}))
        heater = next(s for s in made.served if s.id == "heater")
        assert leaktest.end_of(heater) == says
