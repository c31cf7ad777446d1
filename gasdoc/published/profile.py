"""Colour profiles of pictures (ICC.1:2022), made anew from what a screen needs of one.

A profile may name who made it, when, and for which device. None of that is needed to show a picture: the header is written
again without it, and of the tags only those stay that hold the colours themselves.
"""

from __future__ import annotations

import struct

_HEADER = 128
_MOST_TAGS = 100
_COLOURS = frozenset(
    f"{name}".encode()
    for name in (
        *("rXYZ", "gXYZ", "bXYZ", "wtpt", "bkpt", "rTRC", "gTRC", "bTRC", "kTRC", "chad", "cicp"),
        *("A2B0", "A2B1", "A2B2", "B2A0", "B2A1", "B2A2"),
    )
)
_TABLES = frozenset((b"mft1", b"mft2", b"mAB ", b"mBA "))
_PARAMETERS = (1, 3, 4, 5, 7)
"""Numbers of a parametric curve, by its kind (ICC.1:2022, 10.18)."""


def cleaned(profile: bytes) -> bytes | None:
    """The profile without names, dates and devices; None where it is no profile that could be used."""
    if len(profile) < _HEADER + 4 or profile[36:40] != b"acsp":
        return None
    (count,) = struct.unpack_from(">I", profile, _HEADER)
    if not 0 < count <= _MOST_TAGS or _HEADER + 4 + 12 * count > len(profile):
        return None
    kept: list[tuple[bytes, bytes]] = []
    stretches: set[tuple[int, int]] = set()
    for tag in range(count):
        name, at, length = struct.unpack_from(">4sII", profile, _HEADER + 4 + 12 * tag)
        stretches.add((at, length))
        if sum(length for _, length in stretches) > len(profile):  # tags may share a stretch; these run into each other
            return None
        element = _element(profile[at : at + length]) if at + length <= len(profile) else None
        if name in _COLOURS and element is not None:
            kept.append((name, element))
    if not kept:
        return None
    modern = profile[8] >= 4
    kept = [(b"desc", _text("Colours of the picture", modern)), (b"cprt", _copyright(modern)), *kept]
    return _written(profile, kept)


def _written(profile: bytes, tags: list[tuple[bytes, bytes]]) -> bytes:
    at = _HEADER + 4 + 12 * len(tags)
    table, body = [struct.pack(">I", len(tags))], []
    places: dict[bytes, int] = {}
    for name, element in tags:
        if element not in places:
            places[element] = at
            body.append(element + bytes(-len(element) % 4))
            at += len(body[-1])
        table.append(struct.pack(">4sII", name, places[element], len(element)))
    # Kept of the header: version, class, colour spaces, intent and the light it is for. Left out: who made it, when,
    # with what, for what device, and the checksum over all of these.
    header = b"".join(
        (
            struct.pack(">I", at),
            bytes(4),
            profile[8:24],
            bytes(12),
            b"acsp",
            bytes(24),
            profile[64:80],
            bytes(_HEADER - 80),
        )
    )
    return header + b"".join(table) + b"".join(body)


def _element(raw: bytes) -> bytes | None:
    """A tag's element, cut to what its kind holds; None for kinds that hold no colours."""
    kind = raw[:4]
    try:
        if kind == b"XYZ ":
            length = 20
        elif kind == b"sf32":
            length = 8 + 4 * 9
        elif kind == b"cicp":
            length = 12
        elif kind == b"curv":
            length = 12 + 2 * int(struct.unpack_from(">I", raw, 8)[0])
        elif kind == b"para":
            length = 12 + 4 * _PARAMETERS[struct.unpack_from(">H", raw, 8)[0]]
        elif kind in _TABLES:
            length = len(raw)
        else:
            return None
    except (struct.error, IndexError):
        return None
    return kind + bytes(4) + raw[8:length] if len(raw) >= length else None


def _text(text: str, modern: bool) -> bytes:
    """A description: as `mluc` since version 4, as `desc` before."""
    if modern:
        words = text.encode("utf-16-be")
        return struct.pack(">4sIII4sII", b"mluc", 0, 1, 12, b"enUS", len(words), 28) + words
    words = text.encode("ascii") + b"\0"
    return struct.pack(">4sII", b"desc", 0, len(words)) + words + bytes(4 + 4 + 2 + 1 + 67)


def _copyright(modern: bool) -> bytes:
    return _text("None", modern) if modern else struct.pack(">4sI", b"text", 0) + b"None\0"
