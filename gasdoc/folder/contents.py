"""What lies in the folder of specs: specs, pages of the project's own, known companions, and what is none of these.

Nothing disappears: what is not taken is told, with its place. Check, site and server all ask here.
"""

from __future__ import annotations

import os
import re
import stat
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from gasdoc.build.supply import slug
from gasdoc.machine import inside
from gasdoc.source import MAX_BYTES, Problem, Severity
from gasdoc.study.materials.own_files import PARTS, PRICES

RESERVED = frozenset({"404", "css", "img", "index", "js", "measuring-sheet", "readme", "reference", "schema", "search"})
"""Names that pages and folders of the whole site have."""

_MARKDOWN = (".md", ".markdown", ".mdown", ".mkd", ".mkdn", ".mdwn")
_DATA = (".yaml", ".yml", ".json")
_FRONT = re.compile(r"\A---[^\S\n]*\n(?P<head>(?:(?!---).*\n)*?)---[^\S\n]*(?:\n|\Z)")
_PAGE = re.compile(r"^page:[^\S\n]*(?:yes|true)[^\S\n]*(?:#.*)?$", re.MULTILINE | re.IGNORECASE)
_TITLE = re.compile(r"^title:[^\S\n]*(?P<quote>[\"']?)(?P<title>.*?\S)(?P=quote)[^\S\n]*(?:[ \t]#.*)?$", re.MULTILINE)
_KEY = re.compile(r"^[^\S\n]*(?:[\"'](\w+)[\"']|(\w+))[^\S\n]*:(?:\s|$)", re.MULTILINE)
_KEYS = frozenset({"format", "container", "regulator", "supply"})
"""Keys by which a text is known for a spec, whatever its file is called."""

_LEAST_KEYS = 2  # one of those words and a colon may stand in any text
_KINDS = {stat.S_ISFIFO: "a pipe", stat.S_ISSOCK: "a socket", stat.S_ISCHR: "a device", stat.S_ISBLK: "a device"}


class Contents(Struct, frozen=True):
    """A folder of specs, sorted.

    `specs` have pages of their own on a site, whether they can be read or not; `twins` are specs whose place on the site is
    taken. `pages` and `refused` are paths from the folder, with slashes: the project's own pages, and what cannot be taken.
    """

    specs: tuple[Path, ...]
    twins: tuple[Path, ...]
    pages: frozenset[str]
    refused: frozenset[str]
    problems: tuple[Problem, ...]


def contents(folder: Path, shown: Path | None = None) -> Contents:
    """What lies in `folder`; `shown` is how messages name it. Raises OSError where the folder itself cannot be read."""
    found = _Found(folder, shown if shown is not None else folder)
    for path in sorted(folder.iterdir(), key=lambda path: os.fsencode(path.name)):
        if not _left_alone(path.name):
            found.at_top(path)
    found.places()
    found.titles()
    problems = [*found.problems, *repository_problems(folder, shown)]
    return Contents(
        tuple(found.specs),
        tuple(found.twins),
        frozenset(found.pages),
        frozenset(found.refused),
        tuple(sorted(problems, key=lambda problem: problem.order)),
    )


def spec_files(folder: Path) -> tuple[Path, ...]:
    """The specs of a folder, sorted by name, those whose place on the site is taken among them."""
    names = sorted(folder.glob("*.md"), key=lambda path: os.fsencode(path.name))
    return tuple(path for path in names if not _left_alone(path.name) and path.is_file() and not is_page(path))


def is_page(path: Path) -> bool:
    """Whether a Markdown file says in its head that it is a page, and has nothing of a spec."""
    return says_page(_text(path))


def says_page(text: str) -> bool:
    """The same of its text."""
    front = _FRONT.match(text)
    return front is not None and bool(_PAGE.search(front["head"])) and not _spec_keys(front["head"])


def _left_alone(name: str) -> bool:
    """Whether a name is that of a hidden file or of an editor's copy."""
    return name.startswith(".") or name.endswith("~")


def _text(path: Path) -> str:
    """The beginning of a file as text, as much as a spec may have; empty where it cannot be read."""
    try:
        raw = inside.read(path, path.parent, MAX_BYTES)
    except OSError:
        return ""
    return raw.decode("utf-8-sig", "replace").replace("\r\n", "\n").replace("\r", "\n")


