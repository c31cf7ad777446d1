"""The fingerprint: what it stands for and what never changes it."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_builds import Values, build, outlet, read, run, study_of

from gasdoc.study.fingerprint import fingerprint
from gasdoc.study.resolve import resolve
from gasdoc.study.sizing import size_zone
from gasdoc.study.zones import zones

COPPER = {"material": "copper", "type": "k"}


def hut() -> Values:
    return build(
        run("20 ft", "5/8 in OD", **COPPER, id="trunk"),
        {"valve": {"id": "main", "place": "by the door"}},
        {
            "junction": {
                "kind": "tee",
                "branches": [
                    [run("10 ft", "1/2 in OD"), outlet("Heater", "20 kBtu/h")],
                    [run("6 ft", "1/2 in OD"), outlet("Cooker", "30 kBtu/h", kind="cooker", flue="flueless")],
                ],
            }
        },
        container={"number": "2", "manifold": "changeover"},
    )


def name(spec: Values, body: str = "") -> str:
    taken = read(spec, body)
    assert taken.build is not None, taken.problems
    resolved, problems = resolve(taken.build)
    assert resolved is not None, problems
    return fingerprint(resolved, tuple(size_zone(resolved, zone) for zone in zones(taken.build)))


def test_it_is_that_of_the_study() -> None:
    assert study_of(hut()).standing.fingerprint == name(hut())


def branches(spec: Values) -> list[list[Values]]:
    return spec["supply"][2]["junction"]["branches"]


def test_it_has_its_version_and_twelve_hex_digits() -> None:
    assert re.fullmatch(r"gd1-[0-9a-f]{12}", name(hut()))


def test_the_form_of_this_version_never_changes() -> None:
    """If this fails, records out there become stale: give the form a new version number, or put it back."""
    assert name(hut()) == "gd1-cbb8e7dbe6df"


Change = Callable[[Values], object]

SAME: dict[str, Change] = {
    "title": lambda s: s.update(title="Another name", summary="Some words"),
    "names of appliances": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(name="Stove"),
    "ids": lambda s: s["supply"][0]["run"].update(id="line-a"),
    "places": lambda s: s["supply"][1]["valve"].update(place="outside"),
    "prices": lambda s: s.update(prices={"currency": "USD", "date": "2026-01-01", "items": {"run": "3"}}),
    "tests": lambda s: s.update(
        tests=[{"date": "2026-05-02", "kind": "flow", "readings": [{"time": "10:00", "pressure": "1 kPa"}]}]
    ),
    "what was done": lambda s: s.update(done=[{"task": "burners", "date": "2026-06-01"}]),
    "the room": lambda s: s["space"].update(volume="40 m3"),
    "units shown": lambda s: s.update(units="si"),
    "order of branches": lambda s: branches(s).reverse(),
    "length in inches": lambda s: s["supply"][0]["run"].update(length="240 in"),
    "another length in inches": lambda s: branches(s)[1][0]["run"].update(length="72 in"),
    "load in watts": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(input="5861.421403444444 W"),
    "outlet pressure in pascal": lambda s: s["regulator"].update(outlet="2739.97801 Pa"),
    "size by its nominal name": lambda s: s["supply"][0]["run"].update(size="1/2 in nominal"),
    "dates": lambda s: s["regulator"].update(manufactured="2020-01-01"),
}

OTHER: dict[str, Change] = {
    "size of a run": lambda s: branches(s)[0][0]["run"].update(size="5/8 in OD"),
    "length of a run": lambda s: s["supply"][0]["run"].update(length="20 ft 1 in"),
    "bends of a run": lambda s: s["supply"][0]["run"].update(bends="3"),
    "material": lambda s: branches(s)[0][0]["run"].update(material="copper", type="l"),
    "input of an appliance": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(input="20.1 kBtu/h"),
    "kind of appliance": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(kind="water-heater"),
    "flue": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(flue="open-flued"),
    "connector": lambda s: branches(s)[0][1]["outlet"]["connector"].update(length="4 ft"),
    "a valve more": lambda s: s["supply"].insert(1, {"valve": {}}),
    "a valve less": lambda s: s["supply"].pop(1),
    "regulator's pressure": lambda s: s["regulator"].update(outlet="10.5 inH2O"),
    "regulator's capacity": lambda s: s["regulator"].update(capacity="300 kBtu/h"),
    "number of containers": lambda s: s["container"].update(number="3"),
    "kind of container": lambda s: s["container"].update(type="dot-40lb"),
    "capacity of the container": lambda s: s["container"].update(water_capacity="239 lb"),
    "position of the container": lambda s: s["container"].update(orientation="horizontal"),
    "an appliance moved to the other branch": lambda s: branches(s)[0][1]["outlet"].update(
        appliance=copy.deepcopy(branches(s)[1][1]["outlet"]["appliance"]) | {"name": "Second cooker"}
    ),
}


@pytest.mark.parametrize("change", SAME.values(), ids=list(SAME))
def test_names_records_and_spelling_do_not_change_it(change: Change) -> None:
    spec = hut()
    change(spec)
    if "supply" in spec and len(spec["supply"]) < 3:
        raise AssertionError("this change is not one of these")
    assert name(spec) == name(hut())


@pytest.mark.parametrize("change", OTHER.values(), ids=list(OTHER))
def test_what_stands_on_site_changes_it(change: Change) -> None:
    spec = hut()
    change(spec)
    assert name(spec) != name(hut())


def test_the_log_does_not_change_it() -> None:
    assert name(hut(), "\n## 2026-06-01: done\n\nAll done.\n") == name(hut())


def test_a_size_left_out_counts_as_the_size_computed() -> None:
    spec = hut()
    spec["supply"][0]["run"].pop("size")
    computed = {run.id: run for zone in study_of(spec).zones for run in zone.runs}["trunk"].size
    assert computed is not None
    given_too = hut()
    given_too["supply"][0]["run"]["size"] = f"{computed.id} in nominal"
    assert name(spec) == name(given_too)


FACTORS = {"ft": 1.0, "in": 12.0, "m": 0.3048, "mm": 304.8, "cm": 30.48}


@given(thousandths=st.integers(100, 99_999), unit=st.sampled_from(sorted(FACTORS)))
@settings(max_examples=60, deadline=None)
def test_a_length_written_in_another_unit_never_changes_it(thousandths: int, unit: str) -> None:
    feet = thousandths / 1000
    spec, other = hut(), hut()
    spec["supply"][0]["run"]["length"] = f"{feet:.3f} ft"
    other["supply"][0]["run"]["length"] = f"{feet * FACTORS[unit]:.10f} {unit}"
    assert name(spec) == name(other)


@given(a=st.integers(100, 50_000), b=st.integers(100, 50_000))
@settings(max_examples=60, deadline=None)
def test_two_lengths_a_thousandth_apart_or_more_never_share_it(a: int, b: int) -> None:
    spec, other = hut(), hut()
    spec["supply"][0]["run"]["length"] = f"{a / 1000:.3f} ft"
    other["supply"][0]["run"]["length"] = f"{b / 1000:.3f} ft"
    assert (name(spec) == name(other)) == (a == b)


def test_a_long_line_of_the_most_elements_there_may_be_has_one_too() -> None:
    """38 runs to a junction, and again behind it: an element at the end stands some 350 deep."""
    spec = hut()
    line: list[Values] = [outlet("Heater", "1 kBtu/h")]
    for i in range(9):
        line = [run("1 in", "1/2 in OD", **COPPER) for _ in range(38)] + [
            {"junction": {"kind": "tee", "branches": [line, [outlet(f"Lamp {i}", "1 kBtu/h", kind="light")]]}}
        ]
    spec["supply"] = line
    taken = read(spec)
    assert taken.build is not None, taken.problems
    resolved, _ = resolve(taken.build)
    assert resolved is not None
    # Sizing so long a line takes long; only ids and sizes of its runs are asked for here.
    runs = [SimpleNamespace(id=identity, size=size) for identity, size in resolved.given.items()]
    assert fingerprint(resolved, (SimpleNamespace(runs=runs),)).startswith("gd1-")  # type: ignore[arg-type]  # stands in for a zone
