"""Pressures in a zone: behaviour that must hold for any tree."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from gasdoc.engineering.supply import capacity, fittings, flow, lpg, network
from gasdoc.engineering.supply.network import Network, Pipe
from gasdoc.engineering.supply.tree import Tree, path

AIR = 101325.0
SOURCE = 2740.0
GAS = lpg.gas(lpg.PROPANE, 288.15, AIR + SOURCE)
HEAT = lpg.gross_heating_value(lpg.PROPANE)
LAWS = pytest.mark.parametrize("law", [network.darcy, network.code, network.larger])


def zone(parent: tuple[int, ...], length: tuple[float, ...], load: tuple[float, ...], bore: float = 0.0109) -> Network:
    count = len(parent)
    return Network(Tree(parent, length, load), (Pipe(bore, 1.5e-6),) * count, (0.0,) * count, SOURCE, AIR, GAS, HEAT)


FORK = zone((-1, 0, 0), (3.0, 2.0, 5.0), (0.0, 9e3, 12e3))
NONE = (None, None, None)


@st.composite
def zones(draw: st.DrawFn) -> Network:
    count = draw(st.integers(1, 8))
    parent = tuple(draw(st.integers(-1, i - 1)) for i in range(count))

    def numbers(low: float, high: float) -> tuple[float, ...]:
        return tuple(draw(st.floats(low, high)) for _ in range(count))

    tree = Tree(parent, numbers(0.0, 10.0), numbers(0.0, 2e4))
    bores, extras = numbers(0.005, 0.03), numbers(0.0, 2.0)
    pipes = tuple(Pipe(bore, 1.5e-6, extra) for bore, extra in zip(bores, extras, strict=True))
    return Network(tree, pipes, numbers(-3.0, 3.0), SOURCE, AIR, GAS, HEAT)


def at(values: tuple[float, ...], i: int, value: float) -> tuple[float, ...]:
    return (*values[:i], value, *values[i + 1 :])


@LAWS
@given(zones(), st.data(), st.floats(1.0, 2.0))
def test_more_load_more_length_or_less_bore_never_raises_a_pressure(
    law: network.Law, case: Network, data: st.DataObject, more: float
) -> None:
    i = data.draw(st.integers(0, len(case.tree) - 1))
    before = network.pressures(case, law=law)
    tree, pipe = case.tree, case.pipes[i]
    changed = (
        replace(case, tree=replace(tree, load=at(tree.load, i, tree.load[i] * more + 100.0))),
        replace(case, tree=replace(tree, length=at(tree.length, i, tree.length[i] * more))),
        replace(case, pipes=(*case.pipes[:i], replace(pipe, bore=pipe.bore / more), *case.pipes[i + 1 :])),
    )
    for other in changed:
        for old, new in zip(before, network.pressures(other, law=law), strict=True):
            assert new <= old + 1e-6


@given(zones())
def test_mass_closes_at_every_joint_and_pressures_follow_the_drops(case: Network) -> None:
    solution = network.solve(case)
    tree = case.tree
    for i in range(len(tree)):
        behind = sum(solution.carried[k] for k in range(len(tree)) if tree.parent[k] == i)
        assert solution.carried[i] == pytest.approx(tree.load[i] + behind, rel=1e-12)
        assert solution.gauge[i] == pytest.approx(SOURCE - sum(solution.drop[k] for k in path(tree, i)), abs=1e-6)
    assert sum(solution.carried[i] for i in range(len(tree)) if tree.parent[i] < 0) == pytest.approx(sum(tree.load))


def test_pressure_at_an_end_is_the_source_less_every_squared_drop_on_the_way() -> None:
    trunk = flow.squared_drop(21e3 / HEAT, 0.0109, 3.0, 1.5e-6, GAS)
    branch = flow.squared_drop(12e3 / HEAT, 0.0109, 5.0, 1.5e-6, GAS)
    solution = network.solve(FORK)
    assert solution.gauge[2] == pytest.approx(math.sqrt((AIR + SOURCE) ** 2 - trunk - branch) - AIR, abs=1e-6)
    assert solution.carried == (21e3, 9e3, 12e3)
    assert solution.re[0] == pytest.approx(flow.reynolds(21e3 / HEAT, 0.0109, GAS.viscosity))
    assert solution.regime == ("turbulent", "transition", "transition")
    assert solution.starved == ()


def test_one_appliance_alone_sees_more_pressure_than_all_at_once() -> None:
    together = network.pressures(FORK)
    alone = network.pressures(FORK, (0.0, 0.0, 12e3))
    assert alone[2] > together[2]


def test_without_flow_pressure_differs_from_the_source_by_height_alone() -> None:
    tall = replace(FORK, rise=(2.0, 0.0, -2.0))
    gauge = network.pressures(tall, (0.0, 0.0, 0.0))
    assert gauge[0] == pytest.approx(SOURCE - flow.rise_loss(2.0, GAS, AIR), abs=0.01)
    assert gauge[1] == gauge[0]
    assert gauge[2] == pytest.approx(SOURCE, abs=0.01)
    still = network.solve(tall, (0.0, 0.0, 0.0))
    assert still.regime == (None, None, None) and still.speed == (0.0, 0.0, 0.0)


def test_a_load_that_cannot_flow_is_starved_with_all_behind_it() -> None:
    case = zone((-1, 0, -1), (3.0, 2.0, 3.0), (0.0, 9e6, 1e3))
    solution = network.solve(case)
    assert solution.starved == (0, 1)
    assert solution.gauge[0] == solution.gauge[1] == 0.0
    assert solution.gauge[2] > 2700.0


def test_a_segment_just_starved_stands_at_nothing_and_so_does_what_falls_behind_it() -> None:
    """The first takes 1 MPa2 more than there is (5 Pa); the second falls 100 m, which would give some 140 MPa2 back."""
    more = (AIR + SOURCE) ** 2 - AIR**2 + 1e6
    case = zone((-1, 0), (3.0, 2.0), (1e3, 1e3))
    case = replace(case, pipes=(Pipe(0.0109, 0.0, own=lambda load, length: more), case.pipes[1]), rise=(0.0, -100.0))
    solution = network.solve(case)
    assert solution.gauge == (0.0, 0.0)
    assert solution.starved == (0, 1)
    assert solution.drop == (SOURCE, 0.0)


def test_a_solution_is_of_the_loads_in_use() -> None:
    one = (0.0, 0.0, 12e3)
    solution = network.solve(FORK, one, network.code)
    assert solution.gauge == network.pressures(FORK, one, network.code)
    assert solution.carried == (12e3, 0.0, 12e3)
    assert solution.gauge[1] == solution.gauge[0]


def test_speed_is_that_of_the_gas_as_it_leaves_the_segment() -> None:
    # By hand: 21 kW / 50.12 MJ/kg = 0.419 g/s; at 15 degC and 104,065 Pa propane weighs about 1.95 kg/m3, and the bore of
    # 10.9 mm is 93.3 mm2: 2.30 m/s.
    assert network.solve(FORK).speed[0] == pytest.approx(2.30, rel=0.01)


def test_a_starved_segment_stays_starved_however_far_it_falls_behind() -> None:
    case = zone((-1, 0), (3.0, 2.0), (9e5, 0.0), bore=0.005)
    case = replace(case, rise=(0.0, -9000.0))
    assert network.solve(case).starved == (0, 1)


def test_the_code_law_gives_the_code_equation_in_a_single_run() -> None:
    single = zone((-1,), (9.0,), (12e3,))
    drop = SOURCE - network.pressures(single, law=network.code)[0]
    plain = capacity.low_pressure_drop(12e3, 0.0109, 9.0)
    # 0.1 %: the drop is held at the inlet's pressure, and the codes' 14.7 psi is not quite our 101,325 Pa.
    assert plain <= drop == pytest.approx(plain, rel=1e-3)


def test_a_hopeless_load_starves_under_every_law() -> None:
    for law in (network.darcy, network.code, network.larger):
        for load in (1e6, 1e8, 1e10):
            assert network.solve(zone((-1,), (9.0,), (load,)), law=law).starved == (0,)


def test_a_run_of_no_length_costs_nothing_by_the_code() -> None:
    assert network.code(zone((-1,), (0.0,), (12e3,)), 0, 12e3) == 0.0
    metre = network.code(zone((-1,), (1.0,), (12e3,)), 0, 12e3)
    assert metre == pytest.approx(2.0 * (SOURCE + 101352.9) * capacity.low_pressure_drop(12e3, 0.0109, 1.0))


@pytest.mark.parametrize(("gauge", "high"), [(1.5 * 6894.757293168361, True), (1.49 * 6894.757, False)])
def test_from_one_and_a_half_psi_on_the_code_takes_its_high_pressure_equation(gauge: float, high: bool) -> None:
    case = replace(zone((-1,), (9.0,), (20e3,)), source_gauge=gauge)
    low_one = network.low_pressure_squared(capacity.low_pressure_drop(20e3, 0.0109, 9.0), gauge)
    high_one = capacity.high_pressure_squared_drop(20e3, 0.0109, 9.0)
    assert network.code(case, 0, 20e3) == (high_one if high else low_one)


def test_the_code_law_turns_to_the_high_pressure_equation_at_its_limit() -> None:
    gauge = 68947.0
    gas = lpg.gas(lpg.PROPANE, 288.15, AIR + gauge)
    single = replace(zone((-1,), (9.0,), (200e3,)), source_gauge=gauge, gas=gas)
    assert network.code(single, 0, 200e3) == capacity.high_pressure_squared_drop(200e3, 0.0109, 9.0)


@given(zones())
def test_the_larger_law_takes_the_larger_of_both_in_every_segment(case: Network) -> None:
    for i in range(len(case.tree)):
        both = (network.darcy(case, i, 5e3), network.code(case, i, 5e3))
        assert network.larger(case, i, 5e3) == max(both)


def test_a_segment_with_its_own_law_follows_it_under_every_law() -> None:
    table = network.low_pressure_squared(124.5, SOURCE)
    a, b = 60e3, 0.5
    own = Pipe(0.012, 1.5e-6, 1.0, lambda load, length: fittings.corrugated_drop(load, length, a, b, table))
    single = replace(zone((-1,), (8.0,), (a * 9.0**-b,)), pipes=(own,))
    for law in (network.darcy, network.code, network.larger):
        # 8 m and 1 m of bends is the length at which the table's drop is used up.
        assert SOURCE - network.pressures(single, law=law)[0] == pytest.approx(124.5, rel=1e-3)
    assert network.solve(single).regime == (None,)


def test_thinner_air_takes_more_pressure_for_the_same_load() -> None:
    air = lpg.atmosphere_absolute(3000.0)
    high = replace(FORK, atmosphere_absolute=air, gas=lpg.gas(lpg.PROPANE, 288.15, air + SOURCE))
    for law in (network.darcy, network.code):
        ratio = (SOURCE - network.pressures(high, law=law)[2]) / (SOURCE - network.pressures(FORK, law=law)[2])
        assert ratio == pytest.approx(104065.0 / (air + SOURCE), rel=0.01)


# --- regulator ---


def test_at_another_source_pressure_the_gas_is_as_dense_as_that_makes_it() -> None:
    tall = network.fed(replace(FORK, rise=(3.0, 0.0, -9.0)), 30e3)
    assert (tall.source_gauge, tall.gas.absolute) == (30e3, AIR + 30e3)
    # By hand: 131.3 kPa over 104.1 kPa of 1.95 kg/m3 is 2.46 kg/m3; less 1.225 for the air, x 9.81 x 3 m: 36 Pa.
    assert 30e3 - network.pressures(tall, (0.0, 0.0, 0.0))[0] == pytest.approx(36.0, abs=1.0)


# --- margins ---

MINIMUM = (None, 2600.0, 2600.0)


@LAWS
def test_load_margin_takes_the_tightest_appliance_just_to_its_minimum(law: network.Law) -> None:
    margin = network.load_margin(FORK, MINIMUM, 1, law)
    assert margin.reason is None and margin.value > 0.0

    def gauge(extra: float) -> tuple[float, ...]:
        return network.pressures(FORK, (0.0, 9e3 + extra, 12e3), law)

    assert min(gauge(margin.value)[1:]) >= 2600.0 - 1e-6
    assert min(gauge(margin.value + 1.0)[1:]) < 2600.0
    assert margin.outlet == min((1, 2), key=lambda i: gauge(margin.value + 1.0)[i])


def test_load_margin_may_be_many_times_the_load_there_is() -> None:
    light = zone((-1, 0, 0), (3.0, 2.0, 5.0), (0.0, 100.0, 200.0))
    margin = network.load_margin(light, MINIMUM, 2)
    assert margin.outlet == 2 and margin.value > 5_000.0
    assert network.pressures(light, (0.0, 100.0, 200.0 + margin.value))[2] == pytest.approx(2600.0, abs=1e-6)


def test_an_appliance_without_a_minimum_still_needs_to_stand_above_the_air() -> None:
    margin = network.load_margin(FORK, NONE, 2)
    assert margin.outlet == 2
    at_the_edge = network.pressures(FORK, (0.0, 9e3, 12e3 + margin.value))
    assert 0.0 <= at_the_edge[2] < 0.01
    assert network.load_margin(FORK, (None, None, 1000.0), 2).value < margin.value


def test_an_end_with_nothing_on_it_needs_no_pressure() -> None:
    idle = Pipe(0.0109, 1.5e-6, own=lambda load, length: 2e10)  # a valve that is shut
    case = replace(FORK, tree=replace(FORK.tree, load=(0.0, 9e3, 0.0)), pipes=(*FORK.pipes[:2], idle))
    assert network.load_margin(case, NONE, 1).reason is None
    assert network.upsize_first(case, NONE, (Pipe(0.0138, 1.5e-6),) * 3) is not None


def test_of_two_outlets_alike_the_first_is_named() -> None:
    case = zone((-1, 0, 0), (3.0, 5.0, 5.0), (0.0, 9e3, 9e3))
    alike = (None, 2000.0, 2000.0)
    assert network.load_margin(case, alike, 0).outlet == 1
    assert network.length_margin(case, alike, 0).outlet == 1
    found = network.upsize_first(case, alike, (Pipe(0.0138, 1.5e-6),) * 3)
    assert found is not None and found.outlet == 1


def test_an_outlet_that_stands_at_its_minimum_is_not_below_it() -> None:
    exact = (AIR + SOURCE) ** 2 - (AIR + 2600.0) ** 2
    case = replace(zone((-1,), (3.0,), (9e3,)), pipes=(Pipe(0.0109, 0.0, own=lambda load, length: exact),))
    for margin in (network.load_margin(case, (2600.0,), 0), network.length_margin(case, (2600.0,), 0)):
        assert margin == network.Margin(math.inf, None, "unlimited")
    for margin in (network.load_margin(case, (2601.0,), 0), network.length_margin(case, (2601.0,), 0)):
        assert margin == network.Margin(0.0, 0, "already-below")


@LAWS
def test_length_margin_takes_an_appliance_behind_just_to_its_minimum(law: network.Law) -> None:
    margin = network.length_margin(FORK, MINIMUM, 2, law)
    assert margin.outlet == 2
    longer = replace(FORK, tree=replace(FORK.tree, length=(3.0, 2.0, 5.0 + margin.value)))
    assert network.pressures(longer, law=law)[2] == pytest.approx(2600.0, abs=1e-6)


@LAWS
@pytest.mark.parametrize(("segment", "outlet"), [(0, 3), (1, 2), (2, 2), (3, 3)])
def test_length_margin_asks_those_behind_the_segment_and_no_others(law: network.Law, segment: int, outlet: int) -> None:
    """A trunk, on it a run with another at its end to one appliance, and a run to an appliance with less room."""
    case = zone((-1, 0, 1, 0), (3.0, 2.0, 2.0, 5.0), (0.0, 0.0, 9e3, 12e3))
    minimum = (None, None, 2500.0, 2600.0)
    gauge = network.pressures(case, law=law)
    assert 0.0 < gauge[3] - 2600.0 < gauge[2] - 2500.0
    margin = network.length_margin(case, minimum, segment, law)
    assert margin.outlet == outlet
    longer = replace(
        case, tree=replace(case.tree, length=at(case.tree.length, segment, case.tree.length[segment] + margin.value))
    )
    assert network.pressures(longer, law=law)[outlet] == pytest.approx(minimum[outlet], abs=1e-6)


def test_margins_of_a_tree_that_already_falls_short_are_nothing() -> None:
    short = (None, 2700.0, 2735.0)
    assert network.load_margin(FORK, short, 1) == network.Margin(0.0, 2, "already-below")
    assert network.length_margin(FORK, short, 1) == network.Margin(0.0, 2, "already-below")


def test_a_run_that_carries_nothing_may_have_any_length() -> None:
    idle = zone((-1, -1), (3.0, 2.0), (9e3, 0.0))
    assert network.length_margin(idle, (2600.0, None), 1) == network.Margin(math.inf, None, "unlimited")


def test_a_run_whose_drop_does_not_grow_with_load_takes_any_load() -> None:
    still = Pipe(0.012, 1.5e-6, own=lambda load, length: 0.0)
    case = replace(FORK, pipes=(still, still, *FORK.pipes[2:]))
    assert network.load_margin(case, MINIMUM, 1) == network.Margin(math.inf, None, "unlimited")


def test_upsizing_names_the_segment_that_helps_the_worst_outlet_most() -> None:
    larger = (Pipe(0.0138, 1.5e-6),) * 3
    found = network.upsize_first(FORK, MINIMUM, larger)
    assert found is not None
    gains = {}
    for i in range(3):
        pipes = (*FORK.pipes[:i], larger[i], *FORK.pipes[i + 1 :])
        gains[i] = network.pressures(replace(FORK, pipes=pipes))[2] - network.pressures(FORK)[2]
    assert found.outlet == 2
    assert found.segment == max(gains, key=lambda i: gains[i])
    assert found.gain == pytest.approx(gains[found.segment], abs=1e-6)
    assert network.upsize_first(FORK, MINIMUM, NONE) is None
    idle = replace(FORK, tree=replace(FORK.tree, load=(0.0, 0.0, 0.0)))
    assert network.upsize_first(idle, NONE, larger) is None


def test_a_larger_size_that_leaves_the_outlet_starved_gains_nothing() -> None:
    """There is 20 MPa2 too little for the air's pressure, then 10: still nothing on the gauge."""
    short = (AIR + SOURCE) ** 2 - AIR**2 + 20e6
    pipes = [Pipe(0.0109, 0.0, own=lambda load, length, drop=drop: drop) for drop in (short, short - 10e6)]  # type: ignore[misc]  # bound now
    case = replace(zone((-1,), (3.0,), (9e3,)), pipes=(pipes[0],))
    assert network.upsize_first(case, (None,), (pipes[1],)) == network.Upsize(0, 0, 0.0)


