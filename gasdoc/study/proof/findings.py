"""What a pressure test can do to the parts it is made through, and what records of tests show that cannot be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel

from gasdoc import units
from gasdoc.build.model import Outlet, Regulator, Run, Test
from gasdoc.build.reader import Build
from gasdoc.quantities import Known, Ratio
from gasdoc.source import Path
from gasdoc.study.facts import atmosphere, system
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.proof.closures import MARGIN, InTest, rated
from gasdoc.study.proof.leak_test import LeakTest
from gasdoc.study.proof.verdicts import covers_zones

WEATHER: Annotated[
    Ratio,
    Known(
        "share of the usual air pressure at a height that weather may take or give",
        "Common practice, no source: at sea level about 950 to 1075 mbar",
        "practice",
    ),
] = 0.06
"""A barometer further off is asked about."""

PUMPED = ("piping", "appliances")
"""Kinds of test that are made with air or an inert gas, above or at working pressure, before any gas is let in."""


def proof_findings(build: Build, tests: LeakTest, kept: InTest) -> Iterator[Finding]:
    """Parts rated below the test, records above a rating, tests of the piping made with fuel gas, odd barometers."""
    yield from _below_test(build, kept)
    yield from _not_closed(build, kept)
    zones = [volume.zone for volume in tests.by_zone]
    for index, test in enumerate(build.spec.tests):
        if test.kind == "piping":
            yield from _above_rating(build, kept, zones, index, test)
        elif test.kind == "appliances":
            yield from _above_plate(build, tests, zones, index, test)
        if test.kind in PUMPED and test.medium == "propane":
            yield from _fuel_gas(tests, index, test)
        yield from _barometer(build, index, test)


def _show(build: Build, pressure: float) -> str:
    return units.show(pressure, units.pressure_kind(pressure, system(build)), system(build))


def _below_test(build: Build, kept: InTest) -> Iterator[Finding]:
    for zone in dict.fromkeys(weak.zone for weak in kept.weak):
        here = [weak for weak in kept.weak if weak.zone == zone]
        names = ", ".join(dict.fromkeys(f"{w.part.name} ({rated(w.rating, system(build))})" for w in here))
        yield warning(
            "rated-below-test",
            zone,
            build.by_id[zone].at if zone in build.by_id else ("regulator",),
            f"The test of the piping behind {zone} asks {_show(build, here[0].asked)}, and parts that stay in are rated for "
            f"less: {names}.",
            "A test above its rating can harm a part, and the harm does not show.",
            "Ask the maker whether the part may see that pressure in a test with air. Or take a part that is rated for it.",
            "IFGC 406.3.3: what is not rated for the test pressure comes off or is blanked (from memory). Ratings as listed",
        )


def _not_closed(build: Build, kept: InTest) -> Iterator[Finding]:
    taps = any(node.kind == "tap" for node in build.nodes)
    ends = [c for c in kept.closures if not c.parts and c.end is not None and (c.role != "start" or taps)]
    if ends:
        where = "; ".join(dict.fromkeys(f"{c.element} ({c.end})" for c in ends))
        yield note(
            "nothing-closes-end",
            "build",
            ("supply",),
            f"No listed part closes an end that the test of the piping opens: {where}.",
            "The shopping list has no fitting for it, and a closed valve is no cap.",
            "Ask the supplier for a cap or plug that suits it, or add one to parts.yaml beside the specs.",
        )


def _above_rating(build: Build, kept: InTest, zones: list[str], index: int, test: Test) -> Iterator[Finding]:
    highest = max(float(reading.pressure) for reading in test.readings)
    least = [kept.least[zone] for zone in sorted(covers_zones(test, zones)) if zone in kept.least]
    if least and highest > min(least) * MARGIN:
        yield warning(
            "test-above-rating",
            f"test-{index + 1}",
            ("tests", index, "readings"),
            f"The test of {test.date.isoformat()} was made at {_show(build, highest)}, and a part that stays in is rated for "
            f"{rated(min(least), system(build))}.",
            "A part that saw more than it is rated for may leak later, and nobody sees it.",
            "Say in a note what was off or blanked. Otherwise ask the part's maker whether it may stay.",
            "IFGC 406.3.3 (from memory). Ratings as listed",
        )


def _above_plate(build: Build, tests: LeakTest, zones: list[str], index: int, test: Test) -> Iterator[Finding]:
    covered = covers_zones(test, zones)
    limits = [a.plates[1] for a in (*tests.asked, *tests.beside) if a.zone in covered and a.plates[1] is not None]
    highest = max(float(reading.pressure) for reading in test.readings)
    if limits and highest > min(limits) * MARGIN:
        yield warning(
            "test-above-rating",
            f"test-{index + 1}",
            ("tests", index, "readings"),
            f"The test of {test.date.isoformat()} was made at {_show(build, highest)} with the appliances joined, and a plate "
            f"allows {_show(build, min(limits))}.",
            "Gas controls that saw more than they are made for may leak or stick later.",
            "Say in a note that the maker allows it. Otherwise have the controls seen to.",
            "the appliance's plate",
        )


def _fuel_gas(tests: LeakTest, index: int, test: Test) -> Iterator[Finding]:
    rows = [a for a in tests.asked if a.test.kind == test.kind]
    if any("LP gas" in a.test.medium for a in rows):
        return
    yield error(
        "test-with-fuel-gas",
        f"test-{index + 1}",
        ("tests", index, "medium"),
        f"The test of {test.date.isoformat()} was made with propane. A pressure test is made with air or an inert gas.",
        "A joint that fails in such a test lets fuel gas into the place, at far more than working pressure.",
        "Shut the container and air the place. Let the line empty outdoors, and make the test again with air.",
        "IFGC 406.2 (IRC 2018 G2417.2), read in two or more public texts",
    )


def _barometer(build: Build, index: int, test: Test) -> Iterator[Finding]:
    if build.spec.altitude is None:
        return
    usual = atmosphere(build)
    for k, reading in enumerate(test.readings):
        if reading.barometer is None or abs(float(reading.barometer) - usual) <= WEATHER * usual:
            continue
        shown = system(build)
        here = units.show(usual, "barometer", shown)
        yield warning(
            "barometer-implausible",
            f"test-{index + 1}",
            ("tests", index, "readings", k, "barometer"),
            f"The barometer reads {reading.barometer.text}. At this altitude it stands at about {here}.",
            "A barometer that is reduced to sea level, as forecasts give it, makes the correction of a test wrong.",
            "Read a barometer as it stands at the place, or correct 'altitude:'.",
        )
        return


# --- dates that have not come yet -------------------------------------------------------------------------------------
# A record says what has happened. One of what is still to happen is a slip.

AHEAD = {"replace_by"}
"""Keys whose date may well be to come."""


def to_come(build: Build, as_of: dt.date | None) -> Iterator[Finding]:
    """Every date of the spec that is later than `as_of`; nothing where nobody asks."""
    for at, date in _dates(build.spec, ()):
        if as_of is not None and date > as_of:
            yield warning(
                "date-to-come",
                "build",
                at,
                f"'{at[-1]}' is {date}, and that is still to come on {as_of}.",
                "A test or a sign-off counts for nothing before its date.",
                "Correct the date, or record it when it has happened.",
            )


@cache
def _keys(kind: type) -> tuple[str, ...] | None:
    """The keys of a block that may hold a date; None for what is no block."""
    return tuple(name for name in kind.model_fields if name not in AHEAD) if issubclass(kind, BaseModel) else None


def _dates(value: object, at: Path) -> Iterator[tuple[Path, dt.date]]:
    kind: Any = type(value)
    if (keys := _keys(kind)) is not None:
        for name in keys:
            yield from _dates(getattr(value, name), (*at, name))
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from _dates(item, (*at, i))
    elif isinstance(value, dt.date):
        yield at, value


# --- what a fitted build leaves out -----------------------------------------------------------------------------------


def open_key_findings(build: Build) -> Iterator[Finding]:
    """Sizes, connectors and threads that a build which stands does not state: no code can stand for what is not stated."""
    if build.spec.fitted is None:
        return
    missing = tuple(_missing(build))
    if missing:
        yield warning(
            "fitted-not-stated",
            "build",
            missing[0],
            f"The build is fitted, and its spec does not state {len(missing)} of its sizes, connectors and threads: "
            f"{', '.join(_key(build, at) for at in missing[:MOST_KEYS])}{', ...' if len(missing) > MOST_KEYS else ''}.",
            "A code stands for what the spec states. What is left out is not in it, and can change unseen.",
            "Read each off what was fitted and add it. Both codes then change, so add it before the tests are recorded.",
        )


MOST_KEYS = 12
"""How many keys that are not stated one message names (our choice)."""


def _missing(build: Build) -> Iterator[Path]:
    """The places of sizes, connectors and threads that are not stated."""
    spec = build.spec
    if spec.container.connection is None:
        yield ("container", "connection")
    for name in ("inlet_thread", "outlet_thread"):
        if getattr(spec.regulator, name) is None:
            yield ("regulator", name)
    for node in build.nodes:
        part = node.part
        if isinstance(part, Run) and part.size is None:
            yield (*node.at, "size")
        elif isinstance(part, Regulator):
            yield from ((*node.at, name) for name in ("inlet_thread", "outlet_thread") if getattr(part, name) is None)
        elif isinstance(part, Outlet):
            if part.connector is None:
                yield (*node.at, "connector")
            elif part.connector.length is None:
                yield (*node.at, "connector", "length")
            if part.appliance.inlet_thread is None:
                yield (*node.at, "appliance", "inlet_thread")


def _key(build: Build, at: Path) -> str:
    """A place as people name it, as in 'size of run-heater'."""
    ids = {node.at: node.id for node in build.nodes}
    owner = next((ids[at[:i]] for i in range(len(at), 0, -1) if at[:i] in ids), str(at[0]))
    return f"{'connector length' if at[-2:] == ('connector', 'length') else str(at[-1]).replace('_', ' ')} of {owner}"
