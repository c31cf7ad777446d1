"""Least cost of whole builds: equal to trying everything, and nothing without prices."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from made_up_builds import INCH_OF_WATER, Values, build, outlet, run, study_of, tee

from gasdoc.engineering.supply import network
from gasdoc.study import Study
from gasdoc.study.supply.pressures import network_of

COPPER = {"material": "copper", "type": "l"}
PER: dict[str, float] = {"1/4": 90, "3/8": 128, "1/2": 171, "5/8": 240, "3/4": 330}
PRICES: Values = {
    "currency": "USD",
    "date": "2026-01-01",
    "items": {f"copper-l {k}": {"price": str(v), "per": "60 ft"} for k, v in PER.items()},
}
PLAIN: Values = {"connector": {"kind": "rigid", "length": "2 ft"}}


def spec(**more: Any) -> Values:
    return build(
        run("12 ft", **COPPER, id="trunk"),
        tee(
            [run("15 ft", id="a"), outlet("Heater", "40 kBtu/h", **PLAIN)],
            [run("22 ft", id="b"), outlet("Boiler", "60 kBtu/h", **PLAIN)],
        ),
        prices=PRICES,
        **more,
    )


def test_it_costs_what_the_cheapest_of_all_combinations_costs() -> None:
    made = study_of(spec())
    (zone,) = made.cheapest
    assert zone.reason is None
    sized = made.zones[0]
    offered = [s for s in made.build.offered_sizes["trunk"] if s.id in PER]
    need = 11 * INCH_OF_WATER - 0.9 * 0.5 * INCH_OF_WATER
    best = None
    for sizes in product(offered, repeat=3):
        gauge = network.pressures(network_of(made.build, sized, sizes), None, network.larger)
        if gauge[1] >= need - 1e-6 and gauge[2] >= need - 1e-6:
            cost = sum(PER[s.id] / 60 * feet for s, feet in zip(sizes, (12, 15, 22), strict=True))
            best = cost if best is None else min(best, cost)
    assert best is not None and zone.cost == pytest.approx(best, abs=0.02)


def test_the_plate_of_an_appliance_counts_where_it_asks_for_more() -> None:
    hungry = spec()
    hungry["supply"][1]["junction"]["branches"][1][1]["outlet"]["appliance"]["min_inlet"] = "10.9 inH2O"
    (plain,), (asked,) = study_of(spec()).cheapest, study_of(hungry).cheapest
    assert asked.cost is not None and plain.cost is not None
    assert asked.cost > plain.cost and dict(asked.needs)["boiler"] == pytest.approx(10.9 * INCH_OF_WATER)


def test_without_prices_it_is_left_out_and_says_for_what() -> None:
    without = spec()
    del without["prices"]
    (zone,) = study_of(without).cheapest
    assert (zone.reason, zone.missing, zone.runs) == ("no-prices", ("copper-l",), ())


def test_where_no_size_serves_it_says_so() -> None:
    (zone,) = study_of(spec(regulator={"outlet": "11 inH2O"}, drop_allowance="0.001 inH2O")).cheapest
    assert zone.reason == "no-size-fits" and zone.missing


def test_nothing_else_of_the_study_is_made_from_it() -> None:
    def rest(made: Study) -> tuple[object, ...]:
        return (
            [r.size for z in made.zones for r in z.runs],
            [(i.key, i.quantity) for i in made.materials],
            made.standing.codes,
        )

    without = spec()
    del without["prices"]
    assert rest(study_of(spec())) == rest(study_of(without))


def test_each_zone_is_by_itself() -> None:
    two = build(
        run("12 ft", **COPPER, id="feed"),
        {"regulator": {"outlet": "11 inH2O", "id": "second"}},
        run("9 ft", id="last"),
        outlet("Heater", "40 kBtu/h", **PLAIN),
        regulator={"outlet": "10 psi"},
        prices=PRICES,
    )
    first, second = study_of(two).cheapest
    assert [r.id for r in first.runs] == ["feed"] and [r.id for r in second.runs] == ["last"]
