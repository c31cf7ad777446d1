"""Photos and pictures in pixels: how large they are, and what a camera wrote into them taken out before they are published.

A phone writes place, time and serial number into a photo. JPEG, PNG and WebP are walked block by block and written again
with what is needed to show them and nothing else; the picture itself is not touched. The formats are simple enough for
this file, so that no imaging library is needed at run time; the tests hold it against one.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator

from gasdoc.published import profile
from gasdoc.published.unfit import PictureSize, Unfit

MOST_PIXELS = 200_000_000
"""The largest picture: a browser unpacks all of it, and more than this ends a tab or a printer (our choice)."""

MOST_BLOCKS = 50_000
"""Most blocks of a picture; a photo has dozens, a long moving picture some thousands (our choice)."""

MOST_PROFILE = 4_000_000
"""Most bytes of a colour profile once it is unpacked (our choice)."""

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_LENGTHS: dict[bytes, range] = {
    b"PLTE": range(3, 769),
    b"tRNS": range(1, 257),
    b"cHRM": range(32, 33),
    b"gAMA": range(4, 5),
    b"sBIT": range(1, 5),
    b"sRGB": range(1, 2),
    b"cICP": range(4, 5),
    b"mDCV": range(24, 25),
    b"cLLI": range(8, 9),
    b"bKGD": range(1, 7),
    b"pHYs": range(9, 10),
    b"acTL": range(8, 9),
    b"fcTL": range(26, 27),
}
"""Chunks of a PNG picture that stay beside the picture's own, each with the lengths it can have (PNG 3rd edition, 11.3)."""
_JPEG_SIZES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_JPEG_TABLES = {0xC4, 0xCC, 0xDB, 0xDC, 0xDD}
_ORIENTATION = 0x0112
_WEBP_PARTS = (b"VP8 ", b"VP8L", b"ALPH")


def kind(raw: bytes) -> str | None:
    """jpg, png or webp, by how the file begins; None for any other."""
    if raw.startswith(b"\xff\xd8"):
        return "jpg"
    if raw.startswith(_PNG):
        return "png"
    return "webp" if raw[:4] == b"RIFF" and raw[8:12] == b"WEBP" else None


def cleaned(raw: bytes) -> tuple[bytes, PictureSize]:
    """A JPEG, PNG or WebP picture without what says who took it, where, when and with what; and how large it is shown.

    Of a photo's EXIF block only the orientation stays, without which it would lie on its side; of a colour profile the
    colours. Raises Unfit when the picture is not whole, or larger than MOST_PIXELS.
    """
    try:
        content, size = {"jpg": _jpeg, "png": _png, "webp": _webp}[kind(raw) or ""](raw)
    except (struct.error, IndexError, KeyError):
        raise _cut_off() from None
    if not size.width or not size.height:
        raise Unfit("has no width or no height", "save it again from a picture program")
    if size.width * size.height > MOST_PIXELS:
        raise Unfit(f"has more than {MOST_PIXELS // 1_000_000} million pixels", "save it smaller")
    return content, size


def _cut_off() -> Unfit:
    return Unfit("is damaged or not whole", "copy it again from where it was taken, or save it again")


def _counted(number: int) -> None:
    if number > MOST_BLOCKS:
        raise Unfit(f"has more than {MOST_BLOCKS:,} blocks", "save it again from a picture program")


# --- JPEG (ITU-T T.81, annex B) -------------------------------------------------------------------------------------

_FILL = re.compile(rb"\xff*")
_AFTER_SCAN = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]")


def _jpeg_segments(raw: bytes) -> Iterator[tuple[int, bytes, bytes]]:
    """Each segment up to the end of the image: its marker, what it holds, and the picture's own data behind it.

    What follows the end (a phone's second picture, a film) is not part of the image and has metadata of its own.
    """
    at, number = 2, 0
    while True:
        _counted(number := number + 1)
        marks = _FILL.match(raw, at)
        assert marks is not None
        if marks.end() == at:
            raise _cut_off()
        marker, at = raw[marks.end()], marks.end() + 1
        if marker == 0xD9:
            return
        if marker == 0x01:
            continue
        length = int.from_bytes(raw[at : at + 2], "big")
        if length < 2 or at + length > len(raw) or 0xD0 <= marker <= 0xD8:
            raise _cut_off()
        held, end = raw[at + 2 : at + length], at + length
        data = b""
        if marker == 0xDA:  # the picture's own data follow, up to the next marker that is no restart
            match = _AFTER_SCAN.search(raw, end)
            if match is None:
                raise _cut_off()
            data = raw[end : match.start()]
            end = match.start()
        yield marker, held, data
        at = end


