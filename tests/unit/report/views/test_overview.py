"""No answer on the overview is a yes while an error stands against it."""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
import yaml
from made_up_builds import (
    REGULATOR,
    build,
    found,
    gets_there,
    one,
    outlet,
    pressures,
    run,
    run_pressures,
    study_of,
    two_stage,
)
from places import SPECS

from gasdoc.report.content.words import Quantities
from gasdoc.source import Severity
from gasdoc.study import Study

US = Quantities("us")

GAS_AT_THE_APPLIANCE = {
    "starved",
    "below-minimum",
    "above-maximum",
    "connector-too-small",
    "jetted-for-another-gas",
    "jetted-for-another-pressure",
    "run-undersized",
    "run-too-large-a-load",
    "table-exceeded",
    "regulator-too-small",
    "regulator-inlet-too-low",
    "regulator-cannot-work",
    "regulator-inlet-beyond-gas",
}
COLD_NIGHT = {"regulator-inlet-beyond-gas", "fuel-too-cold", "butane-too-cold", "empty-within-a-day"}

Change = Callable[[dict[str, Any]], None]


def parts(spec: Any, key: str) -> list[dict[str, Any]]:
    """Every mapping that stands under `key`, anywhere in a spec."""
    if isinstance(spec, list):
        return [found for item in spec for found in parts(item, key)]
    if not isinstance(spec, dict):
        return []
    own = [spec[key]] if isinstance(spec.get(key), dict) else []
    return own + [found for value in spec.values() for found in parts(value, key)]


def every(key: str, **values: str | None) -> Change:
    """Sets those keys of all elements of a kind; None takes a key out."""

    def change(spec: dict[str, Any]) -> None:
        for part in parts(spec, key):
            for name, value in values.items():
                if value is None:
                    part.pop(name, None)
                else:
                    part[name] = value

    return change


def nothing(spec: dict[str, Any]) -> None:
    pass


def all_of(*changes: Change) -> Change:
    def change(spec: dict[str, Any]) -> None:
        for one_change in changes:
            one_change(spec)

    return change


def top(**values: Any) -> Change:
    return lambda spec: spec.update(values)


LARGE = every("regulator", capacity="99000 kBtu/h")

CHANGES: dict[str, Change] = {
    "as it is": nothing,
    "no sizes": every("run", size=None),
    "long runs": every("run", length="95 ft", legs=None),
    "long runs without sizes": every("run", length="900 ft", size=None, legs=None),
    "a great load": every("appliance", input="200 kBtu/h"),
    "a load past all sizes": all_of(every("appliance", input="9000 kBtu/h"), every("run", size=None), LARGE),
    "a load no pressure is left of": all_of(
        every("appliance", input="400 kBtu/h"), every("run", length="50 ft", legs=None), LARGE
    ),
    "a regulator too small": every("regulator", capacity="1 kBtu/h"),
    "a regulator that needs more than the gas has": every("regulator", inlet="900 psi"),
    "a regulator set above what arrives": every("regulator", outlet="15 psi"),
    "a regulator that needs more than arrives": every("regulator", inlet="9.8 psi"),
    "a regulator for another pressure": every("regulator", outlet="20 inH2O", lock_up="24 inH2O"),
    "plates for another pressure": every("jetted_for", pressure="20 inH2O"),
    "plates for another gas": every("jetted_for", gas="butane"),
    "plates that stand little": every("appliance", max_inlet="10.5 inH2O", min_inlet="1 inH2O"),
    "plates that ask for much": every("appliance", min_inlet="10.99 inH2O"),
    "connectors too small": every("connector", capacity="1 kBtu/h"),
    "butane in the cold": all_of(top(gas={"propane": "0 %", "butane": "100 %"}), every("jetted_for", gas="butane")),
    "colder than propane boils": top(coldest="-60 degF"),
    "more use than gas": every("appliance", daily_use="24 h"),
}


EXAMPLES = ("larch-hut", "bakery-trailer", "floating-studio", "two stages")


@cache
def changed(example: str, change: str) -> Study:
    """The study of an example with one of the changes."""
    if example == "two stages":
        spec, body = two_stage(), ""
    else:
        _, head, body = (SPECS / f"{example}.md").read_text(encoding="utf-8").split("---\n", 2)
        spec = yaml.load(head, yaml.BaseLoader)
    spec = copy.deepcopy(spec)
    CHANGES[change](spec)
    return study_of(spec, body)


