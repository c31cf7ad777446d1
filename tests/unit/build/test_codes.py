"""The two codes of a build: what each stands for, and what never changes it."""

from __future__ import annotations

import copy
import datetime as dt
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_builds import Values, build, outlet, read, run, study_of, text
from msgspec.structs import replace
from properties import tries
from pydantic import BaseModel

from gasdoc.build import model
from gasdoc.build.codes import Codes, code_of, codes, stated
from gasdoc.build.model import Block, Spec
from gasdoc.build.reader import Build, read_file, read_spec
from gasdoc.build.supply import flatten
from gasdoc.folder.changed import ChangedKey, changed
from gasdoc.units import Given

COPPER = {"material": "copper", "type": "k"}
EXAMPLES = [Path("specs") / f"{name}.md" for name in ("bakery-trailer", "floating-studio", "larch-hut")]


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


def built(spec: Values, body: str = "") -> Build:
    taken = read(spec, body)
    assert taken.build is not None, taken.problems
    return taken.build


def names(spec: Values, body: str = "") -> Codes:
    return codes(built(spec, body))


def branches(spec: Values) -> list[list[Values]]:
    return spec["supply"][2]["junction"]["branches"]


def test_they_are_those_of_the_study() -> None:
    assert study_of(hut()).standing.codes == names(hut())


def test_each_has_its_prefix_and_twelve_hex_digits() -> None:
    found = names(hut())
    assert re.fullmatch(r"gt1-[0-9a-f]{12}", found.tightness) and re.fullmatch(r"gb1-[0-9a-f]{12}", found.build)
    assert code_of(found.tightness) == "tightness" and code_of(found.build) == "build"
    assert [code_of(text) for text in ("gd1-16eac2f6baa1", "gt1-16eac2f6baa1x", "gt2-16eac2f6baa1", "")] == [None] * 4


def test_the_form_of_this_version_never_changes() -> None:
    """If this fails, records out there become stale: give the form a new version number, or put it back."""
    assert names(hut()) == Codes("gt1-cb53a3796d63", "gb1-c1cf64308f82")


Change = Callable[[Values], object]

SAME: dict[str, Change] = {
    "title": lambda s: s.update(title="Another name", summary="Some words"),
    "names of appliances": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(name="Stove"),
    "ids": lambda s: s["supply"][0]["run"].update(id="line-a"),
    "places": lambda s: s["supply"][1]["valve"].update(place="outside"),
    "prices": lambda s: s.update(prices={"currency": "USD", "date": "2026-01-01", "items": {"run": "3"}}),
    "the shelf": lambda s: s.update(on_shelf={"npt-nipple:1/2": "3"}),
    "tests": lambda s: s.update(
        tests=[{"date": "2026-05-02", "kind": "flow", "readings": [{"time": "10:00", "pressure": "1 kPa"}]}]
    ),
    "what was done": lambda s: s.update(done=[{"task": "burners", "date": "2026-06-01"}]),
    "units shown": lambda s: s.update(units="si"),
    "what a room is called": lambda s: (
        s["spaces"][0].update(id="hall", name="The hall"),
        branches(s)[0][1]["outlet"].update(space="hall"),
    ),
    "the one room said": lambda s: (
        s["spaces"][0].update(id="hall"),
        branches(s)[1][1]["outlet"].update(space="hall"),
    ),
    "order of branches": lambda s: branches(s).reverse(),
    "length in inches": lambda s: s["supply"][0]["run"].update(length="240 in"),
    "another length in inches": lambda s: branches(s)[1][0]["run"].update(length="72 in"),
    "load in watts": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(input="5861.421403444444 W"),
    "outlet pressure in pascal": lambda s: s["regulator"].update(outlet="2739.97801 Pa"),
    "a size in another spelling": lambda s: s["supply"][0]["run"].update(size="5/8 OD"),
    "a material said again": lambda s: branches(s)[0][0]["run"].update(material="copper", type="k"),
    "the usual said": lambda s: s.update(gas="propane"),
    "what a cold day uses": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(daily_use="3 h"),
    "how full it is": lambda s: s["container"].update(fill="40 %"),
    "requalified": lambda s: s["container"].update(requalified="2026-01-01"),
}


@pytest.mark.parametrize("change", SAME.values(), ids=list(SAME))
def test_names_records_wishes_and_spelling_change_neither(change: Change) -> None:
    spec = hut()
    change(spec)
    assert spec != hut()
    assert names(spec) == names(hut())


