"""What appliances are listed for, held against where they stand."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.build.model import Appliance
from gasdoc.build.rooms import OUTDOORS
from gasdoc.study.facts import Installation, Served, setting
from gasdoc.study.findings import Finding, error, warning

WANTED = {"cabin": "indoors", "trailer": "vehicle", "vehicle": "vehicle", "boat": "boat"}
"""The word of `listed_for:` for an appliance that stands in a room, by what the gas is fitted in."""


def listing_findings(build: Installation) -> Iterator[Finding]:
    """Appliances that stand where their listing does not say that they may. Nothing is said where no listing is stated."""
    where = setting(build)
    for s in build.served:
        listed, at = s.appliance.listed_for, (*s.at, "appliance", "listed_for")
        if not listed:
            continue
        if s.outlet.space == OUTDOORS:
            if "outdoors" not in listed and (where in (None, "cabin") or WANTED[where] not in listed):
                yield _elsewhere(s, at, "it stands outdoors", "outdoors")
        elif listed == ["outdoors"]:
            yield error(
                "listed-for-outdoors-only",
                s.id,
                at,
                f"{s.appliance.name} is listed for outdoors only, and it stands in a room.",
                "Made for open air, it can fill a room with carbon monoxide, or set fire to what is near it.",
                "Do not use it there. Put it outdoors and write 'space: outdoors', or take one that is listed for the room.",
                "the appliance's plate or instructions",
            )
        elif where is not None and WANTED[where] not in listed:
            yield _elsewhere(s, at, f"it is fitted in a {where}", WANTED[where])


def _elsewhere(s: Served, at: tuple[str | int, ...], stands: str, wanted: str) -> Finding:
    return warning(
        "not-listed-for-place",
        s.id,
        at,
        f"{s.appliance.name} is listed for {listed_words(s.appliance)}, and {stands}.",
        "A listing holds for the place it names. Motion, weather or a small room can put out a flame or damage a part.",
        f"Look for the word '{wanted}' on its plate and in its instructions. If it is not there, ask the maker and the authority.",
        "common practice, no source. The plate decides",
    )


def listed_words(appliance: Appliance) -> str:
    """What an appliance is listed for, in words; empty where nothing is stated."""
    return ", ".join(appliance.listed_for)
