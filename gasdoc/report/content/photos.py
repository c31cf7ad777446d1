"""The photos of a build as its pages show them: their sizes, what they are of, and where that stands."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping

from msgspec import Struct

from gasdoc.build.links import path_of
from gasdoc.build.log import LogEntry
from gasdoc.build.photos import Kind, Pictured, may_show, pictured
from gasdoc.folder.linked import Judge, LinkVerdict
from gasdoc.report.content.links import Link
from gasdoc.report.content.words import first_upper
from gasdoc.study import Study

_SMALL = 640
"""Pixels that a browser without choice of copies gets at least."""

_PAGES = {
    "container": "container",
    "element": "supply",
    "appliance": "supply",
    "joint": "leak-test",
    "test": "leak-test",
}
"""The page on which a thing has its photos."""


class Picture(Struct, frozen=True):
    """A photo as a page shows it. `of` says in words what it is of, `numbers` which joints that has; `alt` what it shows,
    empty where nobody says. `large` is the link of the largest copy, `belongs` that of the place where the thing itself
    stands; `width` and `height` are none for a drawing that does not say."""

    anchor: str
    of: str
    alt: str
    date: dt.date | None
    place: str
    src: str
    large: str
    srcset: str
    width: int | None
    height: int | None
    belongs: str = ""
    numbers: tuple[int, ...] = ()


class Album(Struct, frozen=True):
    """All that a build has of photos: those that its spec names, each with what it is of in words and the joints of that,
    and those of its log with the entries they stand in."""

    named: tuple[tuple[Pictured, str, tuple[int, ...]], ...]
    logged: tuple[tuple[str, str, LogEntry], ...]

    def __bool__(self) -> bool:
        return bool(self.named or self.logged)


def album(study: Study, judge: Judge) -> Album:
    """The photos of a build that are there and may be shown."""
    build = study.build
    named = [one for one in pictured(build) if may_show(build, one.photo) and _leads(judge, one.photo.file)]
    logged = tuple(
        (link.target, (link.words or "").strip(), entry)
        for entry in build.log.entries
        for link in entry.links
        if link.picture and _leads(judge, link.target)
    )
    if not named:
        return Album((), logged)
    numbers: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    words = {("cover", ""): build.spec.title, ("container", ""): "Container"}
    for joint in study.leak_test.joints:
        kind: Kind = "container" if joint.element == "container" else "element"
        numbers[kind, "" if kind == "container" else joint.element].append(joint.number)
        numbers["joint", joint.id].append(joint.number)
        words["joint", joint.id] = joint.text
    words |= {("test", str(number)): f"Test of {test.date}" for number, test in enumerate(build.spec.tests, 1)}
    words |= {(kind, name): called for name, called in build.labels.items() for kind in ("element", "appliance")}
    return Album(
        tuple(
            (one, _of(one, words.get((one.kind, one.of), one.of)), tuple(numbers[one.kind, one.of])) for one in named
        ),
        logged,
    )


def _of(one: Pictured, called: str) -> str:
    return f"Plate of {called[:1].lower()}{called[1:]}" if one.photo.plate else first_upper(called)


def _leads(judge: Judge, target: str) -> LinkVerdict | None:
    """What a picture's path leads to; None where that is nothing."""
    path = path_of(target)
    found = judge(path) if path is not None else None
    return found if found is not None and found.leads is not None else None


def pictures(made: Album, here: str, link: Link, judge: Judge) -> dict[str, list[Picture]]:
    """The photos that a spec names as one page shows them, by what they are of: "cover", "container", "element heater-tee"."""
    found: dict[str, list[Picture]] = {}
    for one, words, numbers in made.named:
        key = f"{one.kind} {one.of}".strip()
        those = found.setdefault(key, [])
        anchor = "-".join(("photo", *key.split(), str(len(those) + 1)))
        page = _PAGES.get(one.kind)
        belongs = link(here, f"{here.partition('/')[0]}/{page}.md#{anchor}") if page is not None else ""
        photo = one.photo
        those.append(
            Picture(
                *(anchor, words, photo.alt or "", one.date, one.place),
                *_copies(here, link, _leads(judge, photo.file)),
                *(belongs, numbers),
            )
        )
    return found


def of_kinds(found: Mapping[str, list[Picture]], *kinds: Kind) -> list[Picture]:
    """The photos of some kinds of things, in the order in which gas flows."""
    return [picture for key, those in found.items() if key.partition(" ")[0] in kinds for picture in those]


def of_log(made: Album, here: str, link: Link, judge: Judge) -> Iterator[Picture]:
    """The pictures of a build's log as one page shows them: each once, with the entry that shows it first, and none that the
    spec names besides."""
    slug, seen = here.partition("/")[0], {path_of(one.photo.file) for one, _, _ in made.named}
    for number, (target, words, entry) in enumerate(made.logged, 1):
        if path_of(target) not in seen:
            seen.add(path_of(target))
            belongs = link(here, f"{slug}/log.md#{entry.anchor}")
            copies = _copies(here, link, _leads(judge, target))
            yield Picture(f"photo-log-{number}", "", words, entry.date, "", *copies, belongs)


def _copies(here: str, link: Link, found: LinkVerdict | None) -> tuple[str, str, str, int | None, int | None]:
    """The links of the small and the large picture and of all copies, width and height."""
    assert found is not None
    assert found.leads is not None
    copies = [(link(here, copy.place), copy.width) for copy in found.copies]
    large = link(here, found.leads)
    small = next((place for place, width in copies if width >= _SMALL), large)
    size = found.size
    return (
        small,
        large,
        ", ".join(f"{place} {width}w" for place, width in copies),
        size.width if size is not None else None,
        size.height if size is not None else None,
    )


def cover(made: Album, here: str, link: Link, judge: Judge) -> Picture | None:
    """The picture that a build is shown with."""
    covers = tuple(one for one in made.named if one[0].kind == "cover")
    return next(iter(pictures(Album(covers, ()), here, link, judge).get("cover", [])), None)


def preview(made: Album, judge: Judge) -> str | None:
    """The place of the copy of the cover that other sites show beside a link: they take no drawings."""
    found = [_leads(judge, one.photo.file) for one, _, _ in made.named if one.kind == "cover"]
    return next((verdict.copies[-1].place for verdict in found if verdict is not None and verdict.copies), None)
