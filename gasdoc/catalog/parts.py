"""The catalogue of parts that join, branch, shut and close lines, and a project's own parts in the same form.

A family in the file becomes one part a size. Everything that is wrong with a project's file is collected as Problems with
line and column; a family with a problem is left out, the rest is used.
"""

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from functools import cached_property, lru_cache
from typing import Annotated, Any, Self

from msgspec import Meta, Struct, field
from pydantic_core import ValidationError

from gasdoc.catalog.rows import Confirmed, read
from gasdoc.data import DataError, Entry, Some
from gasdoc.engineering.constants import PSI
from gasdoc.engineering.materials.ends import CYLINDERS, End, EndError, bore
from gasdoc.engineering.materials.joints import Part
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.kept import kept_result
from gasdoc.quantities import Known, Pascal
from gasdoc.scalars import HeldTo, Quantity, Text, YesNo, choice, count, problem
from gasdoc.source import CONFIRMED, Citation, Document, Severity
from gasdoc.units import Given
from gasdoc.validation import translated, validator
from gasdoc.words import with_article

SHAPES = (
    "nipple",
    "coupling",
    "bushing",
    "elbow",
    "elbow-45",
    "union",
    "bulkhead",
    "half-union",
    "swivel",
    "flare-nut",
    "adapter",
    "tee",
    "manifold",
    "valve",
    "cap",
    "plug",
    "tap",
    "termination",
    "pigtail",
    "connector",
    "hose",
    "stub",
)
USES = ("fitting", "pigtail", "manifold", "branch", "valve", "connector", "closure", "test", "termination")
LETTERS = "abc"

ENDS = {
    **dict.fromkeys(("cap", "plug", "tap"), 1),
    **dict.fromkeys(
        ("nipple", "coupling", "bushing", "elbow", "elbow-45", "union", "bulkhead", "half-union", "swivel", "adapter"),
        2,
    ),
    **dict.fromkeys(("valve", "pigtail", "connector", "hose", "stub"), 2),
    "tee": 3,
}
"""How many ends a part of a shape has; a manifold has as many as its ways."""

OPEN_TO_VIEW = frozenset({"flare", "flare-37", "inverted-flare", "compression", "cutting-ring", "hose", "csst"})
"""Kinds of ends whose joints are never hidden."""

AT_CONTAINER: Annotated[
    Pascal,
    Known(
        "rating of parts at container pressure: 250 psi",
        "A Canadian training series for gas technicians on CSA B149.1, for pipe and tubing at container pressure",
        "once",
    ),
] = 250 * PSI
"""What sits at container pressure is rated for it, or is not listed as such. Propane has it at about 53 degC (127 degF)."""

_RINGS = frozenset({"cutting-ring", "steel-tube"})
"""Kinds of ends of the system that no merchant takes for granted: it is offered to a build that states it."""

_APART = (
    (_RINGS, frozenset({"compression", "tube"})),
    (frozenset({"npt"}), frozenset({"bspt", "bspp", "bspp-nut"})),
)
"""Kinds of ends of systems that do not mix."""

_AT_CONTAINER = frozenset({*CYLINDERS, "inverted-flare"})

_ID = re.compile(r"[a-z0-9][a-z0-9-]*")
_LETTER = re.compile(r"\{([^{}]*)\}")


def _id(value: str) -> str:
    if _ID.fullmatch(value) is None:
        raise problem("part", f"'{value[:60]}' is no id", "use small letters, digits and hyphens")
    return value


class Shared(Entry, frozen=True):
    """A source that several families name."""

    text: str
    confirmed: Confirmed