def _jpeg(raw: bytes) -> tuple[bytes, PictureSize]:
    kept: list[bytes] = []
    front, turned, size, shown = b"", 1, None, False
    profiles: dict[int, bytes] = {}
    for marker, held, data in _jpeg_segments(raw):
        if marker == 0xE0 and held.startswith(b"JFIF\0") and len(held) >= 12:
            front = front or _segment(marker, held[:12] + b"\0\0")  # without the small picture in it
        elif marker == 0xE1 and held.startswith(b"Exif\0\0"):
            turned = _orientation(held[6:])
        elif marker == 0xE2 and held.startswith(b"ICC_PROFILE\0") and len(held) > 14:
            profiles[held[12]] = held[14:]
        elif marker == 0xEE and held.startswith(b"Adobe") and len(held) >= 12:
            kept.append(_segment(marker, held[:12]))  # how its colours are to be read
        elif marker in _JPEG_SIZES:
            height, width = struct.unpack(">HH", held[1:5])
            size = size or (width, height)
            kept.append(_segment(marker, held[: 6 + 3 * held[5]]))
        elif marker in _JPEG_TABLES:
            kept.append(_segment(marker, held[: _tables(marker, held)]))
        elif marker == 0xDA:
            shown = size is not None
            kept.append(_segment(marker, held[: 4 + 2 * held[0]]) + data)
    if size is None or not shown:
        raise _cut_off()
    colours = _in_segments(b"".join(profiles[part] for part in sorted(profiles)))
    content = b"".join((b"\xff\xd8", front, _exif(turned), colours, *kept, b"\xff\xd9"))
    return content, PictureSize(*(size if turned < 5 else reversed(size)))


def _tables(marker: int, held: bytes) -> int:
    """How many bytes of a segment its tables take (T.81, B.2.4)."""
    at = 0
    if marker == 0xDB:
        while at < len(held):
            at += 129 if held[at] >> 4 else 65
    elif marker == 0xC4:
        while at < len(held):
            at += 17 + sum(held[at + 1 : at + 17])
    else:
        at = len(held) if marker == 0xCC else 2
    if at > len(held):
        raise _cut_off()
    return at


def _segment(marker: int, held: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(held) + 2).to_bytes(2, "big") + held


def _in_segments(colours: bytes) -> bytes:
    """A colour profile as segments of a JPEG picture; empty where it cannot be used."""
    made = profile.cleaned(colours) if len(colours) <= MOST_PROFILE else None
    if made is None:
        return b""
    parts = [made[at : at + 65_000] for at in range(0, len(made), 65_000)]
    return b"".join(
        _segment(0xE2, b"ICC_PROFILE\0" + bytes((number, len(parts))) + part) for number, part in enumerate(parts, 1)
    )


def _orientation(tiff: bytes) -> int:
    """The orientation (1 to 8) in an EXIF block; 1, upright, where it does not say."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    try:
        if order is None:
            return 1
        (first,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, first)
        for entry in range(count):
            tag, form, _, value = struct.unpack_from(f"{order}HHIH", tiff, first + 2 + 12 * entry)
            if tag == _ORIENTATION and form == 3:
                return value if 1 <= value <= 8 else 1
    except struct.error:
        pass
    return 1


def _exif(orientation: int) -> bytes:
    """An EXIF segment that says the orientation and nothing else; empty for an upright picture."""
    return _segment(0xE1, b"Exif\0\0" + _tiff(orientation)) if orientation != 1 else b""


def _tiff(orientation: int) -> bytes:
    return b"MM\0\x2a" + struct.pack(">IHHHIHHI", 8, 1, _ORIENTATION, 3, 1, orientation, 0, 0)


# --- PNG ------------------------------------------------------------------------------------------------------------


def _png_chunks(raw: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Each chunk's name and what it holds, up to the end of the picture."""
    at, name, number = 8, b"", 0
    while name != b"IEND":
        _counted(number := number + 1)
        length, name = int.from_bytes(raw[at : at + 4], "big"), raw[at + 4 : at + 8]
        end = at + 12 + length
        if end > len(raw):
            raise _cut_off()
        held = raw[at + 8 : end - 4]
        if not name[:1].islower() and zlib.crc32(held, zlib.crc32(name)) != int.from_bytes(raw[end - 4 : end], "big"):
            raise _cut_off()
        yield name, held
        at = end


