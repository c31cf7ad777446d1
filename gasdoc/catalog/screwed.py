"""Screwed steel pipe by the piece, read from `screwed.yaml`: threads, fittings, tees, nipples."""

from gasdoc.catalog.rows import Length, Sourced, read
from gasdoc.data import Entry, Some


class MakeUp(Entry, frozen=True):
    """How far a pipe goes in when it is tight, by one published rule."""

    rule: str
    length: Length


class CutThread(Sourced, frozen=True, kw_only=True):
    """A thread that is cut: `cut` is its length, `count` how many threads that is; `make_up` by each rule, the one used first."""

    kind: str
    size: str
    cut: Length
    count: int | None = None
    make_up: Some[MakeUp]


class StraightFitting(Sourced, frozen=True):
    """What a straight fitting of some shapes takes from its centre to its face."""

    shapes: Some[str]
    kind: str
    size: str
    to_face: Length


class ReducingTee(Sourced, frozen=True):
    """What a tee with a smaller branch takes from its centre to its faces: along the run, and across at the branch."""

    kind: str
    run: str
    branch: str
    along: Length
    across: Length


class Nipples(Sourced, frozen=True):
    """The lengths in which nipples are sold."""

    kind: str
    sizes: Some[str]
    lengths: Some[Length]


class _Screwed(Entry, frozen=True):
    threads: Some[CutThread]
    fittings: Some[StraightFitting]
    reducing: Some[ReducingTee]
    nipples: Some[Nipples]


def thread(kind: str, size: str) -> CutThread | None:
    """The thread of a pipe, None where it is not listed."""
    return next((one for one in _read().threads if (one.kind, one.size) == (kind, size)), None)


def fitting(shape: str, kind: str, size: str) -> StraightFitting | None:
    """A straight fitting, None where it is not listed."""
    found = (f for f in _read().fittings if shape in f.shapes and (f.kind, f.size) == (kind, size))
    return next(found, None)


def reducing_tee(kind: str, run: str, branch: str) -> ReducingTee | None:
    """A tee with a smaller branch, None where it is not listed."""
    return next((t for t in _read().reducing if (t.kind, t.run, t.branch) == (kind, run, branch)), None)


def nipples(kind: str, size: str) -> Nipples | None:
    """The nipples of a size, None where none are listed."""
    return next((one for one in _read().nipples if one.kind == kind and size in one.sizes), None)


def _read() -> _Screwed:
    return read("screwed.yaml", _Screwed)
