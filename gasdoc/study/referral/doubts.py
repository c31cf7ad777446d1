"""What of a spec is doubtful by itself, and what was taken for granted because it does not say."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from gasdoc import units
from gasdoc.build.labels import OUTDOORS
from gasdoc.build.model import Appliance, Regulator, Run
from gasdoc.build.supply import Node
from gasdoc.engineering.constants import FIFTEEN_CELSIUS
from gasdoc.regions.proof import LineTest
from gasdoc.regions.rules import Rule
from gasdoc.regions.texts import Edition, cited_editions
from gasdoc.source import Path
from gasdoc.study import facts
from gasdoc.study.facts import Installation, Served, setting, stands_in
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.words import in_sentence

WARM = FIFTEEN_CELSIUS
"""K: a coldest air above 15 degC is rare where people heat with propane (our choice)."""

SOME_BUTANE = 0.05
"""From this share of butane on a gallon of liquid holds clearly more than one of propane (our choice)."""

ROUTE = ("bends", "rise", "through", "outside")
MOST_NAMED = 3

_PIPE_THREAD = re.compile(r"(\d+(?:/\d+)?)(?: in)? (?:NPT|BSPT|BSPP|FNPT)")


def doubts(build: Installation) -> Iterator[Finding]:
    """The findings about the input itself."""
    for finds in (_route, _warm, _gallons, _swapped, _flame_failure):
        yield from finds(build)


def _route(build: Installation) -> Iterator[Finding]:
    """What the spec leaves out about how its runs lie: it is counted as none, in the drop and in the parts."""
    runs = [node for node, _ in build.each(Run)]
    silent = {key: [node for node in runs if key not in node.part.model_fields_set] for key in ROUTE}
    if bends := silent["bends"]:
        yield warning(
            "bends-not-stated",
            "build",
            bends[0].at,
            f"How many bends there are is not stated of {_named(bends, runs)}. None was counted.",
            "Each bend costs pressure, so that the pressures here are too good.",
            "Count them along the route and add 'bends:', 0 where it is straight.",
        )
    rest = {key: found for key, found in silent.items() if found and key != "bends"}
    if rest:
        keys = in_sentence(f"'{key}:'" for key in rest)
        stated = "; ".join(f"'{key}' of {_named(found, runs)}" for key, found in rest.items())
        yield note(
            "route-not-stated",
            "build",
            next(iter(rest.values()))[0].at,
            f"Left out and taken as none: {stated}.",
            "Sleeves, grommets and guards on the materials list come from these keys, and height from 'rise'.",
            f"Walk along the route and add {keys}.",
        )


def _flame_failure(build: Installation) -> Iterator[Finding]:
    """Appliances of which it is not stated whether they shut off their gas when the flame fails."""
    silent = [served for served in build.served if served.appliance.flame_failure is None]
    if not silent:
        return
    make = warning if any(served.kind.heats for served in silent) else note
    yield make(
        "flame-failure-unknown",
        "build",
        silent[0].at,
        f"Not stated whether the gas shuts off when the flame fails: {', '.join(served.appliance.name for served in silent)}.",
        "Without it a flame that goes out lets gas run into the room. The rules of the region ask about it.",
        "Read the plate or the manual and add 'flame_failure:' to each, yes or no.",
        of=tuple(served.appliance.name for served in silent),
    )


def _named(found: Sequence[Node], runs: Sequence[Node]) -> str:
    if len(found) == len(runs):
        return "all runs" if len(runs) > 1 else "the run"
    return ", ".join(node.id for node in found) if len(found) <= MOST_NAMED else f"{len(found)} of {len(runs)} runs"


def _warm(build: Installation) -> Iterator[Finding]:
    coldest = build.spec.coldest
    if coldest is not None and coldest > WARM:
        yield warning(
            "coldest-warm",
            "build",
            ("coldest",),
            f"The coldest air is given as {coldest.text}, which is warm for the coldest of a year.",
            "A lost minus sign hides everything that the cold does to the supply.",
            f"Check it: '{coldest.text}' or '-{coldest.text.lstrip('+-')}'?",
        )


def _gallons(build: Installation) -> Iterator[Finding]:
    if build.spec.gas.butane <= SOME_BUTANE:
        return
    for served in build.served:
        a = served.appliance
        for key, given in (("input", a.input), ("daily_use", a.daily_use)):
            if given is not None and given.dimension == "mass flow" and given.unit.startswith("gal"):
                mass = units.show(given, "gas mass" if key == "input" else "fuel use", facts.system(build))
                yield warning(
                    "gallons-of-a-mixture",
                    served.id,
                    (*served.at, "appliance", key),
                    f"'{given.text}' of {a.name} is counted as gallons of propane, {mass}.",
                    "A gallon with butane in it is heavier.",
                    "Write the mass of gas instead, as in '2 lb/h'.",
                )


def _swapped(build: Installation) -> Iterator[Finding]:
    """A regulator whose inlet is wider than its outlet: gas needs more room at the lower pressure."""
    regulators: list[tuple[str, Path, Regulator]] = [(build.first, ("regulator",), build.spec.regulator)]
    regulators += [(node.id, node.at, part) for node, part in build.each(Regulator)]
    for name, at, regulator in regulators:
        sizes = [
            _PIPE_THREAD.fullmatch(text.strip())
            for text in (regulator.inlet_thread or "", regulator.outlet_thread or "")
        ]
        inlet, outlet = (float(Fraction(m[1])) if m else None for m in sizes)
        if inlet is not None and outlet is not None and inlet > outlet:
            yield warning(
                "regulator-threads-swapped",
                name,
                (*at, "inlet_thread"),
                f"Its inlet, {regulator.inlet_thread}, is larger than its outlet, {regulator.outlet_thread}.",
                "A regulator's outlet is usually the larger one, because gas takes more room at the lower pressure.",
                "Look at the arrow or the words on its body. Swap the two keys if they are the wrong way round.",
                "common practice, no source",
            )


# --- whether the rules are for what the gas is fitted in --------------------------------------------------------------


def setting_findings(build: Installation) -> Iterator[Finding]:
    """A setting that the region is not for, and one that is not stated."""
    where, meant = setting(build), build.region.settings
    if where is not None and where not in meant:
        yield warning(
            "region-for-another-setting",
            "build",
            ("setting",),
            f"The rules of '{build.region.id}' are for a {' or '.join(meant)}, and this is a {where}.",
            f"What they are for: {build.region.scope}",
            "Take the region that is for it, if there is one. Else take every row of the rules as a hint only, and ask which rules hold.",
        )
    if where is None:
        yield note(
            "setting-unknown",
            "build",
            ("region",),
            "What the gas is fitted in is not stated.",
            "The region's rules differ for a vehicle, a trailer, a cabin and a boat. Cautions for several are shown.",
            "Add 'setting: cabin', 'trailer', 'vehicle' or 'boat'.",
        )


# --- editions that have ended -----------------------------------------------------------------------------------------


def edition_findings(build: Installation, as_of: dt.date | None) -> Iterator[Finding]:
    """A note for each edition that had ended on `as_of`, with the rows that are cited from it; nothing where nobody asks."""
    if as_of is None:
        return
    ended: dict[Edition, list[str]] = {}
    rows: tuple[Rule | LineTest, ...] = (*build.region.rules, *build.region.tests)
    for row in rows:
        if stands_in(build, row.where):
            for edition in cited_editions(row.citation.text):
                if edition.is_past(as_of):
                    ended.setdefault(edition, []).append(row.id)
    for edition, ids in ended.items():
        yield note(
            "edition-ended",
            "build",
            ("region",),
            f"{edition.name} ended on {edition.until}. Rows of the region rest on it: {', '.join(ids)}.",
            f"It was followed by {edition.then or 'another text'}, which may ask something else.",
            "Ask the authority which edition holds for this build, and what it changes.",
            str(edition.citation),
        )


# --- what the appliances are listed for -------------------------------------------------------------------------------

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
