"""What the pages of a project link: whether it is there, may be published, and what is wrong with it, told at the link."""

from __future__ import annotations

import difflib
import posixpath
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import published
from gasdoc.build import logtext
from gasdoc.build.links import Written, path_of, stays, written
from gasdoc.build.log import Log
from gasdoc.build.photos import may_show, pictured
from gasdoc.build.reader import Build
from gasdoc.build.supply import slug
from gasdoc.folder.contents import is_page
from gasdoc.machine import inside
from gasdoc.source import MAX_BYTES, Problem, Severity

PAGES = (".md", ".markdown", ".mdown", ".mkd", ".mkdn")
"""Endings of pages."""


_MADE = ("upkeep.ics", "feed.xml", "schema", "css", "js", "img")
"""Files and folders at the top of a site that gasdoc makes beside those of the builds."""


class LinkVerdict(Struct, frozen=True):
    """What a link leads to: `leads` is its place among the site's sources, None where it leads to nothing. Then `why` says so
    and `remedy` what to do; `refused` where there is a file that is not published. With `leads`, `why` is a warning. A photo
    has `copies`, the smallest first; a build's pages show those, and a photo that no browser shows leaves in `copies_only`."""

    leads: str | None
    why: str = ""
    remedy: str = ""
    refused: bool = False
    page: bool = False
    size: published.PictureSize | None = None
    copies: tuple[published.Copy, ...] = ()
    copies_only: bool = False


Judge = Callable[[str], LinkVerdict]
"""The verdict on a path among the specs."""


class Linked(Struct, frozen=True):
    """What one text links: the files to publish by their paths, the links that lead nowhere, and what is wrong. A `plain` text
    is too much to format, so it is shown as it stands and links nothing."""

    files: tuple[str, ...] = ()
    dead: frozenset[str] = frozenset()
    problems: tuple[Problem, ...] = ()
    plain: bool = False

    def __add__(self, other: Linked) -> Linked:
        """What two texts link together."""
        files = tuple(dict.fromkeys((*self.files, *other.files)))
        return Linked(files, self.dead | other.dead, (*self.problems, *other.problems), self.plain or other.plain)


NO_LINKS = Linked()


def judge(docs_dir: Path, path: str) -> LinkVerdict:
    """The verdict on a path among the specs."""
    file = docs_dir / path
    try:
        if path.startswith("..") or inside.leaves(file, docs_dir):
            return _refused("leads out of the project", "copy the file into a folder beside the spec")
        missing = _missing(docs_dir, path)
        if missing is not None:
            return missing
        about = file.stat()
        return _judged(file, docs_dir, path, (about.st_mtime_ns, about.st_size, about.st_ino))
    except OSError as error:
        return _refused(f"cannot be read: {(error.strerror or 'no reason is given').lower()}", "check the file")
    except ValueError:  # no file can have such a name
        return LinkVerdict(None, "is not there", "check the path")


def _refused(why: str, remedy: str) -> LinkVerdict:
    return LinkVerdict(None, why, remedy, refused=True)


@lru_cache(maxsize=4096)  # while a site is served, and where two entries link the same file
def _judged(file: Path, docs_dir: Path, path: str, _version: tuple[int, int, int]) -> LinkVerdict:
    """The verdict on a file that is there; another version of it may get another."""
    if any(part.startswith(".") for part in path.split("/")):
        return _refused("has a name that begins with a dot", "rename it. Such files are not published")
    if path.endswith(PAGES):
        inside.read(file, docs_dir, 1)  # raises where it may not be read
        build = "/" not in path and not is_page(file)
        return LinkVerdict(f"{slug(Path(path).stem)}/index.md" if build else path, page=True)
    try:
        fit = published.judged(inside.read(file, docs_dir, published.MOST_BYTES + 1), path)
    except published.Unfit as unfit:
        return _refused(unfit.message, unfit.hint)
    why, remedy = fit.doubt or ("", "")
    if fit.kind not in ("jpg", "png", "webp", "heic") or fit.size is None:
        return LinkVerdict(path, why, remedy, size=fit.size)
    copies = published.copies(path, fit.kind, fit.content, fit.size)
    return LinkVerdict(copies[-1].place, why, remedy, size=fit.size, copies=copies, copies_only=fit.copies_only)


