"""The photos that a spec names, each with what it is of."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated, Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.model import Outlet, Photo, Run
from gasdoc.build.reader import Build
from gasdoc.quantities import Aside
from gasdoc.source import Path

Kind = Literal["cover", "container", "element", "appliance", "joint", "test"]
"""What a photo can be of."""


class Pictured(Struct, frozen=True):
    """A photo and what it is of: `of` is the id of the element or joint, the outlet's of an appliance, the number of a test
    counted from 1, and empty for cover and container. `place` is where that is, as stated, `date` when the photo was taken, or
    the test made; `at` is the photo's path in the front matter."""

    photo: Photo
    kind: Kind
    of: str
    place: str
    date: dt.date | None
    at: Annotated[Path, Aside("where it stands in the spec, for messages")]


def pictured(build: Build) -> Iterator[Pictured]:
    """Every photo of a spec, in the order in which gas flows; the cover first, joints and tests last."""
    spec = build.stated.spec
    if spec.cover is not None:
        yield Pictured(spec.cover, "cover", "", spec.cover.place or "", spec.cover.date, ("cover",))
    yield from _each(spec.container.photo, "container", "", "", ("container",))
    yield from _each(spec.regulator.photo, "element", build.first, "", ("regulator",))
    for node in build.stated.nodes:
        part = node.part
        place = "" if isinstance(part, Run) else getattr(part, "place", None) or ""
        yield from _each(part.photo, "element", node.id, place, node.at)
        if isinstance(part, Outlet):
            yield from _each(part.appliance.photo, "appliance", node.id, place, (*node.at, "appliance"))
    for joint, photos in spec.joint_photos.items():
        yield from _each(photos, "joint", joint, "", ("joint_photos",), joint)
    for number, test in enumerate(spec.tests):
        for one in _each(test.photo, "test", str(number + 1), "", ("tests", number)):
            yield replace(one, date=one.date or test.date)


def _each(photos: list[Photo], kind: Kind, of: str, place: str, at: Path, key: str = "photo") -> Iterator[Pictured]:
    for number, photo in enumerate(photos):
        yield Pictured(photo, kind, of, photo.place or place, photo.date, (*at, key, number))


def may_show(build: Build, photo: Photo) -> bool:
    """Whether a photo may be shown: one of a plate shows a serial number, which is masked unless the spec shows numbers."""
    return not photo.plate or build.spec.show_numbers
