"""The sheet for the door: what to do when it smells of gas, which valves there are, whom to call. And the labels of its valves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gasdoc.build.model import Valve
from gasdoc.report.photos import Picture
from gasdoc.report.views.valves import MOST_NAMED, valves
from gasdoc.study import Study
from gasdoc.study.air.alarms import fitted

ALARMS = {"gas": "Gas alarm", "co": "Carbon monoxide alarm", "smoke": "Smoke alarm"}


MOST_PHOTOS = 2
"""Photos for which there is room on the sheet."""


def view(study: Study, pictures: Mapping[str, Sequence[Picture]]) -> dict[str, Any]:
    """The emergency steps in order, the numbers to call, the valves from the container inwards with photos of the first of
    them, the alarms."""
    every = valves(study)
    shown = [(valve.name, valve.place, valve.behind) for valve in every]
    own = sum(valve.appliance for valve in every)
    if own > MOST_NAMED:  # so that the sheet stays one
        shown[-own:] = [(f"Shut-offs of {own} appliances", "at each appliance", "that appliance")]
    things = [*(f"element {node.id}" for node, _ in study.build.each(Valve)), "container"]
    alarms = [alarm for room in study.rooms for alarm in fitted(room) or ()]
    return {
        "steps": [c for c in study.cautions if c.group == "emergency"],
        "co_steps": [c for c in study.cautions if c.group == "carbon-monoxide"],
        "valves": shown,
        "shuts": [
            f"{'Container' if i == 0 else 'Others'}: {said}"
            for i, said in enumerate(dict.fromkeys(v.shuts for v in every))
        ],
        "where": [pictures[thing][0] for thing in things if thing in pictures][:MOST_PHOTOS],
        "alarms": [
            (words + ("s" if len(places) > 1 else ""), "; ".join(places))
            for kind, words in ALARMS.items()
            if (places := [a.alarm.place or "place not stated" for a in alarms if a.alarm.kind == kind])
        ],
        "calls": study.build.region.emergency,
        "numbers": [
            "Gas supplier, day and night",
            "Licensed gas fitter",
            "Owner, or who has a key",
            "This place: address or position",
        ],
    }


def labels(study: Study) -> dict[str, Any]:
    """A label for every valve."""
    return {"valves": valves(study), "calls": study.build.region.emergency}
