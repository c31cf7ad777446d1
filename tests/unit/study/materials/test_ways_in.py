"""Lines that come in from outside through nothing, and joints that lie in the ground."""

from __future__ import annotations

from typing import Any

from made_up_builds import Values, build, found, one, outlet, run, study_of

STEEL = {"material": "steel"}


def told(code: str, *supply: Values, **more: Any) -> bool:
    return bool(found(study_of(build(*supply, **more)), code))


def test_a_line_from_outside_passes_something_on_its_way_in() -> None:
    def line(through: list[str] | None) -> list[Values]:
        more = {} if through is None else {"through": through}
        return [run("9 ft", "1/2 in", **STEEL, **more), outlet("Heater", "4 kW")]

    assert told("no-passage", *line([]))
    assert not told("no-passage", *line(["wall"]))
    assert not told("no-passage", *line(None))  # what is left out is asked for by itself
    assert not told("no-passage", *line([]), container={"place": "inside"})
    hose = {"length": "18 in", "legs": [{"leg": "1 ft aft", "through": "wall"}]}
    assert not told("no-passage", *line([]), regulator={"hose": hose})  # that is told as hose-through


def test_a_valve_between_two_runs_in_the_ground_is_told_once() -> None:
    def yard(behind: str) -> list[Values]:
        return [
            run("9 ft", "1/2 in", **STEEL, buried="yes"),
            {"valve": {"id": "yard-valve"}},
            {"tap": {"id": "yard-tap"}},
            run("9 ft", "1/2 in", buried=behind),
            outlet("Heater", "4 kW"),
        ]

    assert one(study_of(build(*yard("yes"))), "buried-joint").subject == "yard-valve"
    assert not told("buried-joint", *yard("no"))
