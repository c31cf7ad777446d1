"""Least-cost sizes against a mixed-integer optimiser (HiGHS)."""

from __future__ import annotations

import random
from collections.abc import Sequence

import highspy
import pytest
from made_up_trees import made_up_options, made_up_zone

from gasdoc.engineering.materials.least_cost import Option, least_cost
from gasdoc.engineering.supply import tree as shape


def by_integer_programming(
    tree: shape.Tree, options: Sequence[Sequence[Option]], needs: Sequence[float | None], source: float
) -> int:
    """The least cost, by binary choice variables and one limit on the drop along the path to every need."""
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.0)
    pick = [[model.addBinary(obj=float(size.cost)) for size in sizes] for sizes in options]
    for row in pick:
        model.addConstr(sum(row[1:], row[0]) == 1)
    for i, need in enumerate(needs):
        if need is not None:
            terms = [
                x * (size.squared_drop / (source - need))
                for k in shape.path(tree, i)
                for x, size in zip(pick[k], options[k], strict=True)
            ]
            model.addConstr(sum(terms[1:], terms[0]) <= 1.0)
    model.run()
    assert model.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(model.getObjectiveValue())


@pytest.mark.parametrize("seed", range(20))
def test_the_cost_equals_that_of_an_integer_program(seed: int) -> None:
    rng = random.Random(seed)
    zone = made_up_zone(rng, 15, (3e3, 12e3))
    options = made_up_options(rng, zone, 6)
    source = zone.source_absolute**2
    # A minimum of its own for every appliance: 60 to 250 Pa below the source.
    needs = [(zone.source_absolute - rng.uniform(60.0, 250.0)) ** 2 if load > 0.0 else None for load in zone.tree.load]
    found = least_cost(zone.tree.parent, options, needs, source)
    assert found.reason is None
    assert found.cost == by_integer_programming(zone.tree, options, needs, source)
    drops = [options[i][k].squared_drop for i, k in enumerate(found.choice)]
    for i, need in enumerate(needs):
        if need is not None:
            assert source - sum(drops[k] for k in shape.path(zone.tree, i)) >= need * (1 - 1e-12)