def test_parts_that_do_not_fit_together_are_refused() -> None:
    with pytest.raises(ValueError, match="equally long"):
        replace(FORK, rise=(0.0,))
    with pytest.raises(ValueError, match="must not be negative"):
        replace(FORK, source_gauge=-1.0)
    with pytest.raises(ValueError, match="must be positive"):
        replace(FORK, atmosphere_absolute=0.0)
    with pytest.raises(ValueError, match="must be positive"):
        replace(FORK, heating_value=0.0)
    assert replace(FORK, source_gauge=0.0).source_absolute == AIR


def test_a_hose_at_the_head_is_as_a_first_segment_with_its_law() -> None:
    """So every pressure and every margin is that of a tree in which the hose is a run of its own."""

    def law(load: float) -> float:
        return 0.02 * load**2  # Pa2

    hose = Pipe(0.01, 1.5e-6, own=lambda load, _: law(load))
    run = replace(FORK, pipes=(hose, *FORK.pipes[1:]))
    behind = zone((-1, -1), (2.0, 5.0), (9e3, 12e3))
    headed = replace(behind, head=network.Head(law))
    assert network.pressures(headed) == network.pressures(run)[1:]
    assert network.behind_head(headed) == network.pressures(run)[0]
    assert network.solve(headed).drop == network.solve(run).drop[1:]  # of the runs alone
    limits = (SOURCE - 60.0, SOURCE - 80.0)
    assert network.load_margin(headed, limits, 0).value == pytest.approx(
        network.load_margin(run, (None, *limits), 1).value
    )
    assert network.length_margin(headed, limits, 1).value == pytest.approx(
        network.length_margin(run, (None, *limits), 2).value
    )
    wider = Pipe(0.0139, 1.5e-6)
    ups = [
        network.upsize_first(headed, limits, (wider, wider)),
        network.upsize_first(run, (None, *limits), (None, wider, wider)),
    ]
    assert ups[0] is not None and ups[1] is not None
    assert (ups[0].segment + 1, ups[0].gain) == (ups[1].segment, pytest.approx(ups[1].gain))


def test_what_passes_the_hose_and_no_run_takes_pressure_from_all_and_nothing_flows_through_it_at_rest() -> None:
    behind = zone((-1,), (2.0,), (9e3,))
    alone, shared = (replace(behind, head=network.Head(lambda load: 0.02 * load**2, beside)) for beside in (0.0, 9e3))
    # Twice the load, four times the squared drop: 0.02 x 81e6 and 0.02 x 324e6 Pa2, over about 2 x 104 kPa.
    assert SOURCE - network.behind_head(alone) == pytest.approx(0.02 * 81e6 / (2 * (AIR + SOURCE)), rel=1e-3)
    assert SOURCE - network.behind_head(shared) == pytest.approx(0.02 * 324e6 / (2 * (AIR + SOURCE)), rel=1e-3)
    assert network.behind_head(alone, (0.0,)) == pytest.approx(SOURCE)
