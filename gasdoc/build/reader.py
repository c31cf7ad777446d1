"""Reading a spec: bytes -> Build, with every problem found and where it stands."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal, TypeVar, cast, get_args

from msgspec import Struct
from pydantic import ValidationError

from gasdoc import units
from gasdoc.build.checks import Complaint, check_shape, check_spec, inherited
from gasdoc.build.labels import labels
from gasdoc.build.log import Log, read_log
from gasdoc.build.model import FORMAT, Junction, Outlet, Prices, Regulator, Run, Spec, Tap, Valve
from gasdoc.build.route import Bends, bends, routed
from gasdoc.build.supply import REGULATOR, Node, flatten, slug
from gasdoc.machine import inside
from gasdoc.quantities import Aside, By
from gasdoc.regions.region import UnknownRegion, region
from gasdoc.scalars import nearest
from gasdoc.source import MAX_BYTES, Document, Problem, Severity, decode, read_yaml
from gasdoc.validation import MOST_PROBLEMS, more_problems, translated, validator

Part = TypeVar("Part", Run, Valve, Regulator, Tap, Junction, Outlet)
"""A kind of element of the supply tree."""

MOST_CHARACTERS = 250_000

Open = Literal["container", "regulator", "tubing"]
"""What a spec may leave to be chosen: the kind of container, the regulator's outlet, the material of runs."""

_FIRST_LINES = 2000
"""Where to look for front matter that does not begin in the first line (our choice)."""

_DRAFT = re.compile(r"^draft:[^\S\n]*(?:yes|true)[^\S\n]*(?:#.*)?$", re.MULTILINE | re.IGNORECASE)


class Build(Struct, frozen=True, dict=True):
    """One installation as its spec describes it: validated, with ids and places, nothing computed.

    `path` is the spec's path as the user gave it; `slug` is its file name without ending, and names its pages.
    """

    slug: str
    path: str
    spec: Annotated[Spec, By("title")]
    nodes: tuple[Node, ...]
    log: Log
    document: Document
    plan: Annotated[Build | None, Aside("the same build as its spec states it")] = None
    """The build as its spec states it, where what is open there has been filled in with a choice."""

    @cached_property
    def stated(self) -> Build:
        """The build as its spec states it."""
        return self.plan or self

    @cached_property
    def open(self) -> tuple[Open, ...]:
        """What is still to be chosen."""
        plan = self.stated
        found: dict[Open, bool] = {
            "container": plan.spec.container.type is None,
            "regulator": plan.spec.regulator.outlet is None,
            "tubing": bool(plan.open_runs),
        }
        return tuple(name for name, is_open in found.items() if is_open)

    @cached_property
    def open_runs(self) -> frozenset[str]:
        """The ids of the runs that neither state a material nor take one from upstream."""
        return frozenset(
            node.id
            for i, node in enumerate(self.nodes)
            if isinstance(node.part, Run) and inherited(self.nodes, i)[0] is None
        )

    @cached_property
    def by_id(self) -> dict[str, Node]:
        """The elements of the supply tree by id."""
        return {node.id: node for node in self.nodes}

    @cached_property
    def labels(self) -> dict[str, str]:
        """What people call the elements of the supply tree, by id."""
        return labels(self.nodes, self.first)

    def each(self, kind: type[Part]) -> Iterator[tuple[Node, Part]]:
        """Every element of one kind with what the spec says of it, in the order of the tree."""
        return ((node, node.part) for node in self.nodes if isinstance(node.part, kind))

    def bends(self, identity: str) -> Bends | None:
        """The bends of a run with the ways between them; None where its legs do not say, or its count of bends is another."""
        found = bends(self.nodes, next(i for i, node in enumerate(self.nodes) if node.id == identity))
        part = self.by_id[identity].part
        return found if found is not None and isinstance(part, Run) and len(found.angles) == part.bends else None

    @cached_property
    def first(self) -> str:
        """The id of the regulator at the container, where the tree begins."""
        return self.spec.regulator.id or REGULATOR

    @cached_property
    def zone_of(self) -> dict[str, str]:
        """The zone in which each element stands: the id of the nearest regulator before it."""
        zones: dict[str, str] = {}
        for node in self.nodes:
            before = next(self.before(node.id), None)
            feeds = before is not None and isinstance(before.part, Regulator)
            zones[node.id] = self.first if before is None else before.id if feeds else zones[before.id]
        return zones

    def before(self, identity: str) -> Iterator[Node]:
        """The elements before one, the nearest first, as far as the regulator at the container (which is none of them)."""
        at = self.by_id[identity].parent
        while at >= 0:
            yield self.nodes[at]
            at = self.nodes[at].parent

    def behind(self, identity: str) -> list[Node]:
        """All elements behind one, in the order of the tree."""
        inside = {self.nodes.index(self.by_id[identity])}
        found = []
        for i, node in enumerate(self.nodes):
            if node.parent in inside:
                inside.add(i)
                found.append(node)
        return found

    def material(self, node: Node) -> tuple[str, str | None]:
        """Material and type of a run, its own or taken from upstream."""
        material, kind = inherited(self.nodes, self.nodes.index(node))
        assert material is not None, "filled in where it was open"
        return material, kind

    def problem(self, at: Sequence[str | int], severity: Severity, message: str, hint: str, code: str) -> Problem:
        """A problem at a place of the front matter."""
        line, column = self.document.place(at)
        return Problem(self.path, line, column, severity, message, hint, code)


