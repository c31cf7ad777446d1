"""What the tests take besides the parts of the build: closures for the ends they open, and gauges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.build.reader import Build
from gasdoc.catalog.instruments import instruments
from gasdoc.engineering.materials.joints import Part
from gasdoc.engineering.materials.take_off import Item
from gasdoc.study.facts import system
from gasdoc.study.proof.closures import InTest
from gasdoc.study.proof.leak_test import AskedTest, LeakTest


def for_test(build: Build, tests: LeakTest, kept: InTest) -> tuple[Item, ...]:
    """What to have at hand for the tests."""
    return (*_closures(kept), *_gauges(build, tests))


def _closures(kept: InTest) -> Iterator[Item]:
    """What closes each end that the test of the piping opens, and each test point once its tap is out."""
    found: dict[tuple[str, str], tuple[Part, list[str]]] = {}
    for closure in kept.closures:
        use: str = closure.role if closure.role in ("test point", "valve") else "line"
        for part in closure.parts:
            found.setdefault((part.id, use), (part, []))[1].append(closure.element)
    for (_, use), (part, where) in found.items():
        one = len(where) == 1
        note = {
            "line": f"{len(where)} close{'s' if one else ''} the line during the test of the piping",
            "valve": "joins the line during the test of the piping, where a valve comes out",
            "test point": f"{len(where)} close{'s' if one else ''} a test point whose tap is out",
        }[use]
        yield Item(part.id, "sealing and testing", part.name, len(where), False, tuple(where), note)


def _gauges(build: Build, tests: LeakTest) -> Iterator[Item]:
    """A gauge for each test the region asks. One serves every zone that a usual one can be read in: up to the highest the
    test allows there and to what the regulator locks up at before it is bled, and no larger than its full scale may be."""
    for identity in dict.fromkeys(asked.test.id for asked in tests.asked):
        served: list[list[AskedTest]] = []
        for asked in tests.asked:
            if asked.test.id == identity and asked.pressure is not None:
                shared = (zones for zones in served if _usual((*zones, asked)) or zones[0].pressure == asked.pressure)
                found = next(shared, None)
                if found is None:
                    served.append(found := [])
                found.append(asked)
        for number, zones in enumerate(served):
            yield _gauge(f"gauge:{identity}" if number == 0 else f"gauge:{identity}:{zones[0].zone}", zones, build)


def _gauge(key: str, zones: Sequence[AskedTest], build: Build) -> Item:
    """The gauge for one test in these zones."""
    shown, most, full_scale = system(build), _most(zones), _full_scale(zones)
    kind = units.pressure_kind(most, shown)
    scale = f", full scale at most {units.show(full_scale, kind, shown)}" if full_scale is not None else ""
    fit = "; ".join(_usual(zones))
    # A check with gas begins at lock-up: where that is not stated, the gauge has to read more than the set pressure.
    lock_up = " and what the regulator locks up at" if any(_at_lock_up(a) and a.lock_up is None for a in zones) else ""
    usual = f"such as: {fit}" if fit else "no usual gauge reads it: ask the supplier"
    return Item(
        key,
        "sealing and testing",
        f"gauge that reads {units.show(most, kind, shown)}{lock_up}{scale}",
        1,
        False,
        tuple(asked.zone for asked in zones),
        f"{zones[0].test.name}; {usual}",
    )


def _usual(zones: Sequence[AskedTest]) -> list[str]:
    """The usual gauges that can be read in each of these zones."""
    least = min(asked.pressure or 0.0 for asked in zones)
    full_scale = _full_scale(zones)
    return [
        gauge.name
        for gauge in instruments().gauges
        if gauge.least <= least
        and _most(zones) <= gauge.up_to
        and (full_scale is None or gauge.full_scale <= full_scale * (1 + 1e-9))
    ]


def _most(zones: Sequence[AskedTest]) -> float:
    """The highest pressure that the gauge meets in these zones, Pa."""
    return max(max(asked.pressure or 0.0, asked.highest or 0.0, _regulated(asked)) for asked in zones)


def _regulated(asked: AskedTest) -> float:
    """The highest pressure that the zone's regulator is known to give while a test lasts, Pa; 0 where it is out of it."""
    if asked.lock_up is not None:
        return asked.lock_up
    return asked.working_gauge if _at_lock_up(asked) else 0.0


def _at_lock_up(asked: AskedTest) -> bool:
    """Whether the test is made with what the regulator gives."""
    return asked.test.kind == "leak-check"


def _full_scale(zones: Sequence[AskedTest]) -> float | None:
    """The largest full scale that is taken in each of these zones, Pa; None where none is asked."""
    return min((asked.full_scale for asked in zones if asked.full_scale is not None), default=None)