def _missing(docs_dir: Path, path: str) -> LinkVerdict | None:
    """Why there is no file of exactly this name; None where there is one. The name has to be the file's letter by letter:
    one computer takes capitals and letters with marks alike, and the next one does not."""
    folder = docs_dir
    parts = path.split("/")
    for number, part in enumerate(parts, 1):
        try:
            names = _names(folder, folder.stat().st_mtime_ns)
        except OSError:
            return LinkVerdict(None, "is not there", "check the path")
        if part not in names:
            like = names if number == len(parts) else [name for name in names if (folder / name).is_dir()]
            return LinkVerdict(None, *_nearest(part, like))
        folder /= part
    return LinkVerdict(None, "is a folder", "link a file in it") if folder.is_dir() else None


@lru_cache(maxsize=256)
def _names(folder: Path, _changed: int) -> frozenset[str]:
    return frozenset(entry.name for entry in folder.iterdir())


def _nearest(part: str, names: Iterable[str]) -> tuple[str, str]:
    """That a name is not there, and which one was meant."""
    same = sorted(name for name in names if _folded(name) == _folded(part))
    if same and unicodedata.normalize("NFC", same[0]) == unicodedata.normalize("NFC", part):
        return (
            f"is there as '{same[0]}', with its letters stored another way",
            "type the file's name anew, without accents, here and in the folder",
        )
    if same:
        return "is not there with these capitals", f"write '{same[0]}'"
    if "\\" in part:
        return "is not there", "write '/' between folder and file"
    near = difflib.get_close_matches(part, sorted(names)[:2000], n=1, cutoff=0.75)
    return "is not there", f"did you mean '{near[0]}'?" if near else "check the path, from the folder of the specs on"


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFD", name).casefold())


def of_log(log: Log, path: str, judge: Judge) -> Linked:
    """What a build's log links; `path` is how messages name the spec."""
    links = [*log.links, *(link for entry in log.entries for link in entry.links)]
    return _linked(links, path, "", judge, lambda path: False)


def of_photos(build: Build, judge: Judge) -> Linked:
    """What the photos link that a spec names. Those of plates are not published while numbers are masked."""
    links, kept_back = [], []
    for one in pictured(build):
        line, column = build.document.place((*one.at, "file"), value=True)
        if may_show(build, one.photo):
            links.append(Written(one.photo.file, line, column, picture=True, words=one.photo.alt or ""))
        else:
            message = f"the photo '{one.photo.file}' shows a plate, so it is not published while numbers are masked"
            hint = "write 'show_numbers: yes', or take out 'plate:' if no number can be read in it"
            kept_back.append(Problem(build.path, line, column, Severity.NOTE, message, hint, "photo-plate"))
    found = _linked(links, build.path, "", judge, lambda path: False, "add 'alt:' with what it shows")
    return replace(found, problems=(*found.problems, *kept_back))


def of_page(text: str, path: str, name: str, judge: Judge, builds: frozenset[str]) -> Linked:
    """What a page of the project's own links, whose place among the specs is `name`; `builds` are the names of the builds.

    Links to pages, and to what gasdoc makes itself, are left to the publisher, who knows them all.
    """
    if len(text) > MAX_BYTES or logtext.work(text) > logtext.MOST_WORK:
        message = "this page is too much to format, so it is shown as it stands"
        hint = (
            f"a page has at most {MAX_BYTES:,} bytes, and {logtext.MOST_WORK:,} lines, table cells, links and marks. "
            "Divide it, and take out brackets, rules and lists in lists that belong to nothing"
        )
        return Linked(problems=(Problem(path, 1, 1, Severity.WARNING, message, hint, "page-work"),), plain=True)

    def made(place: str) -> bool:
        return place.endswith(PAGES) or place.partition("/")[0] in {*builds, *_MADE}

    return _linked(written(text, 1), path, posixpath.dirname(name), lambda path: _as_it_is(judge(path)), made)


def _as_it_is(verdict: LinkVerdict) -> LinkVerdict:
    """The verdict on a file that a page of the project's own shows as it is."""
    return (
        _refused("is a HEIC picture, which browsers do not show", "save it as JPEG") if verdict.copies_only else verdict
    )


