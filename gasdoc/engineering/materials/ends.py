"""Ends of parts: what they are, which two of them make a joint, and which must never be brought together.

An end is named by the open standard of its connection. Sizes are text in one spelling: "3/8" and "1-1/4" are inches (of
nominal pipe size, or of outside diameter for tube, flare and inch compression), "8 mm" an outside diameter, "20x1.5" a
metric thread, "EHD 18" corrugated tubing. A connection that has one size only has the size "".

Threads and their dimensions: ASME B1.20.1 (NPT), ISO 7-1 (BSPT, marked R and Rc), ISO 228-1 (BSPP, marked G), SAE J512
(45-degree flare and inverted flare), EN 15202 (cylinder connections by type number).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Literal, NamedTuple

from gasdoc.engineering.constants import INCH
from gasdoc.quantities import Known, Metre, Pascal, Ratio
from gasdoc.wrong import Wrong

Gender = Literal["male", "female"]
Hand = Literal["right", "left"]
Kind = Literal[
    "npt",
    "bspt",
    "bspp",
    "bspp-nut",
    "metric",
    "flare",
    "flare-37",
    "inverted-flare",
    "flare-nut",
    "compression",
    "cutting-ring",
    "tube",
    "steel-tube",
    "hose",
    "csst",
    "pe",
    "cga-510",
    "cga-791",
    "cga-600",
    "lcc27",
    "g.1",
    "g.4",
    "g.8",
    "g.12",
    "g.13",
    "klf",
    "gf",
    "clip-21",
    "clip-27",
    "french",
    "british-butane",
]
Seal = Literal["taper", "flare", "compression", "washer", "cone", "clip", "csst", "cylinder", "held"]


class CylinderEnd(NamedTuple):
    """How containers are connected: its name; what a spec may write for it, as a pattern in lower case; the gender on the
    container's valve (for G.13: on the regulator's inlet); and the hand of its thread."""

    name: str
    written: str
    valve: Gender
    hand: Hand


CYLINDERS: dict[Kind, CylinderEnd] = {
    "cga-510": CylinderEnd("POL", r"pol|cga ?-?510|type 21", "female", "left"),
    "cga-791": CylinderEnd("QCC1", r"qcc ?-?1?|type 1|cga ?-?791", "male", "right"),
    "cga-600": CylinderEnd("CGA 600", r"cga ?-?600", "male", "right"),
    "lcc27": CylinderEnd("LCC27", r"lcc ?-?27|type 27", "male", "right"),
    "g.1": CylinderEnd("G.1", r"g\.1", "male", "left"),
    "g.4": CylinderEnd("G.4", r"g\.4", "male", "left"),
    "g.8": CylinderEnd("G.8", r"g\.8", "male", "left"),
    "g.12": CylinderEnd("G.12", r"g\.12", "male", "left"),
    "g.13": CylinderEnd("G.13", r"g\.13", "male", "right"),
    "klf": CylinderEnd("KLF", r"klf|kleinflasche|small[- ]cylinder", "male", "left"),
    "gf": CylinderEnd("GF", r"gf|gro(?:ß|ss)flasche|large[- ]cylinder", "male", "left"),
    "clip-21": CylinderEnd("21 mm clip-on", r"clip-?on 21 ?mm|21 ?mm clip-?on", "male", "right"),
    "clip-27": CylinderEnd("27 mm clip-on", r"clip-?on 27 ?mm|27 ?mm clip-?on", "male", "right"),
    "french": CylinderEnd("French screw", r"french(?: screw)?", "male", "left"),
    "british-butane": CylinderEnd("British butane screw", r"british butane(?: screw)?", "male", "left"),
}
"""The connections of containers."""

_CYLINDER = frozenset(CYLINDERS)
_FLARES: frozenset[Kind] = frozenset({"flare", "flare-37", "inverted-flare"})
_TAPER: frozenset[Kind] = frozenset({"npt", "bspt"})
THREADS: frozenset[Kind] = _TAPER | {"bspp", "bspp-nut", "metric"}
_POL_INSIDE: frozenset[Kind] = frozenset({"cga-791", "lcc27"})

_PAIRS: dict[tuple[Kind, Kind], Seal] = {
    ("npt", "npt"): "taper",
    ("bspt", "bspt"): "taper",
    ("bspt", "bspp"): "taper",  # a taper male thread into a parallel female one: ISO 7-1
    ("bspp", "bspp"): "washer",
    ("bspp", "bspp-nut"): "washer",  # a taper thread has no face for the nut's washer
    ("metric", "metric"): "washer",
    ("flare", "flare"): "flare",
    ("flare-37", "flare-37"): "flare",
    ("inverted-flare", "inverted-flare"): "flare",
    ("tube", "flare-nut"): "held",
    ("tube", "compression"): "compression",
    ("tube", "cutting-ring"): "compression",
    ("steel-tube", "cutting-ring"): "compression",
    ("hose", "hose"): "clip",
    ("csst", "csst"): "csst",
    ("pe", "pe"): "compression",
}
"""Which male kind goes into which female kind, and what makes it tight."""


@dataclass(frozen=True, slots=True)
class End:
    """One end of a part. `rating` is the gauge pressure it is rated for, None where not known; two ends that differ
    in their rating only are the same end."""

    kind: Kind
    size: str
    gender: Gender
    rating: Pascal | None = field(default=None, compare=False)
    hand: Hand = "right"

    def __str__(self) -> str:
        return text(self)

    def __reduce__(
        self,
    ) -> tuple[type[End], tuple[str | float | None, ...]]:  # at once: catalogues are kept between runs
        return End, (self.kind, self.size, self.gender, self.rating, self.hand)


class EndError(Wrong):
    """Text that names no end, or more than one."""


@lru_cache(maxsize=16384)
def seal(a: End, b: End) -> Seal | None:
    """What makes the joint of two ends tight, or None if they do not go together.

    "taper" is tight on the thread and needs sealant; "flare", "compression", "csst", "cone" and "cylinder" are tight metal
    to metal or on the connection's own seal, "washer" on a washer between the faces, "clip" by a clip round the hose. "held" is a tube in the nut its own
    flare holds: no joint of its own.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> seal(parse_end("1/2 NPT", "male"), parse_end("1/2 NPT", "female"))
    'taper'
    >>> seal(parse_end("3/8 flare", "male"), parse_end("3/8 flare", "female"))
    'flare'
    """
    if a.hand != b.hand and not _pol_in_valve(a, b):
        return None
    if a.kind in _CYLINDER or b.kind in _CYLINDER:
        same = a.kind == b.kind and a.gender != b.gender
        return "cylinder" if same or _pol_in_valve(a, b) else None
    if a.gender == b.gender or a.size != b.size:
        return None
    male, female = (a, b) if a.gender == "male" else (b, a)
    if a.hand == "left" and male.kind == female.kind == "bspp":
        return "cone"  # the nut of a low-pressure hose pulls its cone into the fitting
    return _PAIRS.get((male.kind, female.kind))


def mates(a: End, b: End) -> bool:
    """Whether two ends make a joint as they are.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> mates(parse_end("1/2 NPT", "male"), parse_end("3/4 NPT", "female"))
    False
    """
    return seal(a, b) is not None


def forbidden(a: End, b: End) -> str | None:
    """Why two ends must never be forced together, whatever their sizes; None if nothing speaks against their kinds.

    "wrong-hand", "flare-angles" (37 with 45 degree), "inverted-flare" (with another flare), "flare-on-taper",
    "flare-on-thread" (on a parallel thread), "npt-with-bsp", "parallel-into-taper", "cylinder-types" (two cylinder
    connections of different type), "cylinder-on-thread", "metric-on-pipe-thread", "olive-on-steel", "taper-in-washer-nut",
    "inch-with-metric" (tube and fitting of different systems).

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> forbidden(parse_end("1/2 NPT", "male"), parse_end("Rp 1/2", "female"))
    'npt-with-bsp'
    """
    if mates(a, b):
        return None
    kinds: frozenset[Kind] = frozenset({a.kind, b.kind})
    if _CYLINDER & kinds:
        if kinds <= _CYLINDER:
            return "cylinder-types" if a.kind != b.kind else None
        return "cylinder-on-thread" if kinds & (THREADS | _FLARES) else None
    if a.hand != b.hand:
        return "wrong-hand"
    if len(kinds) == 1:
        return "inch-with-metric" if a.kind in ("compression", "tube") and _metric(a) != _metric(b) else None
    if kinds <= _FLARES:
        return "inverted-flare" if "inverted-flare" in kinds else "flare-angles"
    if kinds & _FLARES and kinds & THREADS:
        return "flare-on-taper" if kinds & _TAPER else "flare-on-thread"
    if "metric" in kinds and kinds <= THREADS:
        return "metric-on-pipe-thread"
    if "npt" in kinds and kinds <= THREADS:
        return "npt-with-bsp"
    if kinds == {"bspt", "bspp"}:
        male = a if a.gender == "male" else b
        return "parallel-into-taper" if a.gender != b.gender and male.kind == "bspp" else None
    if kinds == {"bspt", "bspp-nut"}:
        return "taper-in-washer-nut"
    if kinds == {"compression", "steel-tube"}:
        return "olive-on-steel"
    if kinds <= {"tube", "compression", "flare-nut"} and "tube" in kinds:
        return "inch-with-metric" if _metric(a) != _metric(b) else None
    return None


def text(end: End) -> str:
    """An end as a person writes it; `parse_end` reads it back.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> text(parse_end("3/8 flare", "male"))
    '3/8 male flare'
    """
    if end.kind == "hose":
        return f"{end.size} hose{' nozzle' if end.gender == 'male' else ''}"
    if end.kind == "steel-tube":
        return f"{end.size} steel tube"
    if end.kind == "tube":
        return f"{end.size} tube" if _metric(end) else f"{end.size} in OD tube"
    if end.kind == "pe":
        return f"{end.size} in PE {'pipe' if end.gender == 'male' else 'fitting'}"
    if end.kind == "csst":
        return f"{end.size} {'tubing' if end.gender == 'male' else 'fitting'}"
    if end.kind == "flare-nut":
        return f"{end.size} flare-nut"
    if end.kind in _CYLINDER:
        return f"{end.gender} {CYLINDERS[end.kind].name}"
    hand = " LH" if end.hand == "left" else ""
    if end.kind == "bspt":
        return f"{'R' if end.gender == 'male' else 'Rc'} {end.size}{hand}"
    if end.kind == "bspp":
        return f"G {end.size} {end.gender}{hand}"
    if end.kind == "bspp-nut":
        return f"G {end.size} nut"
    if end.kind == "metric":
        return f"{end.gender} M{end.size}{hand}"
    return f"{end.size} {end.gender} {_NAMES[end.kind]}{hand}"


def tube_end(od: float, *, metric: bool) -> End:
    """The plain end of copper tubing of outside diameter `od` (m), inch or metric.

    >>> text(tube_end(0.015, metric=True)), text(tube_end(0.375 * INCH, metric=False))
    ('15 mm tube', '3/8 in OD tube')
    """
    return End("tube", f"{round(od * 1000, 2):g} mm" if metric else inch_size(od), "male")


def inch_size(length: float) -> str:
    """A length (m) as inches in sixteenths: "3/8", "1-1/8". Raises ValueError where it is no sixteenth of an inch.

    >>> inch_size(1.125 * INCH)
    '1-1/8'
    """
    sixteenths = length / INCH * 16
    if abs(sixteenths - round(sixteenths)) > 0.02:
        raise ValueError(f"{length} m is not a multiple of 1/16 in")
    whole, part = divmod(Fraction(round(sixteenths), 16), 1)
    return "-".join(str(v) for v in (int(whole), part) if v)


_PIPE_BORES: Annotated[
    dict[str, float],
    "in",
    Known("about how wide the way through a pipe thread is", "ASME B36.10M, schedule 40, rounded", "once"),
] = {
    "1/8": 0.27,
    "1/4": 0.36,
    "3/8": 0.49,
    "1/2": 0.62,
    "3/4": 0.82,
    "1": 1.05,
    "1-1/4": 1.38,
    "1-1/2": 1.61,
    "2": 2.07,
    "2-1/2": 2.47,
    "3": 3.07,
    "4": 4.03,
}


_USUAL_WALL: Annotated[
    Metre,
    Known("wall that metric tube is taken to have, to tell how wide its ends are: 1 mm", "Our choice", "practice"),
] = 0.001
_INCH_SHARE: Annotated[
    Ratio,
    Known(
        "how wide inch tube and its flares are inside, as a share of the outside",
        "Our choice: copper of type L from 3/8 to 3/4 in nominal has 0.86 to 0.90",
        "practice",
    ),
] = 0.88
_EHD_STEP: Annotated[
    Metre, Known("how wide corrugated tubing is for each unit of its EHD, about: 0.65 mm", "Our choice", "practice")
] = 0.65e-3


@lru_cache(maxsize=1024)
def bore(end: End) -> float | None:
    """About how wide an end is inside, m, to tell a part that narrows the way from one that does not; None for an end
    that goes by no size. Pipe threads as schedule 40 pipe, tube less a usual wall, corrugated tubing by its EHD.

    Schedule 40 pipe of 1/2 in has a bore of 0.622 in (ASME B36.10M).
    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> round(bore(parse_end("1/2 NPT", "male")) / INCH, 2)
    0.62
    """
    if end.kind in THREADS or end.kind == "pe":
        inches = _PIPE_BORES.get(end.size)
        return None if inches is None else inches * INCH
    if end.kind == "csst":
        return int(end.size.removeprefix("EHD ")) * _EHD_STEP
    across = outside(end)
    if across is None:
        return None
    return across - 2 * _USUAL_WALL if _metric(end) else across * _INCH_SHARE


def outside(end: End) -> float | None:
    """The outside diameter of the tube that an end is, or takes, m; None for an end that goes by another size.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> outside(parse_end("8 mm compression", "female"))
    0.008
    """
    if _metric(end):
        return float(end.size.removesuffix(" mm")) / 1000
    if end.size and end.kind not in _CYLINDER | THREADS | {"pe", "csst"}:
        whole, _, part = end.size.rpartition("-")
        return float((int(whole) if whole else 0) + Fraction(part)) * INCH
    return None


def measure(end: End) -> str:
    """What the size of an end counts, so that of two sizes that count the same the smaller is narrower: nominal pipe size,
    EHD, or outside diameter in mm or in inches.

    >>> from gasdoc.engineering.materials.written_ends import parse_end
    >>> measure(parse_end("1/2 NPT", "male")) == measure(parse_end("3/4 BSPT", "male"))
    True
    """
    if end.kind in THREADS or end.kind == "pe":
        return "nominal pipe size"
    return "EHD" if end.kind == "csst" else "mm" if _metric(end) else "inches"


def _pol_in_valve(a: End, b: End) -> bool:
    """A POL nut goes into the female POL inside a CGA 791 or LCC27 valve, whose own thread is on its outside."""
    return any(
        x.kind == "cga-510" and x.gender == "male" and y.kind in _POL_INSIDE and y.gender == "male"
        for x, y in ((a, b), (b, a))
    )


def _metric(end: End) -> bool:
    return end.size.endswith("mm")


# --- reading what builders write --------------------------------------------------------------------------------------

_NAMES: dict[Kind, str] = {
    "npt": "NPT",
    "flare": "flare",
    "flare-37": "37 degree flare",
    "inverted-flare": "inverted flare",
    "compression": "compression",
    "cutting-ring": "cutting ring",
}
