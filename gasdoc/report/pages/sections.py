"""The pages of a build: a row for each, with its title, what it has, and how its view is made."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from typing import Any

from markupsafe import Markup
from msgspec import Struct

from gasdoc.choices.choices import Choices
from gasdoc.folder.changed import ChangedKey
from gasdoc.folder.linked import Judge
from gasdoc.folder.provenance import Provenance
from gasdoc.report.content import photos
from gasdoc.report.content.links import Address, Link
from gasdoc.report.content.photos import Picture
from gasdoc.report.drawings.line.draw import Drawn
from gasdoc.report.drawings.schematic import Outline
from gasdoc.report.views import (
    air,
    booklet,
    cautions,
    changes,
    choices,
    door_sheet,
    log,
    overview,
    referral,
    side_by_side,
    upkeep,
    worklist,
)
from gasdoc.report.views import photos as gallery
from gasdoc.report.views.changes import Template
from gasdoc.report.views.container import page as container
from gasdoc.report.views.materials import page as materials
from gasdoc.report.views.materials import shopping, true_size
from gasdoc.report.views.proof import page as leak_test
from gasdoc.report.views.proof import test_sheet
from gasdoc.report.views.supply import line
from gasdoc.report.views.supply import page as supply
from gasdoc.source import Problem
from gasdoc.study import Study


class Around(Struct, frozen=True):
    """What a build's pages say beside its study.

    `svg` is the drawing of its supply, `outline` the same in words. `problems` is what is wrong with its text. `choices` is
    what can be chosen for it, None where nothing is open. `judge` tells what a path among the specs leads to. `provenance` is
    where its text comes from, `template` what it was started from. `changed` is what has changed since a record that is
    stale. `beside` are the builds that it names to stand beside it. `address` gives whole URLs, None where the site's own is
    not known."""

    svg: str
    outline: Outline
    problems: Sequence[Problem]
    choices: Choices | None
    judge: Judge
    provenance: Provenance | None
    template: Template | None
    changed: tuple[ChangedKey, ...]
    beside: tuple[Study, ...]
    feed: bool
    address: Address | None
    album: photos.Album


class Leaf(Struct, frozen=True, dict=True):
    """A page of a build on its way: the build, what is around it, the page's own place `here` among the site's sources, and
    the isometric, None where no leg is stated."""

    study: Study
    around: Around
    link: Link
    here: str
    isometric: Drawn | None

    def to(self, target: str) -> str:
        """The link that leads from this page to a place among the site's sources."""
        return self.link(self.here, target)

    def page(self, section: str) -> str:
        """The link that leads from this page to another one of the build."""
        return self.to(uri(self.study.build.slug, section))

    @cached_property
    def pictures(self) -> dict[str, list[Picture]]:
        """The photos that the spec names."""
        return photos.pictures(self.around.album, self.here, self.link, self.around.judge)

    @property
    def tree(self) -> Markup:
        """The supply tree, with its boxes leading to the build's pages."""
        slug = self.study.build.slug
        places = {section.slug: uri(slug, section.slug) for section in menu(self.study, self.around)}
        leading = re.sub(
            r'(<a href=")([a-z-]+)',
            lambda a: a[1] + (self.to(places[a[2]]) if places[a[2]] != self.here else ""),
            self.around.svg,
        )
        return Markup(leading)  # noqa: S704  # ours

    @property
    def drawing(self) -> Markup:
        """The isometric where legs are stated, else the supply tree."""
        return Markup(self.isometric.svg) if self.isometric is not None else self.tree  # noqa: S704  # ours

    @property
    def signs(self) -> dict[str, Any]:
        """The legend of the isometric."""
        return {"signs": line.signs([self.isometric] if self.isometric is not None else [])}


class Section(Struct, frozen=True):
    """A page of a build: its name in addresses, its title, what it has (`{}` is the build's title), its view, and which
    builds have it."""

    slug: str
    title: str
    description: str
    view: Callable[[Leaf], dict[str, Any]]
    present: Callable[[Study, Around], bool] = lambda study, around: True


def _choices(leaf: Leaf) -> dict[str, Any]:
    assert leaf.around.choices is not None
    return choices.view(leaf.study, leaf.around.choices)


def _changes(leaf: Leaf) -> dict[str, Any]:
    assert leaf.around.template is not None
    return changes.view(leaf.around.template)


BOOKLET = Section(
    "booklet",
    "Booklet for the inspector",
    "What an inspector asks about {}, on few pages.",
    lambda leaf: booklet.view(leaf.study, leaf.drawing) | leaf.signs,
)
"""The record in few sheets: what the whole record begins with; the overview leads to it."""