def errors(made: Study) -> set[str]:
    return {f.code for f in made.findings if f.severity is Severity.ERROR}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("example", EXAMPLES)
def test_no_yes_stands_beside_an_error(example: str, change: str) -> None:
    made = changed(example, change)
    codes = errors(made)
    word = made.answers.gas_gets_there.word
    assert not (word.startswith(("yes", "barely", "as far as")) and codes & GAS_AT_THE_APPLIANCE), (word, codes)
    if word.startswith("not") and word != "not known":
        assert codes & GAS_AT_THE_APPLIANCE
    night = made.answers.cold_night.word
    assert not (night.startswith("lasts") and codes & COLD_NIGHT), (night, codes)


def test_the_changes_give_rise_to_every_error_that_counts() -> None:
    """Else the test above would see nothing."""
    seen = {code for example in EXAMPLES for change in CHANGES for code in errors(changed(example, change))}
    assert seen >= GAS_AT_THE_APPLIANCE | COLD_NIGHT


def shed_regulator(**more: str) -> dict[str, Any]:
    """Two second stages, of which the shed's is as given."""
    spec = two_stage()
    spec["supply"][1]["junction"]["branches"][1][1]["regulator"].update(more)
    return spec


@pytest.mark.parametrize("wrong", [{"inlet": "9.8 psi"}, {"outlet": "15 psi"}, {"capacity": "100 kBtu/h"}])
def test_nothing_is_known_behind_a_regulator_that_cannot_hold_its_pressure(wrong: dict[str, str]) -> None:
    made = study_of(shed_regulator(**wrong))
    first, hut, shed = pressures(made)
    assert first is not None and hut is not None and shed is not None
    assert [o.id for o in hut.outlets] == ["heater"] and hut.whole and first.whole
    assert (
        shed.outlets == ()
        and run_pressures(made, 2) == {}
        and [o.id for o in shed.behind] == ["kettle"]
        and not shed.whole
    )
    assert shed.worst_drop is None
    said = one(made, "pressure-unknown")
    assert said.subject == "kettle" and said.message.endswith(
        "because the regulator shed-reg cannot hold its pressure."
    )
    word, why = gets_there(made)
    assert word == "not with this regulator" and "shed-reg cannot hold its pressure" in why and "Kettle" in why
    assert [part.room for part in made.room.parts if part.name == "pipe"] == [None]


def test_a_first_regulator_that_cannot_hold_its_pressure_leaves_all_unknown() -> None:
    spec = two_stage()
    spec["regulator"]["capacity"] = "200 kBtu/h"
    made = study_of(spec)
    assert all(solved is not None and not solved.whole and not solved.outlets for solved in pressures(made))
    unknown = found(made, "regulator-inlet-unknown")
    assert {f.subject for f in unknown} == {"hut-reg", "shed-reg"}
    assert all("because the regulator first cannot hold its pressure" in f.message for f in unknown)
    assert {f.subject for f in found(made, "pressure-unknown")} == {"heater", "kettle"}
    beyond = two_stage()
    beyond["regulator"]["inlet"] = "900 psi"
    assert study_of(beyond).answers.gas_gets_there.word == "not with this regulator"


def test_a_rating_that_may_count_net_heat_leaves_the_pressures_known() -> None:
    def made(capacity: str) -> str:
        regulator = {
            **REGULATOR,
            "outlet": "30 mbar",
            "lock_up": "36 mbar",
            "tolerance": "2 mbar",
            "capacity": capacity,
        }
        spec = build(
            run("2 m", "15 x 1 mm", material="copper-metric"),
            outlet(
                "Stove",
                "10 kW",
                input_basis="gross",
                jetted_for={"gas": "propane", "pressure": "30 mbar"},
                min_inlet="25 mbar",
                max_inlet="36 mbar",
            ),
            regulator=regulator,
            region="eu",
            units="si",
        )
        return study_of(spec).answers.gas_gets_there.word

    assert made("9.5 kW") == made("11 kW") == "yes, by the numbers"  # 9.5 kW of net heat are 10.3 kW gross
    assert made("9 kW") == "not with this regulator"
