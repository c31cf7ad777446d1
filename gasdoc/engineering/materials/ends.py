"""Ends of parts: what they are, which two of them make a joint, and which must never be brought together.

An end is named by the open standard of its connection. Sizes are text in one spelling: "3/8" and "1-1/4" are inches (of
nominal pipe size, or of outside diameter for tube, flare and inch compression), "8 mm" an outside diameter, "20x1.5" a
metric thread, "EHD 18" corrugated tubing. A connection that has one size only has the size "".

Threads and their dimensions: ASME B1.20.1 (NPT), ISO 7-1 (BSPT, marked R and Rc), ISO 228-1 (BSPP, marked G), SAE J512
(45-degree flare and inverted flare), EN 15202 (cylinder connections by type number).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Literal

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

CONTAINER_VALVE: dict[Kind, Gender] = {
    "cga-510": "female",
    "cga-791": "male",
    "cga-600": "male",
    "lcc27": "male",
    "g.1": "male",
    "g.4": "male",
    "g.8": "male",
    "g.12": "male",
    "g.13": "male",
    "klf": "male",
    "gf": "male",
    "clip-21": "male",
    "clip-27": "male",
    "french": "male",
    "british-butane": "male",
}
"""The gender of a cylinder connection on the container's valve (for G.13: on the regulator's inlet)."""

_LEFT: frozenset[Kind] = frozenset({"cga-510", "g.1", "g.4", "g.8", "g.12", "klf", "gf", "french", "british-butane"})
_CYLINDER = frozenset(CONTAINER_VALVE)
_FLARES: frozenset[Kind] = frozenset({"flare", "flare-37", "inverted-flare"})
_TAPER: frozenset[Kind] = frozenset({"npt", "bspt"})
_THREADS: frozenset[Kind] = _TAPER | {"bspp", "bspp-nut", "metric"}
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

    >>> forbidden(parse_end("1/2 NPT", "male"), parse_end("Rp 1/2", "female"))
    'npt-with-bsp'
    """
    if mates(a, b):
        return None
    kinds: frozenset[Kind] = frozenset({a.kind, b.kind})
    if _CYLINDER & kinds:
        if kinds <= _CYLINDER:
            return "cylinder-types" if a.kind != b.kind else None
        return "cylinder-on-thread" if kinds & (_THREADS | _FLARES) else None
    if a.hand != b.hand:
        return "wrong-hand"
    if len(kinds) == 1:
        return "inch-with-metric" if a.kind in ("compression", "tube") and _metric(a) != _metric(b) else None
    if kinds <= _FLARES:
        return "inverted-flare" if "inverted-flare" in kinds else "flare-angles"
    if kinds & _FLARES and kinds & _THREADS:
        return "flare-on-taper" if kinds & _TAPER else "flare-on-thread"
    if "metric" in kinds and kinds <= _THREADS:
        return "metric-on-pipe-thread"
    if "npt" in kinds and kinds <= _THREADS:
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
        return f"{end.gender} {_CYLINDER_NAMES[end.kind]}"
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
    >>> round(bore(parse_end("1/2 NPT", "male")) / INCH, 2)
    0.62
    """
    if end.kind in _THREADS or end.kind == "pe":
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

    >>> outside(parse_end("8 mm compression", "female"))
    0.008
    """
    if _metric(end):
        return float(end.size.removesuffix(" mm")) / 1000
    if end.size and end.kind not in _CYLINDER | _THREADS | {"pe", "csst"}:
        whole, _, part = end.size.rpartition("-")
        return float((int(whole) if whole else 0) + Fraction(part)) * INCH
    return None


def measure(end: End) -> str:
    """What the size of an end counts, so that of two sizes that count the same the smaller is narrower: nominal pipe size,
    EHD, or outside diameter in mm or in inches.

    >>> measure(parse_end("1/2 NPT", "male")) == measure(parse_end("3/4 BSPT", "male"))
    True
    """
    if end.kind in _THREADS or end.kind == "pe":
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
_CYLINDER_NAMES: dict[Kind, str] = {
    "cga-510": "POL",
    "cga-791": "QCC1",
    "cga-600": "CGA 600",
    "lcc27": "LCC27",
    "g.1": "G.1",
    "g.4": "G.4",
    "g.8": "G.8",
    "g.12": "G.12",
    "g.13": "G.13",
    "klf": "KLF",
    "gf": "GF",
    "clip-21": "21 mm clip-on",
    "clip-27": "27 mm clip-on",
    "french": "French screw",
    "british-butane": "British butane screw",
}