def _spec_keys(text: str) -> dict[str, int]:
    """The keys of a spec that begin lines of a text, in small letters, each with the line it first stands in."""
    found: dict[str, int] = {}
    for key in _KEY.finditer(text):
        word = (key[1] or key[2]).lower()
        if word in _KEYS and word not in found:
            found[word] = text.count("\n", 0, key.start(key.lastindex or 0)) + 1
    return found


class _Found:
    """What has been found so far."""

    def __init__(self, folder: Path, shown: Path) -> None:
        self.folder = folder
        self.shown = shown
        self.specs: list[Path] = []
        self.twins: list[Path] = []
        self.pages: set[str] = set()
        self.refused: set[str] = set()
        self.problems: list[Problem] = []

    def tell(
        self, path: Path, message: str, hint: str, code: str, line: int = 1, severity: Severity = Severity.ERROR
    ) -> None:
        """Say what is wrong with a file."""
        shown = str(self.shown / path.relative_to(self.folder))
        self.problems.append(Problem(shown, line, 1, severity, message, hint, code))

    def refuse(self, path: Path, message: str, hint: str, code: str, line: int = 1) -> None:
        """The same of one that no site can have."""
        self.refused.add(path.relative_to(self.folder).as_posix())
        self.tell(path, message, hint, code, line)

    def at_top(self, path: Path) -> None:
        """Put what lies directly in the folder where it belongs."""
        if path.is_dir():
            if path.suffix.lower() in _MARKDOWN:
                self.refuse(
                    path, "this is a folder with the name of a spec", "give it a name without .md", "folder-kind"
                )
            if path.is_symlink():
                self.link(path)
            else:
                self.below(path)
        elif path.name not in (PARTS, PRICES) and self.ordinary(path):  # those two are told by who reads them
            self.file(path)

    def file(self, path: Path) -> None:
        """A file directly in the folder that is no companion."""
        ending = path.suffix.lower()
        if path.suffix == ".md":
            if is_page(path):
                self.pages.add(path.name)
            else:
                self.specs.append(path)
        elif ending in _MARKDOWN:
            self.refuse(path, f"its name ends in {path.suffix}, so it is not read", "let it end in .md", "folder-name")
        elif ending in _DATA:
            self.refuse(
                path,
                "it is not read",
                f"the files beside specs are called {PARTS} and {PRICES}. A spec is a .md file",
                "folder-name",
                self.line_of_spec(path) or 1,
            )
        elif line := self.line_of_spec(path):
            self.refuse(path, "it has keys of a spec and is not read", "let its name end in .md", "folder-name", line)
        else:
            self.tell(
                path,
                "it is no spec, no page and no companion",
                "put pictures and other files into a folder, as in my-hut/board.jpg",
                "folder-stray",
                severity=Severity.WARNING,
            )

    def line_of_spec(self, path: Path) -> int | None:
        """The line of the first key of a spec in a file that has several; None where it does not look like a spec."""
        keys = _spec_keys(_text(path))
        return min(keys.values()) if len(keys) >= _LEAST_KEYS else None

    def below(self, folder: Path) -> None:
        """Look for texts in a folder of pictures, where no spec is read, and for names that no address can have."""
        for place, folders, names in os.walk(folder):
            folders[:] = sorted(name for name in folders if not _left_alone(name))
            for name in folders:
                if Path(place, name).is_symlink():
                    self.link(Path(place, name))
            for name in sorted(names):
                path = Path(place, name)
                if _left_alone(name) or not self.ordinary(path):
                    continue
                if path.suffix.lower() in _MARKDOWN:
                    self.text_below(path)

    def link(self, path: Path) -> None:
        """A link to a folder: what it leads to may be anything, and have no end."""
        self.tell(
            path,
            "it is a link to a folder, and links are not followed",
            "put the folder itself there",
            "folder-link",
            severity=Severity.WARNING,
        )

    def text_below(self, path: Path) -> None:
        """A Markdown file in a folder."""
        if is_page(path):
            self.pages.add(path.relative_to(self.folder).as_posix())
        elif line := self.line_of_spec(path):
            self.refuse(
                path, "specs in folders are not read", f"put it directly into {self.shown}", "folder-name", line
            )
        else:
            self.tell(
                path,
                "it is not read",
                "begin a page with the lines '---', 'page: yes', '---'",
                "folder-stray",
                severity=Severity.WARNING,
            )

    def ordinary(self, path: Path) -> bool:
        """Whether a name is text and means a file with contents; told if not."""
        try:
            path.name.encode()
        except UnicodeEncodeError:
            self.refuse(path, "its name is not UTF-8", "give it another name", "folder-name")
            return False
        try:
            mode = path.stat().st_mode
        except OSError as error:
            reason = (error.strerror or "cannot be read").lower()
            self.refuse(path, f"it cannot be read: {reason}", "mend it or take it away", "file-read")
            return False
        # What a page links is told at the link.
        if path.suffix.lower() in _MARKDOWN and inside.leaves(path, self.folder):
            self.refuse(
                path, "it is a link to a file outside the project", "copy the file to where the link is", "file-link"
            )
            return False
        if not stat.S_ISREG(mode):
            what = next((word for test, word in _KINDS.items() if test(mode)), "no ordinary file")
            self.refuse(path, f"this is {what}", "take it away", "folder-kind")
            return False
        return True

    def places(self) -> None:
        """Tell of specs and pages that want one place on the site. The one whose name is its address keeps it."""
        wanted: dict[str, list[Path]] = {}
        for path in self.specs:
            wanted.setdefault(slug(path.stem), []).append(path)
        for name in sorted(self.pages):
            path = self.folder / name
            if "/" not in name:
                wanted.setdefault(unicodedata.normalize("NFC", path.stem).casefold(), []).append(path)
        for place, paths in wanted.items():
            first = None if place in RESERVED else min(paths, key=lambda path: (path.stem != place, path.name))
            for path in paths:
                if path == first:
                    continue
                owner = f"'{first.name}'" if first is not None else "a page of the site itself"
                self.tell(
                    path,
                    f"its address on the site would be '{place}', which is that of {owner}",
                    "give it another name" if first is None else f"rename it or '{first.name}'",
                    "folder-clash",
                )
                self.left_out(path)
        self.folders_of_builds({slug(path.stem): path for path in self.specs})

    def titles(self) -> None:
        """Tell of specs with one title: a list of builds then has two lines that read alike."""
        first: dict[str, Path] = {}
        for path in self.specs:
            text = _text(path)
            front = _FRONT.match(text)
            title = _TITLE.search(text, 0, front.end("head")) if front is not None else None
            if title is None:
                continue
            owner = first.setdefault(" ".join(title["title"].casefold().split()), path)
            if owner != path:
                line = text.count("\n", 0, title.start()) + 1
                message = f"'{title['title'][:60]}' is the title of '{owner.name}', too"
                hint = "give each build a title of its own: lists and sheets name a build by it"
                self.tell(path, message, hint, "folder-title", line, Severity.NOTE)

    def left_out(self, path: Path) -> None:
        """Take a spec or a page out of the site."""
        if path in self.specs:
            self.specs.remove(path)
            self.twins.append(path)
        else:
            self.pages.remove(path.name)
        self.refused.add(path.name)

    def folders_of_builds(self, builds: Mapping[str, Path]) -> None:
        """Tell of pages and files in a build's folder that would stand where gasdoc's own do."""
        for name in sorted(self.pages):
            top, mark, _ = name.partition("/")
            if mark and (top in builds or top in RESERVED):
                self.pages.remove(name)
                whose = f"the build '{builds[top].name}'" if top in builds else "the site itself"
                self.refuse(
                    self.folder / name,
                    f"the folder '{top}' belongs to {whose} and takes no pages",
                    "put it beside the specs or into another folder",
                    "folder-clash",
                )


# --- repositories among the specs -------------------------------------------------------------------------------------
# Nobody needs one there, and one can be a trap. gasdoc asks it nothing. Other programs may.


def repository_problems(folder: Path, shown: Path | None = None) -> tuple[Problem, ...]:
    """An error for each such folder in the folder of specs, itself included; `shown` is how messages name it."""
    found = []
    for place, folders, files in os.walk(folder):
        names = {name.casefold() for name in (*folders, *files)}
        if ".git" in names or ("head" in names and ({"objects", "refs"} <= names or "commondir" in names)):
            folders.clear()  # one message is enough
            path = (shown or folder) / Path(place).relative_to(folder)
            found.append(
                Problem(
                    str(path),
                    1,
                    1,
                    Severity.ERROR,
                    "this folder is a git repository among the specs, and its configuration can name programs",
                    "take out .git, or HEAD, objects and refs",
                    "folder-repository",
                )
            )
    return tuple(sorted(found, key=lambda problem: problem.order))
