"""The line drawn: isometric, plan, side view, and the same in a table from which all of it can be drawn again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from gasdoc.report.content.output import Asset
from gasdoc.report.content.words import Quantities, first_upper
from gasdoc.report.drawings.line import draw
from gasdoc.report.drawings.line.sheet import RunWords, Sheet, numbers, sheet
from gasdoc.report.views.supply.page import size_words
from gasdoc.study import Study
from gasdoc.study.facts import regulators
from gasdoc.study.supply.lines import Line
from gasdoc.study.supply.route import Stretch


def view(study: Study) -> dict[str, Any]:
    """The drawings, where any leg is stated, and one row for each run."""
    made = sheet(study)
    drawn = drawings(study, made)
    lines = study.lines
    return {
        "drawings": [
            {"svg": Markup(one.svg), "title": one.title, "says": one.says, "file": f"{one.name}.svg"}  # noqa: S704  # ours
            for one in drawn
        ],
        "signs": signs(drawn),
        "remarks": draw.remarks(made),
        "rows": [_row(study, run, lines[run.id], made) for run in made.runs],
        "hoses": [
            [
                first_upper(study.build.labels[name]),
                regulator.hose.length.text,
                _way([s for s in made.stretches if s.part == name]),
            ]
            for name, _, regulator in regulators(study.build)
            if regulator.hose is not None
        ],
        "connectors": [
            [
                served.name,
                c.kind,
                c.length.text if c.length else "not stated",
                _way([s for s in made.stretches if s.part == served.id]),
            ]
            for served in study.served
            if (c := served.outlet.connector) is not None and (c.legs or c.length)
        ],
        "not_measured": study.route.not_measured,
        "places": _places(study, made),
        "south": "South" if made.compass else "Aft",
        "east": "East" if made.compass else "Right",
    }


def drawings(study: Study, made: Sheet) -> tuple[draw.Drawn, ...]:
    """The drawings of a build; none where no leg is stated."""
    return (draw.isometric(made), draw.plan(made), draw.side(made)) if study.route.measured else ()


def first(study: Study) -> draw.Drawn | None:
    """The isometric; None where no leg is stated."""
    return draw.isometric(sheet(study)) if study.route.measured else None


def signs(drawn: Sequence[draw.Drawn]) -> list[tuple[Markup, str]]:
    """The legend of some drawings: each sign with its words, once."""
    kinds = dict.fromkeys(kind for one in drawn for kind in one.signs)
    return [(Markup(svg), words) for svg, words in map(draw.sample, kinds)]  # noqa: S704  # ours


def files(study: Study) -> list[Asset]:
    """Each drawing as a file to take away."""
    slug = study.build.slug
    return [Asset(f"{slug}/{one.name}.svg", one.file.encode("utf-8")) for one in drawings(study, sheet(study))]


def _row(study: Study, run: RunWords, line: Line, made: Sheet) -> dict[str, Any]:
    q, labels = Quantities.of(study.build), study.build.labels
    rise = line.part.rise
    cells = [
        f"{run.letter}: {labels[run.id]}",
        labels[line.upstream],
        labels[line.downstream],
        _way([made.stretches[i] for i in run.stretches]),
        q.number(float(line.part.length), "run length"),
        str(line.part.bends),
        q.number(float(rise), "run length") if rise is not None else "0",
        size_words(line),
        q.number(line.load, "load"),
        numbers(study, run.id),
    ]
    return {"id": f"run-{run.id}", "cells": cells}


def _places(study: Study, made: Sheet) -> list[list[str]]:
    """What has a place of its own in the spec, with the three figures as they are written."""
    found = [[thing.name, thing.word, *thing.written] for thing in made.things]
    found += [
        [served.name, "appliance", *(figure.text for figure in served.appliance.at)]
        for served in study.served
        if served.appliance.at is not None
    ]
    at = study.build.spec.container.at
    return (
        [["outlet of the regulator", "container", *(figure.text for figure in at)], *found] if at is not None else found
    )


def _way(stretches: list[Stretch]) -> str:
    """A way in words, leg after leg, as the builder wrote them, with what each passes through."""
    return ", ".join(map(_leg, stretches))


def _leg(stretch: Stretch) -> str:
    text = stretch.text or "route not measured"
    notes = [f"through the {passage.through}" for passage in stretch.passages]
    if stretch.curve:
        notes.insert(0, f"in a {stretch.curve} {stretch.figure} long")
    return f"{text} ({', '.join(notes)})" if notes else text