TIGHT: dict[str, Change] = {
    "size of a run": lambda s: branches(s)[0][0]["run"].update(size="5/8 in OD"),
    "a size left out": lambda s: branches(s)[0][0]["run"].pop("size"),
    "length of a run": lambda s: s["supply"][0]["run"].update(length="20 ft 1 in"),
    "bends of a run": lambda s: s["supply"][0]["run"].update(bends="3"),
    "what a run passes through": lambda s: s["supply"][0]["run"].update(through=["wall"]),
    "rise of a run": lambda s: s["supply"][0]["run"].update(rise="1 ft"),
    "material": lambda s: branches(s)[0][0]["run"].update(material="copper", type="l"),
    "connector": lambda s: branches(s)[0][1]["outlet"]["connector"].update(length="4 ft"),
    "a new hose": lambda s: branches(s)[0][1]["outlet"]["connector"].update(manufactured="2026-02-02"),
    "a valve more": lambda s: s["supply"].insert(1, {"valve": {}}),
    "a valve less": lambda s: s["supply"].pop(1),
    "a valve behind the run instead of before it": lambda s: s["supply"].insert(0, s["supply"].pop(1)),
    "regulator's pressure": lambda s: s["regulator"].update(outlet="10.5 inH2O"),
    "regulator's capacity": lambda s: s["regulator"].update(capacity="300 kBtu/h"),
    "regulator's thread": lambda s: s["regulator"].update(outlet_thread="1 NPT"),
    "another regulator": lambda s: s["regulator"].update(manufactured="2020-01-01"),
    "regulator's relief": lambda s: s["regulator"].update(relief="1 psi"),
    "regulator's protection": lambda s: s["regulator"].update(over_pressure_protection="no"),
    "number of containers": lambda s: s["container"].update(number="3"),
    "container's connection": lambda s: s["container"].update(connection="QCC1"),
    "an appliance's thread": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(inlet_thread="3/4 NPT"),
    "another appliance of the kind": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(serial="77"),
}

BUILD: dict[str, Change] = {
    "the room an appliance stands in": lambda s: branches(s)[0][1]["outlet"].update(space="outdoors"),
    "one room more": lambda s: s["spaces"].append({"name": "Loft", "volume": "9 m3"}),
    "openings of a room": lambda s: s["spaces"][0].update(vent_low="1 in2"),
    "alarms of a room": lambda s: s["spaces"][0].update(alarms=[]),
    "input of an appliance": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(input="20.1 kBtu/h"),
    "kind of appliance": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(kind="water-heater"),
    "flue": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(flue="open-flued"),
    "flame failure": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(flame_failure="no"),
    "listing": lambda s: branches(s)[0][1]["outlet"]["appliance"].update(listed_for=["outdoors"]),
    "kind of container": lambda s: s["container"].update(type="dot-40lb"),
    "capacity of the container": lambda s: s["container"].update(water_capacity="239 lb"),
    "position of the container": lambda s: s["container"].update(orientation="horizontal"),
    "gas": lambda s: s.update(gas="butane"),
    "region": lambda s: s.update(region="canada"),
    "setting": lambda s: s.update(setting="boat"),
    "altitude": lambda s: s.update(altitude="11,000 ft"),
    "coldest air": lambda s: s.update(coldest="-31 degF"),
}


@pytest.mark.parametrize("change", TIGHT.values(), ids=list(TIGHT))
def test_what_bears_on_a_joint_changes_both(change: Change) -> None:
    spec = hut()
    change(spec)
    now, then = names(spec), names(hut())
    assert now.tightness != then.tightness and now.build != then.build


@pytest.mark.parametrize("change", BUILD.values(), ids=list(BUILD))
def test_what_a_signer_looks_at_besides_changes_the_build_code_alone(change: Change) -> None:
    spec = hut()
    change(spec)
    now, then = names(spec), names(hut())
    assert now.tightness == then.tightness and now.build != then.build


def in_rooms(first: str, second: str) -> Values:
    """The heater and the cooker in two rooms of which the same is known."""
    spec = hut()
    spec["spaces"] = [{"id": "bunks", "volume": "9 m3"}, {"id": "galley", "volume": "9 m3"}]
    for branch, room in zip(branches(spec), (first, second), strict=True):
        branch[1]["outlet"].update(space=room)
    return spec


def test_rooms_that_are_alike_are_told_apart_by_what_stands_in_them() -> None:
    both, apart = names(in_rooms("bunks", "bunks")), names(in_rooms("bunks", "galley"))
    assert both.build != apart.build and both.tightness == apart.tightness
    assert names(in_rooms("galley", "galley")) == both  # which of the two is only a name
    assert names(in_rooms("galley", "bunks")) == apart