class Read(Struct, frozen=True, dict=True):
    """What came of reading one spec: `build` is None when it cannot be taken. `title` is the best name for it; `draft`
    whether it calls itself a draft, as far as that can be read."""

    slug: str
    path: str
    title: str
    build: Build | None
    problems: tuple[Problem, ...]
    draft: bool = False


def read_prices(
    raw: bytes, path: str, unknown: Callable[[Sequence[str]], Iterable[tuple[str, str, str]]]
) -> tuple[Prices | None, tuple[Problem, ...]]:
    """The prices in a file prices.yaml, which holds what `prices:` holds in a spec; and what is wrong with it.

    `unknown` gives of part keys those that name nothing, each with a message and a hint.
    """
    text, problems = decode(raw, path)
    if problems:
        return None, tuple(problems)
    document = read_yaml(text, path)
    if document.data is None and not document.problems:
        document.problem((), Severity.ERROR, "there are no prices in it", "begin with 'currency:'", "spec-structure")
    if document.problems:
        return None, tuple(document.problems)
    # The same words as for a spec: its reader finds the keys of a block by where it stands in one.
    for places in (document.places, document.value_places):
        inside = {("prices", *at): place for at, place in places.items()}
        places.clear()
        places.update(inside)
    try:
        found = validator("prices", dict[Literal["prices"], Prices]).validate_python({"prices": document.data})
    except ValidationError as error:
        return None, tuple(translated(error, document, Spec))
    for key, message, hint in unknown(tuple(found["prices"].items)):
        document.problem(("prices", "items", key), Severity.WARNING, message, hint, "spec-part-key")
    return found["prices"], tuple(document.problems)


def read_file(file: FilePath, shown_path: str | None = None) -> Read:
    """The spec in a file. An unreadable file is a problem, not an exception."""
    path = shown_path or str(file)
    try:
        raw = inside.read(file, file.parent, MAX_BYTES + 1)
    except OSError as error:
        return unreadable(file, path, error)
    return read_spec(raw, path, file.stem)


def unreadable(file: FilePath, path: str, error: OSError) -> Read:
    """What is read from a file that cannot be read: only why. `path` is how messages name it."""
    reason = (error.strerror or "cannot be read").lower()
    beside = [other.stem for other in file.parent.glob("*.md")]
    near = difflib.get_close_matches(file.stem, sorted(beside), n=3, cutoff=0.5) if file.stem not in beside else []
    remedy = (
        f"did you mean {' or '.join(str(file.with_name(f'{stem}.md')) for stem in near)}?" if near else "check the path"
    )
    return _failed(file.stem, path, [Problem(path, 1, 1, Severity.ERROR, reason, remedy, "file-read")])


def read_spec(raw: bytes, path: str, stem: str) -> Read:
    """The spec in `raw`; `path` is how messages name it, `stem` its file name without ending."""
    name = slug(stem)
    text, problems = decode(raw, path)
    if problems:
        return _failed(name, path, problems)
    head, body, body_line, problems = _split(text, path)
    if head is None:
        return _failed(name, path, problems)
    if len(head) > MOST_CHARACTERS:
        problem = Problem(
            path,
            1,
            1,
            Severity.ERROR,
            f"the front matter is longer than {MOST_CHARACTERS:,} characters",
            "split the build",
            "file-size",
        )
        return _failed(name, path, [problem])
    draft = _DRAFT.search(head) is not None
    document = read_yaml(head, path, first_line=2)
    if document.problems or not isinstance(document.data, dict):
        if not document.problems:
            document.problem(
                (),
                Severity.ERROR,
                "the front matter is not a block of keys",
                "begin with 'format: 1'",
                "spec-front-matter",
            )
        return _failed(name, path, document.problems, document, draft=draft)
    draft = str(document.data.get("draft")).lower() in ("yes", "true")
    build, problems = _validate(document)
    log, log_problems = read_log(body, path, body_line)
    problems += log_problems[:MOST_PROBLEMS]
    if len(log_problems) > MOST_PROBLEMS:
        problems.append(
            more_problems(
                path, len(log_problems) - MOST_PROBLEMS, log_problems[MOST_PROBLEMS].line, 1, Severity.WARNING
            )
        )
    if build is None:
        return _failed(name, path, problems, document, draft=draft)
    spec, nodes = build
    found = tuple(sorted(problems, key=lambda p: p.order))
    return Read(name, path, spec.title, Build(name, path, spec, nodes, log, document), found, spec.draft)


