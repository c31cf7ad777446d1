"""Worked examples of the codes and of appliance instructions (data/worked_examples.yaml, a source beside each).

The code's examples are for natural gas, whose tables gasdoc does not carry: they go through the code's equation on the
bores of schedule 40 pipe. Its corrugated-tubing examples (hybrid pressure, addition to an existing system) need natural
gas tables and are not checked here; the pressure-and-temperature example belongs to the leak test.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import fast_yaml
import pytest
from made_up_builds import build, outlet, run, runs, study_of

from gasdoc.catalog import containers
from gasdoc.catalog.tables import table
from gasdoc.catalog.tubing import Size, sizes
from gasdoc.engineering.constants import BTU, CUBIC_FOOT, FOOT, INCH, INCH_OF_WATER, KBTU_PER_HOUR, PSI
from gasdoc.engineering.supply.capacity import CodeGas, high_pressure_capacity, low_pressure_capacity
from gasdoc.engineering.supply.fittings import equivalent_length
from gasdoc.engineering.supply.sizing import CapacityOf, branch_length, choose, longest_length
from gasdoc.engineering.supply.tree import Tree, carried
from gasdoc.study.supply.lines import Line

EXAMPLES: dict[str, dict[str, Any]] = {
    e["id"]: e for e in fast_yaml.read(Path(__file__).parent / "data/worked_examples.yaml")["worked_examples"]
}
STEEL = sizes("steel")
DROP = 0.5 * INCH_OF_WATER
GALLON = 231 * INCH**3
NATURAL_GAS = CodeGas(cr=0.6094, y=0.9992, heating_value=1000 * BTU / CUBIC_FOOT)
"""Natural gas, specific gravity 0.60, 1000 Btu/ft3: the gas of the codes' worked examples."""


def steel_by_equation(gas: CodeGas) -> CapacityOf[Size]:
    def capacity_of(segment: int, size: Size, length: float) -> float:
        assert size.bore is not None
        return low_pressure_capacity(size.bore, length, DROP, gas)

    return capacity_of


def cubic_feet_per_hour(flow: float, gas: CodeGas) -> float:
    """W in a flow of gas in ft3/h."""
    return flow * gas.heating_value * CUBIC_FOOT / 3600


def chosen(tree: Tree, lengths: tuple[float, ...], gas: CodeGas) -> list[str | None]:
    picks = choose(carried(tree), lengths, [STEEL] * len(tree), steel_by_equation(gas))
    return [None if size is None else size.id for size in picks]


def test_longest_length_example_of_ifgc_a_7_1() -> None:
    # Loads and the 60 ft are the example's; the split of the 60 ft into sections is ours, the method does not use it.
    example = EXAMPLES["longest_length_1"]
    loads = {k: float(v.split()[0]) * BTU / 3600 for k, v in example["loads"].items()}
    names = ["section_3", "section_1", "section_2", "A", "B", "C", "D"]
    tree = Tree(
        parent=(-1, 0, 0, 1, 1, 2, 2),
        length=tuple(FOOT * x for x in (15, 15, 20, 30, 10, 10, 20)),
        load=(0, 0, 0, loads["A"], loads["B"], loads["C"], loads["D"]),
    )
    assert longest_length(tree) == pytest.approx((example["length_ft"] * FOOT,) * 7)
    found = dict(zip(names, chosen(tree, longest_length(tree), NATURAL_GAS), strict=True))
    flows = dict(zip(names, carried(tree), strict=True))
    for name, answer in example["answers"].items():
        assert flows[name] == pytest.approx(cubic_feet_per_hour(answer["cfh"], NATURAL_GAS)), name
        assert found[name] == answer["size"], name


def test_longest_length_example_of_upc_1316() -> None:
    # 1100 Btu/ft3, but the example sizes by ft3/h from a table in ft3/h, so the heating value cancels.
    example = EXAMPLES["longest_length_2"]
    gas = CodeGas(NATURAL_GAS.cr, NATURAL_GAS.y, example["gas"]["btu_ft3"] * BTU / CUBIC_FOOT)
    names = ["section_3", "section_2", "section_1", "A", "B", "C", "D"]
    flow = {n: cubic_feet_per_hour(example["answers"][n]["cfh"], gas) for n in "ABCD"}
    tree = Tree(
        parent=(-1, 0, 1, 2, 2, 1, 0),
        length=tuple(FOOT * x for x in (10, 10, 10, 30, 10, 10, 10)),
        load=(0, 0, 0, flow["A"], flow["B"], flow["C"], flow["D"]),
    )
    found = dict(zip(names, chosen(tree, longest_length(tree), gas), strict=True))
    flows = dict(zip(names, carried(tree), strict=True))
    for name, answer in example["answers"].items():
        assert flows[name] == pytest.approx(cubic_feet_per_hour(answer["cfh"], gas)), name
        assert found[name] == answer["size"], name


def test_the_branch_length_method_never_asks_for_more_than_the_longest_length_method() -> None:
    loads = tuple(cubic_feet_per_hour(q, NATURAL_GAS) for q in (0, 35, 75))
    tree = Tree((-1, 0, 0), tuple(FOOT * x for x in (15, 45, 5)), loads)
    assert chosen(tree, branch_length(tree), NATURAL_GAS) == ["3/4", "1/2", "1/2"]
    assert chosen(tree, longest_length(tree), NATURAL_GAS) == ["3/4", "1/2", "3/4"]


def single_appliance(load_btu_h: float, length_ft: float, **tubing: str) -> Line:
    """The one run of a build with one appliance at 11 inH2O, as a study sizes it."""
    made = study_of(build(run(f"{length_ft} ft", **tubing), outlet("Heater", f"{load_btu_h} Btu/h")))
    (sized,) = runs(made).values()
    return sized


