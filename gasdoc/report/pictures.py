"""Pictures of a log: how large they are, and what a camera wrote into them taken out before they are published.

A phone writes place, time and serial number into a photo. JPEG, PNG and WebP are walked block by block and written again
without what is not needed to show them; the picture itself is not touched. The formats are simple enough for this file,
so that no imaging library is needed at run time; the tests hold it against one.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from dataclasses import dataclass

SUFFIXES = (".jpg", ".jpeg", ".png", ".webp")
"""Pictures a camera or a phone writes, whose metadata are taken out."""

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_DROPPED = {b"eXIf", b"tEXt", b"zTXt", b"iTXt", b"tIME"}
_JPEG_SIZES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_ORIENTATION = 0x0112


class PictureError(ValueError):
    """A file that says it is a picture and cannot be read as one."""


@dataclass(frozen=True, slots=True)
class Size:
    """Width and height as shown, in pixels of the picture (for a drawing, in its own units)."""

    width: int
    height: int


def size(raw: bytes) -> Size | None:
    """How large a picture is shown, its orientation taken into account; None where that cannot be told."""
    try:
        if raw.startswith(b"\xff\xd8"):
            return _jpeg_size(raw)
        if raw.startswith(_PNG):
            return Size(*struct.unpack(">II", raw[16:24]))
        if raw[:6] in (b"GIF87a", b"GIF89a"):
            return Size(*struct.unpack("<HH", raw[6:10]))
        if raw[:4] == b"RIFF" and raw[8:12] == b"WEBP":
            return _webp_size(raw)
    except (PictureError, struct.error):
        return None
    return _svg_size(raw)


def cleaned(raw: bytes) -> bytes:
    """A JPEG, PNG or WebP picture without what says who took it, where, when and with what; others as they are.

    Of a photo's EXIF block only the orientation stays, without which it would lie on its side. Colour profiles stay.
    Raises PictureError when the file is not whole enough to be walked.
    """
    if raw.startswith(b"\xff\xd8"):
        return _clean_jpeg(raw)
    if raw.startswith(_PNG):
        return _PNG + b"".join(whole for kind, whole in _png_chunks(raw) if kind not in _PNG_DROPPED)
    if raw[:4] == b"RIFF" and raw[8:12] == b"WEBP":
        return _clean_webp(raw)
    return raw


# --- JPEG -----------------------------------------------------------------------------------------------------------


def _jpeg_segments(raw: bytes) -> Iterator[tuple[int, bytes, bytes]]:
    """Each segment up to the end of the image: its marker, what it holds, and the whole of it as it stands.

    What follows the end (a phone's second picture, a film) is not part of the image and has metadata of its own.
    """
    at = 2
    while at < len(raw):
        if raw[at] != 0xFF:
            raise PictureError("not a whole JPEG picture")
        while at < len(raw) and raw[at] == 0xFF:  # any number of fill bytes
            at += 1
        if at >= len(raw):
            return
        marker = raw[at]
        at += 1
        if marker == 0xD9:
            yield marker, b"", b"\xff\xd9"
            return
        if marker == 0x01 or 0xD0 <= marker <= 0xD8:
            yield marker, b"", bytes((0xFF, marker))
            continue
        length = int.from_bytes(raw[at : at + 2], "big")
        if length < 2 or at + length > len(raw):
            raise PictureError("not a whole JPEG picture")
        held, end = raw[at + 2 : at + length], at + length
        if marker == 0xDA:  # the picture's own data follow, up to the next marker that is no restart
            match = re.compile(rb"\xff+[^\x00\xff\xd0-\xd7]", re.DOTALL).search(raw, end)
            end = match.start() if match else len(raw)
        yield marker, held, b"\xff" + bytes((marker,)) + raw[at:end]
        at = end


def _clean_jpeg(raw: bytes) -> bytes:
    kept, turned = [], 1
    for marker, held, whole in _jpeg_segments(raw):
        if marker == 0xE1 and held.startswith(b"Exif\0\0"):
            turned = _orientation(held[6:])
        dropped = (
            marker in (0xE1, 0xFE)  # EXIF and XMP; comments
            or (marker == 0xE2 and not held.startswith(b"ICC_PROFILE\0"))  # an index of further pictures
            or 0xE3 <= marker <= 0xED  # what makers and programs add, captions among it
            or marker == 0xEF
        )
        if not dropped:
            kept.append((marker, whole))
    if not any(marker == 0xDA for marker, _ in kept):
        raise PictureError("not a whole JPEG picture")
    front = [whole for marker, whole in kept[:1] if marker == 0xE0]
    return b"\xff\xd8" + b"".join((*front, _exif(turned), *(whole for _, whole in kept[len(front) :])))


def _orientation(tiff: bytes) -> int:
    """The orientation (1 to 8) in an EXIF block; 1, upright, where it does not say."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    try:
        if order is None:
            return 1
        (first,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, first)
        for entry in range(count):
            tag, kind, _, value = struct.unpack_from(f"{order}HHIH", tiff, first + 2 + 12 * entry)
            if tag == _ORIENTATION and kind == 3:
                return value if 1 <= value <= 8 else 1
    except struct.error:
        pass
    return 1


def _exif(orientation: int) -> bytes:
    """An EXIF segment that says the orientation and nothing else; empty for an upright picture."""
    if orientation == 1:
        return b""
    held = b"Exif\0\0MM\0\x2a" + struct.pack(">IHHHIHHI", 8, 1, _ORIENTATION, 3, 1, orientation, 0, 0)
    return b"\xff\xe1" + struct.pack(">H", len(held) + 2) + held


def _jpeg_size(raw: bytes) -> Size | None:
    turned = 1
    for marker, held, _ in _jpeg_segments(raw):
        if marker == 0xE1 and held.startswith(b"Exif\0\0"):
            turned = _orientation(held[6:])
        if marker in _JPEG_SIZES:
            height, width = struct.unpack(">HH", held[1:5])
            return Size(height, width) if turned >= 5 else Size(width, height)
    return None


# --- PNG and WebP ---------------------------------------------------------------------------------------------------


def _png_chunks(raw: bytes) -> Iterator[tuple[bytes, bytes]]:
    at, kind = 8, b""
    while at < len(raw) and kind != b"IEND":
        length, kind = int.from_bytes(raw[at : at + 4], "big"), raw[at + 4 : at + 8]
        end = at + 12 + length
        if end > len(raw):
            raise PictureError("not a whole PNG picture")
        yield kind, raw[at:end]
        at = end


def _webp_chunks(raw: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Each chunk's name and what it holds."""
    at, end = 12, min(len(raw), 8 + int.from_bytes(raw[4:8], "little"))
    while at + 8 <= end:
        length = int.from_bytes(raw[at + 4 : at + 8], "little")
        if at + 8 + length > len(raw):
            raise PictureError("not a whole WebP picture")
        yield raw[at : at + 4], raw[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _clean_webp(raw: bytes) -> bytes:
    if len(raw) < 8 + int.from_bytes(raw[4:8], "little"):
        raise PictureError("not a whole WebP picture")
    out = b""
    for kind, held in _webp_chunks(raw):
        if kind in (b"EXIF", b"XMP "):
            continue
        if kind == b"VP8X" and held:
            held = bytes((held[0] & ~0x0C,)) + held[1:]  # the flags that announce EXIF and XMP
        out += kind + len(held).to_bytes(4, "little") + held + b"\0" * (len(held) % 2)
    return b"RIFF" + (len(out) + 4).to_bytes(4, "little") + b"WEBP" + out


def _webp_size(raw: bytes) -> Size | None:
    for kind, held in _webp_chunks(raw):
        if kind == b"VP8X":
            return Size(int.from_bytes(held[4:7], "little") + 1, int.from_bytes(held[7:10], "little") + 1)
        if kind == b"VP8L":
            bits = int.from_bytes(held[1:5], "little")
            return Size((bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1)
        if kind == b"VP8 ":
            width, height = struct.unpack("<HH", held[6:10])
            return Size(width & 0x3FFF, height & 0x3FFF)
    return None


# --- SVG ------------------------------------------------------------------------------------------------------------

_SVG = re.compile(r"<svg\b[^>]*>")
_NUMBER = r"\s*([0-9]+(?:\.[0-9]+)?|\.[0-9]+)"


def _svg_size(raw: bytes) -> Size | None:
    """From the view box, whose shape is the drawing's; else from width and height."""
    tag = _SVG.search(raw[:65536].decode("utf-8", "replace"))
    if tag is None:
        return None
    box = re.search(rf"""\sviewBox=["'][^"']*?[\s,]{_NUMBER}[\s,]+{_NUMBER}\s*["']""", tag[0])
    sides = [re.search(rf"""\s{side}=["']{_NUMBER}(?:px)?\s*["']""", tag[0]) for side in ("width", "height")]
    if box is not None:
        width, height = float(box[1]), float(box[2])
    elif sides[0] is not None and sides[1] is not None:
        width, height = float(sides[0][1]), float(sides[1][1])
    else:
        return None
    return Size(round(width), round(height)) if round(width) and round(height) else None
