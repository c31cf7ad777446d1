"""How each joint is made: its parts side by side, drawn once for all joints that are made alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from gasdoc.engineering.materials.joints import Chain
from gasdoc.report.part_signs import SIGNS, SignPiece, pieces
from gasdoc.study.materials.assembly import SEALS, Joined


class JointRow(Struct, frozen=True):
    """Joints that are made alike: their numbers, what is put together, and what makes it tight."""

    numbers: tuple[int, ...]
    pieces: tuple[SignPiece, ...]
    seals: str


def rows(joined: Sequence[Joined], numbers: Mapping[str, int]) -> tuple[JointRow, ...]:
    """Every way in which joints of a build are made, by the first number of each."""
    groups: dict[tuple[SignPiece, ...], tuple[list[int], str]] = {}
    for one in joined:
        if isinstance(one.found, Chain) and one.a is not None and one.b is not None and one.joints:
            seals = "; ".join(dict.fromkeys(SEALS[joint.seal] for joint in one.found.joints if SEALS[joint.seal]))
            row = tuple(pieces(one.a, one.b, one.found))
            groups.setdefault(row, ([], seals))[0].extend(numbers[joint] for joint in one.joints)
    found = (JointRow(tuple(sorted(set(those))), row, seals) for row, (those, seals) in groups.items())
    return tuple(sorted(found, key=lambda one: one.numbers))


def signs(shown: Sequence[JointRow]) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """The drawings that some rows use, each once."""
    used = {name for row in shown for p in row.pieces for name in (p.left, p.body, p.right)}
    return [(name, paths) for name, paths in SIGNS.items() if name in used]