class Family(Entry, frozen=True, kw_only=True, dict=True):
    """Parts that differ in size only; the head of parts.yaml explains the keys. `rating` in Pa gauge."""

    id: Annotated[str, HeldTo(_id), Meta(description="The family's id, in small letters, digits and hyphens.")]
    name: Annotated[Text, Meta(description="What it is called, with {a}, {b} and {c} for its sizes.")]
    shape: Annotated[str, choice(*SHAPES), Meta(description=f"One of {', '.join(SHAPES)}.")]
    use: Annotated[str, choice(*USES), Meta(description=f"One of {', '.join(USES)}.")]
    ends: Annotated[Some[str], Meta(description='Its connections, as in ["{a} MNPT", "{a} male flare"].')]
    sizes: Annotated[
        Some[str], Meta(description="One text a size. '3/4 x 1/2' gives {a} and {b}. Left out for one part.")
    ] = ("",)
    rating: Annotated[
        Annotated[Given, Quantity(("pressure",), above=True)] | None,
        Meta(description="The highest gauge pressure it stands. Left out where that is not known."),
    ] = None
    container_side: Annotated[YesNo, Meta(description="Yes if it may sit at container pressure.")]
    concealed: Annotated[YesNo, Meta(description="Yes if it may sit where nobody can see or reach it.")]
    taps: Annotated[YesNo, Meta(description="Yes for a manifold each way of which can be shut off by itself.")] = False
    unions: Annotated[int, count(0, 2), Meta(description="How many nuts of its own seal on an adapter.")] = 0
    practice: Annotated[
        tuple[Text, ...], Meta(description="Where it is sold, as in [european]. If left out, everywhere.")
    ] = ()
    source: Annotated[str, Meta(description="Where its ends and rating come from, or the name of one of 'sources'.")]
    confirmed: Annotated[
        Confirmed | None, Meta(description="How well that is confirmed, where the source is no name of 'sources'.")
    ] = None
    builds: Annotated[
        tuple[Annotated[str, HeldTo(_id)], ...],
        Meta(description="The builds it is for, by the names of their specs without '.md'. If left out, all."),
    ] = ()

    def _checked(self) -> None:
        for part in self.parts:
            self._hold(part)

    def _hold(self, part: Part) -> None:
        """Raise the problem with what no part of its kind can be."""
        kinds = {end.kind for end in part.ends}
        whole = part.use == "test" and part.shape == "tee"  # a test point is a tee with its tap
        number = 2 if part.use == "fitting" or (whole and len(part.ends) == 2) else ENDS.get(part.shape, len(part.ends))
        if len(part.ends) != number:
            what = "what joins two ends" if part.use == "fitting" else with_article(part.shape)
            message = f"{what} has {number} end{'s' if number > 1 else ''}, and here are {len(part.ends)}"
            raise problem("part", message, "write one for each opening, the inlet first", at=("ends",))
        if part.shape == "bushing" and not (bore(part.ends[0]) or 0.0) > (bore(part.ends[1]) or 0.0):
            raise problem("part", "a bushing is larger outside than inside", "write its male end first", at=("ends",))
        if part.concealed and (part.shape in ("union", "bushing", "flare-nut") or kinds & OPEN_TO_VIEW):
            message = "a union, a bushing, a flare, a compression or a corrugated fitting is never hidden"
            raise problem("part", message, "write 'concealed: no'", at=("concealed",))
        if part.container_side and (kinds & {"compression", "cutting-ring"} or part.shape == "bushing"):
            message = "a bushing or a compression fitting never sits at container pressure"
            raise problem("part", message, "write 'container_side: no'", at=("container_side",))
        if part.container_side and (part.rating is None or part.rating < AT_CONTAINER * (1 - 1e-9)):
            message = "what sits at container pressure is rated for 250 psi (17.2 bar) or more"
            raise problem("part", message, "write its rating, or 'container_side: no'", at=("container_side",))

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """One part a size. Raises the problem with a size or an end."""
        return tuple(self._part(i, size) for i, size in enumerate(self.sizes))

    def _part(self, place: int, size: str) -> Part:
        values = dict(zip(LETTERS, size.split(" x "), strict=False))
        try:
            name, *written = (_filled(text, values) for text in (self.name, *self.ends))
        except KeyError:
            hint = "'3/4 x 1/2' gives {a} and {b}. Every letter used in name and ends needs a value"
            message = f"size '{size[:60]}' does not fill the name and the ends"
            raise problem("part", message, hint, at=("sizes", place)) from None
        rating = None if self.rating is None else float(self.rating)
        ends = []
        for k, text in enumerate(written):
            try:
                end = parse_end(text, "female")
            except EndError as error:
                raise problem("part", error.message[:300], error.hint, at=("ends", k)) from None
            ends.append(_rated(end, rating))
        return Part(
            f"{self.id}:{size}" if size else self.id,
            name,
            self.shape,
            self.use,
            tuple(ends),
            rating,
            self.container_side,
            self.concealed,
            self.taps,
            self.unions,
        )