@pytest.mark.parametrize("name", ["propane_single_appliance_1", "propane_single_appliance_2"])
def test_a_single_propane_appliance_on_steel_takes_the_size_of_the_instruction(name: str) -> None:
    # Printed under the older, lower table; the present table must come to the same size. The second one does so only
    # because its row printed 80 ft (212 for 3/4 in., enough for 199) is not believed.
    answer = EXAMPLES[name]["answers"]["run"]
    needed = single_appliance(answer["btu_h"], answer["length_ft"], material="steel").longest.needed
    assert needed is not None and needed.id == answer["size"]


def test_the_printed_80_ft_row_alone_would_have_taken_a_size_too_small() -> None:
    answer = EXAMPLES["propane_single_appliance_2"]["answers"]["run"]
    tab = table("steel_sch40_11inwc_0p5")
    printed = tab.cells[[round(x / FOOT) for x in tab.lengths].index(answer["length_ft"])][tab.sizes.index("3/4")]
    assert printed is not None and printed > answer["btu_h"] / 1000 * KBTU_PER_HOUR
    assert answer["size"] == "1"


def test_a_single_propane_appliance_on_copper_needs_one_size_more_than_the_older_instruction() -> None:
    # The older copper columns rest on a wider bore. On type K the code's equation falls short of 199 in 7/8 in. OD at
    # 50 ft, so the present table's basis asks for 1-1/8 in. OD: the larger of the two is taken.
    answer = EXAMPLES["propane_single_appliance_3"]["answers"]["run"]
    assert (answer["btu_h"], answer["length_ft"], answer["size_od"]) == (199000, 50, "7/8")
    older, larger = (
        single_appliance(199000, 50, material="copper", type="k", size=f"{od} in OD") for od in ("7/8", "1 1/8")
    )
    assert not older.longest.enough and older.use is not None and older.use < 1.03
    assert larger.longest.enough and larger.longest.needed == larger.size


@pytest.mark.parametrize(("load", "od"), [(250, 0.875), (35, 0.5), (285, 0.875)])
def test_a_low_pressure_copper_line_takes_the_size_of_a_canadian_example(load: float, od: float) -> None:
    """30 ft of tubing, 1 in of water lost, loads in thousand Btu/h, sizes by outside diameter.

    A worked example after CSA B149.1 Table B.6a in a Canadian training series (2019); the length counts 1.2 times, for the
    fittings. Bores of type K: IFGC 2018 Table 402.4(30).
    """
    bores = {0.375: 0.305, 0.5: 0.402, 0.625: 0.527, 0.75: 0.652, 0.875: 0.745}
    carry = {
        size: low_pressure_capacity(bore * INCH, 1.2 * 30 * FOOT, INCH_OF_WATER) / KBTU_PER_HOUR
        for size, bore in bores.items()
    }
    assert min(size for size, carried in carry.items() if carried >= load) == od


def test_a_line_behind_the_first_regulator_takes_the_size_of_a_canadian_example() -> None:
    """285 thousand Btu/h over 50 ft of tubing at 10 psig with 5 psi to lose: 3/8 in by outside diameter.

    The same worked example, from Table B.9a, which counts no fittings. It is the smallest tubing of Table 402.4(29) in IFGC 2018.
    """
    carried = high_pressure_capacity(0.305 * INCH, 50 * FOOT, 10 * PSI, 5 * PSI)
    assert carried > 285 * KBTU_PER_HOUR
    assert (
        high_pressure_capacity(0.305 * INCH, 50 * FOOT, 10 * PSI, 9 * PSI) < 285 * KBTU_PER_HOUR
    )  # with 1 psi it is not


@pytest.mark.parametrize(
    ("inch", "three_quarter", "measured", "printed"),
    [
        ({"elbow-90": 3, "tee-branch": 1}, {"elbow-90": 2, "gas-valve": 1}, 145.0, 164.28),
        ({"elbow-90": 3, "tee-branch": 1}, {"elbow-90": 1, "gas-valve": 1}, 140.0, 157.22),
    ],
)
def test_a_run_with_its_fittings_is_as_long_as_a_canadian_example_has_it(
    inch: dict[str, int], three_quarter: dict[str, int], measured: float, printed: float
) -> None:
    """Screwed fittings on 1 and 3/4 in pipe, from CSA B149.1 Table A.16 in a Canadian training series, unit 8 (2019 to 2025)."""
    fittings = equivalent_length(inch, 1.049 * INCH) + equivalent_length(three_quarter, 0.824 * INCH)
    assert measured + fittings / FOOT == pytest.approx(printed, abs=0.03)


def test_a_tank_is_filled_to_what_the_federal_example_says() -> None:
    """29 CFR 1910.110(b)(19)(v): 100 gal of water, specific gravity 0.510, density 42 %, factor 1.031: 79.8 gal at most.

    42 / (0.510 x 1.031) is 79.88, which the example cuts off.
    """
    share, _ = containers.filling_density(0.510, 100 * GALLON)
    assert share == 0.42
    assert 79.8 <= 100 * share / (0.510 * 1.031) < 79.9


def test_a_cylinder_holds_what_a_training_series_works_out() -> None:
    """42 % of 23.8 lb of water is 9.996 lb of propane, of 240 lb about 100 lb (a Canadian training series, unit 3)."""
    share, _ = containers.filling_density(0.504, 23.8 / 8.32828 * GALLON)
    assert share * 23.8 == pytest.approx(9.996) and share * 240 == pytest.approx(100, rel=0.01)
