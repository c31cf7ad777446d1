"""Small builds for tests, put together from plain values: a spec's text, its Read, its Study."""

from __future__ import annotations

import copy
import json
from typing import Any

from gasdoc.build.reader import Read, read_spec
from gasdoc.source import Problem
from gasdoc.study import Study, make_study
from gasdoc.study.findings import Finding
from gasdoc.study.supply.lines import Line, RunPressure, ZonePressure

Values = dict[str, Any]

KBTU_PER_HOUR = 293.0710701722222
"""W: 1000 x 1055.05585262 J / 3600 s."""

INCH_OF_WATER = 249.08891
"""Pa: 1000 kg/m3 x 9.80665 m/s2 x 0.0254 m."""

PSI = 6894.757293168361
FOOT, INCH = 0.3048, 0.0254

REGULATOR: Values = {
    "stages": 2,
    "capacity": "400 kBtu/h",
    "inlet": "10 psi",
    "outlet": "11 inH2O",
    "tolerance": "0 inH2O",
    "lock_up": "13 inH2O",
    "adjustable": "no",
    "over_pressure_protection": "yes",
    "inlet_thread": "1/4 NPT",
    "outlet_thread": "1/2 NPT",
}

CONTAINER: Values = {
    "type": "dot-100lb",
    "water_capacity": "238 lb",
    "orientation": "upright",
    "service": "vapour",
    "place": "outdoors",
    "stays": "no",
    "connection": "POL",
    "manufactured": "2020-03-31",
}

TANK: Values = {
    "type": "asme-horizontal",
    "water_capacity": "40 gal",
    "orientation": "horizontal",
    "diameter": "20 in",
    "length": "34 in",
    "tare": "150 lb",
    "stays": "yes",
}

BOLTS: Values = {
    "surface": "floor",
    "thread": "1/2-13",
    "grade": "grade 5",
    "along": ["0 in", "20 in"],
    "across": ["0 in", "10 in"],
    "height": "12 in",
}


def run(length: str, size: str | None = None, **more: Any) -> Values:
    """A run, straight where no bends are given."""
    given = {"length": length, "bends": "0"} | ({"size": size} if size else {}) | more
    return {"run": given}


def outlet(name: str, load: str, **more: Any) -> Values:
    """An outlet with an appliance about which everything is known. Keys of `more` go to the appliance, but for those
    that belong to the outlet."""
    appliance: Values = {
        "name": name,
        "kind": "room-heater",
        "input": load,
        "jetted_for": {"gas": "propane", "pressure": "11 inH2O"},
        "min_inlet": "10 inH2O",
        "max_inlet": "14 inH2O",
        "inlet_thread": "1/2 NPT",
        "flue": "room-sealed",
        "flame_failure": "yes",
        "daily_use": "2 h",
    }
    own: Values = {
        "shut_off": "yes",
        "shut_off_distance": "2 ft",
        "distance": "2 ft",
        "connector": {"kind": "flexible", "length": "3 ft"},
    }
    for key, value in more.items():
        (own if key in ("id", "place", "shut_off", "shut_off_distance", "distance", "connector") else appliance)[
            key
        ] = value
    return {"outlet": without_none(own) | {"appliance": without_none(appliance)}}


def without_none(values: Values) -> Values:
    """The values but for those that are None, so that a test can take one out."""
    return {key: value for key, value in values.items() if value is not None}


def tee(*branches: list[Values], **more: Any) -> Values:
    """A junction."""
    return {"junction": {"kind": "tee" if len(branches) == 2 else "manifold", "branches": list(branches)} | more}


def build(*supply: Values, regulator: Values | None = None, container: Values | None = None, **more: Any) -> Values:
    """A hut with that supply tree. What `regulator`, `container` and `more` give replaces, None takes out."""
    spec: Values = {
        "format": "1",
        "title": "Test Hut",
        "region": "us-cabin",
        "units": "us",
        "altitude": "0 ft",
        "coldest": "20 degF",
        "fitted": "2026-05-01",
        "container": without_none(CONTAINER | (container or {})),
        "regulator": without_none(REGULATOR | (regulator or {})),
        "supply": list(supply),
        "spaces": [
            {
                "volume": "3000 ft3",
                "vent_high": "60 in2",
                "vent_low": "60 in2",
                "sleeping_places": "0",
                "people": "0",
                "alarms": [
                    {"kind": "gas", "standard": "UL 1484", "height": "low", "power": "battery"},
                    {"kind": "co", "standard": "UL 2034", "height": "breathing", "power": "battery"},
                    {"kind": "smoke", "standard": "UL 217", "height": "high", "power": "battery"},
                ],
            }
        ],
    }
    return without_none(copy.deepcopy(spec | more))


