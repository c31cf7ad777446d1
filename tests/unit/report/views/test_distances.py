"""The distances around a container, as the page of the container has them."""

from __future__ import annotations

from made_up_builds import build, outlet, run, study_of

from gasdoc.report.content.words import Quantities
from gasdoc.report.views.container.mount import clearances


def test_a_distance_that_follows_from_places_says_so() -> None:
    supply = (run("4 ft", material="copper", type="L"), outlet("Lamp", "2 kBtu/h"))
    hatch = [{"kind": "hatch", "at": ["3 ft", "4 ft", "4 ft"]}, {"kind": "intake", "at": ["3 ft", "4 ft", "4 ft"]}]
    container = {"relief_at": ["0 ft", "0 ft", "4 ft"], "clearances": {"relief_to_intake": "60.5 in"}}
    rows = {
        row[0]: row[1]
        for row in clearances(study_of(build(*supply, container=container, openings=hatch)), Quantities("us"))
    }
    assert rows["Relief valve outlet to the nearest opening below it"] == (
        '<span class="qty">5&#160;<span class="unit">ft 0 in</span></span>, by their places'
    )
    stated = rows["Relief valve outlet to the nearest air intake of a room-sealed appliance or of a fan"]
    assert "ft 0.5 in" in stated and "places" not in stated