def test_comments_and_the_log_change_neither() -> None:
    assert names(hut(), "\n## 2026-06-01: done\n\nAll done.\n") == names(hut())
    plain = EXAMPLES[2].read_text(encoding="utf-8")
    with_words = plain.replace("\nsupply:\n", "\n# a comment\nsupply:  # another\n")
    assert with_words != plain
    found = [read_spec(t.encode(), "x.md", "x").build for t in (plain, with_words)]
    assert found[0] is not None and found[1] is not None
    assert codes(found[0]) == codes(found[1])


SPELLINGS = [
    ("1/2 NPT", '1/2" npt', True),
    ("1 1/4 in", "1-1/4", True),
    ("1 1/4 in", "1\N{VULGAR FRACTION ONE QUARTER} in", True),
    ("15 x 1 mm", "15\N{MULTIPLICATION SIGN}1", True),
    ("EHD 18", "ehd18", True),
    ("1 1/4", "11/4", False),
    ("15 x 1 mm", "15 x 1.5 mm", False),
    ("3/8 NPT", "3/8 flare", False),
    ("M20 x 1.5", "M20 x 15", False),
    ("1/2 in OD", "1/2 in nominal", False),
]


@pytest.mark.parametrize(("one", "other", "same"), SPELLINGS)
def test_a_size_may_be_spelt_in_ways_that_say_the_same(one: str, other: str, *, same: bool) -> None:
    spec, also = hut(), hut()
    spec["supply"][0]["run"]["size"], also["supply"][0]["run"]["size"] = one, other
    assert (names(spec) == names(also)) == same


# --- each key -------------------------------------------------------------------------------------------------------


def blocks() -> list[type[Block]]:
    return [c for c in vars(model).values() if isinstance(c, type) and issubclass(c, Block) and c is not Block]


@pytest.mark.parametrize("block", blocks(), ids=lambda b: b.__name__)
def test_every_key_says_which_code_it_belongs_to(block: type[Block]) -> None:
    for name, field in block.model_fields.items():
        assert isinstance(field.json_schema_extra, dict), f"{block.__name__}.{name} does not say it"
        assert field.json_schema_extra.get("x-code") in ("tightness", "build", "none"), f"{block.__name__}.{name}"


RANK = ("none", "build", "tightness")


def other(value: object) -> Any:
    """A value of the same sort that says something else."""
    if value is None:
        return "something"
    if isinstance(value, bool):
        return not value
    if isinstance(value, Given):
        return Given(float(value) * 1.25 + 1e-3, "another", value.unit, value.dimension)
    if isinstance(value, int):
        return value + 1
    if isinstance(value, dt.date):
        return value + dt.timedelta(days=1)
    if isinstance(value, list):
        return value[:-1] if value else ["something"]
    if isinstance(value, dict):
        return {"something": "else"}
    return f"{value}-x"


def altered(value: Any, reach: int) -> Iterator[tuple[str, int, Any]]:
    """Every way to change one key in a value: its path, how far it reaches (in RANK), and the value with it changed."""
    if isinstance(value, list):
        for i, item in enumerate(value):
            for path, rank, made in altered(item, reach):
                yield f".{i}{path}", rank, [*value[:i], made, *value[i + 1 :]]
    if not isinstance(value, Block):
        return
    for name, field in type(value).model_fields.items():
        extra = field.json_schema_extra
        assert isinstance(extra, dict)
        rank = min(reach, RANK.index(str(extra["x-code"])))
        item = getattr(value, name)
        holds = isinstance(item, Block) or (isinstance(item, list) and item and isinstance(item[0], Block | list))
        if not holds and not (isinstance(value, model.Element) and item is None):
            yield f".{name}", rank, value.model_copy(update={name: other(item)})
        for path, deeper, made in altered(item, rank):
            yield f".{name}{path}", deeper, value.model_copy(update={name: made})


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda f: f.stem)
def test_a_change_of_any_key_of_an_example_changes_the_right_codes(file: Path) -> None:
    made = read_file(file).build
    assert made is not None
    then, tried = codes(made), 0
    for path, rank, spec in altered(made.spec, RANK.index("tightness")):
        if re.fullmatch(r"\.spaces\.\d+\.(id|name)", path):
            continue  # outlets name the room by it, and would now name none: tried above, with them
        now = codes(replace(made, spec=spec, nodes=flatten(spec)))
        assert (now.tightness != then.tightness, now.build != then.build) == (rank == 2, rank >= 1), path
        tried += 1
    assert tried > 200


def test_no_key_is_read_from_what_gasdoc_works_out() -> None:
    """Codes need nothing but the spec: a name that no catalogue has gets one, too."""
    spec = hut()
    spec["container"]["type"] = "a-kind-nobody-sells"
    assert names(spec).build != names(hut()).build


# --- what differs ---------------------------------------------------------------------------------------------------