def text(spec: Values, body: str = "") -> str:
    """The spec as a file: one key a line, its value as JSON, which is YAML."""
    lines = [f"{key}: {json.dumps(value, ensure_ascii=False)}" for key, value in spec.items()]
    return "---\n" + "\n".join(lines) + "\n---\n" + body


def read(spec: Values, body: str = "") -> Read:
    """The spec read."""
    return read_spec(text(spec, body).encode(), "specs/test-hut.md", "test-hut")


def study_of(spec: Values, body: str = "") -> Study:
    """The study of a spec that is well formed."""
    made, problems = try_study(spec, body)
    assert made is not None, [str(p) for p in problems]
    return made


def try_study(spec: Values, body: str = "") -> tuple[Study | None, tuple[Problem, ...]]:
    """The study, None where the spec cannot be taken, and every problem of the input."""
    taken = read(spec, body)
    if taken.build is None:
        return None, taken.problems
    made, problems = make_study(taken.build)
    return made, (*taken.problems, *problems)


def runs(made: Study) -> dict[str, Line]:
    """The runs by id."""
    return {sized.id: sized for zone in made.zones for sized in zone.runs}


def pressures(made: Study) -> tuple[ZonePressure | None, ...]:
    """What each zone's pressures are, None for one that is not solved."""
    return tuple(zone.pressure for zone in made.zones)


def run_pressures(made: Study, zone: int = 0) -> dict[str, RunPressure]:
    """The pressures in the runs of a zone, by id, of those where they are known."""
    return {run.id: run.pressure for run in made.zones[zone].runs if run.pressure is not None}


def gets_there(made: Study) -> tuple[str, str]:
    """Whether the gas gets there, and what that rests on."""
    answer = made.answers.gas_gets_there
    return answer.word, answer.why


def found(made: Study, code: str, subject: str | None = None) -> list[Finding]:
    """The findings of one code, about one element if it is named."""
    return [f for f in made.findings if f.code == code and subject in (None, f.subject)]


def one(made: Study, code: str, subject: str | None = None) -> Finding:
    """The one finding of that code."""
    all_found = found(made, code, subject)
    assert len(all_found) == 1, [(f.code, f.subject, f.message) for f in made.findings]
    return all_found[0]


def kbtu(watts: float) -> float:
    """W as thousand Btu/h."""
    return watts / KBTU_PER_HOUR


def words(finding: Finding) -> str:
    """All that a finding tells its reader."""
    return f"{finding.message} {finding.reason} {finding.remedy}"


THREE = build(
    run("8 ft", material="copper", type="k", id="trunk"),
    tee(
        [run("12 ft", id="to-heater"), outlet("Heater", "20 kBtu/h")],
        [
            run("7 ft", id="middle"),
            tee(
                [run("13 ft", id="to-cooker"), outlet("Cooker", "31 kBtu/h")],
                [run("15 ft", id="to-boiler"), outlet("Boiler", "30 kBtu/h")],
            ),
        ],
    ),
)


def two_stage() -> Values:
    """10 psi to two second-stage regulators, one in each branch."""
    return build(
        run("35 ft", material="copper", type="k", id="feeder"),
        tee(
            [
                {"regulator": {"id": "hut-reg", "outlet": "11 inH2O", "capacity": "150 kBtu/h"}},
                run("10 ft", id="hut-run"),
                outlet("Heater", "90 kBtu/h"),
            ],
            [
                run("10 ft", id="feeder-shed"),
                {"regulator": {"id": "shed-reg", "outlet": "11 inH2O", "capacity": "150 kBtu/h"}},
                run("20 ft", id="shed-run"),
                outlet("Kettle", "120 kBtu/h"),
            ],
        ),
        regulator={"stages": "1", "outlet": "10 psi", "lock_up": "12 psi", "id": "first"},
    )


def european(pressure: str = "37 mbar", **more: object) -> Values:
    jetted = {"gas": "propane", "pressure": pressure}
    return build(
        run("6 m", "10 x 1 mm", material="copper-metric", id="r"),
        outlet("Heater", "6 kW", jetted_for=jetted, min_inlet="25 mbar", max_inlet="57.5 mbar"),
        region="eu",
        setting="cabin",
        units="si",
        regulator={
            "stages": "1",
            "capacity": "20 kW",
            "inlet": "0.5 bar",
            "outlet": pressure,
            "tolerance": "0 mbar",
            "lock_up": "45 mbar",
        },
        container={"type": "eu-11kg", "water_capacity": "27 L"},
        **more,
    )