@lru_cache(maxsize=4096)
def _rated(end: End, rating: float | None) -> End:
    """An end with the rating of its part. The same ends are one value, so that a search tells them by that."""
    return End(end.kind, end.size, end.gender, rating, end.hand)


class PartsFile(Entry, frozen=True, kw_only=True):
    """A file of parts: shared sources by name, and families."""

    sources: dict[str, Shared] = field(default_factory=dict)
    parts: tuple[Family, ...]

    def cited(self, family: Family) -> Citation | None:
        """A shared source by its name, or a text of the family's own with `confirmed` beside it; None for neither."""
        if family.confirmed is not None:
            return Citation(family.source, family.confirmed)
        shared = self.sources.get(family.source)
        return None if shared is None else Citation(shared.text, shared.confirmed)


class Catalogue(Struct, frozen=True):
    """Parts in the order they are listed, which is the order of last resort between equally good chains, and the source
    of each by its id."""

    parts: tuple[Part, ...]
    sources: Mapping[str, Citation]
    only: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """The builds that a part is for, by its id, where it is not for all."""
    practice: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Where a part is sold, by its id, where that is not everywhere."""

    def __hash__(self) -> int:  # so that what is worked out from a catalogue can be kept by it
        return hash(tuple(part.id for part in self.parts))

    def of_build(self, slug: str) -> Self:
        """What of it is for one build."""
        parts = tuple(part for part in self.parts if slug in self.only.get(part.id, (slug,)))
        return type(self)(parts, self.sources, practice=self.practice)

    def sold_in(self, rows: tuple[str, ...]) -> Self:
        """What of it is sold in a region, by what is usual there."""
        parts = tuple(p for p in self.parts if not {*rows}.isdisjoint(self.practice.get(p.id, rows)))
        return type(self)(parts, self.sources)

    def closed_by(self, kinds: AbstractSet[str]) -> Self:
        """What of it goes with these kinds of ends. Of two systems that do not mix, olives and cutting rings, NPT and the
        British pipe threads, only the one that is met; where both are, all of it. Where neither is, cutting rings stay out."""
        foreign = [
            other
            for one, two in _APART
            for own, other in ((one, two), (two, one))
            if not other & kinds and (own & kinds or other is _RINGS)
        ]
        parts = self.parts
        for other in foreign:
            parts = tuple(part for part in parts if not _of_system(part, other))
        return self if len(parts) == len(self.parts) else type(self)(parts, self.sources)

    def of_use(self, *uses: str) -> tuple[Part, ...]:
        """The parts of these uses, in order: `of_use("fitting")` are those that may join two ends."""
        return tuple(part for part in self.parts if part.use in uses)

    def part(self, part_id: str) -> Part:
        """The part of that id. Raises KeyError with the nearest one."""
        for part in self.parts:
            if part.id == part_id:
                return part
        near = difflib.get_close_matches(part_id, [part.id for part in self.parts], n=1)
        raise KeyError(f"no part '{part_id}'" + (f", did you mean '{near[0]}'?" if near else ""))


@kept_result
def catalogue() -> Catalogue:
    """The parts that ship with gasdoc. Raises DataError if its own file has a problem."""
    document = Document("parts.yaml")
    shipped = read("parts.yaml", PartsFile)
    found = _listed(shipped, range(len(shipped.parts)), document)
    if document.problems:
        raise DataError("; ".join(str(problem) for problem in document.problems))
    return found


@lru_cache(maxsize=8)
def with_own(own: Catalogue) -> Catalogue:
    """The parts that ship with gasdoc and a project's own; of the same id the project's own part counts, in the place
    of the listed one; new ones come last."""
    replaced = {part.id: part for part in own.parts}
    listed = catalogue()
    parts = [replaced.pop(part.id, part) for part in listed.parts]
    practice = {**{id_: rows for id_, rows in listed.practice.items() if id_ not in own.sources}, **own.practice}
    return Catalogue((*parts, *replaced.values()), {**listed.sources, **own.sources}, practice=practice)


def read_parts(document: Document) -> Catalogue:
    """The parts of a project's file, as `source.read_yaml` gives it; what is wrong with it is added to the document's
    problems."""
    written = document.data
    if written is None:
        return Catalogue((), {})
    wrong: set[tuple[str | int, ...]] = set()
    model = validator("parts", PartsFile)
    try:
        found = model.validate_python(written)
    except ValidationError as error:
        document.problems += translated(error, document, PartsFile)
        wrong = {detail["loc"][:2] for detail in error.errors(include_url=False)}
        if not isinstance(written, dict) or wrong & {("parts",), ("sources",)}:
            return Catalogue((), {})
        sources = {name: row for name, row in (written.get("sources") or {}).items() if ("sources", name) not in wrong}
        rows = [row for i, row in enumerate(written["parts"]) if ("parts", i) not in wrong]
        found = model.validate_python({"sources": sources, "parts": rows})
    places = [i for i in range(len(written["parts"])) if ("parts", i) not in wrong]
    return _listed(found, places, document)


def _listed(found: PartsFile, places: Sequence[int], document: Document) -> Catalogue:
    """The parts of all families, which stand at `places` of the file; one without a source, or listed before, is a problem
    and is left out."""
    parts: dict[str, Part] = {}
    sources: dict[str, Citation] = {}
    only: dict[str, tuple[str, ...]] = {}
    practice: dict[str, tuple[str, ...]] = {}
    for i, family in zip(places, found.parts, strict=True):
        source = found.cited(family)
        if source is None:
            message = f"how well is '{family.source[:60]}' confirmed?"
            hint = f"name one of 'sources', or add 'confirmed': {', '.join(CONFIRMED)}"
            document.problem(("parts", i, "source"), Severity.ERROR, message, hint, "part", value=True)
            continue
        for part in family.parts:
            if part.id in parts:
                message = f"part '{part.id}' is listed twice"
                document.problem(("parts", i, "id"), Severity.ERROR, message, "give the family another id", "part")
                continue
            parts[part.id], sources[part.id] = part, source
            if family.builds:
                only[part.id] = family.builds
            if family.practice:
                practice[part.id] = family.practice
    return Catalogue(tuple(parts.values()), sources, only, practice)


def scopes(written: dict[str, Any]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """The builds that the families of a file name, each with its place in it."""
    for i, row in enumerate(written["parts"]):
        names = row.get("builds") if isinstance(row, dict) else None
        for k, name in enumerate(names if isinstance(names, list) else ()):
            yield ("parts", i, "builds", k), str(name)


def _of_system(part: Part, kinds: AbstractSet[str]) -> bool:
    """Whether a part has an end of a system or is nothing but a piece of its tube; what goes onto a container is of none, nor
    is a left-hand nut."""
    own = {end.kind for end in part.ends if end.hand == "right"}
    if not own or any(end.kind in _AT_CONTAINER for end in part.ends):
        return False
    return bool(own & (kinds - {"tube"})) or (own <= kinds and part.ends[0].size.endswith("mm"))


def _filled(text: str, values: Mapping[str, str]) -> str:
    """The text with {a}, {b} and {c} replaced by their values, and nothing else done. Raises KeyError for one without."""
    return _LETTER.sub(lambda match: values[match[1]], text)