def test_what_has_changed_since_a_record_is_named_key_by_key() -> None:
    before = hut()
    covers = names(before).tightness
    now = hut()
    now["regulator"]["outlet_thread"] = "1 NPT"
    now["supply"][0]["run"]["length"] = "22 ft"
    now["container"]["type"] = "dot-40lb"  # no key of the tightness code
    now["tests"] = [
        {"date": "2026-05-02", "kind": "piping", "covers": covers, "readings": [{"time": "10:00", "pressure": "1 kPa"}]}
    ]
    made = study_of(now)
    between = hut()
    between["regulator"]["outlet_thread"] = "2 NPT"
    found = changed(made.build, made.standing, [text(s).encode() for s in (between, before, between)])
    assert set(found) == {
        ChangedKey("regulator.outlet_thread", before["regulator"].get("outlet_thread"), "1 NPT"),
        ChangedKey("trunk.length", "20 ft", "22 ft"),
    }
    assert changed(made.build, made.standing, [text(between).encode()]) == ()


def test_nothing_is_looked_up_where_no_record_is_stale() -> None:
    made = study_of(hut())

    def never() -> Iterator[bytes]:
        raise AssertionError("asked")
        yield b""

    assert changed(made.build, made.standing, never()) == ()


def test_every_key_a_code_stands_for_has_a_name_of_its_own() -> None:
    made = built(hut())
    found = stated(made, "build")
    assert found["trunk.size"].text == "5/8 in OD" and found["container.number"].text == "2"
    assert "main.place" not in found and not any(key.endswith(".name") for key in found)


FACTORS = {"ft": 1.0, "in": 12.0, "m": 0.3048, "mm": 304.8, "cm": 30.48}


@given(thousandths=st.integers(100, 99_999), unit=st.sampled_from(sorted(FACTORS)))
@tries(60)
def test_a_length_written_in_another_unit_never_changes_it(thousandths: int, unit: str) -> None:
    feet = thousandths / 1000
    spec, also = hut(), hut()
    spec["supply"][0]["run"]["length"] = f"{feet:.3f} ft"
    also["supply"][0]["run"]["length"] = f"{feet * FACTORS[unit]:.10f} {unit}"
    assert names(spec) == names(also)


@given(a=st.integers(100, 50_000), b=st.integers(100, 50_000))
@tries(60)
def test_two_lengths_a_thousandth_apart_or_more_never_share_it(a: int, b: int) -> None:
    spec, also = hut(), hut()
    spec["supply"][0]["run"]["length"] = f"{a / 1000:.3f} ft"
    also["supply"][0]["run"]["length"] = f"{b / 1000:.3f} ft"
    assert (names(spec) == names(also)) == (a == b)


def test_a_long_and_deep_line_has_them_too() -> None:
    """38 runs to a junction, and again behind it: an element at the end stands some 350 deep."""
    spec = hut()
    line: list[Values] = [outlet("Heater", "1 kBtu/h")]
    for i in range(9):
        line = [run("1 in", "1/2 in OD", **COPPER) for _ in range(38)] + [
            {"junction": {"kind": "tee", "branches": [line, [outlet(f"Lamp {i}", "1 kBtu/h", kind="light")]]}}
        ]
    spec["supply"] = line
    assert code_of(names(spec).tightness) == "tightness"


def test_the_deepest_tree_a_spec_may_have_is_no_recursion_too_deep() -> None:
    spec = hut()
    branch: list[Values] = [outlet("Heater", "1 kBtu/h")]
    for i in range(19):
        branch = [
            run("1 in", "1/2 in OD", **COPPER),
            {"junction": {"branches": [branch, [outlet(f"Lamp {i}", "1 kBtu/h", kind="light")]]}},
        ]
    spec["supply"] = branch
    assert code_of(names(spec).build) == "build"


def test_the_model_has_no_block_outside_the_spec() -> None:
    """Every block stands in the spec somewhere, so that the walk over the examples means all of them."""
    assert Spec in blocks() and issubclass(Spec, BaseModel) and copy.copy(hut()) == hut()


def test_another_gas_is_one_change_in_the_words_it_is_written_in() -> None:
    def gas(**more: Any) -> dict[str, str]:
        made = built(hut() | more)
        return {key: value.text for key, value in stated(made, "build").items() if key.startswith("gas")}

    assert gas() == gas(gas="propane") == {"gas": "propane"}
    assert gas(gas="butane") == {"gas": "butane"}
    assert gas(gas={"propane": "70 %", "butane": "30 %"}) == {"gas": "{propane: 70 %, butane: 30 %}"}
    assert not any(key.startswith("gas") for key in stated(built(hut()), "tightness"))
