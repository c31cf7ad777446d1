"""The catalogue of parts that join, branch, shut and close lines, and a project's own parts in the same form.

A family in the file becomes one part a size. Everything that is wrong with a project's file is collected as Problems with
line and column; a family with a problem is left out, the rest is used.
"""

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Annotated, Any, Self

from pydantic import AfterValidator, Field, ValidationError, model_validator

from gasdoc.catalog.rows import Confirmed, Each, Some, Sourced, read
from gasdoc.data import DataError, Entry
from gasdoc.engineering.materials.ends import EndError, parse_end
from gasdoc.engineering.materials.joints import Part
from gasdoc.scalars import Quantity, Text, YesNo, choice, count, problem
from gasdoc.source import CONFIRMED, Citation, Document, Severity
from gasdoc.units import Given
from gasdoc.validation import translated

SHAPES = (
    "nipple",
    "coupling",
    "bushing",
    "elbow",
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

_ID = re.compile(r"[a-z0-9][a-z0-9-]*")
_LETTER = re.compile(r"\{([^{}]*)\}")


def _id(value: str) -> str:
    if _ID.fullmatch(value) is None:
        raise problem("part", f"'{value[:60]}' is no id", "use small letters, digits and hyphens")
    return value


class Shared(Entry):
    """A source that several families name."""

    text: str
    confirmed: Confirmed


class Family(Entry):
    """Parts that differ in size only; the head of parts.yaml explains the keys. `rating` in Pa gauge."""

    id: Annotated[str, AfterValidator(_id)] = Field(
        description="The family's id, in small letters, digits and hyphens."
    )
    name: Text = Field(description="What it is called; {a}, {b} and {c} stand for its sizes.")
    shape: Annotated[str, choice(*SHAPES)] = Field(description=f"One of {', '.join(SHAPES)}.")
    use: Annotated[str, choice(*USES)] = Field(description=f"One of {', '.join(USES)}.")
    ends: Some[str] = Field(description='Its connections, as in ["{a} MNPT", "{a} male flare"].')
    sizes: Some[str] = ("",)
    rating: Annotated[Given, Quantity(("pressure",), above=True)] | None = None
    container_side: YesNo = Field(description="Yes if it may sit at container pressure.")
    concealed: YesNo = Field(description="Yes if it may sit where nobody can see or reach it.")
    taps: YesNo = False
    unions: Annotated[int, count(0, 2)] = 0
    source: str = Field(description="Where its ends and rating come from, or the name of one of 'sources'.")
    confirmed: Confirmed | None = None

    @model_validator(mode="after")
    def _makes_parts(self) -> Self:
        _ = self.parts
        return self

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """One part a size. Raises the problem with a size or an end."""
        return tuple(self._part(i, size) for i, size in enumerate(self.sizes))

    def _part(self, place: int, size: str) -> Part:
        values = dict(zip(LETTERS, size.split(" x "), strict=False))
        try:
            name, *written = (_filled(text, values) for text in (self.name, *self.ends))
        except KeyError:
            hint = "'3/4 x 1/2' gives {a} and {b}; every letter used in name and ends needs a value"
            message = f"size '{size[:60]}' does not fill the name and the ends"
            raise problem("part", message, hint, at=("sizes", place)) from None
        rating = None if self.rating is None else float(self.rating)
        ends = []
        for k, text in enumerate(written):
            try:
                end = parse_end(text, "female")
            except EndError as error:
                raise problem("part", error.message[:300], error.hint, at=("ends", k)) from None
            ends.append(type(end)(end.kind, end.size, end.gender, rating, end.hand))
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


class PartsFile(Entry):
    """A file of parts: shared sources by name, and families."""

    sources: dict[str, Shared] = Field(default_factory=dict)
    parts: tuple[Family, ...]

    def cited(self, family: Family) -> Citation | None:
        """A shared source by its name, or a text of the family's own with `confirmed` beside it; None for neither."""
        if family.confirmed is not None:
            return Citation(family.source, family.confirmed)
        shared = self.sources.get(family.source)
        return None if shared is None else Citation(shared.text, shared.confirmed)


class _Never(Sourced):
    text: str


class _Joints(Entry):
    never: Each[_Never]
    threads: Any


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Parts in the order they are listed, which is the order of last resort between equally good chains, and the source
    of each by its id."""

    parts: tuple[Part, ...]
    sources: Mapping[str, Citation]

    def __hash__(self) -> int:  # so that what is worked out from a catalogue can be kept by it
        return hash(tuple(part.id for part in self.parts))

    def of_use(self, *uses: str) -> tuple[Part, ...]:
        """The parts of these uses, in order: `of_use("fitting")` are those that may join two ends."""
        return tuple(part for part in self.parts if part.use in uses)

    def part(self, part_id: str) -> Part:
        """The part of that id. Raises KeyError with the nearest one."""
        for part in self.parts:
            if part.id == part_id:
                return part
        near = difflib.get_close_matches(part_id, [part.id for part in self.parts], n=1)
        raise KeyError(f"no part '{part_id}'" + (f"; did you mean '{near[0]}'?" if near else ""))


@lru_cache(maxsize=1)
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
    return Catalogue((*parts, *replaced.values()), {**listed.sources, **own.sources})


def read_parts(document: Document) -> Catalogue:
    """The parts of a project's file, as `source.read_yaml` gives it; what is wrong with it is added to the document's
    problems."""
    written = document.data
    if written is None:
        return Catalogue((), {})
    wrong: set[tuple[str | int, ...]] = set()
    try:
        found = PartsFile.model_validate(written)
    except ValidationError as error:
        document.problems += translated(error, document, PartsFile)
        wrong = {detail["loc"][:2] for detail in error.errors(include_url=False)}
        if not isinstance(written, dict) or wrong & {("parts",), ("sources",)}:
            return Catalogue((), {})
        sources = {name: row for name, row in (written.get("sources") or {}).items() if ("sources", name) not in wrong}
        rows = [row for i, row in enumerate(written["parts"]) if ("parts", i) not in wrong]
        found = PartsFile.model_validate({"sources": sources, "parts": rows})
    places = [i for i in range(len(written["parts"])) if ("parts", i) not in wrong]
    return _listed(found, places, document)


def _listed(found: PartsFile, places: Sequence[int], document: Document) -> Catalogue:
    """The parts of all families, which stand at `places` of the file; one without a source, or listed before, is a problem
    and is left out."""
    parts: dict[str, Part] = {}
    sources: dict[str, Citation] = {}
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
    return Catalogue(tuple(parts.values()), sources)


def never(code: str) -> tuple[str, Citation]:
    """Why a joint must never be made, in words, by the code of `materials.ends.forbidden`; and where that is from."""
    row = read("joints.yaml", _Joints).never[code]
    return row.text, row.source


def _filled(text: str, values: Mapping[str, str]) -> str:
    """The text with {a}, {b} and {c} replaced by their values, and nothing else done. Raises KeyError for one without."""
    return _LETTER.sub(lambda match: values[match[1]], text)