def _linked(
    links: Iterable[Written],
    path: str,
    folder: str,
    judge: Judge,
    made: Callable[[str], bool],
    describe: str = "write what it shows between the brackets, as in '![the tee, seen from below](my-hut/tee.jpg)'",
) -> Linked:
    """What `links` lead to; `describe` is what to do about a picture without words."""
    files: dict[str, None] = {}
    dead: set[str] = set()
    problems: list[Problem] = []
    for link in links:
        if stays(link.target):
            continue
        own = path_of(link.target)
        place = None if own is None else posixpath.normpath(posixpath.join(folder, own))
        verdict = _NOWHERE if place is None else judge(place)
        if verdict.leads is None and not verdict.refused and place is not None and made(place):
            continue
        if verdict.leads is None:
            dead.add(link.target)
        elif not verdict.page and place is not None:
            files[place] = None
        if verdict.why:
            problems.append(_problem(link, path, verdict))
        elif link.picture and link.words is not None and not link.words.strip():
            message = f"nothing says what the picture '{_shown(link)}' shows, so whoever cannot see it learns nothing"
            problems.append(Problem(path, link.line, link.column, Severity.NOTE, message, describe, "picture-words"))
    return Linked(tuple(files), frozenset(dead), tuple(problems))


_NOWHERE = LinkVerdict(
    None, "is no file of the project and no address", "write a path from this file on, or begin with https://"
)


def _problem(link: Written, path: str, verdict: LinkVerdict) -> Problem:
    word = "picture" if link.picture else "file"
    severity = Severity.ERROR if verdict.refused else Severity.WARNING
    code = "link-refused" if verdict.refused else "link-missing" if verdict.leads is None else "link-doubt"
    return Problem(
        path, link.line, link.column, severity, f"the {word} '{_shown(link)}' {verdict.why}", verdict.remedy, code
    )


def _shown(link: Written) -> str:
    return link.target if len(link.target) <= 80 else f"{link.target[:77]}..."


# --- files that would take the place of gasdoc's own ----------------------------------------------------------------

KEPT = (
    *("404.html", "index.html", "sitemap.xml", "sitemap.xml.gz", "feed.xml", "upkeep.ics", "search-index.js"),
    *("robots.txt", "favicon.ico"),
)
"""Files that a site has beside those of its theme, and those that browsers and search programs ask for by name."""

OF_A_BUILD = (
    "materials.csv",
    "shopping-list.csv",
    "supply-tree.svg",
    "isometric.svg",
    "plan.svg",
    "side.svg",
    "upkeep.ics",
    "feed.xml",
)
"""Files that gasdoc makes for each build, in the folder of its name."""


def replacing(docs_dir: Path, ours: Iterable[str], builds: Iterable[str]) -> dict[str, str]:
    """Each file among the specs that would take the place of one that gasdoc brings (`ours`) or makes for one of the `builds`,
    with that one's name, whatever the capitals: some computers do not tell them apart."""
    found: dict[str, str] = {}
    made = (f"{build}/{name}" for build in sorted(builds) for name in OF_A_BUILD)
    for name in (*ours, *KEPT, *made):
        places = [""]
        for part in name.split("/"):
            places = [
                posixpath.join(before, other)
                for before in places
                for other in _listed(docs_dir / before)
                if _folded(other) == _folded(part)
            ]
        found |= dict.fromkeys(sorted(places), name)
    return found


def _listed(folder: Path) -> frozenset[str]:
    try:
        return _names(folder, folder.stat().st_mtime_ns)
    except OSError:
        return frozenset()


def replaces(path: str, name: str) -> Problem:
    """That a file among the specs would take the place of one of gasdoc's."""
    return Problem(
        path,
        1,
        1,
        Severity.ERROR,
        f"this file would take the place of {name}, which gasdoc or the site's host has under that name",
        "rename it, or set 'overrides: true' for the plugin in mkdocs.yml",
        "file-replaces",
    )


# --- builds that a spec puts beside itself ----------------------------------------------------------------------------


def beside_problems(build: Build, judge: Judge) -> Iterator[Problem]:
    """What is wrong with the names under `beside:`. A build that is not there is left out of the table."""
    seen = {build.slug: "is this build itself"}
    for place, name in enumerate(build.spec.beside):
        verdict = judge(f"{name}.md")
        near = verdict.remedy.replace(".md", "") if "'" in verdict.remedy else ""
        if name in seen:
            why, remedy = seen[name], "name other builds"
        elif verdict.leads is None or not verdict.leads.endswith("/index.md"):
            why, remedy = "is no build of this folder", near or "name a spec of this folder, without '.md'"
        else:
            seen[name] = "stands here twice"
            continue
        yield build.problem(
            ("beside", place), Severity.WARNING, f"'{name}' under 'beside:' {why}", remedy, "beside-unknown"
        )