def _failed(
    name: str, path: str, problems: Sequence[Problem], document: Document | None = None, *, draft: bool = False
) -> Read:
    data = document.data if document is not None else None
    title = data.get("title") if isinstance(data, dict) else None
    shown = title.strip()[:80] if isinstance(title, str) and title.strip() else name
    return Read(name, path, shown, None, tuple(sorted(problems, key=lambda p: p.order)), draft)


def _split(text: str, path: str) -> tuple[str | None, str, int, list[Problem]]:
    """Front matter, body, line the body starts on."""

    def wrong(line: int, message: str, hint: str) -> tuple[None, str, int, list[Problem]]:
        return None, "", 1, [Problem(path, line, 1, Severity.ERROR, message, hint, "spec-front-matter")]

    lines = text.split("\n")
    if lines[0].rstrip() != "---":
        number = next((number for number, line in enumerate(lines, 1) if line.strip()), 1)
        if (line := lines[number - 1].strip()).strip("-") == "" and len(line) > 1 and number == 1:
            return wrong(
                1, f"the first line is '{line[:20]}', so there is no front matter", "write three hyphens: '---'"
            )
        opened = next((number for number, line in enumerate(lines[:_FIRST_LINES], 1) if line.rstrip() == "---"), None)
        if opened is not None:
            return wrong(
                opened,
                f"'---' opens the front matter only in the first line, and here it is in line {opened}",
                "take out what stands above it",
            )
        return wrong(
            1,
            "this file is neither a spec nor a page",
            "begin a spec with the lines '---' and 'format: 1', and a page with '---', 'page: yes', '---'",
        )
    for number, line in enumerate(lines[1:], 2):
        if line.rstrip() == "---":
            return "\n".join(lines[1 : number - 1]) + "\n", "\n".join(lines[number:]), number + 1, []
    return wrong(len(lines), "the front matter has no end", "close it with a line '---'")


def _validate(document: Document) -> tuple[tuple[Spec, tuple[Node, ...]] | None, list[Problem]]:
    data = {key: value for key, value in document.data.items() if not key.startswith("x-")}
    wrong_format = _check_format(data)
    if wrong_format:
        return None, [_located(document, wrong_format)]
    try:
        spec = validator("spec", Spec).validate_python(data, context={"system": _examples_in(data)})
    except ValidationError as error:
        return None, translated(error, document, Spec)
    complaints = list(check_shape(spec.supply, ("supply",)))
    nodes: tuple[Node, ...] = ()
    if not complaints:
        spec, nodes, complaints = routed(spec, flatten(spec))
        complaints += check_spec(spec, nodes)
    problems = [_located(document, complaint) for complaint in complaints]
    if any(problem.severity is Severity.ERROR for problem in problems):
        return None, problems
    return (spec, nodes), problems


def _examples_in(data: dict[str, Any]) -> units.System:
    """The units of the examples in what is said of a spec: its own, else its region's."""
    own = data.get("units")
    if own in get_args(units.System):
        return cast(units.System, own)
    try:
        return region(str(data.get("region"))).units
    except UnknownRegion:
        return "us"


def _check_format(data: dict[str, Any]) -> Complaint | None:
    if "format" not in data:
        near = next((key for key in data if nearest(key.lower(), ["format"])), None)
        if near is not None:
            return Complaint(
                (near,),
                f"unknown key '{near[:40]}', and the spec does not say its format",
                "did you mean 'format'?",
                "spec-format",
            )
        return Complaint((), "the spec does not say its format", f"add 'format: {FORMAT}' at the top", "spec-format")
    if data["format"] != str(FORMAT):
        return Complaint(
            ("format",),
            f"format '{str(data['format'])[:40]}' is not known to this version",
            f"this gasdoc reads 'format: {FORMAT}'. A newer one may read more",
            "spec-format",
        )
    return None


def _located(document: Document, complaint: Complaint) -> Problem:
    line, column = document.place(complaint.at)
    return Problem(document.path, line, column, complaint.severity, complaint.message, complaint.hint, complaint.code)