SECTIONS = (
    Section(
        "index",
        "Overview",
        "How far {} is, what it is made of, and what is wrong with it.",
        lambda leaf: overview.view(leaf.study, leaf.drawing) | leaf.signs,
    ),
    Section(
        "choices",
        "What to choose",
        "Containers, regulators and tubing that would do for {}, with what each costs and weighs.",
        _choices,
        lambda study, around: around.choices is not None,
    ),
    Section(
        "beside",
        "Side by side",
        "{} beside other builds: container, tubing, weight, cost, days and findings.",
        lambda leaf: side_by_side.view(leaf.study, leaf.around.beside, lambda slug: leaf.to(uri(slug, "index"))),
        lambda study, around: bool(study.build.spec.beside),
    ),
    Section(
        "changes",
        "Changes from template",
        "What is different in {} from the build it was started from.",
        _changes,
        lambda study, around: around.template is not None,
    ),
    Section(
        "open",
        "What is open",
        "What is not decided, read, measured or asked yet of {}, by what to do about it.",
        lambda leaf: worklist.view(leaf.study),
    ),
    Section(
        "supply",
        "Supply tree",
        "Size, length, load and pressure of every run of {}, with the working.",
        lambda leaf: supply.view(leaf.study, leaf.tree, leaf.around.outline),
    ),
    Section(
        "line",
        "The line drawn",
        "The gas line of {} drawn to its legs: isometric, plan and side view.",
        lambda leaf: line.view(leaf.study),
    ),
    Section(
        "container",
        "Container",
        "Whether the container of {} is enough on a cold night, how long it lasts, and what holds it on.",
        lambda leaf: container.view(leaf.study),
    ),
    Section(
        "materials",
        "Materials",
        "Every part and joint of {}, with the cutting plan and passages.",
        lambda leaf: materials.view(leaf.study),
    ),
    Section(
        "work",
        "Order of work",
        "The work on {} in order, step by step, up to the test day.",
        lambda leaf: {"steps": leaf.study.work.steps},
    ),
    Section(
        "air",
        "Air and alarms",
        "Rooms, openings, flues and alarms of {}.",
        lambda leaf: air.view(leaf.study),
    ),
    Section(
        "cautions",
        "Cautions",
        "Every caution for {}, with its reason and its source.",
        lambda leaf: cautions.view(leaf.study),
    ),
    Section(
        "leak-test",
        "Leak test",
        "How {} is tested for leaks, every joint, and what the recorded tests show.",
        lambda leaf: leak_test.view(leaf.study, leaf.around.changed),
    ),
    Section(
        "upkeep",
        "Upkeep",
        "What has to be looked after on {}, and when.",
        lambda leaf: upkeep.view(leaf.study, leaf.around.address),
    ),
    Section(
        "referral",
        "Who decides",
        "Which rules apply to {}, what they ask, and who decides.",
        lambda leaf: referral.view(leaf.study),
    ),
    Section(
        "log",
        "Build log",
        "How {} was built, day by day.",
        lambda leaf: log.view(leaf.study, leaf.here, leaf.link, leaf.around.judge),
    ),
    Section(
        "photos",
        "Photos",
        "Photos of {} by place and date.",
        lambda leaf: gallery.view(
            leaf.pictures, tuple(photos.of_log(leaf.around.album, leaf.here, leaf.link, leaf.around.judge))
        ),
        lambda study, around: bool(around.album),
    ),
)
"""The pages that a build's menu leads to, in its order."""

DOOR = "door-sheet"
"""What to do in an emergency; every page leads to it."""

SHEETS = (
    Section(
        "test-sheet",
        "Test day",
        "The sheet for the test day of {}, to print and fill in.",
        lambda leaf: test_sheet.view(leaf.study),
    ),
    Section(
        DOOR,
        "Gas: what to do",
        "What to do about a smell of gas or a carbon monoxide alarm at {}, and which valves to shut.",
        lambda leaf: door_sheet.view(leaf.study, leaf.pictures),
    ),
    Section(
        "shopping-list",
        "Shopping list",
        "What to buy for {}, with prices where they are known.",
        lambda leaf: shopping.view(leaf.study),
    ),
    Section(
        "true-size",
        "Parts at true size",
        "The parts and threads of {} at their true size, to print and hold parts against.",
        lambda leaf: true_size.view(leaf.study),
    ),
    Section(
        "labels",
        "Labels for the valves",
        "Labels for the valves of {}, to print.",
        lambda leaf: door_sheet.labels(leaf.study),
    ),
)
"""Pages of one sheet to print and fill in; the pages they belong to lead to them, the menu does not."""

WHOLE = Section(
    "whole",
    "Whole record",
    "Everything about {} on one page.",
    lambda leaf: {"spec_path": leaf.study.build.path},
)
"""The pages of a build one after another, to print; the overview leads to it."""

APPENDIX = (
    Section(
        "least-cost",
        "Least cost",
        "The least cost of the tubing of {}, for review only.",
        lambda leaf: shopping.least_cost_view(leaf.study),
    ),
)
"""Pages for review only, which nothing is built from; the menu does not lead to them."""


def uri(slug: str, section: str) -> str:
    """Where a build's section is among the site's sources."""
    return f"{slug}/{section}.md"


def menu(study: Study, around: Around) -> Iterator[Section]:
    """The pages of a build that its menu leads to."""
    return (section for section in SECTIONS if section.present(study, around))
