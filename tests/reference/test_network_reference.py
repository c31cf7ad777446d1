"""Pressures of whole trees against an independent network solver (pandapipes)."""

from __future__ import annotations

import random
from typing import Any

import pytest
from made_up_trees import made_up_zone, pandapipes_net

from gasdoc.engineering.supply import network

# pandapipes needs: its Colebrook option, since its default friction (Nikuradse) is 28 to 43 % low in small smooth tube;
# and turbulent flow everywhere, since that option has no laminar branch.


@pytest.mark.filterwarnings("ignore")  # its own dependencies' deprecations
@pytest.mark.parametrize(("count", "seed"), [(7, 1), (7, 2), (7, 3), (40, 4), (40, 5), (40, 6)])
def test_every_pressure_of_a_tree_equals_that_of_a_network_solver(pandapipes: Any, count: int, seed: int) -> None:
    zone = made_up_zone(random.Random(seed), count)
    ours = network.solve(zone)
    assert not ours.starved
    assert min(ours.re) > 2040.0
    net = pandapipes_net(zone)
    pandapipes.pipeflow(
        net,
        friction_model="colebrook",
        use_numba=False,
        tol_p=1e-10,
        tol_m=1e-10,
        tol_res=1e-10,
        iter=100,
        max_iter_colebrook=100,
    )
    theirs = (net.res_junction.p_bar.to_numpy()[1:] * 1e5).tolist()
    largest = zone.source_gauge - min(ours.gauge)
    for mine, other in zip(ours.gauge, theirs, strict=True):
        # 0.02 % of the drop: one equation solved twice, to 0.004 % at worst seen; the cause of the rest not traced.
        assert zone.source_gauge - mine == pytest.approx(zone.source_gauge - other, rel=2e-4, abs=2e-4 * largest)


@pytest.mark.filterwarnings("ignore")
def test_the_default_friction_of_that_solver_is_the_one_not_to_compare_with(pandapipes: Any) -> None:
    zone = made_up_zone(random.Random(1), 7)
    net = pandapipes_net(zone)
    pandapipes.pipeflow(net, use_numba=False)
    theirs = zone.source_gauge - net.res_junction.p_bar.min() * 1e5
    assert theirs < 0.9 * (zone.source_gauge - min(network.pressures(zone)))
