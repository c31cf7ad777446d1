"""Photos in the sizes that pages show: upright, named by what is in them, and kept from one build to the next.

Pillow makes them: to resize a JPEG takes a decoder and an encoder, which nobody should write anew. It is loaded only where a
copy is really made, and gets only what `pictures` has cleaned.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
import zlib

from msgspec import Struct

from gasdoc.machine.user_cache import user_cache
from gasdoc.published import heic
from gasdoc.published.unfit import PictureSize, Unfit

SIDES = {480: 33_000, 960: 125_000, 1600: 400_000}
"""The longer side of the copies in pixels, for a phone, a page and the whole screen, each with its most bytes (our choice): a log
of forty photos is 1.5 MB to scroll on a phone, and the site of it 25 MB."""

LARGER = 1.25
"""A copy is made only where the next one is larger by this: else it would spare nobody anything (our choice)."""

QUALITIES = (70, 62, 54, 46, 38)
"""Of JPEG and WebP copies, of 100: the first that keeps to the bytes, else the last. Joints and plates stay readable (our
choice)."""

FORM = 2
"""Goes up when the copies are made in another way, so that none kept before is taken."""


class Copy(Struct, frozen=True):
    """A copy of a picture: its place in the site, its width and height in pixels."""

    place: str
    width: int
    height: int


def copies(path: str, kind: str, content: bytes, size: PictureSize) -> tuple[Copy, ...]:
    """The copies of a cleaned picture, the smallest first; never larger than the picture is."""
    stem = re.sub(r"[^a-z0-9]+", "-", path.rpartition("/")[2].rpartition(".")[0].lower()).strip("-") or "photo"
    mark = hashlib.sha256(b"%d " % FORM + content).hexdigest()[:12]
    longest = max(size.width, size.height)
    largest = min(longest, max(SIDES))
    found = []
    for side in (*(side for side in SIDES if side * LARGER < largest), largest):
        width, height = (max(1, round(edge * side / longest)) for edge in (size.width, size.height))
        found.append(Copy(f"photos/{stem[:40]}-{mark}-{width}.{'jpg' if kind == 'heic' else kind}", width, height))
    return tuple(found)


def made(copy: Copy, content: bytes) -> bytes:
    """The bytes of a copy of a cleaned picture, from an earlier build where they are kept. Raises Unfit for a picture that
    cannot be read."""
    kept = user_cache("photos") / copy.place.rpartition("/")[2]
    with contextlib.suppress(OSError):
        written = kept.read_bytes()
        if _sum(written[4:]) == written[:4]:  # a disk that was full or failed leaves half a picture
            return written[4:]
    smaller = _resized(content, copy)
    with contextlib.suppress(OSError):  # it is made again next time
        kept.parent.mkdir(parents=True, exist_ok=True)
        beside = kept.with_suffix(f".{os.getpid()}")
        beside.write_bytes(_sum(smaller) + smaller)
        beside.replace(kept)
    return smaller


def _sum(content: bytes) -> bytes:
    return zlib.crc32(content).to_bytes(4)


def _resized(content: bytes, copy: Copy) -> bytes:
    from PIL import Image, ImageOps  # noqa: PLC0415  # only where a copy is made: no check waits for it

    longest = max(copy.width, copy.height)
    most = next(most for side, most in SIDES.items() if longest <= side)
    try:
        plain = not heic.is_one(content)
        with (
            Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) if plain else heic.picture(content)
        ) as opened:
            form, colours = opened.format if plain else "JPEG", opened.info.get("icc_profile")
            if plain and opened.size == (copy.width, copy.height) and not opened.getexif() and len(content) <= most:
                return content
            opened.draft("RGB", (longest, longest))  # a JPEG is read at half its size and less: five times as fast
            upright = ImageOps.exif_transpose(opened)
            if upright.mode == "P" or not plain:
                upright = upright.convert("RGBA" if plain else "RGB")
            smaller = upright.resize((copy.width, copy.height), Image.Resampling.LANCZOS)
            more = {"icc_profile": colours} if colours else {}
            smaller.info.clear()
            for quality in QUALITIES:
                out = io.BytesIO()
                smaller.save(out, form, quality=quality, optimize=True, progressive=True, exif=b"", **more)
                if out.tell() <= most or form == "PNG":
                    break
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise Unfit("is damaged or not whole", "copy it again from where it was taken, or save it again") from error
    return out.getvalue()
