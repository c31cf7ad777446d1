"""What rows of the data files may hang on: each word of these closed lists holds for some build, so no row waits for ever."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from made_up_builds import BOLTS, TANK, Values, build, outlet, run, study_of, tee

from gasdoc.catalog.kit import CONDITIONS as OF_KIT
from gasdoc.regions.cautions import CAUTION_CONDITIONS
from gasdoc.regions.rules import RULE_CONDITIONS
from gasdoc.regions.sequence import CONDITIONS as OF_DAY
from gasdoc.regions.upkeep import TASK_CONDITIONS
from gasdoc.regions.work import CONDITIONS as OF_WORK
from gasdoc.study import Study, facts, upkeep
from gasdoc.study.materials import kit
from gasdoc.study.proof import day_facts, work
from gasdoc.study.referral import rules

SIZES: tuple[tuple[str, tuple[str, ...], Values], ...] = (
    ("csst", ("EHD 13", "EHD 18", "EHD 25"), {}),
    ("steel", ("1/2", "1", "1-1/2"), {}),
    ("copper", ("3/8 in OD", "5/8 in OD", "7/8 in OD"), {"type": "k"}),
)
LOCKER = {"number": "2", "place": "locker", "non_return": "yes", "manifold": "parallel"}


def line() -> list[Values]:
    """A run of every size that rules tell apart, the first of them through a deck."""
    runs = [run("1 ft", size, material=name, **more) for name, sizes, more in SIZES for size in sizes]
    runs[0]["run"]["through"] = ["deck"]
    return runs


def builds() -> Iterable[Values]:
    """A vehicle, a hut, a trailer and a boat that have between them all that can be."""
    cooker = outlet("Cooker", "20 kBtu/h", kind="cooker", flue="flueless", connector={"kind": "hose", "length": "2 ft"})
    fryer = outlet("Fryer", "20 kBtu/h", kind="fryer", flue="open-flued")
    heater = outlet("Heater", "20 kBtu/h", inlet_thread="3/8 flare")
    flued = outlet("Stove", "20 kBtu/h", flue="open-flued")
    short = run("5 ft", "1/2 in OD", material="copper", type="k")
    yield build(*line(), tee([heater], [cooker]), region="us-vehicle", container=TANK | LOCKER | {"mount": BOLTS})
    yield build(
        run("5 ft", material="pe", buried="yes"),
        heater,
        gas={"propane": "80 %", "butane": "20 %"},
        altitude="8000 ft",
        coldest=None,
        spaces=[{"alarms": [{"kind": "smoke"}]}],
        container={"mount": {"way": "chain"}},
    )
    yield build(short, tee([fryer], [flued]), region="us-trailer", container={"mount": {"way": "rack"}})
    generator = outlet("Generator", "20 kBtu/h", kind="generator")
    yield build(short, generator, region="boat-us", container={"mount": {"way": "straps"}})
    hose = {"hose": {"length": "2 ft"}}
    yield build(short, heater, region="us-trailer", container={"mount": {"way": "tray"}}, regulator=hose)
    yield build(short, heater, region="uk", container={"connection": None})
    yield build(short, heater, region="uk", container={"connection": "27 mm clip-on"})


@pytest.fixture(scope="module")
def made() -> tuple[Study, ...]:
    return tuple(study_of(spec) for spec in builds())


def of_kit(one: Study) -> set[str]:
    rest = kit.Rest(one.build, one.zones, one.rooms, one.container, one.fittings)
    return {*kit._conditions(rest)}.union(*(at.conditions for place in kit._PLACES.values() for at in place(rest)))


def test_cautions_and_questions(made: tuple[Study, ...]) -> None:
    assert {"always"}.union(*(facts.conditions(one.build) for one in made)) == {*CAUTION_CONDITIONS}


def test_tasks(made: tuple[Study, ...]) -> None:
    assert {"always"}.union(*(upkeep._conditions(one.build) for one in made)) == {*TASK_CONDITIONS}


def test_rules(made: tuple[Study, ...]) -> None:
    assert set[str]().union(*(rules._present(one.build, one.zones) for one in made)) == {*RULE_CONDITIONS}


def test_kit(made: tuple[Study, ...]) -> None:
    assert {*OF_KIT} - set[str]().union(*map(of_kit, made)) == set()


def test_the_test_day(made: tuple[Study, ...]) -> None:
    one = made[-1]
    day = day_facts.TestDay(
        one.build,
        one.zones,
        one.fittings,
        one.rooms,
        one.leak_test,
        one.in_test,
        one.plans,
        one.standing.codes.tightness,
    )
    assert day_facts.DayFacts(day).conditions().keys() == OF_DAY.keys()


def test_the_work(made: tuple[Study, ...]) -> None:
    one = made[-1]
    job = work.WorkJob(
        *(one.build, one.zones, one.rooms, one.mount, one.tie, one.clearances, one.fittings, one.lengths, one.passages),
        one.leak_test.joints,
        one.standing.codes.tightness,
    )
    assert work._conditions(job).keys() == OF_WORK.keys()