def _png(raw: bytes) -> tuple[bytes, PictureSize]:
    kept: list[bytes] = [_PNG]
    size, shown = None, False
    for name, held in _png_chunks(raw):
        if name == b"IHDR":
            width, height = struct.unpack_from(">II", held)
            if len(held) != 13 or size is not None:
                raise _cut_off()
            size = PictureSize(width, height)
            kept.append(_chunk(name, held))
        elif size is None:
            raise _cut_off()
        elif name in (b"IDAT", b"fdAT"):
            shown = True
            kept.append(_chunk(name, held))
        elif name == b"iCCP" and not shown:
            colours = _png_profile(held)
            kept.append(_chunk(name, b"colours\0\0" + zlib.compress(colours, 0)) if colours else b"")
        elif name == b"eXIf" and not shown and (turned := _orientation(held)) != 1:
            kept.append(_chunk(name, _tiff(turned)))
            size = PictureSize(size.height, size.width) if turned >= 5 else size
        elif len(held) in _PNG_LENGTHS.get(name, ()):
            kept.append(_chunk(name, held))
    if size is None or not shown:
        raise _cut_off()
    return b"".join((*kept, _chunk(b"IEND", b""))), size


def _chunk(name: bytes, held: bytes) -> bytes:
    return len(held).to_bytes(4, "big") + name + held + zlib.crc32(held, zlib.crc32(name)).to_bytes(4, "big")


def _png_profile(held: bytes) -> bytes | None:
    _, _, packed = held.partition(b"\0")
    try:
        unpacker = zlib.decompressobj()
        colours = unpacker.decompress(packed[1:], MOST_PROFILE)
    except zlib.error:
        return None
    return profile.cleaned(colours) if unpacker.eof else None


# --- WebP -----------------------------------------------------------------------------------------------------------


def _webp_chunks(raw: bytes, at: int, end: int) -> Iterator[tuple[bytes, bytes]]:
    """Each chunk's name and what it holds."""
    number = 0
    while at + 8 <= end:
        _counted(number := number + 1)
        length = int.from_bytes(raw[at + 4 : at + 8], "little")
        if at + 8 + length > end:
            raise _cut_off()
        yield raw[at : at + 4], raw[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _webp(raw: bytes) -> tuple[bytes, PictureSize]:
    end = 8 + int.from_bytes(raw[4:8], "little")
    if len(raw) < end:
        raise _cut_off()
    chunks = list(_webp_chunks(raw, 12, end))
    colours = next((profile.cleaned(held) for name, held in chunks if name == b"ICCP"), None)
    turned = next((_orientation(held.removeprefix(b"Exif\0\0")) for name, held in chunks if name == b"EXIF"), 1)
    large = next((held for name, held in chunks if name == b"VP8X"), None)
    kept: list[bytes] = []
    size = None
    for name, held in chunks:
        if name == b"VP8X":
            size = size or PictureSize(
                int.from_bytes(held[4:7], "little") + 1, int.from_bytes(held[7:10], "little") + 1
            )
        elif name == b"ANIM" and large is not None:
            kept.append(_riff(name, held[:6]))
        elif name == b"ANMF" and large is not None and len(held) >= 16:
            frame = [_riff(part, own) for part, own in _webp_chunks(held, 16, len(held)) if part in _WEBP_PARTS]
            kept.append(_riff(name, held[:16] + b"".join(frame)))
        elif name in _WEBP_PARTS:
            if name != b"ALPH":
                size = size or _webp_size(name, held)
            kept.append(_riff(name, held))
    if size is None or not kept:
        raise _cut_off()
    head = b""
    if large is not None:
        # Of its flags those for a moving picture and for what can be seen through stay; profile and orientation as kept.
        flags = large[0] & 0x12 | (0x20 if colours else 0) | (0x08 if turned != 1 else 0)
        head = _riff(b"VP8X", bytes((flags, 0, 0, 0)) + large[4:10]) + (_riff(b"ICCP", colours) if colours else b"")
        if turned != 1:
            kept.append(_riff(b"EXIF", _tiff(turned)))
            size = PictureSize(size.height, size.width) if turned >= 5 else size
    body = head + b"".join(kept)
    return b"RIFF" + (len(body) + 4).to_bytes(4, "little") + b"WEBP" + body, size


def _riff(name: bytes, held: bytes) -> bytes:
    return name + len(held).to_bytes(4, "little") + held + b"\0" * (len(held) % 2)


def _webp_size(name: bytes, held: bytes) -> PictureSize:
    if name == b"VP8L":
        bits = int.from_bytes(held[1:5], "little")
        return PictureSize((bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1)
    width, height = struct.unpack("<HH", held[6:10])
    return PictureSize(width & 0x3FFF, height & 0x3FFF)