_PIPE_SIZES = ("1/8", "1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "4")
_FLARE_SIZES = ("3/16", "1/4", "5/16", "3/8", "1/2", "5/8", "3/4", "7/8")
_TUBE_SIZES = ("1/4", "5/16", "3/8", "1/2", "5/8", "3/4", "7/8", "1-1/8", "1-3/8", "1-5/8", "2-1/8")
_EXAMPLES = (
    "'3/8 FNPT', '3/8 flare', '1/2 BSPT', 'G 1/4 LH', '8 mm compression', '1/2 in OD tube', 'EHD 18', 'POL', 'G.12'"
)

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_INCHES = r"(?P<size>\d+(?:[ -]\d+/\d+|/\d+)?)(?: ?(?:in|inch|inches|\"))?"
_MM = r"(?P<mm>\d+(?:\.\d+)?) ?mm"

_CYLINDER_TEXT: tuple[tuple[str, Kind], ...] = (
    (r"pol|cga ?-?510|type 21", "cga-510"),
    (r"qcc ?-?1?|type 1|cga ?-?791", "cga-791"),
    (r"cga ?-?600", "cga-600"),
    (r"lcc ?-?27|type 27", "lcc27"),
    (r"g\.1", "g.1"),
    (r"g\.4", "g.4"),
    (r"g\.8", "g.8"),
    (r"g\.12", "g.12"),
    (r"g\.13", "g.13"),
    (r"klf|kleinflasche|small[- ]cylinder", "klf"),
    (r"gf|gro(?:ß|ss)flasche|large[- ]cylinder", "gf"),
    (r"clip-?on 21 ?mm|21 ?mm clip-?on", "clip-21"),
    (r"clip-?on 27 ?mm|27 ?mm clip-?on", "clip-27"),
    (r"french(?: screw)?", "french"),
    (r"british butane(?: screw)?", "british-butane"),
)
_THREAD_WORDS: dict[str, tuple[Kind, Gender | None]] = {
    "npt": ("npt", None),
    "nptf": ("npt", None),
    "mnpt": ("npt", "male"),
    "fnpt": ("npt", "female"),
    "mpt": ("npt", "male"),
    "fpt": ("npt", "female"),
    "mip": ("npt", "male"),
    "fip": ("npt", "female"),
    "bspt": ("bspt", None),
    "bspp": ("bspp", None),
    "mbspt": ("bspt", "male"),
    "fbspt": ("bspt", "female"),
    "mbspp": ("bspp", "male"),
    "fbspp": ("bspp", "female"),
}
_FLARE_WORDS: tuple[tuple[str, Kind], ...] = (
    (r"inverted flare", "inverted-flare"),
    (r"(?:37 ?-?(?:degree|deg|°) (?:jic )?flare|jic(?: flare)?|37° flare)", "flare-37"),
    (r"(?:sae )?(?:45 ?-?(?:degree|deg|°) )?(?:sae )?flare", "flare"),
)
_GENDER = re.compile(r"(?:\(?\b(?P<word>male|female|ext|int|external|internal)\b\)?|\((?P<letter>[mf])\))")
_BSP = re.compile(r"\bbsp[ -](?P<word>taper|parallel)(?:ed)?\b")
_LEFT_HAND = re.compile(r"\(?\b(?:lh|l\.h\.|left[- ]hand(?:ed)?|left)(?:\b|(?<=\.))\)?")


@lru_cache(maxsize=1024)
def parse_end(written: str, default_gender: Gender, *, on_container: bool = False) -> End:
    """The end that text in a spec or in the catalogue means.

    `default_gender` counts where the text gives none and the kind leaves it open. A cylinder connection has the gender
    of the container's valve where `on_container`, else that of what is screwed to it; G.13 (M20 x 1.5) is a regulator's
    male inlet; compression ends take a tube.
    Raises EndError: unknown text, a size that the standard does not have, a thread that has several readings.

    >>> parse_end("3/4 MNPT", "female")
    End(kind='npt', size='3/4', gender='male', rating=None, hand='right')
    """
    plain, gender, left = _words(written)
    for pattern, kind in _CYLINDER_TEXT:
        if re.fullmatch(pattern, plain):
            own = CONTAINER_VALVE[kind]
            other: Gender = "female" if own == "male" else "male"
            fixed = own if on_container or kind == "g.13" else other
            return End(kind, "", gender or fixed, None, "left" if kind in _LEFT else "right")
    if re.fullmatch(r"g(?:1|4|8|12|13)", plain):
        hint = f"write 'G.{plain[1:]}' for the cylinder connection, or a size as in 'G 1/4' for the thread"
        raise EndError(f"'{written}' may be a thread or a cylinder connection", hint)
    end = (
        _pipe_thread(plain, gender, default_gender)
        or _metric_thread(plain, gender, default_gender)
        or _flare(plain, gender, default_gender)
        or _tubing(plain, gender)
    )
    if end is None:
        raise _refusal(written, plain)
    if left:
        if end.kind == "g.13":
            end = End("metric", "20x1.5", end.gender)
        if end.kind not in _THREADS:
            raise EndError(f"'{written}' is left-hand, which its standard does not have", "leave LH out")
        return replace(end, hand="left")
    return end


def leaves_gender_open(written: str) -> bool:
    """Whether text names a parallel thread by G alone, which is sold male (with a flat seal) as often as female.

    >>> leaves_gender_open("G 1/2"), leaves_gender_open("G 1/2 A"), leaves_gender_open("Rp 1/2")
    (True, False, False)
    """
    plain, gender, _ = _words(written)
    return gender is None and re.fullmatch(rf"g ?{_INCHES}", plain) is not None


def _words(written: str) -> tuple[str, Gender | None, bool]:
    """The text in lower case without gender and hand, and what those were."""
    plain = written.strip().lower().replace("×", "x").replace("\u201d", '"').replace("″", '"')
    for sign, fraction in _VULGAR.items():
        plain = re.sub(rf"(\d) ?{sign}", rf"\1-{fraction}", plain).replace(sign, fraction)
    left = _LEFT_HAND.search(plain) is not None
    plain = _LEFT_HAND.sub(" ", plain)
    plain = _BSP.sub(lambda match: f"bsp{match['word'][0]}", plain)
    gender: Gender | None = None
    if (match := _GENDER.search(plain)) is not None:
        gender = "male" if (match["word"] or match["letter"])[0] in "me" else "female"
        plain = _GENDER.sub(" ", plain, count=1)
    plain = re.sub(r"\b(?:thread|threads|right[- ]hand(?:ed)?|rh|valve|connection|connector)\b", " ", plain)
    return re.sub(r"\s+", " ", plain).strip(" ,"), gender, left


def _pipe_thread(plain: str, gender: Gender | None, default: Gender) -> End | None:
    words = "|".join(_THREAD_WORDS)
    match = re.fullmatch(rf"{_INCHES}(?:-\d+(?:\.\d+)?)? ?(?P<kind>{words})", plain) or re.fullmatch(
        rf"(?P<kind>{words}) ?{_INCHES}", plain
    )
    if match is not None:
        kind, said = _THREAD_WORDS[match["kind"]]
        return End(kind, _listed(match["size"], _PIPE_SIZES, "pipe thread"), gender or said or default)
    if match := re.fullmatch(rf"g ?{_INCHES} (?:union )?nut", plain):
        return End("bspp-nut", _listed(match["size"], _PIPE_SIZES, "pipe thread"), "female")
    match = re.fullmatch(rf"(?P<mark>g|rc|rp|r) ?{_INCHES}(?P<external> ?[ab])?", plain)
    if match is None:
        return None
    size = _listed(match["size"], _PIPE_SIZES, "pipe thread")
    if match["mark"] == "g":
        return End("bspp", size, "male" if match["external"] else gender or default)
    if match["external"]:
        return None
    if match["mark"] == "rp":  # internal parallel, made to take a taper thread
        return End("bspp", size, "female")
    return End("bspt", size, "female" if match["mark"] == "rc" else "male")


def _metric_thread(plain: str, gender: Gender | None, default: Gender) -> End | None:
    match = re.fullmatch(r"m ?(?P<d>\d+) ?x ?(?P<pitch>\d+(?:\.\d+)?)", plain)
    if match is None:
        return None
    if (match["d"], float(match["pitch"])) == ("20", 1.5):  # the inlet of regulators for leisure vehicles and boats
        return End("g.13", "", gender or "male")
    return End("metric", f"{match['d']}x{float(match['pitch']):g}", gender or default)


def _flare(plain: str, gender: Gender | None, default: Gender) -> End | None:
    if match := re.fullmatch(rf"{_INCHES} flare-nut", plain):
        return End("flare-nut", _listed(match["size"], _FLARE_SIZES, "flare"), "female")
    for pattern, kind in _FLARE_WORDS:
        if match := re.fullmatch(rf"{_INCHES}(?: od)? {pattern}", plain):
            return End(kind, _listed(match["size"], _FLARE_SIZES, "flare"), gender or default)
    return None


def _tubing(plain: str, gender: Gender | None) -> End | None:
    if match := re.fullmatch(r"(?:csst )?ehd ?-?(?P<ehd>\d+)(?: (?:csst|(?P<what>tubing|fitting)))?", plain):
        said: Gender = "male" if match["what"] == "tubing" else "female"
        return End("csst", f"EHD {match['ehd']}", gender or said)
    if match := re.fullmatch(rf"{_INCHES} pe(?: (?P<what>pipe|fitting))?", plain):
        into: Gender = "female" if match["what"] == "fitting" else "male"
        return End("pe", _listed(match["size"], _PIPE_SIZES, "PE pipe"), gender or into)
    if match := re.fullmatch(rf"(?:{_MM}|{_INCHES})(?: od)? comp(?:ression)?", plain):
        return End("compression", _across(match), gender or "female")
    if match := re.fullmatch(rf"{_MM} (?:cutting[- ]ring|ring fitting)|rvs ?(?P<rvs>\d+)", plain):
        return End("cutting-ring", f"{float(match['mm'] or match['rvs']):g} mm", gender or "female")
    if match := re.fullmatch(rf"{_MM}(?: od)? steel (?:tube|stub)", plain):
        return End("steel-tube", _across(match), "male")
    if match := re.fullmatch(rf"{_MM} hose(?: (?P<what>nozzle|tail|barb))?", plain):
        return End("hose", _across(match), "male" if match["what"] else "female")
    if match := re.fullmatch(rf"(?:{_MM}|{_INCHES})(?: od)? (?:copper )?(?:tube|tubing|stub)", plain):
        return End("tube", _across(match), "male")
    if match := re.fullmatch(rf"(?:{_MM}|{_INCHES}) od", plain):
        return End("tube", _across(match), "male")
    return None


def _across(match: re.Match[str]) -> str:
    if match["mm"] is not None:
        return f"{float(match['mm']):g} mm"
    return _listed(match["size"], _TUBE_SIZES, "tube")


def _listed(size: str, known: tuple[str, ...], what: str) -> str:
    plain = size.replace(" ", "-")
    if plain not in known:
        raise EndError(f"there is no {what} of {size} in here", f"the sizes are {', '.join(known)}")
    return plain


def _refusal(written: str, plain: str) -> EndError:
    """Why the text names no end, with what would be right."""
    if match := re.fullmatch(rf"{_INCHES} ?bsp", plain):
        size = match["size"]
        return EndError(
            f"'{written}' may be a taper or a parallel thread",
            f"write '{size} BSPT' (taper, marked R) or '{size} BSPP' (parallel, marked G)",
        )
    if re.fullmatch(r"w ?21[.,]8(?:0)?(?: ?x ?1/14| ?- ?14)?", plain):
        message = f"'{written}' is the thread of several cylinder connections"
        hint = "write KLF (ring in the cylinder, by hand) or GF (seal on the regulator, by spanner). Or write the type on it, as in G.12"
        return EndError(message, hint)
    if re.match(r"kombi|combi", plain):
        hint = "write the connection of your cylinder: KLF (small, ring in it) or GF (large, ring on the regulator)"
        return EndError(f"'{written}' fits two kinds of cylinders", hint)
    if re.search(r"\bght\b|garden|\bwater\b", plain):
        return EndError(f"'{written}' is a water fitting", "gas needs parts listed for LP gas")
    if re.fullmatch(_INCHES, plain) or re.fullmatch(_MM, plain):
        size = re.sub(r' ?(?:inches|inch|in|")$', "", plain)
        what = (
            f"'{size} compression'"
            if plain.endswith("mm")
            else f"'{size} NPT', '{size} flare', 'R {size}' or 'G {size}'"
        )
        return EndError(f"'{written}' has a size but no kind of connection", f"write {what}")
    if plain in _THREAD_WORDS or plain.endswith("flare") or plain.startswith("comp"):
        return EndError(f"'{written}' has no size", f"write it as in {_EXAMPLES}")
    return EndError(f"'{written}' is no connection known here", f"write it as in {_EXAMPLES}")
