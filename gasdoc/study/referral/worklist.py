"""What is not known of a build, grouped by what one does about it: a list of work, one line a thing.

Which finding is a lack, what one does about it and from which stage on it is asked stands in `lacks.yaml`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from typing import Annotated, Literal, TypeAlias, get_args

from msgspec import Struct

from gasdoc import data
from gasdoc.build.labels import room_id, room_name
from gasdoc.build.model import Outlet, Regulator
from gasdoc.data import Entry
from gasdoc.quantities import By
from gasdoc.scalars import Id, YesNo, choice
from gasdoc.source import Severity
from gasdoc.study.facts import Installation, the_regulator
from gasdoc.study.findings import Finding
from gasdoc.study.proof.standing import Standing

Doing: TypeAlias = Literal["decide", "plate", "sheet", "measure", "ask", "test", "sign"]
Stage: TypeAlias = Literal["planned", "bought", "fitted", "tested", "signed"]

STAGES: tuple[Stage, ...] = get_args(Stage)
"""How far a build can have got, in order; bought: all is chosen."""

CONTAINER = "the container"

FAMILY = "…"
"""A code that ends in this stands for all that begin like it."""


class Lack(Entry, frozen=True):
    """Of a finding that says what is not known: the errand it belongs to, the thing in words, the stage it is asked from."""

    errand: Id
    what: str
    stage: Annotated[str, choice(*STAGES)]


class _Errand(Entry, frozen=True):
    do: Doing
    one: str
    more: str
    each: YesNo = False


class _Lacks(Entry, frozen=True):
    doings: dict[str, str]
    errands: dict[str, _Errand]
    lacks: dict[str, Lack]


class Thing(Struct, frozen=True):
    """One thing that is not known, with what it is `of` and the findings that say so. `taken` is what stands for it
    until then, None where nothing does."""

    id: str
    what: str
    of: tuple[str, ...]
    taken: str | None
    findings: Annotated[tuple[Finding, ...], By("code", "subject")]


class Errand(Struct, frozen=True):
    """One line of the list: things that are found out or decided in one go, and what they are `of`."""

    id: str
    doing: Doing
    text: str
    of: tuple[str, ...]
    things: tuple[Thing, ...]


class Worklist(Struct, frozen=True):
    """What is open at this stage of a build, and what will be asked later."""

    stage: Stage
    open: tuple[Errand, ...]
    later: tuple[Errand, ...]


@cache
def lacks() -> dict[str, Lack]:
    """Every lack there is, by the code of its finding."""
    return _file().lacks


def lack(code: str) -> Lack | None:
    """What one does about a finding; None where it says that something is wrong, not that it is unknown."""
    families = (row for name, row in lacks().items() if name.endswith(FAMILY) and code.startswith(name[:-1]))
    return lacks().get(code) or next(families, None)


def doing(row: Lack) -> str:
    """What one does about a lack, as a heading has it."""
    file = _file()
    return file.doings[file.errands[row.errand].do]


def headings() -> dict[str, str]:
    """The heading of each doing."""
    return _file().doings


def _file() -> _Lacks:
    return data.read("gasdoc.study.referral", "lacks.yaml", _Lacks)


def stage(build: Installation, found: Standing) -> Stage:
    """How far a build has got, as its list of work sees it."""
    if found.word == "planned":
        return "planned" if build.open else "bought"
    return "signed" if found.signed else "tested" if found.word == "tested" else "fitted"


def is_planned(build: Installation, found: Standing) -> bool:
    """Whether nothing is fitted or recorded yet, so that what is not known is work to do, and no warning."""
    return found.word == "planned" and not build.spec.tests and build.spec.signed_off is None


def worklist(build: Installation, findings: Sequence[Finding], standing: Standing, questions: int) -> Worklist:
    """What is open, from the findings that say so and from how far the build is proven; `questions` is how many there are
    for the authority."""
    now = stage(build, standing)
    asked: list[tuple[Lack, Finding]] = []
    later: list[tuple[Lack, Finding]] = []
    for finding in findings:
        row = lack(finding.code)
        if row is not None and finding.severity is not Severity.ERROR:
            (asked if STAGES.index(row.stage) <= STAGES.index(now) else later).append((row, finding))
    signs = () if now == "signed" else (*_tests(standing, now), *_authority(questions))
    return Worklist(now, (*_errands(build, asked), *signs), tuple(_errands(build, later)))


def _errands(build: Installation, found: Sequence[tuple[Lack, Finding]]) -> Iterator[Errand]:
    for name, errand in _file().errands.items():
        things = []
        for code, row in lacks().items():
            about = tuple(finding for lack, finding in found if lack is row and row.errand == name)
            if about:
                things.append(_thing(build, code.rstrip(f"-{FAMILY}"), row, about))
        for some in ([thing] for thing in things) if errand.each else [things] * bool(things):
            of = _in_order(build, (each for thing in some for each in thing.of))
            text = _one(errand, some[0]) if errand.each else _line(errand, of, some)
            yield Errand(name, errand.do, text, of, tuple(some))


def _tests(standing: Standing, now: Stage) -> Iterator[Errand]:
    """The tests that no record answers, once it is fitted; the sign-off, once they are made."""
    missing = tuple(dict.fromkeys(proof.asked.test.name for proof in standing.open))
    if now == "fitted" and missing:
        yield Errand("tests", "test", f"{_file().errands['tests'].one}: {'; '.join(missing)}.", missing, ())
    elif now in ("fitted", "tested"):
        yield Errand("sign-off", "sign", f"{_file().errands['sign-off'].one}.", (), ())


def _authority(questions: int) -> Iterator[Errand]:
    if questions:
        text = f"{_file().errands['authority'].one}: the {questions} questions on the page 'Who decides'."
        yield Errand("authority", "ask", text, (), ())


def _thing(build: Installation, name: str, row: Lack, about: tuple[Finding, ...]) -> Thing:
    of = _in_order(build, (each for finding in about for each in _names(build, finding)))
    return Thing(name, row.what, of, next((finding.taken for finding in about if finding.taken), None), about)


def _names(build: Installation, finding: Finding) -> tuple[str, ...]:
    """What a finding is of, as people name it: those it names itself, else its appliance, regulator, container or room."""
    if finding.of:
        return finding.of
    node = build.by_id.get(finding.subject)
    if node is not None and isinstance(node.part, Outlet):
        return (node.part.appliance.name,)
    if node is not None and isinstance(node.part, Regulator):
        return (the_regulator(finding.subject),)
    if finding.at[:1] == ("regulator",):
        return (the_regulator(build.first),)
    if finding.at[:1] == ("spaces",) and finding.subject != "build":
        rooms = enumerate(build.spec.spaces)
        return tuple(room_name(space, i) for i, space in rooms if room_id(space, i) == finding.subject)
    return (CONTAINER,) if finding.subject == "container" and finding.at[:1] == ("container",) else ()


def _in_order(build: Installation, names: Iterable[str]) -> tuple[str, ...]:
    """Each name once, the appliances in the order of the tree."""
    served = [s.name for s in build.served]
    return tuple(sorted(dict.fromkeys(names), key=lambda name: served.index(name) if name in served else len(served)))


def _one(errand: _Errand, thing: Thing) -> str:
    """A line of its own for a thing, with what is taken for it until then."""
    if thing.taken:
        return f"{errand.one} {thing.what}. Until then this is taken: {thing.taken}."
    of = [name for name in thing.of if name != CONTAINER]  # there is one only
    return f"{errand.one} {thing.what}" + (f" ({', '.join(of)})." if of else ".")


def _line(errand: _Errand, of: Sequence[str], things: Sequence[Thing]) -> str:
    """A line for all things of an errand; what is not of all that the line names says what it is of."""
    begin = (errand.more if len(of) > 1 else errand.one).format(names=", ".join(of))
    named = (
        thing.what if set(thing.of) >= set(of) or not thing.of else f"{thing.what} ({', '.join(thing.of)})"
        for thing in things
    )
    return f"{begin}: {'; '.join(named)}."
