"""Parts and their ends as small drawings: which is male, which is female, and where it seals.

The shapes are our own, drawn as is common practice and not to scale; no picture of a standard was seen. An end is drawn from
its part's edge to the right, 27 wide and 30 high; a body is 36 wide. "seal" is where a joint gets tight; of a taper joint that is on the male thread, where the sealant goes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from msgspec import Struct

from gasdoc.engineering.materials.ends import End, Kind
from gasdoc.engineering.materials.joints import Chain

ENDS: Mapping[Kind, str] = {
    "npt": "taper",
    "bspt": "taper",
    "bspp": "washer",
    "bspp-nut": "washer",
    "metric": "face",
    "flare": "flare",
    "flare-37": "flare",
    "inverted-flare": "inverted",
    "flare-nut": "nut",
    "compression": "ring",
    "cutting-ring": "ring",
    "tube": "tube",
    "steel-tube": "tube",
    "hose": "ribs",
    "csst": "ribs",
    "pe": "ring",
    "cga-510": "pol",
    "cga-791": "hand-nut",
    "cga-600": "face",
    "lcc27": "face",
    "g.1": "face",
    "g.4": "face",
    "g.8": "face",
    "g.12": "face",
    "g.13": "face",
    "klf": "face",
    "gf": "face",
    "clip-21": "face",
    "clip-27": "face",
    "french": "face",
    "british-butane": "face",
}
"""The drawing of each kind of end; its gender comes behind it."""

_TEETH = "M4 8V22M8 8V22M12 8V22"

SIGNS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "taper-male": (("pen", "M0 7L20 9V21L0 23"), ("thin", _TEETH), ("seal", "M2 7.2L19 8.9M2 22.8L19 21.1")),
    "taper-female": (("pen", "M0 3H17V27H0"), ("thin", "M17 7L3 9V21L17 23")),
    "washer-male": (("pen", "M0 8H18V22H0"), ("thin", _TEETH), ("seal", "M1.5 4V26")),
    "washer-female": (("pen", "M0 3H17V27H0"), ("thin", "M17 8H3V22H17"), ("seal", "M17 3V8M17 22V27")),
    "face-male": (("pen", "M0 8H18V22H0"), ("thin", _TEETH), ("seal", "M18 8V22")),
    "face-female": (("pen", "M0 3H20V27H0"), ("thin", "M20 8H5M20 22H5"), ("seal", "M5 8V22")),
    "flare-male": (("pen", "M0 7H13V23H0M20 13V17"), ("thin", _TEETH), ("seal", "M13 9L20 13M13 21L20 17")),
    "flare-female": (("pen", "M0 4H18V26H0"), ("thin", "M18 8H10M18 22H10"), ("seal", "M10 9L4 13M10 21L4 17")),
    "inverted-male": (("pen", "M0 8H17V22H0"), ("thin", _TEETH), ("seal", "M17 10L11 13.5M17 20L11 16.5")),
    "inverted-female": (("pen", "M0 3H17V27H0"), ("thin", "M17 8H5V22H17"), ("seal", "M5 10L11 13.5M5 20L11 16.5")),
    "nut-female": (("pen", "M0 5H11V25H0"), ("thin", "M11 10H0M11 20H0")),
    "tube-male": (("pen", "M0 10H24V20H0"),),
    "ring-male": (("pen", "M0 10H24V20H0"),),
    "ring-female": (("pen", "M0 6H5V3H18V27H5V24H0"), ("thin", "M18 10H2M18 20H2"), ("seal", "M9 7L13 10M9 23L13 20")),
    "ribs-male": (("pen", "M0 9q3 -5 6 0t6 0t6 0t6 0M0 21q3 5 6 0t6 0t6 0t6 0"),),
    "ribs-female": (("pen", "M0 6H5V3H18V27H5V24H0"), ("thin", "M18 9H6M18 21H6"), ("seal", "M6 9V21")),
    "pol-male": (
        ("pen", "M0 8H14V22H0M22 13V17"),
        ("thin", _TEETH),
        ("seal", "M14 10Q21 10 22 13M14 20Q21 20 22 17"),
    ),
    "pol-female": (("pen", "M0 2H20V28H0"), ("thin", "M20 8H9V22H20"), ("seal", "M9 10Q3 10 2 13M9 20Q3 20 2 17")),
    "hand-nut-male": (("pen", "M0 4H16V26H0"), ("thin", "M5 4V26M10 4V26M16 12H4V18H16"), ("seal", "M7 12V18")),
    "hand-nut-female": (("pen", "M0 1H20V29H0M4 12H24V18H4"), ("thin", "M0 6H20M0 24H20"), ("seal", "M23 12V18")),
    "hex": (("pen", "M0 4H36V26H0Z"), ("thin", "M0 11H36M0 19H36")),
    "pipe": (("pen", "M0 8H36V22H0Z"),),
    "tee": (("pen", "M0 7H11V0H25V7H36V23H0Z"),),
    "cock": (("pen", "M0 7H36V23H0ZM18 7V2M8 2H28"),),
    "broken": (("pen", "M36 5H6L9 12L3 18L6 25H36"),),
    "cut": (("pen", "M36 10H6L8 14L4 16L6 20H36"),),
}
"""Each drawing: what its paths are, and the paths."""

_BODIES = {"nipple": "pipe", "stub": "pipe", "hose": "pipe", "tee": "tee", "valve": "cock"}
_LINES: frozenset[Kind] = frozenset({"tube", "steel-tube", "hose", "csst", "pe"})


class SignPiece(Struct, frozen=True):
    """One piece of a joint: the drawings of its left end, its body and its right end, and its words; no end where it goes on."""

    left: str
    body: str
    right: str
    words: str


def pieces(a: End, b: End, found: Chain) -> Iterator[SignPiece]:
    """What is put together between two ends, in order, the two that carry them first and last.

    >>> from gasdoc.engineering.materials.ends import parse_end
    >>> from gasdoc.engineering.materials.joints import Joint
    >>> male, female = parse_end("1/2 NPT", "male"), parse_end("1/2 NPT", "female")
    >>> [(p.left, p.right) for p in pieces(male, female, Chain((), (Joint(male, female, "taper", None),), 0.0, 0))]
    [('', 'taper-male'), ('taper-female', '')]
    """
    yield SignPiece("", _broken(a), _sign(a), str(a))
    for part, (before, after) in zip(found.parts, pairwise(found.joints), strict=True):
        yield SignPiece(_sign(before.b), _BODIES.get(part.shape, "hex"), _sign(after.a), part.name)
    yield SignPiece(_sign(b), _broken(b), "", str(b))


def _sign(end: End) -> str:
    on_cone = end.kind == "bspp" and end.hand == "left"
    return f"{'flare' if on_cone else ENDS[end.kind]}-{end.gender}"


def _broken(end: End) -> str:
    """What goes on beyond the drawing: a line of tube, or another part."""
    return "cut" if end.kind in _LINES and end.gender == "male" else "broken"
