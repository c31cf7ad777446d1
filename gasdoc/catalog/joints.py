"""What is known of joints, read from `joints.yaml`: which must never be made, and the threads and seats of ends."""

from collections.abc import Iterator
from functools import lru_cache
from typing import Annotated

from msgspec import Struct, field
from msgspec.structs import replace

from gasdoc.catalog.rows import Confirmed, Length, Positive, Sourced, read
from gasdoc.data import Each, Entry, Some
from gasdoc.engineering.constants import INCH
from gasdoc.engineering.materials.ends import End, Kind, text
from gasdoc.quantities import Known, Metre
from gasdoc.scalars import problem
from gasdoc.source import Citation

ALIKE: Annotated[
    Metre,
    Known("difference in diameter that a rule does not show: 0.8 mm", "Our choice", "practice"),
] = 0.8e-3
"""Threads nearer than this are told apart by pitch and seat only."""

_SYSTEMS: dict[Kind, str] = {
    "npt": "npt",
    **dict.fromkeys(("bspt", "bspp", "bspp-nut"), "bsp"),
    **dict.fromkeys(("flare", "flare-nut"), "flare"),
    "flare-37": "flare-37",
    "inverted-flare": "inverted-flare",
    "cutting-ring": "cutting-ring",
}
"""The system of threads that a kind of end belongs to; a cylinder connection has a row of its own."""

_NAMES = {
    "npt": "{} NPT",
    "bsp": "R or G {}",
    "flare": "{} flare, 45 degrees",
    "flare-37": "{} flare, 37 degrees",
    "inverted-flare": "{} inverted flare",
    "cutting-ring": "{} cutting ring, light series",
}
"""What a thread of each system is called."""


class Thread(Struct, frozen=True):
    """The thread of an end, what it is called, and where that is from. What is None is not known, or the thread has none.

    `major` is the outside of the male one. `form` is the angle between its flanks, in degrees. `seat` is how steep its cone
    stands to its axis, in degrees. A taper thread has the lengths `hand_tight` and `useful`. `across_flats` is that of its nut."""

    name: str
    major: Metre
    pitch: Metre | None
    form: float | None
    seat: float | None
    hand_tight: Metre | None
    useful: Metre | None
    across_flats: Metre | None
    source: Citation


class _Never(Sourced, frozen=True):
    text: str


class _Row(Entry, frozen=True):
    size: str
    major: Length
    per_inch: Positive | None = None
    pitch: Length | None = None
    e1: Length | None = None
    hand_tight: Length | None = None
    useful: Length | None = None
    across_flats: Length | None = None
    confirmed: Confirmed | None = None

    def _checked(self) -> None:
        _hold_one_pitch(self)


class _System(Sourced, frozen=True, kw_only=True):
    form: Positive
    seat: Positive | None = None
    rows: Some[_Row]


class _Cylinder(Sourced, frozen=True, kw_only=True):
    kind: str
    thread: str
    names: Some[str]
    major: Length | None = None
    per_inch: Positive | None = None
    pitch: Length | None = None
    across_flats: Length | None = None

    def _checked(self) -> None:
        _hold_one_pitch(self)


def _hold_one_pitch(row: _Row | _Cylinder) -> None:
    if row.per_inch is not None and row.pitch is not None:
        raise problem("data-thread", "the pitch stands here twice", "write 'per_inch' or 'pitch'")


def _apart(row: _Row | _Cylinder) -> float | None:
    """From one turn to the next, m."""
    return INCH / row.per_inch if row.per_inch is not None else row.pitch


class _Threads(Entry, frozen=True):
    npt: _System
    bsp: _System
    flare: _System
    flare_37: _System = field(name="flare-37")
    inverted_flare: _System = field(name="inverted-flare")
    cutting_ring: _System = field(name="cutting-ring")
    cylinder: Some[_Cylinder]

    @property
    def systems(self) -> dict[str, _System]:
        """The systems by their names."""
        return {
            "npt": self.npt,
            "bsp": self.bsp,
            "flare": self.flare,
            "flare-37": self.flare_37,
            "inverted-flare": self.inverted_flare,
            "cutting-ring": self.cutting_ring,
        }


class _Joints(Entry, frozen=True):
    never: Each[_Never]
    threads: _Threads


def never(code: str) -> tuple[str, Citation]:
    """Why a joint must never be made, in words, by the code of `materials.ends.forbidden`; and where that is from."""
    row = _read().never[code]
    return row.text, row.source


@lru_cache(maxsize=512)
def thread(end: End) -> Thread | None:
    """The thread of an end, None where it has none or nothing is known of it.

    ASME B1.20.1 has 14 threads to the inch for 1/2 in.
    >>> from gasdoc.engineering.materials.ends import parse_end
    >>> round(INCH / thread(parse_end("1/2 NPT", "male")).pitch, 3)
    14.0
    """
    if end.kind == "metric":
        major, pitch = (float(one) / 1000 for one in end.size.split("x"))
        said = Citation("the name of a metric thread says its diameter and pitch", "practice")
        return Thread(text(end), major, pitch, 60.0, None, None, None, None, said)
    system = _SYSTEMS.get(end.kind)
    if system is None:
        return next((one for kind, one in _cylinders() if kind == end.kind), None)
    return next((one for name, size, one in _listed() if (name, size) == (system, end.size)), None)


@lru_cache(maxsize=512)
def alike(end: End) -> tuple[Thread, ...]:
    """The threads that are as wide as that of an end, as far as a rule shows, the nearest first; at most four. Those that are
    the same in all that is known stand as one.

    >>> from gasdoc.engineering.materials.ends import parse_end
    >>> [one.name for one in alike(parse_end("1/2 NPT", "male"))]
    ['R or G 1/2', 'G.1, G.4, G.12, KLF, GF', '15 mm cutting ring, light series']
    """
    own = thread(end)
    if own is None:
        return ()
    same: dict[tuple[float | None, ...], list[Thread]] = {}
    for one in (*(t for _, _, t in _listed()), *(t for _, t in _cylinders())):
        if one.name != own.name and abs(one.major - own.major) < ALIKE:
            same.setdefault((one.major, one.pitch, one.form, one.seat), []).append(one)
    found = [replace(those[0], name=", ".join(one.name for one in those)) for those in same.values()]
    return tuple(sorted(found, key=lambda one: (abs(one.major - own.major), one.name))[:4])


@lru_cache(maxsize=1)
def _listed() -> tuple[tuple[str, str, Thread], ...]:
    return tuple(_of_systems())


def _of_systems() -> Iterator[tuple[str, str, Thread]]:
    for name, system in _read().threads.systems.items():
        for row in system.rows:
            source = Citation(system.cited, row.confirmed or system.confirmed)
            called = _NAMES[name].format(row.size)
            yield (
                name,
                row.size,
                Thread(
                    called,
                    row.major,
                    _apart(row),
                    system.form,
                    system.seat,
                    row.hand_tight,
                    row.useful,
                    row.across_flats,
                    source,
                ),
            )


@lru_cache(maxsize=1)
def _cylinders() -> tuple[tuple[str, Thread], ...]:
    return tuple(
        (row.kind, Thread(row.names[0], row.major, _apart(row), None, None, None, None, row.across_flats, row.source))
        for row in _read().threads.cylinder
        if row.major is not None
    )


def _read() -> _Joints:
    return read("joints.yaml", _Joints)
